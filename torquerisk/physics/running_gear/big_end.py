"""Big-end bearing: the speed that feeds its film, and the film that a steady load leaves.

The film index is the film that a *steady* load of that size would leave, as a share of the
radial clearance. It ranks states of one bearing: which speed and load is hard on the film. It
is not a thickness in micrometres. A firing load lasts a few degrees, and oil that has to be
squeezed out carries far more than this; on the other hand edge load, bending, heat and dirt take
film away. Equal torque at lower speed is harder on the film for three reasons that all show
here: viscosity acts in proportion to speed, inertia relieves less of the gas load, and the load
stays longer.
"""

import numpy as np
import numpy.typing as npt
from scipy.interpolate import PchipInterpolator

from torquerisk.physics.arrays import Array, Floats, require_between, require_positive

ECCENTRICITIES = np.array([0.1, 0.2, 0.4, 0.6, 0.8, 0.9, 0.97, 0.99, 0.995])
"""Eccentricity ratios ε of `SOMMERFELD_NUMBERS`."""
LENGTH_RATIOS = np.array([0.25, 0.5, 1.0])
"""Length to diameter ratios L/D of `SOMMERFELD_NUMBERS`."""
SOMMERFELD_NUMBERS = np.array(
    [
        [16.2, 7.57, 2.83, 1.07, 0.261, 0.0736, 0.0101, 0.002268, 0.000957],
        [4.31, 2.03, 0.779, 0.319, 0.0923, 0.0313, 0.00609, 0.001692, 0.000782],
        [1.33, 0.631, 0.264, 0.121, 0.0446, 0.0188, 0.00474, 0.001469, 0.000710],
    ]
)
"""Sommerfeld number of the full journal bearing by L/D (rows) and ε (columns).

To ε = 0.97 from [RAIMONDI-BOYD] part III (from memory; a finite-difference solution of Reynolds'
equation agrees within 2 %, 3 % at ε = 0.97), above that from [REYNOLDS-FD].
"""


def effective_speed(*, journal_speed: Floats, bush_speed: Floats, load_speed: Floats) -> Floats:
    """Return the speed that drags oil into the film, for use as a steady load's speed [rad/s].

    journal_speed ω_j, bush_speed ω_b, load_speed: of the load's direction ω_L, all absolute and
    in one sense [rad/s]. |ω_j + ω_b - 2 ω_L|: a load that turns with the journal is carried as
    well as a fixed one, a load at half its speed not at all. Exact for a load of constant size.
    Source: [BOOKER].
    """
    total = np.asarray(journal_speed) + bush_speed - 2 * np.asarray(load_speed)
    return np.abs(total)


def effective_speed_at_firing(
    *, angular_speed: Floats, crank_radius: Floats, rod_length: Floats
) -> Floats:
    """Return the effective speed for the gas load about firing top dead centre [rad/s].

    angular_speed: of the crank ω [rad/s]. crank_radius r, rod_length l [m].
    The load points along the rod and swings with it at -λ ω, so ω_j + ω_b - 2 ω_L = ω (1 + λ),
    λ = r / l. Exact at dead centre. Source: [BOOKER].
    """
    require_positive("rod length", rod_length, "m")
    swing = -np.asarray(angular_speed) * crank_radius / rod_length
    return effective_speed(journal_speed=angular_speed, bush_speed=swing, load_speed=swing)


def effective_speed_at_overlap(
    *,
    angular_speed: Floats,
    crank_radius: Floats,
    rod_length: Floats,
    reciprocating_mass: Floats,
    turning_mass: Floats,
) -> Floats:
    """Return the effective speed for the pull of inertia about overlap dead centre [rad/s].

    angular_speed: of the crank ω [rad/s]. crank_radius r, rod_length l [m], λ = r / l.
    reciprocating_mass M, turning_mass: of the big end m [kg].
    The turning part of the load turns with ω, the rest with the rod at -λ ω, so
    ω_L = ω (m - λ M (1 + λ)) / (m + M (1 + λ)) and the effective speed is |ω (1 - λ) - 2 ω_L|: far
    less than at firing. Exact at dead centre without gas force. Source: [BOOKER].
    """
    require_positive("rod length", rod_length, "m")
    require_positive("reciprocating mass", reciprocating_mass, "kg")
    speed, ratio = np.asarray(angular_speed), np.asarray(crank_radius) / rod_length
    pull, turn = np.asarray(reciprocating_mass) * (1 + ratio), np.asarray(turning_mass)
    load = speed * (turn - ratio * pull) / (turn + pull)
    return effective_speed(journal_speed=speed, bush_speed=-ratio * speed, load_speed=load)


# In ln S over the logit of ε the table runs straight at both ends with slope -1: load grows with
# ε when it is small and with 1/(1 - ε) as the surfaces close. So the grid may be coarse and the
# curve is continued straight beyond the table.
_LOGIT = np.log(ECCENTRICITIES / (1 - ECCENTRICITIES))
_GRID = np.linspace(_LOGIT[0], _LOGIT[-1], 512)
_CURVES = PchipInterpolator(_LOGIT, np.log(SOMMERFELD_NUMBERS), axis=1)(_GRID)
_LOG_RATIOS = np.log(LENGTH_RATIOS)


def _length_weights(length_to_diameter: Floats) -> Array:
    """Return weights (3, ...) of the three L/D rows: a parabola in ln(L/D)."""
    require_between("length / diameter", length_to_diameter, 0.25, 1)
    x = np.log(np.asarray(length_to_diameter, dtype=float))
    a, b, c = _LOG_RATIOS
    return np.stack(
        [
            (x - b) * (x - c) / ((a - b) * (a - c)),
            (x - a) * (x - c) / ((b - a) * (b - c)),
            (x - a) * (x - b) / ((c - a) * (c - b)),
        ]
    )


def _log_sommerfeld(index: npt.NDArray[np.int_], weights: Array) -> Array:
    return np.asarray((weights * _CURVES[:, index]).sum(axis=0))


def steady_sommerfeld(*, eccentricity: Floats, length_to_diameter: Floats) -> Floats:
    """Return the Sommerfeld number at which a steady load holds the journal at ε [-].

    eccentricity: ε [-], 0.1 to 0.995. length_to_diameter: L/D [-], 0.25 to 1. Interpolated in
    `SOMMERFELD_NUMBERS`, within about 3 %. Source: [RAIMONDI-BOYD]; [REYNOLDS-FD].
    """
    e, ratio = np.broadcast_arrays(
        np.asarray(eccentricity, dtype=float), np.asarray(length_to_diameter, dtype=float)
    )
    require_between("eccentricity ratio", e, 0.1, 0.995)
    weights = _length_weights(ratio)
    place = (np.log(e / (1 - e)) - _GRID[0]) / (_GRID[1] - _GRID[0])
    low = np.clip(place.astype(int), 0, _GRID.size - 2)
    first, second = _log_sommerfeld(low, weights), _log_sommerfeld(low + 1, weights)
    return np.exp(first + (place - low) * (second - first))
