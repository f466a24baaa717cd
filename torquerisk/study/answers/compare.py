"""Two runs side by side: both as crank torque that was really made, each with its spread."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.errors import InputError
from torquerisk.quantities import RPM, Array
from torquerisk.study.answers.differences import Difference, differences_of
from torquerisk.study.answers.footing import (
    air_factor,
    comparable_from,
    on_common_channels,
    torque_at_pressure,
)
from torquerisk.study.assessment.result import Assessment, Band
from torquerisk.study.limit_curve.curve import area_under_power, sweep_time
from torquerisk.study.limits import Limit, LimitKind
from torquerisk.study.limits.combustion import KNOCK
from torquerisk.study.run.operating_state import PhasingSource

UNIT_INERTIA = 1.0
"""Inertia that a sweep time is told for when none is given [kg*m^2]."""
TWO_SIDED_95 = 1.96
"""Standard deviations within which 95 % of a normal error lies."""
REPEATABILITY = 0.01
"""Relative standard deviation from pull to pull on one dyno (common practice, no source)."""
ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")
"""Names of the runs; so many are compared at most."""
SAME_SPEED = 1e-6
"""Speeds nearer than this are one speed [rad/s]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Least:
    """Where one run has least to spare in strength. SI."""

    limit: Limit
    speed: float
    utilisation: float
    chance: float
    margin: tuple[float, float, float]
    """5, 50 and 95 % points of strength less load."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Side:
    """One of the two runs on the common grid (S,). SI."""

    name: str
    ordinal: str
    """'first', 'second' and so on, in the order given."""
    speed: Array
    """The common grid [rad/s]."""
    torque: Array
    """At the crank, uncorrected [N*m]."""
    torque_sd: Array
    """Standard deviation of that reading [N*m]."""
    power: Array
    peak_pressure: Band
    chance_any: Array
    knock: Array
    """Share that knock as ignited (S,) [-]; 0 where nobody knows the ignition."""
    manifold_pressure: Array | None
    """Absolute [Pa]; None where it was not logged."""
    pressure_doubt: str
    """What to ask of its zero, see `Run.pressure_doubt`."""
    area: float
    """Area under power over the band [W*rad/s]."""
    sweep_time: float | None
    """To pull the inertia through the band [s]; None where torque is not above 0."""
    least: Least
    draws: int
    """Simulated engines behind the chances."""
    steps: tuple[str, ...]
    """What was done to the figures to get crank torque, in words."""
    left_out: tuple[str, ...]
    """Channels that another run lacks, so that this one is judged without them here."""
    worst_by_all: float
    """Greatest chance of passing a strength limit at a common speed, by all that it logged [-]."""
    chance_pull: float
    """As judged here, by what all runs logged."""
    chance_pulls: float

    @property
    def peak_power(self) -> float:
        """Greatest power over the common speeds [W]."""
        return float(self.power.max())


@dataclass(frozen=True, kw_only=True, eq=False)
class Comparison:
    """Two runs on their common speeds. SI."""

    speed: Array
    """(S,) [rad/s]."""
    first: Side
    second: Side
    difference: Array
    """Second less first torque (S,) [N*m]."""
    too_close: Array
    """Size of torque difference below which it is too close to call (S,) [N*m]."""
    band: tuple[float, float]
    """Over which areas and sweep times are told [rad/s]."""
    comparable_from: float
    """Below this one run had its boost already and another had still to build it [rad/s]."""
    equal_boost_torque: Array | None
    """Torque (S,) [N*m] of the second run at the first one's manifold pressure."""
    equal_boost_area: float | None
    """Area under that torque's power over the band [W*rad/s]."""
    ignition_later: Array | None
    """By how much the second run ignites later (S,) [rad]; None where either did not log it."""
    ca50_later: Array | None
    """By how much it burns later, the same way."""
    air_factors: tuple[float, float] | None
    """Factors of SAE J1349 to its standard air; None where either test's air was not stated."""
    inertia: float
    inertia_given: bool
    same_dyno: bool
    differences: tuple[Difference, ...]

    @property
    def comparable(self) -> npt.NDArray[np.bool_]:
        """Where how the runs began does not decide (S,)."""
        return self.speed >= self.comparable_from

    @property
    def decided(self) -> npt.NDArray[np.bool_]:
        """Where the difference is larger than the readings' spread, and comparable (S,)."""
        return self.comparable & (np.abs(self.difference) > self.too_close)

    @property
    def more_first(self) -> npt.NDArray[np.bool_]:
        """Where the first run clearly made more torque (S,)."""
        return self.decided & (self.difference < 0)

    @property
    def more_second(self) -> npt.NDArray[np.bool_]:
        """Where the second run clearly made more torque (S,)."""
        return self.decided & (self.difference > 0)

    @property
    def area_ratio(self) -> float | None:
        """Area under power, second over first; None where the first made no power."""
        return self.second.area / self.first.area if self.first.area > 0 else None

    @property
    def at_equal_peak_power(self) -> float | None:
        """The same with both curves brought to one peak power: their shapes alone."""
        peaks = self.first.peak_power, self.second.peak_power
        ratio = self.area_ratio
        return None if ratio is None or min(peaks) <= 0 else ratio * peaks[0] / peaks[1]

    @property
    def at_equal_boost(self) -> float | None:
        """The same with the second run at the first one's manifold pressure."""
        if self.equal_boost_area is None or self.first.area <= 0:
            return None
        return self.equal_boost_area / self.first.area

    @property
    def in_one_air(self) -> float | None:
        """The same with both brought to the standard air of SAE J1349."""
        if self.air_factors is None or self.area_ratio is None:
            return None
        return self.area_ratio * self.air_factors[1] / self.air_factors[0]


@dataclass(frozen=True, kw_only=True)
class Footing:
    """What is asked of a comparison. SI."""

    band: tuple[float, float] | None = None
    """Speeds over which areas and sweep times are told [rad/s]; None: all common ones."""
    inertia: float | None = None
    """At the crank, for the sweep time [kg*m^2]; 1 kg*m^2, labelled, when left out."""
    same_dyno: bool = False
    """True where all ran on one dyno with one setting: the errors that scale runs alike
    (calibration, correction, driveline loss) then cancel but for the difference itself, and what
    stays is the repeatability of a pull. Otherwise every error counts for each, independently."""


def overlay(runs: Sequence[Assessment], footing: Footing | None = None) -> tuple[Comparison, ...]:
    """Every further run against the first, all on the speeds that all cover.

    Fair: torques are at the crank and uncorrected, each brought there with its own facts; pressures
    and chances are by the channels that all logged; speeds at which one run had its boost already
    and another had to build it are no part of areas and times.
    Raises InputError where the runs share no speeds, the band holds none of them, or the inertia is
    not above 0.
    """
    asked = footing or Footing()
    if not 2 <= len(runs) <= len(ORDINALS):
        raise InputError(f"{len(runs)} runs to compare, but it takes 2 to {len(ORDINALS)}.")
    if asked.inertia is not None and not (np.isfinite(asked.inertia) and asked.inertia > 0):
        raise InputError(f"inertia is {asked.inertia:g} kg*m^2, but must be above 0 kg*m^2.")
    speed = _common_speeds(runs)
    start = comparable_from(float(speed[0]), runs)
    band = _band(speed, start, asked.band)
    known, left_out = on_common_channels(runs)
    used = UNIT_INERTIA if asked.inertia is None else asked.inertia
    sides = [
        _side(a, name, speed, band, used, left, full)
        for a, name, left, full in zip(known, ORDINALS, left_out, runs, strict=False)
    ]
    return tuple(
        _pair((runs[0], other), (sides[0], side), speed, band, start, asked)
        for other, side in zip(runs[1:], sides[1:], strict=True)
    )


def _pair(
    runs: tuple[Assessment, Assessment],
    sides: tuple[Side, Side],
    speed: Array,
    band: tuple[float, float],
    start: float,
    asked: Footing,
) -> Comparison:
    one, two = sides
    pressure = one.manifold_pressure
    moved = None if pressure is None else torque_at_pressure(runs[1], speed, pressure)
    factors = [air_factor(a.engine) for a in runs]
    return Comparison(
        speed=speed,
        first=one,
        second=two,
        difference=two.torque - one.torque,
        too_close=_too_close(one, two, asked.same_dyno),
        band=band,
        comparable_from=start,
        equal_boost_torque=moved,
        equal_boost_area=None if moved is None else area_under_power(speed, moved, band),
        ignition_later=_later(runs[1], runs[0], "ignition_advance", speed),
        ca50_later=_later(runs[0], runs[1], "ca50", speed),
        air_factors=None if factors[0] is None or factors[1] is None else (factors[0], factors[1]),
        inertia=UNIT_INERTIA if asked.inertia is None else asked.inertia,
        inertia_given=asked.inertia is not None,
        same_dyno=asked.same_dyno,
        differences=differences_of(*runs),
    )


def _later(one: Assessment, other: Assessment, channel: str, speed: Array) -> Array | None:
    """The other run's angle less the one's (S,) [rad]; None where either did not log it."""
    first, second = (getattr(a.model.operating, channel) for a in (one, other))
    if first is None or second is None:
        return None
    return np.interp(speed, other.speed, second) - np.interp(speed, one.speed, first)


def _band(speed: Array, start: float, asked: tuple[float, float] | None) -> tuple[float, float]:
    """The band that is told of: what was asked for, within the common and comparable speeds.

    Where nothing in it is comparable, it stays as asked.
    """
    low, high = (float(speed[0]), float(speed[-1])) if asked is None else asked
    inside = max(low, float(speed[0])), min(high, float(speed[-1]))
    if not inside[1] > inside[0]:
        raise InputError(
            f"the band from {low / RPM:.0f} to {high / RPM:.0f} rpm holds none of the speeds that "
            f"all runs cover, {speed[0] / RPM:.0f} to {speed[-1] / RPM:.0f} rpm."
        )
    return (start, inside[1]) if inside[0] < start < inside[1] else inside


def _common_speeds(runs: Sequence[Assessment]) -> Array:
    """Speeds of all grids within the range that all runs cover (S,)."""
    last_start = max(runs, key=lambda a: float(a.speed[0]))
    first_end = min(runs, key=lambda a: float(a.speed[-1]))
    low, high = last_start.speed[0], first_end.speed[-1]
    if not high > low:
        told = " and ".join(
            f"{a.run.name} {a.speed[0] / RPM:.0f} to {a.speed[-1] / RPM:.0f} rpm"
            for a in (first_end, last_start)
        )
        raise InputError(f"runs can only be compared where all have speeds, but there is {told}.")
    both = np.unique(np.concatenate([a.speed for a in runs]))
    both = both[(both >= low) & (both <= high)]
    apart = np.diff(both, prepend=-np.inf) > SAME_SPEED
    apart[-1] = True
    apart[-2] &= bool(both[-1] - both[-2] > SAME_SPEED)
    return both[apart]


def _knock(assessment: Assessment) -> Array:
    known = assessment.phasing_source is not PhasingSource.ASSUMED
    if not known or KNOCK.name not in assessment.limits:
        return np.zeros(len(assessment.speed))
    return assessment.limits[KNOCK.name].chance


def _side(
    assessment: Assessment,
    ordinal: str,
    speed: Array,
    band: tuple[float, float],
    inertia: float,
    left_out: tuple[str, ...],
    known_better: Assessment,
) -> Side:
    def at(values: Array) -> Array:
        return np.interp(speed, assessment.speed, values)

    reading = assessment.reading
    torque = at(assessment.torque)
    inside = (speed >= band[0]) & (speed <= band[1])
    pressure = assessment.peak_pressure
    manifold = assessment.model.operating.manifold_pressure
    return Side(
        name=assessment.run.name,
        ordinal=ordinal,
        speed=speed,
        torque=torque,
        torque_sd=np.abs(torque) * np.interp(speed, reading.speed, reading.relative_sd),
        power=torque * speed,
        peak_pressure=Band(p05=at(pressure.p05), p50=at(pressure.p50), p95=at(pressure.p95)),
        chance_any=at(assessment.chance_any),
        knock=at(_knock(assessment)),
        manifold_pressure=None if manifold is None else at(manifold),
        pressure_doubt=assessment.run.pressure_doubt,
        area=area_under_power(speed, torque, band),
        sweep_time=(sweep_time(speed, torque, inertia, band) if torque[inside].min() > 0 else None),
        least=_least(assessment, band),
        draws=assessment.model.every.count,
        steps=reading.steps,
        left_out=left_out,
        worst_by_all=float(np.interp(speed, known_better.speed, known_better.chance_any).max()),
        chance_pull=assessment.chance_pull,
        chance_pulls=assessment.chance_pulls,
    )


def _least(assessment: Assessment, band: tuple[float, float]) -> Least:
    """The strength limit nearest to being passed at the medians, and where, within the range."""
    inside = np.flatnonzero((assessment.speed >= band[0]) & (assessment.speed <= band[1]))
    if len(inside) == 0:
        inside = np.array([int(np.argmin(np.abs(assessment.speed - band[0])))])
    strength = [i for i in assessment.limits.values() if i.limit.kind is LimitKind.STRENGTH]
    item = max(strength, key=lambda i: float(i.utilisation[inside].max()))
    k = int(inside[np.argmax(item.utilisation[inside])])
    return Least(
        limit=item.limit,
        speed=float(assessment.speed[k]),
        utilisation=float(item.utilisation[k]),
        chance=float(item.chance[k]),
        margin=(float(item.margin.p05[k]), float(item.margin.p50[k]), float(item.margin.p95[k])),
    )


def _too_close(first: Side, second: Side, same_dyno: bool) -> Array:
    if not same_dyno:
        return TWO_SIDED_95 * np.hypot(first.torque_sd, second.torque_sd)
    with np.errstate(divide="ignore", invalid="ignore"):
        relative = np.where(second.torque != 0, second.torque_sd / np.abs(second.torque), 0.0)
    shared = relative * np.abs(second.torque - first.torque)
    own = REPEATABILITY * np.hypot(first.torque, second.torque)
    return TWO_SIDED_95 * np.hypot(shared, own)
