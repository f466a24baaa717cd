"""What the engine can make: the run itself, another run, a ceiling on boost, or open."""

from dataclasses import dataclass, replace

import numpy as np

from torquerisk.case import Notice, Run
from torquerisk.errors import InputError
from torquerisk.physics.supply.charge import (
    PRESSURE_FOR_TORQUE_RELATIVE_SD,
    torque_at_manifold_pressure,
)
from torquerisk.quantities import RPM, Array
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limit_curve.ask import ShapeAsk
from torquerisk.study.run.crank_reading import crank_reading
from torquerisk.study.table.rows import PRESSURE_TRUSTED_WITHIN, lost_torque

CEILING_RANGE = (0.3e5, 8e5)
"""Manifold pressures that a ceiling may lie between, absolute [Pa]."""


@dataclass(frozen=True, kw_only=True)
class BoostCeiling:
    """A manifold pressure that is made at every speed and nowhere passed, absolute [Pa]."""

    pressure: float

    def __post_init__(self) -> None:
        low, high = CEILING_RANGE
        if not low <= self.pressure <= high:
            raise InputError(
                f"reach is a manifold pressure of {self.pressure / 1e3:g} kPa, but must be "
                f"{low / 1e3:g} to {high / 1e3:g} kPa absolute; a gauge reading lacks the "
                "atmosphere's 100 kPa or so."
            )


Reach = str | Run | BoostCeiling
"""'measured', 'open', the run that shows it, or a ceiling on manifold pressure."""


def reach_curve(assessment: Assessment, reach: Reach) -> Array | None:
    """What the engine can make on the grid (S,) [N*m]; None for open.

    A ceiling on boost is turned into torque by the run's own relation at each speed and phasing:
    gross work goes with manifold pressure (see `torque_at_manifold_pressure`).
    Raises InputError if a run does not cover the speeds, or logged no manifold pressure.
    """
    if isinstance(reach, BoostCeiling):
        at = reach.pressure
        torque = torque_at_manifold_pressure(
            at, _logged(assessment), assessment.torque, lost_torque(assessment)
        )
        return np.maximum(torque, 0.0)
    if isinstance(reach, Run):
        other = crank_reading(assessment.reading.as_given, reach)
        if not covers(other.speed, assessment.speed):
            low, high = assessment.speed[0], assessment.speed[-1]
            raise InputError(
                f"the run given as reach covers {other.speed[0] / RPM:.0f} to "
                f"{other.speed[-1] / RPM:.0f} rpm, but must cover the measured run's "
                f"{low / RPM:.0f} to {high / RPM:.0f} rpm."
            )
        return np.interp(assessment.speed, other.speed, other.torque).clip(0.0)
    if reach == "measured":
        return np.maximum(assessment.torque, 0.0)
    if reach == "open":
        return None
    raise InputError(
        f"reach is {reach!r}, but must be 'measured', 'open', a manifold pressure or a run file."
    )


def covers(speed: Array, run: Array) -> bool:
    """True where speeds of one run reach both ends of another's, up to rounding."""
    return bool(speed[0] <= run[0] * (1 + 1e-9) and speed[-1] >= run[-1] * (1 - 1e-9))


def under_reach(ask: ShapeAsk, reach: Reach) -> ShapeAsk:
    """The ask for a reach: a ceiling on boost caps the limit itself, not only what comes of it."""
    return replace(ask, limit_above_reach=not isinstance(reach, BoostCeiling))


def reach_in_words(reach: Reach) -> str:
    """What stands for what the engine can make: 'the measured run', 'anything' ..."""
    if isinstance(reach, BoostCeiling):
        return f"a manifold pressure of {reach.pressure / 1e3:,.0f} kPa absolute at every speed"
    if isinstance(reach, Run):
        return f"the run {reach.name}"
    return "the measured run" if reach == "measured" else "anything"


def reach_notices(assessment: Assessment, reach: Reach) -> tuple[Notice, ...]:
    """What a reader must be told of a reach that was not measured."""
    if not isinstance(reach, BoostCeiling):
        return ()
    own = _logged(assessment)
    share = reach.pressure / own - 1
    far = int((np.abs(share) > PRESSURE_TRUSTED_WITHIN).sum())
    told = (
        f"What the engine can make is taken as {reach_in_words(reach)}, by this run's own torque "
        f"and pressure: torque then scatters by {100 * PRESSURE_FOR_TORQUE_RELATIVE_SD:.0f} % (one "
        "standard deviation), and whether the compressor makes that pressure at low or high speed "
        "is not asked."
    )
    if far:
        told += (
            f" At {far} of {len(own)} speeds that is more than "
            f"{100 * PRESSURE_TRUSTED_WITHIN:.0f} % from the pressure of the run, beyond which the "
            "proportion is not to be trusted."
        )
    notices = [Notice("boost-ceiling", told)]
    if assessment.engine.compression_ignition:
        notices.append(
            Notice(
                "boost-ceiling-diesel",
                "In a diesel the fuel injected sets the torque, not the manifold pressure, which "
                "only says how much air there is to burn it in. This reach takes fuel to follow "
                "the air, at the lambda of the run; with more or less fuel at that pressure the "
                "engine makes another torque, so this reach says little. Give a run as reach.",
            )
        )
    return tuple(notices)


def _logged(assessment: Assessment) -> Array:
    logged = assessment.model.operating.manifold_pressure
    if logged is None:
        raise InputError(
            "reach is a manifold pressure, but the run logged none, so its torque at another "
            "pressure is not known; give a run with a manifold pressure column, or as reach "
            "measured, open or a run file."
        )
    return logged
