"""Checks of valve springs."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.running_gear import valve_spring as vs
from torquerisk.quantities import DEGREE

RPM = 2 * np.pi / 60


def test_khurmi_gupta_valve_of_51_mm() -> None:
    """Khurmi & Gupta ch. 32 (V1, seen): 51 mm, 0.4 and 0.025 N/mm^2, 3 N: 817 N, 820 N, 48 N."""
    gas = vs.pressure_force_on_head(0.4e6, 0.051)
    assert gas == pytest.approx(817, abs=0.5)
    assert gas + 3 == pytest.approx(820, abs=0.5)
    assert vs.pressure_force_on_head(0.025e6, 0.051) - 3 == pytest.approx(48, abs=0.5)


def test_khurmi_gupta_example_32_7() -> None:
    """Khurmi & Gupta Ex. 32.7 (V2): 80 mm, lift 25, 0.4 kg, 110 deg of cam, 1,500 rpm.

    Spring 96.6 N on the seat (seen); gas 2014.5 N, acceleration 825.9 m/s^2 and 334.3 N with the
    unrounded time (derived; the book rounds the time to 0.024 s).
    """
    weight = 0.4 * 9.81
    assert vs.pressure_force_on_head(0.02e6, 0.080) - weight == pytest.approx(96.6, abs=0.05)
    assert vs.pressure_force_on_head(0.4e6, 0.080) + weight == pytest.approx(2014.5, abs=0.1)
    gentle = vs.harmonic_deceleration(0.025, 110 * DEGREE)
    assert gentle * (750 * RPM) ** 2 == pytest.approx(825.9, abs=0.1)
    force = vs.inertia_force(0.4, gentle, 1500 * RPM)
    assert force + weight == pytest.approx(334.3, abs=0.1)


def test_boost_on_an_intake_valve() -> None:
    """Derived check: 34 mm and 2.0 bar difference put 182 N on the valve."""
    assert vs.pressure_force_on_head(2e5, 0.034) == pytest.approx(182, abs=0.5)


def test_float_speed_fed_back_uses_the_spring_up() -> None:
    """Identity: at the float speed the inertia force is the spring force."""
    force, mass, gentle = np.array([400.0, 600.0]), 0.11, 0.018
    assert vs.inertia_force(mass, gentle, vs.float_speed(force, mass, gentle)) == pytest.approx(
        force
    )


def test_float_goes_with_root_of_force_over_mass() -> None:
    """Metamorphic: four times the spring, twice the speed; four times the mass, half."""
    base = vs.float_speed(400.0, 0.1, 0.02)
    assert vs.float_speed(1600.0, 0.1, 0.02) == pytest.approx(2 * base)
    assert vs.float_speed(400.0, 0.4, 0.02) == pytest.approx(base / 2)


def test_float_speed_of_an_ordinary_valve_gear() -> None:
    """Common practice, no source: 100 g bucket gear, 550 N at 9 mm: 7,500-10,500 rpm."""
    gentle = vs.harmonic_deceleration(0.009, 120 * DEGREE) * 0.75
    mass = vs.effective_mass(0.045, 0.010, 0.045, 0.030)
    assert mass == pytest.approx(0.100)
    assert 7500 < vs.float_speed(550.0, mass, gentle) / RPM < 10500


def test_harmonic_deceleration_is_the_second_derivative() -> None:
    """Identity: numerical second derivative of the harmonic lift at its top."""
    lift, duration, step = 0.010, 2.0, 1e-4
    y = [
        lift / 2 * (1 - np.cos(2 * np.pi * (duration / 2 + k * step) / duration))
        for k in (-1, 0, 1)
    ]
    numeric = -(y[0] - 2 * y[1] + y[2]) / step**2
    assert vs.harmonic_deceleration(lift, duration) == pytest.approx(numeric, rel=1e-6)


def test_effective_mass_conserves_kinetic_energy() -> None:
    """Identity: sum of the parts' energies at a valve speed of 3 m/s, rocker 1.5 to 1."""
    ratio, arm, speed = 1.5, 0.04, 3.0
    mass = vs.effective_mass(0.06, 0.02, 0.06, 0.05, 2e-5, arm, ratio)
    energy = 0.5 * (0.06 + 0.02) * speed**2 + 0.5 * 0.06 / 3 * speed**2
    energy += 0.5 * 0.05 * (speed / ratio) ** 2 + 0.5 * 2e-5 * (speed / arm) ** 2
    assert 0.5 * mass * speed**2 == pytest.approx(energy)


def test_seat_margin_is_zero_at_the_lifting_pressure() -> None:
    """Identity: the pressure that lifts a valve leaves nothing on its seat."""
    pressure = vs.pressure_to_lift_off_seat(250.0, 0.034)
    assert vs.seat_margin(250.0, pressure, 0.034) == pytest.approx(0.0, abs=1e-9)
    assert vs.seat_margin(250.0, 2 * pressure, 0.034) == pytest.approx(-250.0)


def test_linear_spring() -> None:
    """Identity: seat force plus rate times lift."""
    assert vs.spring_force_at_lift(250.0, 30e3, 0.010) == pytest.approx(550.0)


def test_refusals_name_the_argument() -> None:
    """Edge: degrees for radians and a spring that is none."""
    with pytest.raises(OutOfRangeError, match="cam_duration is 110"):
        vs.harmonic_deceleration(0.01, 110.0)
    with pytest.raises(OutOfRangeError, match="spring_force"):
        vs.float_speed(0.0, 0.1, 0.02)
