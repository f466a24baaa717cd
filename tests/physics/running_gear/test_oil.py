"""Oil viscosity: grades of the standard, the Walther line, high shear."""

import csv
from pathlib import Path

import numpy as np
import pytest

from torquerisk.errors import InputError, OutOfRangeError
from torquerisk.physics.running_gear import oil

TABLE = Path(__file__).parents[2] / "reference" / "sae_j300_2015.csv"
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()[1:]))
MULTIGRADE = {"viscosity_40": 65e-6, "viscosity_100": 11e-6}


@pytest.mark.parametrize("row", ROWS, ids=[row["grade"] for row in ROWS])
def test_grade_limits(row):
    """[SAE-J300] table 1, as reproduced on a public page."""
    assert oil.high_shear_of(row["grade"]) * 1e3 == pytest.approx(float(row["hths"]))


def test_typical_oils_obey_their_grade():
    """[SAE-J300]: each typical oil lies inside its own grade at 100 °C and thins with heat."""
    for name, typical in oil.TYPICAL_OILS.items():
        alone = name.rpartition("-")[2]
        row = next(row for row in ROWS if row["grade"] in (name, alone))
        low, high = float(row["kv100_low"]), float(row["kv100_high"])
        assert low <= typical.viscosity_100 * 1e6 < high
        least = oil.high_shear_of(name)
        hot = oil.high_shear_viscosity(
            temperature=np.array([373.15, 423.15]),
            high_shear_150=least,
            viscosity_40=typical.viscosity_40,
            viscosity_100=typical.viscosity_100,
        )
        assert hot[0] > hot[1] == pytest.approx(least)


@pytest.mark.parametrize(
    ("celsius", "wanted", "digit"),
    [(20, 165.4, 0.1), (60, 31.40, 0.01), (80, 17.60, 0.01), (120, 7.46, 0.01), (150, 4.66, 0.01)],
)
def test_walther_line(celsius, wanted, digit):
    """[ASTM-D341] form recalculated elsewhere for 65 and 11 mm²/s (regression, not published)."""
    got = oil.kinematic_viscosity(temperature=celsius + 273.15, **MULTIGRADE)
    assert got * 1e6 == pytest.approx(wanted, abs=0.6 * digit)


def test_walther_line_passes_its_two_points():
    """Identity: at 40 and 100 °C the line returns what it was given."""
    got = oil.kinematic_viscosity(temperature=np.array([313.15, 373.15]), **MULTIGRADE)
    assert got == pytest.approx([65e-6, 11e-6], rel=1e-12)


def test_high_shear_keeps_its_share():
    """Identity: without shear loss (HTHS = ν ρ at 150 °C) it is plain dynamic viscosity."""
    hot = oil.kinematic_viscosity(temperature=423.15, **MULTIGRADE)
    density = oil.oil_density(temperature=np.array([423.15, 393.15]), density_15=860.0)
    got = oil.high_shear_viscosity(
        temperature=393.15, high_shear_150=hot * density[0], **MULTIGRADE
    )
    wanted = oil.kinematic_viscosity(temperature=393.15, **MULTIGRADE) * density[1]
    assert got == pytest.approx(wanted, rel=1e-12)


def test_unknown_grades_and_temperatures_are_refused():
    for name in ("5W-35", "7W-40", "W-40x", "", "-", "5W"):
        with pytest.raises(InputError, match="Oil grade is"):
            oil.high_shear_of(name)
    with pytest.raises(
        OutOfRangeError, match="temperature is 90, but must be between 233 and 473 K"
    ):
        oil.kinematic_viscosity(temperature=90.0, **MULTIGRADE)
    with pytest.raises(OutOfRangeError, match="above 1"):
        oil.kinematic_viscosity(temperature=350.0, viscosity_40=10e-6, viscosity_100=11e-6)
    with pytest.raises(OutOfRangeError, match="2 mm²/s or more"):
        oil.kinematic_viscosity(temperature=470.0, viscosity_40=12e-6, viscosity_100=3e-6)
