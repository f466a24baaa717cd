"""Two runs side by side: both as crank torque that was really made, each with its spread."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.case import Engine
from torquerisk.case.engine import SECTIONS
from torquerisk.errors import InputError
from torquerisk.quantities import RPM, Array
from torquerisk.study.assessment.result import Assessment, Band
from torquerisk.study.limit_curve.shape import area_under_power, sweep_time
from torquerisk.study.limits import Limit, LimitKind

UNIT_INERTIA = 1.0
"""Inertia that a sweep time is told for when none is given [kg*m^2]."""
TWO_SIDED_95 = 1.96
"""Standard deviations within which 95 % of a normal error lies."""
REPEATABILITY = 0.01
"""Relative standard deviation from pull to pull on one dyno (common practice, no source)."""
SAME_SPEED = 1e-6
"""Speeds nearer than this are one speed [rad/s]."""
WARMER = 8.0
"""Charge temperature apart by this much is worth a word [K] (common practice, no source)."""


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
    speed: Array
    """The common grid [rad/s]."""
    torque: Array
    """At the crank, uncorrected [N*m]."""
    torque_sd: Array
    """Standard deviation of that reading [N*m]."""
    power: Array
    peak_pressure: Band
    chance_any: Array
    area: float
    """Area under power over the common range [W*rad/s]."""
    sweep_time: float | None
    """To pull the inertia through the common range [s]; None where torque is not above 0."""
    least: Least
    draws: int
    """Simulated engines behind the chances."""
    steps: tuple[str, ...]
    """What was done to the figures to get crank torque, in words."""


@dataclass(frozen=True, kw_only=True)
class Difference:
    """One thing that was not the same for both runs, in words as people are shown it."""

    name: str
    label: str
    first: str
    second: str
    measuring: bool
    """True where it is about how the run was measured, False where about engine or fuel."""


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
    inertia: float
    inertia_given: bool
    same_dyno: bool
    differences: tuple[Difference, ...]

    @property
    def decided(self) -> npt.NDArray[np.bool_]:
        """Where the difference is larger than the readings' spread (S,)."""
        return np.abs(self.difference) > self.too_close

    @property
    def more_first(self) -> npt.NDArray[np.bool_]:
        """Where the first run clearly made more torque (S,)."""
        return self.decided & (self.difference < 0)

    @property
    def more_second(self) -> npt.NDArray[np.bool_]:
        """Where the second run clearly made more torque (S,)."""
        return self.decided & (self.difference > 0)


def compare_runs(
    first: Assessment,
    second: Assessment,
    inertia: float | None = None,
    same_dyno: bool = False,
) -> Comparison:
    """Two assessed runs side by side on the common speed range.

    Fair: both torques are at the crank and uncorrected, each brought there with its own facts.
    inertia: at the crank, for the sweep time [kg*m^2]; 1 kg*m^2, labelled, when left out.
    same_dyno: True where both ran on one dyno with one setting: the errors that scale both runs
    alike (calibration, correction, driveline loss) then cancel but for the difference itself, and
    what stays is the repeatability of a pull. Otherwise every error counts for both, independently.
    Raises InputError where the runs share no speeds, or the inertia is not above 0.
    """
    if inertia is not None and not (np.isfinite(inertia) and inertia > 0):
        raise InputError(f"inertia is {inertia:g} kg*m^2, but must be above 0 kg*m^2.")
    speed = _common_speeds(first, second)
    used = UNIT_INERTIA if inertia is None else inertia
    sides = [_side(a, speed, used) for a in (first, second)]
    difference = sides[1].torque - sides[0].torque
    return Comparison(
        speed=speed,
        first=sides[0],
        second=sides[1],
        difference=difference,
        too_close=_too_close(sides[0], sides[1], same_dyno),
        inertia=used,
        inertia_given=inertia is not None,
        same_dyno=same_dyno,
        differences=differences_of(first, second),
    )


def _common_speeds(first: Assessment, second: Assessment) -> Array:
    """Speeds of both grids within the range that both runs cover (S,)."""
    low = max(first.speed[0], second.speed[0])
    high = min(first.speed[-1], second.speed[-1])
    if not high > low:
        raise InputError(
            f"{first.run.name} covers {first.speed[0] / RPM:.0f} to {first.speed[-1] / RPM:.0f} "
            f"rpm and {second.run.name} {second.speed[0] / RPM:.0f} to "
            f"{second.speed[-1] / RPM:.0f} rpm; runs can only be compared where both have speeds."
        )
    both = np.union1d(first.speed, second.speed)
    both = both[(both >= low) & (both <= high)]
    apart = np.diff(both, prepend=-np.inf) > SAME_SPEED
    apart[-1] = True
    apart[-2] &= bool(both[-1] - both[-2] > SAME_SPEED)
    return both[apart]


def _side(assessment: Assessment, speed: Array, inertia: float) -> Side:
    def at(values: Array) -> Array:
        return np.interp(speed, assessment.speed, values)

    reading = assessment.reading
    torque = at(assessment.torque)
    band = (float(speed[0]), float(speed[-1]))
    pressure = assessment.peak_pressure
    return Side(
        name=assessment.run.name,
        speed=speed,
        torque=torque,
        torque_sd=np.abs(torque) * np.interp(speed, reading.speed, reading.relative_sd),
        power=torque * speed,
        peak_pressure=Band(p05=at(pressure.p05), p50=at(pressure.p50), p95=at(pressure.p95)),
        chance_any=at(assessment.chance_any),
        area=area_under_power(speed, torque, band),
        sweep_time=sweep_time(speed, torque, inertia, band) if torque.min() > 0 else None,
        least=_least(assessment, band),
        draws=assessment.model.draws.count,
        steps=reading.steps,
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


def differences_of(first: Assessment, second: Assessment) -> tuple[Difference, ...]:
    """What was not the same for both: test facts, engine and fuel inputs, charge temperature."""
    one, two = first.engine, second.engine
    found = []
    for name in _names(one, two):
        texts = [_as_used(engine, name) for engine in (one, two)]
        if texts[0] != texts[1]:
            found.append(
                Difference(
                    name=name,
                    label=one.declaration(name).label,
                    first=texts[0],
                    second=texts[1],
                    measuring=name.startswith("test."),
                )
            )
    return (*found, *_charge(first, second))


def _names(one: Engine, two: Engine) -> list[str]:
    """Every input given for either engine, test facts first; the known-good file is left out."""
    from_sections = [
        f"{section}.{key}"
        for section in ("test", *(s for s in SECTIONS if s not in ("test", "known_good")))
        for key in vars(getattr(one, section))
    ]
    own = [key for key in vars(one) if key not in (*SECTIONS, "name")]
    return [n for n in (*from_sections, *own) if one.has(n) or two.has(n)]


def _as_used(engine: Engine, name: str) -> str:
    """An input as people are shown it: given, assumed or not stated."""
    declaration = engine.declaration(name)
    given = engine.given(name)
    if given is not None:
        return declaration.in_words(given)
    default = declaration.default
    raw = default(engine) if callable(default) else default
    return "not stated" if raw is None else f"{declaration.in_words(raw)} (assumed)"


def _charge(first: Assessment, second: Assessment) -> tuple[Difference, ...]:
    """Charge temperature, where it was logged or assumed at clearly different values."""
    means = [float(np.median(a.model.operating.intake_temperature)) for a in (first, second)]
    if abs(means[0] - means[1]) < WARMER:
        return ()
    texts = [f"{t - 273.15:.0f} °C" for t in means]
    return (
        Difference(
            name="intake_temperature",
            label="Charge temperature, median",
            first=texts[0],
            second=texts[1],
            measuring=True,
        ),
    )
