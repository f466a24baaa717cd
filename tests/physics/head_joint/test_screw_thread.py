import math

import pytest

from torquerisk.errors import InputError, OutOfRangeError
from torquerisk.physics.head_joint.screw_thread import (
    COARSE_PITCH_MM,
    INCH,
    KNOWN_THREADS,
    larger_for_insert,
    screw_thread,
    sixty_degree_thread,
    with_bearing_face,
    with_flange_face,
)


def test_published_diameters_and_stress_areas(reference):
    """ISO 724 diameters to 0.001 mm; ISO 898-1 nominal stress areas to the digit printed."""
    for row in reference("thread_areas"):
        thread = screw_thread(row["designation"])
        digit = float(row["digit_mm2"])
        assert thread.stress_area * 1e6 == pytest.approx(
            float(row["stress_area_mm2"]), abs=0.51 * digit
        ), row
        if row["pitch_diameter_mm"]:
            for name in ("pitch_diameter", "minor_diameter", "internal_minor_diameter"):
                assert getattr(thread, name) * 1e3 == pytest.approx(
                    float(row[f"{name}_mm"]), abs=0.00051
                ), (row, name)


def test_inch_stress_areas(reference):
    """ASME B1.1 tensile stress areas, printed to 0.0001 in^2 (1/2-20: printed one digit low)."""
    for row in reference("fastener_loads_sae"):
        area = screw_thread(row["designation"]).stress_area / INCH**2
        assert area == pytest.approx(float(row["stress_area_in2"]), abs=0.00011), row


def test_stress_diameter_is_mean_of_pitch_and_minor_diameter():
    """Identity: [ISO898-1] clause 9.1.6 gives A_s = pi/4 ((d2 + d3)/2)^2."""
    thread = screw_thread("M11x1.5")
    assert thread.stress_diameter == pytest.approx(
        (thread.pitch_diameter + thread.minor_diameter) / 2, rel=1e-12
    )


@pytest.mark.parametrize(
    ("spelling", "designation"),
    [
        ("M12", "M12x1.75"),
        ("m11 x 1.5", "M11x1.5"),
        ("M10×1.25", "M10x1.25"),
        ("M14X2.0", "M14x2"),
        ("M11x2", "M11x2"),
        ("7/16-14 UNC", "7/16-14"),
        ("7/16 UNF", "7/16-20"),
        ("1/2-20", "1/2-20"),
        ("9/16-12", "9/16-12"),
    ],
)
def test_spellings(spelling, designation):
    """Common practice, no source: how designations are written."""
    assert screw_thread(spelling).designation == designation


def test_every_known_thread_reads_back():
    """Identity: each designation offered is read as itself."""
    for name in KNOWN_THREADS:
        thread = screw_thread(name)
        assert thread.designation == name
        assert thread.minor_diameter < thread.internal_minor_diameter < thread.pitch_diameter
        assert thread.bearing_outer_diameter > thread.clearance_hole_diameter


@pytest.mark.parametrize(
    ("text", "near"),
    [
        ("M11x1.6", "M11x1.5"),
        ("M10.5x1.5", "M10x1.5"),
        ("7/16-13", "7/16-14"),
        ("7/16", "7/16-14"),
        ("7/16-14 UNF", "7/16-14"),
        ("M8x3", "M8x1"),
        ("bolt", "Nearest known"),
        ("", "Nearest known"),
        ("M13x1.5", "Metric diameters are 5, 6, 7, 8, 9, 10, 11, 12, 14, 15, 16"),
        ("M15", "give it"),
    ],
)
def test_bad_designation_names_the_nearest(text, near):
    """Refusals: one sentence, with what was given and the nearest known thread."""
    with pytest.raises(InputError, match="thread is") as refusal:
        screw_thread(text)
    assert near in str(refusal.value)


@pytest.mark.parametrize("text", ["M11 x 1,5", "M11x1,5", "M11*1.5", "m11 × 1.5"])
def test_a_pitch_may_have_a_decimal_comma(text):
    """ISO 80000-1: the decimal sign is a comma or a point."""
    assert screw_thread(text).designation == "M11x1.5"


def test_same_thread_in_mm_and_inch():
    """Metamorphic: half an inch by a twentieth is 12.7 mm by 1.27 mm, whatever it is called."""
    named = screw_thread("1/2-20")
    given = sixty_degree_thread(
        12.7e-3,
        1.27e-3,
        bearing_outer_diameter=named.bearing_outer_diameter,
        clearance_hole_diameter=named.clearance_hole_diameter,
        unified=True,
    )
    for name in ("pitch_diameter", "minor_diameter", "internal_minor_diameter", "stress_area"):
        assert math.isclose(getattr(named, name), getattr(given, name), rel_tol=1e-12)


def test_impossible_profile_is_refused():
    """Edge: a pitch as coarse as the thread, or a hole wider than the head."""
    with pytest.raises(OutOfRangeError, match="pitch"):
        sixty_degree_thread(
            10e-3, 5e-3, bearing_outer_diameter=15e-3, clearance_hole_diameter=11e-3
        )
    with pytest.raises(OutOfRangeError, match="bearing_outer_diameter"):
        sixty_degree_thread(
            10e-3, 1e-3, bearing_outer_diameter=11e-3, clearance_hole_diameter=11e-3
        )


@pytest.mark.parametrize(
    ("size", "face", "hole"),
    [("M8", 11.63, 9), ("M10", 14.63, 11), ("M12", 16.63, 13.5), ("M14", 19.64, 15.5),
     ("M14x1.5", 19.64, 15.5), ("M16", 22.49, 17.5)],
)  # fmt: skip
def test_bearing_face_of_a_metric_hexagon(size, face, hole):
    """ISO 4014 least bearing face of grade A and ISO 273 medium hole, from memory [mm]."""
    thread = screw_thread(size)
    assert thread.bearing_outer_diameter * 1e3 == pytest.approx(face)
    assert thread.clearance_hole_diameter * 1e3 == pytest.approx(hole)


@pytest.mark.parametrize(
    ("size", "flats", "hole"),
    [("5/16-18", 1 / 2, 11 / 32), ("3/8-24", 9 / 16, 13 / 32), ("7/16-14", 5 / 8, 15 / 32),
     ("1/2-20", 3 / 4, 9 / 16), ("9/16-12", 13 / 16, 5 / 8), ("5/8-18", 15 / 16, 11 / 16),
     ("3/4-16", 9 / 8, 13 / 16)],
)  # fmt: skip
def test_bearing_face_of_an_inch_hexagon(size, flats, hole):
    """ASME B18.2.1 flats, face 0.95 of them; B18.2.8 normal hole, printed to 0.001 in; memory."""
    thread = screw_thread(size)
    assert thread.bearing_outer_diameter / 0.0254 == pytest.approx(0.95 * flats, abs=5e-4)
    assert thread.clearance_hole_diameter / 0.0254 == pytest.approx(hole, abs=6e-4)


@pytest.mark.parametrize(
    ("size", "face"),
    [("M8", 15.8), ("M10", 19.6), ("M12x1.5", 23.8), ("M14", 27.6), ("M16", 31.9)],
)
def test_bearing_face_of_a_flange(size, face):
    """EN 1665, least bearing face, from memory [mm]; the hole stays the medium one of ISO 273."""
    thread = screw_thread(size)
    flange = with_flange_face(thread)
    assert flange.bearing_outer_diameter * 1e3 == pytest.approx(face)
    assert flange.clearance_hole_diameter == thread.clearance_hole_diameter
    assumed = with_flange_face(screw_thread("M11"))
    assert assumed.bearing_outer_diameter == pytest.approx(1.96 * 0.011)
    with pytest.raises(OutOfRangeError, match="bearing_diameter"):
        with_bearing_face(thread, 0.008)


def test_hole_of_a_thread_insert():
    """DIN 8140, from memory: an insert of M10 with 1.5 pitch sits in a thread of 11.949 mm."""
    assert larger_for_insert(screw_thread("M10")).nominal_diameter * 1e3 == pytest.approx(
        11.949, abs=0.0006
    )


def test_coarse_pitches():
    """ISO 261, from memory: the pitch that a designation without one has [mm]."""
    printed = {5: 0.8, 6: 1, 7: 1, 8: 1.25, 9: 1.25, 10: 1.5, 11: 1.5, 12: 1.75, 14: 2, 16: 2,
               18: 2.5, 20: 2.5, 22: 2.5, 24: 3}  # fmt: skip
    assert printed == COARSE_PITCH_MM
    assert all(screw_thread(f"M{d}").pitch * 1e3 == pytest.approx(p) for d, p in printed.items())
