"""The full-load curve that a data sheet's two points stand for."""

import numpy as np

from torquerisk.quantities import Array

SPEEDS = 5
"""Speeds of that curve."""


def through_two_points(
    torque: float, torque_speed: float, power: float, power_speed: float
) -> tuple[Array, Array]:
    """Speeds and torques (SPEEDS,) of a smooth full-load curve [rad/s, N*m].

    Level at the torque point; at the power point power is greatest, so torque falls there by T/w,
    or three times the chord's slope where that is less: a cubic that only falls between them
    (Fritsch and Carlson, SIAM J. Numer. Anal. 17 (1980) 238, from memory).
    """
    end = power / power_speed
    span = power_speed - torque_speed
    if span < 1e-6 * power_speed:
        speed = np.linspace(0.9, 1.0, SPEEDS) * power_speed
        return speed, np.full(SPEEDS, torque)
    chord = min((end - torque) / span, 0.0)
    slope = max(-end / power_speed, 3 * chord)
    share = np.linspace(0.0, 1.0, SPEEDS)
    level, rest = (1 + 2 * share) * (1 - share) ** 2, share**2 * (3 - 2 * share)
    bend = share**2 * (share - 1) * span * slope
    return torque_speed + share * span, torque * level + end * rest + bend
