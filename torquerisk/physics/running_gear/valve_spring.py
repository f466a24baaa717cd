"""Valve springs: the speed at which a valve floats, and boost that lifts it off its seat."""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_positive


def inertia_force(mass: Floats, deceleration_per_cam_speed: Floats, engine_speed: Floats) -> Array:
    """Force needed to keep the valve gear on its cam [N].

    mass: effective at the valve [kg]; deceleration_per_cam_speed: peak negative d2y/dphi2 at the
    valve [m/rad^2], as a positive number; engine_speed: [rad/s]. m c (omega/2)^2. Exact for rigid
    valve gear; the cam turns at half engine speed.
    Source: [NEWTON]
    """
    require_positive("mass", mass, "kg")
    require_positive("deceleration_per_cam_speed", deceleration_per_cam_speed, "m/rad^2")
    require("engine_speed", engine_speed, "0 or more rad/s", lambda x: x >= 0)
    cam_speed = 0.5 * np.asarray(engine_speed, float)
    return np.asarray(np.asarray(mass, float) * deceleration_per_cam_speed * cam_speed**2)


def pressure_force_on_head(pressure_difference: Floats, head_diameter: Floats) -> Array:
    """Force [N] that a pressure difference puts on a valve head: pi/4 d^2 dp. Exact.

    pressure_difference: port minus cylinder, positive when it opens the valve [Pa]; head_diameter:
    on the seat [m].
    Source: [KHURMI_GUPTA] section 32.22
    """
    require_positive("head_diameter", head_diameter, "m")
    area = 0.25 * np.pi * np.asarray(head_diameter, float) ** 2
    return np.asarray(area * np.asarray(pressure_difference, float))
