"""The torque-limit table of an assessed engine: shaped, rounded down, assessed anew."""

import dataclasses
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from torquerisk.case import Notice, Policy, Run
from torquerisk.errors import InputError
from torquerisk.physics.supply.charge import manifold_pressure_for_torque
from torquerisk.study.assess import (
    BINDING,
    Prepared,
    at_accepted,
    evaluate,
    failing,
    prepare,
    select_draws,
)
from torquerisk.study.assessment import Assessment
from torquerisk.study.demand import demand
from torquerisk.study.limits import LimitKind, capacity_torque, place_of
from torquerisk.study.operating import Operating
from torquerisk.study.reading import crank_reading
from torquerisk.study.shape import (
    Objective,
    Shape,
    ShapeAsk,
    area_under_power,
    even_breakpoints,
    interpolated_limit,
    shape_limit,
    verify_table,
)

Array = npt.NDArray[np.float64]
RPM = np.pi / 30

OBJECTIVES = {
    "most area": Objective.MOST_AREA,
    "shortest sweep": Objective.SHORTEST_SWEEP,
    "least change": Objective.LEAST_CHANGE,
    "same shape later": Objective.SAME_SHAPE_LATER,
}
BREAKPOINT_STEP = 50 * RPM
"""Breakpoints lie on multiples of this speed [rad/s]."""
PHASING_CANDIDATES = np.radians([-2.0, 2.0, 6.0, 10.0, 14.0, 18.0, 23.0, 28.0, 34.0])
PHASING_DRAWS = 512
WIDEST_GAP = 150 * RPM
"""Widest gap between speeds at which a table is judged [rad/s]."""
DIGITS = 9
"""Decimals to which speeds [rad/s] are compared."""
ATTEMPTS = 3
"""Tables shaped at most: each failed proof lowers the ceiling to what its draws accept."""
SAMPLING_SIGMAS = 2.5
"""Re-assessed chances may exceed the accepted one by this many standard errors of sampling."""


@dataclass(frozen=True, kw_only=True, eq=False)
class LimitRow:
    """One breakpoint of the table. SI."""

    speed: float
    limit: float
    governing: str
    """Limit with the least capacity torque at this speed."""
    held_by: str
    """What keeps the row from being a step higher: ceiling, rise, reach ..."""
    chance: float
    """Chance that any strength limit is passed at this speed and limit [-]."""
    spare: float
    """Capacity torque at the accepted chance less the limit [N*m]; may be infinite."""
    ca50: float
    """Phasing that the row was judged at, median [rad]."""
    ca50_not_before: float | None
    """Earliest phasing that the row can carry at the accepted chance [rad]; None where even the
    latest judged is too early, or where every judged phasing holds the earliest is given."""
    manifold_pressure: float | None
    """Manifold pressure that would give it at unchanged phasing, from the run [Pa]."""
    lifted_by: str

    @property
    def power(self) -> float:
        """Power at the limit [W]."""
        return self.limit * self.speed


@dataclass(frozen=True, kw_only=True)
class Tally:
    """A curve in two numbers."""

    area: float
    """Area under power over the band [W*rad/s]."""
    chance_any_max: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Proposal:
    """A torque-limit table with its proof."""

    assessment: Assessment
    """Of the measured run."""
    policy: Policy
    ask: ShapeAsk
    shape: Shape
    rows: tuple[LimitRow, ...]
    peak_speed: float
    peak_torque: float
    delivered: Array
    """The lesser of limit and reach on the grid (S,) [N*m]."""
    reach: Array | None
    ceiling: Array
    before: Tally
    after: Tally
    chance_pull: float
    verified: bool
    verification: str
    """What the independent re-assessment found, in words."""
    fresh: Assessment
    """The re-assessment itself, of the limit as a run."""
    notices: tuple[Notice, ...]


def reach_curve(assessment: Assessment, reach: str | Run) -> Array | None:
    """What the engine can make on the grid (S,) [N*m]: the run, another run, or None for open."""
    if isinstance(reach, Run):
        other = crank_reading(assessment.reading.as_given, reach)
        low, high = assessment.speed[0], assessment.speed[-1]
        if other.speed[0] > low * (1 + 1e-9) or other.speed[-1] < high * (1 - 1e-9):
            raise InputError(
                f"the run given as reach covers {other.speed[0] / RPM:.0f} to "
                f"{other.speed[-1] / RPM:.0f} rpm, but must cover the measured run's "
                f"{low / RPM:.0f} to {high / RPM:.0f} rpm."
            )
        return np.interp(assessment.speed, other.speed, other.torque).clip(0.0)
    if reach == "measured":
        return assessment.torque
    if reach == "open":
        return None
    raise InputError(f"reach is {reach!r}, but must be 'measured', 'open' or a run file.")


def propose_limit(
    assessment: Assessment,
    policy: Policy | None = None,
    reach: str | Run = "measured",
    reference: Run | None = None,
) -> Proposal:
    """Propose and verify a torque-limit table.

    assessment: of the measured run. policy: chance, shape and table; the assessment's when left
    out (its draws are used in any case). reach: what the engine can make. reference: a curve to
    stay near, or whose shape is moved, for the objectives that need one.
    Raises InfeasibleError where no table meets the ask, InputError on bad input.
    """
    policy = policy or assessment.policy
    ask = _ask(assessment, policy, reference)
    fine = on_finer_grid(assessment, ask.breakpoints)
    ceiling, can = ceiling_at(fine, policy.chance), reach_curve(fine, reach)
    shape, proof = _proved(fine, policy, ask, ceiling, can)
    limit = interpolated_limit(shape.breakpoints, shape.limit, fine.speed)
    delivered = limit if can is None else np.minimum(limit, can)
    failed = failing_at(fine, delivered)
    peak = int(np.argmax(delivered))
    own = np.searchsorted(fine.speed, np.round(assessment.speed, DIGITS))
    return Proposal(
        assessment=assessment,
        policy=policy,
        ask=ask,
        shape=shape,
        rows=_rows(fine, policy, shape),
        peak_speed=float(fine.speed[peak]),
        peak_torque=float(delivered[peak]),
        delivered=delivered[own],
        reach=None if can is None else can[own],
        ceiling=ceiling[own],
        before=Tally(
            area=area_under_power(fine.speed, fine.torque, ask.band),
            chance_any_max=float(fine.chance_any.max()),
        ),
        after=Tally(
            area=area_under_power(fine.speed, delivered, ask.band),
            chance_any_max=float(failed.mean(axis=1).max()),
        ),
        chance_pull=float(failed.any(axis=0).mean()),
        verified=proof.verified,
        verification=proof.words,
        fresh=proof.fresh,
        notices=_notices(shape, limit, fine.torque),
    )


def _notices(shape: Shape, limit: Array, measured: Array) -> tuple[Notice, ...]:
    """What a reader of the table must be told."""
    notices = [Notice("shape", text) for text in shape.notices]
    beyond = limit > measured + 0.5
    if beyond.any():
        most = float((limit - measured).max())
        notices.append(
            Notice(
                "above-measured",
                f"The limit lies above what this run made at {int(beyond.sum())} of {len(beyond)} "
                f"speeds, by up to {most:.0f} N*m: there the model reaches beyond the measurement.",
            )
        )
    return tuple(notices)


def on_finer_grid(assessment: Assessment, breakpoints: Array) -> Assessment:
    """The same engines and run on a grid that holds the table's breakpoints and has no wide gaps.

    Torque and channels are linear between the run's own rows. So the ceiling is known where the
    table bends, and a run of few rows is still judged between them.
    """
    own = np.round(assessment.speed, DIGITS)
    inside = breakpoints[(breakpoints >= own[0]) & (breakpoints <= own[-1])]
    speed = np.union1d(own, np.round(inside, DIGITS))
    parts = np.ceil(np.diff(speed) / WIDEST_GAP - 1e-9).astype(int)
    between = [
        np.linspace(low, high, n + 1)[1:-1]
        for low, high, n in zip(speed[:-1], speed[1:], parts, strict=True)
    ]
    speed = np.union1d(speed, np.round(np.concatenate(between), DIGITS))
    prepared = prepare(assessment.reading.as_given, assessment.run, None)
    torque = np.interp(speed, assessment.speed, assessment.torque)
    finer = _on_speeds(prepared, speed, torque)
    return evaluate(finer, assessment.policy, assessment.model.draws, assessment.evidence, 1.0)


def _binding_capacity(assessment: Assessment) -> Array:
    """Least capacity torque (S, N) over the limits that bind."""
    names = [n for n, item in assessment.limits.items() if item.limit.kind in BINDING]
    return np.min([assessment.model.capacities[n] for n in names], axis=0)


def ceiling_at(assessment: Assessment, chance: float) -> Array:
    """Torque (S,) [N*m] at which the chance of any binding limit is the accepted one."""
    return at_accepted(_binding_capacity(assessment), chance)


def failing_at(assessment: Assessment, torque: Array) -> npt.NDArray[np.bool_]:
    """Which draws pass a strength limit (S, N) at torques (S,)."""
    used = [item.limit for item in assessment.limits.values()]
    return failing(used, assessment.model.capacities, torque)


def _ask(assessment: Assessment, policy: Policy, reference: Run | None) -> ShapeAsk:
    speed = assessment.speed
    low, high = float(speed[0]), float(speed[-1])
    peak_from = policy.peak_from
    if peak_from is None:
        peak_from = float(speed[int(np.argmax(assessment.torque))])
    if peak_from > high:
        raise InputError(
            f"peak_from is {peak_from / RPM:.0f} rpm, but must be within the run, which ends at "
            f"{high / RPM:.0f} rpm."
        )
    curve = reference or assessment.engine.known_good.curve
    on_grid = None
    if curve is not None:
        reading = crank_reading(assessment.reading.as_given, curve)
        on_grid = np.interp(speed, reading.speed, reading.torque)
    objective = OBJECTIVES[policy.objective]
    if objective in (Objective.LEAST_CHANGE, Objective.SAME_SHAPE_LATER) and on_grid is None:
        raise InputError(
            f"objective is {policy.objective!r}, which needs a reference curve: give a run to keep "
            "to, or a known-good run in the engine file."
        )
    return ShapeAsk(
        objective=objective,
        breakpoints=table_breakpoints(low, high, policy.points, peak_from),
        band=(low, high),
        peak_from=peak_from,
        rise_rate=policy.rise,
        torque_resolution=policy.resolution,
        reference=on_grid if objective is not Objective.MOST_AREA else None,
    )


def table_breakpoints(low: float, high: float, count: int, peak_from: float) -> Array:
    """Breakpoints (count,) [rad/s] on round speeds within the run, one at the earliest peak."""
    through = peak_from if low < peak_from < high else None
    return even_breakpoints(low, high, count, BREAKPOINT_STEP, through)


@dataclass(frozen=True, kw_only=True, eq=False)
class Proof:
    """What an independent re-assessment of a table found."""

    verified: bool
    words: str
    fresh: Assessment
    ceiling: Array
    """Torque at the accepted chance by the fresh draws, on the measured run's speeds (S,) [N*m]."""


def _proved(
    assessment: Assessment, policy: Policy, ask: ShapeAsk, ceiling: Array, reach: Array | None
) -> tuple[Shape, Proof]:
    """Shape a table and re-assess it; where fresh draws say less, shape under both, try again."""
    for attempt in range(1, ATTEMPTS + 1):
        shape = shape_limit(assessment.speed, ceiling, reach, ask)
        proof = verify(assessment, policy, shape, ask, ceiling, reach, attempt)
        if proof.verified:
            break
        ceiling = np.minimum(ceiling, proof.ceiling)
    return shape, proof


def verify(
    assessment: Assessment,
    policy: Policy,
    shape: Shape,
    ask: ShapeAsk,
    ceiling: Array,
    reach: Array | None,
    attempt: int = 1,
) -> Proof:
    """Assess the limit itself as a run with fresh draws; say whether it keeps the accepted chance.

    The whole chain runs anew with another seed, on the speeds of the assessment given, which hold
    the table's breakpoints.
    """
    broken = verify_table(assessment.speed, ceiling, shape, ask, reach)
    speed = assessment.speed
    limit = interpolated_limit(shape.breakpoints, shape.limit, speed)
    fresh_policy = dataclasses.replace(
        assessment.policy, seed=assessment.policy.seed + attempt, chance=policy.chance
    )
    prepared = prepare(assessment.reading.as_given, assessment.run, None)
    kept, evidence, share = select_draws(prepared, fresh_policy)
    at_limit = _on_speeds(prepared, speed, limit)
    fresh = evaluate(at_limit, fresh_policy, kept, evidence, share)
    least = _binding_capacity(fresh)
    chance = (least < limit[:, None]).mean(axis=1)
    error = np.sqrt(policy.chance * (1 - policy.chance) * 2 / kept.count)
    worst = int(np.argmax(chance))
    allowed = policy.chance + SAMPLING_SIGMAS * error
    verified = bool(chance[worst] <= allowed) and not broken
    told = (
        f"Re-assessed at {len(speed)} speeds with {kept.count} fresh simulated engines: highest "
        f"chance {chance[worst]:.2%} at {speed[worst] / RPM:.0f} rpm, accepted "
        f"{policy.chance:.2%} with a sampling error of {error:.2%}"
    )
    told += ". " + " ".join(broken) if broken else "; every shape rule kept."
    return Proof(
        verified=verified,
        words=told,
        fresh=fresh,
        ceiling=at_accepted(least, policy.chance),
    )


def _on_speeds(prepared: Prepared, speed: Array, torque: Array) -> Prepared:
    """The same engine and state at other speeds, with other torques there."""
    old = prepared.speed
    return dataclasses.replace(
        prepared,
        speed=speed,
        torque=torque,
        reading_sd=np.interp(speed, old, prepared.reading_sd),
        state=state_at(prepared.state, speed),
    )


def _rows(assessment: Assessment, policy: Policy, shape: Shape) -> tuple[LimitRow, ...]:
    """The table's rows with what governs each, its chance and its phasing."""
    speed = np.clip(shape.breakpoints, assessment.speed[0], assessment.speed[-1])
    index = np.searchsorted(assessment.speed, np.round(speed, DIGITS))
    model = assessment.model
    binding = [i.limit for i in assessment.limits.values() if i.limit.kind in BINDING]
    alone = np.stack([at_accepted(model.capacities[x.name][index], policy.chance) for x in binding])
    least = ceiling_at(assessment, policy.chance)[index]
    on_grid = interpolated_limit(shape.breakpoints, shape.limit, assessment.speed)
    failed = failing_at(assessment, on_grid)[index]
    ca50 = np.median(place_of(model.demand.torque, on_grid).read(model.demand.ca50), axis=1)[index]
    state = state_at(model.operating, speed)
    sd = model.reading_sd[index]
    earliest = earliest_phasing(assessment, state, sd, shape.limit, policy.chance)
    pressure = manifold_pressures(assessment, speed, shape.limit)
    which = np.argmin(alone, axis=0)
    return tuple(
        LimitRow(
            speed=float(shape.breakpoints[k]),
            limit=float(shape.limit[k]),
            governing=binding[which[k]].name,
            held_by=shape.binding[k].value,
            chance=float(failed[k].mean()),
            spare=float(least[k] - shape.limit[k]),
            ca50=float(ca50[k]),
            ca50_not_before=None if np.isnan(earliest[k]) else float(earliest[k]),
            manifold_pressure=None if pressure is None else float(pressure[k]),
            lifted_by=binding[which[k]].lifted_by,
        )
        for k in range(len(speed))
    )


def state_at(state: Operating, speed: Array) -> Operating:
    """The state at other speeds: every channel linear between the known ones."""
    changed: dict[str, Any] = {}
    for f in dataclasses.fields(state):
        value = getattr(state, f.name)
        if isinstance(value, np.ndarray):
            changed[f.name] = speed if f.name == "speed" else np.interp(speed, state.speed, value)
    return dataclasses.replace(state, **changed)


def earliest_phasing(
    assessment: Assessment, state: Operating, reading_sd: Array, torque: Array, chance: float
) -> Array:
    """Earliest CA50 (S,) [rad] at which torques (S,) keep the accepted chance of strength limits.

    The torque is judged at a row of phasings, each taken as known to a degree; linear between. NaN
    stands for 'none of them' and leaves this function only as None.
    """
    count = min(PHASING_DRAWS, assessment.model.draws.count)
    draws = assessment.model.draws.take(np.arange(count))
    parts = type(assessment.model.parts)(
        engine=assessment.engine,
        draws=draws,
        head=_first(assessment.model.parts.head, count),
        gear=_first(assessment.model.parts.gear, count),
    )
    used = [i.limit for i in assessment.limits.values() if i.limit.kind is LimitKind.STRENGTH]
    low, high = (-5, 34) if assessment.engine.compression_ignition else (-2, 44)
    candidates = PHASING_CANDIDATES[
        (np.radians(low) <= PHASING_CANDIDATES) & (np.radians(high) >= PHASING_CANDIDATES)
    ]
    chances = np.empty((len(candidates), len(torque)))
    for k, ca50 in enumerate(candidates):
        fixed = dataclasses.replace(state, ca50=np.full(len(torque), ca50))
        loads = demand(assessment.engine, fixed, draws, reading_sd)
        capacities = {
            x.name: capacity_torque(x.load(loads, parts), x.strength(loads, parts), loads.torque)
            for x in used
        }
        chances[k] = failing(used, capacities, torque).mean(axis=1)
    return np.array([_crossing(candidates, chances[:, s], chance) for s in range(len(torque))])


def _crossing(candidates: Array, chances: Array, accepted: float) -> float:
    """Least candidate, linear between, from which on the chance stays accepted; NaN if none."""
    fine = chances <= accepted + 1e-12
    if fine.all():
        return float(candidates[0])
    last = int(np.flatnonzero(~fine)[-1])
    if last == len(candidates) - 1:
        return float("nan")
    high, low = chances[last], chances[last + 1]
    share = (high - accepted) / (high - low) if high > low else 1.0
    return float(candidates[last] + share * (candidates[last + 1] - candidates[last]))


def _first(parts: Any, count: int) -> Any:
    """The first draws of a dataclass of draws."""
    changed = {
        f.name: getattr(parts, f.name)[:count]
        for f in dataclasses.fields(parts)
        if isinstance(getattr(parts, f.name), np.ndarray)
    }
    return dataclasses.replace(parts, **changed)


def manifold_pressures(assessment: Assessment, speed: Array, torque: Array) -> Array | None:
    """Manifold pressure (S,) [Pa] that gives torques at unchanged phasing, from the run's own."""
    state = assessment.model.operating
    if state.manifold_pressure is None:
        return None
    volume = assessment.engine.swept_volume_total
    lost = np.maximum(assessment.imep_gross - assessment.bmep, 0.0) * volume / (4 * np.pi)
    at = [np.interp(speed, assessment.speed, v) for v in (assessment.torque, lost)]
    reference = np.interp(speed, assessment.speed, state.manifold_pressure)
    return manifold_pressure_for_torque(np.maximum(torque, 0.0), reference, at[0], at[1])
