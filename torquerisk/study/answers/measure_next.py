"""What to measure next: by how much it would raise the torque accepted; see `accepted_tail`."""

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq

from torquerisk.physics.cylinder import phasing
from torquerisk.physics.cylinder.burn_duration import duration_spark, flame_development
from torquerisk.quantities import Array
from torquerisk.study.answers.accepted_tail import Tail
from torquerisk.study.answers.next_rung import next_rungs
from torquerisk.study.assessment.assess import BINDING
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.cycle import cylinder
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.evidence.peak import PEAK_SENSOR_SD
from torquerisk.study.evidence.piece import state_at_index
from torquerisk.study.limits import bounding, place_of
from torquerisk.study.loads.demand import demand
from torquerisk.study.run.operating_state import Operating, PhasingSource
from torquerisk.study.strengths.head_tightening import STRETCH_LENGTH_SD, STRETCH_READING_SD
from torquerisk.study.strengths.parts import parts_of

BEST_TRIED = 3
"""So many of the best single measurements are tried together with every other."""
LEAST_GAIN = 0.005
"""Least rise that is told, over the torque accepted now."""
KNOCK_SWEEP_SD = np.radians(2.0)
"""Error of a knock limit found by sweeping ignition on a dyno (common practice, no source)."""
CHECKED_READING_SD = 0.01
"""Relative error of torque once calibration, correction and loss are checked (common practice, no
source)."""
DATA_SHEET_SD = 0.15
"""Error of what a data sheet's two numbers say of where in its kind an engine stands, in standard
deviations of the kind (stated choice: its curve between them is drawn)."""
WEAKEST = 0.05
"""Share of the engines, the weakest, that an input must move to be worth knowing (stated
choice)."""
EARLIEST_ADVANCE = (-0.6, 1.2)
"""Ignition advance looked at, from after TDC to before it [rad]."""
OUTCOMES, WEIGHTS = (0.1, 0.5, 0.9), (0.3, 0.4, 0.3)
"""Quantiles of what a phasing channel might show, and their weights in a mean (Swanson's rule, from
memory)."""
NO_SHOP_MEASURES = frozenset({
    "charge.trapped_heating", "charge.residual_fraction", "charge.heat_loss_scale",
    "charge.friction_scale", "running_gear.rod_fatigue_share", "head_joint.sealing_line_load",
    "head_joint.lift_share", "head_joint.ring_stiffness", "head_joint.head_section_share",
    "head_joint.gasket_relaxation",
})  # fmt: skip
"""Inputs that take a laboratory or many engines: no advice to anyone (common practice, no source).
"""
FEWEST_LEFT = 16
"""Engines that must be left for a survived run to be told of."""


@dataclass(frozen=True, kw_only=True)
class Measure:
    """Something that could be measured, given or driven, and what that would be worth."""

    name: str
    label: str
    gain: float
    """By how much it would raise the torque accepted, expected before it is known [N*m]."""
    low: float
    """Torque accepted afterwards if it turns out badly: about the 10 % point [N*m]."""
    high: float
    """The same if it turns out well, about the 90 % point [N*m]."""
    risk: float | None = None
    """Share of the simulated engines that pass a limit on the way; None where nothing is driven for
    it. `gain` is then what nothing seen would bring."""
    rough: bool = False
    """True for a phasing channel where the run's own channels have chosen among the simulated
    engines: with phasing known they would choose others."""


Candidate = tuple[str, str, Array, float]
"""Name, label, what would be observed by draw (n,), and the standard deviation of its error."""


def binding_names(assessment: Assessment) -> list[str]:
    """Names of the limits that bind."""
    return [n for n, item in assessment.limits.items() if item.limit.kind in BINDING]


@dataclass(frozen=True, kw_only=True)
class Advice:
    """What to measure next at one speed."""

    measures: tuple[Measure, ...]
    """Worth most first, what has to be driven last; what cannot be told from nothing is left out.
    """
    pair: Measure | None
    """The two that would be worth most together; None where fewer than two are worth anything."""
    unclear: tuple[str, ...]
    """Labels of measurements that were looked at and whose worth cannot be told from nothing."""


def binding_capacity(assessment: Assessment) -> Array:
    """Least capacity torque (S, N) [N*m] over the limits that bind, of the engines whose inputs
    and loads are kept."""
    return assessment.model.least.binding[:, : assessment.model.draws.count]


def worth_measuring(assessment: Assessment, k: int, least: Array) -> Advice:
    """What to measure next at speed k.

    least: governing capacity torque (N,) [N*m]. Most candidates are weighed by what an observation,
    with its own error, would do to the torque accepted of the simulated engines. A phasing channel
    also changes what the torque at another load is judged at (the logged phasing instead of the one
    that knock allows), so there the model runs again, at a few values it might show.
    """
    tail = _tail(assessment, k, least)
    enough = LEAST_GAIN * abs(tail.now)
    channels = [*_channels(assessment, k), *_data_sheet(assessment)]
    candidates = [*channels, *_inputs(assessment)]
    gaining = [(m, c) for c in candidates if (m := _weighed(tail, [c])) and m.gain > enough]
    bearing = _bearing(assessment, k, [c[0] for _, c in gaining])
    alone = [(m, c) for m, c in gaining if c[0] in bearing]
    alone.sort(key=lambda pair: -pair[0].gain)
    best = [c for _, c in alone[:BEST_TRIED]]
    pairs = [
        _weighed(tail, [one, two])
        for i, one in enumerate(best)
        for two in [*best[i + 1 :], *(c for _, c in alone[BEST_TRIED:])]
    ]
    found = [m for m, _ in alone]
    phasing_channels = list(_phasing_channels(assessment))
    for channel in phasing_channels:
        measure, with_others = _phased(assessment, k, tail.now, channel, best)
        found += [measure] if measure.gain > enough else []
        pairs += with_others
    told = {m.name for m in found}
    looked_at = [*(c[:2] for c in channels), *phasing_channels]
    most = max((m.gain for m in found), default=np.inf)
    both = max((p for p in pairs if p), key=lambda m: m.gain, default=None)
    found += [m for m in _driven(assessment, k, tail) if m.gain > enough]
    return Advice(
        measures=tuple(sorted(found, key=lambda m: (m.risk is not None, -m.gain))),
        pair=both if both is not None and both.gain > most else None,
        unclear=tuple(label for name, label in looked_at if name not in told),
    )


def _tail(assessment: Assessment, k: int, least: Array) -> Tail:
    """The torque accepted of capacities (N,) [N*m], cut to the loads that the model covers."""
    torque = assessment.model.demand.torque[k]
    low, high = float(torque[:, 0].max()), float(torque[:, -1].min())
    return Tail(np.clip(least, low, high), assessment.policy.chance)


def _weighed(tail: Tail, group: list[Candidate]) -> Measure | None:
    """Worth of candidates observed together; None where it cannot be told from chance."""
    values = np.stack([c[2] for c in group])
    if not (values.std(axis=1) > 0).all():
        return None
    worth = tail.worth(values, np.array([c[3] for c in group]))
    if not worth.clear:
        return None
    return _measure([c[:2] for c in group], worth.gain, worth.low, worth.high)


def _bearing(assessment: Assessment, k: int, names: Sequence[str]) -> set[str]:
    """Those but for inputs that move no weak engine: of the many that are weighed, one goes with
    the torque accepted by chance now and then, though its part is far from its limit.

    Asked of the weakest engines, with that input in the middle of its spread; what is seen of an
    engine, and is no input, always bears.
    """
    draws = assessment.model.draws
    inputs = [name for name in names if name in draws.deviates]
    bearing = set(names).difference(inputs)
    if not inputs:
        return bearing
    state = state_at_index(assessment.model.operating, _with_last(assessment, k))
    drawn = _least_capacity(assessment, k, state, draws)
    weak = np.argsort(drawn)[: max(int(WEAKEST * len(drawn)), 1)]
    for name in inputs:
        middle = {**draws.deviates, name: np.zeros(draws.count)}
        held = _least_capacity(assessment, k, state, dataclasses.replace(draws, deviates=middle))
        with np.errstate(invalid="ignore"):
            moved = np.nan_to_num(np.abs(held - drawn)[weak], nan=0.0)
        if float(np.mean(moved)) > LEAST_GAIN * abs(float(drawn[weak].max())):
            bearing.add(name)
    return bearing


def _measure(
    names: Sequence[tuple[str, str]], gain: float, low: float, high: float, rough: bool = False
) -> Measure:
    """Candidates measured together, by name and label."""
    return Measure(
        name=" + ".join(name for name, _ in names),
        label=" and ".join(label for _, label in names),
        gain=gain,
        low=low,
        high=high,
        rough=rough,
    )


def _driven(assessment: Assessment, k: int, tail: Tail) -> Iterator[Measure]:
    """The next rung, and this very run survived as often as the tune must last."""
    rungs = next_rungs(assessment)
    if rungs:
        rung = rungs[0]
        now = float(assessment.ceiling[k])
        after = max(float(rung.accepted[k]), now)
        label = f"{rung.pulls} pulls at up to {rung.times:g} times the torque accepted now"
        yield Measure(name="survived_rung", label=label, gain=after - now, low=now, high=after,
                      risk=rung.risk)  # fmt: skip
    if {"survived", "rated", "ladder", "coolant_rose"} & set(assessment.evidence.names):
        return
    over = binding_capacity(assessment) >= assessment.torque[:, None]
    carries = np.asarray(over.all(axis=0))
    if FEWEST_LEFT <= carries.sum() < len(carries):
        after = float(tail.accepted(carries[None, :].astype(float))[0])
        label = f"this very run, if it has been survived {assessment.policy.pulls:,} times already"
        yield Measure(name="survived_run", label=label, gain=after - tail.now, low=tail.now,
                      high=after, risk=float(1 - carries.mean()))  # fmt: skip


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
    if not engine.has("head_joint.measured_stretch"):
        head = model.parts.head
        stretch = head.preload_cold * head.lengthens
        error = float(np.hypot(STRETCH_READING_SD, STRETCH_LENGTH_SD * np.median(stretch)))
        yield "head_joint.measured_stretch", "stretch of the head fasteners", stretch, error
    reading = float(np.max(assessment.reading.relative_sd))
    if reading > CHECKED_READING_SD:
        error = _error(CHECKED_READING_SD / reading)
        deviates = model.draws.deviates[spreads.READING.name]
        yield "torque", "torque: calibration, correction and driveline loss", deviates, error


def _phasing_channels(assessment: Assessment) -> Iterator[tuple[str, str]]:
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
    now: float,
    channel: tuple[str, str],
    others: list[Candidate],
) -> tuple[Measure, list[Measure]]:
    """Worth of a phasing channel alone, and of it with each of some candidates."""
    place = place_of(assessment.model.demand.torque, assessment.torque)
    shown = np.quantile(place.read(assessment.model.demand.ca50)[k], OUTCOMES)
    tails = [
        _tail(assessment, k, capacity_with_phasing(assessment, k, channel[0], float(ca50)))
        for ca50 in shown
    ]
    rough = chosen_by_channels(assessment)
    after = np.array([tail.now for tail in tails])
    gain = float(np.dot(WEIGHTS, after)) - now
    low, high = float(after.min()), float(after.max())
    measure = _measure([channel], gain, low, high, rough)
    pairs = []
    for other in others:
        found = [tail.worth(other[2][None, :], np.array([other[3]])) for tail in tails]
        if all(worth.clear for worth in found):
            more = float(np.dot(WEIGHTS, [worth.gain for worth in found]))
            low, high = min(w.low for w in found), max(w.high for w in found)
            pairs.append(_measure([channel, other[:2]], gain + more, low, high, rough))
    return measure, pairs


def chosen_by_channels(assessment: Assessment) -> bool:
    """True where evidence has chosen among the simulated engines.

    What a channel would teach then also changes what that evidence shares with the run.
    """
    return bool(set(assessment.evidence.names) - {"assembled"})


def capacity_with_phasing(assessment: Assessment, k: int, channel: str, ca50: float) -> Array:
    """Governing capacity torque (N,) [N*m] at speed k, were a phasing channel logged there.

    channel: 'ca50' or 'ignition_advance'; ca50: what it shows, or stands for, at the measured
    torque [rad]. The same simulated engines; the highest speed is solved beside, for the surface.
    """
    model = assessment.model
    shown = ca50 if channel == "ca50" else _advance_for(assessment, k, ca50)
    changed: dict[str, Any] = {channel: np.full(2, shown)}
    state = state_at_index(model.operating, _with_last(assessment, k))
    return _least_capacity(assessment, k, dataclasses.replace(state, **changed), model.draws)


def _with_last(assessment: Assessment, k: int) -> npt.NDArray[np.intp]:
    """Index of a speed and of the highest, which is solved beside it for the surface."""
    return np.array([k, len(assessment.speed) - 1])


def _least_capacity(assessment: Assessment, k: int, state: Operating, draws: Draws) -> Array:
    """Governing capacity torque (N,) [N*m] at speed k in a state of `_with_last`, for draws."""
    model, engine = assessment.model, assessment.engine
    reading = model.reading_sd[_with_last(assessment, k)]
    loads = demand(engine, state, draws, reading, pulls=model.demand.pulls)
    parts = model.parts if draws is model.draws else parts_of(engine, draws)
    capacities = [
        bounding(item.limit, item.limit.capacity(loads, parts), draws)[0]
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
        default = name == spreads.OCTANE or engine.declaration(name).default is not None
        if name in NO_SHOP_MEASURES or engine.has(name) or not default:
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


def _data_sheet(assessment: Assessment) -> Iterator[Candidate]:
    """Where what engines of its kind are sold with stands in for a data sheet."""
    if "usual" in assessment.evidence.names:
        deviates = assessment.model.draws.deviates[spreads.CLASS_RATING.name]
        yield "rated", "a data sheet's torque and power", deviates, DATA_SHEET_SD


def _error(left: float) -> float:
    """Error, in standard deviations, of an observation that leaves this share of the spread.

    A normal deviate seen with error e keeps a standard deviation of e/sqrt(1 + e^2).
    """
    return left / float(np.sqrt(1 - left**2))
