"""The short bearing and a steady film, to hold the package's finite bearing and orbit against."""

import numpy as np

from torquerisk.physics.arrays import Array, Floats
from torquerisk.physics.running_gear import big_end


def film_index(*, sommerfeld_number: Floats, length_to_diameter: Floats) -> Floats:
    """Return the steady film over radial clearance [-]: 1 unloaded, 0 touching. 1 - ε."""
    return 1 - big_end.eccentricity_ratio(
        sommerfeld_number=sommerfeld_number, length_to_diameter=length_to_diameter
    )


def short_bearing_load_number(eccentricity: Floats) -> Floats:
    """Return the load that a short bearing carries, as W c² / (μ ω R L³) [-].

    ε √(16 ε² + π² (1 - ε²)) / (4 (1 - ε²)²). Exact as L/D goes to 0. Source: [OCVIRK].
    """
    e = np.asarray(eccentricity)
    return e * np.sqrt(16 * e**2 + np.pi**2 * (1 - e**2)) / (4 * (1 - e**2) ** 2)


def short_bearing_attitude(eccentricity: Floats) -> Floats:
    """Return the angle from load to line of centres, arctan(π √(1 - ε²) / (4 ε)) [rad].

    Source: [OCVIRK].
    """
    e = np.asarray(eccentricity)
    return np.arctan2(np.pi * np.sqrt(1 - e**2), 4 * e)


def short_bearing_mobility(*, along: Array, across: Array, length_to_diameter: Floats) -> Array:
    """Return the mobility of a short bearing [-], stacked (along, across) the load.

    along ξ, across η: eccentricity ratio in the direction of the load and square to it [-].
    M_ξ = (1 - ξ)^2.5 / (π (L/D)²), M_η = -4 η (1 - ξ)^1.5 / (π² (L/D)²). Fitted to the half-film
    short bearing: within 9 % of its size and 4 degrees of its direction to ε = 0.95.
    Source: [BOOKER].
    """
    square = np.square(length_to_diameter)
    gap = 1 - np.asarray(along)
    return np.stack(
        [gap**2.5 / (np.pi * square), -4 * np.asarray(across) * gap**1.5 / (np.pi**2 * square)]
    )
