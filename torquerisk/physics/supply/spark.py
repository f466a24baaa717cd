"""Ceiling set by spark: breakdown demand relative to a run that is known not to misfire.

Absolute breakdown voltage in an engine depends on electrode shape, heat and wear far more than any
formula knows, so only the relative increase is used.
"""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_positive

DEMAND_RELATIVE_SD = 0.10
"""Spread of a demand ratio: electrode wear, mixture and temperature at the gap."""


def charge_density_at_spark(trapped_mass: Floats, cylinder_volume: Floats) -> Array:
    """Gas density in the cylinder when the spark jumps [kg/m^3]: mass over volume. Exact.

    trapped_mass: all gas of one cylinder [kg]; cylinder_volume: at the spark angle [m^3].
    Source: definition of density
    """
    require_positive("trapped_mass", trapped_mass, "kg")
    require_positive("cylinder_volume", cylinder_volume, "m^3")
    return np.asarray(np.asarray(trapped_mass, float) / cylinder_volume)


def demand_ratio(
    density: Floats, reference_density: Floats, gap: Floats = 1.0, reference_gap: Floats = 1.0
) -> Array:
    """Breakdown voltage needed over that of the known-good run [-].

    density, reference_density: gas density at the spark [kg/m^3]; gap, reference_gap: electrode gap
    [m] (any unit, the same for both). V/V_ref = rho d/(rho_ref d_ref): Paschen's law far right of
    its minimum, where voltage goes nearly with gas density times gap; over-reads an increase
    slightly, which is the cautious side. Spread DEMAND_RELATIVE_SD.
    Source: [PASCHEN]
    """
    require_positive("density", density, "kg/m^3")
    require_positive("reference_density", reference_density, "kg/m^3")
    require_positive("gap", gap, "m")
    require_positive("reference_gap", reference_gap, "m")
    by_density = np.asarray(density, float) / reference_density
    return np.asarray(by_density * np.asarray(gap, float) / reference_gap)


def capacity_torque(
    reference_torque: Floats,
    friction_torque: Floats,
    coil_margin: Floats,
    density_ratio_at_equal_torque: Floats = 1.0,
    gap_ratio: Floats = 1.0,
) -> Array:
    """Torque [N*m] at which the spark demand reaches what the ignition is known to manage.

    reference_torque: crank torque of the known-good run at this speed [N*m]; friction_torque:
    friction and pumping torque [N*m]; coil_margin: voltage available over voltage needed in that
    run [-], 1 if nothing more is known; density_ratio_at_equal_torque: density at the spark now
    over then at equal torque [-] (a later spark or richer charge changes it); gap_ratio: gap now
    over then [-].
    T = (T_ref + T_f) margin/(density ratio x gap ratio) - T_f: at fixed phasing density goes with
    gross work.
    Source: [PASCHEN]; proportion
    """
    require_positive("coil_margin", coil_margin, "")
    require_positive("density_ratio_at_equal_torque", density_ratio_at_equal_torque, "")
    require_positive("gap_ratio", gap_ratio, "")
    require("friction_torque", friction_torque, "0 or more N*m", lambda x: x >= 0)
    gross = np.asarray(reference_torque, float) + friction_torque
    require_positive("reference_torque + friction_torque", gross, "N*m")
    allowed = np.asarray(coil_margin, float) / (
        np.asarray(density_ratio_at_equal_torque, float) * gap_ratio
    )
    return np.asarray(gross * allowed - friction_torque)


def breakdown_voltage_paschen(pressure: Floats, temperature: Floats, gap: Floats) -> Array:
    """Breakdown voltage between cold, flat electrodes in still air [V]; for comparison only.

    pressure: [Pa]; temperature: [K]; gap: d [m].
    V = B q/(ln(A q) - ln ln(1 + 1/g)), q = p d (293 K/T), A = 11.25 1/(Pa*m), B = 273.8 V/(Pa*m),
    g = 0.01. Range q above 2.5 Pa*m (right of the minimum). Sharp hot electrodes need less, so an
    engine's true demand is lower; use `demand_ratio`.
    Source: [PASCHEN]
    """
    require_positive("temperature", temperature, "K")
    reduced = np.asarray(pressure, float) * np.asarray(gap, float) * 293.0 / temperature
    require("pressure x gap at 293 K", reduced, "above 2.5 Pa*m", lambda x: x > 2.5)
    return np.asarray(273.8 * reduced / (np.log(11.25 * reduced) - np.log(np.log(101.0))))
