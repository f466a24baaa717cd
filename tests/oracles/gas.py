"""Gas states that only tests ask for."""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_positive
from torquerisk.physics.cylinder.gas import WorkingGas
from torquerisk.physics.cylinder.species import TERMS, energy_basis, energy_slope_basis


def constant_gamma_gas(
    heat_capacity_ratio: float, gas_constant: float, heat_release: float
) -> WorkingGas:
    """Textbook gas: constant gamma [-] and R [J/(kg K)], `heat_release` per kg trapped [J/kg].

    The air-standard cycles of the textbooks run through the same march with it.
    """
    require("heat_capacity_ratio", heat_capacity_ratio, "above 1", lambda x: x > 1)
    require_positive("gas_constant", gas_constant, "J/(kg K)")
    energy = np.zeros((TERMS, 1))
    energy[1] = gas_constant / (heat_capacity_ratio - 1)
    burned = energy.copy()
    burned[0] = -heat_release
    constant = np.array([gas_constant])
    return WorkingGas(
        unburned_energy=energy,
        burned_energy=burned,
        unburned_gas_constant=constant,
        burned_gas_constant=constant,
        fuel_mass_fraction=np.ones(1),
        lower_heating_value=heat_release,
        temperature_range=(0.0, np.inf),
    )


def internal_energy(coefficients: Array, temperature: Floats) -> Array:
    """Internal energy with formation from fitted coefficients (7, ...) [their unit]."""
    return np.sum(coefficients * energy_basis(temperature), axis=0)


def heat_capacity_ratio(coefficients: Array, gas_constant: Floats, temperature: Floats) -> Array:
    """Return gamma = 1 + R/cv [-] of a gas of fixed composition.

    coefficients: energy (7, ...); gas_constant: R in the same mass basis [J/(kg K)].
    """
    return 1 + gas_constant / np.sum(coefficients * energy_slope_basis(temperature), axis=0)


def woschni_velocity(
    piston_speed: Floats,
    displaced: Floats,
    pressure: Floats,
    motored: Floats,
    squeeze: Floats = 0.0,
) -> Floats:
    """Characteristic gas velocity w [m/s], the greater of two.

    w = 2.28 S_p + 3.24e-3 V_d T_r/(p_r V_r) (p - p_m), but at least 2.28 S_p (1 + squeeze).
    piston_speed: mean S_p [m/s]. displaced: V_d T_r/(p_r V_r) at intake closing [K/Pa].
    pressure, motored: p and p_m [Pa]. squeeze: by `squeeze_factor` [-].
    Source: [WOSCHNI], [HEYWOOD] eq. 12.19; the least [HUBER].
    """
    burning = 3.24e-3 * np.asarray(displaced) * (np.asarray(pressure) - motored)
    still = 2.28 * np.asarray(piston_speed)
    return np.asarray(still + np.maximum(burning, still * squeeze))
