import math
import re

import pytest

from torquerisk.errors import InputError, OutOfRangeError
from torquerisk.physics.head_joint.property_class import special_strength, strength_class
from torquerisk.physics.head_joint.screw_thread import screw_thread

LBF = 4.4482216152605


def _unit_of_third_figure(value):
    return 10.0 ** (math.floor(math.log10(value)) - 2)


def _loads(row):
    """Yield (class, printed load, load from the area rounded as the standard prints it)."""
    thread = screw_thread(row["designation"])
    unit = _unit_of_third_figure(thread.stress_area)
    area = round(thread.stress_area / unit) * unit
    for key, printed in row.items():
        if key == "designation" or not printed:
            continue
        kind, name = key.split("_")
        strength = strength_class(name, thread.nominal_diameter)
        stress = strength.proof_stress if kind == "proof" else strength.tensile_strength
        yield key, float(printed), area * stress


def test_iso_proof_and_tensile_loads_coarse(reference):
    """ISO 898-1 Tables 4 and 5: within one unit of the third figure.

    The standard rounds some loads down (M16, 8.8: 125.6 to 125 kN), so a whole unit is allowed.
    """
    for row in reference("fastener_loads_iso_coarse"):
        for key, printed, load in _loads(row):
            assert abs(load - printed) < 1.001 * _unit_of_third_figure(printed), (row, key)


def test_iso_proof_loads_fine(reference):
    """ISO 898-1 Table 7, from memory: within 0.3 %."""
    for row in reference("fastener_loads_iso_fine"):
        for key, printed, load in _loads(row):
            assert load == pytest.approx(printed, rel=0.003), (row, key)


def test_sae_grade_8_loads(reference):
    """SAE J429 grade 8: proof and tensile loads printed to 50 or 100 lbf."""
    for row in reference("fastener_loads_sae"):
        thread = screw_thread(row["designation"])
        strength = strength_class("SAE grade 8", thread.nominal_diameter)
        proof = thread.stress_area * strength.proof_stress / LBF
        tensile = thread.stress_area * strength.tensile_strength / LBF
        assert proof == pytest.approx(float(row["proof_lbf"]), abs=51)
        assert tensile == pytest.approx(float(row["tensile_lbf"]), abs=51)


def test_sae_grade_5_stresses():
    """Shigley 9th ed. Table 8-9: grade 5 has 85, 92 and 120 ksi."""
    strength = strength_class("grade 5", 0.0127)
    ksi = 6.894757293e6
    assert strength.proof_stress / ksi == pytest.approx(85, abs=1e-6)
    assert strength.yield_strength / ksi == pytest.approx(92, abs=1e-6)
    assert strength.tensile_strength / ksi == pytest.approx(120, abs=1e-6)


def test_class_8_8_above_16_mm():
    """ISO 898-1 Table 3: 8.8 has 600, 660, 830 MPa above 16 mm and 580, 640, 800 up to it."""
    large, small = strength_class("8.8", 0.018), strength_class("8.8", 0.016)
    assert (large.proof_stress, large.yield_strength, large.tensile_strength) == (
        600e6,
        660e6,
        830e6,
    )
    assert (small.proof_stress, small.yield_strength, small.tensile_strength) == (
        580e6,
        640e6,
        800e6,
    )


@pytest.mark.parametrize("spelling", ["SAE 8", "grade 8", "Grade8", "J429 grade 8", "SAE grade 8"])
def test_spellings_of_grade_8(spelling):
    """Common practice, no source: how the grade is written."""
    assert strength_class(spelling, 0.0111).name == "SAE grade 8"


@pytest.mark.parametrize("text", ["", "10.8", "8", "steel", "SAE 2"])
def test_unknown_class_lists_the_known_ones(text):
    """Refusals: the sentence says what is allowed and what to do."""
    with pytest.raises(InputError, match=r"8\.8, 9\.8, 10\.9, 12\.9"):
        strength_class(text, 0.011)


def test_diameters_the_standards_leave_out():
    """ISO 898-1: class 9.8 ends at 16 mm; SAE J429 grade 5's first row ends at 1 in."""
    with pytest.raises(OutOfRangeError, match=r"9\.8"):
        strength_class("9.8", 0.018)
    with pytest.raises(OutOfRangeError, match="grade 5"):
        strength_class("SAE grade 5", 0.030)


def test_special_stud_takes_its_proof_stress_from_its_yield():
    """[ISO898-1] table 3: proof over yield of class 12.9, 970/1100 = 0.88."""
    stud = special_strength("own stud", yield_strength=1400e6, tensile_strength=1520e6)
    assert stud.yield_strength == 1400e6
    assert stud.proof_stress == pytest.approx(1232e6)


@pytest.mark.parametrize(
    ("yield_strength", "tensile_strength"), [(1.5e9, 1.4e9), (1400.0, 1500.0), (1e9, 4e9)]
)
def test_impossible_stud_is_refused(yield_strength, tensile_strength):
    """Edge: yield above tensile, MPa given as Pa, absurd strength."""
    with pytest.raises(OutOfRangeError):
        special_strength(
            "s",
            yield_strength=yield_strength,
            tensile_strength=tensile_strength,
        )


@pytest.mark.parametrize(
    ("name", "elongation"),
    [("8.8", 0.12), ("9.8", 0.10), ("10.9", 0.09), ("12.9", 0.08), ("SAE grade 8", 0.12)],
)
def test_least_elongation_after_fracture(name, elongation):
    """ISO 898-1 Table 3 and SAE J429 Table 1, from memory: elongation of machined test pieces."""
    assert strength_class(name, 10e-3).elongation == elongation


@pytest.mark.parametrize(
    ("text", "near"), [("11.9", "10.9 and 12.9"), ("8.9", "8.8 and 9.8"), ("14.9", "12.9"),
                       ("5.6", "8.8"), ("12,9", "12.9"), ("grade8b", "SAE grade 8")],
)  # fmt: skip
def test_a_class_that_is_none_names_both_sides(text, near):
    """Refusals: the stronger alone would be the guess that hurts; both sides are offered."""
    with pytest.raises(InputError, match=rf"\(nearest: {re.escape(near)}\)"):
        strength_class(text, 0.011)
