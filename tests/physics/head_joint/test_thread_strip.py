import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.head_joint.screw_thread import larger_for_insert, screw_thread
from torquerisk.physics.head_joint.thread_strip import (
    ThreadLimits,
    external_shear_area,
    internal_shear_area,
    strip_load_insert,
    strip_load_vdi2230,
    thread_limits_6h_6g,
)


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


def test_vdi_form_stays_below_the_plain_form():
    """FED-STD-H28's plain form above it: run-out and bending only take, strength only adds."""
    thread = screw_thread("M11x1.5")
    engagement = np.linspace(10e-3, 30e-3, 9)
    studs = {"stud_tensile_strength": 1040e6, "block_shear_ratio": 0.65}
    load = strip_load_vdi2230(engagement, thread=thread, block_tensile_strength=235e6, **studs)
    plain = internal_shear_area(engagement, thread=thread) * 0.65 * 235e6
    assert np.all(load < plain)
    assert np.all(np.diff(load) > 0)
    strength = np.linspace(150e6, 1500e6, 28)
    by_block = strip_load_vdi2230(20e-3, thread=thread, block_tensile_strength=strength, **studs)
    off_stud = external_shear_area(20e-3, thread=thread) * 0.6 * 1040e6
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


def test_refusals_name_the_argument():
    """Edge: too short a thread."""
    thread = screw_thread("M11x1.5")
    with pytest.raises(OutOfRangeError, match="engagement"):
        strip_load_vdi2230(
            1e-3,
            thread=thread,
            block_tensile_strength=235e6,
            block_shear_ratio=0.65,
            stud_tensile_strength=1040e6,
        )


@pytest.mark.parametrize(
    ("pitch", "diameter", "printed"),
    [(0.75, 6, 190), (0.8, 6, 200), (1, 8, 236), (1.25, 8, 265), (1.5, 10, 300),
     (1.75, 12, 335), (2, 16, 375)],
)  # fmt: skip
def test_tolerance_of_the_hole_for_fine_and_coarse_pitch(pitch, diameter, printed):
    """ISO 965-1 T_D1 of grade 6 in um, from memory; its preferred numbers R40 are 5.9 % apart."""
    thread = screw_thread(f"M{diameter}x{pitch:g}")
    found = thread_limits_6h_6g(thread).internal_minor_most - thread.internal_minor_diameter
    assert found * 1e6 == pytest.approx(printed, rel=0.0295)


def test_an_insert_moves_strip_to_a_larger_thread_or_to_the_stud():
    """Limiting cases, VDI 2230 5.5.5: weak block, then the larger thread in it; hard, then the
    stud's thread in the insert.
    """
    thread, depth = screw_thread("M10"), 0.02
    weak = {"block_tensile_strength": 200e6, "block_shear_ratio": 0.65}
    soft = strip_load_insert(depth, thread=thread, stud_tensile_strength=1220e6, **weak)
    larger = strip_load_vdi2230(
        depth, thread=larger_for_insert(thread), stud_tensile_strength=1400e6, **weak
    )
    assert soft == pytest.approx(float(larger))
    hard = {"block_tensile_strength": 1400e6, "block_shear_ratio": 0.6}
    limit = strip_load_insert(depth, thread=thread, stud_tensile_strength=700e6, **hard)
    direct = strip_load_vdi2230(depth, thread=thread, stud_tensile_strength=700e6, **hard)
    assert limit == pytest.approx(float(direct))
