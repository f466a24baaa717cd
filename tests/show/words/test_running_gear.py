"""What every face says of the running gear: true, the same, and never more than it knows."""

import dataclasses
import math

import numpy as np
import pytest
from cli_case import DRAWS, METRIC, command, run_text, write_case

from torquerisk import assess, default_policy
from torquerisk.files.engine_file import engine_from_text
from torquerisk.files.run_file import run_from_bytes
from torquerisk.quantities import RPM
from torquerisk.show.documents import gear_keys
from torquerisk.show.pictures import gallery
from torquerisk.show.pictures.running_gear import (
    frame_of,
    polar_marks,
    polar_points,
    ring_step,
    shown_guides,
)
from torquerisk.show.pictures.style import LIGHT, Stamp
from torquerisk.show.report import gear_section
from torquerisk.show.text import blocks, tables
from torquerisk.show.words import running_gear
from torquerisk.show.words.columns import At, Shown, chosen, in_words
from torquerisk.study.answers.crossover import Crossover
from torquerisk.study.answers.cycle_traces import median_cycle
from torquerisk.study.answers.gear_loads import FORCES, PinReach, gear_loads

pytestmark = pytest.mark.slow

STAMP = Stamp(case="invented", digest="0123456789abcdef")
STROKE, ROD, PISTON = 0.08636, 0.14605, 0.4
SPEEDS = tuple(range(2000, 9001, 500))
TORQUES = tuple(float(v) for v in np.linspace(210.0, 60.0, len(SPEEDS)))
HEAVY = METRIC.replace(
    "[running_gear]", '[running_gear]\npiston_mass = "0.8 kg"\nrod_mass = "0.8 kg"'
)


def made(engine=METRIC, **run):
    return assess(
        engine_from_text(engine, "engine.toml"),
        run_from_bytes(run_text(**run).encode(), "run.csv"),
        default_policy(draws=int(DRAWS)),
    )


@pytest.fixture(scope="module")
def case():
    return made()


@pytest.fixture(scope="module")
def gear(case):
    return gear_loads(case)


@pytest.fixture(scope="module")
def fast():
    """A heavy running gear at high speed and little torque: pull overtakes push inside the run."""
    return made(HEAVY, torques=TORQUES, speeds=SPEEDS)


def test_place_among_published_speeds():
    """A public page (tertiary): words for below, between, within and above what is published."""
    assert running_gear.place_in_words(12.0, False) == (
        "below what is published for petrol engines (about 16 m/s)"
    )
    assert running_gear.place_in_words(18.4, False) == (
        "between what is published for petrol engines (about 16 m/s) and for sport engines (20 to "
        "25 m/s)"
    )
    assert running_gear.place_in_words(22.0, False) == (
        "as published for sport engines (20 to 25 m/s)"
    )
    assert running_gear.place_in_words(31.0, False) == (
        "above what is published for extreme engines (about 30 m/s)"
    )
    assert "high-speed diesels (about 14 m/s)" in running_gear.place_in_words(13.0, True)


def test_guidance_is_an_indicator_and_says_where_it_is_from(gear):
    """The brief to ourselves: source and its rank are told, and that acceleration is the load."""
    told = running_gear.guidance_in_words(gear)
    for part in ("tertiary source", "from memory", "an indicator only, not a limit",
                 "acceleration and its force load the rod"):  # fmt: skip
        assert part in told
    speed = 2 * STROKE * 6000 / 60
    assert f"Mean piston speed is {speed:.1f} m/s at 6,000 rpm" in told


def test_no_verdict_on_crown_and_ring_land(gear):
    """identity: load only, and what is missing for more."""
    told = running_gear.crown_in_words(gear)
    assert "load only, with no verdict" in told
    assert "ring gaps and land thickness, which are not asked" in told
    k = int(np.argmax(gear.crown.p50))
    half = (gear.crown.p95[k] - gear.crown.p05[k]) / 2e3
    assert f"{gear.crown.p50[k] / 1e3:.{0 if half >= 9.95 else 1}f} " in told


def _found(**changes):
    values = {
        "speeds": (), "from_the_start": False, "first": 2000 * RPM,
        "last": 7200 * RPM, "at_first": 5000 * RPM, "at_last": 9812 * RPM,
    }  # fmt: skip
    return Crossover(**{**values, **changes})


def test_crossover_words(gear):
    """identity: inside a speed, outside a rough one with the side of the run that it lies on."""
    say = running_gear.crossover_in_words
    assert say("It happens", _found(), gear) == (
        "It happens at about 9,800 rpm, beyond this run's 7,200 rpm, at the peak pressure of its "
        "last row."
    )
    assert say("It happens", _found(from_the_start=True, at_first=1470 * RPM), gear) == (
        "It happens at about 1,500 rpm, below this run's 2,000 rpm, at the peak pressure of its "
        "first row."
    )
    assert say("It happens", _found(speeds=(4000 * RPM, 6123 * RPM)), gear) == (
        "It happens at about 4,000 rpm and again at about 6,100 rpm, at this run's own peak "
        "pressures."
    )
    twice = _found(speeds=(6123 * RPM,), from_the_start=True, at_first=1470 * RPM)
    assert say("It happens", twice, gear) == (
        "It happens already at this run's first 2,000 rpm and again at about 6,100 rpm, at this "
        "run's own peak pressures."
    )
    without = dataclasses.replace(gear, overtaking=None, why_not="no cycle can be made.")
    assert say("It happens", None, without) == "It happens: not found, for no cycle can be made."


def test_crossing_is_marked_on_the_rod_picture(fast):
    """identity: the speed found inside the run stands on the picture, in its text and in words."""
    gear = gear_loads(fast)
    marks = running_gear.crossings(gear)
    assert marks
    picture = gallery.rod_picture(fast, LIGHT, STAMP, marks)
    at = marks[0][0] / RPM
    assert any(s.x0 == pytest.approx(at) for s in picture.figure.layout.shapes)
    told = f"about {100 * round(at / 100):,} rpm"
    assert any(told in a.text for a in picture.figure.layout.annotations)
    assert f"At {told} pull overtakes push" in picture.alt
    assert f"{told}, at this run's own peak pressures" in " ".join(running_gear.sentences(gear))


def test_polar_points_are_the_crankpin_force(case, gear):
    """identity: outwards and across are the force's components at the angles told, in kN."""
    cycle = median_cycle(case, 4)
    degrees, across, along = polar_points(cycle)
    assert {-360, -60, 0, 1, 2, 60, 180, 360} <= set(degrees)
    where = np.searchsorted(np.degrees(cycle.angle) + 1e-6, degrees)
    assert along * 1e3 == pytest.approx(cycle.forces.big_end_radial[where])
    assert across * 1e3 == pytest.approx(cycle.forces.big_end_tangential[where])
    assert np.hypot(across, along) * 1e3 == pytest.approx(cycle.forces.big_end[where])
    picture = gallery.polar_picture(cycle, cycle.speed, LIGHT, STAMP, gear.reach)
    line = next(t for t in picture.figure.data if t.name == "load")
    assert np.array(line.y, dtype=float) == pytest.approx(along, abs=0.006)
    assert np.array(line.x, dtype=float) == pytest.approx(across, abs=0.006)
    columns = {c.name: c.values for c in picture.columns}
    assert columns["outwards on the throw"] == pytest.approx(along)


def test_polar_marks_are_at_their_angles(case, gear):
    """identity: at firing TDC gas less inertia presses straight in, at overlap mass pulls out."""
    cycle = median_cycle(case, 4)
    picture = gallery.polar_picture(cycle, cycle.speed, LIGHT, STAMP, gear.reach)
    by_name = {t.name: t for t in picture.figure.data}
    firing, overlap = by_name["firing TDC 0°"], by_name["overlap TDC 360°"]
    assert firing.x[0] == pytest.approx(0, abs=0.05)
    assert firing.y[0] < 0 < overlap.y[0]
    k = int(np.argmin(np.abs(cycle.angle)))
    assert firing.y[0] * 1e3 == pytest.approx(cycle.forces.big_end_radial[k], abs=6)


def test_a_greatest_load_at_overlap_shares_its_mark(fast):
    """identity: where mass alone rules, the greatest load is the overlap's and is marked once."""
    cycle = median_cycle(fast, len(fast.speed) - 1)
    points = polar_points(cycle)
    marks = polar_marks(*points)
    size = np.hypot(points[1], points[2])
    assert [m.text for m in marks] == [
        "firing TDC 0°", f"overlap TDC 360°, {size.max():.0f} kN", "BDC 180°",
    ]  # fmt: skip
    assert size[marks[1].index] == size.max()
    picture = gallery.polar_picture(cycle, cycle.speed, LIGHT, STAMP, gear_loads(fast).reach)
    assert "greatest 360 degrees after firing" in picture.alt


def test_polar_scale_is_the_same_at_every_speed(case, gear):
    """identity: one frame holds the load of every speed, at equal scales both ways."""
    frames = set()
    for k in (0, 4, 8):
        cycle = median_cycle(case, k)
        layout = gallery.polar_picture(cycle, cycle.speed, LIGHT, STAMP, gear.reach).figure.layout
        frames.add((tuple(layout.xaxis.range), tuple(layout.yaxis.range)))
        assert layout.yaxis.scaleanchor == "x"
        _, across, along = polar_points(cycle)
        half, low, high = frame_of(gear.reach)
        assert np.abs(across).max() <= half
        assert low <= along.min()
        assert along.max() <= high
    assert len(frames) == 1


@pytest.mark.parametrize(("most", "step"), [(40e3, 10), (39e3, 5), (130e3, 20), (9e3, 2)])
def test_rings_are_round_numbers(most, step):
    """By hand: the largest of 1, 2, 5 times a power of ten that is at most a quarter."""
    assert ring_step(PinReach(inwards=most, outwards=1e3, aside=2e3)) == step


def test_piston_picture_draws_the_motion_and_names_what_is_published(gear):
    """identity: lines are the record's, and each published line has its name on the picture."""
    picture = gallery.piston_picture(gear, LIGHT, STAMP)
    lines = {t.name: np.array(t.y, dtype=float) for t in picture.figure.data}
    assert lines["mean piston speed"] == pytest.approx(gear.mean_piston_speed, abs=0.006)
    assert lines["acceleration"] == pytest.approx(gear.acceleration, abs=0.6)
    shown, top = shown_guides(gear)
    told = [a.text for a in picture.figure.layout.annotations]
    assert shown
    for guide in shown:
        assert running_gear.guide_in_words(guide) in told
        assert guide.low < top
    assert top > gear.mean_piston_speed.max()
    assert "an indicator only" in picture.alt


def test_text_has_every_force_with_its_angle(case, gear):
    """identity: the command's table holds all forces at both speeds, in 80 columns."""
    text = tables.assessment_text(case, full=True)
    part = text.split("Running gear: loads, no verdict\n")[1].split("\nWhat drives")[0]
    assert max(map(len, part.split("\n"))) <= blocks.WIDTH
    for force in FORCES:
        (line,) = [t for t in part.split("\n") if t.startswith(force.title)]
        for _, k in running_gear.told_speeds(case):
            extreme = gear.ranges[k][force.name].push or gear.ranges[k][force.name].pull
            assert f"{extreme.size / 1e3:.1f}" in line
    for sentence in (*running_gear.sentences(gear), running_gear.BASIS):
        assert sentence in " ".join(t.strip("- ") for t in part.split("\n"))


def test_a_speed_without_a_cycle_is_a_dash_with_its_reason(case, gear):
    """identity: no NaN and no zero stands for 'not known'."""
    ranges = (None,) * len(gear.ranges)
    none = dataclasses.replace(
        gear, ranges=ranges, reach=None, relief=None, overtaking=None, why_not="Too hot."
    )
    columns = chosen(running_gear.COLUMNS, running_gear.ROW)
    rows = in_words(columns, [At(none, 0), At(none, 3)], Shown())
    assert [row[6:] for row in rows] == [["–"] * 7] * 2
    assert running_gear.side_by_side(case, none) == []
    at = gear_keys.gear_at_speed(none, 3)
    assert at["forces"] is at["side_thrust_major_kn"] is at["main_bearing_load_kn"] is None
    assert at["forces_missing_because"] == "Too hot."
    assert at["mean_piston_speed_m_s"] > 0
    document = gear_keys.gear_document(case, none)
    assert document["tension_overtakes_compression"]["speed_rpm"] is None
    assert "Too hot." in document["tension_overtakes_compression"]["text"]
    assert gear_section.extremes_table(case, none).rows == []


def test_json_by_hand(tmp_path):
    """By hand: 2 S n, r w^2 (1 + r/l) and pi D^2/4 (p - 1 bar); words and extremes beside them."""
    folder = write_case(
        tmp_path / "case",
        METRIC.replace("[running_gear]", f'[running_gear]\npiston_mass = "{PISTON} kg"'),
    )
    document = command("assess", folder, "--draws", DRAWS, "--json").json
    for s in document["by_speed"]:
        n = s["speed_rpm"]
        assert s["mean_piston_speed_m_s"] == pytest.approx(2 * STROKE * n / 60)
        a = STROKE / 2 * (n * math.pi / 30) ** 2 * (1 + STROKE / 2 / ROD)
        assert s["piston_acceleration_tdc_m_s2"] == pytest.approx(a)
        assert s["piston_acceleration_tdc_g"] == pytest.approx(a / 9.80665)
        assert s["piston_inertia_force_tdc_kn"] == pytest.approx(PISTON * a / 1e3)
        gas = (s["peak_pressure_bar"]["p50"] - 1) * 1e5 * math.pi / 4 * 0.08255**2 / 1e3
        assert s["crown_load_kn"]["p50"] == pytest.approx(gas)
        assert s["crown_load_worst_cycle_kn"]["p50"] > gas
        assert s["forces"].keys() == {f.name for f in FORCES}
        assert s["side_thrust_major_kn"] == s["forces"]["cylinder_wall"]["push_kn"]
        assert s["rod_compression_angle_deg"] == s["forces"]["shank"]["push_angle_deg"]
        # The judged rod force is the median of the draws, this one the median engine's.
        assert s["forces"]["shank"]["push_kn"] == pytest.approx(s["rod_compression_kn"], rel=0.03)
        assert s["forces_missing_because"] is None
    gear = document["running_gear"]
    top = max(document["by_speed"], key=lambda s: s["torque_n_m"])
    assert gear["extremes"][0]["at"] == "peak torque"
    assert gear["extremes"][0]["speed_rpm"] == top["speed_rpm"]
    assert gear["extremes"][0]["forces"] == top["forces"]
    for name in ("tension_overtakes_compression", "inertia_relieves_gas_force"):
        item = gear[name]
        assert item["speed_rpm"] is None
        assert item["estimate_outside_run_rpm"] > 6000
        assert "beyond this run's 6,000 rpm" in item["text"]
    assert "tertiary" in gear["guidance"]["published"][0]["source"]


def test_json_of_a_crossing_inside_the_run(fast):
    """identity: the speed is a number, nothing is estimated outside."""
    gear = gear_loads(fast)
    item = gear_keys.gear_document(fast, gear)["tension_overtakes_compression"]
    assert item["speed_rpm"] == pytest.approx(gear.overtaking.speeds[0] / RPM)
    assert item["all_speeds_rpm"][0] == item["speed_rpm"]
    assert item["estimate_outside_run_rpm"] is None
    assert item["from_the_start"] is False
    early = dataclasses.replace(gear.overtaking, from_the_start=True, at_first=1470 * RPM)
    item = gear_keys.gear_document(fast, dataclasses.replace(gear, overtaking=early))
    item = item["tension_overtakes_compression"]
    assert item["from_the_start"] is True
    assert item["estimate_outside_run_rpm"] == pytest.approx(1470)
    assert item["speed_rpm"] == pytest.approx(gear.overtaking.speeds[0] / RPM)


@pytest.mark.parametrize(
    ("cylinders", "heads", "told"), [(4, 1, False), (1, 1, False), (8, 2, True), (2, 2, True)]
)
def test_loads_of_one_rod_are_said_where_two_may_share_a_throw(case, gear, cylinders, heads, told):
    """Plain mechanics: in a vee two rods may share a throw, and their loads add up; a vee of two
    cylinders has a head to each."""
    joint = dataclasses.replace(case.engine.head_joint, fasteners=40)
    engine = dataclasses.replace(case.engine, cylinders=cylinders, heads=heads, head_joint=joint)
    words = running_gear.basis_in_words(engine)
    assert ("of one rod; two rods on one throw add up" in words) is told
    document = gear_keys.gear_document(case, dataclasses.replace(gear, engine=engine))
    assert document["basis"] == words
    assert document["force_titles"]["main_bearing"]["of"] == "one rod"
