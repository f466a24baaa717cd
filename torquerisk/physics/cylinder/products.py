"""Air and the frozen products of burning, from element balances."""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require
from torquerisk.physics.cylinder.species import (
    GAS_CONSTANT,
    MOLAR_MASSES,
    NAMES,
    molar_enthalpy,
    molar_entropy,
)

AIR: dict[str, float] = {"O2": 0.2095, "N2": 0.7809, "AR": 0.0096}
"""Dry air by mole. Source: [HEYWOOD] section 3.2 (argon kept apart from nitrogen)."""
SHIFT_TEMPERATURE = 1740.0
"""Temperature [K] at which the water-gas shift of rich products is taken as frozen.

It gives K near the 3.5 that matches measured exhaust. Source: [HEYWOOD] section 4.9.2.
"""
LAMBDA_RANGE = (0.6, 20.0)
"""Air-fuel equivalence ratios for which the products are defined [-]; richer makes soot."""


def frozen_moles(atoms: tuple[float, float, float], lambda_: Floats) -> Array:
    """Moles of each species per kilogram of burned gas [mol/kg], (species, n), frozen.

    atoms: carbon, hydrogen and oxygen in a molecule of fuel [-].
    lambda_: air-fuel equivalence ratio [-], (n,).
    Lean: CO2, H2O, O2 and air's inerts. Rich: CO2, CO, H2O, H2 by element balance and the
    water-gas shift frozen at 1740 K. Source: [HEYWOOD] section 4.9.2, table 4.3.
    """
    low, high = LAMBDA_RANGE
    require("lambda", lambda_, f"{low} to {high}", lambda x: (x >= low) & (x <= high))
    lam = np.atleast_1d(np.asarray(lambda_, dtype=float))
    carbon, hydrogen, bound = atoms
    oxygen = carbon + hydrogen / 4 - bound / 2
    lack = 2 * oxygen * np.maximum(1 - lam, 0)
    monoxide = _shifted_monoxide(carbon, hydrogen, lack)
    moles = np.zeros((len(NAMES), lam.size))
    at = {name: index for index, name in enumerate(NAMES)}
    moles[at["CO"]] = monoxide
    moles[at["CO2"]] = carbon - monoxide
    moles[at["H2"]] = lack - monoxide
    moles[at["H2O"]] = hydrogen / 2 - lack + monoxide
    moles[at["O2"]] = oxygen * np.maximum(lam - 1, 0)
    for inert in ("N2", "AR"):
        moles[at[inert]] = lam * oxygen * AIR[inert] / AIR["O2"]
    return moles / (MOLAR_MASSES @ moles)


def shift_constant(temperature: float = SHIFT_TEMPERATURE) -> float:
    """Equilibrium constant of CO2 + H2 = CO + H2O [-]: (CO H2O)/(CO2 H2). Exact from the data."""
    gibbs = sum(
        sign * (molar_enthalpy(name, temperature) - temperature * molar_entropy(name, temperature))
        for name, sign in (("CO", 1), ("H2O", 1), ("CO2", -1), ("H2", -1))
    )
    return float(np.exp(-gibbs / (GAS_CONSTANT * temperature)))


def _shifted_monoxide(carbon: float, hydrogen: float, lack: Array) -> Array:
    """Moles of CO per mole of fuel when `lack` moles of oxygen atoms are missing."""
    k = shift_constant()
    a = 1 - k
    b = hydrogen / 2 - lack + k * (carbon + lack)
    c = -k * carbon * lack
    return -2 * c / (b + np.sqrt(b * b - 4 * a * c))
