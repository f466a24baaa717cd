"""Checks of charge supply."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.supply import charge


def test_density_of_the_standard_atmosphere() -> None:
    """ISO 2533 standard atmosphere: 1.225 kg/m^3 at 101.325 kPa and 288.15 K."""
    assert charge.air_density(101325.0, 288.15) == pytest.approx(1.225, abs=5e-4)


def test_air_flow_by_hand() -> None:
    """Identity: 2 l at 6,000 rpm fill 50 times a second."""
    flow = charge.air_mass_flow(1.2, 2e-3, 6000 * 2 * np.pi / 60, 0.9)
    assert flow == pytest.approx(1.2 * 2e-3 * 50 * 0.9)


def test_torque_and_pressure_are_inverse() -> None:
    """Identity: there and back, and the reference run reproduces itself."""
    pressure = np.linspace(60e3, 350e3, 12)
    torque = charge.torque_at_manifold_pressure(pressure, 180e3, 300.0, 25.0, 1.05)
    back = charge.manifold_pressure_for_torque(torque, 180e3, 300.0, 25.0, 1.05)
    assert back == pytest.approx(pressure)
    assert charge.torque_at_manifold_pressure(180e3, 180e3, 300.0, 25.0) == pytest.approx(300.0)
    assert np.all(np.diff(torque) > 0)


def test_friction_makes_torque_rise_faster_than_pressure() -> None:
    """Metamorphic: twice the pressure gives more than twice the brake torque."""
    assert charge.torque_at_manifold_pressure(360e3, 180e3, 300.0, 25.0) == pytest.approx(625.0)


def test_sensor_ceiling_is_the_torque_at_its_usable_range() -> None:
    """Identity: the pressure that the ceiling torque needs is the usable end of the sensor."""
    torque = charge.sensor_ceiling_torque(300e3, 180e3, 300.0, 25.0)
    needed = charge.manifold_pressure_for_torque(torque, 180e3, 300.0, 25.0)
    assert needed == pytest.approx(0.97 * 300e3)


def test_wastegate_balance() -> None:
    """Identity: at the crack pressure the moments cancel; exhaust push lowers it."""
    spring, diaphragm, valve, push, lever = 120.0, 1.5e-3, 5e-4, 40e3, 1.2
    boost = charge.wastegate_crack_boost(spring, diaphragm, valve, push, lever)
    assert boost * diaphragm + push * valve * lever == pytest.approx(spring)
    assert charge.wastegate_crack_boost(spring, diaphragm, valve, 0.0) == pytest.approx(80e3)


def test_evaporation_cools_as_known() -> None:
    """Heywood 1988 section 6.2 and practice, from memory: petrol at lambda 1 cools air 19-25 K."""
    assert 19 < charge.evaporative_cooling(1 / 14.6, 305e3, 1.0) < 25
    ethanol = charge.evaporative_cooling(1 / 9.0, 840e3, 1.0)
    assert 80 < ethanol < 100


def test_refusals_name_the_argument() -> None:
    """Edge: kilopascal mixed with pascal shows in the temperature and share checks."""
    with pytest.raises(OutOfRangeError, match="temperature_ratio"):
        charge.torque_at_manifold_pressure(2e5, 1.8e5, 300.0, 25.0, 330.0)
    with pytest.raises(OutOfRangeError, match="usable_share"):
        charge.sensor_ceiling_torque(3e5, 1.8e5, 300.0, 25.0, 97.0)
    with pytest.raises(OutOfRangeError, match="friction_torque"):
        charge.torque_at_manifold_pressure(2e5, 1.8e5, 300.0, -25.0)
