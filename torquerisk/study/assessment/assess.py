"""Assessment of an engine and a run: every load and margin by speed, with chances."""

import dataclasses
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from torquerisk.case import Engine, Policy, Run, default_policy
from torquerisk.physics.cylinder.mean_pressure import bmep_from_torque
from torquerisk.quantities import Array
from torquerisk.study.assessment import notices as words
from torquerisk.study.assessment.abnormal_cycles import abnormal_cycles
from torquerisk.study.assessment.result import Assessment, Least, LimitResult, Model, band
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.evidence.agreement import Evidence, select_draws
from torquerisk.study.evidence.piece import state_at_index
from torquerisk.study.limits import (
    ALL_LIMITS,
    Limit,
    LimitKind,
    Place,
    bounding,
    capacity_torque,
    place_of,
    running_maximum,
)
from torquerisk.study.limits.abnormal import ABNORMAL
from torquerisk.study.limits.running_gear import mean_rod_compression, rod_tension
from torquerisk.study.loads.demand import Demand, demand
from torquerisk.study.run.run_on_grid import Prepared, prepare
from torquerisk.study.strengths.parts import Parts, parts_of

BINDING = (LimitKind.STRENGTH, LimitKind.COMBUSTION, LimitKind.SUPPLY)
"""Kinds that bound torque."""
SHOWN = 2048
"""Draws whose loads are kept: enough for any band, few enough for memory."""
JUDGED = (*BINDING, LimitKind.KNOCK)
"""Kinds that a verdict is given on."""


def assess(
    engine: Engine, run: Run, policy: Policy | None = None, known_good: Run | None = None
) -> Assessment:
    """Every load and margin of a run by speed.

    engine, run: as read. policy: how careful, `default_policy()` when left out. known_good: a curve
    that the engine has survived many times; the engine file's own when left out.
    Raises InputError with one sentence for inputs that cannot be assessed.
    """
    prepared = prepare(engine, run, known_good)
    policy = (policy or default_policy()).of(float(prepared.torque.max()))
    return noticed(evaluate(prepared, policy, *select_draws(prepared, policy)))


def noticed(result: Assessment) -> Assessment:
    """The same with the notices that follow from the result itself."""
    return dataclasses.replace(result, notices=(*result.notices, *words.notices_of(result)))


def evaluate(prepared: Prepared, policy: Policy, draws: Draws, evidence: Evidence) -> Assessment:
    """Loads, strengths and chances of a run for draws that agree with the evidence.

    Chances are of all of them, worked out SHOWN at once; all else is read from the first SHOWN.
    """
    engine, speed, torque = prepared.engine, prepared.speed, prepared.torque
    every, draws = draws, draws.first(SHOWN)
    loads = demand(engine, prepared.state, draws, prepared.reading_sd, pulls=policy.pulls)
    parts = parts_of(engine, draws)
    place = place_of(loads.torque, torque)
    missing = {limit.name: limit.missing(engine) for limit in ALL_LIMITS if limit.missing(engine)}
    used = [limit for limit in ALL_LIMITS if limit.name not in missing]
    if policy.abnormal_in_chance and not engine.compression_ignition:
        used.append(ABNORMAL)
    alike = [[x for x in used if x.load is f] for f in dict.fromkeys(x.load for x in used)]
    with ThreadPoolExecutor(max_workers=2) as pool:
        solved = pool.map(lambda limits: _solved(limits, loads, parts, place, torque), alike)
        apart = pool.submit(abnormal_cycles, loads, parts, place)
        single = pool.submit(least_in_one_pull, used, loads, parts)
        push = pool.submit(
            lambda: np.median(place.read(mean_rod_compression(loads, parts)), axis=1)
        )
        peak, worst, ca50 = pool.map(
            lambda x: band(place.read(x)), (loads.peak, loads.worst, loads.ca50)
        )
        found = {name: one for group in solved for name, one in group.items()}
    capacities = {limit.name: found[limit.name][0] for limit in used}
    results = {limit.name: found[limit.name][1] for limit in used}
    bound = {limit.name: bounding(limit, capacities[limit.name], draws) for limit in used}
    first = _least(used, bound, single.result(), _by_the_map(prepared, policy, used, draws, parts))
    least, passed = _of_every(prepared, policy, every, used, capacities, first)
    for name, chance in passed.items():
        results[name] = dataclasses.replace(results[name], chance=chance)
    model = Model(
        demand=loads, parts=parts, operating=prepared.state, draws=draws, every=every,
        reading_sd=prepared.reading_sd, capacities=capacities, least=least,
    )  # fmt: skip
    ceiling, governing = governed(used, model, policy.chance)
    passing_any, in_one, in_all = _passing(least, torque)
    imep = np.broadcast_to(loads.imep[:, None, :], loads.torque.shape)
    clamp = float(np.median(parts.head.clamp))
    gas_force = peak.p50 * float(np.median(parts.head.sealing_area))
    return Assessment(
        engine=engine, run=prepared.run, policy=policy, reading=prepared.reading, speed=speed,
        torque=torque, bmep=bmep_from_torque(torque, engine.swept_volume_total),
        imep_gross=np.median(place.read(imep), axis=1), peak_pressure=peak, worst_pressure=worst,
        gas_force=gas_force, clamp=np.full(len(speed), clamp), clamp_ratio=clamp / gas_force,
        rod_compression=push.result(), rod_tension=np.median(rod_tension(loads, parts), axis=1),
        phasing_source=prepared.state.phasing_source, ca50=ca50, limits=results,
        not_assessed=missing, chance_any=passing_any, chance_pull=in_one, chance_pulls=in_all,
        governing=governing, ceiling=ceiling, evidence=evidence, abnormal=apart.result(),
        notices=(*parts.head.notices, *prepared.notices), model=model,
    )  # fmt: skip


def _solved(
    alike: list[Limit], loads: Demand, parts: Parts, place: Place, torque: Array
) -> dict[str, tuple[Array, LimitResult]]:
    """Capacity torque (S, N) and result of limits that share one load, by name."""
    load = running_maximum(alike[0].load(loads, parts))
    of_speed = load.shape[-1] == 1
    at_run, found = place.read(load), {}
    for limit in alike:
        strength = np.broadcast_to(limit.strength(loads, parts), at_run.shape)
        capacity = capacity_torque(load, strength, loads.torque, is_rising=True)
        found[limit.name] = capacity, _result(limit, at_run, strength, capacity, torque, of_speed)
    return found


def _passing(least: Least, torque: Array) -> tuple[Array, float, float]:
    """Shares of engines that pass a limit of strength: by speed (S,), in one pull, in all."""
    failed, once = (values < torque[:, None] for values in (least.strength, least.once))
    return failed.mean(axis=1), float(once.any(axis=0).mean()), float(failed.any(axis=0).mean())


def _of_every(
    prepared: Prepared,
    policy: Policy,
    every: Draws,
    used: list[Limit],
    shown: dict[str, Array],
    first: Least,
) -> tuple[Least, dict[str, Array]]:
    """Least capacity torques of all draws, and the chance (S,) of each limit that binds.

    shown, first: of the first SHOWN, which are not worked out again.
    """
    binding = [limit for limit in used if limit.kind in BINDING]
    torque = prepared.torque[:, None]
    kept = [first]
    passed = {limit.name: (shown[limit.name] < torque).sum(axis=1) for limit in binding}
    for start in range(SHOWN, every.count, SHOWN):
        some = every.take(np.arange(start, min(start + SHOWN, every.count)))
        loads = demand(
            prepared.engine, prepared.state, some, prepared.reading_sd, pulls=policy.pulls
        )
        parts = parts_of(prepared.engine, some)
        found: dict[str, Array] = {}
        for limit in binding:
            capacity = limit.capacity(loads, parts)
            passed[limit.name] = passed[limit.name] + (capacity < torque).sum(axis=1)
            found[limit.name] = bounding(limit, capacity, some)
        by_map = _by_the_map(prepared, policy, binding, some, parts)
        kept.append(_least(binding, found, least_in_one_pull(binding, loads, parts), by_map))
    least = Least(
        **{name: np.concatenate([getattr(x, name) for x in kept], axis=1) if len(kept) > 1
           else getattr(kept[0], name) for name in ("binding", "strength", "once")}
    )  # fmt: skip
    return least, {name: count / every.count for name, count in passed.items()}


def _by_the_map(
    prepared: Prepared, policy: Policy, used: list[Limit], draws: Draws, parts: Parts
) -> Array:
    """Least capacity torque (S, N) [N*m] of what breaks at the map's own ignition, where knock
    control took it back; inf elsewhere.

    Who is not heard to knock the next day runs that one, and so late a burn made parts look strong.
    """
    state, least = prepared.state, np.full((len(prepared.speed), draws.count), np.inf)
    if state.map_earlier is None:
        return least
    there = np.flatnonzero(state.map_earlier > 0.0)
    earlier = np.broadcast_to(state.later, state.speed.shape) - state.map_earlier
    loads = demand(
        prepared.engine, state_at_index(dataclasses.replace(state, later=earlier), there), draws,
        prepared.reading_sd[there], pulls=policy.pulls, fastest=float(state.speed.max()),
    )  # fmt: skip
    strength = [x for x in used if x.kind is LimitKind.STRENGTH]
    least[there] = np.min([limit.capacity(loads, parts) for limit in strength], axis=0)
    return least


def _least(
    used: list[Limit], capacities: dict[str, Array], once: Array, by_the_map: Array
) -> Least:
    binding = [x for x in used if x.kind in BINDING]
    strength = [capacities[x.name] for x in binding if x.kind is LimitKind.STRENGTH]
    return Least(
        binding=np.min([*(capacities[x.name] for x in binding), by_the_map], axis=0),
        strength=np.min(strength, axis=0),
        once=once,
    )


def least_in_one_pull(used: list[Limit], loads: Demand, parts: Parts) -> Array:
    """Least capacity torque of any limit of strength in one pull (S, N) [N*m]."""
    once = loads.in_one_pull()
    return np.asarray(
        np.min(
            [limit.capacity(once, parts) for limit in used if limit.kind is LimitKind.STRENGTH],
            axis=0,
        )
    )


def _result(
    limit: Limit, load: Array, strength: Array, capacity: Array, torque: Array, of_speed: bool
) -> LimitResult:
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(strength > 0, load / strength, np.inf)
    return LimitResult(
        limit=limit,
        utilisation=upper_median(ratio),
        chance=(capacity < torque[:, None]).mean(axis=1),
        load=band(load),
        strength=band(strength),
        margin=band(strength - load),
        capacity_torque=band(capacity),
        speed_limited=np.isneginf(capacity).mean(axis=1),
        of_speed=of_speed,
    )


def upper_median(ratio: Array) -> Array:
    """Median of load over strength (S,): the engine in the middle, the more loaded one of two.

    The engine whose capacity torque is the median is the same one, so at that torque this is 1.
    """
    middle = ratio.shape[-1] // 2
    return np.partition(ratio, middle, axis=-1)[..., middle]


def at_accepted(capacity: Array, chance: float) -> Array:
    """Torque (...,) at which the accepted chance is kept, of capacity torques (..., N) [N*m].

    One standard error of sampling is taken off the accepted chance first, so that other draws of
    the same engine are likely to keep it too.
    """
    return _weakest_but(capacity, accepted_rank(capacity.shape[-1], chance))


def at_share(capacity: Array, share: float) -> Array:
    """What all but a share of engines carries (...,), of what each does (..., N)."""
    return _weakest_but(capacity, min(int(capacity.shape[-1] * share), capacity.shape[-1] - 1))


def _weakest_but(capacity: Array, rank: int) -> Array:
    """Of capacities (..., N) the one (...,) that so many lie below."""
    return np.partition(capacity, rank, axis=-1)[..., rank]


def accepted_rank(count: int, chance: float) -> int:
    """How many of the weakest of so many engines may fail: see `at_accepted`."""
    return max(int(np.floor(count * chance - np.sqrt(count * chance * (1 - chance)))), 0)


def governed(used: list[Limit], model: Model, chance: float) -> tuple[Array, list[str]]:
    """Torque at the accepted chance (S,) of any limit that binds, and the limit that sets it.

    Where no torque is accepted, the limit that speed alone passes in most engines.
    """
    binding = [x for x in used if x.kind in BINDING]
    capacity = np.stack([model.bounding(x) for x in binding])
    ceiling = at_accepted(model.least.binding, chance)
    none = -np.isneginf(capacity).mean(axis=-1)
    least = np.where(np.isneginf(ceiling), none, at_accepted(capacity, chance))
    return ceiling, [binding[k].name for k in np.argmin(least, axis=0)]
