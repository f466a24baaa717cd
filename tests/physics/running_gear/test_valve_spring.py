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
    gentle = 0.025 / 2 * (2 * np.pi / (110 * DEGREE)) ** 2
    assert gentle * (750 * RPM) ** 2 == pytest.approx(825.9, abs=0.1)
    force = vs.inertia_force(0.4, gentle, 1500 * RPM)
    assert force + weight == pytest.approx(334.3, abs=0.1)


def test_boost_on_an_intake_valve() -> None:
    """Derived check: 34 mm and 2.0 bar difference put 182 N on the valve."""
    assert vs.pressure_force_on_head(2e5, 0.034) == pytest.approx(182, abs=0.5)


def test_refusals_name_the_argument() -> None:
    """Edge: a valve without mass and a head without size."""
    with pytest.raises(OutOfRangeError, match="mass"):
        vs.inertia_force(0.0, 0.02, 600.0)
    with pytest.raises(OutOfRangeError, match="head_diameter"):
        vs.pressure_force_on_head(1e5, 0.0)
