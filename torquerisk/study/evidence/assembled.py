"""What an engine that runs says: the threads in the block held, tightened and warmed up."""

from functools import lru_cache

import numpy as np

from torquerisk.case import Engine
from torquerisk.case.sentence import percent
from torquerisk.quantities import Array
from torquerisk.study.draws.simulated_engines import middle_draw
from torquerisk.study.draws.spreads import DRAWN, engine_draws
from torquerisk.study.evidence.piece import Piece
from torquerisk.study.run.run_on_grid import Prepared
from torquerisk.study.strengths.head import HeadCapacity, head_capacity

WORTH_ASKING = 0.6
"""Share of a thread's strength that preload uses in the middle engine, from which on some strip."""
TOLD, TOLD_DRAWS, TOLD_SEED = 0.01, 4096, 20261127
"""Share that strips from which on it is told, and the simulated engines by which."""

MOST_STRIP = 0.9
"""Share that strips from which on the description of the joint cannot be right."""


def _load(head: HeadCapacity) -> Array:
    """Greatest load on a thread in the block before any firing (N,) [N]."""
    return np.maximum(head.assembly_preload, head.preload_hot)


def _holds(head: HeadCapacity) -> Array:
    return (_load(head) < head.strip_load).astype(float)


@lru_cache(maxsize=8)
def strips_by_preload(engine: Engine) -> float:
    """Share [-] of the engines as described whose thread in the block strips by preload alone."""
    head = head_capacity(engine, middle_draw(DRAWN))
    if _load(head)[0] < WORTH_ASKING * head.strip_load[0]:
        return 0.0
    draws = engine_draws(
        compression_ignition=engine.compression_ignition, count=TOLD_DRAWS, seed=TOLD_SEED
    )
    return 1.0 - float(np.mean(_holds(head_capacity(engine, draws))))


def _words(prepared: Prepared) -> str:
    share = strips_by_preload(prepared.engine)
    if share < TOLD:
        return ""
    return (
        "the engine has run warm, so the threads in the block hold their preload, which strips "
        f"them in {percent(share)} of engines as described"
    )


def _mismatch(prepared: Prepared) -> str:
    share = strips_by_preload(prepared.engine)
    if share < MOST_STRIP:
        return ""
    return (
        "Tightened as described, the threads in the block strip before the engine has run (in "
        f"{100 * share:.0f} % of engines): check thread, engagement and tightening."
    )


ASSEMBLED = Piece(
    name="assembled",
    applies=lambda prepared: strips_by_preload(prepared.engine) > 0,
    likelihood=lambda asked: _holds(asked.parts.head),
    words=_words,
    mismatch=_mismatch,
)
