"""Checks of fuel supply."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.supply import fuel

RPM = 2 * np.pi / 60


def test_specific_consumption_of_a_third() -> None:
    """Heywood 1988 section 2.8, from memory: best spark engines near 270 g/(kW h), eta about 0.31

    at 43.4 MJ/kg: 3600/(0.31 x 43.4) = 267.6 g/(kW h).
    """
    flow = fuel.fuel_mass_flow(1e3 / 300.0, 300.0, 43.4e6, 0.31)
    assert flow * 3600 * 1e3 == pytest.approx(267.6, abs=0.1)


def test_ethanol_needs_about_half_more_fuel() -> None:
    """Blend table above: E85 needs 49 % more mass than petrol at equal power and efficiency."""
    petrol = fuel.fuel_mass_flow(400.0, 500.0, 43.4e6, 0.33)
    assert fuel.fuel_mass_flow(400.0, 500.0, 29.17e6, 0.33) / petrol == pytest.approx(
        1.488, abs=0.001
    )


def test_refusals_name_the_argument() -> None:
    """Edge: MJ for J, efficiency in percent."""
    with pytest.raises(OutOfRangeError, match=r"lower_heating_value is 43\.4"):
        fuel.fuel_mass_flow(300.0, 300.0, 43.4, 0.3)
    with pytest.raises(OutOfRangeError, match="brake_efficiency is 30"):
        fuel.fuel_mass_flow(300.0, 300.0, 43e6, 30.0)
