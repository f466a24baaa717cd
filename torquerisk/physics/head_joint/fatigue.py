"""Fatigue of fasteners by VDI 2230: an amplitude limit, nearly free of mean stress and class.

[SHIGLEY]'s fully corrected endurance strength with a mean-stress line is about three times that:
the two philosophies must not be mixed.
"""

import numpy as np
import numpy.typing as npt

from torquerisk.physics.arrays import Array, Floats, require


def amplitude_limit_vdi2230(nominal_diameter: Floats) -> Array:
    """Return the endurable stress amplitude, thread rolled before heat treatment, sigma_ASV [Pa].

    nominal_diameter: d [m], up to 40 mm. 0.85 (150/d[mm] + 45) MPa for 2e6 cycles or more.
    Fitted; 1 % failure. Source: [VDI2230] section 5.5.3.
    """
    require("nominal_diameter", nominal_diameter, "5 to 40 mm, in m", _diameter_range)
    return 0.85 * (150 / (np.asarray(nominal_diameter, dtype=float) * 1e3) + 45) * 1e6


def _diameter_range(diameter: Array) -> npt.NDArray[np.bool_]:
    """Say for which diameters [m] the amplitude limit was fitted."""
    return (diameter >= 5e-3 * (1 - 1e-9)) & (diameter <= 40e-3 * (1 + 1e-9))
