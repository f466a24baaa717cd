"""What measuring something would be worth: how much narrower the governing torque would get."""

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from torquerisk.case import Engine
from torquerisk.physics.cylinder import phasing
from torquerisk.physics.cylinder.burn_duration import duration_spark, flame_development
from torquerisk.quantities import Array
from torquerisk.study.answers.variance_shares import explained, least_resolved, normal_scores
from torquerisk.study.assessment.assess import BINDING, assess
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.cycle import cylinder
from torquerisk.study.draws import spreads
from torquerisk.study.evidence.peak import PEAK_SENSOR_SD
from torquerisk.study.limits import capacity_torque, place_of
from torquerisk.study.loads.demand import demand
from torquerisk.study.run.operating_state import PhasingSource

NOISE_DRAWS = 8
"""Draws of a measurement's own error that its worth is averaged over."""
BEST_TRIED = 3
"""So many of the best single measurements are tried together with every other."""
SEED = 20240229
REASSESSED_DRAWS = 512
PRELOAD_SD = 0.05
"""Relative error of a preload from measured stretch (common practice, no source: 2 to 10 %)."""
KNOCK_SWEEP_SD = np.radians(2.0)
"""Error of a knock limit found by sweeping ignition on a dyno (common practice, no source)."""
CHECKED_READING_SD = 0.01
"""Relative error of torque once calibration, correction and loss are checked (common practice, no
source)."""
EARLIEST_ADVANCE = (-0.6, 1.2)
"""Ignition advance looked at, from after TDC to before it [rad]."""
OUTCOMES = (0.1, 0.5, 0.9)
"""Quantiles of what a phasing channel might show that its worth is averaged over."""


@dataclass(frozen=True, kw_only=True)
class Measure:
    """Something that could be measured or given, and what that would be worth."""

    name: str
    label: str
    share: float
    """Of the variance that it would take away, as expected before it is known [-]."""
    narrowing: float
    """Share by which the range would shrink: 1 - sqrt(1 - share) [-]."""
    rough: bool = False
    """True for a phasing channel where the run's own channels have chosen among the simulated
    engines: with phasing known they would choose others, see `reassessed`."""


Candidate = tuple[str, str, Array, float]
"""Name, label, what would be observed by draw (n,), and the standard deviation of its error."""


def binding_names(assessment: Assessment) -> list[str]:
    """Names of the limits that bind."""
    return [n for n, item in assessment.limits.items() if item.limit.kind in BINDING]


def binding_capacity(assessment: Assessment) -> Array:
    """Least capacity torque (S, N) [N*m] over the limits that bind."""
    found = [assessment.model.capacities[n] for n in binding_names(assessment)]
    return np.asarray(np.min(found, axis=0))


def worth_measuring(
    assessment: Assessment, k: int, least: Array
) -> tuple[tuple[Measure, ...], Measure | None]:
    """What to measure next at speed k, worth most first, and the best two together (or None).

    least: governing capacity torque (N,) [N*m]. Most candidates are weighed by how much of its
    spread an observation, with its own error, would explain among the simulated engines. A phasing
    channel also changes what the torque at another load is judged at (the logged phasing instead of
    the one that knock allows), so there the model runs again, at a few values it might show.
    """
    candidates = [*_channels(assessment, k), *_inputs(assessment)]
    random = np.random.default_rng(SEED)
    seen = [
        values + error * random.standard_normal((NOISE_DRAWS, len(values)))
        for _, _, values, error in candidates
    ]
    alone = _weighed(candidates, seen, [(i,) for i in range(len(candidates))], least)
    pairs = _weighed(candidates, seen, _pairs(alone), least)
    enough = least_resolved(len(least), len(candidates))
    found = [m for m in alone if m.share >= enough]
    for channel in _phasing_channels(assessment, k):
        measure, with_others = _phased(assessment, k, least, channel, candidates, seen)
        found += [measure] if measure.share >= enough else []
        pairs += with_others
    found.sort(key=lambda m: -m.narrowing)
    best = max(pairs, key=lambda m: m.narrowing, default=None)
    if best is None or not found or best.narrowing <= found[0].narrowing:
        return tuple(found), None
    return tuple(found), best


def _weighed(
    candidates: list[Candidate],
    seen: list[Array],
    which: list[tuple[int, ...]],
    least: Array,
) -> list[Measure]:
    """Worth of each group of candidates, observed together."""
    scores = normal_scores(least)
    result = []
    for group in which:
        share = float(
            np.mean(
                [
                    explained(np.array([seen[i][j] for i in group]), scores, level=1.0)
                    for j in range(NOISE_DRAWS)
                ]
            )
        )
        names = [candidates[i][:2] for i in group]
        result.append(_measure(names, 1 - float(np.sqrt(1 - share))))
    return result


def _measure(names: list[tuple[str, str]], narrowing: float, rough: bool = False) -> Measure:
    kept = max(narrowing, 0.0)
    return Measure(
        name=" + ".join(name for name, _ in names),
        label=" and ".join(label for _, label in names),
        share=1 - (1 - kept) ** 2,
        narrowing=kept,
        rough=rough,
    )


def _pairs(found: list[Measure]) -> list[tuple[int, ...]]:
    """Pairs worth trying: each of the best few alone with every other."""
    order = sorted(range(len(found)), key=lambda i: -found[i].share)[:BEST_TRIED]
    return sorted({(min(i, j), max(i, j)) for i in order for j in range(len(found)) if i != j})


def _channels(assessment: Assessment, k: int) -> Iterator[Candidate]:
    """Channels and measurements that the run lacks, as each simulated engine would show them."""
    model, engine = assessment.model, assessment.engine
    loads, state = model.demand, model.operating
    place = place_of(loads.torque, assessment.torque)
    if state.peak_pressure is None:
        peak = np.log(place.read(loads.peak)[k])
        yield "peak_pressure", "peak cylinder pressure", peak, PEAK_SENSOR_SD
    if not engine.compression_ignition:
        knock = place.read(loads.knock_limited_ca50)[k]
        yield "knock_limit", "the knock limit, by sweeping ignition", knock, KNOCK_SWEEP_SD
    preload = np.log(np.maximum(model.parts.head.preload, 1.0))
    yield "preload", "fastener preload, from measured stretch", preload, PRELOAD_SD
    reading = float(np.max(assessment.reading.relative_sd))
    if reading > CHECKED_READING_SD:
        error = _error(CHECKED_READING_SD / reading)
        deviates = model.draws.deviates[spreads.READING.name]
        yield "torque", "torque: calibration, correction and driveline loss", deviates, error


def _phasing_channels(assessment: Assessment, k: int) -> Iterator[tuple[str, str]]:
    """Phasing channels that the run lacks, in order of trust."""
    source = assessment.phasing_source
    if source is not PhasingSource.GIVEN:
        yield "ca50", "CA50 (burn phasing)"
    known = source in (PhasingSource.GIVEN, PhasingSource.IGNITION_ADVANCE)
    if not known and not assessment.engine.compression_ignition:
        yield "ignition_advance", "ignition advance"


def _phased(
    assessment: Assessment,
    k: int,
    least: Array,
    channel: tuple[str, str],
    candidates: list[Candidate],
    seen: list[Array],
) -> tuple[Measure, list[Measure]]:
    """Worth of a phasing channel alone, and of it with each candidate."""
    place = place_of(assessment.model.demand.torque, assessment.torque)
    shown = np.quantile(place.read(assessment.model.demand.ca50)[k], OUTCOMES)
    before = _width(assessment, k, least)
    alone, left = [], []
    for ca50 in shown:
        after = capacity_with_phasing(assessment, k, channel[0], float(ca50))
        alone.append(_width(assessment, k, after) / before if before > 0 else 1.0)
        scores = normal_scores(after)
        left.append([1 - explained(values[0], scores, level=1.0) for values in seen])
    ratio = np.array(alone)
    both = (ratio[:, None] * np.sqrt(np.array(left))).mean(axis=0)
    rough = chosen_by_channels(assessment)
    measure = _measure([channel], 1 - float(ratio.mean()), rough)
    pairs = [
        _measure([channel, candidate[:2]], 1 - float(both[i]), rough)
        for i, candidate in enumerate(candidates)
    ]
    return measure, pairs


def _width(assessment: Assessment, k: int, least: Array) -> float:
    """5 to 95 % width of a capacity torque [N*m], cut to the loads that the model covers."""
    torque = assessment.model.demand.torque[k]
    inside = np.clip(least, float(torque[:, 0].max()), float(torque[:, -1].min()))
    low, high = np.quantile(inside, [0.05, 0.95])
    return float(high - low)


def chosen_by_channels(assessment: Assessment) -> bool:
    """True where evidence has chosen among the simulated engines.

    What a channel would teach then also changes what that evidence shares with the run.
    """
    return bool(assessment.evidence.names)


def reassessed(assessment: Assessment, k: int, channel: str) -> float:
    """Narrowing [-] at speed k, were a phasing channel logged, by assessing the run anew.

    channel: 'ca50' or 'ignition_advance', showing the median phasing at every speed. Takes as long
    as an assessment with REASSESSED_DRAWS engines; the engine file's known-good curve is used.
    Below 0 where the range would widen.
    """
    ca50 = assessment.ca50.p50
    values = ca50
    if channel == "ignition_advance":
        values = np.array([_advance_for(assessment, i, float(c)) for i, c in enumerate(ca50)])
    run = assessment.run
    logged = np.interp(run.speed, assessment.speed, values)
    with_channel = dataclasses.replace(run, channels={**run.channels, channel: logged})
    draws = min(assessment.policy.draws, REASSESSED_DRAWS)
    policy = dataclasses.replace(assessment.policy, draws=draws)
    after = assess(assessment.engine, with_channel, policy)
    before = _width(assessment, k, binding_capacity(assessment)[k])
    return 1 - _width(after, k, binding_capacity(after)[k]) / before if before > 0 else 0.0


def capacity_with_phasing(assessment: Assessment, k: int, channel: str, ca50: float) -> Array:
    """Governing capacity torque (N,) [N*m] at speed k, were a phasing channel logged there.

    channel: 'ca50' or 'ignition_advance'; ca50: what it shows, or stands for, at the measured
    torque [rad]. The same simulated engines; the highest speed is solved beside, for the surface.
    """
    state, model = assessment.model.operating, assessment.model
    index = np.array([k, len(assessment.speed) - 1])
    changed = {
        f.name: getattr(state, f.name)[index]
        for f in dataclasses.fields(state)
        if isinstance(getattr(state, f.name), np.ndarray)
    }
    if channel == "ca50":
        changed["ca50"] = np.full(2, ca50)
    else:
        changed["ignition_advance"] = np.full(2, _advance_for(assessment, k, ca50))
    two = dataclasses.replace(state, **changed)
    loads = demand(
        assessment.engine, two, model.draws, model.reading_sd[index], pulls=model.demand.pulls
    )
    capacities = [
        capacity_torque(
            item.limit.load(loads, model.parts),
            np.broadcast_to(item.limit.strength(loads, model.parts), loads.torque.shape[:2]),
            loads.torque,
        )[0]
        for item in assessment.limits.values()
        if item.limit.kind in BINDING
    ]
    return np.asarray(np.min(capacities, axis=0))


def _advance_for(assessment: Assessment, k: int, ca50: float) -> float:
    """Ignition advance [rad] that stands for a CA50 at speed k and the measured load."""
    state = assessment.model.operating
    load = float(np.clip(assessment.bmep[k], *cylinder.BRAKE_ESTIMATES))
    lam = float(np.clip(state.lambda_[k], *cylinder.ADVANCE_LAMBDAS))
    residual = assessment.engine.value("charge.residual_fraction").value
    start = float(np.asarray(flame_development(state.speed[k], load, lam, residual)))
    length = float(np.asarray(duration_spark(state.speed[k], load, lam, residual)))
    given = assessment.engine.given("charge.burn_duration")
    if given is not None:
        length = float(given)

    def miss(advance: float) -> float:
        return float(phasing.ca50_from_ignition_advance(advance, start, length)) - ca50

    low, high = EARLIEST_ADVANCE
    if miss(low) * miss(high) > 0:
        return low if abs(miss(low)) < abs(miss(high)) else high
    return float(brentq(miss, low, high))


def _inputs(assessment: Assessment) -> Iterator[Candidate]:
    """Inputs that are assumed: given, each keeps only the spread of a given value."""
    engine, draws = assessment.engine, assessment.model.draws
    diesel = spreads.INPUTS_COMPRESSION if engine.compression_ignition else ()
    for name in (*spreads.DRAWN_INPUTS, spreads.OCTANE, *diesel):
        if engine.has(name) or not _has_default(engine, name):
            continue
        declaration = engine.declaration(name)
        if declaration.spread_given >= declaration.spread_assumed:
            continue
        error = _error(declaration.spread_given / declaration.spread_assumed)
        yield (
            name,
            declaration.words,
            draws.deviates[name],
            error,
        )


def _has_default(engine: Engine, name: str) -> bool:
    return name == spreads.OCTANE or engine.declaration(name).default is not None


def _error(left: float) -> float:
    """Error, in standard deviations, of an observation that leaves this share of the spread.

    A normal deviate seen with error e keeps a standard deviation of e/sqrt(1 + e^2).
    """
    return left / float(np.sqrt(1 - left**2))
