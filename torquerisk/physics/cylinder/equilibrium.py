"""Dissociation of burned gas: chemical equilibrium, and a cheap fit of what it does to the energy.

At the temperatures of early, fast, near-stoichiometric burning some CO2 and H2O is split. Frozen
products would there read peak pressure at equal work up to 4.6 % high (lambda 1, CA50 2, 10-90 %
in 12 degrees) and trapped pressure up to 2 % low; mostly it is under 0.5 %. So the march adds a
correction to the frozen energy and gas constant of the products. It acts at the mean temperature
of the charge, as the single zone has no other.
"""

from functools import lru_cache

import numpy as np

from torquerisk.physics.arrays import Array, Floats
from torquerisk.physics.cylinder.products import frozen_moles
from torquerisk.physics.cylinder.species import (
    GAS_CONSTANT,
    NAMES,
    PIVOT,
    SPECIES,
    molar_enthalpy,
    molar_entropy,
)

_BAR = 1e5
REFERENCE_PRESSURE = 50e5
"""Pressure that the fit counts from [Pa]."""
_FITTED_TEMPERATURES = np.arange(1700.0, 2951.0, 50.0)
_COOLER = ((0.6, 0.9, 1.2, 2.5), (500.0, 0.0, 0.0, 700.0))
_FITTED_PRESSURES = np.geomspace(3e5, 400e5, 7)
_LAMBDAS = np.array(
    [0.6, 0.65, 0.7, 0.75, 0.8, 0.84, 0.88, 0.91, 0.94, 0.96, 0.975, 0.985, 0.9925, 1.0, 1.0075,
     1.015, 1.025, 1.04, 1.06, 1.09, 1.13, 1.18, 1.25, 1.35, 1.5, 1.7, 2.0, 2.5, 3.5, 6.0, 20.0]
)  # fmt: skip
_AT = {name: index for index, name in enumerate(NAMES)}


def equilibrium_moles(elements: dict[str, Array], temperature: Array, pressure: Array) -> Array:
    """Moles of every species at chemical equilibrium (species, ...), in the elements' measure.

    elements: moles of atoms C, H, O, N and Ar, arrays that broadcast with the state.
    temperature: T [K]; pressure: p [Pa]. Ideal gas of CO2, H2O, CO, H2, O2, N2, Ar, OH, NO, O, H;
    exact for these species: nested bisection on the partial pressure of oxygen.
    Source: [HEYWOOD] section 3.7; constants from [NASA_TM_4513].
    """
    k = _constants(temperature)
    bar = pressure / _BAR
    shape = np.broadcast_shapes(np.shape(bar), np.shape(temperature), np.shape(elements["O"]))
    low, high = np.full(shape, -45.0), np.full(shape, 0.5 * np.log(np.max(bar)))
    scale = np.broadcast_to(bar / (elements["N"] / 2 + elements["C"] + elements["H"] / 2), shape)
    for _ in range(60):
        middle = 0.5 * (low + high)
        partial, moles_to_bar = _partial_pressures(elements, k, np.exp(middle), bar, scale)
        oxygen = sum(SPECIES[s].atoms.get("O", 0) * v for s, v in partial.items())
        too_much = oxygen > elements["O"] * moles_to_bar
        low, high = np.where(too_much, low, middle), np.where(too_much, middle, high)
    moles = np.zeros((len(NAMES), *shape))
    for name, value in partial.items():
        moles[_AT[name]] = value / moles_to_bar
    return moles


def dissociation_coefficients(
    atoms: tuple[float, float, float], lambda_: Array, mass: Floats = 1.0
) -> Array:
    """Coefficients (8, n) of `dissociation` for products of a fuel at each lambda.

    atoms: carbon, hydrogen and oxygen in a molecule of fuel [-]. lambda_: air-fuel equivalence
    ratio [-], (n,). mass: of burned gas that the energy refers to [kg].
    The fit is made once per fuel at 31 values of lambda and interpolated between them.
    """
    table = _fitted_table(tuple(round(value, 9) for value in atoms))
    result = np.stack([np.interp(lambda_, _LAMBDAS, row) for row in table])
    result[0] += np.log(mass)
    return result


def dissociation(coefficients: Array, temperature: Floats, pressure: Floats) -> tuple[Array, Array]:
    """Energy [J/kg] and gas constant [J/(kg K)] that dissociation adds to frozen products.

    coefficients: (8, ...) from `dissociation_coefficients`. With y = 1000/(T + 1000) and
    P = ln(p/50 bar): ln du = c0 + c1 y + c2 y2 + (c3 + c4 y) P and dR = du (c5 + c6 y + c7 P).
    Fitted to equilibrium over 1700-2950 K and 3-400 bar, weighted by size; very rich and lean gas
    never gets so hot and is fitted up to 700 K lower.
    """
    c = coefficients
    y = PIVOT / (np.asarray(temperature) + PIVOT)
    rise = np.log(np.asarray(pressure) / REFERENCE_PRESSURE)
    energy = np.exp(c[0] + y * (c[1] + y * c[2]) + (c[3] + c[4] * y) * rise)
    return energy, energy * (c[5] + c[6] * y + c[7] * rise)


def _constants(temperature: Array) -> dict[str, Array]:
    """Equilibrium constants of formation from H2, O2, N2 and CO by partial pressures in bar."""
    t = np.asarray(temperature, dtype=float)
    gibbs = {
        name: (molar_enthalpy(name, t) - t * molar_entropy(name, t)) / (GAS_CONSTANT * t)
        for name in ("CO2", "CO", "H2O", "H2", "O2", "N2", "OH", "O", "H", "NO")
    }
    half = {name: 0.5 * gibbs[name] for name in ("O2", "H2", "N2")}
    return {
        "CO2": np.exp(gibbs["CO"] + half["O2"] - gibbs["CO2"]),
        "H2O": np.exp(gibbs["H2"] + half["O2"] - gibbs["H2O"]),
        "OH": np.exp(half["H2"] + half["O2"] - gibbs["OH"]),
        "O": np.exp(half["O2"] - gibbs["O"]),
        "H": np.exp(half["H2"] - gibbs["H"]),
        "NO": np.exp(half["N2"] + half["O2"] - gibbs["NO"]),
    }


def _partial_pressures(
    elements: dict[str, Array], k: dict[str, Array], root: Array, bar: Array, scale: Array
) -> tuple[dict[str, Array], Array]:
    """Partial pressures [bar] for a given square root of oxygen's, and bar per mole.

    Carbon, hydrogen and nitrogen balances are met exactly; the scale is iterated to the total.
    """
    partial: dict[str, Array] = {}
    for _ in range(8):
        monoxide = elements["C"] * scale / (1 + k["CO2"] * root)
        hydrogen = _quadratic(
            2 * (1 + k["H2O"] * root), k["H"] + k["OH"] * root, elements["H"] * scale
        )
        nitrogen = _quadratic(2.0, k["NO"] * root, elements["N"] * scale)
        partial = {
            "CO": monoxide,
            "CO2": monoxide * k["CO2"] * root,
            "H2": hydrogen**2,
            "H2O": hydrogen**2 * k["H2O"] * root,
            "OH": k["OH"] * hydrogen * root,
            "H": k["H"] * hydrogen,
            "O2": root**2,
            "O": k["O"] * root,
            "NO": k["NO"] * nitrogen * root,
            "N2": nitrogen**2,
            "AR": elements["Ar"] * scale,
        }
        free = partial["O2"] + partial["O"]
        bound = sum(partial.values()) - free
        scale = scale * np.clip((bar - free) / bound, 0.01, 3.0)
    return partial, scale


def _quadratic(a: Floats, b: Array, c: Array) -> Array:
    """Positive root of a x2 + b x = c, without cancellation."""
    return 2 * c / (b + np.sqrt(b * b + 4 * a * c))


@lru_cache(maxsize=32)
def _fitted_table(atoms: tuple[float, float, float]) -> Array:
    """Fit of `dissociation` at every lambda of the table, (8, lambda)."""
    cooler = np.interp(_LAMBDAS, *_COOLER)[:, None]
    below, p = np.meshgrid(_FITTED_TEMPERATURES, _FITTED_PRESSURES, indexing="ij")
    t, p = below.ravel() - cooler, p.ravel() * np.ones_like(cooler)
    frozen = frozen_moles(atoms, _LAMBDAS)
    elements = {
        atom: np.array([SPECIES[s].atoms.get(atom, 0) for s in NAMES]) @ frozen
        for atom in ("C", "H", "O", "N", "Ar")
    }
    split = equilibrium_moles({atom: count[:, None] for atom, count in elements.items()}, t, p)
    change = split - frozen[:, :, None]
    energies = np.stack([molar_enthalpy(name, t) - GAS_CONSTANT * t for name in NAMES])
    energy = np.einsum("slk,slk->lk", change, energies)
    constant = GAS_CONSTANT * change.sum(axis=0)
    y, rise = PIVOT / (t + PIVOT), np.log(p / REFERENCE_PRESSURE)
    table = np.empty((8, _LAMBDAS.size))
    for index, (du, dr) in enumerate(zip(energy, constant, strict=True)):
        positive = np.maximum(du, 1.0)
        weight = positive**0.7
        table[:5, index] = _falling_fit(y[index], rise[index], np.log(positive), weight)
        basis = np.stack([np.ones_like(du), y[index], rise[index]], axis=1) * positive[:, None]
        table[5:, index] = np.linalg.lstsq(basis, dr, rcond=None)[0]
    table.flags.writeable = False
    return table


def _falling_fit(y: Array, rise: Array, target: Array, weight: Array) -> Array:
    """Coefficients c0..c4 of the logarithm; without curvature where that would rise when cold."""
    basis = np.stack([np.ones_like(y), y, y * y, rise, y * rise], axis=1) * weight[:, None]
    curved = np.asarray(np.linalg.lstsq(basis, target * weight, rcond=None)[0], dtype=float)
    if curved[2] <= 0:
        return curved
    kept = [0, 1, 3, 4]
    straight = np.zeros(5)
    straight[kept] = np.linalg.lstsq(basis[:, kept], target * weight, rcond=None)[0]
    return straight
