"""Valve springs: the speed at which a valve floats, and boost that lifts it off its seat."""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_positive

STANDARD_GRAVITY = 9.81
FLOAT_MARGIN = 0.15
"""Usual excess of spring force over need at over-speed: 10 to 20 %."""
FLOAT_SPEED_RELATIVE_SD = 0.08
"""Spread of `float_speed`: surge, valve-gear stiffness, spring ageing."""


def effective_mass(
    valve_mass: Floats,
    retainer_mass: Floats,
    spring_mass: Floats,
    follower_mass: Floats = 0.0,
    rocker_inertia: Floats = 0.0,
    rocker_valve_arm: Floats = 1.0,
    rocker_ratio: Floats = 1.0,
) -> Array:
    """Mass that the spring must drive, referred to the valve [kg].

    valve_mass; retainer_mass: retainer and locks; spring_mass: whole spring, one third counts;
    follower_mass: on the cam side of the rocker (or the bucket, ratio 1) [kg]; rocker_inertia:
    about its pivot [kg*m^2]; rocker_valve_arm: pivot to valve [m]; rocker_ratio: valve lift over
    follower lift R [-].
    m = m_v + m_r + m_s/3 + m_f/R^2 + J/a^2. Equal kinetic energy: exact for rigid parts and a
    spring that deflects evenly (no surge).
    Source: [RAYLEIGH] for the third; kinetic energy for the rest
    """
    for name, value in (
        ("valve_mass", valve_mass),
        ("rocker_valve_arm", rocker_valve_arm),
        ("rocker_ratio", rocker_ratio),
    ):
        require_positive(name, value, "")
    for name, value in (
        ("retainer_mass", retainer_mass),
        ("spring_mass", spring_mass),
        ("follower_mass", follower_mass),
        ("rocker_inertia", rocker_inertia),
    ):
        require(name, value, "0 or more", lambda x: x >= 0)
    follower = np.asarray(follower_mass, float) / np.asarray(rocker_ratio, float) ** 2
    rocker = np.asarray(rocker_inertia, float) / np.asarray(rocker_valve_arm, float) ** 2
    return np.asarray(
        np.asarray(valve_mass, float)
        + retainer_mass
        + np.asarray(spring_mass) / 3
        + follower
        + rocker
    )


def harmonic_deceleration(valve_lift: Floats, cam_duration: Floats) -> Array:
    """Peak deceleration per square of cam speed of a harmonic lift [m/rad^2].

    valve_lift: greatest lift h [m]; cam_duration: cam angle from opening to closing phi [rad] (half
    the crank duration). (h/2)(2 pi/phi)^2: lift h/2 (1 - cos(2 pi theta/phi)). Exact for that
    lift; real cams close their nose more gently, by a factor of 0.6 to 1, so this is cautious.
    Source: [KHURMI_GUPTA] example 32.7
    """
    require_positive("valve_lift", valve_lift, "m")
    require("cam_duration", cam_duration, "between 0.8 and 4 rad", lambda x: (x >= 0.8) & (x <= 4))
    return np.asarray(
        0.5 * np.asarray(valve_lift, float) * (2.0 * np.pi / np.asarray(cam_duration, float)) ** 2
    )


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


def float_speed(spring_force: Floats, mass: Floats, deceleration_per_cam_speed: Floats) -> Array:
    """Engine speed at which the valve leaves its cam [rad/s].

    spring_force: at the lift of greatest deceleration (near full lift) [N]; mass and
    deceleration_per_cam_speed: as `inertia_force`. omega = 2 sqrt(F/(m c)). Exact for rigid valve
    gear without surge; spread FLOAT_SPEED_RELATIVE_SD.
    Source: [NEWTON]; [PRACTICE]
    """
    require_positive("spring_force", spring_force, "N")
    require_positive("mass", mass, "kg")
    require_positive("deceleration_per_cam_speed", deceleration_per_cam_speed, "m/rad^2")
    stiff = np.asarray(mass, float) * deceleration_per_cam_speed
    return np.asarray(2.0 * np.sqrt(np.asarray(spring_force, float) / stiff))


def spring_force_at_lift(seat_force: Floats, spring_rate: Floats, valve_lift: Floats) -> Array:
    """Spring force [N] at a lift: seat force + rate x lift. Exact for a linear spring.

    seat_force: closed [N]; spring_rate: [N/m]; valve_lift: [m].
    Source: Hooke's law
    """
    require_positive("seat_force", seat_force, "N")
    require("spring_rate", spring_rate, "0 or more N/m", lambda x: x >= 0)
    require("valve_lift", valve_lift, "0 or more m", lambda x: x >= 0)
    return np.asarray(np.asarray(seat_force, float) + np.asarray(spring_rate) * valve_lift)


def pressure_force_on_head(pressure_difference: Floats, head_diameter: Floats) -> Array:
    """Force [N] that a pressure difference puts on a valve head: pi/4 d^2 dp. Exact.

    pressure_difference: port minus cylinder, positive when it opens the valve [Pa]; head_diameter:
    on the seat [m].
    Source: [KHURMI_GUPTA] section 32.22
    """
    require_positive("head_diameter", head_diameter, "m")
    area = 0.25 * np.pi * np.asarray(head_diameter, float) ** 2
    return np.asarray(area * np.asarray(pressure_difference, float))


def seat_margin(seat_force: Floats, pressure_difference: Floats, head_diameter: Floats) -> Array:
    """Force [N] left on the seat when pressure tries to open a closed valve; negative: it leaks.

    seat_force: spring on the closed valve [N]; pressure_difference and head_diameter as
    `pressure_force_on_head` (intake valve: boost minus cylinder; exhaust valve: exhaust manifold
    minus cylinder during intake). Balance of forces, exact when still; bounce needs more.
    Source: [KHURMI_GUPTA] section 32.22
    """
    require_positive("seat_force", seat_force, "N")
    return np.asarray(
        np.asarray(seat_force, float) - pressure_force_on_head(pressure_difference, head_diameter)
    )


def pressure_to_lift_off_seat(seat_force: Floats, head_diameter: Floats) -> Array:
    """Pressure difference [Pa] at which a closed valve leaves its seat: F/(pi/4 d^2). Exact.

    seat_force: [N]; head_diameter: on the seat [m].
    Source: [KHURMI_GUPTA] section 32.22
    """
    require_positive("seat_force", seat_force, "N")
    return np.asarray(np.asarray(seat_force, float) / pressure_force_on_head(1.0, head_diameter))
