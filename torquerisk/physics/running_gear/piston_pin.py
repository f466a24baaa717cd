"""Piston pin: bending and ovalisation.

The pin is a hollow cylinder carried in two bosses and loaded in the middle by the small end.
"""

import numpy as np

from torquerisk.physics.arrays import Floats, require, require_between, require_positive


def _bore_ratio(pin_diameter: Floats, pin_bore: Floats) -> Floats:
    require_positive("pin diameter", pin_diameter, "m")
    ratio = np.asarray(pin_bore) / pin_diameter
    require("pin bore / pin diameter", ratio, "0 to below 1", lambda x: (x >= 0) & (x < 1))
    return ratio


def pin_bending_stress(
    *,
    force: Floats,
    pin_diameter: Floats,
    pin_bore: Floats,
    boss_span: Floats,
    bush_length: Floats,
) -> Floats:
    """Return the bending stress at the middle of the pin [Pa].

    force: F [N]. pin_diameter: d [m]. pin_bore: inner diameter, 0 if solid [m]. boss_span:
    between the middles of both bosses s [m]. bush_length: l [m], at most s.
    M = F (2 s - l) / 8, σ = 32 M / (π d³ (1 - α⁴)), α = bore / d. Exact for a beam with the
    bosses' forces at their middles and even load on the bush; real bosses carry more on their
    inner edge, so it is on the safe side. With s = (D + l)/2 it is the F D / 8 of [KMD] ch. 32.
    Source: [KMD] ch. 32.
    """
    ratio = _bore_ratio(pin_diameter, pin_bore)
    require_positive("bush length", bush_length, "m")
    require(
        "bush length / boss span",
        np.asarray(bush_length) / boss_span,
        "above 0, 1 or less",
        lambda x: (x > 0) & (x <= 1),
    )
    moment = np.abs(force) * (2 * np.asarray(boss_span) - bush_length) / 8
    return 32 * moment / (np.pi * np.asarray(pin_diameter) ** 3 * (1 - ratio**4))


def pin_ovalisation(
    *,
    force: Floats,
    pin_diameter: Floats,
    pin_bore: Floats,
    pin_length: Floats,
    elastic_modulus: Floats,
) -> Floats:
    """Return how much the loaded pin's diameter grows sideways [m].

    force: F [N]. pin_diameter: d, pin_bore: inner diameter, pin_length: whole length l [m].
    elastic_modulus: E [Pa]. 1.35 F / (E l) ((1 + α)/(1 - α))³ (0.1 - (α - 0.4)³), α = bore / d
    between 0.4 and 0.8. A thin ring under cosine loads (0.09 F / (E l) ((1 + α)/(1 - α))³)
    times an empirical factor of 1.5 falling with α. Compare with the cold clearance in the
    boss; 0.02 to 0.05 mm is usual in the same source. Source: [KOLCHIN] ch. 11.
    """
    ratio = _bore_ratio(pin_diameter, pin_bore)
    require_between("pin bore / pin diameter", ratio, 0.4, 0.8)
    require_positive("pin length", pin_length, "m")
    require_positive("elastic modulus", elastic_modulus, "Pa")
    ring = ((1 + ratio) / (1 - ratio)) ** 3 * (0.1 - (ratio - 0.4) ** 3)
    return 1.35 * np.abs(force) / (np.asarray(elastic_modulus) * pin_length) * ring
