"""The coolant's own pressure: what warming alone does to a closed cooling system."""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require_between

_N = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5,
    -0.32325550322333e7, 0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6,
    -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip
EXPANSION = 1.5e3
"""Rise of pressure per kelvin as coolant swells into the air of its tank and warms it [Pa/K]
(common practice, no source: 1 to 2 kPa/K)."""


def saturation_pressure_if97(temperature: Floats) -> Array:
    """Vapour pressure of water [Pa].

    temperature: T [K], 273.15 to 647. Equation 30 (region 4), fitted within 0.025 %. Coolant with
    glycol has less, so water is the most that warming explains.
    Source: [IAPWS_IF97] section 8
    """
    require_between("temperature", temperature, 273.15, 647, "K")
    t = np.asarray(temperature, float)
    theta = t + _N[8] / (t - _N[9])
    a = theta**2 + _N[0] * theta + _N[1]
    b = _N[2] * theta**2 + _N[3] * theta + _N[4]
    c = _N[5] * theta**2 + _N[6] * theta + _N[7]
    return np.asarray(1e6 * (2 * c / (-b + np.sqrt(b**2 - 4 * a * c))) ** 4)


def pressure_from_warming(temperature: Array) -> Array:
    """Pressure that a closed system gains by warming from its first temperature (n,) [Pa].

    temperature: of the coolant (n,) [K]. What its vapour gains and EXPANSION for each kelvin.
    Source: [IAPWS_IF97] for the vapour; [PRACTICE] for the rest
    """
    held = np.clip(np.asarray(temperature, float), 273.15, 647.0)
    vapour = saturation_pressure_if97(held)
    return np.asarray(vapour - vapour[0] + EXPANSION * (held - held[0]))
