"""Ceilings of supply: fuel flow, pressure sensor, spark demand, valve springs. Not strength.

Valve float is asked where the spring is at full lift: the valve is open there and boost stands on
both sides of its head. Boost on the head counts where the valve is shut, against the seat force:
in the exhaust stroke, when the cylinder stands at exhaust pressure, between its pulses not far
over ambient, which is what is taken.
"""

from collections.abc import Callable
from typing import Any

import numpy as np

from torquerisk.case import Engine
from torquerisk.errors import InputError
from torquerisk.physics.cylinder.gas_exchange import SPECIFIC_GAS_CONSTANT_AIR
from torquerisk.physics.cylinder.geometry import cylinder_volume
from torquerisk.physics.cylinder.mean_pressure import torque_from_bmep
from torquerisk.physics.cylinder.phasing import ignition_advance_from_ca50, relative_efficiency
from torquerisk.physics.running_gear.valve_spring import inertia_force, pressure_force_on_head
from torquerisk.physics.supply.fuel import (
    brake_efficiency_when_rich,
    displaced_flow,
    fuel_mass_flow,
    injector_flow_at,
)
from torquerisk.quantities import Array
from torquerisk.study.cycle import cylinder
from torquerisk.study.draws import spreads
from torquerisk.study.limits.limit import Limit, LimitKind, place_of
from torquerisk.study.loads.demand import Demand
from torquerisk.study.loads.manifold import compressor_mep
from torquerisk.study.loads.modelled_cylinder import cylinder_spec
from torquerisk.study.run.crank_reading import crank_reading
from torquerisk.study.run.operating_state import USUAL_VOLUMETRIC_EFFICIENCY
from torquerisk.study.strengths.parts import Parts

BRAKE_EFFICIENCY = {False: 0.345, True: 0.39}
"""Brake efficiency at full load, best phasing and lambda 1, by compression ignition (practice)."""
LEAST_DENSITY = 1e4
"""Least density at the spark, as work per volume, that a known-good run stands for [Pa]."""
LEAST_FLOW = 1e-7
"""Fuel flow below which a logged duty tells nothing of what a torque takes [kg/s]."""
LEAST_DROP = 1e4
"""Pressure difference that an injector is left with, at least [Pa]: boost near rail pressure."""
FUEL_LAMBDAS = (0.6, 8.0)
"""Lambda that fuel flow is reckoned for [-]: wider than what the tables hold, whose notice says
so."""
LEAST_PRESSURE = 1e3
"""Manifold pressure that the run's own torque stands for, at least [Pa]: no torque takes none."""


def missing(*names: str) -> Callable[[Engine], tuple[str, ...]]:
    """What a limit asks for: those of these inputs that an engine lacks."""

    def check(engine: Engine) -> tuple[str, ...]:
        return tuple(name for name in names if not engine.has(name))

    return check


def fuel_flow(demand: Demand, parts: Parts) -> Array:
    """Fuel that a torque takes (S, N, I) [kg/s]: by brake efficiency, phasing and richness.

    What a crank-driven compressor takes is fed on top. Where the run logged its injector duty and
    the injectors' flow is given, all is scaled so that the measured torque takes the fuel that they
    passed; the time that they need to open counts as flow.
    """
    engine, state = parts.engine, demand.state
    driven = compressor_mep(engine, state, cylinder.brake_estimate(demand.imep))
    torque = demand.torque + torque_from_bmep(driven, engine.swept_volume_total)[:, None, :]
    fuel = cylinder.fuel_of(engine.compression_ignition, state.ethanol_share)
    lambda_ = np.clip(state.lambda_, *FUEL_LAMBDAS)
    best = brake_efficiency_when_rich(BRAKE_EFFICIENCY[engine.compression_ignition], lambda_)
    spread = parts.draws.of_model(spreads.SUPPLY)[None, :, None]
    efficiency = best[:, None, None] * np.asarray(relative_efficiency(demand.ca50)) * spread
    flow = fuel_mass_flow(
        np.maximum(torque, 0.0), demand.speed[:, None, None], fuel.lower_heating_value, efficiency
    )
    passed = _passed(demand, parts)
    if passed is None or state.run_torque is None:
        return flow
    at_run = place_of(demand.torque, state.run_torque).read(flow)
    known = (at_run > LEAST_FLOW) & (passed > LEAST_FLOW)
    return flow * np.where(known, passed / np.maximum(at_run, LEAST_FLOW), 1.0)[..., None]


def _passed(demand: Demand, parts: Parts) -> Array | None:
    """Fuel that the injectors passed in the run (S, N) [kg/s], by logged duty; None without."""
    duty, engine = demand.state.injector_duty, parts.engine
    if duty is None or not engine.has("supply.injector_flow"):
        return None
    boost = demand.state.manifold_pressure
    over = np.zeros(len(duty)) if boost is None else boost - ambient(engine)
    flow = parts.given("supply.injector_flow")[None, :] * duty[:, None] * _density(demand, parts)
    return np.asarray(flow * _at_pressure(engine, over)[:, None])


def _at_pressure(engine: Engine, boost: Array) -> Array:
    """Injector flow at boost over atmosphere [Pa], over that at its stated pressure [-]."""
    rail = engine.given("supply.rail_pressure")
    if rail is None:
        return np.ones(np.shape(boost))
    fixed = engine.word("supply.rail_reference") == "atmosphere"
    drop = np.maximum(float(rail) - (boost if fixed else 0.0 * boost), LEAST_DROP)
    return injector_flow_at(1.0, engine.value("supply.injector_flow_pressure").value, drop)


def air_flow(demand: Demand, parts: Parts) -> Array:
    """Air that a torque takes (S, N, I) [kg/s]: its fuel times lambda and the fuel's own need."""
    engine, state = parts.engine, demand.state
    fuel = cylinder.fuel_of(engine.compression_ignition, state.ethanol_share)
    air_fuel = (state.lambda_ * fuel.stoichiometric_air_fuel)[:, None, None]
    return fuel_flow(demand, parts) * air_fuel


def manifold_pressure(demand: Demand, parts: Parts) -> Array:
    """Manifold pressure that a torque takes (S, N, I) [Pa], absolute.

    From the fuel's air at the usual volumetric efficiency; where the run logged its pressure, all
    is scaled so that the measured torque takes the measured pressure.
    """
    engine, state = parts.engine, demand.state
    air = air_flow(demand, parts)
    volume_flow = engine.swept_volume_total * demand.speed[:, None, None] / (4 * np.pi)
    density = air / (USUAL_VOLUMETRIC_EFFICIENCY * volume_flow)
    pressure = density * SPECIFIC_GAS_CONSTANT_AIR * state.intake_temperature[:, None, None]
    if state.manifold_pressure is None or state.run_torque is None:
        return np.asarray(pressure)
    at_run = place_of(demand.torque, state.run_torque).read(pressure)
    at_run = np.maximum(at_run, LEAST_PRESSURE)
    return pressure * (state.manifold_pressure[:, None] / at_run)[..., None]


def spark_demand(demand: Demand, parts: Parts) -> Array:
    """Charge density at the spark over the known-good run's at the same speed (S, N, I) [-].

    Charge goes with gross work over the efficiency of its phasing; its volume is the cylinder's at
    the spark, whose angle is the logged advance or follows from CA50. The known-good run's is read
    at its torque, at its own advance where it logged one. Source: [PRACTICE] for demand in
    proportion to density.
    """
    engine, state = parts.engine, demand.state
    curve = engine.known_good.curve
    if curve is None:
        raise InputError("supply.spark_reserve needs a known-good run to compare with.")
    good = crank_reading(engine, curve)
    torque = np.interp(demand.speed, good.speed, good.torque)
    spec = cylinder_spec(engine, state.ethanol_share, float(demand.speed.max()))
    charge = demand.imep[:, None, :] / np.asarray(relative_efficiency(demand.ca50))
    advance = _advance(spec, demand)
    own = charge / _volume(spec, advance)
    place = place_of(demand.torque, torque)
    logged = curve.channel_at("ignition_advance", demand.speed)
    if logged is None:
        then = place.read(own)
    else:
        then = place.read(charge) / _volume(spec, logged[:, None])
    return own / np.maximum(then, LEAST_DENSITY)[..., None]


def _advance(spec: cylinder.CylinderSpec, demand: Demand) -> Array:
    """Ignition advance (S, N, I) or (S, 1, 1) [rad]: logged, else what its CA50 takes."""
    state = demand.state
    if state.ignition_advance is not None and state.ca50 is None:
        return (state.ignition_advance - state.later)[:, None, None]
    load = cylinder.brake_estimate(demand.imep)
    speed, lam = demand.speed[:, None], state.lambda_[:, None]
    start, length = cylinder.burn_timing(spec, speed, load, lam)
    return ignition_advance_from_ca50(demand.ca50, start[:, None], length[:, None])


def _volume(spec: cylinder.CylinderSpec, advance: Array) -> Array:
    """Cylinder volume at the spark over the swept one [-]."""
    volume = np.asarray(cylinder_volume(-advance, cylinder.geometry_of(spec)))
    return volume / spec.swept_volume


def _high_pressure_pump(demand: Demand, parts: Parts) -> Array:
    volume = parts.given("supply.high_pressure_pump_volume")
    share = parts.engine.value("supply.high_pressure_pump_efficiency").value
    flow = displaced_flow(volume, demand.speed[:, None], share)
    return np.asarray(flow * _density(demand, parts))


def injector_demand(demand: Demand, parts: Parts) -> Array:
    """Fuel that a torque takes (S, N, I) [kg/s], as flow at the injectors' stated pressure.

    With a rail held over atmosphere boost takes from the difference that they work at.
    """
    engine, flow = parts.engine, fuel_flow(demand, parts)
    if engine.word("supply.rail_reference") == "manifold":
        return np.asarray(flow / _at_pressure(engine, np.zeros(1)))
    return flow / _at_pressure(engine, manifold_pressure(demand, parts) - ambient(engine))


def ambient(engine: Engine) -> float:
    """Ambient pressure of the run [Pa]."""
    return engine.value("test.ambient_pressure").value


def _injectors(demand: Demand, parts: Parts) -> Array:
    duty = parts.engine.value("supply.injector_duty").value
    return parts.given("supply.injector_flow") * duty * _density(demand, parts)


def _density(demand: Demand, parts: Parts) -> float:
    engine = parts.engine
    return cylinder.fuel_of(engine.compression_ignition, demand.state.ethanol_share).density


def _valve_inertia(demand: Demand, parts: Parts) -> Array:
    mass = parts.given("valvetrain.valve_effective_mass")
    fall = parts.given("valvetrain.valve_deceleration")
    return inertia_force(mass, fall, demand.speed[:, None])[..., None]


def _spring_at_nose(demand: Demand, parts: Parts) -> Array:
    """Spring force that holds up to the drawn speed of float: it goes with speed squared."""
    held = parts.draws.of_model(spreads.VALVE_FLOAT) ** 2
    return parts.given("valvetrain.spring_force_at_nose") * held


def _boost_on_valve(demand: Demand, parts: Parts) -> Array:
    diameter = parts.engine.value("valvetrain.valve_diameter").value
    excess = manifold_pressure(demand, parts) - ambient(parts.engine)
    return pressure_force_on_head(np.maximum(excess, 0.0), diameter)


def _spark_missing(engine: Engine) -> tuple[str, ...]:
    missing = () if engine.has("supply.spark_reserve") else ("supply.spark_reserve",)
    if engine.known_good.curve is None:
        missing = (*missing, "known_good.run")
    return ("spark ignition",) if engine.compression_ignition else missing


def ceiling(quantity: str, unit: str, *needed: str, **said: Any) -> Limit:
    """A limit of supply. unit: as shown; needed: inputs without which it is none."""
    said.setdefault("missing", missing(*needed))
    return Limit(kind=LimitKind.SUPPLY, quantity=quantity, unit=unit, **said)


FUEL_PUMP = ceiling(
    "fuel flow", "kg/h", "supply.fuel_pump_flow",
    name="fuel_pump", title="In-tank fuel pump",
    protects="the mixture: past the pump's flow the engine runs lean at full load",
    load=fuel_flow, strength=lambda d, p: p.given("supply.fuel_pump_flow") * _density(d, p),
    lifted_by="a larger pump, fuel with more heat per litre",
    source="HEYWOOD, PRACTICE",
)  # fmt: skip
HIGH_PRESSURE_PUMP = ceiling(
    "fuel flow", "kg/h", "supply.high_pressure_pump_volume",
    name="high_pressure_pump", title="High-pressure fuel pump",
    protects="the mixture: past what its plungers move rail pressure falls and the engine runs "
    "lean; the engine turns it, so it bounds torque most at low speed",
    load=fuel_flow, strength=_high_pressure_pump,
    lifted_by="a pump with more stroke or plunger, fuel with more heat per litre, added injection "
    "into the ports",
    source="HEYWOOD, PRACTICE",
)  # fmt: skip
INJECTORS = ceiling(
    "fuel flow at the injectors' stated pressure", "kg/h", "supply.injector_flow",
    name="injectors", title="Injectors",
    protects="the mixture: past their flow the injectors stay open all the time",
    load=injector_demand, strength=_injectors,
    lifted_by="larger injectors, more fuel pressure, fuel with more heat per litre",
    source="HEYWOOD, PRACTICE",
)  # fmt: skip
PRESSURE_SENSOR = ceiling(
    "manifold pressure", "kPa", "supply.pressure_sensor_limit",
    name="pressure_sensor", title="Manifold-pressure sensor",
    protects="control of boost: past its range the controller is blind",
    load=manifold_pressure, strength=lambda _, p: p.given("supply.pressure_sensor_limit"),
    lifted_by="a sensor with a wider range",
    source="HEYWOOD, PRACTICE",
)  # fmt: skip
SPARK = ceiling(
    "charge density at the spark over the known-good run", "",
    name="spark", title="Ignition",
    protects="the spark: denser charge needs more voltage than the coils are known to give",
    load=spark_demand, strength=lambda _, p: p.given("supply.spark_reserve"),
    lifted_by="a smaller plug gap, stronger coils, an earlier spark",
    source="PRACTICE", missing=_spark_missing,
)  # fmt: skip
VALVE_FLOAT = ceiling(
    "valve inertia force over the cam's nose", "N", "valvetrain.valve_effective_mass",
    "valvetrain.valve_deceleration", "valvetrain.spring_force_at_nose",
    name="valve_float", title="Valve float",
    protects="valves and pistons: past this speed the springs no longer follow the cam",
    load=_valve_inertia, strength=_spring_at_nose,
    lifted_by="stiffer springs, lighter valves, lower speed; never less torque",
    source="NEWTON, KHURMI_GUPTA",
)  # fmt: skip
VALVE_SEAT = ceiling(
    "force of boost on the valve head", "N", "valvetrain.valve_diameter",
    "valvetrain.spring_force_on_seat",
    name="valve_seat", title="Valve held shut against boost",
    protects="the intake valves: boost on their heads pushes them off the seat",
    load=_boost_on_valve, strength=lambda _, p: p.given("valvetrain.spring_force_on_seat"),
    lifted_by="springs with more seat force, less boost",
    source="KHURMI_GUPTA",
)  # fmt: skip
LIMITS = (
    FUEL_PUMP, HIGH_PRESSURE_PUMP, INJECTORS, PRESSURE_SENSOR, SPARK, VALVE_FLOAT, VALVE_SEAT,
)  # fmt: skip
