import pytest

from torquerisk.errors import InputError
from torquerisk.physics.head_joint.materials import JOINT_MATERIALS, joint_material


@pytest.mark.parametrize(
    ("name", "low_gpa", "high_gpa"),
    [("steel", 200, 210), ("cast aluminium", 69, 76), ("grey iron", 96, 115)],
)
def test_moduli_within_the_handbook_range(name, low_gpa, high_gpa):
    """Shigley Table A-5 (steel 207, aluminium 71.7, grey iron 100 GPa) and handbook spread."""
    assert low_gpa <= joint_material(name).elastic_modulus / 1e9 <= high_gpa


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("cast aluminium", 21, 22),
        ("wrought aluminium", 23, 24),
        ("strong wrought aluminium", 23, 24),
        ("ductile iron", 11, 13),
        ("stud steel", 12.2, 12.4),
        ("steel", 11.6, 11.8),
        ("grey iron", 10.5, 11),
        ("compacted graphite iron", 11, 12),
        ("heat-resistant stud alloy", 16, 17),
    ],
)
def test_expansion_within_the_handbook_range(name, low, high):
    """From memory: mean expansion 20 to 100 C as handbooks print it, 1e-6/K."""
    assert low <= joint_material(name).expansion * 1e6 <= high


def test_every_row_is_marked_and_in_order():
    """Identity: keys are names, ratios make sense, aluminium is softer and grows more than iron."""
    for name, row in JOINT_MATERIALS.items():
        assert row.name == name
        assert row.how_sure == "from memory"
        assert 0.5 < row.shear_ratio < 1
    aluminium, iron = joint_material("Cast aluminium "), joint_material("grey iron")
    assert aluminium.expansion > 1.8 * iron.expansion
    assert aluminium.bearing_limit < iron.bearing_limit


def test_unknown_material_names_the_nearest():
    """Refusals: one sentence with the list and the nearest name."""
    with pytest.raises(InputError, match="Nearest: grey iron"):
        joint_material("gray iron")
