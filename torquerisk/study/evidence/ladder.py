"""What a ladder of survived rungs says: curves driven so many times, and what was seen there.

An engine that passes a limit of strength does not always show it. So a rung weights engines by how
often they would have failed unnoticed; known good is the rung of so many pulls that none would.
"""

import numpy as np
import numpy.typing as npt

from torquerisk.case import Engine, Rung
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.quantities import Array
from torquerisk.study.evidence.coolant import MISSED_LIFT, TIGHT_LIKELIHOOD, WEEP_LIKELIHOOD
from torquerisk.study.evidence.known_curve import KnownCurve, rung_curve
from torquerisk.study.evidence.piece import Asked, Piece
from torquerisk.study.evidence.survived import QUIET_KNOCK_EXCESS
from torquerisk.study.limits import ALL_LIMITS, Limit, LimitKind, place_of, rod
from torquerisk.study.limits.combustion import OCTANE
from torquerisk.study.limits.head import HEAD_LIFT, HEAD_WEEP
from torquerisk.study.loads.demand import Demand
from torquerisk.study.run.crank_reading import crank_reading
from torquerisk.study.run.operating_state import PhasingSource
from torquerisk.study.run.run_on_grid import Prepared

UNNOTICED = MISSED_LIFT
"""Chance that a limit of strength is passed in a pull and nobody notices (common practice, no
source: as for a head that lifts)."""
OTHER_CAUSE = 0.1
"""Likelihood of a knock or a noise in an engine where nothing that is modelled explains it, over
one where something does (stated choice)."""

JUDGED = (LimitKind.STRENGTH, LimitKind.COMBUSTION)
"""Kinds that a rung was driven past or not: what breaks, and fuel that would have knocked."""

Flags = npt.NDArray[np.bool_]


def _likelihood(asked: Asked) -> Array:
    """Of every rung together, given each engine (N,)."""
    result = np.ones(asked.draws.count)
    for number, rung in enumerate(asked.prepared.engine.survived):
        result *= _of_rung(asked, rung, rung_curve(asked.prepared, number))
    return result


def _of_rung(asked: Asked, rung: Rung, curve: KnownCurve) -> Array:
    """Of one rung: what was seen is explained, and what else was passed went unnoticed."""
    torque = float(curve.torque.min()), float(curve.torque.max())
    loads = curve.loads(asked.draws, pulls=rung.count, torque=torque)
    once, place = loads.in_one_pull(), place_of(loads.torque, curve.torque)

    def passes(limit: Limit, asked_of: Demand) -> Flags:
        """Which engines (N,) pass a limit at some speed of the curve."""
        load = place.load(limit.load(asked_of, asked.parts))
        return np.asarray((load > limit.strength(asked_of, asked.parts)).any(axis=0))

    explains = _explaining(rung.sign)
    # Who tells of one sign does not say that no other was there; what breaks shows by itself.
    judged = JUDGED if rung.sign == "nothing" else (LimitKind.STRENGTH,)
    result = np.ones(asked.draws.count)
    for limit in ALL_LIMITS:
        if limit.kind not in judged or limit in explains or limit.missing(curve.engine):
            continue
        at_worst, each = (passes(limit, x) for x in (loads, once))
        result = np.minimum(result, unnoticed(at_worst, each, rung.count))
    knocks = np.asarray((place.read(loads.knock_excess) > QUIET_KNOCK_EXCESS).any(axis=0))
    if rung.sign == "knock":
        result *= np.where(knocks, 1.0, OTHER_CAUSE)
    elif rung.sign == "noise":
        passed = np.any([passes(x, loads) for x in explains], axis=0)
        result *= np.where(passed | knocks, 1.0, OTHER_CAUSE)
    elif rung.sign == "coolant pressure":
        weeps = passes(HEAD_WEEP, loads)
        tight = np.where(weeps, WEEP_LIKELIHOOD, TIGHT_LIKELIHOOD)
        result *= np.where(passes(HEAD_LIFT, loads), 1.0, tight)
    if rung.sign == "nothing" and curve.state.phasing_source in _KNOWN_PHASING:
        result = np.minimum(result, unnoticed(knocks, knocks, rung.count))
    return result


_KNOWN_PHASING = (PhasingSource.GIVEN, PhasingSource.IGNITION_ADVANCE)


def unnoticed(at_worst: Flags, each: Flags, pulls: int) -> Array:
    """Chance (N,) that nobody notices: passed in each pull, in the worst of all only, or never."""
    rare = np.where(at_worst, UNNOTICED, 1.0)
    return np.where(each, UNNOTICED ** float(pulls), rare)


def _explaining(sign: str) -> tuple[Limit, ...]:
    """Limits whose passing explains a sign."""
    if sign == "coolant pressure":
        return (HEAD_LIFT,)
    if sign == "knock":
        return (OCTANE,)
    if sign == "noise":
        return tuple(x for x in rod.LIMITS if x.kind is LimitKind.STRENGTH)
    return ()


def contradiction(engine: Engine) -> str:
    """What two rungs say against each other: a sign below what was driven as often without; ''.

    engine: as given, whose facts of the test turn what was read into crank torque.
    """
    for number, bad in enumerate(engine.survived, 1):
        for other, good in enumerate(engine.survived, 1):
            if bad.sign == "nothing" or good.sign != "nothing" or good.count < bad.count:
                continue
            if bad.curve is None or good.curve is None:
                continue
            low, high = (crank_reading(engine, curve) for curve in (bad.curve, good.curve))
            above = np.interp(low.speed, high.speed, high.torque)
            same_fuel = (bad.blend, bad.octane) == (good.blend, good.octane)
            if same_fuel and np.all(low.torque < above):
                return Sentence(
                    f"Survived rung {number} saw {bad.sign} at up to ",
                    Torque(float(low.torque.max())),
                    f", yet rung {other} was driven {good.count:,} times at more, up to ",
                    Torque(float(high.torque.max())),
                    ", with no sign: one of them is told wrong, or something changed in between. "
                    "Both are used as given.",
                )
    return ""


def _words(prepared: Prepared) -> str:
    return Sentence.joined(
        "; ",
        [_told(rung, rung_curve(prepared, k)) for k, rung in enumerate(prepared.engine.survived)],
    )


def _told(rung: Rung, curve: KnownCurve) -> str:
    pulls = "one pull" if rung.count == 1 else f"{rung.count:,} pulls"
    return Sentence(
        f"{curve.name}: {pulls} up to ",
        Torque(float(curve.torque.max())),
        f" on {curve.blend} with {'no sign' if rung.sign == 'nothing' else rung.sign} seen; "
        f"{curve.shared.words}",
    )


LADDER = Piece(
    name="ladder",
    applies=lambda prepared: bool(prepared.engine.survived),
    likelihood=_likelihood,
    words=_words,
    check=lambda prepared: "units, pulls and what was seen of the survived runs",
)
