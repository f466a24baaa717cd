"""Assessment of an engine and a run: every load and margin by speed, with chances."""

import dataclasses
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import numpy.typing as npt

from torquerisk.case import Engine, Policy, Run, default_policy
from torquerisk.physics.cylinder.mean_pressure import bmep_from_torque
from torquerisk.quantities import Array
from torquerisk.study.assessment import notices as words
from torquerisk.study.assessment.abnormal_cycles import abnormal_cycles
from torquerisk.study.assessment.result import Assessment, LimitResult, Model, band
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.evidence.agreement import Evidence, select_draws
from torquerisk.study.limits import (
    ALL_LIMITS,
    Limit,
    LimitKind,
    Place,
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
    policy = policy or default_policy()
    prepared = prepare(engine, run, known_good)
    kept, evidence, before = select_draws(prepared, policy)
    return evaluate(prepared, policy, kept, evidence, before)


def evaluate(
    prepared: Prepared, policy: Policy, draws: Draws, evidence: Evidence, share: float
) -> Assessment:
    """Loads, strengths, chances and notices of a run for draws that agree with the evidence."""
    engine, speed, torque = prepared.engine, prepared.speed, prepared.torque
    loads = demand(engine, prepared.state, draws, prepared.reading_sd, pulls=policy.pulls)
    parts = parts_of(engine, draws)
    place = place_of(loads.torque, torque)
    missing = {limit.name: limit.missing(engine) for limit in ALL_LIMITS if limit.missing(engine)}
    used = [limit for limit in ALL_LIMITS if limit.name not in missing]
    if policy.abnormal_in_chance and not engine.compression_ignition:
        used.append(ABNORMAL)
    results: dict[str, LimitResult] = {}
    load_arrays: dict[str, Array] = {}
    capacities: dict[str, Array] = {}
    shared = {x.load: x for x in used}
    with ThreadPoolExecutor(max_workers=2) as pool:
        rising = dict(
            zip(shared, pool.map(lambda f: running_maximum(f(loads, parts)), shared), strict=True)
        )

        def solve(limit: Limit) -> tuple[Array, LimitResult]:
            load = rising[limit.load]
            strength = np.broadcast_to(limit.strength(loads, parts), (len(speed), draws.count))
            capacity = capacity_torque(load, strength, loads.torque, is_rising=True)
            return capacity, _result(limit, place.read(load), strength, capacity, torque)

        solved = pool.map(solve, used)
        apart = pool.submit(abnormal_cycles, loads, parts, place)
        single = pool.submit(least_in_one_pull, used, loads, parts)
        push = pool.submit(
            lambda: np.median(place.read(mean_rod_compression(loads, parts)), axis=1)
        )
        peak, worst, ca50 = pool.map(
            lambda x: band(place.read(x)), (loads.peak, loads.worst, loads.ca50)
        )
        for limit, (capacity, outcome) in zip(used, solved, strict=True):
            load_arrays[limit.name] = rising[limit.load]
            capacities[limit.name], results[limit.name] = capacity, outcome
    ceiling, governing = governed(used, capacities, policy.chance)
    failed = failing(used, capacities, torque)
    model = Model(
        demand=loads, parts=parts, operating=prepared.state, draws=draws,
        reading_sd=prepared.reading_sd, loads=load_arrays, capacities=capacities,
        once=single.result(),
    )  # fmt: skip
    clamp = float(np.median(parts.head.clamp))
    gas_force = peak.p50 * float(np.median(parts.head.sealing_area))
    result = Assessment(
        engine=engine,
        run=prepared.run,
        policy=policy,
        reading=prepared.reading,
        speed=speed,
        torque=torque,
        bmep=bmep_from_torque(torque, engine.swept_volume_total),
        imep_gross=np.median(_imep(loads, place), axis=1),
        peak_pressure=peak,
        worst_pressure=worst,
        gas_force=gas_force,
        clamp=np.full(len(speed), clamp),
        clamp_ratio=clamp / gas_force,
        rod_compression=push.result(),
        rod_tension=np.median(rod_tension(loads, parts), axis=1),
        phasing_source=prepared.state.phasing_source,
        ca50=ca50,
        limits=results,
        not_assessed=missing,
        chance_any=failed.mean(axis=1),
        chance_pull=float((model.once < torque[:, None]).any(axis=0).mean()),
        chance_pulls=float(failed.any(axis=0).mean()),
        governing=governing,
        ceiling=ceiling,
        evidence=evidence,
        abnormal=apart.result(),
        notices=(),
        model=model,
    )
    notices = (*prepared.notices, *parts.head.notices, *words.notices_of(result, share))
    return dataclasses.replace(result, notices=notices)


def least_in_one_pull(used: list[Limit], loads: Demand, parts: Parts) -> Array:
    """Least capacity torque of any limit of strength in one pull (S, N) [N*m]."""
    once = loads.in_one_pull()
    return np.asarray(
        np.min(
            [
                capacity_torque(limit.load(once, parts), limit.strength(once, parts), once.torque)
                for limit in used
                if limit.kind is LimitKind.STRENGTH
            ],
            axis=0,
        )
    )


def _imep(loads: Demand, place: Place) -> Array:
    return place.read(np.broadcast_to(loads.imep, loads.torque.shape))


def _result(
    limit: Limit, load: Array, strength: Array, capacity: Array, torque: Array
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
    )


def upper_median(ratio: Array) -> Array:
    """Median of load over strength (S,): the engine in the middle, the more loaded one of two.

    The engine whose capacity torque is the median is the same one, so at that torque this is 1.
    """
    middle = ratio.shape[-1] // 2
    return np.partition(ratio, middle, axis=-1)[..., middle]


def failing(
    used: list[Limit], capacities: dict[str, Array], torque: Array
) -> npt.NDArray[np.bool_]:
    """Which draws pass a strength limit at which speed for torques (S,): (S, N)."""
    strength = [capacities[x.name] for x in used if x.kind is LimitKind.STRENGTH]
    return np.min(strength, axis=0) < torque[:, None]


def at_accepted(capacity: Array, chance: float) -> Array:
    """Torque (...,) at which the accepted chance is kept, of capacity torques (..., N) [N*m].

    One standard error of sampling is taken off the accepted chance first, so that other draws of
    the same engine are likely to keep it too.
    """
    count = capacity.shape[-1]
    rank = int(np.floor(count * chance - np.sqrt(count * chance * (1 - chance))))
    return np.partition(capacity, max(rank, 0), axis=-1)[..., max(rank, 0)]


def governed(
    used: list[Limit], capacities: dict[str, Array], chance: float
) -> tuple[Array, list[str]]:
    """Torque at the accepted chance (S,) of any limit that binds, and the limit that sets it."""
    binding = [x for x in used if x.kind in BINDING]
    stacked = np.stack([capacities[x.name] for x in binding])
    least = stacked.min(axis=0)
    ceiling = at_accepted(least, chance)
    alone = at_accepted(stacked, chance)
    return ceiling, [binding[k].name for k in np.argmin(alone, axis=0)]
