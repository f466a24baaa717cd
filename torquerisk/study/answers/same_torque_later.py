"""Why the same torque made later is kinder, and where it is not: load over strength by speed."""

import dataclasses
import enum
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.case.sentence import Sentence, Torque
from torquerisk.errors import InputError
from torquerisk.quantities import Array
from torquerisk.study.assessment.result import Assessment, Band, band
from torquerisk.study.limits import Limit, LimitKind, Place, place_of
from torquerisk.study.limits.abnormal import ABNORMAL, rates
from torquerisk.study.loads.cycles_spent import cycles_per_speed
from torquerisk.study.loads.demand import LATEST_SANE_CA50, Demand, demand
from torquerisk.study.run.operating_state import Operating
from torquerisk.study.strengths.parts import Parts, parts_of

SPEEDS = 9
"""Speeds looked at when none are named."""
MOST_DRAWS = 512
FLAT = 0.05
"""A median that changes by no more than this share stays the same."""
LEAST_ANGLE = np.radians(1.0)
"""Change of phasing that is worth a word [rad]."""
NEGLIGIBLE_RATE = 1e-9
"""Abnormal cycles rarer than this per cycle are as good as none, at either end."""


class Change(enum.Enum):
    """What happens from the first speed to the last."""

    EASES = "eases"
    TURNS = "eases, then harder again"
    SAME = "stays about the same"
    WORSENS = "gets harder"


@dataclass(frozen=True, kw_only=True, eq=False)
class Trend:
    """One load by speed at one torque, at equal phasing and at the phasing that the fuel allows."""

    name: str
    title: str
    equal_phasing: Band
    """(S,), CA50 the same at every speed."""
    allowed_phasing: Band
    """(S,), CA50 where best torque or knock puts it."""
    negligible: float = 0.0
    """Values below this count as none."""
    least_change: float | None = None
    """Change that counts [SI] where a ratio has no meaning, as for an angle; else FLAT counts."""

    @property
    def at_equal_phasing(self) -> Change:
        """From first speed to last, by the medians."""
        return self._change(self.equal_phasing)

    @property
    def at_allowed_phasing(self) -> Change:
        """From first speed to last, by the medians."""
        return self._change(self.allowed_phasing)

    def _change(self, values: Band) -> Change:
        middle = values.p50
        first, last, least = float(middle[0]), float(middle[-1]), float(middle.min())
        if max(first, last) <= self.negligible and self.least_change is None:
            return Change.SAME
        if min(first, last) - least > self._counts(least):
            return Change.TURNS
        if abs(last - first) <= self._counts(first):
            return Change.SAME
        return Change.EASES if last < first else Change.WORSENS

    def _counts(self, value: float) -> float:
        """Change from a value that counts [SI]."""
        return FLAT * abs(value) if self.least_change is None else self.least_change


@dataclass(frozen=True, kw_only=True, eq=False)
class Later:
    """One torque across the speed range. SI."""

    torque: float
    speed: Array
    """(S,), rising [rad/s]."""
    ca50_equal: float
    """The one phasing of the equal case [rad]."""
    ca50_allowed: Band
    """(S,) [rad]."""
    trends: dict[str, Trend]
    """Limits by name, and peak_pressure, knock_index, heavy_knock_rate, preignition_rate."""
    cycles: Array
    """Cycles of one cylinder spent about each speed in one pull at an even sweep rate (S,)."""
    out_of_reach: Array
    """Share of simulated engines in which the fuel knocks at any sane phasing (S,) [-]."""
    chance: Array
    """Share of simulated engines in which a limit of strength is passed at the allowed phasing, by
    normal cycles of all pulls (S,) [-]."""
    chance_with_abnormal: Array
    """The same with heavy knock and pre-ignition (S,) [-]."""
    lambda_: float
    intake_temperature: float
    """Held the same at every speed, so that speed alone changes [-], [K]."""
    draws: int

    def kindest(self, values: Band) -> float:
        """Speed at which the median of a load is least, the first of equals [rad/s]."""
        return float(self.speed[int(np.argmin(values.p50))])


def same_torque_by_speed(
    assessment: Assessment,
    torque: float,
    ca50: float | None = None,
    speeds: Array | None = None,
) -> Later:
    """One torque at every speed: how each limit's load over strength changes as speed rises.

    torque: at the crank [N*m]. ca50: of the equal case [rad]; by default the median that the fuel
    allows at the first speed (no later than is sane), so that both cases start alike. speeds:
    rising [rad/s]; by default nine even ones over the run.
    Lambda and charge temperature are held at the run's medians and pumping follows load, so that
    nothing but speed, and in the second case phasing, changes. The torque is taken as exact.
    Raises InputError for torque or speeds that cannot be judged.
    """
    speed = _speeds(assessment, speeds)
    engine = assessment.engine
    state = _state(assessment, speed)
    count = min(MOST_DRAWS, assessment.model.draws.count)
    draws = assessment.model.draws.take(np.arange(count))
    exact = np.zeros(len(speed))
    pulls = assessment.policy.pulls
    allowed = demand(engine, state, draws, exact, pulls=pulls)
    _require_within(torque, allowed)
    wanted = np.full(len(speed), torque)
    place = place_of(allowed.torque, wanted)
    ca50_allowed = place.read(allowed.ca50)
    if ca50 is None:
        ca50 = min(float(np.median(ca50_allowed[0])), LATEST_SANE_CA50)
    same = dataclasses.replace(state, ca50=np.full(len(speed), ca50))
    equal = demand(engine, same, draws, exact, pulls=pulls)
    parts = parts_of(engine, draws)
    cases = [(equal, place_of(equal.torque, wanted)), (allowed, place)]
    knock = place.read(allowed.knock_limited_ca50)
    chance, with_abnormal = _chances(assessment, parts, allowed, place)
    return Later(
        torque=torque,
        speed=speed,
        ca50_equal=ca50,
        ca50_allowed=band(ca50_allowed),
        trends=_trends(assessment, parts, cases),
        cycles=cycles_per_speed(engine, speed),
        out_of_reach=(knock >= LATEST_SANE_CA50).mean(axis=1)
        if not engine.compression_ignition
        else np.zeros(len(speed)),
        chance=chance,
        chance_with_abnormal=with_abnormal,
        lambda_=float(state.lambda_[0]),
        intake_temperature=float(state.intake_temperature[0]),
        draws=count,
    )


def _chances(
    assessment: Assessment, parts: Parts, loads: Demand, place: Place
) -> tuple[Array, Array]:
    """Share of draws that pass a limit of strength by speed, without and with abnormal cycles."""

    def passed(limit: Limit) -> npt.NDArray[np.bool_]:
        load = place.load(limit.load(loads, parts))
        return load > np.broadcast_to(limit.strength(loads, parts), load.shape)

    normal = [
        item.limit
        for item in assessment.limits.values()
        if item.limit.kind is LimitKind.STRENGTH and item.limit is not ABNORMAL
    ]
    failed = np.any([passed(limit) for limit in normal], axis=0)
    if assessment.engine.compression_ignition:
        return failed.mean(axis=1), failed.mean(axis=1)
    return failed.mean(axis=1), (failed | passed(ABNORMAL)).mean(axis=1)


def _speeds(assessment: Assessment, speeds: Array | None) -> Array:
    if speeds is None:
        return np.linspace(assessment.speed[0], assessment.speed[-1], SPEEDS)
    result = np.asarray(speeds, dtype=float)
    if len(result) < 2 or not (np.diff(result) > 0).all() or result[0] <= 0:
        raise InputError(
            "speeds to make the same torque at must be two or more, above 0 rpm and rising."
        )
    return result


def _state(assessment: Assessment, speed: Array) -> Operating:
    """The run's fuel and air, the same at every speed; nothing else as logged."""
    state = assessment.model.operating

    def level(values: Array) -> Array:
        return np.full(len(speed), float(np.median(values)))

    return dataclasses.replace(
        state,
        speed=speed,
        lambda_=level(state.lambda_),
        intake_temperature=level(state.intake_temperature),
        manifold_pressure=None,
        exhaust_pressure=None,
        ca50=None,
        ignition_advance=None,
        peak_pressure=None,
        lift_seen=None,
    )


def _require_within(torque: float, loads: Demand) -> None:
    low, high = float(loads.torque[..., 0].max()), float(loads.torque[..., -1].min())
    if not low <= torque <= high:
        raise InputError(
            Sentence(
                "torque is ",
                Torque(torque, "g"),
                ", but must be from ",
                Torque(max(low, 0.0), unit=""),
                " to ",
                Torque(high),
                " for this engine: the loads that the model covers.",
            )
        )


Case = tuple[Demand, Place]


def _trends(assessment: Assessment, parts: Parts, cases: list[Case]) -> dict[str, Trend]:
    trends: dict[str, Trend] = {}
    for name, item in assessment.limits.items():
        limit = item.limit
        if limit.kind is LimitKind.COMBUSTION:
            angles = [place.read(loads.knock_limited_ca50) for loads, place in cases]
            trends[name] = Trend(
                name=name, title=limit.title, equal_phasing=band(angles[0]),
                allowed_phasing=band(angles[1]), least_change=LEAST_ANGLE,
            )  # fmt: skip
            continue
        bands = []
        for loads, place in cases:
            load = place.load(limit.load(loads, parts))
            strength = np.broadcast_to(limit.strength(loads, parts), load.shape)
            with np.errstate(divide="ignore", invalid="ignore"):
                bands.append(band(np.where(strength > 0, load / strength, np.inf)))
        trends[name] = Trend(
            name=name, title=limit.title, equal_phasing=bands[0], allowed_phasing=bands[1]
        )
    trends["peak_pressure"] = _trend(
        "peak_pressure", "Peak cylinder pressure", [place.read(x.peak) for x, place in cases]
    )
    if not assessment.engine.compression_ignition:
        trends.update(_combustion(parts, cases))
    return trends


def _trend(name: str, title: str, values: list[Array], negligible: float = 0.0) -> Trend:
    equal, allowed = (band(v) for v in values)
    return Trend(
        name=name, title=title, equal_phasing=equal, allowed_phasing=allowed, negligible=negligible
    )


def _combustion(parts: Parts, cases: list[Case]) -> dict[str, Trend]:
    """Heavy knock and pre-ignition, as rates of abnormal cycles. Source: see `abnormal`."""
    told = [rates(x, parts, place.read(x.torque), place.read(x.knock_excess)) for x, place in cases]
    knock, early = ([pair[k] for pair in told] for k in (0, 1))
    return {
        name: _trend(name, title, values, NEGLIGIBLE_RATE)
        for name, title, values in (
            ("heavy_knock_rate", "Heavy knock", knock),
            ("preignition_rate", "Pre-ignition", early),
        )
    }
