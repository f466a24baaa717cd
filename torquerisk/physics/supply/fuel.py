"""Ceilings set by fuel: what a torque needs against what injectors and pump can deliver.

Blend properties (lower heating value, stoichiometric air-fuel ratio, density) come in as plain
numbers; so does lambda, the excess-air ratio.
"""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_positive

BRAKE_EFFICIENCY_SPARK = 0.33
"""At full load and lambda 1: brake work over fuel heat. Rich running multiplies it by lambda."""
BRAKE_EFFICIENCY_SPARK_SD = 0.025
BRAKE_EFFICIENCY_COMPRESSION = 0.39
BRAKE_EFFICIENCY_COMPRESSION_SD = 0.025
DUTY_LIMIT_PORT = 0.90
"""Share of the cycle that a port injector may stay open and still meter."""


def brake_efficiency_when_rich(efficiency_at_stoichiometric: Floats, lambda_: Floats) -> Array:
    """Brake work over heat of all fuel supplied [-], rich fuel included.

    efficiency_at_stoichiometric: at lambda 1 [-]; lambda_: 0.6 to 2.
    eta min(1, lambda): only as much fuel burns out as there is oxygen for. Balance of oxygen; real
    engines lie up to 4 % above it near lambda 0.9.
    Source: [HEYWOOD] section 3.5 (combustion efficiency when rich)
    """
    _require_efficiency("efficiency_at_stoichiometric", efficiency_at_stoichiometric)
    _require_lambda(lambda_)
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


def capacity_torque(
    fuel_flow_limit: Floats, speed: Floats, lower_heating_value: Floats, brake_efficiency: Floats
) -> Array:
    """Torque at which the fuel supply is used up [N*m]; inverse of `fuel_mass_flow`.

    fuel_flow_limit: lowest of injector and pump flow [kg/s]; speed: [rad/s]; lower_heating_value:
    [J/kg]; brake_efficiency: work over heat of all fuel [-].
    T = m eta LHV/omega. Exact (definition of efficiency).
    Source: [HEYWOOD] eq. 2.24
    """
    require("fuel_flow_limit", fuel_flow_limit, "0 or more kg/s", lambda x: x >= 0)
    _require_heat(speed, lower_heating_value, brake_efficiency)
    heat = np.asarray(brake_efficiency, float) * lower_heating_value
    return np.asarray(np.asarray(fuel_flow_limit, float) * heat / speed)


def injector_mass_flow(
    static_flow: Floats,
    injectors: Floats,
    duty: Floats,
    pressure_drop: Floats,
    rated_pressure_drop: Floats,
    fuel_density: Floats,
    rated_fluid_density: Floats,
) -> Array:
    """Fuel that a set of injectors passes [kg/s].

    static_flow: one injector held open, mass flow as rated [kg/s]; injectors: how many; duty: share
    of time open [-], 0 to 1 (limit DUTY_LIMIT_PORT for port injection; for direct injection the
    share of the cycle in which spray is allowed); pressure_drop and rated_pressure_drop: across
    the injector, rail minus manifold or cylinder [Pa]; fuel_density and rated_fluid_density:
    [kg/m^3]. m = n m_s duty sqrt(dp rho/(dp_s rho_s)). Exact for an orifice of constant discharge
    coefficient (Bernoulli); good to 3 %.
    Source: Bernoulli's equation; [PRACTICE] for the duty limit
    """
    require_positive("static_flow", static_flow, "kg/s")
    require_positive("injectors", injectors, "")
    require("duty", duty, "between 0 and 1", lambda x: (x >= 0) & (x <= 1))
    require_positive("pressure_drop", pressure_drop, "Pa")
    require_positive("rated_pressure_drop", rated_pressure_drop, "Pa")
    require_positive("fuel_density", fuel_density, "kg/m^3")
    require_positive("rated_fluid_density", rated_fluid_density, "kg/m^3")
    head = np.asarray(pressure_drop, float) / rated_pressure_drop
    density = np.asarray(fuel_density, float) / rated_fluid_density
    return np.asarray(np.asarray(static_flow, float) * injectors * duty * np.sqrt(head * density))


def direct_injection_duty(window: Floats) -> Array:
    """Largest share of a four-stroke cycle in which a direct injector may spray [-].

    window: crank angle from first to last allowed spray [rad], 0 to 2 pi. window/(4 pi). Exact.
    Source: definition of the four-stroke cycle
    """
    require("window", window, "between 0 and 6.28 rad", lambda x: (x >= 0) & (x <= 2 * np.pi))
    return np.asarray(np.asarray(window, float) / (4.0 * np.pi))


def pump_mass_flow(volume_flow: Floats, fuel_density: Floats) -> Array:
    """Fuel that a pump delivers [kg/s]: volume flow at the pressure needed x density. Exact.

    volume_flow: at the working pressure [m^3/s]; fuel_density: [kg/m^3].
    Source: conservation of mass
    """
    require("volume_flow", volume_flow, "0 or more m^3/s", lambda x: x >= 0)
    require_positive("fuel_density", fuel_density, "kg/m^3")
    return np.asarray(np.asarray(volume_flow, float) * fuel_density)


def fuel_mass_flow_for_air(
    air_mass_flow: Floats, lambda_: Floats, stoichiometric_ratio: Floats
) -> Array:
    """Fuel that goes with an air flow [kg/s]: m_air/(lambda AFR_s). Exact (definition of lambda).

    air_mass_flow: [kg/s]; lambda_: excess-air ratio; stoichiometric_ratio: AFR_s by mass.
    Source: [HEYWOOD] section 3.4
    """
    require("air_mass_flow", air_mass_flow, "0 or more kg/s", lambda x: x >= 0)
    _require_lambda(lambda_)
    require_positive("stoichiometric_ratio", stoichiometric_ratio, "")
    return np.asarray(
        np.asarray(air_mass_flow, float) / (lambda_ * np.asarray(stoichiometric_ratio))
    )


def brake_specific_consumption(brake_efficiency: Floats, lower_heating_value: Floats) -> Array:
    """Brake specific fuel consumption [kg/J]: 1/(eta LHV). Exact. 1 g/(kW h) is 2.778e-10 kg/J.

    brake_efficiency: [-]; lower_heating_value: [J/kg].
    Source: [HEYWOOD] eq. 2.24
    """
    _require_efficiency("brake_efficiency", brake_efficiency)
    require_positive("lower_heating_value", lower_heating_value, "J/kg")
    return np.asarray(1.0 / (np.asarray(brake_efficiency, float) * lower_heating_value))


def _require_heat(speed: Floats, lower_heating_value: Floats, brake_efficiency: Floats) -> None:
    require_positive("speed", speed, "rad/s")
    require(
        "lower_heating_value",
        lower_heating_value,
        "between 1e7 and 1.3e8 J/kg",
        lambda x: (x >= 1e7) & (x <= 1.3e8),
    )
    _require_efficiency("brake_efficiency", brake_efficiency)


def _require_efficiency(argument: str, value: Floats) -> None:
    require(argument, value, "above 0 and at most 0.6", lambda x: (x > 0) & (x <= 0.6))


def _require_lambda(value: Floats) -> None:
    require("lambda", value, "between 0.6 and 8", lambda x: (x >= 0.6) & (x <= 8))
