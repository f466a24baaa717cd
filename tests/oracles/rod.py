"""Other ways to a rod shank's section and strength, to hold the package's own against."""

import numpy as np

from torquerisk.physics.arrays import Floats, require, require_positive
from torquerisk.physics.running_gear.rod import Section

RANKINE_STEEL = 1 / 7500
"""Rankine constant a of steel. Source: [KMD] ch. 32."""


def i_section(*, depth: Floats, width: Floats, web: Floats, flange: Floats) -> Section:
    """Return the properties of a sharp-cornered I-section.

    depth: over both flanges, in the plane of motion H [m]. width: of the flanges, along the
    crankshaft B [m]. web: its thickness [m]. flange: its thickness [m].
    Exact without fillets. Source: [KMD] ch. 32.
    """
    for name, value in (("depth", depth), ("width", width), ("web", web), ("flange", flange)):
        require_positive(name, value, "m")
    require("web / width", np.asarray(web) / width, "1 or less", lambda x: x <= 1)
    require("2 flange / depth", 2 * np.asarray(flange) / depth, "below 1", lambda x: x < 1)
    h, b = np.asarray(depth, dtype=float), np.asarray(width, dtype=float)
    inner = h - 2 * np.asarray(flange)
    return Section(
        area=b * h - (b - web) * inner,
        inertia_motion=(b * h**3 - (b - web) * inner**3) / 12,
        inertia_across=(2 * np.asarray(flange) * b**3 + inner * np.asarray(web) ** 3) / 12,
        depth=h,
        width=b,
    )


def rankine_stress(
    *, slenderness: Floats, crushing_strength: Floats, rankine_constant: Floats = RANKINE_STEEL
) -> Floats:
    """Return the critical mean stress by Rankine's formula [Pa]: a cross-check on Johnson.

    slenderness: L/k of the plane of motion, or half of L/k along the crankshaft [-].
    crushing_strength: σ_c [Pa]. rankine_constant: a [-], 1/7500 steel, 1/9000 wrought iron,
    1/1600 cast iron. σ_c / (1 + a (L/k)²). Fitted. Source: [KMD] ch. 32.
    """
    require("slenderness", slenderness, "0 or more", lambda x: x >= 0)
    require_positive("crushing strength", crushing_strength, "Pa")
    return np.asarray(crushing_strength) / (1 + rankine_constant * np.square(slenderness))


def goodman_utilisation(
    *,
    compression_stress: Floats,
    tension_stress: Floats,
    fatigue_strength: Floats,
    ultimate_strength: Floats,
    stress_concentration: Floats = 1.0,
) -> Floats:
    """Return how much of the endless-life fatigue strength is used [-], 1 at the limit.

    compression_stress, tension_stress: extremes of one cycle, both as positive sizes [Pa]
    (tension negative if the stress never pulls). fatigue_strength: fully reversed amplitude of
    the part, surface and size factors included S_e [Pa]. ultimate_strength: S_ut [Pa].
    stress_concentration: fatigue notch factor K_f on amplitude and mean [-], 1 for a plain shank.
    Amplitude σ_a = (σ_c + σ_t)/2, mean σ_m = (σ_t - σ_c)/2; σ_a / S_e + max(σ_m, 0) / S_ut: a
    compressive mean is given no credit, which is safe. Source: [SHIGLEY] eq. 6-46.
    """
    require_positive("fatigue strength", fatigue_strength, "Pa")
    require_positive("ultimate strength", ultimate_strength, "Pa")
    require("stress concentration", stress_concentration, "1 or more", lambda x: x >= 1)
    amplitude = (np.asarray(compression_stress) + tension_stress) / 2
    require("stress amplitude", amplitude, "0 Pa or more", lambda x: x >= 0)
    mean = (np.asarray(tension_stress) - compression_stress) / 2
    used = amplitude / fatigue_strength + np.maximum(mean, 0.0) / ultimate_strength
    return stress_concentration * used
