"""Engine-oil viscosity: with temperature (Walther) and under high shear (SAE J300 grades).

Kinematic viscosity is in m²/s (1 cSt = 1e-6 m²/s), dynamic viscosity in Pa s, temperature in K.
"""

from dataclasses import dataclass

import numpy as np

from torquerisk.errors import InputError
from torquerisk.physics.arrays import Floats, require, require_between, require_positive

_CENTISTOKES = 1e-6
HIGH_SHEAR_TEMPERATURE = 423.15
"""Temperature at which SAE J300 states high-shear viscosity, 150 °C [K]."""


HIGH_SHEAR: dict[str, float] = {
    "8": 1.7, "12": 2.0, "16": 2.3, "20": 2.6, "30": 2.9, "40": 3.7, "50": 3.7, "60": 3.7,
}  # fmt: skip
"""Least dynamic viscosity at 150 °C and 10⁶ 1/s by high-temperature grade [mPa s]; "40" alone is
the monograde. Source: [SAE-J300] table 1."""

WINTER_GRADES = ("0W", "5W", "10W", "15W", "20W", "25W")
_THIN_FORTY = ("0W", "5W", "10W")


def high_shear_of(grade: str) -> float:
    """Return the least viscosity under high shear of a grade such as "5W-40" or "30" [Pa s].

    The 40 grades with 0W, 5W and 10W need 3.5 mPa s, the others 3.7.
    Raises InputError for an unknown grade. Source: [SAE-J300] table 1.
    """
    winter, dash, summer = grade.strip().upper().rpartition("-")
    if summer not in HIGH_SHEAR or (dash and winter not in WINTER_GRADES):
        raise InputError(
            f"Oil grade is {grade!r}, but must be one of {', '.join(HIGH_SHEAR)}, alone or after "
            f"a winter grade ({', '.join(WINTER_GRADES)}), such as '5W-40'."
        )
    thin = summer == "40" and winter in _THIN_FORTY
    return (3.5 if thin else HIGH_SHEAR[summer]) * 1e-3


def _double_log(kinematic_viscosity: Floats) -> Floats:
    centistokes = np.asarray(kinematic_viscosity) / _CENTISTOKES
    require("kinematic viscosity", centistokes, "2 to 2e7 mm²/s", lambda x: (x >= 2) & (x <= 2e7))
    return np.log10(np.log10(centistokes + 0.7))


def kinematic_viscosity(
    *, temperature: Floats, viscosity_40: Floats, viscosity_100: Floats
) -> Floats:
    """Return the kinematic viscosity at a temperature from those at 40 and 100 °C [m²/s].

    temperature: T [K], 233 to 473 K. viscosity_40, viscosity_100: at 40 and 100 °C [m²/s].
    lg lg(ν + 0.7) = A - B lg T, ν in mm²/s and at least 2 there. Fitted: within some 2 to 3 %
    between the two points, more beyond. Source: [ASTM-D341].
    """
    t = np.asarray(temperature)
    require_between("temperature", t, 233, 473, "K")
    require(
        "viscosity at 40 °C / at 100 °C",
        np.asarray(viscosity_40) / viscosity_100,
        "above 1",
        lambda x: x > 1,
    )
    first, second = _double_log(viscosity_40), _double_log(viscosity_100)
    slope = (first - second) / np.log10(373.15 / 313.15)
    power = 10 ** (first - slope * np.log10(t / 313.15))
    # The line runs on below 2 mm²/s, where the standard adds terms; so stop there.
    require(
        "kinematic viscosity at this temperature",
        10**power - 0.7,
        "2 mm²/s or more",
        lambda x: x >= 2,
    )
    return (10**power - 0.7) * _CENTISTOKES


def oil_density(*, temperature: Floats, density_15: Floats) -> Floats:
    """Return the oil's density at a temperature [kg/m³].

    temperature: T [K]. density_15: at 15 °C [kg/m³], 840 to 900 for engine oil.
    ρ = ρ15 - 0.65 (T - 288.15). Fitted, within about 1 %. Source: [PRACTICE].
    """
    require_between("density at 15 °C", density_15, 700, 1000, "kg/m³")
    return np.asarray(density_15) - 0.65 * (np.asarray(temperature) - 288.15)


def high_shear_viscosity(
    *,
    temperature: Floats,
    high_shear_150: Floats,
    viscosity_40: Floats,
    viscosity_100: Floats,
    density_15: Floats = 860.0,
) -> Floats:
    """Return the dynamic viscosity under bearing shear at a temperature [Pa s].

    temperature: of the film T [K]. high_shear_150: at 150 °C and 10⁶ 1/s [Pa s], from
    `high_shear_of` or the oil's data. viscosity_40, viscosity_100: kinematic, low shear [m²/s].
    density_15: 860 kg/m³ by default (common practice, no source).
    μ(T) = μ_HTHS ν(T) ρ(T) / (ν(150) ρ(150)): the share that shear takes away is held as at
    150 °C. Approximate, about ±10 % between 90 and 150 °C (common practice, no source); below
    that shear takes away less or more, depending on the oil. Source: [SAE-J300]; [ASTM-D341].
    """
    require_positive("high-shear viscosity", high_shear_150, "Pa s")
    grade = {"viscosity_40": viscosity_40, "viscosity_100": viscosity_100}
    hot = kinematic_viscosity(temperature=HIGH_SHEAR_TEMPERATURE, **grade)
    hot = hot * oil_density(temperature=HIGH_SHEAR_TEMPERATURE, density_15=density_15)
    now = kinematic_viscosity(temperature=temperature, **grade)
    now = now * oil_density(temperature=temperature, density_15=density_15)
    return np.asarray(high_shear_150) * now / hot


@dataclass(frozen=True, kw_only=True)
class TypicalOil:
    """Usual low-shear viscosities of a multigrade, for when no data sheet is given."""

    viscosity_40: float
    """[m²/s]."""
    viscosity_100: float
    """[m²/s]."""


TYPICAL_OILS: dict[str, TypicalOil] = {
    grade: TypicalOil(viscosity_40=low * _CENTISTOKES, viscosity_100=high * _CENTISTOKES)
    for grade, (low, high) in {
        "0W-16": (36.0, 7.2),
        "0W-20": (44.0, 8.4),
        "5W-20": (48.0, 8.4),
        "0W-30": (63.0, 11.0),
        "5W-30": (65.0, 11.0),
        "10W-30": (70.0, 10.6),
        "0W-40": (78.0, 13.8),
        "5W-40": (85.0, 14.0),
        "10W-40": (95.0, 14.2),
        "15W-40": (108.0, 14.5),
        "5W-50": (108.0, 17.8),
        "10W-60": (160.0, 23.5),
        "20W-50": (160.0, 18.5),
    }.items()
}
"""Typical oils, ±15 % at 40 °C and ±8 % at 100 °C between oils of one grade. Source: [PRACTICE]."""
