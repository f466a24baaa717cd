import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.head_joint.screw_thread import screw_thread
from torquerisk.physics.head_joint.thread_strip import (
    ThreadLimits,
    bearing_pressure,
    block_strip_load_h28,
    engagement_for_load,
    engagement_required_h28,
    external_shear_area,
    internal_shear_area,
    strip_load_vdi2230,
    stud_strip_load_h28,
    thread_limits_6h_6g,
)

CAST = {"tensile_strength": 235e6, "shear_ratio": 0.65}


def _printed_limits(row):
    return ThreadLimits(**{k: float(v) * 1e-3 for k, v in row.items() if k != "designation"})


def test_limits_of_the_medium_fit(reference):
    """ISO 965 6H/6g, from memory: within 0.011 mm, one step of its preferred numbers."""
    for row in reference("thread_limits_6h_6g"):
        limits = thread_limits_6h_6g(screw_thread(row["designation"]))
        printed = _printed_limits(row)
        for name in vars(printed):
            assert getattr(limits, name) == pytest.approx(getattr(printed, name), abs=11e-6), row


def test_shear_areas_at_the_printed_limits(reference):
    """FED-STD-H28 form worked at ISO 965 limits: M8 12.16/16.83, M10 15.58/21.48, M12 18.98/26.12.

    Derived numbers (mm2 per mm), to their digits; with the formula limits within 2 %.
    """
    worked = {"M8x1.25": (12.16, 16.83), "M10x1.5": (15.58, 21.48), "M12x1.75": (18.98, 26.12)}
    for row in reference("thread_limits_6h_6g"):
        thread, limits = screw_thread(row["designation"]), _printed_limits(row)
        for area, printed in zip(
            (external_shear_area, internal_shear_area), worked[row["designation"]], strict=True
        ):
            exact = area(1e-3, thread=thread, limits=limits) * 1e6
            assert exact == pytest.approx(printed, abs=0.006)
            assert area(1e-3, thread=thread) * 1e6 == pytest.approx(printed, rel=0.02)


@pytest.mark.parametrize(
    ("designation", "load", "strength", "diameters"),
    [
        ("M10", 60300, 235e6, 1.84),
        ("M12", 87700, 235e6, 1.83),
        ("M10", 60300, 300e6, 1.44),
        ("M12", 87700, 300e6, 1.43),
    ],
)
def test_engagement_in_cast_aluminium(designation, load, strength, diameters):
    """Derived from FED-STD-H28: 10.9 stud breaks first at 1.84 d; the trade's rule is 2 d."""
    thread = screw_thread(designation)
    need = engagement_for_load(load, thread=thread, tensile_strength=strength, shear_ratio=0.65)
    assert need / thread.nominal_diameter == pytest.approx(diameters, rel=0.02)
    assert need < 2 * thread.nominal_diameter
    held = block_strip_load_h28(need, thread=thread, tensile_strength=strength, shear_ratio=0.65)
    assert held == pytest.approx(load)


def test_engagement_by_the_rule_of_the_standard():
    """Identity: without J the stud's thread holds R_m A_s at a shear ratio of one half."""
    thread = screw_thread("M10")
    strong = {"stud_tensile_strength": 800e6, "block_tensile_strength": 800e6}
    need = engagement_required_h28(thread=thread, **strong)
    shear = external_shear_area(need, thread=thread) * 0.5 * 800e6
    assert shear == pytest.approx(800e6 * thread.stress_area)
    weak = engagement_required_h28(
        thread=thread, stud_tensile_strength=1040e6, block_tensile_strength=235e6
    )
    block = internal_shear_area(weak, thread=thread) * 0.5 * 235e6
    assert block == pytest.approx(1040e6 * thread.stress_area)
    assert weak > need


def test_vdi_form_stays_below_the_plain_form():
    """Metamorphic: run-out and bending only take; strength and engagement only add."""
    thread = screw_thread("M11x1.5")
    engagement = np.linspace(10e-3, 30e-3, 9)
    studs = {"stud_tensile_strength": 1040e6, "block_shear_ratio": 0.65}
    load = strip_load_vdi2230(engagement, thread=thread, block_tensile_strength=235e6, **studs)
    plain = block_strip_load_h28(engagement, thread=thread, **CAST)
    assert np.all(load < plain)
    assert np.all(np.diff(load) > 0)
    strength = np.linspace(150e6, 1500e6, 28)
    by_block = strip_load_vdi2230(20e-3, thread=thread, block_tensile_strength=strength, **studs)
    off_stud = stud_strip_load_h28(20e-3, thread=thread, tensile_strength=1040e6)
    assert np.all(by_block < off_stud)


def test_equal_strength_takes_the_factor_at_one():
    """VDI 2230, from memory: at equal strength both factors are 0.897."""
    thread = screw_thread("M10")
    block = float(internal_shear_area(1.0, thread=thread))
    stud = float(external_shear_area(1.0, thread=thread))
    strength = 1040e6 * 0.6 / 0.65 * stud / block
    load = strip_load_vdi2230(
        15e-3,
        thread=thread,
        block_tensile_strength=strength,
        block_shear_ratio=0.65,
        stud_tensile_strength=1040e6,
    )
    carrying = 15e-3 - 0.8 * thread.pitch
    assert load == pytest.approx(0.897 * 1040e6 * 0.6 * stud * carrying, rel=0.001)


def test_bearing_pressure_and_refusals():
    """Identity: load over the ring under the head; edge: too short a thread, wrong ratio."""
    thread = screw_thread("M11x1.5")
    ring = np.pi / 4 * (16.63e-3**2 - 12e-3**2)
    assert bearing_pressure(50e3, thread=thread) == pytest.approx(50e3 / ring)
    with pytest.raises(OutOfRangeError, match="engagement"):
        strip_load_vdi2230(
            1e-3,
            thread=thread,
            block_tensile_strength=235e6,
            block_shear_ratio=0.65,
            stud_tensile_strength=1040e6,
        )
    with pytest.raises(OutOfRangeError, match="shear_ratio"):
        block_strip_load_h28(0.02, thread=thread, tensile_strength=235e6, shear_ratio=1.5)
