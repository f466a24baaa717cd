"""Heat-transfer coefficients from the gas to the walls of the cylinder."""

import numpy as np

from torquerisk.physics.arrays import Array, Floats

WOSCHNI_COMPRESSION = 2.28
"""Woschni C1 while the valves are closed [-]. Source: [WOSCHNI], [HEYWOOD] eq. 12.19."""
WOSCHNI_COMBUSTION = 3.24e-3
"""Woschni C2 during combustion and expansion [m/(s K)]. Source: as C1."""
WOSCHNI_TEMPERATURE_EXPONENT = 0.53
"""Power of temperature that Woschni's coefficient falls with [-]. Source: [WOSCHNI], [MERKER]."""
SQUEEZE = 2.0
"""Gas motion about top dead centre over C1 S_p at 1 bar mean pressure [-]. Source: [HUBER]."""
SQUEEZE_LOAD_EXPONENT = 0.2
"""Power of mean indicated pressure that it falls with [-]. Source: [HUBER]."""
MOTORED_EXPONENT = 1.32
"""Polytropic exponent of the motored pressure inside Woschni's velocity [-].

Common practice, no source; within 1.30-1.35 of unburned compression. It moves the heat lost by
less than 1 %."""


def squeeze_factor(volume_ratio: Floats, imep: Floats) -> Array:
    """Gas motion that compression makes about top dead centre, over C1 S_p [-].

    volume_ratio: clearance over cylinder volume V_c/V [-]; imep: mean indicated pressure [Pa],
    taken as 1 bar below that. 2 (V_c/V)^2 (imep/bar)^-0.2. Fitted to a motored and lightly loaded
    direct-injection diesel, where Woschni's velocity alone reads too low. Source: [HUBER], [MERKER]
    """
    load = np.maximum(np.asarray(imep) * 1e-5, 1.0) ** -SQUEEZE_LOAD_EXPONENT
    return np.asarray(SQUEEZE * np.square(volume_ratio) * load)


def woschni_coefficient(
    bore: Floats, pressure: Floats, temperature: Floats, velocity: Floats
) -> Array:
    """Woschni's coefficient h [W/(m2 K)]: h = 130 B^-0.2 (p/bar)^0.8 T^-0.53 w^0.8.

    bore: B [m]; pressure: p [Pa]; temperature: mass-mean T [K]; velocity: w [m/s]. This is the pair
    of constant and exponent that was fitted (110 kcal/(m2 h K) with p in kgf/cm2). Heywood eq.
    12.19 rounds the exponent that the Nusselt number would give to -0.55 and keeps the constant,
    which reads 14 % less at 2000 K. Fitted to engines of the 1960s; scatter between engines is a
    factor of 2, hence the scale factor of the closed cycle.
    Source: [WOSCHNI], [MERKER].
    """
    return (
        130.0
        * np.asarray(bore) ** -0.2
        * (np.asarray(pressure) * 1e-5 * velocity) ** 0.8
        * np.asarray(temperature) ** -WOSCHNI_TEMPERATURE_EXPONENT
    )
