import cantera as ct
import numpy as np
import pytest
from independent_cycle import FUEL_NAMES, GAS_NAMES, solution

from torquerisk.physics.cylinder import equilibrium, gas, species
from torquerisk.physics.cylinder.products import frozen_moles

FUELS = {"E0": gas.petrol_ethanol(0.0), "E85": gas.petrol_ethanol(0.85), "diesel": gas.diesel()}
ATOMS = ("C", "H", "O", "N", "Ar")


def _elements(moles):
    return {
        atom: np.array(
            sum(
                n * species.SPECIES[s].atoms.get(atom, 0)
                for n, s in zip(moles, species.NAMES, strict=True)
            )
        )
        for atom in ATOMS
    }


def _cantera(moles, temperature, pressure):
    """Cantera's solution with the same moles."""
    solved = solution()
    at = [species.NAMES.index(name.upper()) for name in GAS_NAMES]
    solved.TPX = temperature, pressure, np.concatenate([moles[at], np.zeros(len(FUEL_NAMES))])
    return solved


@pytest.mark.parametrize("fuel", FUELS, ids=str)
@pytest.mark.parametrize("lam", [0.7, 0.95, 1.0, 1.05, 1.5, 1.7, 3.0])
def test_composition_against_cantera(fuel, lam):
    """Cantera equilibrate: mole fractions above 1e-5 within 0.1 %, 1800-3000 K, 5-200 bar.

    Cantera's file counts the data from 1 atm, NASA TM-4513 from 1 bar, and composition depends
    on pressure over that one only: so Cantera is asked at a pressure larger by that ratio.
    """
    frozen = frozen_moles(FUELS[fuel].atoms, lam)[:, 0]
    at = [species.NAMES.index(name.upper()) for name in GAS_NAMES]
    for temperature in (1800.0, 2400.0, 3000.0):
        for pressure in (5e5, 200e5):
            standard = solution().species("OH").thermo.reference_pressure / 1e5
            solved = _cantera(frozen, temperature, pressure * standard)
            solved.equilibrate("TP", rtol=1e-10)
            own = equilibrium.equilibrium_moles(
                _elements(frozen), np.array(temperature), np.array(pressure)
            )
            own = own[at] / own.sum()
            exact = solved.X[: len(GAS_NAMES)]
            assert np.allclose(own, exact, rtol=1e-3, atol=1e-5 * 1e-3)


@pytest.mark.parametrize("fuel", FUELS, ids=str)
@pytest.mark.parametrize("lam", [0.75, 0.87, 0.97, 1.0, 1.03, 1.17, 1.3, 1.5, 1.7])
def test_fitted_dissociation_against_cantera(fuel, lam):
    """Cantera equilibrate: energy within 12 K times cv, R within 0.15 %, to 2700 K."""
    frozen = frozen_moles(FUELS[fuel].atoms, lam)[:, 0]
    fitted = equilibrium.dissociation_coefficients(FUELS[fuel].atoms, np.array([lam]))[:, 0]
    for temperature in (1800.0, 2100.0, 2400.0, 2700.0):
        for pressure in (10e5, 50e5, 150e5):
            solved = _cantera(frozen, temperature, pressure)
            energy, constant = (
                solved.int_energy_mass,
                ct.gas_constant / solved.mean_molecular_weight,
            )
            capacity = solved.cv_mass
            solved.equilibrate("TP", rtol=1e-10)
            du, dr = equilibrium.dissociation(fitted, temperature, pressure)
            assert abs(solved.int_energy_mass - energy - du) < 12.0 * capacity
            split = ct.gas_constant / solved.mean_molecular_weight - constant
            assert abs(split - dr) < 1.5e-3 * constant


def test_mass_scales_the_energy():
    """Identity: coefficients for two kilograms give twice the energy and gas constant."""
    atoms, lam = FUELS["E0"].atoms, np.array([1.0])
    one, two = (equilibrium.dissociation_coefficients(atoms, lam, m) for m in (1.0, 2.0))
    for a, b in zip(
        equilibrium.dissociation(one, 2500.0, 60e5),
        equilibrium.dissociation(two, 2500.0, 60e5),
        strict=True,
    ):
        assert b == pytest.approx(2 * a, rel=1e-12)


@pytest.mark.parametrize("fuel", FUELS, ids=str)
def test_nothing_dissociates_when_cold(fuel):
    """Limiting case: below 1200 K the correction is under 2 K worth of heat, falling to nothing."""
    lam = np.linspace(0.6, 8.0, 149)
    fitted = equilibrium.dissociation_coefficients(FUELS[fuel].atoms, lam)
    for pressure in (0.5e5, 20e5, 400e5):
        for temperature, allowed in ((300.0, 10.0), (800.0, 300.0), (1200.0, 2000.0)):
            energy, _ = equilibrium.dissociation(fitted, temperature, pressure)
            assert np.all(energy < allowed)
