"""Checks of fuel supply."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.cylinder import knock
from torquerisk.physics.cylinder.gas import petrol_ethanol
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


@pytest.mark.parametrize(
    ("blend", "published"), [(0.0, 116_090.0), (1.0, 76_330.0), (0.10, 112_114.0)]
)
def test_heat_of_a_gallon(blend: float, published: float) -> None:
    """AFDC, Alternative Fuels Data Center, fuel properties, from memory: lower heating value
    [Btu/US gal] of petrol, E100 and E10 at 60 °F; petrols differ by 2 %."""
    made = petrol_ethanol(blend)
    heat = fuel.power_per_flow(made.density, made.lower_heating_value, 0.3) / 0.3
    assert heat * 3.785412e-3 / 1055.056 == pytest.approx(published, rel=0.02)


def test_the_same_pump_carries_more_power_on_a_lower_blend() -> None:
    """Common practice by arithmetic: E60 for E85 gives a tenth more power from one pump and costs
    3 octane numbers, E30 a quarter and 8; petrol without ethanol would cost 17."""
    shares = np.array([0.85, 0.60, 0.30, 0.0])
    made = [petrol_ethanol(share) for share in shares]
    power = np.array([fuel.power_per_flow(f.density, f.lower_heating_value, 0.3) for f in made])
    octane = knock.blend_octane(91.0, knock.ethanol_mole_fraction(shares))
    assert power / power[0] == pytest.approx([1, 1.12, 1.26, 1.41], abs=0.02)
    assert octane[0] - octane == pytest.approx([0, 3, 8, 17], abs=0.6)


def test_injector_at_another_pressure() -> None:
    """Worked by hand: 440 cm³/min stated at 3 bar passes 508 at 4 bar and 359 at 2 bar."""
    flow = fuel.injector_flow_at(440.0, 3e5, np.array([3e5, 4e5, 2e5]))
    assert flow == pytest.approx([440.0, 508.07, 359.26], abs=0.01)


def test_flow_of_a_pump_that_the_engine_turns() -> None:
    """Worked by hand: 0.2 cm³ a turn at 85 % and 6,000 rpm is 17 cm³/s, 61.2 L/h."""
    flow = fuel.displaced_flow(0.2e-6, 6000 * RPM, 0.85)
    assert flow * 3600e3 == pytest.approx(61.2, rel=1e-6)


def test_refusals_name_the_argument() -> None:
    """Edge: MJ for J, efficiency in percent."""
    with pytest.raises(OutOfRangeError, match=r"lower_heating_value is 4\.34e-05"):
        fuel.fuel_mass_flow(300.0, 300.0, 43.4, 0.3)
    with pytest.raises(OutOfRangeError, match="brake_efficiency is 30"):
        fuel.fuel_mass_flow(300.0, 300.0, 43e6, 30.0)
