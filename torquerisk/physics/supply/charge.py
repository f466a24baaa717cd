"""Ceilings set by charge: manifold pressure a torque needs, sensor range, wastegate, air flow."""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_positive

SPECIFIC_GAS_CONSTANT_AIR = 287.05
SENSOR_USABLE_SHARE = 0.97
"""Share of a pressure sensor's range below which it still reads true."""
PRESSURE_FOR_TORQUE_RELATIVE_SD = 0.04
"""Spread of torque at another manifold pressure by proportion: volumetric efficiency, pumping and
phasing change too; for a pressure within 30 % of the reference."""


def air_density(pressure: Floats, temperature: Floats) -> Array:
    """Density of dry air [kg/m^3]: p/(R T). Exact for an ideal gas (0.1 % at engine inlet states).

    pressure: [Pa]; temperature: [K].
    Source: ideal-gas law
    """
    require_positive("pressure", pressure, "Pa")
    require_positive("temperature", temperature, "K")
    return np.asarray(
        np.asarray(pressure, float) / (SPECIFIC_GAS_CONSTANT_AIR * np.asarray(temperature, float))
    )


def air_mass_flow(
    manifold_density: Floats, displacement: Floats, speed: Floats, volumetric_efficiency: Floats
) -> Array:
    """Air that a four-stroke engine takes in [kg/s].

    manifold_density: [kg/m^3]; displacement: whole engine V_d [m^3]; speed: [rad/s];
    volumetric_efficiency: on manifold density [-], 0.2 to 1.5. eta_v rho V_d omega/(4 pi). Exact
    (definition of volumetric efficiency).
    Source: [HEYWOOD] eq. 2.27
    """
    require_positive("manifold_density", manifold_density, "kg/m^3")
    require_positive("displacement", displacement, "m^3")
    require_positive("speed", speed, "rad/s")
    require(
        "volumetric_efficiency",
        volumetric_efficiency,
        "between 0.2 and 1.5",
        lambda x: (x >= 0.2) & (x <= 1.5),
    )
    flow = np.asarray(manifold_density, float) * displacement * np.asarray(speed, float)
    return np.asarray(volumetric_efficiency * flow / (4.0 * np.pi))


def torque_at_manifold_pressure(
    manifold_pressure: Floats,
    reference_pressure: Floats,
    reference_torque: Floats,
    friction_torque: Floats,
    temperature_ratio: Floats = 1.0,
) -> Array:
    """Crank torque [N*m] at another manifold pressure, from a run at the same speed and phasing.

    manifold_pressure, reference_pressure: absolute [Pa]; reference_torque: crank torque in the run
    [N*m]; friction_torque: torque that friction and pumping cost [N*m], positive;
    temperature_ratio: charge temperature over that of the run [-].
    T = (T_ref + T_f)(p/p_ref)/(T/T_ref) - T_f: gross work goes with trapped mass. Proportion, not a
    fit; spread PRESSURE_FOR_TORQUE_RELATIVE_SD.
    Source: [HEYWOOD] eq. 2.38 (torque from volumetric efficiency and inlet density)
    """
    gross = _gross(reference_pressure, reference_torque, friction_torque, temperature_ratio)
    require_positive("manifold_pressure", manifold_pressure, "Pa")
    ratio = np.asarray(manifold_pressure, float) / reference_pressure
    return np.asarray(gross * ratio / temperature_ratio - friction_torque)


def manifold_pressure_for_torque(
    torque: Floats,
    reference_pressure: Floats,
    reference_torque: Floats,
    friction_torque: Floats,
    temperature_ratio: Floats = 1.0,
) -> Array:
    """Manifold pressure [Pa] that a torque needs; inverse of `torque_at_manifold_pressure`.

    torque: wanted crank torque [N*m]; reference_pressure: [Pa] and reference_torque: [N*m] of the
    run; friction_torque: [N*m], positive; temperature_ratio: charge temperature over the run's [-].
    p = p_ref (T + T_f)/(T_ref + T_f) (T/T_ref).
    Source: [HEYWOOD] eq. 2.38
    """
    gross = _gross(reference_pressure, reference_torque, friction_torque, temperature_ratio)
    wanted = np.asarray(torque, float) + friction_torque
    require_positive("torque + friction_torque", wanted, "N*m")
    return np.asarray(reference_pressure * wanted / gross * temperature_ratio)


def sensor_ceiling_torque(
    sensor_full_scale: Floats,
    reference_pressure: Floats,
    reference_torque: Floats,
    friction_torque: Floats,
    usable_share: Floats = SENSOR_USABLE_SHARE,
) -> Array:
    """Torque [N*m] at which the manifold-pressure sensor reaches the end of its range.

    sensor_full_scale: highest pressure it can report, absolute [Pa]; reference_pressure: [Pa] and
    reference_torque: [N*m] of the run; friction_torque: [N*m], positive; usable_share: share of
    full scale, 0.5 to 1. T of `torque_at_manifold_pressure` at that share. Above it
    the controller is blind to boost.
    Source: [PRACTICE]; [HEYWOOD] eq. 2.38
    """
    require("usable_share", usable_share, "between 0.5 and 1", lambda x: (x >= 0.5) & (x <= 1))
    highest = np.asarray(sensor_full_scale, float) * usable_share
    return torque_at_manifold_pressure(
        highest, reference_pressure, reference_torque, friction_torque
    )


def wastegate_crack_boost(
    spring_force: Floats,
    diaphragm_area: Floats,
    valve_area: Floats,
    exhaust_pressure_difference: Floats,
    lever_ratio: Floats = 1.0,
) -> Array:
    """Boost gauge pressure [Pa] at which a wastegate starts to open without help from a solenoid.

    spring_force: preload k x0 at the rod [N]; diaphragm_area: A_d [m^2]; valve_area: A_v [m^2];
    exhaust_pressure_difference: across the closed valve p_3 - p_4, positive when it pushes the
    valve open [Pa] (negative for a valve that exhaust pressure shuts); lever_ratio: valve arm over
    rod arm [-]. p = (F - (p_3 - p_4) A_v lever)/A_d. Exact balance of moments without friction
    (which adds some 5 kPa either way). Lowest boost that can be controlled; more than it holds
    needs the solenoid. A result of 0 or less means exhaust pressure opens it by itself.
    Source: balance of forces; [PRACTICE]
    """
    require_positive("spring_force", spring_force, "N")
    require_positive("diaphragm_area", diaphragm_area, "m^2")
    require_positive("valve_area", valve_area, "m^2")
    require_positive("lever_ratio", lever_ratio, "")
    push = np.asarray(exhaust_pressure_difference, float) * valve_area * lever_ratio
    return np.asarray((np.asarray(spring_force, float) - push) / diaphragm_area)


def evaporative_cooling(
    fuel_air_ratio: Floats,
    heat_of_vaporization: Floats,
    evaporated_share: Floats,
    heat_capacity: Floats = 1005.0,
) -> Array:
    """Fall in charge temperature [K] from fuel that evaporates in the air.

    fuel_air_ratio: fuel over air by mass [-]; heat_of_vaporization: h_fg [J/kg]; evaporated_share:
    share of fuel that evaporates and takes its heat from the air, not from walls, 0 to 1;
    heat_capacity: of air at constant pressure [J/(kg*K)].
    dT = share F h_fg/c_p. Energy balance; vapour's own heat capacity left out (under 8 %).
    Source: [HEYWOOD] section 6.2
    """
    require("fuel_air_ratio", fuel_air_ratio, "between 0 and 0.3", lambda x: (x >= 0) & (x <= 0.3))
    require_positive("heat_of_vaporization", heat_of_vaporization, "J/kg")
    require_positive("heat_capacity", heat_capacity, "J/(kg*K)")
    require("evaporated_share", evaporated_share, "between 0 and 1", lambda x: (x >= 0) & (x <= 1))
    heat = np.asarray(fuel_air_ratio, float) * heat_of_vaporization * evaporated_share
    return np.asarray(heat / heat_capacity)


def _gross(
    reference_pressure: Floats,
    reference_torque: Floats,
    friction_torque: Floats,
    temperature_ratio: Floats,
) -> Array:
    require_positive("reference_pressure", reference_pressure, "Pa")
    require("friction_torque", friction_torque, "0 or more N*m", lambda x: x >= 0)
    require(
        "temperature_ratio",
        temperature_ratio,
        "between 0.6 and 1.6",
        lambda x: (x >= 0.6) & (x <= 1.6),
    )
    gross = np.asarray(reference_torque, float) + friction_torque
    require_positive("reference_torque + friction_torque", gross, "N*m")
    return gross
