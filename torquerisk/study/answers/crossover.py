"""Speeds at which the rod's inertia overtakes gas force, on a run's own peak pressures.

Peak pressure depends on speed, so the speed at which forces balance is not a property of the engine
alone: it is where the run's curve meets it. Where the curve does not, the balance at the peak
pressure of its nearest row is told beside it.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from torquerisk.case import Engine
from torquerisk.physics.running_gear.cycle import speed_of_equal_extremes, speed_of_gas_relief
from torquerisk.quantities import Array
from torquerisk.study.strengths.running_gear import (
    CRANKCASE_PRESSURE,
    crank_geometry,
    middle_masses,
)

Balance = Callable[[float, float], float]
"""Speed of balance [rad/s] from peak pressure [Pa] and its crank angle [rad]."""
CLOSE_ENOUGH = 1e-9
"""Relative error at which the search stops."""


@dataclass(frozen=True, kw_only=True)
class Crossover:
    """Where inertia overtakes gas force in the mean cycle of the median engine. [rad/s]."""

    speeds: tuple[float, ...]
    """Every speed of the run at which inertia begins to prevail."""
    from_the_start: bool
    """Inertia prevails at the run's first speed already."""
    first: float
    last: float
    """The run's first and last speed."""
    at_first: float
    """Speed of balance at the peak pressure of the run's first row."""
    at_last: float
    """Speed of balance at the peak pressure of the run's last row."""


def gas_relief(engine: Engine) -> Balance:
    """Balance at firing: inertia takes all gas force off the rod at peak pressure."""
    given = _geometry(engine)
    return lambda pressure, angle: float(
        speed_of_gas_relief(peak_pressure=pressure, peak_angle=angle, **given)
    )


def equal_extremes(engine: Engine) -> Balance:
    """Balance over the cycle: pull at overlap equals push at firing.

    No help from gas pressure at overlap is counted, as in the rod tension that is judged.
    """
    given = _geometry(engine)
    return lambda pressure, angle: float(
        speed_of_equal_extremes(
            peak_pressure=pressure, peak_angle=angle, overlap_pressure=CRANKCASE_PRESSURE, **given
        )
    )


def _geometry(engine: Engine) -> dict[str, float]:
    masses = middle_masses(engine)
    moving = masses.piston + masses.rod * (1 - masses.big_end_share)
    return {**crank_geometry(engine), "moving_mass": moving}


def crossover(balance: Balance, speed: Array, peak_pressure: Array, peak_angle: Array) -> Crossover:
    """Find where a run meets a balance of forces.

    speed: rising (S,) [rad/s]; peak_pressure (S,) [Pa] and its crank angle (S,) [rad] run straight
    between the rows.
    """

    def ahead(at: float) -> float:
        """Speed less the speed of balance; above 0, inertia prevails."""
        pressure = float(np.interp(at, speed, peak_pressure))
        return at - balance(pressure, float(np.interp(at, speed, peak_angle)))

    lead = [ahead(float(v)) for v in speed]
    found = [
        float(brentq(ahead, speed[k], speed[k + 1], rtol=CLOSE_ENOUGH))
        for k in range(len(speed) - 1)
        if lead[k] < 0 <= lead[k + 1]
    ]
    return Crossover(
        speeds=tuple(found),
        from_the_start=lead[0] >= 0,
        first=float(speed[0]),
        last=float(speed[-1]),
        at_first=float(speed[0]) - lead[0],
        at_last=float(speed[-1]) - lead[-1],
    )
