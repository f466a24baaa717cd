"""Exact slider-crank: symbolic derivatives, textbook examples, limiting cases."""

import numpy as np
import pytest
import sympy as sp
from oracles import kinematics

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.running_gear import slider_crank as sc


def per_minute(revolutions: float) -> float:
    return revolutions * 2 * np.pi / 60


@pytest.mark.parametrize("offset", [0.0, 0.0009, -0.012])
def test_derivatives_agree_with_symbolic_differentiation(offset):
    """Identity: sympy differentiates the plain geometry twice, to 1e-11 of the largest value."""
    theta, r, length, e = sp.symbols("theta r l e", real=True)
    phi = sp.asin((r * sp.sin(theta) + e) / length)
    x = sp.sqrt((length + r) ** 2 - e**2) - r * sp.cos(theta) - length * sp.cos(phi)
    geometry = {"crank_radius": 0.043, "rod_length": 0.143, "pin_offset": offset}
    values = [(r, 0.043), (length, 0.143), (e, offset)]
    angle = np.linspace(-2 * np.pi, 2 * np.pi, 97)
    pairs = [
        (x, kinematics.piston_position),
        (sp.diff(x, theta), kinematics.position_slope),
        (sp.diff(x, theta, 2), sc.position_curvature),
        (phi, sc.rod_angle),
        (sp.diff(phi, theta), sc.rod_angle_slope),
        (sp.diff(phi, theta, 2), sc.rod_angle_curvature),
    ]
    for expression, function in pairs:
        wanted = sp.lambdify(theta, expression.subs(values), "numpy")(angle)
        got = function(angle=angle, **geometry)
        assert got == pytest.approx(wanted, abs=1e-11 * np.abs(wanted).max())


def test_k1_largest_velocity():
    """[KTM] example 15.3: r 300, l 1000 mm, 200 r/min: 6.54 m/s at 75 degrees (two-term series).

    The series drops velocity terms up to r ω λ³ / 8 (0.34 % of r ω at λ = 0.3).
    """
    angle = np.radians(np.linspace(60, 90, 3001))
    speed = kinematics.piston_velocity(
        angle=angle, angular_speed=per_minute(200), crank_radius=0.3, rod_length=1.0
    )
    assert np.degrees(angle[speed.argmax()]) == pytest.approx(75, abs=0.5)
    assert speed.max() == pytest.approx(6.54, abs=0.005 + 0.3 * per_minute(200) * 0.3**3 / 8)


def test_k2_velocity_acceleration_and_its_zero():
    """[KTM] example 15.4: two-term series 4.19 m/s, 85.36 m/s², zero at 79.27 degrees.

    The series drops λ³ terms: 0.3 % on acceleration, 1 degree on its zero at λ = 0.2.
    """
    case = {"angular_speed": per_minute(180), "crank_radius": 0.3, "rod_length": 1.5}
    angle = np.radians(40)
    assert kinematics.piston_velocity(angle=angle, **case) == pytest.approx(4.19, abs=0.01)
    assert sc.piston_acceleration(angle=angle, **case) == pytest.approx(85.36, rel=0.003)
    fine = np.radians(np.linspace(60, 100, 4001))
    zero = fine[np.abs(sc.piston_acceleration(angle=fine, **case)).argmin()]
    assert np.degrees(zero) == pytest.approx(79.27, abs=1.0)


def test_k3_piston_and_rod_motion():
    """[KTM] example 15.5: 6.9 m/s, 124.91 m/s² (two-term), 5.9 rad/s, 481 rad/s².

    The book takes the rod as ω cos θ / n and ω² sin θ / n, which leaves out cos φ = 0.976 once
    in the velocity and up to three times in the acceleration.
    """
    case = {"angular_speed": per_minute(450), "crank_radius": 0.15, "rod_length": 0.6}
    angle = np.radians(60)
    assert kinematics.piston_velocity(angle=angle, **case) == pytest.approx(6.9, abs=0.05)
    assert sc.piston_acceleration(angle=angle, **case) == pytest.approx(124.91, rel=0.001)
    assert kinematics.rod_angular_velocity(angle=angle, **case) == pytest.approx(5.9, rel=1 - 0.976)
    assert -sc.rod_angular_acceleration(angle=angle, **case) == pytest.approx(481, rel=1 - 0.976**3)


def test_k10_acceleration_and_rod_swing():
    """[KTM] example 15.21: 698.5 m/s² (two-term) and -2233.1 rad/s², l/r 4.545."""
    case = {"angular_speed": per_minute(1200), "crank_radius": 0.055, "rod_length": 0.25}
    angle = np.radians(40)
    assert sc.piston_acceleration(angle=angle, **case) == pytest.approx(698.5, rel=0.004)
    assert sc.rod_angular_acceleration(angle=angle, **case) == pytest.approx(-2233.1, rel=0.03)


def test_k11_dead_centres_and_mean_speed():
    """Derived: r ω² (1 ± λ) for 86 x 143 mm at 7,000 r/min, hand calculation."""
    case = {"angular_speed": per_minute(7000), "crank_radius": 0.043, "rod_length": 0.143}
    assert sc.piston_acceleration(angle=0.0, **case) == pytest.approx(30054, abs=1)
    assert sc.piston_acceleration(angle=np.pi, **case) == pytest.approx(-16158, abs=1)
    assert sc.mean_piston_speed(stroke=0.086, angular_speed=per_minute(7000)) == pytest.approx(
        20.07, abs=0.005
    )


def test_published_mean_piston_speed():
    """Pulkrabek, Engineering Fundamentals of the ICE, example 2-1 (from memory): 9.42 m/s."""
    assert sc.mean_piston_speed(stroke=0.0942, angular_speed=per_minute(3000)) == pytest.approx(
        9.42, abs=0.005
    )


def test_cylinder_reference_values():
    """Recalculated elsewhere for 86 x 143 mm at 6,000 r/min (regression, not published)."""
    case = {"angular_speed": per_minute(6000), "crank_radius": 0.043, "rod_length": 0.143}
    angles = np.radians([0, 30, 45, 90, 180])
    expected = [22080.3, 17372.6, 12127.3, -5352.3, -11871.1]
    assert sc.piston_acceleration(angle=angles, **case) == pytest.approx(expected, abs=0.06)
    assert kinematics.piston_position(
        angle=np.pi / 2, crank_radius=0.043, rod_length=0.143
    ) == pytest.approx(0.049618, abs=1e-6)
    assert kinematics.piston_velocity(angle=np.pi / 2, **case) == pytest.approx(27.018, abs=5e-4)


def test_offset_moves_dead_centre_and_lengthens_travel():
    """Identity: position is 0 and velocity 0 at the named angle; travel spans the position."""
    geometry = {"crank_radius": 0.043, "rod_length": 0.143, "pin_offset": 0.012}
    top = sc.top_dead_centre_angle(**geometry)
    assert top < 0
    assert kinematics.piston_position(angle=top, **geometry) == pytest.approx(0, abs=1e-15)
    assert kinematics.position_slope(angle=top, **geometry) == pytest.approx(0, abs=1e-15)
    x = kinematics.piston_position(angle=np.linspace(0, 2 * np.pi, 200_001), **geometry)
    assert np.ptp(x) == pytest.approx(kinematics.travel(**geometry), rel=1e-8)
    assert kinematics.travel(**geometry) > 0.086


def test_long_rod_is_simple_harmonic():
    """Limiting case: an endless rod gives r ω² cos θ."""
    angle = np.linspace(0, 2 * np.pi, 33)
    a = sc.piston_acceleration(angle=angle, angular_speed=10.0, crank_radius=0.05, rod_length=5e6)
    assert a == pytest.approx(5.0 * np.cos(angle), abs=1e-6)


def test_angles_times_lanes():
    """Broadcast: (T, 1) angles with (n,) lanes give (T, n), lane by lane the scalar answer."""
    angle = np.linspace(-1, 1, 5)
    lanes = np.array([0.13, 0.15, 0.17])
    got = kinematics.piston_position(angle=angle[:, None], crank_radius=0.04, rod_length=lanes)
    assert got.shape == (5, 3)
    assert got[:, 1] == pytest.approx(
        kinematics.piston_position(angle=angle, crank_radius=0.04, rod_length=0.15)
    )


def test_a_rod_shorter_than_the_throw_is_refused():
    with pytest.raises(OutOfRangeError, match=r"rod length.*must be above 1, or the crank"):
        kinematics.piston_position(angle=0.0, crank_radius=0.043, rod_length=0.043)
    with pytest.raises(OutOfRangeError, match="or the crank"):
        sc.rod_angle(angle=0.0, crank_radius=0.043, rod_length=0.050, pin_offset=-0.01)
    with pytest.raises(OutOfRangeError, match="crank angle"):
        sc.rod_angle(angle=np.nan, crank_radius=0.043, rod_length=0.143)


@pytest.mark.parametrize("ratio", [0.18, 0.24, 0.29, 0.33])
def test_greatest_upward_acceleration_leaves_the_bottom_at_long_throws(ratio):
    """[KTM] ch. 15: away from the crank -(1 - λ) at bottom dead centre up to λ of about 1/4; the
    two-term series puts it at λ + 1/(8 λ), off the bottom, beyond (exact within its 2 %)."""
    down, up = sc.acceleration_extremes(crank_radius=ratio, rod_length=1.0)
    assert down == pytest.approx(1 + ratio, rel=1e-9)
    if ratio <= 0.25:
        assert up == pytest.approx(1 - ratio, rel=1e-4)
    else:
        assert up == pytest.approx(ratio + 1 / (8 * ratio), rel=0.02)
        assert up > 1 - ratio
