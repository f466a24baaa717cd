import dataclasses

import numpy as np
import pytest
from oracles.joint import WilemanMaterial, member_stiffness_wileman, pair_stiffness_shigley

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.head_joint.compliance import (
    FastenerEnd,
    cone_tangent_vdi2230,
    fastener_compliance_vdi2230,
    member_compliance_vdi2230,
    rod_compliance,
)
from torquerisk.physics.head_joint.screw_thread import screw_thread

INCH = 0.0254
PSI = 6894.757293168361
LBF_PER_INCH = PSI * INCH
"""One lbf/in in N/m: stiffnesses of the inch examples."""


def _share(bolt, members):
    """Joint constant C: identity of two springs side by side."""
    return bolt / (bolt + members)


def _bolt(shank_area, stress_area, shank_length, thread_length, modulus):
    """Stiffness of shank and thread in a row."""
    return 1 / (
        rod_compliance(shank_length, area=shank_area, elastic_modulus=modulus)
        + rod_compliance(thread_length, area=stress_area, elastic_modulus=modulus)
    )


def test_shigley_8_4_through_bolt():
    """Shigley 9th ed. Ex 8-4: k_b 5.21, k_m 8.95 (8.81 by the fit) Mlbf/in, C 0.368."""
    three_quarters = 0.75 * INCH
    bolt = _bolt(
        0.3068 * INCH**2, 0.226 * INCH**2, three_quarters, three_quarters, modulus=30e6 * PSI
    )
    size = {"grip": 1.5 * INCH, "nominal_diameter": 0.625 * INCH, "elastic_modulus": 14e6 * PSI}
    members = pair_stiffness_shigley(**size)
    fitted = member_stiffness_wileman(material=WilemanMaterial.GREY_IRON, **size)
    assert bolt / LBF_PER_INCH == pytest.approx(5.21e6, abs=0.006e6)
    assert members / LBF_PER_INCH == pytest.approx(8.95e6, abs=0.006e6)
    assert fitted / LBF_PER_INCH == pytest.approx(8.81e6, abs=0.006e6)
    assert _share(bolt, members) == pytest.approx(0.368, abs=0.0006)


def test_shigley_8_5_cap_screw():
    """Shigley 9th ed. Ex 8-5: bolt 6.78, members 17.40 Mlbf/in, C 0.280."""
    assert _share(6.78e6, 17.40e6) == pytest.approx(0.280, abs=0.0006)


def test_cylinder_cover_of_shigley_8_20():
    """Shigley 8th ed. solution 8-20: M12, steel 20 mm on iron 20 mm; k_b 466.8 with its l_t 15 mm.

    Steel 4722 and iron 2248 MN/m are each half of a like pair by the finite-element fit.
    """
    bolt = _bolt(113e-6, 84.3e-6, 0.030, 0.015, modulus=207e9)
    size = {"grip": 0.040, "nominal_diameter": 0.012}
    steel = 2 * member_stiffness_wileman(
        elastic_modulus=207e9, material=WilemanMaterial.STEEL, **size
    )
    iron = 2 * member_stiffness_wileman(
        elastic_modulus=100e9, material=WilemanMaterial.GREY_IRON, **size
    )
    members = 1 / (1 / steel + 1 / iron)
    assert bolt / 1e6 == pytest.approx(466.8, abs=0.06)
    assert steel / 1e6 == pytest.approx(4722, abs=0.6)
    assert iron / 1e6 == pytest.approx(2248, abs=0.6)
    assert members / 1e6 == pytest.approx(1523, abs=0.6)
    assert _share(bolt, members) == pytest.approx(0.2346, abs=0.0001)


def test_bhandari_7_16_sleeve_on_bolt():
    """Bhandari Ex 7.16: steel bolt in an aluminium sleeve of 2 d over d; C 0.4929."""
    bolt = 1 / rod_compliance(0.1, area=1.0, elastic_modulus=207e9)
    sleeve = 1 / rod_compliance(0.1, area=3.0, elastic_modulus=71e9)
    assert _share(bolt, sleeve) == pytest.approx(0.4929, abs=0.00006)


def _head(grip=0.100, outer=0.030, modulus=72e9, **changes):
    thread = screw_thread("M11x1.5")
    fastener = fastener_compliance_vdi2230(
        thread=thread,
        elastic_modulus=205e9,
        free_thread_length=0.010,
        shank_length=np.asarray(grip) - 0.010,
        block_modulus=72e9,
        **changes,
    )
    members = member_compliance_vdi2230(
        thread=thread, grip=grip, outer_diameter=outer, elastic_modulus=modulus
    )
    return fastener, members


def test_longer_grip_never_makes_the_fastener_the_stiffer_of_both():
    """Metamorphic: where the cone is free to spread, a longer grip softens the stud more.

    Shigley's fits always behave so. The VDI cone does while the material around is wide; hemmed
    into a narrow sleeve both give way alike and the factor creeps up to a limit below that of the
    two sections alone.
    """
    grip = np.linspace(0.060, 0.160, 21)
    fastener, members = _head(grip, outer=0.100)
    factor = members / (fastener + members)
    assert np.all(np.diff(factor) < 0)
    assert np.all(np.diff(fastener) > 0)
    assert np.all(np.diff(members) > 0)
    grip = np.linspace(0.030, 0.108, 21)
    size = {"grip": grip, "nominal_diameter": 0.011, "elastic_modulus": 72e9}
    bolt = 1 / rod_compliance(grip, area=72.3e-6, elastic_modulus=205e9)
    for stiffness in (pair_stiffness_shigley(**size), member_stiffness_wileman(**size)):
        assert np.all(np.diff(_share(bolt, stiffness)) < 0)


def test_complete_cone_meets_the_sleeve_formula():
    """Identity: at D_A = d_W the cone vanishes and a plain tube of d_W over d_h is left."""
    thread = screw_thread("M11x1.5")
    head, hole = thread.bearing_outer_diameter, thread.clearance_hole_diameter
    tube = rod_compliance(0.05, area=np.pi / 4 * (head**2 - hole**2), elastic_modulus=72e9)
    give = member_compliance_vdi2230(
        thread=thread, grip=0.05, outer_diameter=head, elastic_modulus=72e9
    )
    assert give == pytest.approx(float(tube), rel=1e-9)


def test_complete_cone_by_integration():
    """Identity: integral of dz/(E A(z)) over a cone that opens at tan phi, both ways of closing."""
    thread = screw_thread("M10")
    head, hole = thread.bearing_outer_diameter, thread.clearance_hole_diameter
    for tapped in (True, False):
        grip, outer = 0.020, 0.080
        tangent = cone_tangent_vdi2230(
            grip=grip, bearing_diameter=head, outer_diameter=outer, tapped=tapped
        )
        z = (np.arange(200_000) + 0.5) / 200_000 * grip
        depth = z if tapped else np.minimum(z, grip - z)
        area = np.pi / 4 * ((head + 2 * depth * tangent) ** 2 - hole**2)
        expected = (grip / 200_000 / (72e9 * area)).sum()
        give = member_compliance_vdi2230(
            thread=thread, grip=grip, outer_diameter=outer, elastic_modulus=72e9, tapped=tapped
        )
        assert give == pytest.approx(expected, rel=1e-6)


def test_vdi_and_shigley_members_agree_within_their_spread():
    """Metamorphic: VDI cone and finite-element fit of one steel pair, same face, within 15 %."""
    thread = dataclasses.replace(
        screw_thread("M12"), bearing_outer_diameter=0.018, clearance_hole_diameter=0.0121
    )
    cone = member_compliance_vdi2230(
        thread=thread, grip=0.040, outer_diameter=0.060, elastic_modulus=205e9, tapped=False
    )
    fit = member_stiffness_wileman(
        grip=0.040,
        nominal_diameter=0.012,
        elastic_modulus=205e9,
        material=WilemanMaterial.STEEL,
    )
    assert 1 / cone == pytest.approx(float(fit), rel=0.15)


def test_reduced_shank_and_ends_soften_the_fastener():
    """Metamorphic: a waist, a nut for a head and a soft block each add compliance."""
    plain, _ = _head()
    necked, _ = _head(shank_diameter=0.009)
    nut, _ = _head(top=FastenerEnd.NUT)
    socket, _ = _head(top=FastenerEnd.SOCKET_HEAD)
    assert socket < plain < nut
    assert plain < necked
    with pytest.raises(OutOfRangeError, match="block_modulus"):
        fastener_compliance_vdi2230(
            thread=screw_thread("M10"), elastic_modulus=205e9, free_thread_length=0.05
        )


def test_faces_that_cannot_be_are_refused():
    """Edge: material no wider than the face."""
    with pytest.raises(OutOfRangeError, match="outer_diameter"):
        _head(outer=0.010)


@pytest.mark.parametrize(
    ("top", "bottom", "ends"),
    [
        ("HEXAGON_HEAD", "TAPPED_HOLE", (0.5 * 10 / 78.54, 0.33 * 10 / 78.54 * 205 / 72)),
        ("SOCKET_HEAD", "TAPPED_HOLE", (0.4 * 10 / 78.54, 0.33 * 10 / 78.54 * 205 / 72)),
        ("HEXAGON_HEAD", "NUT", (0.5 * 10 / 78.54, 0.4 * 10 / 78.54)),
    ],
)
def test_fastener_by_hand(top, bottom, ends):
    """[VDI2230] section 5.1.1, from memory: M10, A_N 78.54, A_d3 52.30 mm2, by hand.

    60 mm of a 9 mm shank (63.62 mm2), 12 mm of free thread, half a diameter engaged; 205 GPa,
    aluminium block of 72 GPa.
    """
    give = fastener_compliance_vdi2230(
        thread=screw_thread("M10"),
        elastic_modulus=205e9,
        free_thread_length=0.012,
        shank_length=0.060,
        shank_diameter=0.009,
        top=FastenerEnd[top],
        bottom=FastenerEnd[bottom],
        block_modulus=72e9,
    )
    by_hand = (60 / 63.62 + 12 / 52.30 + 0.5 * 10 / 52.30 + sum(ends)) / 205e9 * 1e3
    assert give == pytest.approx(by_hand, rel=2e-4)
