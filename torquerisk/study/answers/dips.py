"""Why a torque curve dips: what the same engine would carry with the dip filled in."""

import dataclasses
from dataclasses import dataclass

import numpy as np

from torquerisk.errors import InputError
from torquerisk.quantities import Array
from torquerisk.study.answers.dip_search import (
    HALF_WINDOW,
    Basin,
    Smoothed,
    basins,
    least_depth_of,
    smoothed,
)
from torquerisk.study.assessment.abnormal_cycles import abnormal_cycles
from torquerisk.study.assessment.assess import BINDING, upper_median
from torquerisk.study.assessment.result import Assessment, band
from torquerisk.study.evidence.coolant import coolant_sign
from torquerisk.study.limits import Limit, Place, capacity_torque, place_of
from torquerisk.study.loads.demand import Demand, demand
from torquerisk.study.run.operating_state import Operating

Three = tuple[float, float, float]

DOTS = 20
"""Dots of the owner's picture: each stands for 5 % of the simulated engines."""
LEAST_SIGN = {
    "manifold_pressure": 4e3,
    "ignition_advance": np.radians(1.5),
    "ca50": np.radians(1.5),
    "lambda_": 0.02,
    "intake_temperature": 5.0,
    "fuel_pressure": 2e4,
}
"""Least departure from a straight line across the dip that is worth a word (common practice, no
source): above what such channels scatter by."""


@dataclass(frozen=True, kw_only=True)
class Side:
    """One limit at one torque. SI."""

    utilisation: float
    """Median of load over strength [-]."""
    chance: float
    """Share of simulated engines that pass it [-]."""
    margin: Three
    """5, 50 and 95 % points of strength less load [SI]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class LimitChange:
    """One limit at the dip's deepest speed, with the dip and with the dip filled in."""

    limit: Limit
    with_dip: Side
    without_dip: Side
    dots_with: Array
    """Load over strength (20,) [-], rising: each stands for 5 % of the simulated engines. A dot at
    or beyond 1 is past the limit; inf where no strength is left at all."""
    dots_without: Array

    @property
    def rise(self) -> float:
        """By how much the chance would have risen [-]."""
        return self.without_dip.chance - self.with_dip.chance


@dataclass(frozen=True, kw_only=True)
class Sign:
    """What a logged channel did in the dip. SI."""

    channel: str
    change: float
    """Against a straight line across the dip; for coolant pressure, the rise."""
    share: float
    """That change over the straight line's value [-]."""
    from_speed: float
    to_speed: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Dip:
    """One dip of the measured crank torque and what it spares the engine. SI."""

    from_speed: float
    from_torque: float
    to_speed: float
    to_torque: float
    """A straight line from (from_speed, from_torque) to here lies over the dip."""
    speed: float
    """Where it is deepest."""
    torque: float
    """Measured there, at the crank, uncorrected [N*m]."""
    would_be_torque: float
    """On the line over the dip [N*m]."""
    acceptable_torque: float
    """At the accepted chance of any binding limit at that speed [N*m]; +-inf happens."""
    accepted: float
    """Accepted chance that 'too much' is judged by [-]."""
    draws: int
    """Simulated engines behind the shares."""
    changes: dict[str, LimitChange]
    """Every limit that is assessed, by name."""
    protects: str | None
    """Limit that the dip keeps from rising over the accepted chance; None: nothing in the model."""
    abnormal_with: float
    """Chance of an abnormal cycle near this speed in one pull [-]."""
    abnormal_without: float
    signs: tuple[Sign, ...]
    carried: tuple[str, ...]
    """Channels that were drawn straight across the dip, as torque was, for the comparison."""

    @property
    def depth(self) -> float:
        """Would-be torque less measured torque [N*m]."""
        return self.would_be_torque - self.torque

    @property
    def shown(self) -> LimitChange | None:
        """The limit whose dots tell most: the one protected, else the nearest one that binds."""
        if self.protects is not None:
            return self.changes[self.protects]
        binding = [c for c in self.changes.values() if c.limit.kind in BINDING]
        return max(binding, key=lambda c: c.without_dip.utilisation, default=None)

    @property
    def over_anyway(self) -> bool:
        """True where what it protects is over the accepted chance even with the dip."""
        return (
            self.protects is not None
            and self.changes[self.protects].with_dip.chance > self.accepted
        )


def find_dips(assessment: Assessment, least_depth: float | None = None) -> tuple[Dip, ...]:
    """Dips of the measured crank torque, by rising speed, each with what it spares the engine.

    A dip falls and rises again: a curve that simply rises and falls has none. It is found on the
    smoothed curve (window HALF_WINDOW to either side) under its concave envelope between the peaks
    beside it; see `dip_search.basins`. least_depth: least depth that counts [N*m]; by default the
    larger of 2 % of peak torque and five times the noise left in the smoothed curve.
    Without the dip, torque and every logged channel are drawn straight from one side to the other
    and the same simulated engines are asked again. Raises InputError unless least_depth is above 0.
    """
    if least_depth is not None and not (np.isfinite(least_depth) and least_depth > 0):
        raise InputError(f"least_depth is {least_depth:g} N*m, but must be above 0 N*m.")
    reading = assessment.reading
    curve = smoothed(reading.speed, reading.torque)
    least = least_depth_of(curve) if least_depth is None else least_depth
    made = (_dip(assessment, curve, basin) for basin in basins(curve, least))
    return tuple(dip for dip in made if dip.depth >= least)


def _dip(assessment: Assessment, curve: Smoothed, basin: Basin) -> Dip:
    k = _deepest(assessment, curve, basin)
    speed, torque = float(assessment.speed[k]), float(assessment.torque[k])
    would_be = basin.line(speed)
    actual = _loads(assessment, k, None)
    filled = _loads(assessment, k, basin)
    changes = {
        name: _change(assessment, item.limit, actual, torque, filled, would_be)
        for name, item in assessment.limits.items()
    }
    return Dip(
        from_speed=basin.from_speed,
        from_torque=basin.from_torque,
        to_speed=basin.to_speed,
        to_torque=basin.to_torque,
        speed=speed,
        torque=torque,
        would_be_torque=would_be,
        acceptable_torque=float(assessment.ceiling[k]),
        accepted=assessment.policy.chance,
        draws=assessment.model.draws.count,
        changes=changes,
        protects=_protected(changes, assessment.policy.chance),
        abnormal_with=_abnormal(assessment, actual, torque),
        abnormal_without=_abnormal(assessment, filled, would_be),
        signs=signs_in(assessment, basin),
        carried=_carried(assessment.model.operating),
    )


def _deepest(assessment: Assessment, curve: Smoothed, basin: Basin) -> int:
    """Index of the assessed speed at which the dip is deepest, never the last one."""
    speed = assessment.speed[:-1]
    inside = np.flatnonzero((speed > basin.from_speed) & (speed < basin.to_speed))
    if len(inside) == 0:
        return int(np.argmin(np.abs(speed - basin.speed)))
    torque = np.interp(speed[inside], curve.speed, curve.torque)
    line = np.array([basin.line(x) for x in speed[inside]])
    return int(inside[np.argmax(line - torque)])


NO_CHANNEL = ("run_torque", "known_bmep")
"""Fields of a state that were not logged."""


def _array_fields(state: Operating) -> list[str]:
    return [
        f.name
        for f in dataclasses.fields(state)
        if f.name != "speed" and isinstance(getattr(state, f.name), np.ndarray)
    ]


def _carried(state: Operating) -> tuple[str, ...]:
    """Channels that are drawn straight across: those that vary over the run."""
    return tuple(
        n for n in _array_fields(state) if n not in NO_CHANNEL and np.ptp(getattr(state, n)) > 0
    )


def _loads(assessment: Assessment, k: int, filled: Basin | None) -> Demand:
    """Loads at speed k, its state as logged or drawn straight across a dip.

    The run's last speed is solved beside it, since the response surface is made for the highest
    speed of a run: so the same tables answer.
    """
    state = assessment.model.operating
    index = np.array([k, len(assessment.speed) - 1])
    changed = {}
    for name in _array_fields(state):
        values = getattr(state, name)
        changed[name] = values[index].copy()
        if filled is not None and name != "known_bmep":
            ends = np.interp([filled.from_speed, filled.to_speed], state.speed, values)
            changed[name][0] = np.interp(state.speed[k], [filled.from_speed, filled.to_speed], ends)
    two = dataclasses.replace(state, speed=state.speed[index], **changed)
    model = assessment.model
    return demand(
        assessment.engine, two, model.draws, model.reading_sd[index], pulls=model.demand.pulls
    )


def _place(loads: Demand, torque: float) -> Place:
    """Where a torque lies among the rows of both speeds; only the first is read."""
    return place_of(loads.torque, np.array([torque, torque]))


def _change(
    assessment: Assessment,
    limit: Limit,
    actual: Demand,
    torque: float,
    filled: Demand,
    would_be: float,
) -> LimitChange:
    with_dip, dots_with = _side(assessment, limit, actual, torque)
    without_dip, dots_without = _side(assessment, limit, filled, would_be)
    return LimitChange(
        limit=limit,
        with_dip=with_dip,
        without_dip=without_dip,
        dots_with=dots_with,
        dots_without=dots_without,
    )


def _side(assessment: Assessment, limit: Limit, loads: Demand, torque: float) -> tuple[Side, Array]:
    parts = assessment.model.parts
    by_row = limit.load(loads, parts)
    strength = np.broadcast_to(limit.strength(loads, parts), loads.torque.shape[:2])
    load = _place(loads, torque).load(by_row)
    capacity = capacity_torque(by_row, strength, loads.torque)[0]
    load, strength = load[:1], strength[:1]
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(strength > 0, load / strength, np.inf)[0]
    margin = band(strength - load)
    side = Side(
        utilisation=float(upper_median(ratio)),
        chance=float((capacity < torque).mean()),
        margin=(float(margin.p05[0]), float(margin.p50[0]), float(margin.p95[0])),
    )
    middles = (np.arange(DOTS) + 0.5) / DOTS
    return side, np.quantile(ratio, middles, method="inverted_cdf")


def _protected(changes: dict[str, LimitChange], accepted: float) -> str | None:
    """The binding limit whose chance would have risen most, to above the accepted one."""
    risen = {
        name: change.rise
        for name, change in changes.items()
        if change.limit.kind in BINDING and change.without_dip.chance > accepted and change.rise > 0
    }
    return max(risen, key=lambda name: risen[name], default=None)


def _abnormal(assessment: Assessment, loads: Demand, torque: float) -> float:
    """Chance of an abnormal cycle near the dip's speed in one pull [-]."""
    parts = assessment.model.parts
    result = abnormal_cycles(loads, parts, _place(loads, torque))
    return float(result.chance_event[0])


def signs_in(assessment: Assessment, basin: Basin) -> tuple[Sign, ...]:
    """What the logged channels did in a dip, against straight lines across it.

    Each channel is smoothed as torque is and read where torque is deepest; coolant pressure is read
    for a rise over its least so far that overlaps the dip, see `evidence.coolant_sign`.
    """
    run = assessment.run
    ends = [basin.from_speed, basin.to_speed]
    found = []
    for name, least in LEAST_SIGN.items():
        values = run.channel(name)
        if values is None:
            continue
        curve = smoothed(run.speed, values)
        sides = np.interp(ends, curve.speed, curve.torque)
        line = float(np.interp(basin.speed, ends, sides))
        change = float(np.interp(basin.speed, curve.speed, curve.torque)) - line
        if abs(change) >= least:
            share = change / line if line else 0.0
            found.append(
                Sign(channel=name, change=change, share=share, from_speed=ends[0], to_speed=ends[1])
            )
    pressure = run.channel("coolant_pressure")
    sign = None if pressure is None else coolant_sign(run.speed, pressure)
    if sign is not None and sign[1] < basin.to_speed and sign[2] > basin.from_speed - HALF_WINDOW:
        rise, first, last = sign
        found.append(
            Sign(
                channel="coolant_pressure", change=rise, share=0.0, from_speed=first, to_speed=last
            )
        )
    return tuple(found)


def default_least_depth(assessment: Assessment) -> float:
    """Least depth that counts as a dip when none is asked for [N*m]."""
    reading = assessment.reading
    return least_depth_of(smoothed(reading.speed, reading.torque))
