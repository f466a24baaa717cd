"""Exact motion of piston and connecting rod in a slider-crank with pin offset.

Sign convention, used by every module of the running gear:

- crank angle 0 is crank top dead centre (throw along the cylinder axis), positive after it;
- position is measured from the piston's own top dead centre, positive towards the crankshaft;
  so velocity and acceleration are positive towards the crankshaft, acceleration is positive
  at top dead centre, and the inertia force there (-m a) points away from the crankshaft:
  it relieves the rod of gas compression;
- rod angle is positive when the big end lies on the side to which the throw moves after top
  dead centre (the minor thrust side); the piston then leans on the major thrust side;
- pin offset is positive towards the major thrust side and moves the pin's line of travel off
  the crankshaft axis. An offset of the cylinder against the crankshaft is the same thing.

Angular speed is constant: the speed ripple within one turn is left out.
All arguments broadcast; for angle (T,) times lanes (n,) pass `angle[:, None]`.
"""

from typing import NotRequired, TypedDict, Unpack

import numpy as np

from torquerisk.physics.arrays import Floats, require


class Crank(TypedDict):
    """The crank's own measures, as in `rod_angle`."""

    crank_radius: Floats
    rod_length: Floats
    pin_offset: NotRequired[Floats]


def _sine_of_rod_angle(
    angle: Floats, crank_radius: Floats, rod_length: Floats, pin_offset: Floats
) -> Floats:
    require("crank radius", crank_radius, "above 0 m", lambda x: (x > 0) & np.isfinite(x))
    require(
        "rod length / (crank radius + |pin offset|)",
        np.asarray(rod_length) / (crank_radius + np.abs(pin_offset)),
        "above 1, or the crank cannot turn",
        lambda x: (x > 1) & np.isfinite(x),
    )
    require("crank angle", angle, "a finite angle in radians", np.isfinite)
    return (crank_radius * np.sin(angle) + pin_offset) / rod_length


def _sine_and_ratio(
    angle: Floats, crank_radius: Floats, rod_length: Floats, pin_offset: Floats = 0.0
) -> tuple[Floats, Floats]:
    """Return sin φ and λ = r / l [-]."""
    sine = _sine_of_rod_angle(angle, crank_radius, rod_length, pin_offset)
    return sine, np.asarray(crank_radius) / rod_length


def rod_angle(
    *, angle: Floats, crank_radius: Floats, rod_length: Floats, pin_offset: Floats = 0.0
) -> Floats:
    """Return the angle φ between connecting rod and cylinder axis [rad].

    angle: crank angle θ [rad]. crank_radius: half the stroke r [m]. rod_length: between
    centres l [m]. pin_offset: e [m], positive towards the major thrust side.
    sin φ = (r sin θ + e) / l. Exact. Source: [KTM] ch. 15 (offset added).
    """
    return np.arcsin(_sine_of_rod_angle(angle, crank_radius, rod_length, pin_offset))


def rod_angle_slope(*, angle: Floats, **crank: Unpack[Crank]) -> Floats:
    """Return dφ/dθ [-], the rod's angular velocity per crank angular speed.

    angle, crank: as in `rod_angle`. dφ/dθ = r cos θ / (l cos φ). Exact. Source: [KTM] ch. 15.
    """
    sine, ratio = _sine_and_ratio(angle, **crank)
    return ratio * np.cos(angle) / np.sqrt(1 - sine**2)


def rod_angle_curvature(*, angle: Floats, **crank: Unpack[Crank]) -> Floats:
    """Return d²φ/dθ² [-], the rod's angular acceleration per crank angular speed squared.

    angle, crank: as in `rod_angle`. d²φ/dθ² = (l sin φ (dφ/dθ)² - r sin θ) / (l cos φ). Exact.
    Source: [KTM] ch. 15.
    """
    sine, ratio = _sine_and_ratio(angle, **crank)
    cosine = np.sqrt(1 - sine**2)
    slope = ratio * np.cos(angle) / cosine
    return (sine * slope**2 - ratio * np.sin(angle)) / cosine


def rod_angular_acceleration(
    *, angle: Floats, angular_speed: Floats, **crank: Unpack[Crank]
) -> Floats:
    """Return the rod's angular acceleration d²φ/dt² [rad/s²] in the sense of growing φ.

    angular_speed: of the crank ω [rad/s], constant; the rest as in `rod_angle`. Exact.
    Source: [KTM] ch. 15.
    """
    return np.square(angular_speed) * rod_angle_curvature(angle=angle, **crank)


def position_curvature(*, angle: Floats, **crank: Unpack[Crank]) -> Floats:
    """Return d²x/dθ² [m/rad²].

    angle, crank: as in `rod_angle`.
    d²x/dθ² = r cos θ - r sin θ tan φ + r cos θ (dφ/dθ) / cos² φ. Exact; without offset it is
    r [cos θ + λ (cos 2θ + λ² sin⁴ θ) / (1 - λ² sin² θ)^1.5] with λ = r / l.
    Source: [KTM] ch. 15.
    """
    sine, ratio = _sine_and_ratio(angle, **crank)
    cosine = np.sqrt(1 - sine**2)
    cos_crank, sin_crank = np.cos(angle), np.sin(angle)
    swing = ratio * cos_crank**2 / cosine**3
    return crank["crank_radius"] * (cos_crank - sin_crank * sine / cosine + swing)


def piston_acceleration(*, angle: Floats, angular_speed: Floats, **crank: Unpack[Crank]) -> Floats:
    """Return the piston's acceleration [m/s²], positive towards the crankshaft.

    angular_speed: of the crank ω [rad/s], constant; the rest as in `rod_angle`.
    a = ω² d²x/dθ² at constant speed. Exact; without offset
    r ω² (1 + λ) at top and -r ω² (1 - λ) at bottom dead centre. Source: [KTM] ch. 15.
    """
    return np.square(angular_speed) * position_curvature(angle=angle, **crank)


def acceleration_extremes(
    *, crank_radius: float, rod_length: float, pin_offset: float = 0.0
) -> tuple[float, float]:
    """Return the piston's greatest acceleration towards the crankshaft and away, over r ω² [-].

    Arguments as in `rod_angle`. The first stands at top dead centre, 1 + λ without offset. The
    second stands at bottom dead centre, 1 - λ, only up to λ = 1/4 or so; beyond, before and after
    it. On a quarter-degree grid, low by less than 1e-5. Source: [KTM] ch. 15.
    """
    angle = np.linspace(0.0, 2 * np.pi, 1441)
    values = position_curvature(
        angle=angle, crank_radius=crank_radius, rod_length=rod_length, pin_offset=pin_offset
    )
    share = np.asarray(values) / crank_radius
    return float(share.max()), float(-share.min())


def top_dead_centre_angle(
    *, crank_radius: Floats, rod_length: Floats, pin_offset: Floats = 0.0
) -> Floats:
    """Return the crank angle at which the piston stands at its own top dead centre [rad].

    Arguments as in `rod_angle`. -arcsin(e / (l + r)): 0 without offset. Exact: throw and rod
    in one line.
    Source: [KTM] ch. 15 (offset added).
    """
    _sine_of_rod_angle(0.0, crank_radius, rod_length, pin_offset)
    return -np.arcsin(np.asarray(pin_offset) / (rod_length + crank_radius))


def mean_piston_speed(*, stroke: Floats, angular_speed: Floats) -> Floats:
    """Return the mean piston speed [m/s].

    stroke: S [m]. angular_speed: ω [rad/s]. S ω / π. Exact. Source: [HEYWOOD] eq. 2.9.
    """
    require("stroke", stroke, "above 0 m", lambda x: (x > 0) & np.isfinite(x))
    require("angular speed", angular_speed, "0 rad/s or more", lambda x: (x >= 0) & np.isfinite(x))
    return np.asarray(stroke) * angular_speed / np.pi
