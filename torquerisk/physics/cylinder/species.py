"""Published thermodynamic data of the gases in a cylinder, and cheap fits of their energy.

The constants are the NASA seven-coefficient polynomials: cp/R = a1 + a2 T + a3 T2 + a4 T3 + a5 T4
and h/(RT) = a1 + a2 T/2 + a3 T2/3 + a4 T3/4 + a5 T4/5 + a6/T, two ranges meeting at 1000 K; h
counts from the elements at 298.15 K, so it contains the energy of formation. a7 gives the entropy.
Source: [NASA_TM_4513].
"""

from dataclasses import dataclass

import numpy as np

from torquerisk.physics.arrays import Array, Floats

GAS_CONSTANT = 8.31446261815324
"""Molar gas constant [J/(mol K)], exact in the SI."""
STANDARD_TEMPERATURE = 298.15
"""Temperature at which heats of formation and heating values are quoted [K]."""
ATOMIC_MASS = {"C": 12.011e-3, "H": 1.008e-3, "O": 15.999e-3, "N": 14.007e-3, "Ar": 39.95e-3}
"""Standard atomic masses [kg/mol]."""


@dataclass(frozen=True, kw_only=True)
class Species:
    """One gas: its atoms and NASA coefficients a1..a7 below and above 1000 K."""

    atoms: dict[str, int]
    low: tuple[float, ...]
    high: tuple[float, ...]

    @property
    def molar_mass(self) -> float:
        """Molar mass [kg/mol]."""
        return sum(ATOMIC_MASS[atom] * count for atom, count in self.atoms.items())


_TABLE = """
N2 N2
3.53100528 -1.23660987e-4 -5.02999437e-7 2.43530612e-9 -1.40881235e-12 -1046.97628 2.96747468
2.95257626 0.00139690057 -4.92631691e-7 7.86010367e-11 -4.60755321e-15 -923.948645 5.87189252
O2 O2
3.78245636 -0.00299673415 9.847302e-6 -9.68129508e-9 3.24372836e-12 -1063.94356 3.65767573
3.66096083 6.56365523e-4 -1.41149485e-7 2.05797658e-11 -1.29913248e-15 -1215.97725 3.41536184
AR Ar1
2.5 0 0 0 0 -745.375 4.37967491
2.5 0 0 0 0 -745.375 4.37967491
CO2 C1 O2
2.35677352 0.00898459677 -7.12356269e-6 2.45919022e-9 -1.43699548e-13 -48371.9697 9.90105222
4.63659493 0.00274131991 -9.95828531e-7 1.60373011e-10 -9.16103468e-15 -49024.9341 -1.93534855
H2O H2 O1
4.19864056 -0.0020364341 6.52040211e-6 -5.48797062e-9 1.77197817e-12 -30293.7267 -0.849032208
2.67703787 0.00297318329 -7.7376969e-7 9.44336689e-11 -4.26900959e-15 -29885.8938 6.88255571
CO C1 O1
3.57953347 -6.1035368e-4 1.01681433e-6 9.07005884e-10 -9.04424499e-13 -14344.086 3.50840928
3.04848583 0.00135172818 -4.85794075e-7 7.88536486e-11 -4.69807489e-15 -14266.1171 6.0170979
H2 H2
2.34433112 0.00798052075 -1.9478151e-5 2.01572094e-8 -7.37611761e-12 -917.935173 0.683010238
2.93286579 8.26607967e-4 -1.46402335e-7 1.54100359e-11 -6.88804432e-16 -813.065597 -1.02432887
ISO_OCTANE C8 H18
0.815737338 0.0732643959 1.78300688e-5 -6.9358962e-8 3.21629382e-11 -30477.2862 24.1509994
15.9899273 0.055318479 -1.95267072e-5 3.11779172e-9 -1.85312577e-13 -35875.7973 -60.1161414
TOLUENE C7 H8
1.611914 0.0211188902 8.53221453e-5 -1.32566876e-7 5.59406109e-11 4096.51976 20.2973614
12.939475 0.0266921558 -9.68420108e-6 1.5739214e-9 -9.46670482e-14 -677.035769 -46.7255302
ETHANOL C2 H6 O1
4.85868178 -0.0037400674 6.95550267e-5 -8.86541147e-8 3.5168443e-11 -29996.1309 4.80192294
6.5628977 0.0152034264 -5.38922247e-6 8.62150224e-10 -5.12824683e-14 -31525.7984 -9.47557644
OH H1 O1
3.99201543 -0.00240131752 4.61793841e-6 -3.88113333e-9 1.3641147e-12 3615.08056 -0.103925458
2.83864607 0.00110725586 -2.93914978e-7 4.20524247e-11 -2.42169092e-15 3943.95852 5.84452662
NO N1 O1
4.21859896 -0.00463988124 1.10443049e-5 -9.34055507e-9 2.80554874e-12 9845.09964 2.28061001
3.26071234 0.00119101135 -4.29122646e-7 6.94481463e-11 -4.03295681e-15 9921.43132 6.36900518
O O1
3.1682671 -0.00327931884 6.64306396e-6 -6.12806624e-9 2.11265971e-12 29122.2592 2.05193346
2.54363697 -2.73162486e-5 -4.1902952e-9 4.95481845e-12 -4.79553694e-16 29226.012 4.92229457
H H1
2.5 0 0 0 0 25473.6599 -0.446682853
2.50000286 -5.65334214e-9 3.63251723e-12 -9.1994972e-16 7.95260746e-20 25473.6589 -0.446698494
"""
"""Of each gas its name and atoms, then a1 to a7 below 1000 K, then above."""


def _read(head: str, low: str, high: str) -> tuple[str, Species]:
    name, *atoms = head.split()
    below, above = (tuple(map(float, row.split())) for row in (low, high))
    counts = {atom.rstrip("0123456789"): int(atom.lstrip("CHONAr")) for atom in atoms}
    return name, Species(atoms=counts, low=below, high=above)


_ROWS = _TABLE.strip().splitlines()
SPECIES = dict(map(_read, _ROWS[::3], _ROWS[1::3], _ROWS[2::3]))
NAMES = tuple(SPECIES)
"""Order of the species in every matrix of this package."""
MOLAR_MASSES: Array = np.array([SPECIES[name].molar_mass for name in NAMES])
"""Molar masses in that order [kg/mol]."""


def molar_heat_capacity(name: str, temperature: Floats) -> Array:
    """Molar heat capacity at constant pressure [J/(mol K)]. Source: [NASA_TM_4513]."""
    t = np.asarray(temperature, dtype=float)
    low, high = (
        np.polynomial.polynomial.polyval(t, a[:5]) for a in (SPECIES[name].low, SPECIES[name].high)
    )
    return GAS_CONSTANT * np.where(t < 1000, low, high)


def molar_enthalpy(name: str, temperature: Floats) -> Array:
    """Molar enthalpy with formation [J/mol], zero for elements at 298.15 K.

    Source: [NASA_TM_4513].
    """
    t = np.asarray(temperature, dtype=float)
    share = 1 / np.arange(1, 6)
    low, high = (
        t * np.polynomial.polynomial.polyval(t, share * a[:5]) + a[5]
        for a in (np.array(SPECIES[name].low), np.array(SPECIES[name].high))
    )
    return GAS_CONSTANT * np.where(t < 1000, low, high)


def molar_entropy(name: str, temperature: Floats) -> Array:
    """Molar entropy at 1 bar [J/(mol K)]. Source: [NASA_TM_4513]."""
    t = np.asarray(temperature, dtype=float)
    share = 1 / np.arange(1, 5)
    low, high = (
        a[0] * np.log(t) + t * np.polynomial.polynomial.polyval(t, share * a[1:5]) + a[6]
        for a in (np.array(SPECIES[name].low), np.array(SPECIES[name].high))
    )
    return GAS_CONSTANT * np.where(t < 1000, low, high)


PIVOT = 1000.0
"""Constant of the fitted basis [K]."""
FIT_RANGE = (250.0, 3500.0)
"""Range of the fitted energies [K]."""
USED_RANGE = (200.0, FIT_RANGE[1])
"""Range in which they are used [K]: at 200 K, which only the charge of a small cylinder reaches as
it expands after losing most of its heat, cp of nitrogen is off by 1.1 % and of oxygen by 2.6 %."""
TERMS = 7
"""Number of coefficients of a fitted energy."""


def energy_basis(temperature: Floats) -> Array:
    """Basis (7, ...) in which energies are fitted: 1, T, T2, y, y2, y3, y4; y = 1000/(T+1000).

    A sum over this basis holds cp of every species here within 0.45 % over 250-3500 K (a
    polynomial in T of the same length misses nitrogen by 0.7 %).
    """
    t = np.asarray(temperature, dtype=float)
    y = PIVOT / (t + PIVOT)
    return np.stack([np.ones_like(t), t, t * t, y, y**2, y**3, y**4])


def energy_slope_basis(temperature: Floats) -> Array:
    """Derivative of `energy_basis` by temperature (7, ...)."""
    t = np.asarray(temperature, dtype=float)
    y = PIVOT / (t + PIVOT)
    slope = -(y**2) / PIVOT
    return np.stack(
        [np.zeros_like(t), np.ones_like(t), 2 * t]
        + [slope * k * y ** (k - 1) for k in range(1, TERMS - 2)]
    )


def _fit_energy(name: str) -> Array:
    """Coefficients (7,) of molar internal energy [J/mol] in `energy_basis`.

    Fitted to cv with weights that even out the relative error of cp over 250-3500 K; the constant
    makes the energy at 298.15 K exact.
    """
    t = np.linspace(*FIT_RANGE, 651)
    cp = molar_heat_capacity(name, t)
    basis = energy_slope_basis(t)[1:].T / cp[:, None]
    slope, *_ = np.linalg.lstsq(basis, (cp - GAS_CONSTANT) / cp, rcond=None)
    exact = float(molar_enthalpy(name, STANDARD_TEMPERATURE)) - GAS_CONSTANT * STANDARD_TEMPERATURE
    constant = exact - float(slope @ energy_basis(STANDARD_TEMPERATURE)[1:])
    return np.concatenate([[constant], slope])


MOLAR_ENERGY: Array = np.stack([_fit_energy(name) for name in NAMES], axis=1)
"""Coefficients of molar internal energy [J/mol], (term, species)."""
