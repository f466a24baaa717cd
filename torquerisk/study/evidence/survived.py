"""What a curve that was survived many times says: which engines would have carried it."""

import numpy as np

from torquerisk.case.sentence import Sentence, Torque
from torquerisk.quantities import Array
from torquerisk.study.evidence.known_curve import KnownCurve, known_good_curve
from torquerisk.study.evidence.piece import Asked, Piece
from torquerisk.study.evidence.rated import WEAKEST_TORQUE, as_sold, is_boosted, weakest_of
from torquerisk.study.limits import ALL_LIMITS, LimitKind, place_of
from torquerisk.study.run.operating_state import PhasingSource
from torquerisk.study.run.run_on_grid import Prepared

QUIET_KNOCK_EXCESS = 0.10
"""Logarithm of knock integral over threshold up to which a known-good curve may be taken to run
without lasting knock: draws that say it knocks more have their threshold too low."""


def _likelihood(asked: Asked) -> Array:
    """1 for engines that would have carried the known-good curve, strength and knock alike.

    Without a rating, that curve stands for it where it tells how little more a boosted engine's
    weakest part outlasts.
    """
    engine = asked.prepared.engine
    curve = known_good_curve(asked.prepared)
    stands_in = _stands_in(asked.prepared, curve)
    most = np.inf if stands_in else float(curve.torque.max())
    loads = curve.loads(asked.draws, torque=(float(curve.torque.min()), most))
    kept = np.ones(asked.draws.count, dtype=bool)
    for limit in ALL_LIMITS:
        if limit.kind not in (LimitKind.STRENGTH, LimitKind.COMBUSTION) or limit.missing(engine):
            continue
        capacity = limit.capacity(loads, asked.parts)
        kept &= (capacity >= curve.torque[:, None]).all(axis=0)
    source = curve.state.phasing_source
    known = source in (PhasingSource.GIVEN, PhasingSource.IGNITION_ADVANCE)
    if known and not engine.compression_ignition:
        excess = place_of(loads.torque, curve.torque).read(loads.knock_excess)
        kept &= (excess <= QUIET_KNOCK_EXCESS).all(axis=0)
    if stands_in:
        return kept * weakest_of(asked, asked.parts, loads, curve.torque[:, None])
    return kept.astype(float)


def _stands_in(prepared: Prepared, curve: KnownCurve) -> bool:
    """True where the curve stands in for the rating of a boosted engine as sold."""
    return (
        prepared.engine.rated.points is None
        and is_boosted(prepared, curve)
        and as_sold(prepared.engine)
    )


def _as_sold(prepared: Prepared, curve: KnownCurve) -> str:
    if not _stands_in(prepared, curve):
        return ""
    return f" and, as sold with boost, few outlast {WEAKEST_TORQUE:g} times it"


def _words(prepared: Prepared) -> str:
    curve = known_good_curve(prepared)
    return Sentence(
        f"{curve.name}: survived many times, up to ",
        Torque(float(curve.torque.max())),
        f" on {curve.blend}; engines that would have failed there are left out"
        f"{_as_sold(prepared, curve)}; {curve.shared.words}",
    )


SURVIVED = Piece(
    name="survived",
    applies=lambda prepared: prepared.known_good is not None,
    likelihood=_likelihood,
    words=_words,
    check=lambda prepared: (
        "the known-good run's units, sealing diameter, fasteners, tightening, octane"
    ),
)
