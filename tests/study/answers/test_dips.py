"""Dips of a torque curve: found where they are, none where there is none, and what they spare."""

import dataclasses
import json
import re

import numpy as np
import pytest
import small_case
from scipy.spatial import ConvexHull
from small_case import RPM, SPEED, assessed, hump, notch

from torquerisk.case import LIFTS, Notice
from torquerisk.errors import InputError
from torquerisk.show.documents.dips import explain_document
from torquerisk.show.text.answers import explain_text
from torquerisk.show.words.dips import (
    dip_in_short,
    dips_in_words,
    explain_dip,
    others_in_short,
    shown_depth,
    to_ask,
)
from torquerisk.show.words.prose import Units, limit_unit, points_in_words
from torquerisk.show.words.word_list import WORD_LIST
from torquerisk.study.answers import dip_search
from torquerisk.study.answers.dip_cells import Cell
from torquerisk.study.answers.dip_search import (
    basins,
    envelope_corners,
    least_depth_of,
    noise_of,
    smoothed,
)
from torquerisk.study.answers.dips import by_its_parts, find_dips
from torquerisk.study.limits import place_of

FINE = np.arange(2000.0, 6501.0, 50.0) * RPM


@pytest.fixture(scope="module")
def boosted():
    """A curve with a notch of 40 N*m, its boost lowered there and ignition retarded by 4 deg."""
    dip = notch(40.0)
    channels = {
        "manifold_pressure": 2.2e5 - 600 * dip,
        "ignition_advance": np.radians(16.0 - dip / 10),
        "lambda_": np.full(len(SPEED), 0.85),
        "coolant_pressure": 1e5 + 40e3 / (1 + np.exp(-(SPEED / RPM - 3700) / 150)),
    }
    return assessed(hump() - dip, channels)


@pytest.fixture(scope="module")
def bare():
    return assessed(hump() - notch(40.0))


def test_envelope_is_the_upper_hull():
    """scipy.spatial.ConvexHull (Qhull) on 200 random curves: the same upper boundary."""
    random = np.random.default_rng(5)
    for _ in range(200):
        x = np.sort(random.uniform(0, 100, 30))
        y = random.normal(0, 1, 30).cumsum()
        floor = y.min() - 10.0
        points = np.column_stack([np.r_[x, x[0], x[-1]], np.r_[y, floor, floor]])
        corners = points[ConvexHull(points).vertices]
        upper = corners[corners[:, 1] > floor]
        upper = upper[np.argsort(upper[:, 0])]
        expected = np.interp(x, upper[:, 0], upper[:, 1])
        corner = envelope_corners(x, y)
        np.testing.assert_allclose(np.interp(x, x[corner], y[corner]), expected, rtol=0, atol=1e-9)


def test_smoothing_keeps_a_straight_line():
    """Identity: a local straight-line fit returns any straight line, ends and gaps included."""
    speed = np.r_[200.0, 205.0, 230.0, 231.0, 320.0, 321.0, 322.0, 400.0]
    curve = smoothed(speed, 3.0 + 0.7 * speed)
    np.testing.assert_allclose(curve.torque, 3.0 + 0.7 * speed, rtol=1e-9)


def test_noise_estimate_is_the_noise():
    """Simulation: 2 N*m of normal noise on a smooth curve, 40 seeds.

    The estimator is a median of size over 0.6745; with 88 overlapping values its relative spread is
    about 12 %, so the mean over 40 seeds is good to 2 % and to a tenth with the model's bias.
    """
    found = [
        noise_of(FINE, hump(speed=FINE) + np.random.default_rng(seed).normal(0, 2.0, len(FINE)))
        for seed in range(40)
    ]
    assert np.mean(found) == pytest.approx(2.0, rel=0.1)


@pytest.mark.parametrize("speed", [SPEED, FINE, np.arange(1500.0, 6500.0, 7.0) * RPM])
def test_a_curve_that_rises_and_falls_has_no_dip(speed):
    """Metamorphic: an S-shaped rise, a plateau and a convex fall, at any spacing of rows."""
    rpm = speed / RPM
    torque = 160 + 240 / (1 + np.exp(-(rpm - 2700) / 180)) - 130 / (1 + np.exp((5600 - rpm) / 250))
    assert basins(smoothed(speed, torque), 1.0) == ()


def test_noise_alone_makes_no_dip():
    """Simulation: 1 % noise on a plateau, 300 seeds; five standard deviations let hardly any by."""
    alarms = 0
    for seed in range(300):
        torque = hump(speed=FINE) + np.random.default_rng(seed).normal(0, 3.5, len(FINE))
        curve = smoothed(FINE, torque)
        alarms += len(basins(curve, least_depth_of(curve)))
    assert alarms <= 3


@pytest.mark.parametrize("depth", [15.0, 40.0, 120.0])
def test_a_notch_in_a_straight_line_is_measured(depth):
    """Identity: under a level line the depth of a notch is its own, less what smoothing takes.

    The window (standard deviation 200/sqrt(6) = 82 rpm) widens a notch of 400 rpm to 408 and lowers
    it by 2 %; a parabola's end terms may add another per cent.
    """
    torque = 300.0 - notch(depth, 4000.0, 400.0, FINE)
    (basin,) = basins(smoothed(FINE, torque), 5.0)
    assert basin.depth == pytest.approx(depth, rel=0.035)
    assert basin.speed == pytest.approx(4000 * RPM, abs=50 * RPM)
    assert basin.from_speed < 3100 * RPM < 4900 * RPM < basin.to_speed


@pytest.mark.parametrize("at", [3350.0, 3800.0, 4250.0, 4700.0, 5150.0])
@pytest.mark.parametrize("width", [200.0, 350.0, 600.0])
def test_a_dip_of_a_tenth_is_found_in_eleven_rows(at, width):
    """Metamorphic: rows 450 rpm apart leave a dip's own shape between neighbours; it is no noise.

    The dip is seen by the rows on it: one that falls between two of them is as deep as they show.
    """
    speed = np.linspace(2000.0, 6500.0, 11) * RPM
    for seed in range(10):
        noise = np.random.default_rng(seed).normal(0, 1.0, len(speed))
        plateau = 360 - 8 * ((speed / RPM - 4200) / 2000) ** 2
        curve = smoothed(speed, plateau - notch(36.0, at, width, speed) + noise)
        found = basins(curve, least_depth_of(curve))
        assert any(b.from_speed < at * RPM < b.to_speed and b.depth > 18.0 for b in found)


def test_eleven_rows_of_noise_make_no_dip():
    """Simulation: 0.7 % noise, what steady points repeat to, on 11 rows of a hump, 300 seeds."""
    speed = np.linspace(2000.0, 6500.0, 11) * RPM
    alarms = 0
    for seed in range(300):
        torque = hump(speed=speed) + np.random.default_rng(seed).normal(0, 2.5, len(speed))
        curve = smoothed(speed, torque)
        alarms += len(basins(curve, least_depth_of(curve)))
    assert alarms <= 6


def test_two_notches_stay_two_and_ripple_between_merges():
    """Metamorphic: notches far apart are two dips; a ripple of 3 N*m on a floor parts nothing."""
    two = 300.0 - notch(40.0, 3000.0, 250.0, FINE) - notch(30.0, 5500.0, 250.0, FINE)
    assert len(basins(smoothed(FINE, two), 10.0)) == 2
    wide = 300.0 - 40.0 * np.exp(-(((FINE / RPM - 4200) / 900) ** 6))
    ripple = wide + 3.0 * np.sin(FINE / RPM / 120.0)
    assert len(basins(smoothed(FINE, ripple), 10.0)) == 1


def test_a_steep_rise_behind_a_small_dip_is_no_part_of_it():
    """Metamorphic: a dip of 12 N*m before a rise of 150 N*m is at most twice its depth."""
    rpm = FINE / RPM
    torque = 240 - notch(12.0, 2800.0, 250.0, FINE) + 150 / (1 + np.exp(-(rpm - 4300) / 180))
    (basin,) = basins(smoothed(FINE, torque), 5.0)
    assert basin.depth < 24.0
    assert basin.to_speed < 4000 * RPM


def test_the_dip_is_found_and_filled(bare):
    """scipy.spatial.ConvexHull: depth under the hull of the exact curve in steps of 1 rpm.

    Rows lie 250 rpm apart, so the exact line may touch up to half a row beside one of them, where
    the curve bends by less than 1 N*m.
    """
    (dip,) = find_dips(bare)
    exact = np.arange(2000.0, 6501.0) * RPM
    torque = hump(speed=exact) - notch(40.0, speed=exact)
    points = np.column_stack([np.r_[exact, exact[0], exact[-1]], np.r_[torque, 0.0, 0.0]])
    corners = points[ConvexHull(points).vertices]
    corners = corners[corners[:, 1] > 0]
    corners = corners[np.argsort(corners[:, 0])]
    hull = np.interp(dip.speed, corners[:, 0], corners[:, 1])
    assert dip.speed == pytest.approx(4250 * RPM)
    assert dip.depth == pytest.approx(hull - np.interp(dip.speed, exact, torque), abs=1.0)
    share = (dip.speed - dip.from_speed) / (dip.to_speed - dip.from_speed)
    line = dip.from_torque + share * (dip.to_torque - dip.from_torque)
    assert dip.would_be_torque == pytest.approx(line)
    assert find_dips(bare, least_depth=60.0) == ()


@pytest.mark.parametrize("depth", [0.0, -3.0, float("nan"), float("inf")])
def test_a_least_depth_must_be_above_nothing(bare, depth):
    """Contract: which input, what was given, what is allowed."""
    with pytest.raises(InputError, match=r"least_depth is .* N\*m, but must be above 0 N\*m"):
        find_dips(bare, least_depth=depth)


def test_with_the_dip_is_what_the_assessment_says(boosted):
    """Identity: the side 'with the dip' is the assessment's own figures at that speed, by the
    parts' own strength where a sign of lift was seen."""
    (dip,) = find_dips(boosted)
    boosted = by_its_parts(boosted)
    k = int(np.argmin(np.abs(boosted.speed - dip.speed)))
    assert dip.torque == boosted.torque[k]
    for name, item in boosted.limits.items():
        side = dip.changes[name].with_dip
        assert side.chance == pytest.approx(item.chance[k], abs=1e-12)
        assert side.utilisation == pytest.approx(item.utilisation[k], rel=1e-9)
        assert side.margin[1] == pytest.approx(item.margin.p50[k], rel=1e-9)


def test_without_channels_filling_changes_torque_only(bare):
    """Identity: where nothing was logged, the filled dip is the same model at more torque."""
    (dip,) = find_dips(bare)
    k = int(np.argmin(np.abs(bare.speed - dip.speed)))
    assert dip.carried == ()
    wanted = np.where(np.arange(len(bare.speed)) == k, dip.would_be_torque, bare.torque)
    place = place_of(bare.model.demand.torque, wanted)
    item = bare.limits["head_lift"]
    load = place.load(bare.model.load(bare.limits["head_lift"].limit))[k]
    strength = item.limit.strength(bare.model.demand, bare.model.parts)
    ratio = load / np.broadcast_to(strength, (len(bare.speed), small_case.DRAWS))[k]
    expected = np.sort(ratio)[small_case.DRAWS // 2]
    assert dip.changes["head_lift"].without_dip.utilisation == pytest.approx(expected, rel=1e-9)
    chance = (bare.model.capacities["head_lift"][k] < dip.would_be_torque).mean()
    assert dip.changes["head_lift"].without_dip.chance == pytest.approx(chance, abs=1e-12)


def test_dots_are_one_in_twenty_engines(bare):
    """Identity: dots beyond 1 count the chance to within a dot either way, with and without."""
    (dip,) = find_dips(bare)
    change = dip.shown
    assert change is not None
    for side in change.cells.values():
        assert len(side.dots) == 20
        assert np.all(np.diff(side.dots) >= 0)
        assert (side.dots > 1).mean() == pytest.approx(side.chance, abs=0.05)


def test_it_protects_what_would_have_risen_most(bare):
    """Metamorphic: the named limit would have been over the accepted chance, and rose the most."""
    (dip,) = find_dips(bare)
    assert dip.protects is not None
    named = dip.changes[dip.protects]
    assert named.without_dip.chance > dip.accepted
    binding = [c for c in dip.changes.values() if c.limit.kind.value not in ("index", "knock")]
    rises = {c.limit.name: c.without_dip.chance - c.with_dip.chance for c in binding}
    over = [c.limit.name for c in binding if c.without_dip.chance > dip.accepted]
    assert rises[dip.protects] == max(rises[name] for name in over) > 0


def test_a_gentle_engine_needs_no_dip():
    """Metamorphic: at half the torque nothing in the model asks for the dip, and it says so."""
    (dip,) = find_dips(assessed(hump(170.0) - notch(20.0)))
    assert dip.protects is None
    assert not dip.over_anyway
    assert dip.shown is not None


def test_channels_tell_what_pulled_torque_down(boosted):
    """Identity: boost and ignition as put into the run; lambda, which is level, is not named."""
    (dip,) = find_dips(boosted)
    signs = {s.channel: s for s in dip.signs}
    assert set(signs) == {"manifold_pressure", "ignition_advance", "coolant_pressure"}
    assert signs["ignition_advance"].change == pytest.approx(np.radians(-4.0), rel=0.12)
    assert signs["manifold_pressure"].change == pytest.approx(-24e3, rel=0.12)
    assert signs["coolant_pressure"].change == pytest.approx(40e3, rel=0.05)
    assert set(dip.carried) == {"manifold_pressure", "ignition_advance"}


def test_the_four_cells_are_two_moves_of_the_same_engines(boosted):
    """Identity: at each ignition, filling torque in is the same loads met at a higher torque; where
    nothing of ignition was logged, there are two cells."""
    (dip,) = find_dips(boosted)
    change = dip.changes["head_lift"]
    assert list(change.cells) == list(Cell)
    chance = {cell: side.chance for cell, side in change.cells.items()}
    assert chance[Cell.AS_LOGGED] <= chance[Cell.TORQUE] <= chance[Cell.BOTH]
    assert chance[Cell.AS_LOGGED] <= chance[Cell.IGNITION] <= chance[Cell.BOTH]
    assert dip.ignition.early == pytest.approx(np.radians(-4.0), rel=0.12)
    assert not dip.early_ignition_costs
    assert "earlier than it was" in explain_dip(boosted, dip).text


def early(size, dip, channel="ignition_advance"):
    """Ignition early by a size [deg] about 4,000 rpm, over a dip of torque [N*m] at 4,200 rpm."""
    bump = size * np.exp(-(((SPEED / RPM - 4000) / 700) ** 2))
    angle = 12.0 + bump if channel == "ignition_advance" else 18.0 - bump
    return assessed(hump() - notch(dip), {channel: np.radians(angle)})


@pytest.fixture(scope="module")
def early_ignition():
    return early(8.0, 20.0)


def test_early_ignition_is_blamed_where_it_costs(early_ignition):
    """Metamorphic: ignition 8 degrees early loads more than 20 N*m do (a degree is about 2 % of
    peak pressure, 20 N*m are 6 %), so it is blamed; its line spans the stretch that is early."""
    (dip,) = find_dips(early_ignition)
    assert dip.ignition.early == pytest.approx(np.radians(8.0), rel=0.15)
    assert dip.ignition.from_speed < dip.from_speed
    chance = {c: side.chance for c, side in dip.changes[dip.protects].cells.items()}
    assert chance[Cell.BOTH] < chance[Cell.AS_LOGGED] < chance[Cell.TORQUE]
    assert chance[Cell.IGNITION] <= chance[Cell.BOTH]
    assert dip.early_ignition_costs
    text = explain_dip(early_ignition, dip).text
    assert "Early ignition is what costs there" in text
    assert "raise it: later ignition there" in text
    assert "as a lower charge allows" not in text
    for share in chance.values():
        assert f"{round(share * dip.draws)}" in text
    plain = dip_in_short(dip)[-1]
    assert "would do as much and keep the torque" in plain
    assert ("that too is more than accepted" in plain) == (chance[Cell.BOTH] > dip.accepted)


def test_ca50_tells_early_ignition_too(bare):
    """Metamorphic: CA50 earlier by 8 degrees is the same story; a run that logged neither has two
    cells and blames nothing."""
    (dip,) = find_dips(early(8.0, 20.0, "ca50"))
    assert dip.ignition.channel == "ca50"
    assert dip.ignition.early == pytest.approx(np.radians(8.0), rel=0.15)
    assert dip.early_ignition_costs
    (plain,) = find_dips(bare)
    assert plain.ignition is None
    assert not plain.early_ignition_costs
    assert list(plain.shown.cells) == [Cell.AS_LOGGED, Cell.BOTH]


def test_slightly_early_ignition_is_not_blamed_for_a_deep_dip():
    """Metamorphic: 2 degrees cost less than 60 N*m do."""
    (dip,) = find_dips(early(2.0, 60.0))
    assert dip.ignition.is_early
    assert not dip.early_ignition_costs


def test_retarded_ignition_in_the_dip_hides_load(boosted):
    """Metamorphic: drawn straight across, ignition is earlier, so the filled dip loads more."""
    (dip,) = find_dips(boosted)
    boosted = by_its_parts(boosted)
    k = int(np.argmin(np.abs(boosted.speed - dip.speed)))
    at_more_torque = (boosted.model.capacities["head_lift"][k] < dip.would_be_torque).mean()
    assert dip.changes["head_lift"].without_dip.chance > at_more_torque


def test_abnormal_cycles_grow_with_the_filled_dip(bare):
    """Metamorphic: more torque at the same speed never makes knock or pre-ignition rarer."""
    (dip,) = find_dips(bare)
    assert 0 <= dip.abnormal_with <= dip.abnormal_without <= 1


def test_long_runs_are_averaged_first():
    """Metamorphic: 5,000 rows give the dip that 91 rows give, to 1 % of peak torque."""
    long = np.linspace(FINE[0], FINE[-1], 5000)
    found = []
    for speed in (FINE, long):
        (basin,) = basins(smoothed(speed, hump(speed=speed) - notch(40.0, speed=speed)), 8.0)
        found.append(basin)
    assert len(smoothed(long, hump(speed=long)).speed) <= dip_search.MOST_ROWS
    assert found[0].depth == pytest.approx(found[1].depth, abs=3.6)
    assert found[0].speed == pytest.approx(found[1].speed, abs=60 * RPM)


def test_the_document_says_what_the_study_found(boosted, bare):
    """Contract of design.md section 5 `explain`: keys, units, strict JSON, sums that hold."""
    for case in (boosted, bare):
        (dip,) = find_dips(case)
        document = json.loads(json.dumps(explain_document(case), allow_nan=False))
        assert {"version", "notices", "cautions", "dips"} <= set(document)
        (told,) = document["dips"]
        assert told["depth_n_m"] == pytest.approx(
            told["would_be_torque_n_m"] - told["torque_n_m"], rel=1e-12
        )
        assert told["from_rpm"] == pytest.approx(dip.from_speed / RPM)
        assert told["from_rpm"] < told["deepest_rpm"] < told["to_rpm"]
        assert told["protects"] == dip.protects
        keys = {"with", "without"}
        if dip.ignition is not None:
            keys |= {"without_ignition_as_logged", "with_ignition_on_line"}
        assert set(told["dots"]) == keys | {"limit"}
        assert all(len(told["dots"][key]) == 20 for key in keys)
        assert all(set(limit) == keys for limit in told["limits"].values())
        numbers = re.search(r"dips by (\d+) N·m .*: (\d+) N·m, .* gives (\d+)\.", told["what"])
        more, measured, would_be = map(int, numbers.groups())
        assert would_be - measured == more
        assert measured == round(dip.torque)


def test_the_words_follow_the_numbers(boosted):
    """Metamorphic: the counts in the text are the shares times the draws; the signs are told."""
    (dip,) = find_dips(boosted)
    text = explain_dip(boosted, dip).text
    change = dip.changes[dip.protects]
    counts = [round(side.chance * dip.draws) for side in (change.with_dip, change.without_dip)]
    assert (
        f"in {counts[0]} of {dip.draws} simulated engines with the dip, in {counts[1]} without"
        in text
    )
    assert "lowered on purpose, or by its own control" in text
    assert "pulled it back" in text
    assert "Coolant pressure rose" in text
    assert change.limit.lifted_by in text


def test_no_dip_and_no_cause_are_said_plainly():
    """Contract: an empty list has a sentence; a dip without a cause blames nothing in the model."""
    smooth = assessed(hump(170.0))
    assert find_dips(smooth) == ()
    (told,) = dips_in_words(smooth)
    assert "no dip deeper than" in told
    assert explain_document(smooth)["dips"] == []
    (text,) = dips_in_words(assessed(hump(170.0) - notch(20.0)))
    assert "By what is known, no part judged here needs the dip" in text
    assert "Manifold pressure, ignition and lambda were not logged" in text


def test_a_cut_that_the_curve_leaves_out_is_told_with_or_without_a_dip():
    """Contract: an owner who sees a hole in his log is not told that there is none."""
    cut = "Within the pull torque fell."
    for depth in (0.0, 40.0):
        case = assessed(hump() - notch(depth))
        run = dataclasses.replace(case.run, notices=(Notice(LIFTS, cut),))
        case = dataclasses.replace(case, run=run)
        assert dips_in_words(case)[-1] == cut
        assert explain_text(case).count(cut) == explain_text(case, full=True).count(cut) == 1


def test_the_word_list_is_short_and_plain():
    """Contract of people.md (plain language): one sentence each, at most 20 words."""
    assert len({word for word, _ in WORD_LIST}) == len(WORD_LIST) <= 14
    for _, meaning in WORD_LIST:
        assert meaning.endswith(".")
        assert meaning.count(".") == 1
        assert len(meaning.split()) <= 20


@pytest.mark.parametrize(
    ("channel", "change", "told"),
    [
        ("manifold_pressure", -2e4, "lowered on purpose, or by its own control"),
        ("ignition_advance", -0.07, "by the tuner's table, or the knock control"),
        ("ca50", 0.07, "by the tuner's table, or the knock control"),
        ("lambda_", 0.08, "less fuel came, or some did not burn"),
        ("ignition_cut", 0.5, "a protection or a torque limit acted"),
    ],
)
def test_what_a_log_leaves_open_is_told_as_open(boosted, channel, change, told):
    """Common practice, no source: each may be somebody's choice or a control's own doing."""
    (dip,) = find_dips(boosted)
    dip = dataclasses.replace(
        dip, signs=(dataclasses.replace(dip.signs[0], channel=channel, change=change),)
    )
    short, full = " ".join(dip_in_short(dip)), explain_dip(boosted, dip).text
    assert short.count(told) == full.count(told) == 1
    assert "tuner took out" not in short
    assert to_ask(dip)[0].endswith("?")


def test_a_part_that_fails_as_often_beside_the_dip_does_not_explain_it(bare):
    """Metamorphic: shoulders at as much torque load a part as the filled dip would, but for
    ignition that is early in the dip alone. Identity: the greater part of what the dip takes off
    lies above the chance elsewhere where that is below the middle."""
    early_inside = np.radians(12.0 + notch(8.0, 4200.0, 250.0))
    alone = assessed(hump() - notch(20.0), {"ignition_advance": early_inside})
    for case, explained in ((bare, False), (alone, True)):
        (dip,) = find_dips(case)
        chance = case.limits[dip.protects].chance
        outside = (case.speed <= dip.from_speed) | (case.speed >= dip.to_speed)
        assert dip.elsewhere.chance == chance[outside].max()
        assert chance[case.speed == dip.elsewhere.speed] == dip.elsewhere.chance
        assert dip.explained is explained
        text, asked = explain_dip(case, dip).text, " ".join(to_ask(dip))
        assert ("does not explain the dip" in text) is not explained
        assert ("no reason for a dip" in dip_in_short(dip)[-1]) is not explained
        assert ("Was it to spare" in asked) is explained
        filled = dip.changes[dip.protects].worst_filled.chance
        middle = (filled + dip.changes[dip.protects].with_dip.chance) / 2
        for share, greater in ((0.99, True), (1.01, False)):
            beside = dataclasses.replace(dip.elsewhere, chance=share * middle)
            assert dataclasses.replace(dip, elsewhere=beside).explained is greater
        if not explained:
            assert f"in {round(dip.elsewhere.chance * dip.draws)}: " in text
            times = [float(x) for x in re.findall(r"([\d.]+) times", dip_in_short(dip)[-1])]
            now = dip.changes[dip.protects].with_dip.chance
            assert times == [round(filled / now, 1), round(dip.elsewhere.chance / now, 1)]
            hardly = dip_in_short(dataclasses.replace(dip, draws=1))[-1]  # fewer than one engine
            assert "outside it, at least half as often" in hardly


def test_a_head_that_lifted_and_one_counterfactual_are_told():
    """Identity: the head of a log whose coolant pressure rose is named where the dip is deepest;
    what is to spare and what may be spared are of the torque filled in with the early ignition."""
    bump = 8.0 * np.exp(-(((SPEED / RPM - 4000) / 700) ** 2))
    coolant = 1e5 + 40e3 / (1 + np.exp(-(SPEED / RPM - 3700) / 150))
    channels = {"ignition_advance": np.radians(12.0 + bump), "coolant_pressure": coolant}
    case = assessed(hump() - notch(20.0), channels)
    (dip,) = find_dips(case)
    assert dip.lifted
    assert dip.early_ignition_costs
    head = case.limits["head_lift"].chance[case.speed == dip.speed]
    assert head == 1.0
    short, full = " ".join(dip_in_short(dip)), explain_dip(case, dip)
    for told in (short, full.text):
        assert "the head lifts there even with the dip" in told
    change = dip.changes[dip.protects]
    filled = change.cells[Cell.TORQUE]
    assert filled is change.worst_filled
    spare = points_in_words(filled.margin, limit_unit(change.limit))
    assert spare in full.how_sure
    assert "ignition as early as it is" in full.how_sure
    assert f"{round(filled.chance * dip.draws)} of {dip.draws}" in full.why
    apart = dataclasses.replace(dip, lifted=False)
    assert "the head may have lifted" in " ".join(dip_in_short(apart))


def test_the_dips_beside_the_deepest_are_named_with_what_each_spares():
    """Identity: notches as they were put in; a reader of the deepest alone misses the other."""
    small, deep = find_dips(
        assessed(300.0 - notch(40.0, 5000.0, 300.0) - notch(25.0, 3300.0, 300.0))
    )
    assert others_in_short((deep,)) == ()
    (told,) = others_in_short((small, deep))
    where = f"from {small.from_speed / RPM:,.0f} to {small.to_speed / RPM:,.0f} rpm"
    assert told.startswith(f"It also dips {where} by {shown_depth(small, Units.SI)} N·m, which ")
    assert 15 < shown_depth(small, Units.SI) < 25
    for dip, says in (
        (dataclasses.replace(small, protects=None), "which no part judged here needs."),
        (dataclasses.replace(small, protects="head_lift", elsewhere=None, accepted=1.0),
         "which spares the head gasket."),
    ):  # fmt: skip
        assert others_in_short((dip, deep))[0].endswith(says)


def test_what_was_not_logged_is_asked_for():
    """Identity: what ran level and what was not logged are told, where no channel moved."""
    (dip,) = find_dips(
        assessed(hump() - notch(40.0), {"manifold_pressure": np.full(len(SPEED), 2e5)})
    )
    assert (dip.level, dip.unlogged) == (
        ("manifold_pressure",), ("ignition_advance", "lambda_"),
    )  # fmt: skip
    told = " ".join(dip_in_short(dip))
    assert "Manifold pressure runs straight through it; ignition and lambda were not" in told
    assert "Can ignition and lambda be logged?" in to_ask(dip)


@pytest.mark.parametrize(("over_manifold", "told"), [(False, True), (True, False)])
def test_fuel_pressure_that_follows_the_manifold_is_no_sign(over_manifold, told):
    """Common practice, no source: a regulator may hold fuel pressure over the manifold's."""
    boost = 2.2e5 - 1000 * notch(40.0)
    fuel = 3e5 + boost if over_manifold else 5e5 - 1000 * notch(40.0) * 2.5
    (dip,) = find_dips(
        assessed(hump() - notch(40.0), {"manifold_pressure": boost, "fuel_pressure": fuel})
    )
    assert ("fuel_pressure" in {s.channel for s in dip.signs}) is told


@pytest.mark.parametrize(("fall", "enough"), [(24e3, True), (8e3, False)])
def test_boost_that_fell_by_less_than_half_of_torques_share_is_not_all_of_it(fall, enough):
    """Heywood 1988, section 2.14 (from memory): torque goes as the charge; 40 N*m are 11 %."""
    pressure = 2.2e5 - fall * notch(1.0)
    (dip,) = find_dips(assessed(hump() - notch(40.0), {"manifold_pressure": pressure}))
    told = " ".join(dip_in_short(dip))
    assert ("lowered on purpose" in told) is enough
    assert ("that is not all of it. Ignition and lambda were not logged" in told) is not enough


@pytest.mark.parametrize("what", ["ignition", "fuel"])
def test_a_cut_in_a_dip_is_told_where_it_was(what):
    """Identity: rows that say so within the dip, none outside it."""
    cut = np.where((SPEED / RPM > 4000) & (SPEED / RPM < 4600), 1.0, 0.0)
    cut[-1] = 1.0
    (dip,) = find_dips(assessed(hump() - notch(40.0), {f"{what}_cut": cut}))
    (sign,) = dip.signs
    assert (sign.from_speed / RPM, sign.to_speed / RPM) == pytest.approx((4250, 4500))
    assert f"{what.capitalize()} was cut from 4,250 to 4,500 rpm" in " ".join(dip_in_short(dip))
    (level,) = find_dips(assessed(hump() - notch(40.0), {f"{what}_cut": np.zeros(len(SPEED))}))
    assert level.signs == ()


@pytest.mark.parametrize("side", [1, -1])
def test_ignition_that_knock_control_took_back_is_told_as_its_doing(side):
    """Identity: what the log says of who retarded is not asked, whichever sign it writes."""
    dip = notch(40.0)
    (found,) = find_dips(
        assessed(
            hump() - dip,
            {
                "ignition_advance": np.radians(16.0 - dip / 10),
                "knock_retard": side * np.radians(dip / 10),
            },
        )
    )
    advance, retard = (
        next(s.change for s in found.signs if s.channel == name)
        for name in ("ignition_advance", "knock_retard")
    )
    assert retard == pytest.approx(-advance, rel=1e-9)
    told = " ".join(dip_in_short(found))
    assert "Knock control took back" in told
    assert "table" not in told
    assert told.count("later there") == 1
    assert "did it hear knock, or noise?" in to_ask(found)[0]
