"""Assessment of an engine and a run: every load and margin by speed, with chances."""

import dataclasses
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.case import Engine, Notice, Policy, Run, default_policy
from torquerisk.errors import InputError
from torquerisk.physics.cylinder import knock
from torquerisk.study import evidence as proof
from torquerisk.study import notices as words
from torquerisk.study.abnormal_cycles import abnormal_cycles
from torquerisk.study.assessment import Assessment, Evidence, LimitResult, Model, band
from torquerisk.study.demand import Demand, demand
from torquerisk.study.draws import Draws
from torquerisk.study.limits import (
    ALL_LIMITS,
    Limit,
    LimitKind,
    Place,
    capacity_torque,
    place_of,
    running_maximum,
)
from torquerisk.study.limits.running_gear import mean_rod_compression, rod_tension
from torquerisk.study.operating import Operating, ethanol_share, operating
from torquerisk.study.parts import Parts, parts_of
from torquerisk.study.reading import Reading, averaged, crank_reading
from torquerisk.study.spreads import KNOCK_THRESHOLD, engine_draws

Array = npt.NDArray[np.float64]

MOST_TRIED = 16
"""Draws tried for each draw wanted before evidence is declared to leave too few."""
BASE_OCTANE = 95.0
"""Research octane of a petrol that nobody named."""
BINDING = (LimitKind.STRENGTH, LimitKind.COMBUSTION, LimitKind.SUPPLY)


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


@dataclass(frozen=True, kw_only=True, eq=False)
class Prepared:
    """Inputs brought to the grid: reading, state and known-good curve."""

    engine: Engine
    run: Run
    reading: Reading
    speed: Array
    torque: Array
    reading_sd: Array
    state: Operating
    known_good: Run | None
    notices: tuple[Notice, ...]


def fuel_octane(engine: Engine, blend: str, octane: float | None) -> tuple[float, float]:
    """Research octane of a blend and its spread: given, else molar blend of a 95 petrol."""
    declaration = engine.declaration("fuel.octane")
    if octane is not None:
        return octane, declaration.spread_given
    share = ethanol_share(blend)
    mole = knock.ethanol_mole_fraction(share)
    return float(knock.blend_octane(BASE_OCTANE, mole)), declaration.spread_assumed


def prepare(engine: Engine, run: Run, known_good: Run | None) -> Prepared:
    """Bring a run onto the grid of speeds that is assessed."""
    if known_good is not None:
        engine = engine.with_values({"known_good.curve": known_good})
    reading = crank_reading(engine, run)
    blend = engine.word("fuel.blend")
    octane, octane_sd = fuel_octane(engine, blend, engine.given("fuel.octane"))
    grid = averaged(reading)
    speed, torque = grid.speed, grid.torque
    if torque.max() <= 0:
        raise InputError(
            f"{run.name}: torque never rises above 0 N·m; check the torque column and its unit."
        )
    state = dataclasses.replace(
        operating(reading.engine, run, speed, blend, octane, octane_sd), run_torque=torque
    )
    return Prepared(
        engine=reading.engine,
        run=run,
        reading=reading,
        speed=speed,
        torque=torque,
        reading_sd=grid.relative_sd,
        state=state,
        known_good=reading.engine.known_good.curve,
        notices=(*reading.notices, *grid.notices),
    )


def select_draws(prepared: Prepared, policy: Policy) -> tuple[Draws, Evidence, float]:
    """Draws that agree with all evidence, what the evidence was, and the share that was kept."""
    wanted = policy.draws
    diesel = prepared.engine.compression_ignition
    draws = engine_draws(compression_ignition=diesel, count=wanted, seed=policy.seed)
    if not has_evidence(prepared):
        return draws, _no_evidence(draws), 1.0
    tried, kept, used = wanted, *_agreeing(prepared, draws)
    while kept.sum() < wanted and tried < MOST_TRIED * wanted:
        need = wanted / max(float(kept.mean()), 1.0 / MOST_TRIED) * 1.05
        tried = min(MOST_TRIED * wanted, max(2 * tried, 1 << int(np.ceil(np.log2(need)))))
        draws = engine_draws(compression_ignition=diesel, count=tried, seed=policy.seed)
        kept, used = _agreeing(prepared, draws)
    share = float(kept.mean())
    index = np.flatnonzero(kept)[:wanted]
    if len(index) < 16:
        raise InputError(
            f"only {len(index)} of {tried} simulated engines agree with the evidence"
            + proof.contradiction(
                prepared.engine, prepared.state, prepared.torque, prepared.reading_sd,
                known_good=prepared.known_good, lifted=_lift_sign(prepared) is not None,
            )
        )  # fmt: skip
    chosen = draws.take(index)
    return (
        chosen,
        Evidence(
            used=used,
            tried=tried,
            kept=len(index),
            knock_threshold=_threshold(chosen),
            knock_threshold_before=_threshold(draws),
        ),
        share,
    )


def _threshold(draws: Draws) -> tuple[float, float, float]:
    values = knock.KNOCK_THRESHOLD_MEDIAN * draws.of_model(KNOCK_THRESHOLD)
    low, middle, high = np.quantile(values, [0.05, 0.5, 0.95])
    return float(low), float(middle), float(high)


def _no_evidence(draws: Draws) -> Evidence:
    threshold = _threshold(draws)
    return Evidence(
        used=(), tried=draws.count, kept=draws.count,
        knock_threshold=threshold, knock_threshold_before=threshold,
    )  # fmt: skip


def has_evidence(prepared: Prepared) -> bool:
    """True where something is known of the engine beside its inputs."""
    state = prepared.state
    logged = state.manifold_pressure is not None or state.peak_pressure is not None
    return prepared.known_good is not None or logged or _lift_sign(prepared) is not None


def _agreeing(prepared: Prepared, draws: Draws) -> tuple[npt.NDArray[np.bool_], tuple[str, ...]]:
    """Which draws (N,) agree with all evidence, and the evidence in words.

    A draw is kept with the product of its likelihoods. Each piece is only asked of the draws that
    the one before has left.
    """
    uniform, likelihood = proof.acceptance(draws), np.ones(draws.count)
    kept = likelihood > uniform
    used: list[str] = []
    for piece in (_survived, _logged):
        index = np.flatnonzero(kept)
        if len(index) == 0:
            break
        for finding in piece(prepared, draws.take(index)):
            likelihood[index] *= finding.likelihood
            used.append(finding.words)
        kept &= likelihood > uniform
    return kept, tuple(used)


def _survived(prepared: Prepared, draws: Draws) -> list[proof.Finding]:
    """Survival of the known-good curve."""
    engine, curve = prepared.engine, prepared.known_good
    if curve is None:
        return []
    blend = engine.given("known_good.blend") or engine.word("fuel.blend")
    octane = engine.given("known_good.octane")
    if octane is None and not engine.has("known_good.blend"):
        octane = engine.given("fuel.octane")
    rating, sd = fuel_octane(engine, blend, octane)
    source = prepared.state.phasing_source
    return [proof.survived(engine, curve, draws, rating, sd, blend, source)]


def _logged(prepared: Prepared, draws: Draws) -> list[proof.Finding]:
    """What the run's own channels say of charge, peak pressure and lift."""
    state, engine = prepared.state, prepared.engine
    found: list[proof.Finding] = []
    if state.manifold_pressure is not None or state.peak_pressure is not None:
        index = proof.few_speeds(prepared.speed, prepared.torque)
        some, loads = _loads_at(prepared, draws, index)
        torque = prepared.torque[index]
        logged = (
            proof.charge_agrees(engine, some, loads, draws, torque),
            proof.peak_agrees(some, loads, draws, torque),
        )
        found += [finding for finding in logged if finding is not None]
    sign = _lift_sign(prepared)
    if sign is not None:
        rise, first, last = sign
        wanted = np.linspace(first, last, proof.LIFT_SPEEDS)
        index = np.searchsorted(prepared.speed, wanted - 1e-9)
        index = np.unique(np.minimum(index, len(prepared.speed) - 1))
        _, loads = _loads_at(prepared, draws, index)
        parts = parts_of(engine, draws)
        found.append(proof.lift_agrees(loads, draws, parts, prepared.torque[index], rise))
    return found


def _lift_sign(prepared: Prepared) -> tuple[float, float, float] | None:
    """Rise of coolant pressure in the run and where, or None."""
    pressure = prepared.run.channel("coolant_pressure")
    return None if pressure is None else proof.coolant_sign(prepared.run.speed, pressure)


def _loads_at(
    prepared: Prepared, draws: Draws, index: npt.NDArray[np.intp]
) -> tuple[Operating, Demand]:
    """State and loads at some speeds of the grid."""
    some = _some(prepared.state, index)
    return some, demand(prepared.engine, some, draws, prepared.reading_sd[index])


def _some(state: Operating, index: npt.NDArray[np.intp]) -> Operating:
    """The state at some of its speeds."""
    changed = {
        f.name: getattr(state, f.name)[index]
        for f in dataclasses.fields(state)
        if isinstance(getattr(state, f.name), np.ndarray)
    }
    return dataclasses.replace(state, **changed)


def evaluate(
    prepared: Prepared, policy: Policy, draws: Draws, evidence: Evidence, share: float
) -> Assessment:
    """Loads, strengths, chances and notices of a run for draws that agree with the evidence."""
    engine, speed, torque = prepared.engine, prepared.speed, prepared.torque
    loads = demand(engine, prepared.state, draws, prepared.reading_sd)
    parts = parts_of(engine, draws)
    place = place_of(loads.torque, torque)
    missing = {limit.name: limit.missing(engine) for limit in ALL_LIMITS if limit.missing(engine)}
    used = [limit for limit in ALL_LIMITS if limit.name not in missing]
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
        apart = pool.submit(
            abnormal_cycles, engine, loads, parts, place, head_strength(loads, parts)
        )
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
    abnormal = apart.result()
    if policy.abnormal_in_chance:
        harm = abnormal.chance_harm
        chance_any = 1 - (1 - failed.mean(axis=1)) * (1 - harm)
        chance_pull = 1 - (1 - float(failed.any(axis=0).mean())) * (1 - abnormal.pull_harm)
    else:
        chance_any = failed.mean(axis=1)
        chance_pull = float(failed.any(axis=0).mean())
    model = Model(
        demand=loads, parts=parts, operating=prepared.state, draws=draws,
        reading_sd=prepared.reading_sd, loads=load_arrays, capacities=capacities,
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
        bmep=torque * 4 * np.pi / engine.swept_volume_total,
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
        chance_any=chance_any,
        chance_pull=chance_pull,
        governing=governing,
        ceiling=ceiling,
        evidence=evidence,
        abnormal=abnormal,
        notices=(),
        model=model,
    )
    notices = (*prepared.notices, *parts.head.notices, *words.notices_of(result, share))
    return dataclasses.replace(result, notices=notices)


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


def head_strength(loads: Demand, parts: Parts) -> Array:
    """Least peak pressure (S, N) [Pa] of one cycle that passes a strength limit of the head."""
    lift = parts.head.lift_pressure()
    gives = parts.head.pressure_at_fastener_load(parts.head.limiting_load)
    return np.broadcast_to(np.minimum(lift, gives), loads.torque.shape[:2])
