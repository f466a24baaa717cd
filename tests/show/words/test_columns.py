"""Columns of tables, written for people."""

import pytest

from torquerisk.quantities import KILO
from torquerisk.show.words import prose
from torquerisk.show.words.columns import Column, Shown, fitted, in_words, numbers, worded

POWER = Column[float](key="power_kw", value=lambda x: x, size=KILO, measure=prose.power_unit)


@pytest.mark.parametrize(
    ("powers", "shown"),
    [
        ([4370.0, 11040.0], ["4.4", "11.0"]),
        ([4370.0, 21000.0], ["4", "21"]),
        ([104000.0, 88000.0], ["104", "88"]),
    ],
)
def test_power_of_a_small_engine_has_a_tenth_in_every_face(powers, shown):
    """Arithmetic: whole kW of 11 kW would be steps of 9 %; one column is written one way."""
    cells = [row[0] for row in in_words([POWER], powers, Shown())]
    assert cells == shown
    [of_page] = worded([POWER], powers, Shown())
    assert list(of_page.values) == shown
    [of_picture] = numbers([POWER], powers, Shown())
    assert of_picture.decimals == (1 if "." in shown[0] else 0)
    assert fitted([POWER], [])[0] is POWER
    assert prose.power_in_words(powers[1]) == f"{shown[1]} kW"
