"""Why a torque curve dips: what the same engine would carry with the dip filled in."""

import dataclasses
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.case import Run
from torquerisk.errors import InputError
from torquerisk.quantities import Array
from torquerisk.study.answers.dip_cells import (
    IGNITION,
    LEAST_EARLY,
    Cell,
    IgnitionLine,
    LimitChange,
    carried,
    ignition_line,
    loads_in,
    place,
    side,
)
from torquerisk.study.answers.dip_search import (
    HALF_WINDOW,
    Basin,
    Smoothed,
    basins,
    least_depth_of,
    smoothed,
)
from torquerisk.study.assessment.abnormal_cycles import abnormal_cycles
from torquerisk.study.assessment.assess import BINDING, evaluate
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.loads.demand import Demand
from torquerisk.study.run.log_signs import coolant_sign_of
from torquerisk.study.run.seen_signs import SHY_OF_SIGN
from torquerisk.study.table.finer_grid import prepared_of

Mask = npt.NDArray[np.bool_]
LEAST_SIGN = {
    "manifold_pressure": 4e3,
    "ignition_advance": LEAST_EARLY,
    "ca50": LEAST_EARLY,
    "knock_retard": LEAST_EARLY,
    "lambda_": 0.02,
    "intake_temperature": 5.0,
    "fuel_pressure": 2e4,
}
"""Least departure from a straight line across the dip that is worth a word (common practice, no
source): above what such channels scatter by."""
GREATER_PART = 0.5
"""Share of a change above which one thing is named as its cause: up to that, all others together
are the greater part."""


@dataclass(frozen=True, kw_only=True)
class Sign:
    """What a logged channel did in the dip. SI."""

    channel: str
    change: float
    """Against a straight line across the dip; for coolant pressure, the rise; for a cut, the
    share of the dip's rows."""
    share: float
    """That change over the straight line's value [-]."""
    from_speed: float
    to_speed: float


@dataclass(frozen=True, kw_only=True)
class Elsewhere:
    """Where outside every dip the limit that a dip spares is likeliest to be passed. SI."""

    speed: float
    chance: float
    """As it was run [-]."""


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
    """Limit that the dip keeps from rising over the accepted chance, one that explains the dip
    before others; None: nothing in the model."""
    elsewhere: Elsewhere | None
    """Of that limit; None without one."""
    abnormal_with: float
    """Chance of an abnormal cycle near this speed in one pull [-]."""
    abnormal_without: float
    ignition: IgnitionLine | None
    """The line that ignition is drawn on; None where it was not logged."""
    signs: tuple[Sign, ...]
    level: tuple[str, ...]
    """Channels of `LEAST_SIGN` that were logged and run straight through the dip."""
    unlogged: tuple[str, ...]
    """Of manifold pressure, ignition and lambda, those that would tell what took torque out."""
    lifted: bool
    """True where coolant pressure that was seen to rise says that the head lifts even so."""
    carried: tuple[str, ...]
    """Channels that were drawn straight across, as torque was, for the comparison."""

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
    def explained(self) -> bool:
        """True where more than half of what the dip takes off the chance of passing what it
        protects lies above that chance at every speed without a dip."""
        return self.protects is not None and _explains(self.changes[self.protects], self.elsewhere)

    @property
    def over_anyway(self) -> bool:
        """True where what it protects is over the accepted chance even with the dip."""
        return (
            self.protects is not None
            and self.changes[self.protects].with_dip.chance > self.accepted
        )

    @property
    def early_ignition_costs(self) -> bool:
        """True where early ignition is to blame.

        At full torque, ignition on its line then takes away the greater part of what the dip takes
        away with the ignition as it is.
        """
        if self.protects is None or self.ignition is None or not self.ignition.is_early:
            return False
        chance = {cell: s.chance for cell, s in self.changes[self.protects].cells.items()}
        by_dip = chance[Cell.TORQUE] - chance[Cell.AS_LOGGED]
        by_ignition = chance[Cell.TORQUE] - chance[Cell.BOTH]
        return by_ignition > GREATER_PART * by_dip > 0


def find_dips(assessment: Assessment, least_depth: float | None = None) -> tuple[Dip, ...]:
    """Dips of the measured crank torque, by rising speed, each with what it spares the engine.

    A dip falls and rises again: a curve that simply rises and falls has none. It is found on the
    smoothed curve (window HALF_WINDOW to either side) under its concave envelope between the peaks
    beside it; see `dip_search.basins`. least_depth: least depth that counts [N*m]; by default the
    larger of 2 % of peak torque and five times the noise left in the smoothed curve.
    The same simulated engines are asked again with torque, ignition or both drawn straight across;
    see `dip_cells`. Raises InputError unless least_depth is above 0.
    """
    if least_depth is not None and not (np.isfinite(least_depth) and least_depth > 0):
        raise InputError(f"least_depth is {least_depth:g} N*m, but must be above 0 N*m.")
    reading = assessment.reading
    curve = smoothed(reading.speed, reading.torque)
    least = least_depth_of(curve) if least_depth is None else least_depth
    found = basins(curve, least)
    outside = np.all([(assessment.speed <= b.from_speed) | (assessment.speed >= b.to_speed)
                      for b in found], axis=0)  # fmt: skip
    by_parts = by_its_parts(assessment) if found else assessment
    seen = assessment.model.operating.lift_seen
    lifted = assessment.torque > SHY_OF_SIGN * (np.inf if seen is None else seen)
    made = (_dip(by_parts, curve, basin, outside, assessment.ceiling, lifted) for basin in found)
    return tuple(dip for dip in made if dip.depth >= least)


def by_its_parts(assessment: Assessment) -> Assessment:
    """The run by its parts' own strength: where a sign of lift was seen the head holds nothing in
    any engine, so what a dip does for it could not be compared."""
    if assessment.model.operating.lift_seen is None:
        return assessment
    prepared = prepared_of(assessment)
    state = dataclasses.replace(prepared.state, lift_seen=None)
    return evaluate(
        dataclasses.replace(prepared, state=state),
        assessment.policy,
        assessment.model.every,
        assessment.evidence,
    )


def _dip(
    assessment: Assessment, curve: Smoothed, basin: Basin, outside: Mask, ceiling: Array,
    lifted: Mask,
) -> Dip:  # fmt: skip
    k = _deepest(assessment, curve, basin)
    speed, torque = float(assessment.speed[k]), float(assessment.torque[k])
    would_be = basin.line(speed)
    ignition = ignition_line(assessment, basin, speed)
    cells = list(Cell) if ignition is not None else [Cell.AS_LOGGED, Cell.BOTH]
    loads = {cell: loads_in(assessment, k, cell, basin, ignition) for cell in cells}
    at = {cell: would_be if cell.torque_filled else torque for cell in cells}
    changes = {
        name: LimitChange(
            limit=item.limit,
            cells={c: side(assessment, item.limit, loads[c], at[c]) for c in cells},
        )
        for name, item in assessment.limits.items()
    }
    elsewhere = {name: _elsewhere(assessment, name, outside) for name in changes}
    protects = _protected(changes, elsewhere, assessment.policy.chance)
    signs = signs_in(assessment, basin, ignition)
    logged = [n for n in LEAST_SIGN if assessment.run.channel(n) is not None]
    return Dip(
        from_speed=basin.from_speed,
        from_torque=basin.from_torque,
        to_speed=basin.to_speed,
        to_torque=basin.to_torque,
        speed=speed,
        torque=torque,
        would_be_torque=would_be,
        acceptable_torque=float(ceiling[k]),
        accepted=assessment.policy.chance,
        draws=assessment.model.draws.count,
        changes=changes,
        protects=protects,
        elsewhere=None if protects is None else elsewhere[protects],
        abnormal_with=_abnormal(assessment, loads[Cell.AS_LOGGED], torque),
        abnormal_without=_abnormal(assessment, loads[Cell.BOTH], would_be),
        ignition=ignition,
        signs=signs,
        level=tuple(n for n in logged if n not in {sign.channel for sign in signs}),
        unlogged=_unlogged(assessment, logged),
        lifted=bool(lifted[k]),
        carried=carried(assessment.model.operating),
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


def _elsewhere(assessment: Assessment, name: str, outside: Mask) -> Elsewhere | None:
    if not outside.any():
        return None
    chance = assessment.limits[name].chance
    k = int(np.argmax(np.where(outside, chance, -1.0)))
    return Elsewhere(speed=float(assessment.speed[k]), chance=float(chance[k]))


def _explains(change: LimitChange, elsewhere: Elsewhere | None) -> bool:
    filled, by_dip = change.worst_filled.chance, change.worst_filled.chance - change.with_dip.chance
    return elsewhere is None or filled - elsewhere.chance > GREATER_PART * by_dip


def _protected(
    changes: dict[str, LimitChange], elsewhere: dict[str, Elsewhere | None], accepted: float
) -> str | None:
    """The binding limit whose chance would have risen most with torque filled in, to above the
    accepted one, with ignition as it was or on its line; those that explain the dip come first."""
    risen = {
        name: (_explains(change, elsewhere[name]), rise)
        for name, change in changes.items()
        if change.limit.kind in BINDING
        and change.worst_filled.chance > accepted
        and (rise := change.worst_filled.chance - change.with_dip.chance) > 0
    }
    return max(risen, key=lambda name: risen[name], default=None)


def _unlogged(assessment: Assessment, logged: list[str]) -> tuple[str, ...]:
    wanted = ["manifold_pressure", "ignition_advance", "lambda_"]
    if assessment.engine.compression_ignition or "ca50" in logged:
        wanted.remove("ignition_advance")
    return tuple(name for name in wanted if name not in logged)


def _abnormal(assessment: Assessment, loads: Demand, torque: float) -> float:
    """Chance of an abnormal cycle near the dip's speed in one pull [-]."""
    result = abnormal_cycles(loads, assessment.model.parts, place(loads, torque))
    return float(result.chance_event[0])


def signs_in(
    assessment: Assessment, basin: Basin, ignition: IgnitionLine | None = None
) -> tuple[Sign, ...]:
    """What the logged channels did in a dip, against straight lines across it.

    Ignition is told against its own line where there is one. Each channel is smoothed as torque is
    and read where torque is deepest; a cut is wherever a row within the dip says so; coolant
    pressure is read for a rise over its least so far that overlaps the dip, see
    `physics.coolant.coolant_sign`.
    """
    run = assessment.run
    found: dict[str, Sign] = {}
    for name, least in LEAST_SIGN.items():
        over = ignition if ignition is not None and name in IGNITION else basin
        ends = [over.from_speed, over.to_speed]
        values = run.channel(name)
        if values is None:
            continue
        # Ignition taken back is a positive angle or a negative one, by the log.
        curve = smoothed(run.speed, np.abs(values) if name == "knock_retard" else values)
        sides = np.interp(ends, curve.speed, curve.torque)
        line = float(np.interp(basin.speed, ends, sides))
        change = float(np.interp(basin.speed, curve.speed, curve.torque)) - line
        boost = found.get("manifold_pressure")
        # A regulator may hold fuel pressure over the manifold's: going with that is no sign.
        own = change - boost.change if boost and name == "fuel_pressure" else change
        if min(abs(change), abs(own)) >= least:
            share = change / line if line else 0.0
            found[name] = Sign(
                channel=name, change=change, share=share, from_speed=ends[0], to_speed=ends[1]
            )
    cuts = (sign for what in ("ignition", "fuel") for sign in _cut(run, basin, f"{what}_cut"))
    return (*cuts, *found.values(), *_coolant(run, basin))


def _cut(run: Run, basin: Basin, channel: str) -> tuple[Sign, ...]:
    cut = run.channel(channel)
    inside = (run.speed > basin.from_speed) & (run.speed < basin.to_speed)
    if cut is None or not (cut[inside] > 0).any():
        return ()
    speed, share = run.speed[inside & (cut > 0)], float((cut[inside] > 0).mean())
    return (
        Sign(
            channel=channel, change=share, share=share,
            from_speed=float(speed[0]), to_speed=float(speed[-1]),
        ),
    )  # fmt: skip


def _coolant(run: Run, basin: Basin) -> tuple[Sign, ...]:
    sign = coolant_sign_of(run)
    if sign is None or sign[1] >= basin.to_speed or sign[2] <= basin.from_speed - HALF_WINDOW:
        return ()
    rise, first, last = sign
    return (
        Sign(channel="coolant_pressure", change=rise, share=0.0, from_speed=first, to_speed=last),
    )


def default_least_depth(assessment: Assessment) -> float:
    """Least depth that counts as a dip when none is asked for [N*m]."""
    reading = assessment.reading
    return least_depth_of(smoothed(reading.speed, reading.torque))
