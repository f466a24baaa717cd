"""What is asked of a torque-limit table, what comes back, and the curves it is made under."""

from dataclasses import dataclass
from enum import Enum
from functools import cached_property

import numpy as np
import numpy.typing as npt

from torquerisk.case.sentence import Torque
from torquerisk.errors import InfeasibleError, InputError
from torquerisk.physics.arrays import Array
from torquerisk.study.limit_curve.curve import LinearMap, checked_speeds
from torquerisk.study.limit_curve.rules import Ceiling, conservative_ceiling


class Objective(Enum):
    """What the table is chosen for, within the band."""

    MOST_AREA = "most area under delivered power"
    SHORTEST_SWEEP = "shortest sweep"
    LEAST_CHANGE = "least change from the reference"
    SAME_SHAPE_LATER = "the reference's shape, later"


class Binding(Enum):
    """What keeps the limit at a breakpoint from being one step higher."""

    NO_TORQUE = "no torque acceptable"
    CEILING = "ceiling"
    REACH = "reach"
    RISE = "rise"
    NOT_RISING = "not rising after the peak"
    PEAK = "peak not earlier than chosen"
    NO_DIP = "no dip before the peak"
    OPEN = "no ceiling here"
    NOT_ASSESSED = "speed not assessed"
    OBJECTIVE = "objective"


@dataclass(frozen=True, kw_only=True, eq=False)
class ShapeAsk:
    """What is asked of the table. Every speed is in rpm.

    objective: what it is chosen for; band: (low, high) speeds in which that is judged.
    breakpoints: speeds of the table, increasing, shape (m,), m >= 2 (see even_breakpoints).
    peak_from: earliest speed of the greatest limit; 0 asks nothing. The limit at every breakpoint
    before the peak stays at least one resolution step under it, and before peak_from also under
    what the engine can make at the peak, so the delivered peak is no earlier either.
    rise_rate: greatest rise up to the peak [N*m/rpm]; infinite asks nothing.
    no_dip_before_peak: the limit may not fall before its peak.
    torque_resolution: the table's step [N*m]; 0 leaves the table unrounded.
    limit_above_reach: the table may ask for more than the engine can make (delivered is the
    lesser of the two); False holds the limit at or under reach as well.
    reference: a torque curve on the grid [N*m], shape (n,), for LEAST_CHANGE and SAME_SHAPE_LATER,
    whose torque is scaled to the greatest that stays at or under the ceiling in the band and under
    the engine's greatest torque.
    """

    objective: Objective
    breakpoints: Array
    band: tuple[float, float]
    peak_from: float
    rise_rate: float
    torque_resolution: float = 1.0
    no_dip_before_peak: bool = False
    limit_above_reach: bool = True
    reference: Array | None = None

    def __post_init__(self) -> None:
        """Check each field once."""
        points = checked_speeds("breakpoints", self.breakpoints)
        points.setflags(write=False)
        object.__setattr__(self, "breakpoints", points)
        if self.reference is not None:
            reference = np.array(self.reference, dtype=float)
            reference.setflags(write=False)
            object.__setattr__(self, "reference", reference)
        for name, unit in (
            ("peak_from", "rpm"), ("rise_rate", "N*m per rpm"), ("torque_resolution", "N*m"),
        ):  # fmt: skip
            value = getattr(self, name)
            if not value >= 0.0:
                raise InputError(f"{name} is {value:.6g} {unit}, but must be 0 or above.")
        if not np.isfinite([self.peak_from, self.torque_resolution]).all():
            raise InputError("peak_from and torque_resolution must be finite.")
        wants = self.objective in (Objective.LEAST_CHANGE, Objective.SAME_SHAPE_LATER)
        if wants and self.reference is None:
            raise InputError(
                f"reference is missing, but the objective '{self.objective.value}' needs a torque "
                "curve on the grid."
            )


def rate_in_words(rate: float) -> Torque:
    """A rise [N*m/rpm] in a sentence."""
    return Torque(1000 * rate, ".4g", " N*m", " per 1,000 rpm")


@dataclass(frozen=True, kw_only=True, eq=False)
class Shape:
    """A torque-limit table and what became of the ask.

    breakpoints, limit: the table, shape (m,) [N*m]; peak_index: its greatest limit, the first at
    or after peak_from. speed, delivered: grid, and the lesser of limit and reach there [N*m], shape
    (n,). value: the objective: torque times speed over speed (area under power), speed over torque
    (sweep time of 1 kg*m^2), both with speeds as in the ask, or mean distance from the target
    [N*m]; value_unrounded: that of the best table before rounding, rises in whole steps already.
    target: curve followed, or None.
    binding, holding_speed: per breakpoint, what holds the limit and the speed where it does.
    notices: what a reader of the table must be told.
    """

    breakpoints: Array
    limit: Array
    peak_index: int
    speed: Array
    delivered: Array
    value: float
    value_unrounded: float
    target: Array | None
    binding: tuple[Binding, ...]
    holding_speed: Array
    notices: tuple[str, ...]


class ShapeInfeasibleError(InfeasibleError):
    """No table keeps all rules: `constraint` names the one that cannot hold.

    nearest: the table with that constraint relaxed as little as was found, or None; kept: the ask
    that it keeps.
    """

    def __init__(
        self,
        constraint: str,
        sentence: str,
        nearest: Shape | None,
        kept: ShapeAsk | None = None,
    ) -> None:
        super().__init__(sentence)
        self.constraint = constraint
        self.nearest = nearest
        self.kept = kept


@dataclass(frozen=True, kw_only=True, eq=False)
class Situation:
    """The checked curves of one call, on the grid: shape (n,) [N*m]; reach infinite if open."""

    speed: Array
    ceiling: Array
    reach: Array
    cap: float

    @cached_property
    def reading(self) -> Ceiling:
        """The ceiling with its lowest reading between grid speeds."""
        return conservative_ceiling(self.speed, self.ceiling, self.cap)

    def reading_at(self, speed: Array) -> Array:
        """Return the lowest reading of the ceiling at `speed` [N*m]; the end values held."""
        return np.interp(speed, self.reading.speed, self.reading.torque)

    def reach_at(self, speed: Array) -> Array:
        """Return what the engine can make at `speed` [N*m]: infinite only where nothing is known.

        Between a finite and an infinite grid speed the finite one holds.
        """
        between = LinearMap.between(self.speed, speed)
        left, right = self.reach[between.lower], self.reach[between.lower + 1]
        both = np.isfinite(left) & np.isfinite(right)
        mixed = between(np.where(np.isfinite(self.reach), self.reach, 0.0))
        known = np.where(both, mixed, np.minimum(left, right))
        return np.where(between.share == 0.0, left, np.where(between.share == 1.0, right, known))


def situation(
    grid_speed: npt.ArrayLike, ceiling: npt.ArrayLike, reach: npt.ArrayLike | None
) -> Situation:
    """Return the curves checked: same length, no NaN, something finite above the table."""
    speed = checked_speeds("grid_speed", grid_speed)
    top = np.array(ceiling, dtype=float)
    can = np.full(len(speed), np.inf) if reach is None else np.array(reach, dtype=float)
    for name, curve in (("ceiling", top), ("reach", can)):
        if curve.shape != speed.shape:
            raise InputError(
                f"{name} has shape {curve.shape}, but must match grid_speed's {speed.shape}."
            )
        if np.isnan(curve).any():
            at = speed[int(np.argmax(np.isnan(curve)))]
            raise InputError(
                f"{name} is NaN at speed {at:.6g}, but must be a torque in N*m "
                "(minus infinity says that no torque is acceptable)."
            )
    if (can < 0.0).any():
        raise InputError(f"reach is {can.min():.6g} N*m, but must be 0 N*m or above.")
    finite = np.concatenate([top[~np.isposinf(top)], can[np.isfinite(can)]])
    if np.isposinf(top).any() and not len(finite):
        raise InputError(
            "ceiling and reach are both infinite, but a table needs one finite: give what the "
            "engine can make or a ceiling."
        )
    return Situation(speed=speed, ceiling=top, reach=can, cap=max(float(finite.max()), 0.0))
