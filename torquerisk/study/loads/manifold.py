"""Pressures before and behind the cylinder, logged or estimated, and the work of exchanging gas."""

import numpy as np

from torquerisk.case import Engine
from torquerisk.physics.cylinder import gas_exchange
from torquerisk.physics.running_gear.slider_crank import mean_piston_speed
from torquerisk.quantities import BAR, Array
from torquerisk.study.run.operating_state import Operating

SLOWEST_PISTON, FASTEST_PISTON = 0.5, 30.0
"""Mean piston speeds between which the gas-exchange and friction correlations hold [m/s]."""
BMEP_PER_PRESSURE = 10.5
"""BMEP that a manifold pressure gives, where none is logged [-] (common practice, no source)."""

ESTIMATED_PRESSURES = (0.35 * BAR, 6.0 * BAR)
"""Manifold pressures that are estimated, least and most [Pa]."""


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
    """Intake and exhaust pressure, absolute, (S, I) [Pa] at brake loads (I,) [Pa].

    Intake as logged; else estimated from load: 1 bar for each 10.5 bar of BMEP, not below 0.35
    bar, nor below ambient in a diesel, which has no throttle. Exhaust as logged or
    given, else from boost by `gas_exchange`.
    """
    shape = (len(state.speed), len(bmep))
    if state.manifold_pressure is None:
        intake = np.clip(estimated_unheld(engine, bmep), *ESTIMATED_PRESSURES)[None, :]
    else:
        intake = state.manifold_pressure[:, None]
    if state.exhaust_pressure is None:
        exhaust = np.asarray(
            gas_exchange.exhaust_pressure_before_turbine(
                piston_speed(engine, state.speed)[:, None],
                intake,
                engine.value("test.ambient_pressure").value,
            )
        )
    else:
        exhaust = state.exhaust_pressure[:, None]
    return np.broadcast_to(intake, shape), np.broadcast_to(exhaust, shape)


def pumping(engine: Engine, state: Operating, bmep: Array) -> Array:
    """Median pumping mean effective pressure (S, I) [Pa] at brake loads (I,) [Pa]."""
    intake, exhaust = pressures(engine, state, bmep)
    moving = piston_speed(engine, state.speed)[:, None]
    return np.asarray(gas_exchange.pmep(intake, exhaust, moving, state.intake_temperature[:, None]))
