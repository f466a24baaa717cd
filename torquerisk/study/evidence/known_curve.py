"""A curve that the engine is known to carry: survived, rated, or usual for its kind.

Here too is how much of its errors a curve shares with the run that is assessed. Two readings of one
engine are wrong alike where dyno, burn model or calibration are the same; a run shares all with
itself."""

import dataclasses
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from torquerisk.case import Engine, KnownGood, Run, Rung
from torquerisk.case.policy import MANY_TIMES
from torquerisk.case.shared_defaults import SHORT_STROKE
from torquerisk.physics.cylinder.mean_pressure import bmep_from_torque, torque_from_bmep
from torquerisk.quantities import RPM, Array
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.evidence.burn import burns_later
from torquerisk.study.evidence.piece import Index, few_speeds
from torquerisk.study.loads.demand import Demand, demand
from torquerisk.study.loads.load_rows import rows_about
from torquerisk.study.loads.modelled_cylinder import highest_speed
from torquerisk.study.run.air_fuel import with_lambda
from torquerisk.study.run.averaged import averaged
from torquerisk.study.run.crank_reading import crank_reading
from torquerisk.study.run.operating_state import Operating, PhasingSource, operating
from torquerisk.study.run.rated_curve import through_two_points
from torquerisk.study.run.run_on_grid import Prepared, fuel_octane

SAME_DYNO = 0.5
"""Correlation of dyno errors where both runs were read at one place with one correction (stated
choice): loss and correction are the same, calibration may have moved."""
SAME_PHASING = {PhasingSource.GIVEN: 0.7, PhasingSource.IGNITION_ADVANCE: 0.9}
"""Correlation of phasing errors where both runs have it from this source (stated choice): one
encoder, or one burn-delay model on one engine."""
SAME_CALIBRATION, OTHER_CALIBRATION = 0.7, 0.5
"""The same where both are assumed, on the same fuel and on another (stated choice)."""
RATED_SD = 0.03
"""Engines of a type against their data sheet, relative (common practice, no source)."""
OWN_SPEEDS = 12
"""Speeds at which a run is judged that is its own known-good curve."""


@dataclass(frozen=True, kw_only=True)
class Shared:
    """Correlations of a curve's errors with those of the run that is assessed [-]."""

    reading: float
    phasing: float

    @property
    def words(self) -> str:
        """What is taken, inside a sentence."""
        if self.reading == self.phasing == 1.0:
            return "it is this very run, so every error is shared"
        return (
            f"its dyno error is taken as {self.reading:.0%} and its phasing error as "
            f"{self.phasing:.0%} shared with this run's"
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class KnownCurve:
    """A curve at the speeds where it is judged, read as its own facts say."""

    name: str
    blend: str
    engine: Engine
    speed: Array
    torque: Array
    """At the crank, uncorrected (S,) [N*m]."""
    reading_sd: Array
    state: Operating
    shared: Shared
    own_errors: tuple[str, str]
    """Names of the deviates of its reading and of its phasing."""

    def loads(
        self, draws: Draws, pulls: int = MANY_TIMES, torque: tuple[float, float] = (0.0, np.inf)
    ) -> Demand:
        """Loads of these engines at the curve, in so many pulls along it.

        torque: least and greatest [N*m] that they are read at.
        """
        reading, phasing = self.own_errors
        there = draws.of_another_run(
            {
                spreads.READING.name: (reading, self.shared.reading),
                "model.phasing": (phasing, self.shared.phasing),
            }
        )
        rows = rows_about(self.engine, *torque)
        return demand(self.engine, self.state, there, self.reading_sd, pulls=pulls, rows=rows)


def _curve(
    prepared: Prepared,
    run: Run,
    fuel: tuple[str, float, float],
    count: int,
    own_errors: tuple[str, str],
    shared: Shared | None,
    calibration: str = "this",
) -> KnownCurve:
    run = with_lambda(run, fuel[0])
    reading = crank_reading(prepared.engine, run)
    grid = averaged(reading)
    index: Index = few_speeds(grid.speed, grid.torque, count)
    state = operating(reading.engine, run, grid.speed[index], *fuel)
    later = burns_later(prepared)
    if later is not None and state.ca50 is None:
        at = np.interp(state.speed, prepared.speed, later)
        state = dataclasses.replace(state, burns_later=at)
    return KnownCurve(
        name=run.name, blend=fuel[0], engine=reading.engine, speed=grid.speed[index],
        torque=grid.torque[index], reading_sd=grid.relative_sd[index], state=state,
        shared=shared or _shared(prepared, reading.engine, state, calibration),
        own_errors=own_errors,
    )  # fmt: skip


def _shared(
    prepared: Prepared, there: Engine, state: Operating, calibration: str = "this"
) -> Shared:
    """How much of its errors another run of the engine shares with the one that is assessed."""
    here = prepared.engine
    same_dyno = all(
        here.given(name) == there.given(name)
        for name in ("test.measured_at", "test.correction", "test.driveline_loss")
    )
    same_fuel = (state.ethanol_share, state.octane) == (
        prepared.state.ethanol_share,
        prepared.state.octane,
    )
    source, other = prepared.state.phasing_source, state.phasing_source
    if state.ignition_advance is not None and prepared.state.ignition_advance is not None:
        source = other = PhasingSource.IGNITION_ADVANCE
    known = {source, other} & set(SAME_PHASING)
    if known:
        phasing = SAME_PHASING[source] if source is other else 0.0
    else:
        same = same_fuel and calibration == "this"
        phasing = SAME_CALIBRATION if same else OTHER_CALIBRATION
    return Shared(reading=SAME_DYNO if same_dyno else 0.0, phasing=phasing)


def is_this_run(prepared: Prepared, curve: Run) -> bool:
    """True where a curve is the very run that is assessed: same speeds, torques and channels."""
    run = prepared.run
    return (
        np.array_equal(run.speed, curve.speed)
        and np.array_equal(run.torque, curve.torque)
        and run.channels.keys() == curve.channels.keys()
        and all(np.array_equal(v, curve.channels[k]) for k, v in run.channels.items())
    )


@lru_cache(maxsize=4)
def known_good_curve(prepared: Prepared) -> KnownCurve:
    """The known-good curve of a case that has one."""
    assert prepared.known_good is not None
    return _driven(prepared, prepared.engine.known_good, prepared.known_good, "this")


@lru_cache(maxsize=16)
def rung_curve(prepared: Prepared, number: int) -> KnownCurve:
    """The curve of a survived rung, counted from 0."""
    rung = prepared.engine.survived[number]
    assert rung.curve is not None
    return _driven(prepared, rung, rung.curve, rung.calibration or "this")


def _driven(prepared: Prepared, stated: KnownGood | Rung, run: Run, calibration: str) -> KnownCurve:
    """A curve that this engine was driven at, on the fuel stated beside it or the run's own."""
    engine = prepared.engine
    blend = stated.blend or engine.word("fuel.blend")
    octane = stated.octane
    if octane is None and stated.blend is None:
        octane = engine.given("fuel.octane")
    fuel = (blend, *fuel_octane(engine, blend, octane))
    own = is_this_run(prepared, run) and calibration == "this"
    own = own and blend == engine.word("fuel.blend") and fuel[1] == prepared.state.octane
    errors = (spreads.EARLIER_READING.name, spreads.EARLIER_PHASING.name)
    if own:
        return _curve(prepared, run, fuel, OWN_SPEEDS, errors, Shared(reading=1.0, phasing=1.0))
    return _curve(prepared, run, fuel, 5, errors, None, calibration)


def _sheet(name: str, speed: Array, torque: Array, error: float) -> Run:
    facts: dict[str, float | str | None] = {
        "measured_at": "crank", "correction": "none", "torque_error": error, "sweep_rate": None,
        "driveline_loss": None, "correction_factor": None,
    }  # fmt: skip
    return Run(name=name, speed=speed, torque=torque, facts=facts)


RATED_ERRORS = (spreads.RATED_READING.name, spreads.RATED_PHASING.name)


@lru_cache(maxsize=8)
def rated_curve(prepared: Prepared, to_limiter: bool = False) -> KnownCurve:
    """The curve that a data sheet stands for, up to rated power or to the limiter past it."""
    engine, points = prepared.engine, prepared.engine.rated.points
    assert points is not None
    boosted = sold_boosted(engine, bmep_from_torque(points[0], engine.swept_volume_total))
    limit = engine.rated.rev_limit
    past = _limiter(engine, boosted) if limit is None else limit / points[3]
    past = past if to_limiter else 1.0
    return _as_sold(prepared, "the data sheet's curve", points, engine.rated.octane, past)


def _limiter(engine: Engine, boosted: bool) -> float:
    return LIMITER[boosted and not engine.compression_ignition]


def _as_sold(
    prepared: Prepared,
    name: str,
    points: tuple[float, float, float, float],
    octane: float | None,
    past: float,
) -> KnownCurve:
    """A data sheet's curve, to a multiple of the speed of rated power.

    Power is greatest there, and past it torque falls on as there.
    """
    engine = prepared.engine
    speed, torque = through_two_points(*points)
    low = engine.rated.torque_from
    if low is not None and low < speed[0]:
        speed = np.concatenate([[low, (low + speed[0]) / 2], speed])
        torque = np.concatenate([[torque[0]] * 2, torque])
    past = min(past, INSIDE * highest_speed(engine) / speed[-1])
    if past > 1.0:
        speed, torque = (
            np.append(speed, past * speed[-1]),
            np.append(torque, max(2 - past, LEAST_PAST) * torque[-1]),
        )
    blend = engine.word("rated.blend")
    fuel = (blend, *fuel_octane(engine, blend, octane))
    sheet = _sheet(name, speed, torque, RATED_SD)
    curve = _curve(prepared, sheet, fuel, len(speed), RATED_ERRORS, None)
    # Makers prove parts for longer than any pull: a slow one is not judged by what a quick one is.
    rate = {"test.sweep_rate": engine.given("test.sweep_rate")}
    return dataclasses.replace(curve, engine=curve.engine.with_values(rate))


@dataclass(frozen=True, kw_only=True)
class EngineKind:
    """What engines of a kind are sold with: mean pressures from textbooks, wide."""

    name: str
    boosted: bool
    mean_pressure: float
    """Greatest full-load BMEP, median [Pa]."""
    log_sd: float
    power_share: float
    """BMEP at rated power over the greatest [-]."""
    piston_speed: float
    """Mean piston speed at rated power [m/s]."""
    torque_speed_share: float
    """Speed of greatest torque over that of power [-]."""


KINDS = {
    (False, False): EngineKind(
        name="a petrol engine without boost", boosted=False,
        mean_pressure=11.0e5, log_sd=0.13, power_share=0.87,
        piston_speed=15.0, torque_speed_share=0.65,
    ),
    (False, True): EngineKind(
        name="a boosted petrol engine", boosted=True,
        mean_pressure=19.0e5, log_sd=0.22, power_share=0.80,
        piston_speed=15.0, torque_speed_share=0.45,
    ),
    (True, False): EngineKind(
        name="a diesel without boost", boosted=False,
        mean_pressure=7.8e5, log_sd=0.10, power_share=0.85,
        piston_speed=11.0, torque_speed_share=0.55,
    ),
    (True, True): EngineKind(
        name="a boosted diesel", boosted=True,
        mean_pressure=18.0e5, log_sd=0.23, power_share=0.80,
        piston_speed=11.0, torque_speed_share=0.55,
    ),
}  # fmt: skip
"""By compression ignition and boost. Greatest BMEP: Heywood (1988) section 2.7 (from memory) 8.5 to
10.5 bar petrol, 12.5 to 17 boosted, diesels 7 to 9 and 10 to 12; today's reach 14, 30, 9 and 27
(published abstracts, and from memory). Piston speed: section 2.2, 8 to 15 m/s."""
LIMITER = {False: 1.08, True: 1.15}
"""Speed that an engine is let run to over that of its rated power [-], by whether it is a boosted
petrol engine, which its turbine throttles first (common practice, no source): makers leave their
margin there."""
LEAST_PAST = 0.4
"""Torque at the rev limit over that of rated power, at least [-]."""
FASTEST = {False: 22.0, True: 24.5}
"""Mean piston speed at rated power that few engines are sold with more of [m/s], by whether the
stroke is as short as motorcycles' (from memory: sports engines 20 to 22, motorcycles to 25)."""
INSIDE = 0.99
"""Share of the model's highest speed that curves made up here go to [1]."""
BOOSTED_PRESSURE = 1.15
"""Manifold over ambient pressure from which a run is boosted [-]."""
UNBOOSTED_MEAN_PRESSURE = {False: 14.5e5, True: 9.5e5}
"""BMEP that no engine without boost reaches, by compression ignition [Pa]."""
UNBOOSTED_RATIO = {False: 11.5, True: 19.0}
"""Compression ratio from which an engine was sold without boost (common practice, no source)."""


def shows_boost(engine: Engine, bmep: float, manifold: Array | None = None) -> bool:
    """True where an engine without boost could not make a BMEP [Pa], or pressure was logged."""
    ambient = engine.value("test.ambient_pressure").value
    logged = manifold is not None and float(manifold.max()) > BOOSTED_PRESSURE * ambient
    return logged or bmep > UNBOOSTED_MEAN_PRESSURE[engine.compression_ignition]


def sold_boosted(engine: Engine, bmep: float) -> bool:
    """True where it is said to be sold with boost; where nobody says, if its BMEP [Pa] shows it."""
    told = engine.given("rated.boosted")
    return shows_boost(engine, bmep) if told is None else told == "true"


def kind_of(engine: Engine, torque: Array, state: Operating) -> EngineKind:
    """The kind of engine as it was sold: as told, else by what the run tells of boost, and ratio.

    A run may be boosted where the engine was sold without: a high ratio tells. A diesel counts as
    boosted unless its ratio is high and its load that of one without.
    """
    diesel = engine.compression_ignition
    if (told := engine.given("rated.boosted")) is not None:
        return KINDS[diesel, told == "true"]
    load = bmep_from_torque(float(torque.max()), engine.swept_volume_total)
    boosted = shows_boost(engine, load, state.manifold_pressure)
    high = engine.compression_ratio > UNBOOSTED_RATIO[diesel]
    return KINDS[diesel, not high or boosted] if diesel else KINDS[diesel, boosted and not high]


@lru_cache(maxsize=4)
def usual_curve(prepared: Prepared) -> KnownCurve:
    """The curve of an engine of its kind, at the kind's median mean pressure.

    A run that goes to more speed than the kind's is taken as one up to the limiter of an engine
    that is sold for it, as far as engines are.
    """
    engine = prepared.engine
    kind = kind_of(engine, prepared.torque, prepared.state)
    short = engine.bore >= SHORT_STROKE * engine.stroke
    fastest = FASTEST[short] * np.pi / engine.stroke
    highest = INSIDE * highest_speed(engine)
    past = _limiter(engine, kind.boosted)
    top = engine.rated.rev_limit or min(float(prepared.speed.max()), past * fastest)
    run = min(top / past, highest)
    power_speed = max(min(kind.piston_speed * np.pi / engine.stroke, highest), run)
    torque = torque_from_bmep(kind.mean_pressure, engine.swept_volume_total)
    torque_speed = max(kind.torque_speed_share * power_speed, 710 * RPM)
    points = (torque, torque_speed, kind.power_share * torque * power_speed, power_speed)
    name = f"what {kind.name} is sold with"
    return _as_sold(prepared, name, points, None, past)


def known_curves(prepared: Prepared) -> tuple[KnownCurve, ...]:
    """The curves that this engine is known to carry: survived, rated, both or none."""
    found = []
    if prepared.known_good is not None:
        found.append(known_good_curve(prepared))
    if prepared.engine.rated.points is not None:
        found.append(rated_curve(prepared, prepared.engine.rated.rev_limit is not None))
    return tuple(found)
