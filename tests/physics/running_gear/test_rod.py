"""Shank strength: textbook rod, an independent section library, closed forms at their limits."""

import numpy as np
import pytest
from oracles import rod as oracle

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.running_gear import cycle, forces, rod

STEEL = {"elastic_modulus": 207e9}


def test_r1_section_for_the_textbook_rod():
    """[KMD] example 32.3: gas 24,740 N, safety 6, σ_c 320 MPa (this from memory): t 6.9 mm,
    section 35 x 28 mm."""
    gas = forces.gas_force(pressure=3.15e6 + 1e5, crankcase_pressure=1e5, bore=0.1)
    assert gas == pytest.approx(24740, abs=5)
    carried = []
    for t in (6.85e-3, 6.95e-3):
        section = oracle.i_section(depth=5 * t, width=4 * t, web=t, flange=t)
        stress = oracle.rankine_stress(
            slenderness=0.38 / section.radius_motion, crushing_strength=320e6
        )
        carried.append(stress * section.area / 6)
    assert carried[0] < gas < carried[1]
    textbook = rod.textbook_section(area=11 * 0.007**2)
    assert textbook.depth == pytest.approx(0.035)
    assert textbook.width == pytest.approx(0.028)


def test_r3_inertia_force_of_the_textbook_rod():
    """[KMD] example 32.3: 2.25 kg, stroke 190, l 380 mm, 1,800 r/min: 9,490 N at dead centre."""
    f = forces.running_gear_forces(
        angle=np.array([2 * np.pi]),
        pressure=np.array([1e5]),
        angular_speed=1800 * np.pi / 30,
        bore=0.1,
        crank_radius=0.095,
        rod_length=0.38,
        piston_mass=2.25,
        rod_mass=1e-9,
        big_end_share=0.5,
        crankcase_pressure=1e5,
    )
    assert cycle.extremes(angle=f.angle, force=f.rod_link).tension == pytest.approx(9490, rel=5e-4)


@pytest.mark.parametrize(("strength", "rankine"), [(320e6, 284.7e6), (862e6, 766.9e6)])
def test_r5_real_columns_carry_what_rankine_gives(strength, rankine):
    """[KMD] ch. 32, Rankine's formula for steel, recalculated elsewhere: k = 1.78 t, l 380 mm.

    Two formulas of the trade for the same rod, of other shape: 8 %.
    """
    slenderness = 0.38 / (1.78 * 0.007)
    assert slenderness == pytest.approx(30.5, abs=0.05)
    assert oracle.rankine_stress(
        slenderness=slenderness, crushing_strength=strength
    ) == pytest.approx(rankine, abs=0.05e6)
    ours = rod.secant_stress(
        slenderness=slenderness, eccentricity_ratio=0.13, yield_strength=strength,
        end_condition=rod.PINNED, **STEEL,
    )  # fmt: skip
    assert ours == pytest.approx(rankine, rel=0.08)


def test_r6_secant_formula_fed_back_yields():
    """[SHIGLEY] eq. 4-50: mean stress and bow together reach the yield strength at the load."""
    given = {"slenderness": np.array([5.0, 20.0, 40.0, 90.0]), "eccentricity_ratio": 0.25}
    found = rod.secant_stress(yield_strength=620e6, end_condition=1.2, **given, **STEEL)
    half = given["slenderness"] / 2 * np.sqrt(found / (1.2 * 207e9))
    assert found * (1 + 0.25 / np.cos(half)) == pytest.approx(620e6, rel=1e-9)


def test_r7_secant_formula_at_its_ends():
    """Limiting cases: a centred stub yields, a long column buckles at Euler's C π² E / (L/k)²."""
    steel = {"yield_strength": 400e6, "end_condition": 1.0, **STEEL}
    stub = rod.secant_stress(slenderness=1.0, eccentricity_ratio=0.0, **steel)
    assert stub == pytest.approx(400e6, rel=1e-6)
    long = rod.secant_stress(slenderness=300.0, eccentricity_ratio=1e-6, **steel)
    assert long == pytest.approx(np.pi**2 * 207e9 / 300**2, rel=1e-4)
    short = rod.secant_stress(slenderness=1.0, eccentricity_ratio=0.25, **steel)
    assert short == pytest.approx(400e6 / 1.25, rel=1e-3)


def test_r10_whipping_stress():
    """[KMD] ch. 32: M = m' ω² r l² / (9 √3); rod of example 32.3 with 8,000 kg/m³ (derived here):
    4.312 kg/m, 134.8 N·m, Z 4,791 mm³, 28.1 MPa."""
    section = rod.textbook_section(area=11 * 0.007**2)
    assert section.modulus_motion == pytest.approx(4791e-9, rel=1e-4)
    stress = rod.whipping_stress(
        section=section, rod_length=0.38, crank_radius=0.095, density=8000.0,
        angular_speed=1800 * np.pi / 30,
    )  # fmt: skip
    assert stress == pytest.approx(28.1e6, abs=0.05e6)


def test_r11_whipping_is_the_moment_of_a_triangular_load():
    """Identity: greatest moment of a pinned beam under a straight-rising load, summed up."""
    x = np.linspace(0.0, 1.0, 4001)
    shear = 1 / 6 - x**2 / 2
    moment = np.concatenate([[0.0], np.cumsum((shear[1:] + shear[:-1]) / 2 * np.diff(x))])
    assert moment.max() == pytest.approx(1 / (9 * np.sqrt(3)), rel=1e-6)


def test_short_column_yields():
    """Limiting case: a stub carries yield strength times area in both planes."""
    section = rod.textbook_section(area=190e-6)
    load = rod.column_load(
        section=section,
        rod_length=1e-5,
        eccentricity_ratio=0.0,
        yield_strength=700e6,
        elastic_modulus=207e9,
    )
    assert load == pytest.approx(700e6 * 190e-6, rel=1e-6)


def test_textbook_planes_are_nearly_balanced():
    """[KMD] ch. 32: I_xx about 3.2 I_yy; with ends fixed (C = 4) the plane of motion governs."""
    section = rod.textbook_section(area=190e-6)
    assert section.inertia_motion / section.inertia_across == pytest.approx(3.2, abs=0.05)
    given = {"eccentricity_ratio": 0.13, "yield_strength": 700e6, "elastic_modulus": 207e9}

    def stress(radius, ends):
        return rod.secant_stress(slenderness=0.145 / radius, end_condition=ends, **given)

    motion = stress(section.radius_motion, rod.PINNED)
    across = stress(section.radius_across, 4.0)
    assert motion < across < 1.02 * motion
    recommended = stress(section.radius_across, rod.FIXED_RECOMMENDED)
    assert recommended < across
    load = rod.column_load(section=section, rod_length=0.145, **given)
    assert load == pytest.approx(min(motion, recommended) * 190e-6)


@pytest.mark.slow
def test_i_section_against_a_section_library():
    """Independent library sectionproperties (mesh of a sharp-cornered I): area and inertias.

    Straight edges mesh exactly, so agreement is to rounding.
    """
    from sectionproperties.analysis import Section as Meshed
    from sectionproperties.pre.library import i_section as outline

    shape = outline(d=24.0, b=16.0, t_f=3.0, t_w=4.0, r=0.0, n_r=1)
    meshed = Meshed(shape.create_mesh(mesh_sizes=[4.0]))
    meshed.calculate_geometric_properties()
    ixx, iyy, _ = meshed.get_ic()
    kxx, kyy = meshed.get_rc()
    ours = oracle.i_section(depth=0.024, width=0.016, web=0.004, flange=0.003)
    assert ours.area == pytest.approx(meshed.get_area() * 1e-6, rel=1e-9)
    assert ours.inertia_motion == pytest.approx(ixx * 1e-12, rel=1e-9)
    assert ours.inertia_across == pytest.approx(iyy * 1e-12, rel=1e-9)
    assert ours.radius_motion == pytest.approx(kxx * 1e-3, rel=1e-9)
    assert ours.radius_across == pytest.approx(kyy * 1e-3, rel=1e-9)
    assert ours.modulus_motion == pytest.approx(meshed.get_z()[0] * 1e-9, rel=1e-9)


def test_textbook_section_is_an_i_section():
    """[KMD] ch. 32: A 11 t², I_xx 419/12 t⁴, I_yy 131/12 t⁴, k_xx 1.78 t."""
    t = 0.0041
    by_walls = oracle.i_section(depth=5 * t, width=4 * t, web=t, flange=t)
    by_area = rod.textbook_section(area=11 * t**2)
    for name in ("area", "inertia_motion", "inertia_across", "depth", "width"):
        assert getattr(by_walls, name) == pytest.approx(getattr(by_area, name), rel=1e-12)
    assert by_area.radius_motion / t == pytest.approx(1.78, abs=0.005)


def test_goodman_limit_fed_back_is_one():
    """Round trip: on the Goodman line, and at pure reversal, the utilisation is 1."""
    strength = {"fatigue_strength": 300e6, "ultimate_strength": 900e6}
    assert oracle.goodman_utilisation(
        compression_stress=300e6, tension_stress=300e6, **strength
    ) == pytest.approx(1)
    # Pulsating tension 0..2σ: σ (1/300 + 1/900) = 1 at σ = 225 MPa.
    assert oracle.goodman_utilisation(
        compression_stress=0.0, tension_stress=450e6, **strength
    ) == pytest.approx(1)
    # Pulsating compression gets no credit for its mean.
    assert oracle.goodman_utilisation(
        compression_stress=600e6, tension_stress=0.0, **strength
    ) == pytest.approx(1)


@pytest.mark.parametrize("tension", [0.0, 20e3, 57e3, 80e3, 110e3])
def test_endured_compression_fed_back_is_one(tension):
    """[SHIGLEY] eq. 6-46: what endless life allows beside a tension uses Goodman's line up."""
    area, strength = 190e-6, {"fatigue_strength": 300e6, "ultimate_strength": 900e6}
    endured = rod.endured_compression(
        tension=np.array([tension]),
        endurance_force=np.array([300e6 * area]),
        ultimate_force=np.array([900e6 * area]),
    )
    used = oracle.goodman_utilisation(
        compression_stress=endured / area, tension_stress=tension / area, **strength
    )
    assert used == pytest.approx(1)
    assert (endured < 2 * 300e6 * area - tension) == (tension > 57e3)


def test_pulsating_strength_is_goodmans():
    """[SHIGLEY] eq. 6-46: a pull from 0 to it uses Goodman's line up."""
    strength = {"fatigue_strength": 300e6, "ultimate_strength": 900e6}
    found = rod.pulsating_strength(endurance=300e6, ultimate_strength=900e6)
    assert found == pytest.approx(450e6)
    assert oracle.goodman_utilisation(
        compression_stress=0.0, tension_stress=found, **strength
    ) == pytest.approx(1)


def test_bad_sections_are_refused():
    with pytest.raises(OutOfRangeError, match="2 flange / depth"):
        oracle.i_section(depth=0.02, width=0.015, web=0.004, flange=0.01)
    with pytest.raises(OutOfRangeError, match="section area is 0"):
        rod.textbook_section(area=0.0)


def test_r8_finite_life_of_a_polished_specimen():
    """[SHIGLEY] example 6-2 (from memory): 1050 hot-rolled, S_ut 90, S_e 45 kpsi, f 0.86: 64.6 kpsi
    at 1e4 cycles, and 55 kpsi lasts 7.75e4 cycles."""
    steel = {"fatigue_strength": 45.0, "ultimate_strength": 90.0, "thousand_cycle_share": 0.86}
    assert rod.finite_life_strength(cycles=1e4, **steel) == pytest.approx(64.6, abs=0.05)
    assert rod.finite_life_strength(cycles=7.75e4, **steel) == pytest.approx(55.0, abs=0.05)


def test_r9_finite_life_is_level_beyond_its_ends():
    """[SHIGLEY] figure 6-10: f S_ut up to 1e3 cycles, S_e from 1e6 on, falling between."""
    steel = {"fatigue_strength": 285e6, "ultimate_strength": 864e6}
    cycles = np.array([1.0, 1e3, 1e4, 1e5, 1e6, 1e9])
    found = np.asarray(rod.finite_life_strength(cycles=cycles, **steel))
    assert found[:2] == pytest.approx([0.82 * 864e6] * 2, rel=1e-12)
    assert found[-2:] == pytest.approx([285e6] * 2, rel=1e-12)
    assert np.all(np.diff(found[1:-1]) < 0)
