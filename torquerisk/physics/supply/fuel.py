"""Ceilings set by fuel: what a torque needs against what injectors and pump can deliver.

Blend properties (lower heating value, stoichiometric air-fuel ratio, density) come in as plain
numbers; so does lambda, the excess-air ratio.
"""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_between, require_positive


def brake_efficiency_when_rich(efficiency_at_stoichiometric: Floats, lambda_: Floats) -> Array:
    """Brake work over heat of all fuel supplied [-], rich fuel included.

    efficiency_at_stoichiometric: at lambda 1 [-]; lambda_: 0.6 to 2.
    eta min(1, lambda): only as much fuel burns out as there is oxygen for. Balance of oxygen; real
    engines lie up to 4 % above it near lambda 0.9.
    Source: [HEYWOOD] section 3.5 (combustion efficiency when rich)
    """
    _require_efficiency("efficiency_at_stoichiometric", efficiency_at_stoichiometric)
    require_between("lambda", lambda_, 0.6, 8)
    return np.asarray(efficiency_at_stoichiometric * np.minimum(1.0, np.asarray(lambda_, float)))


def fuel_mass_flow(
    torque: Floats, speed: Floats, lower_heating_value: Floats, brake_efficiency: Floats
) -> Array:
    """Fuel needed for a torque at a speed [kg/s].

    torque: crank [N*m], 0 or more; speed: [rad/s]; lower_heating_value: [J/kg]; brake_efficiency:
    work over heat of all fuel [-]. m = T omega/(eta LHV). Exact (definition of efficiency).
    Source: [HEYWOOD] eq. 2.24
    """
    require("torque", torque, "0 or more N*m", lambda x: (x >= 0) & np.isfinite(x))
    _require_heat(speed, lower_heating_value, brake_efficiency)
    heat = np.asarray(brake_efficiency, float) * lower_heating_value
    return np.asarray(np.asarray(torque, float) * speed / heat)


def injector_flow_at(flow: Floats, stated_drop: Floats, drop: Floats) -> Array:
    """Flow of an injector at another pressure difference, in the unit of `flow`.

    flow: stated, by volume or mass; stated_drop: pressure difference that it is stated at [Pa];
    drop: fuel pressure over the pressure that it sprays into [Pa]. q = q_0 sqrt(dp/dp_0): an
    orifice whose coefficient does not change. Exact for that; injectors follow within a few percent
    between half and twice the stated difference.
    Source: Bernoulli; [PRACTICE] for the spread
    """
    require_positive("stated_drop", stated_drop, "Pa")
    require_positive("drop", drop, "Pa")
    return np.asarray(np.asarray(flow, float) * np.sqrt(np.asarray(drop, float) / stated_drop))


def displaced_flow(volume_per_turn: Floats, speed: Floats, efficiency: Floats) -> Array:
    """Flow by volume of a fuel pump that the engine turns [m^3/s].

    volume_per_turn: what its plungers displace in one turn of the engine V [m^3]; speed: of the
    engine omega [rad/s]; efficiency: share of it that is delivered at working pressure [-].
    q = eta V omega/(2 pi). Exact (definition of volumetric efficiency). So the torque that it feeds
    is the same at every speed.
    """
    require_positive("volume_per_turn", volume_per_turn, "m^3")
    require_positive("speed", speed, "rad/s")
    require("efficiency", efficiency, "above 0 and at most 1", lambda x: (x > 0) & (x <= 1))
    turns = np.asarray(speed, float) / (2 * np.pi)
    return np.asarray(np.asarray(efficiency, float) * volume_per_turn * turns)


def power_per_flow(density: Floats, lower_heating_value: Floats, brake_efficiency: Floats) -> Array:
    """Crank power that one unit of fuel volume feeds [J/m^3]: rho LHV eta.

    density: of the liquid [kg/m^3]; lower_heating_value: [J/kg]; brake_efficiency: work over heat
    of all fuel [-]. Exact. Of one pump it tells how much more power a blend with more heat a litre
    carries.
    """
    require_positive("density", density, "kg/m^3")
    _require_heat(1.0, lower_heating_value, brake_efficiency)
    return np.asarray(np.asarray(density, float) * lower_heating_value * brake_efficiency)


def _require_heat(speed: Floats, lower_heating_value: Floats, brake_efficiency: Floats) -> None:
    require_positive("speed", speed, "rad/s")
    require_between("lower_heating_value", lower_heating_value, 10, 130, "MJ/kg", 1e6)
    _require_efficiency("brake_efficiency", brake_efficiency)


def _require_efficiency(argument: str, value: Floats) -> None:
    require(argument, value, "above 0 and at most 0.6", lambda x: (x > 0) & (x <= 0.6))
