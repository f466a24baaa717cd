"""Pressures before and behind the cylinder, logged or estimated, and the work of exchanging gas."""

import numpy as np

from torquerisk.case import Engine
from torquerisk.physics.cylinder import gas_exchange
from torquerisk.physics.cylinder.mean_pressure import bmep_from_torque
from torquerisk.physics.running_gear.slider_crank import mean_piston_speed
from torquerisk.physics.supply.boost import compressor_work
from torquerisk.quantities import BAR, Array
from torquerisk.study.cycle.cylinder import fuel_of
from torquerisk.study.run.operating_state import USUAL_VOLUMETRIC_EFFICIENCY, Operating

SLOWEST_PISTON, FASTEST_PISTON = 0.5, 30.0
"""Mean piston speeds between which the gas-exchange and friction correlations hold [m/s]."""
BMEP_PER_PRESSURE = 10.5
"""BMEP that a manifold pressure gives, where none is logged [-] (common practice, no source)."""
MOST_RESIDUAL = 2.2
"""Exhaust over intake pressure beyond which residual gas is not followed [-]: throttled loads,
where nothing knocks and no part is loaded."""

HIGHEST_EXHAUST = 8.0 * BAR
"""Exhaust pressure beyond which none is estimated [Pa]."""
ESTIMATED_PRESSURES = (0.35 * BAR, 6.0 * BAR)
"""Manifold pressures that are estimated, least and most [Pa]."""

CRANK_DRIVEN = "supply.crank_compressor_efficiency"
"""Input that says that the crank drives a compressor."""
FILTER_LOSS, INTERCOOLER_LOSS = 3e3, 1e4
"""Pressure lost ahead of a compressor and behind it at full load [Pa] (common practice, no source:
2 to 5 and 5 to 15 kPa)."""
PETROL_ETHANOL = 0.05
"""Ethanol by volume of the petrol whose evaporation the usual heating of the charge counts."""
LOST = 0.8 * BAR
"""Rough friction and pumping for how manifold pressure goes with brake load [Pa]."""
LARGEST_RATIO = 10.0
"""Pressure ratio beyond which no compressor is followed [-]."""


def piston_speed_unheld(engine: Engine, speed: Array) -> Array:
    """Mean piston speed (S,) [m/s] at engine speeds (S,) [rad/s]."""
    return np.asarray(mean_piston_speed(stroke=engine.stroke, angular_speed=speed))


def piston_speed(engine: Engine, speed: Array) -> Array:
    """Mean piston speed (S,) [m/s] at engine speeds (S,) [rad/s], within the fits' range."""
    return np.clip(piston_speed_unheld(engine, speed), SLOWEST_PISTON, FASTEST_PISTON)


def estimated_unheld(engine: Engine, bmep: Array) -> Array:
    """Intake pressure [Pa] estimated from brake load [Pa], before it is held."""
    least = engine.value("test.ambient_pressure").value if engine.compression_ignition else -np.inf
    return np.maximum(bmep / BMEP_PER_PRESSURE, least)


def pressures(engine: Engine, state: Operating, bmep: Array) -> tuple[Array, Array]:
    """Intake and exhaust pressure, absolute, (S, I) [Pa] at brake loads (I,) or (S, 1) [Pa].

    Intake as logged; else estimated from load: 1 bar for each 10.5 bar of BMEP, not below 0.35
    bar, nor below ambient in a diesel, which has no throttle. Exhaust as logged or
    given, else from boost by `gas_exchange`: without a turbine where the crank drives the
    compressor, in a spark engine with one of fixed size.
    """
    shape = (len(state.speed), bmep.shape[-1])
    if state.manifold_pressure is None:
        intake = np.atleast_2d(np.clip(estimated_unheld(engine, bmep), *ESTIMATED_PRESSURES))
    else:
        intake = state.manifold_pressure[:, None]
    if state.exhaust_pressure is None and engine.has(CRANK_DRIVEN):
        moving = piston_speed(engine, state.speed)[:, None]
        ambient = engine.value("test.ambient_pressure").value
        exhaust = np.asarray(gas_exchange.exhaust_pressure_without_turbine(moving, intake, ambient))
    elif state.exhaust_pressure is None:
        moving = piston_speed(engine, state.speed)[:, None]
        over_boost = (
            gas_exchange.TURBINE_PRESSURE_RATIO_OVER_BOOST
            if engine.compression_ignition
            else gas_exchange.turbine_pressure_over_boost(moving)
        )
        ambient = engine.value("test.ambient_pressure").value
        exhaust = np.clip(
            gas_exchange.exhaust_pressure_before_turbine(moving, intake, ambient, over_boost),
            None,
            HIGHEST_EXHAUST,
        )
    else:
        exhaust = state.exhaust_pressure[:, None]
    return np.broadcast_to(intake, shape), np.broadcast_to(exhaust, shape)


def excess_heating(engine: Engine, state: Operating, bmep: Array) -> Array:
    """Heating of the charge by residual gas over that at equal pressures (S, I) [K].

    bmep: brake loads (I,), or (S, 1) where each speed has its own [Pa]. `charge.trapped_heating` is
    that of an engine whose exhaust stands at intake pressure; where the exhaust stands higher more
    residual stays and heats more. 0 in a diesel, whose own default counts it.
    Source: `gas_exchange.residual_heating`.
    """
    intake, exhaust = pressures(engine, state, bmep)
    if engine.compression_ignition:
        return np.zeros(intake.shape)
    ratio = engine.compression_ratio
    exhaust = np.minimum(exhaust, MOST_RESIDUAL * intake)
    rise = [np.asarray(gas_exchange.residual_heating(intake, p, ratio)) for p in (exhaust, intake)]
    return np.asarray(rise[0] - rise[1])


def evaporation_beyond_petrol(
    ethanol_share: float, lambda_: Array, compression_ignition: bool
) -> Array:
    """How much cooler a blend leaves the charge than petrol (S,) [K] if it alone evaporates it.

    lambda_: (S,). `charge.trapped_heating` is that of petrol with PETROL_ETHANOL; 0 in a diesel.
    Source: `gas_exchange.evaporation_cooling`.
    """
    if compression_ignition:
        return np.zeros(np.shape(lambda_))
    blend, petrol = (
        gas_exchange.evaporation_cooling(fuel.latent_heat, lambda_ * fuel.stoichiometric_air_fuel)
        for fuel in (fuel_of(False, ethanol_share), fuel_of(False, PETROL_ETHANOL))
    )
    return np.asarray(blend - petrol)


def compressor_ratio(engine: Engine, manifold_pressure: Array) -> tuple[Array, float]:
    """Pressure ratio over a compressor [-], 1 at least, and the pressure at its inlet [Pa]."""
    inlet = engine.value("test.ambient_pressure").value - FILTER_LOSS
    ratio = (manifold_pressure + INTERCOOLER_LOSS) / inlet
    return np.clip(ratio, 1.0, LARGEST_RATIO), inlet


def compressor_mep(engine: Engine, state: Operating, bmep: Array) -> Array:
    """Mean effective pressure (S, I) [Pa] that a crank-driven compressor takes at brake loads.

    bmep: (I,) [Pa]. Its work a cycle over the swept volume: the charge at manifold density times
    the work of compressing a kilogram; none below ambient, where it is bypassed, and 0 where the
    crank drives none. A logged pressure belongs to the run's torque and goes with load from there.
    """
    intake, _ = pressures(engine, state, bmep)
    efficiency = engine.given(CRANK_DRIVEN)
    if efficiency is None:
        return np.zeros(intake.shape)
    if state.manifold_pressure is not None and state.run_torque is not None:
        run = bmep_from_torque(state.run_torque, engine.swept_volume_total)[:, None]
        intake = intake * (bmep + LOST) / np.maximum(run + LOST, LOST)
    ratio, _ = compressor_ratio(engine, intake)
    warm = engine.value("test.ambient_temperature").value
    work = compressor_work(ratio, warm, float(efficiency))
    temperature = state.intake_temperature[:, None]
    density = intake / (gas_exchange.SPECIFIC_GAS_CONSTANT_AIR * temperature)
    boosted = intake > engine.value("test.ambient_pressure").value
    return np.where(boosted, USUAL_VOLUMETRIC_EFFICIENCY * density * work, 0.0)


def pumping(engine: Engine, state: Operating, bmep: Array) -> Array:
    """Median pumping mean effective pressure (S, I) [Pa] at brake loads (I,) [Pa].

    With what a crank-driven compressor takes: gross work covers both on the way to the crank.
    """
    intake, exhaust = pressures(engine, state, bmep)
    moving = piston_speed(engine, state.speed)[:, None]
    gas = gas_exchange.pmep(intake, exhaust, moving, state.intake_temperature[:, None])
    return np.asarray(gas + compressor_mep(engine, state, bmep))
