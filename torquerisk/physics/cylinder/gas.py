"""Fuels, and the composition-dependent gas that they make with air before and after burning.

Energies are absolute: they contain the energy of formation, so that burning at constant energy and
volume needs no heat-release term. They are linear in composition, so one matrix product gives the
coefficients of every lane. Air, residual and products are ideal gases.
"""

from dataclasses import dataclass, field

import numpy as np

from torquerisk.errors import InputError
from torquerisk.physics.arrays import Array, Floats, require, require_between
from torquerisk.physics.cylinder.equilibrium import dissociation_coefficients
from torquerisk.physics.cylinder.products import AIR, frozen_moles
from torquerisk.physics.cylinder.species import (
    ATOMIC_MASS,
    GAS_CONSTANT,
    MOLAR_ENERGY,
    MOLAR_MASSES,
    NAMES,
    SPECIES,
    STANDARD_TEMPERATURE,
    USED_RANGE,
    molar_enthalpy,
)


@dataclass(frozen=True, kw_only=True, eq=False)
class Fuel:
    """One liquid fuel. Masses and moles refer to the fuel itself.

    carbon, hydrogen, oxygen: atoms per (mean) molecule [-].
    vapour: molar share of each gas species that stands for its vapour; empty if the fuel only
        ever enters as it burns.
    lower_heating_value: of the liquid at 298.15 K, per kilogram [J/kg].
    latent_heat: of evaporation at 298.15 K [J/kg]. density: of the liquid at 15 degC [kg/m3].
    """

    name: str
    carbon: float
    hydrogen: float
    oxygen: float
    lower_heating_value: float
    latent_heat: float
    density: float
    vapour: dict[str, float] = field(default_factory=dict)

    @property
    def atoms(self) -> tuple[float, float, float]:
        """Carbon, hydrogen and oxygen per molecule [-]."""
        return self.carbon, self.hydrogen, self.oxygen

    @property
    def molar_mass(self) -> float:
        """Molar mass [kg/mol]."""
        return (
            self.carbon * ATOMIC_MASS["C"]
            + self.hydrogen * ATOMIC_MASS["H"]
            + self.oxygen * ATOMIC_MASS["O"]
        )

    @property
    def stoichiometric_oxygen(self) -> float:
        """Moles of oxygen that burn one mole of fuel: C + H/4 - O/2."""
        return self.carbon + self.hydrogen / 4 - self.oxygen / 2

    @property
    def stoichiometric_air_fuel(self) -> float:
        """Stoichiometric air-fuel ratio by mass [-]. Source: [HEYWOOD] eq. 3.6."""
        air = _molar_mass(AIR) / AIR["O2"]
        return self.stoichiometric_oxygen * air / self.molar_mass

    @property
    def liquid_enthalpy(self) -> float:
        """Enthalpy with formation of the liquid at 298.15 K [J/kg], from its heating value."""
        burned = self.carbon * float(molar_enthalpy("CO2", STANDARD_TEMPERATURE))
        burned += self.hydrogen / 2 * float(molar_enthalpy("H2O", STANDARD_TEMPERATURE))
        return self.lower_heating_value + burned / self.molar_mass


_PETROL_VAPOUR = {"ISO_OCTANE": 0.626, "TOLUENE": 0.374}
"""Vapour that stands for petrol: it has petrol's H/C of 1.87 and air-fuel ratio of 14.6."""
_PETROL = {"lower_heating_value": 43.4e6, "latent_heat": 349e3, "density": 745.0}
_ETHANOL = {"lower_heating_value": 26.8e6, "latent_heat": 921e3, "density": 789.0}


def ethanol_mass_fraction(
    volume_fraction: Floats,
    petrol_density: Floats = _PETROL["density"],
    ethanol_density: float = _ETHANOL["density"],
) -> Floats:
    """Mass share of ethanol in a blend [-]: w = v rho_e/(v rho_e + (1 - v) rho_p); exact.

    volume_fraction: v, ethanol by volume before mixing [-]. densities: [kg/m3].
    """
    require_between("ethanol volume fraction", volume_fraction, 0, 1)
    ethanol = volume_fraction * ethanol_density
    return ethanol / (ethanol + (1 - volume_fraction) * petrol_density)


def ethanol_mole_fraction(
    mass_fraction: Floats,
    petrol_molar_mass: Floats = 0.106,
    ethanol_molar_mass: float = SPECIES["ETHANOL"].molar_mass,
) -> Floats:
    """Molar share of ethanol in a blend [-]; exact: (w/M_e)/(w/M_e + (1 - w)/M_p).

    mass_fraction: w, ethanol by mass [-]. Molar masses: M_p, mean of the petrol, and M_e [kg/mol].
    """
    ethanol = mass_fraction / ethanol_molar_mass
    return ethanol / (ethanol + (1 - mass_fraction) / petrol_molar_mass)


def petrol_ethanol(ethanol_volume_fraction: float) -> Fuel:
    """Blend of petrol and ethanol by volume, E0 to E100.

    ethanol_volume_fraction: 0 to 1 [-].
    Heating value and latent heat blend by mass, density by volume. Petrol 43.4 MJ/kg, 745 kg/m3,
    349 kJ/kg; ethanol 26.8 MJ/kg, 789 kg/m3, 921 kJ/kg.
    Source: [AFDC] properties of fuels (heats and densities).
    """
    mass = float(ethanol_mass_fraction(ethanol_volume_fraction))
    mole = float(ethanol_mole_fraction(mass, _molar_mass(_PETROL_VAPOUR)))
    vapour = {name: share * (1 - mole) for name, share in _PETROL_VAPOUR.items()}
    vapour["ETHANOL"] = mole
    by_mass = {
        name: (1 - mass) * _PETROL[name] + mass * _ETHANOL[name]
        for name in ("lower_heating_value", "latent_heat")
    }
    volume = ethanol_volume_fraction
    return Fuel(
        name=f"E{100 * volume:.0f}",
        carbon=_atoms("C", vapour),
        hydrogen=_atoms("H", vapour),
        oxygen=_atoms("O", vapour),
        vapour=vapour,
        density=(1 - volume) * _PETROL["density"] + volume * _ETHANOL["density"],
        **by_mass,
    )


def diesel() -> Fuel:
    """Diesel fuel: (CH1.8)n of 0.170 kg/mol, 42.5 MJ/kg, 270 kJ/kg, 835 kg/m3, air-fuel 14.5.

    Source: [HEYWOOD] table D.4, light diesel.
    """
    carbon = 0.170 / (ATOMIC_MASS["C"] + 1.8 * ATOMIC_MASS["H"])
    return Fuel(
        name="diesel",
        carbon=carbon,
        hydrogen=1.8 * carbon,
        oxygen=0.0,
        lower_heating_value=42.5e6,
        latent_heat=270e3,
        density=835.0,
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class WorkingGas:
    """The gas of one cycle per kilogram trapped, before and after burning.

    unburned_energy, burned_energy: coefficients (7, n) of internal energy in `energy_basis`
        [J per kg trapped]; a partly burned charge is the sum weighted by burned fraction.
        With fuel that enters as it burns, burned_energy also carries that fuel's mass and has the
        enthalpy that it brought subtracted, so that burning still conserves the total.
    unburned_gas_constant, burned_gas_constant: (n,) [J/(K kg trapped)].
    dissociation: coefficients (8, n) of `equilibrium.dissociation` per kilogram trapped, or None
        for frozen products.
    fuel_mass_fraction: fuel over mass trapped at intake closing [-]; it is part of that mass in a
        spark engine and comes on top in compression ignition.
    lower_heating_value: of the fuel [J/kg], for efficiency only.
    temperature_range: over which the energies hold [K].
    """

    unburned_energy: Array
    burned_energy: Array
    unburned_gas_constant: Array
    burned_gas_constant: Array
    fuel_mass_fraction: Array
    lower_heating_value: float
    dissociation: Array | None = None
    temperature_range: tuple[float, float] = USED_RANGE


def working_gas(
    fuel: Fuel,
    lambda_: Floats,
    residual_fraction: Floats,
    compression_ignition: bool,
    dissociation: bool = True,
) -> WorkingGas:
    """Return the gas of a cycle for every lane.

    lambda_: air-fuel equivalence ratio of the fresh charge [-], (n,).
    residual_fraction: share of the trapped mass that is burned gas left from before, or
        recirculated, of the same lambda [-], (n,).
    compression_ignition: the charge is air and residual, fuel enters as it burns; otherwise fuel
        vapour is mixed in from the start, already evaporated at intake closing.
    dissociation: correct the frozen products to chemical equilibrium.
    """
    require(
        "residual_fraction", residual_fraction, "0 to below 0.7", lambda x: (x >= 0) & (x < 0.7)
    )
    lam, residual = np.broadcast_arrays(*np.atleast_1d(lambda_, residual_fraction))
    burned = frozen_moles(fuel.atoms, lam)
    grown = np.ones(lam.shape)
    air = _moles_per_kilogram(AIR)[:, None] * np.ones(lam.shape)
    air_fuel = lam * fuel.stoichiometric_air_fuel
    if compression_ignition:
        ratio = (1 - residual) / air_fuel
        unburned = (1 - residual) * air + residual * burned
        grown = 1 + ratio
        burned = burned * grown
        start, end = MOLAR_ENERGY @ unburned, MOLAR_ENERGY @ burned
        end[0] -= ratio * fuel.liquid_enthalpy
    else:
        if not fuel.vapour:
            raise InputError(
                f"fuel {fuel.name} has no vapour data, so it can only burn by compression ignition;"
                " choose a petrol-ethanol blend for a spark engine."
            )
        ratio = (1 - residual) / (1 + air_fuel)
        vapour = _moles_per_kilogram(fuel.vapour)[:, None]
        unburned = (1 - residual - ratio) * air + ratio * vapour + residual * burned
        start, end = MOLAR_ENERGY @ unburned, MOLAR_ENERGY @ burned
        start[0] += ratio * vapour_energy_shift(fuel)
    return WorkingGas(
        unburned_energy=start,
        burned_energy=end,
        unburned_gas_constant=GAS_CONSTANT * unburned.sum(axis=0),
        burned_gas_constant=GAS_CONSTANT * burned.sum(axis=0),
        fuel_mass_fraction=ratio,
        lower_heating_value=fuel.lower_heating_value,
        dissociation=dissociation_coefficients(fuel.atoms, lam, grown) if dissociation else None,
    )


def vapour_energy_shift(fuel: Fuel) -> float:
    """What to add to the species' own energy so that the vapour has its heating value [J/kg]."""
    own = sum(
        share * float(molar_enthalpy(name, STANDARD_TEMPERATURE))
        for name, share in fuel.vapour.items()
    )
    return fuel.liquid_enthalpy + fuel.latent_heat - own / fuel.molar_mass


def _molar_mass(mixture: dict[str, float]) -> float:
    return sum(share * SPECIES[name].molar_mass for name, share in mixture.items())


def _atoms(atom: str, mixture: dict[str, float]) -> float:
    return sum(share * SPECIES[name].atoms.get(atom, 0) for name, share in mixture.items())


def _moles_per_kilogram(mixture: dict[str, float]) -> Array:
    moles = np.array([mixture.get(name, 0.0) for name in NAMES])
    return moles / float(MOLAR_MASSES @ moles)
