"""The short bearing and a steady film, to hold the package's finite bearing and orbit against."""

import numpy as np

from torquerisk.physics.arrays import Array, Floats
from torquerisk.physics.running_gear import big_end


def film_index(*, sommerfeld_number: Floats, length_to_diameter: float) -> Floats:
    """Return the steady film over radial clearance, 1 - ε [-]: 1 unloaded, 0 touching.

    The inverse of `big_end.steady_sommerfeld`, straight in ln S over the logit of ε; beyond its
    ends S goes with (1 - ε)/ε.
    """
    e = 1 / (1 + np.exp(-np.linspace(np.log(1 / 9), np.log(0.995 / 0.005), 4001)))
    e[[0, -1]] = 0.1, 0.995
    known = np.log(big_end.steady_sommerfeld(eccentricity=e, length_to_diameter=length_to_diameter))
    wanted = np.log(np.maximum(sommerfeld_number, 1e-300))
    logit = np.log(e / (1 - e))
    found = np.interp(-wanted, -known, logit)
    found = found - np.maximum(wanted - known[0], 0.0) + np.maximum(known[-1] - wanted, 0.0)
    return 1 / (1 + np.exp(found))


def sommerfeld_number(
    *, specific_load: Floats, viscosity: float, effective_speed: Floats, relative_clearance: float
) -> Floats:
    """Return S = (R/c)² μ N / P [-], N in turns per second. Source: [HARNOY] ch. 8."""
    turns = np.asarray(effective_speed) / (2 * np.pi)
    return viscosity * turns / (specific_load * relative_clearance**2)


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
