"""Piston: stress in the land between its first two rings."""

import numpy as np

from torquerisk.physics.arrays import Floats, require, require_positive

RING_LAND_STRESS = (30e6, 40e6)
"""Stress that a hot aluminium ring land is held to, careful and bold [Pa]. Source: [KOLCHIN] ch. 11
(from memory)."""


def ring_land_stress(*, peak_pressure: Floats, bore: Floats, land_height: Floats) -> Floats:
    """Return the combined stress in the land under the first ring [Pa].

    peak_pressure: over the crankcase p [Pa]. bore: D, land_height: between the first and the second
    groove h [m]. Bending 0.0045 p (D/h)², shear 0.0314 p D/h, √(σ² + 4 τ²): nine tenths of the
    pressure stand behind the first ring and 0.22 of it under the land, on a groove a twentieth of
    the bore deep. Fitted; knock adds what no mean cycle shows. Source: [KOLCHIN] ch. 11.
    """
    require("peak pressure", peak_pressure, "0 Pa or more", lambda x: x >= 0)
    require_positive("bore", bore, "m")
    require_positive("land height", land_height, "m")
    slim = np.asarray(bore) / land_height
    return peak_pressure * np.hypot(0.0045 * slim**2, 2 * 0.0314 * slim)
