"""Fatigue of fasteners, by two philosophies that differ by about three and must not be mixed.

VDI 2230: an amplitude limit of the thread, nearly free of mean stress and class; the default.
Shigley: a fully corrected endurance strength with a mean-stress line; functions end in `_shigley`.
"""

import numpy as np
import numpy.typing as npt

from torquerisk.physics.arrays import Array, Floats, require, require_positive


def stress_amplitude(highest_load: Floats, lowest_load: Floats, *, area: Floats) -> Array:
    """Return the stress amplitude in a fastener, (F_max - F_min)/(2 A) [Pa].

    highest_load, lowest_load: per fastener over the cycle [N], see `joint.fastener_load`, which
    knows of separation; area: A_s [m^2]. Exact. Source: [VDI2230] R9.
    """
    require_positive("area", area, "m^2")
    span = np.asarray(highest_load, dtype=float) - np.asarray(lowest_load)
    require("highest_load - lowest_load", span, "0 N or more", lambda x: x >= 0)
    return span / (2 * np.asarray(area))


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


def amplitude_limit_rolled_after_vdi2230(nominal_diameter: Floats, *, mean_load: Floats) -> Array:
    """Return the endurable amplitude of a thread rolled after heat treatment, sigma_ASG [Pa].

    nominal_diameter: d [m]; mean_load: mean load over the load at yield, F_Sm/F_0.2 [-], 0.3 to 1.
    (2 - F_Sm/F_0.2) sigma_ASV. Fitted. Source: [VDI2230] section 5.5.3.
    """
    require("mean_load", mean_load, "from 0.3 to 1", lambda x: (x >= 0.3) & (x <= 1))
    return (2 - np.asarray(mean_load)) * amplitude_limit_vdi2230(nominal_diameter)
