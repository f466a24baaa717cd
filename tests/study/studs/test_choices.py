"""Tests of the fastenings that are tried: threads, torques, angles, lubricants, draws."""

import csv
import dataclasses
import itertools
import math
from pathlib import Path

import numpy as np
import pytest
from stud_cases import known, unknown

from torquerisk.case.lubricants import LUBRICANTS
from torquerisk.errors import InputError
from torquerisk.physics.head_joint.property_class import strength_class
from torquerisk.physics.head_joint.scatter import TighteningMethod
from torquerisk.physics.head_joint.screw_thread import screw_thread
from torquerisk.study.draws.simulated_engines import Draws, standard_draws
from torquerisk.study.draws.spreads import DRAWN
from torquerisk.study.strengths.head import head_capacity
from torquerisk.study.studs.choices import (
    fastenings,
    nut_thread,
    threads_near,
)
from torquerisk.study.studs.fastening import MIDDLE, Change, present_fastening
from torquerisk.study.studs.how_far import ANGLE_DRAWS, fastening, largest_torque
from torquerisk.study.studs.joint_draws import OF_THE_FASTENER, draws_for, fresh_draws
from torquerisk.study.studs.lubricants import Lubricant, lubricant, oil_changes, own_lubricant
from torquerisk.study.studs.results import PAST_YIELD_TAKEN

REFERENCE = Path(__file__).parents[2] / "reference"


def rows(name: str) -> list[dict[str, str]]:
    lines = (REFERENCE / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(lines[1:]))


def oil(friction: float, sd: float = 0.0) -> Lubricant:
    return Lubricant(
        name="test", thread_friction=friction, head_friction=friction, thread_sd=sd, head_sd=sd,
        words="test",
    )  # fmt: skip


@pytest.mark.parametrize("table", ["preload_vdi_fine", "preload_vdi_coarse"])
def test_torque_for_a_known_lubricant_is_the_printed_one(table):
    """VDI 2230 (2001) tables of assembly preload and torque: 1.5 % (whole N*m in print)."""
    seen = 0
    for row in rows(table):
        thread = screw_thread(row["designation"])
        strength = strength_class(row["property_class"], thread.nominal_diameter)
        made = largest_torque(thread, strength, oil(float(row["friction"])))
        assert made == pytest.approx(float(row["torque_n_m"]), rel=0.015)
        seen += 1
    assert seen >= 6


def test_table_torque_gives_the_table_preload():
    """VDI 2230 (2001), M12 class 10.9, friction 0.12: 123 N*m and 63.2 kN.

    0.7 %: half a N*m of rounding is 0.4 % and the printed preload is good to 0.3 %.
    """
    engine = unknown().engine.with_values(
        {
            "head_joint.tightening_torque": 123.0,
            "head_joint.thread_friction": 0.12,
            "head_joint.head_friction": 0.12,
        }
    )
    middle = Draws(deviates=dict.fromkeys(DRAWN, np.zeros(1)), count=1)
    assert head_capacity(engine, middle).assembly_preload[0] == pytest.approx(63.2e3, rel=0.007)


def test_an_uncertain_lubricant_is_given_less_torque():
    """Metamorphic: the wider the friction, the less torque; never past least yield two sd down."""
    thread, strength = screw_thread("M12"), strength_class("10.9", 0.012)
    torques = [largest_torque(thread, strength, oil(0.12, sd)) for sd in (0.0, 0.01, 0.015, 0.02)]
    assert torques == sorted(torques, reverse=True)
    assert torques[-1] < torques[0]


def test_threads_that_the_hole_allows():
    """ISO 724, ASME B1.1: core of the new thread against the old one's outside, by hand.

    M12x1.75 (core 10.1 mm) leaves half of its height to M11; M12x1.5 follows its pitch, M12x1.25
    (10.6) leaves a quarter; cores of M14 (11.8, 12.4 mm) clear it. 1/2-13 (10.59) leaves a quarter
    to 7/16, 9/16-12 (12.00 mm) under a third to 1/2.
    """
    near = {t.designation: change for change, t in threads_near(screw_thread("M11x1.5"))}
    assert near == {
        "M11x1.5": Change.NONE,
        "M12x1.5": Change.TAP_OUT,
        "M12x1.25": Change.DRILL_AND_TAP,
        "M14x2": Change.DRILL_AND_TAP,
        "M14x1.5": Change.DRILL_AND_TAP,
    }
    inch = {t.designation for _, t in threads_near(screw_thread("7/16-14"))}
    assert inch == {"7/16-14", "1/2-13", "1/2-20", "9/16-12", "9/16-18"}
    half = {t.designation for _, t in threads_near(screw_thread("1/2-13"))}
    assert "9/16-12" in half


def test_a_thread_insert_has_a_larger_hole():
    """DIN 8140 by hand: an insert for M11x1.5 stands in a thread of 11 + 1.299 1.5 = 12.95 mm.

    So M12 does not fill its hole; M14x1.5 (core 12.38) follows its pitch; M14x2 (11.83) would stand
    on half of its height; cores of M16 (13.8, 14.4 mm) clear it.
    """
    near = {t.designation: c for c, t in threads_near(screw_thread("M11x1.5"), insert=True)}
    assert near == {
        "M11x1.5": Change.NONE,
        "M14x1.5": Change.TAP_OUT,
        "M16x2": Change.DRILL_AND_TAP,
        "M16x1.5": Change.DRILL_AND_TAP,
    }
    engine = unknown().engine.with_values(
        {"head_joint.thread": "M11x1.5", "head_joint.thread_insert": "true"}
    )
    for made in fastenings(engine, own_lubricant(engine)):
        kept = made.engine.given("head_joint.thread_insert") == "true"
        assert kept is (made.thread.designation == "M11x1.5")
        assert made.thread.designation in near


def test_no_choice_is_what_stands_there():
    """Identity: the present fasteners with the present oil to the present preload are no change."""
    base = unknown().engine
    angled = next(m for m in fastenings(base, own_lubricant(base))
                  if m.change is Change.TIGHTENING and m.tightening_angle is not None)  # fmt: skip
    told = {"head_joint.tightening": "angle",
            "head_joint.tightening_torque": angled.tightening_torque,
            "head_joint.tightening_angle": angled.tightening_angle}  # fmt: skip
    for values in ({}, told):
        engine = base.with_values(values)
        now = present_fastening(engine)
        least = now.tightening_torque if now.method is TighteningMethod.TORQUE else 0.0
        made = list(fastenings(engine, own_lubricant(engine), (), least))
        same = [m for m in made if m.fastener == now.fastener and m.method is now.method]
        assert not same
        assert any(m.change is Change.TIGHTENING for m in made)


def test_a_full_shank_is_more_than_a_waist():
    """ISO 898-1: of one strength a full M12 (84.3 mm2) holds more than a waist of 9 mm (63.6 mm2).

    So studs as strong as waisted ones are a choice of their own, and weaker sections are none.
    """
    stud = {"head_joint.property_class": "special", "head_joint.yield_strength": 1200e6,
            "head_joint.tensile_strength": 1310e6, "head_joint.nut_thread": "M12x1.25"}  # fmt: skip
    waist = unknown().engine.with_values({**stud, "head_joint.shank_diameter": 0.009})
    full = unknown().engine.with_values(stud)
    for engine, changes in ((waist, {Change.TIGHTENING, Change.STRENGTH}),
                            (full, {Change.TIGHTENING})):  # fmt: skip
        made = [
            m
            for m in fastenings(engine, own_lubricant(engine))
            if m.thread.designation == "M12x1.75" and m.strength.yield_strength == 1200e6
        ]
        assert {m.change for m in made} == changes


def test_a_fastening_is_offered_once():
    """Identity: studs that are sold like the present ones are the present ones, not others."""
    engine = unknown().engine.with_values({
        "head_joint.thread": "7/16-14", "head_joint.nut_thread": "7/16-20",
        "head_joint.property_class": "special", "head_joint.yield_strength": 1200e6,
        "head_joint.tensile_strength": 1310e6,
    })  # fmt: skip
    made = list(fastenings(engine, own_lubricant(engine)))
    assert len({(m.fastener, m.method) for m in made}) == len(made)
    larger = [m for m in made if m.thread.designation == "1/2-13"]
    assert {m.fastener.turned.designation for m in larger} == {"1/2-20"}


def test_choices_are_at_least_as_strong_as_now():
    """Identity: no choice has less yield load than the present one; every method is tried."""
    engine = unknown().engine
    now = present_fastening(engine)
    least = now.strength.yield_strength * now.thread.stress_area
    made = list(fastenings(engine, own_lubricant(engine)))
    assert all(m.strength.yield_strength * m.thread.stress_area >= 0.999 * least for m in made)
    by_kind = {m.method for m in made if m.stud}, {m.method for m in made if not m.stud}
    usual = {TighteningMethod.TORQUE, TighteningMethod.ANGLE}
    assert by_kind == (usual | {TighteningMethod.STRETCH}, usual | {TighteningMethod.YIELD})
    assert {m.strength.name for m in made} == {"10.9", "12.9", "1200 MPa", "1400 MPa"}
    assert len({(m.thread.designation, m.strength.name, m.method) for m in made}) == len(made)


def test_weaker_classes_are_no_upgrade():
    """Common practice, no source: instead of 8.8 nobody fits 8.8 or 9.8 in a larger thread."""
    engine = unknown().engine.with_values({"head_joint.property_class": "8.8"})
    made = list(fastenings(engine, own_lubricant(engine)))
    weak = [m for m in made if m.strength.name in ("8.8", "9.8")]
    assert {m.change for m in weak} == {Change.TIGHTENING}
    assert {m.strength.name for m in weak} == {"8.8"}


def test_studs_have_a_fine_thread_under_the_nut():
    """ISO 261, ASME B1.1: the fine pitch of the same diameter; none over a thread that is fine."""
    nuts = {name: nut_thread(screw_thread(name)) for name in
            ("M12x1.75", "M11x1.5", "M14x1.5", "7/16-14", "1/2-20", "M18x2.5")}  # fmt: skip
    assert nuts == {"M12x1.75": "M12x1.25", "M11x1.5": "M11x1.25", "M14x1.5": None,
                    "7/16-14": "7/16-20", "1/2-20": None, "M18x2.5": None}  # fmt: skip
    engine = unknown().engine
    studs = [m for m in fastenings(engine, own_lubricant(engine)) if m.stud]
    assert {m.fastener.turned.designation for m in studs if m.change is Change.STRENGTH} == {
        "M12x1.25"
    }
    assert {m.strength.yield_strength for m in studs} == {1200e6, 1400e6}


def test_a_stretch_is_of_length_and_strength():
    """Identity: 85 % of yield by how the stud lengthens, to 0.01 mm; 3 % is half of that."""
    engine = unknown().engine
    for made in fastenings(engine, own_lubricant(engine)):
        if made.method is TighteningMethod.STRETCH and not made.spared:
            joint = head_capacity(made.engine, MIDDLE)
            at_yield = joint.assembly_preload[0] / joint.assembly_utilisation[0]
            aimed = 0.85 * at_yield * joint.lengthens[0]
            assert made.stretch == pytest.approx(aimed, abs=0.0051e-3)
            assert joint.assembly_preload[0] == pytest.approx(0.85 * at_yield, rel=0.03)


def test_the_holes_keep_their_depth():
    """Identity: a larger thread stands in the present depth of thread, not in a deeper one."""
    engine = unknown().engine
    depth = engine.value("head_joint.engagement_length").value
    for made in fastenings(engine, own_lubricant(engine)):
        assert made.engine.value("head_joint.engagement_length").value == depth
    assumed = engine.with_values({"head_joint.engagement_length": None})
    depth = assumed.value("head_joint.engagement_length").value
    for made in fastenings(assumed, own_lubricant(engine)):
        assert made.engine.value("head_joint.engagement_length").value == depth


def test_inch_engines_get_inch_grades():
    """SAE J429: an inch thread of grade 5 is offered grade 8, never a metric class."""
    engine = unknown().engine.with_values(
        {"head_joint.thread": "7/16-14", "head_joint.property_class": "SAE grade 5"}
    )
    names = {m.strength.name for m in fastenings(engine, own_lubricant(engine)) if not m.stud}
    assert names == {"SAE grade 5", "SAE grade 8"}


def test_special_studs_keep_their_own_strength():
    """Identity: a special stud's strength goes along to larger threads; weaker classes are left."""
    engine = unknown().engine.with_values(
        {
            "head_joint.property_class": "special",
            "head_joint.yield_strength": 1300e6,
            "head_joint.tensile_strength": 1400e6,
        }
    )
    made = list(fastenings(engine, own_lubricant(engine)))
    same = [m for m in made if m.change is Change.TIGHTENING]
    assert {m.strength.yield_strength for m in same} == {1300e6}
    stronger = [m for m in made if m.change is Change.STRENGTH]
    assert {m.strength.yield_strength for m in stronger} == {1400e6}
    assert any(m.change is Change.DRILL_AND_TAP and m.class_word == "special" for m in made)


def test_the_angle_brings_the_middling_joint_where_it_should():
    """Identity: the largest angle, to 5 degrees, that scatter takes past yield in half of what
    counts as used once.

    Three standard errors of the joints by which it is found; asked of many others.
    """
    engine = unknown().engine
    made = fastening(
        engine, change=Change.TIGHTENING, method=TighteningMethod.ANGLE, oil=own_lubricant(engine)
    )
    draws, accepted = standard_draws(DRAWN, 8192, 5), PAST_YIELD_TAKEN / 2
    error = np.sqrt(accepted * (1 - accepted) / ANGLE_DRAWS[0])

    def past_yield(more: float) -> float:
        angle = {"head_joint.tightening_angle": made.tightening_angle + math.radians(more)}
        return float(
            np.mean(head_capacity(made.engine.with_values(angle), draws).past_yield > 1e-9)
        )

    assert math.degrees(made.tightening_angle) % 5 == pytest.approx(0.0, abs=1e-9)
    assert past_yield(0) < accepted + 3 * error
    assert past_yield(5) > accepted - 3 * error


def test_more_friction_never_gives_more_clamp():
    """Metamorphic: at one torque, every simulated joint has less clamp with more friction."""
    a = unknown()
    heads = [
        head_capacity(
            a.engine.with_values(
                {"head_joint.thread_friction": mu, "head_joint.head_friction": mu}
            ),
            a.model.draws,
        )
        for mu in (0.08, 0.12, 0.16, 0.20)
    ]
    for less, more in itertools.pairwise(heads):
        assert (more.assembly_preload <= less.assembly_preload).all()
        assert (more.clamp <= less.clamp).all()


def test_fresh_draws_are_independent_and_normal():
    """Identity: new deviates are standard normal and uncorrelated with all that is kept."""
    draws = known().model.draws
    new = fresh_draws(draws, 7)
    n = draws.count
    for name, values in new.deviates.items():
        if name not in OF_THE_FASTENER:
            assert values is draws.deviates[name]
            continue
        assert not np.array_equal(values, draws.deviates[name])
        assert np.mean(values) == pytest.approx(0.0, abs=0.05)
        assert np.std(values) == pytest.approx(1.0, abs=0.05)
        for other in ("head_joint.ring_share", "model.compliance", "model.phasing", "model.cyclic"):
            r = np.corrcoef(values, draws.deviates[other])[0, 1]
            assert abs(r) < 4 / math.sqrt(n)


def test_scaled_draws_keep_each_inputs_own_spread():
    """Identity: dry is 0.16 to 0.30 by its declaration, so it scatters by 0.035 about 0.23."""
    a = unknown()
    made = fastening(
        a.engine,
        change=Change.TIGHTENING,
        method=TighteningMethod.TORQUE,
        oil=lubricant(a.engine, "dry"),
    )
    own = draws_for(a.model.draws, a.engine, made)
    friction = own.of_value(made.engine.value("head_joint.thread_friction"))
    assert np.median(friction) == pytest.approx(0.23, abs=0.002)
    assert np.std(friction) == pytest.approx(0.035, rel=0.05)


def test_the_present_fastening_is_the_files():
    """Identity: what the file gives is what stands; a torque left out is the head model's own."""
    engine = unknown().engine
    now = present_fastening(engine)
    assert (now.thread.designation, now.strength.name) == ("M12x1.75", "10.9")
    assert now.how == "110 N·m"
    bare = dataclasses.replace(
        engine, head_joint=dataclasses.replace(engine.head_joint, tightening_torque=None)
    )
    assumed = present_fastening(bare).tightening_torque
    middle = Draws(deviates=dict.fromkeys(DRAWN, np.zeros(1)), count=1)
    head = head_capacity(bare, middle)
    given = head_capacity(bare.with_values({"head_joint.tightening_torque": assumed}), middle)
    np.testing.assert_allclose(head.assembly_preload, given.assembly_preload)


def test_a_lubricant_is_asked_for_by_the_name_on_the_tin():
    """Shigley 8-15, Bickford, VDI 2230 Table A5: paste 0.06 to 0.12.

    Given in the engine file it is its own. Its width goes along: two standard deviations each way.
    """
    engine = unknown().engine
    paste = lubricant(engine, "molybdenum paste")
    assert (paste.thread_friction, paste.thread_sd) == pytest.approx((0.09, 0.015))
    assert "friction 0.06 to 0.12" in paste.words
    assert "Bickford" in paste.words
    bare = engine.with_values({"head_joint.thread_friction": None})
    for name, middle, sd in (("dry", 0.23, 0.035), (None, 0.12, 0.02)):
        value = bare.with_values({"head_joint.lubricant": name}).value("head_joint.thread_friction")
        assert (value.value, value.sd) == pytest.approx((middle, sd))
        assert not value.given


def test_what_changes_with_the_lubricant_by_hand():
    """VDI 2230 R13 by hand for M12x1.75, face 16.63 over 13.5 mm.

    110 N·m at friction 0.12 give 56.8 kN; paste at 0.09 gives 72.3 kN, or takes 86.5 N·m.
    """
    engine = unknown().engine
    now = present_fastening(engine)
    rows = oil_changes(engine, now.fastener, now.fastener.thread_diameter, 110.0, now.lubricant)
    own, oil, paste, _, dry = rows
    arm = {mu: 1.75 / (2 * math.pi) + 10.863 * mu / (2 * math.cos(math.pi / 6)) + mu * 15.065 / 2
           for mu in (0.12, 0.09, 0.13)}  # fmt: skip
    assert own.preload == pytest.approx(110 / arm[0.12] * 1e3, rel=1e-4)
    assert own.torque == pytest.approx(110.0)
    assert paste.preload == pytest.approx(110 / arm[0.09] * 1e3, rel=1e-4)
    assert paste.torque == pytest.approx(110 * arm[0.09] / arm[0.12], rel=1e-4)
    assert oil.torque == pytest.approx(110 * arm[0.13] / arm[0.12], rel=1e-4)
    assert dry.preload_least < dry.preload < dry.preload_most
    assert paste.yield_share > own.yield_share > dry.yield_share
    assert [row.oil.name for row in rows] == ["own", *LUBRICANTS]


def test_unknown_lubricants_are_refused():
    """House rule: the message names what is allowed."""
    with pytest.raises(InputError, match="'own'"):
        lubricant(unknown().engine, "grease")
