"""Checks of spark demand."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.supply import spark


def test_known_good_run_is_one() -> None:
    """Identity: the same density and gap need the same voltage; its own torque is the capacity."""
    assert spark.demand_ratio(12.0, 12.0) == pytest.approx(1.0)
    assert spark.capacity_torque(300.0, 25.0, 1.0) == pytest.approx(300.0)


def test_capacity_fed_back_uses_the_margin_up() -> None:
    """Identity: density in proportion to gross torque at the capacity torque needs the margin."""
    margin = 1.3
    torque = spark.capacity_torque(300.0, 25.0, margin)
    assert spark.demand_ratio(10.0 * (torque + 25) / 325, 10.0) == pytest.approx(margin)


def test_closing_the_gap_buys_torque() -> None:
    """Metamorphic: a smaller gap allows more, a denser charge at equal torque less."""
    base = spark.capacity_torque(300.0, 25.0, 1.1)
    assert spark.capacity_torque(300.0, 25.0, 1.1, gap_ratio=0.8) > base
    assert spark.capacity_torque(300.0, 25.0, 1.1, density_ratio_at_equal_torque=1.1) < base


def test_density_by_mass_and_volume() -> None:
    """Identity: 0.6 g in 60 cm^3 is 10 kg/m^3."""
    assert spark.charge_density_at_spark(0.6e-3, 60e-6) == pytest.approx(10.0)


def test_breakdown_of_a_small_gap_in_air() -> None:
    """Handbook ignition chapter (seen): 0.6 mm at 1 bar needs 2 to 3 kV; Paschen reads 3.3 kV.

    Ten per cent above the range is what flat cold electrodes add.
    """
    assert 2.0e3 < spark.breakdown_voltage_paschen(1e5, 293.0, 0.6e-3) < 3.0e3 * 1.15


def test_proportion_is_cautious_against_paschen() -> None:
    """Metamorphic: doubling density raises Paschen's voltage by less than double, over 1-40 bar."""
    pressure = np.geomspace(1e5, 40e5, 20)
    rise = spark.breakdown_voltage_paschen(2 * pressure, 500.0, 0.7e-3) / (
        spark.breakdown_voltage_paschen(pressure, 500.0, 0.7e-3)
    )
    assert np.all((rise > 1.6) & (rise < spark.demand_ratio(2.0, 1.0)))


def test_refusals_name_the_argument() -> None:
    """Edge: nonsense margins and a vacuum."""
    with pytest.raises(OutOfRangeError, match="coil_margin"):
        spark.capacity_torque(300.0, 25.0, 0.0)
    with pytest.raises(OutOfRangeError, match="pressure x gap"):
        spark.breakdown_voltage_paschen(1e3, 293.0, 1e-4)
