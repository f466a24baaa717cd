"""Checks of fuel supply."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.supply import fuel

RPM = 2 * np.pi / 60


def test_supply_and_demand_are_inverse() -> None:
    """Identity: feed the capacity torque back and the flow is used up exactly."""
    speed = np.linspace(1000, 9000, 9) * RPM
    torque = fuel.capacity_torque(0.020, speed, 43e6, 0.30)
    assert fuel.fuel_mass_flow(torque, speed, 43e6, 0.30) == pytest.approx(0.020)
    assert np.all(np.diff(torque) < 0)


def test_specific_consumption_of_a_third() -> None:
    """Heywood 1988 section 2.8, from memory: best spark engines near 270 g/(kW h), eta about 0.31

    at 43.4 MJ/kg: 3600/(0.31 x 43.4) = 267.6 g/(kW h).
    """
    value = fuel.brake_specific_consumption(0.31, 43.4e6) * 1e3 * 3.6e6
    assert value == pytest.approx(267.6, abs=0.1)


def test_air_and_heat_routes_agree() -> None:
    """Identity: fuel for an air flow, times its heat and efficiency, is the starting power."""
    power, efficiency, heat = 150e3, 0.33, 43.4e6
    burned = fuel.fuel_mass_flow(power / 300.0, 300.0, heat, efficiency)
    air = burned * 14.6
    rich = fuel.fuel_mass_flow_for_air(air, 0.8, 14.6)
    eta = fuel.brake_efficiency_when_rich(efficiency, 0.8)
    assert rich * heat * eta == pytest.approx(power)


@pytest.mark.parametrize(
    ("heating_value", "ratio", "energy"),
    [(43.4, 14.6, 2.782), (41.65, 14.01, 2.775), (29.17, 9.78, 2.705)],
)
def test_charge_heat_hardly_depends_on_blend(
    heating_value: float, ratio: float, energy: float
) -> None:
    """Recomputed table (petrol, E10, E85): heat per kg of stoichiometric charge, MJ/kg.

    Equal air gives nearly equal power; fuel flow must grow by the ratio of 1/AFR.
    """
    assert heating_value / (1 + ratio) == pytest.approx(energy, abs=2e-3)
    flow = fuel.fuel_mass_flow_for_air(0.2, 1.0, ratio)
    assert flow * heating_value / (0.2 + flow) == pytest.approx(energy, abs=2e-3)


def test_ethanol_needs_about_half_more_fuel() -> None:
    """Blend table above: E85 needs 49 % more mass than petrol at equal power and efficiency."""
    petrol = fuel.fuel_mass_flow(400.0, 500.0, 43.4e6, 0.33)
    assert fuel.fuel_mass_flow(400.0, 500.0, 29.17e6, 0.33) / petrol == pytest.approx(
        1.488, abs=0.001
    )


def test_injector_flow_follows_the_orifice_law() -> None:
    """Identity (Bernoulli): four times the pressure or the density doubles the flow."""
    base = (5e-3, 4, 0.9, 3e5, 3e5, 745.0, 745.0)
    assert fuel.injector_mass_flow(*base) == pytest.approx(0.018)
    assert fuel.injector_mass_flow(5e-3, 4, 0.9, 12e5, 3e5, 745.0, 745.0) == pytest.approx(0.036)
    assert fuel.injector_mass_flow(5e-3, 4, 0.9, 3e5, 3e5, 745.0, 745.0 / 4) == pytest.approx(0.036)


def test_direct_window_and_pump() -> None:
    """Identity: 180 degrees of 720 is a quarter; volume times density is mass."""
    assert fuel.direct_injection_duty(np.pi) == pytest.approx(0.25)
    assert fuel.pump_mass_flow(255e-3 / 3600, 745.0) == pytest.approx(255e-3 * 745 / 3600)


def test_refusals_name_the_argument() -> None:
    """Edge: MJ for J, efficiency in percent, duty in percent."""
    with pytest.raises(OutOfRangeError, match=r"lower_heating_value is 43\.4"):
        fuel.fuel_mass_flow(300.0, 300.0, 43.4, 0.3)
    with pytest.raises(OutOfRangeError, match="brake_efficiency is 30"):
        fuel.capacity_torque(0.02, 300.0, 43e6, 30.0)
    with pytest.raises(OutOfRangeError, match="duty"):
        fuel.injector_mass_flow(5e-3, 4, 90.0, 3e5, 3e5, 745.0, 745.0)
