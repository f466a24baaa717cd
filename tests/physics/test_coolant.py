"""Checks of the coolant's own pressure."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics import coolant


@pytest.mark.parametrize(
    ("temperature", "published"),
    [(300.0, 0.353658941e4), (500.0, 0.263889776e7), (600.0, 0.123443146e8)],
)
def test_vapour_pressure_of_water(temperature: float, published: float) -> None:
    """IAPWS R7-97 table 35, values for checking a program, from memory: nine digits."""
    assert coolant.saturation_pressure_if97(temperature) == pytest.approx(published, rel=1e-8)


def test_water_boils_at_its_boiling_point() -> None:
    """Steam tables, from memory: 101.42 kPa at 100 °C, 70.18 at 90, 143.38 at 110."""
    kelvin = np.array([363.15, 373.15, 383.15])
    told = coolant.saturation_pressure_if97(kelvin)
    assert told / 1e3 == pytest.approx([70.18, 101.42, 143.38], abs=0.01)


def test_warming_explains_a_few_kilopascal_a_kelvin() -> None:
    """Common practice, no source: about 5 kPa/K near 95 °C, of which vapour is 3.1 (steam tables);
    no warming explains nothing."""
    told = coolant.pressure_from_warming(np.array([368.15, 368.15, 369.15]))
    assert told[:2] == pytest.approx([0.0, 0.0])
    assert told[2] == pytest.approx(4.6e3, abs=0.2e3)


def test_a_temperature_in_degrees_is_refused() -> None:
    """Edge: 90 for 363.15 K."""
    with pytest.raises(OutOfRangeError, match="temperature is 90"):
        coolant.saturation_pressure_if97(90.0)
