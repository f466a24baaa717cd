"""Checks of charge supply."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.supply import charge


def test_torque_and_pressure_are_inverse() -> None:
    """Identity: there and back, and the reference run reproduces itself."""
    pressure = np.linspace(60e3, 350e3, 12)
    torque = charge.torque_at_manifold_pressure(pressure, 180e3, 300.0, 25.0)
    back = charge.manifold_pressure_for_torque(torque, 180e3, 300.0, 25.0)
    assert back == pytest.approx(pressure)
    assert charge.torque_at_manifold_pressure(180e3, 180e3, 300.0, 25.0) == pytest.approx(300.0)
    assert np.all(np.diff(torque) > 0)


def test_friction_makes_torque_rise_faster_than_pressure() -> None:
    """Metamorphic: twice the pressure gives more than twice the brake torque."""
    assert charge.torque_at_manifold_pressure(360e3, 180e3, 300.0, 25.0) == pytest.approx(625.0)


def test_refusals_name_the_argument() -> None:
    """Edge: friction with the sign of a loss."""
    with pytest.raises(OutOfRangeError, match="friction_torque"):
        charge.torque_at_manifold_pressure(2e5, 1.8e5, 300.0, -25.0)
