"""What an engine that runs says: fasteners and threads in the block held, tightened and warmed up.

Fasteners that even in the middle engine break while they are tightened say that it is described
wrong.
"""

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

TOLD, TOLD_DRAWS, TOLD_SEED = 0.01, 4096, 20261127
"""Share that is lost from which on it is told, and the simulated engines by which."""

MOST_LOST = 0.9
"""Share that is lost from which on the description of the joint cannot be right."""


def _load(head: HeadCapacity) -> Array:
    """Greatest load on a thread in the block before any firing (N,) [N]."""
    return np.maximum(head.assembly_preload, head.preload_hot)


def _holds(head: HeadCapacity) -> Array:
    return ((_load(head) < head.strip_load) & ~head.breaks).astype(float)


@lru_cache(maxsize=8)
def lost_by_preload(engine: Engine) -> float:
    """Share [-] of the engines as described whose thread in the block strips, or whose fastener
    breaks, by preload alone."""
    draws = engine_draws(
        compression_ignition=engine.compression_ignition, count=TOLD_DRAWS, seed=TOLD_SEED
    )
    return 1.0 - float(np.mean(_holds(head_capacity(engine, draws))))


@lru_cache(maxsize=8)
def broken_by_tightening(engine: Engine) -> str:
    """What is wrong where tightening breaks the fasteners of the middle engine, else ''."""
    head = head_capacity(engine, middle_draw(DRAWN))
    if not head.breaks[0]:
        return ""
    past, borne = head.past_yield[0] * 1e3, head.borne_past_yield[0] * 1e3
    names = ["tightening_torque", "tightening_angle", "tightening_stretch"]
    if engine.has("head_joint.measured_stretch"):
        names = ["measured_stretch"]
    given = " and ".join(name for name in names if engine.has(f"head_joint.{name}"))
    return (
        f"Tightened as described, the head fasteners are taken {past:.2f} mm past yield, more than "
        f"the {borne:.2f} mm that their free thread bears before they neck (half of the elongation "
        f"after fracture): check [head_joint] {given or 'tightening'}, its unit, and whether the "
        "torque is the snug or the final one."
    )


def _words(prepared: Prepared) -> str:
    share = lost_by_preload(prepared.engine)
    if share < TOLD:
        return ""
    return (
        "the engine has run warm, so its fasteners and the threads in the block hold their "
        f"preload, which breaks or strips some in {percent(share)} of engines as described"
    )


def _mismatch(prepared: Prepared) -> str:
    broken, share = broken_by_tightening(prepared.engine), lost_by_preload(prepared.engine)
    if broken or share < MOST_LOST:
        return broken
    return (
        "Tightened as described, the threads in the block strip before the engine has run (in "
        f"{100 * share:.0f} % of engines): check thread, engagement and tightening."
    )


ASSEMBLED = Piece(
    name="assembled",
    applies=lambda prepared: (
        lost_by_preload(prepared.engine) > 0 or bool(broken_by_tightening(prepared.engine))
    ),
    likelihood=lambda asked: (
        _holds(asked.parts.head) * (not broken_by_tightening(asked.prepared.engine))
    ),
    words=_words,
    mismatch=_mismatch,
)
