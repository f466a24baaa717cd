"""The draws that agree with what is known of an engine: survived, logged, measured, lifted.

Each piece of evidence gives a draw a likelihood; a draw is kept with the product of all of them, by
one uniform number of its own. So what is left has equal weight and its number is the effective
sample size.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.stats import norm

from torquerisk.case import Policy
from torquerisk.errors import InputError
from torquerisk.physics.cylinder import knock
from torquerisk.quantities import Array
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.draws.spreads import KNOCK_THRESHOLD, engine_draws
from torquerisk.study.evidence.piece import Asked, Piece
from torquerisk.study.evidence.pieces import PIECES
from torquerisk.study.run.run_on_grid import Prepared

MOST_TRIED = 16
"""Draws tried for each draw wanted before evidence is declared to leave too few."""
FEWEST_KEPT = 16
"""Draws that must agree for there to be an answer."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Evidence:
    """What is known of the engine beside its inputs, and how much it narrowed the draws."""

    names: tuple[str, ...]
    """Of the pieces."""
    used: tuple[str, ...]
    """In plain words, one per piece of evidence; empty without any."""
    tried: int
    kept: int
    """Draws that agree with the evidence: the effective sample size, all of equal weight."""
    knock_threshold: tuple[float, float, float]
    """5, 50 and 95 % points of the knock threshold after evidence [-]."""
    knock_threshold_before: tuple[float, float, float]


def pieces_of(prepared: Prepared) -> tuple[Piece, ...]:
    """The pieces of evidence that a case has."""
    return tuple(piece for piece in PIECES if piece.applies(prepared))


def select_draws(prepared: Prepared, policy: Policy) -> tuple[Draws, Evidence, float]:
    """Draws that agree with all evidence, what the evidence was, and the share that was kept."""
    wanted, pieces = policy.draws, pieces_of(prepared)

    def drawn(count: int) -> Draws:
        diesel = prepared.engine.compression_ignition
        return engine_draws(compression_ignition=diesel, count=count, seed=policy.seed)

    tried, draws = wanted, drawn(wanted)
    kept = _agreeing(prepared, pieces, draws)
    while kept.sum() < wanted and tried < MOST_TRIED * wanted:
        need = wanted / max(float(kept.mean()), 1.0 / MOST_TRIED) * 1.05
        tried = min(MOST_TRIED * wanted, max(2 * tried, 1 << int(np.ceil(np.log2(need)))))
        draws = drawn(tried)
        kept = _agreeing(prepared, pieces, draws)
    index = np.flatnonzero(kept)[:wanted]
    if len(index) < FEWEST_KEPT:
        raise InputError(
            f"only {len(index)} of {tried} simulated engines agree with the evidence"
            + _contradiction(prepared, pieces)
        )
    chosen = draws.take(index)
    evidence = Evidence(
        names=tuple(piece.name for piece in pieces),
        used=tuple(piece.words(prepared) for piece in pieces),
        tried=tried,
        kept=len(index),
        knock_threshold=_threshold(chosen),
        knock_threshold_before=_threshold(draws),
    )
    return chosen, evidence, float(kept.mean())


def _threshold(draws: Draws) -> tuple[float, float, float]:
    values = knock.KNOCK_THRESHOLD_MEDIAN * draws.of_model(KNOCK_THRESHOLD)
    low, middle, high = np.quantile(values, [0.05, 0.5, 0.95])
    return float(low), float(middle), float(high)


def acceptance(draws: Draws) -> Array:
    """A uniform number per draw (N,), to keep it with a likelihood."""
    return np.asarray(norm.cdf(draws.deviates[spreads.ACCEPTANCE.name]))


def _agreeing(prepared: Prepared, pieces: tuple[Piece, ...], draws: Draws) -> npt.NDArray[np.bool_]:
    """Which draws (N,) agree with all evidence.

    Once a piece has left less than half of the draws, the next are only asked of those left.
    """
    uniform, likelihood = acceptance(draws), np.ones(draws.count)
    index = np.arange(draws.count)
    asked = Asked(prepared=prepared, draws=draws)
    for piece in pieces:
        left = np.flatnonzero(likelihood[index] > uniform[index])
        if len(left) == 0:
            break
        if 2 * len(left) < len(index):
            index = index[left]
            asked = Asked(prepared=prepared, draws=draws.take(index))
        likelihood[index] *= piece.likelihood(asked)
    return likelihood > uniform


def _contradiction(prepared: Prepared, pieces: tuple[Piece, ...]) -> str:
    """The rest of the sentence where next to no simulated engine agrees with the evidence."""
    for piece in pieces:
        told = piece.mismatch(prepared)
        if told:
            return f": {told[0].lower()}{told[1:]}"
    causes = "; ".join(piece.check(prepared) for piece in pieces)
    return f", so the inputs contradict it: check {causes}."
