"""Positions and first derivatives of the slider-crank, which the package has no use for."""

import numpy as np

from torquerisk.physics.arrays import Floats
from torquerisk.physics.cylinder.geometry import CylinderGeometry, _crank, bore_area
from torquerisk.physics.running_gear.slider_crank import _sine_of_rod_angle, rod_angle_slope


def rod_angular_velocity(
    *,
    angle: Floats,
    angular_speed: Floats,
    crank_radius: Floats,
    rod_length: Floats,
    pin_offset: Floats = 0.0,
) -> Floats:
    """Return the rod's angular velocity dφ/dt [rad/s] in the sense of growing φ.

    angular_speed: of the crank ω [rad/s], constant; the rest as in `rod_angle`. Growing φ turns
    the rod *against* the crank's sense. Exact. Source: [KTM] ch. 15.
    """
    return angular_speed * rod_angle_slope(
        angle=angle, crank_radius=crank_radius, rod_length=rod_length, pin_offset=pin_offset
    )


def piston_position(
    *, angle: Floats, crank_radius: Floats, rod_length: Floats, pin_offset: Floats = 0.0
) -> Floats:
    """Return the piston's distance x from its own top dead centre [m], positive downwards.

    Arguments as in `rod_angle`. x = √((l + r)² - e²) - r cos θ - l cos φ. Exact.
    Source: [KTM] ch. 15 (offset added).
    """
    sine = _sine_of_rod_angle(angle, crank_radius, rod_length, pin_offset)
    top = np.sqrt((rod_length + crank_radius) ** 2 - np.square(pin_offset))
    return top - crank_radius * np.cos(angle) - rod_length * np.sqrt(1 - sine**2)


def position_slope(
    *, angle: Floats, crank_radius: Floats, rod_length: Floats, pin_offset: Floats = 0.0
) -> Floats:
    """Return dx/dθ [m/rad].

    Arguments as in `rod_angle`. dx/dθ = r sin θ + r cos θ tan φ. Exact. Source: [KTM] ch. 15.
    """
    sine = _sine_of_rod_angle(angle, crank_radius, rod_length, pin_offset)
    return crank_radius * (np.sin(angle) + np.cos(angle) * sine / np.sqrt(1 - sine**2))


def piston_velocity(
    *,
    angle: Floats,
    angular_speed: Floats,
    crank_radius: Floats,
    rod_length: Floats,
    pin_offset: Floats = 0.0,
) -> Floats:
    """Return the piston's velocity [m/s], positive towards the crankshaft.

    angular_speed: of the crank ω [rad/s], constant; the rest as in `rod_angle`.
    v = ω dx/dθ. Exact. Source: [KTM] ch. 15.
    """
    return angular_speed * position_slope(
        angle=angle, crank_radius=crank_radius, rod_length=rod_length, pin_offset=pin_offset
    )


def travel(*, crank_radius: Floats, rod_length: Floats, pin_offset: Floats = 0.0) -> Floats:
    """Return the piston's whole travel [m]: the stroke, longer than 2 r when offset.

    Arguments as in `rod_angle`. √((l + r)² - e²) - √((l - r)² - e²). Exact.
    Source: [KTM] ch. 15 (offset added).
    """
    _sine_of_rod_angle(0.0, crank_radius, rod_length, pin_offset)
    square = np.square(pin_offset)
    return np.sqrt((rod_length + crank_radius) ** 2 - square) - np.sqrt(
        (rod_length - crank_radius) ** 2 - square
    )


def volume_rate(angle: Floats, geometry: CylinderGeometry) -> Floats:
    """Rate of cylinder volume with crank angle dV/dtheta [m3/rad]; exact.

    angle: from firing top dead centre [rad]. Source: [HEYWOOD] section 2.2, differentiated.
    """
    crank, half, _ = _crank(angle, geometry)
    aside = half * np.sin(crank) - geometry.pin_offset
    along = np.sqrt(np.square(geometry.rod_length) - np.square(aside))
    return bore_area(geometry) * half * (np.sin(crank) + np.cos(crank) * aside / along)
