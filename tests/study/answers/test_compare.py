"""Two runs side by side: fair, spread and all."""

import dataclasses
import json
import re

import numpy as np
import pytest
from scipy.integrate import quad
from small_case import DRAWS, RPM, SPEED, assessed, engine, hump

from torquerisk.case import Run, default_policy
from torquerisk.errors import InputError
from torquerisk.physics import dyno
from torquerisk.show.documents.comparison import compare_document
from torquerisk.show.words.comparison import compare_in_words
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.compare import Comparison, Footing, overlay
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.result import Assessment


@pytest.fixture(scope="module")
def low():
    return assessed(hump(240.0))


@pytest.fixture(scope="module")
def high():
    return assessed(hump(300.0))


def on(speed, torque, **test):
    run = Run(name="other run", speed=speed, torque=torque)
    return assess(engine(**test), run, default_policy(draws=DRAWS))


def compare_runs(
    first: Assessment, second: Assessment, footing: Footing | None = None
) -> Comparison:
    (found,) = overlay((first, second), footing)
    return found


def test_a_run_against_itself(low):
    """Identity: no difference, nothing decided, one area, one time, nothing measured otherwise."""
    c = compare_runs(low, low)
    assert np.all(c.difference == 0)
    assert not c.decided.any()
    assert c.first.area == c.second.area
    assert c.first.sweep_time == c.second.sweep_time
    assert c.differences == ()
    np.testing.assert_array_equal(c.speed, low.speed)
    np.testing.assert_array_equal(c.first.chance_any, low.chance_any)
    assert "too close to call at every speed" in " ".join(compare_in_words((c,)))


def test_swapping_the_runs_swaps_the_answer(low, high):
    """Metamorphic: second against first is the mirror of first against second."""
    one, two = compare_runs(low, high), compare_runs(high, low)
    np.testing.assert_allclose(one.difference, -two.difference)
    np.testing.assert_allclose(one.too_close, two.too_close)
    np.testing.assert_array_equal(one.more_second, two.more_first)
    assert one.first.area == two.second.area


def test_area_and_time_by_quadrature(low, high):
    """scipy.integrate.quad (QUADPACK) on torque linear between rows, in W*rad/s and s."""
    c = compare_runs(low, high, Footing(inertia=0.4))
    for side, a in ((c.first, low), (c.second, high)):

        def torque(w, a=a):
            return np.interp(w, a.speed, a.torque)

        args = {"points": list(SPEED[1:-1]), "limit": 200}
        area = quad(lambda w, t=torque: t(w) * w, SPEED[0], SPEED[-1], **args)[0]
        time = quad(lambda w, t=torque: 0.4 / t(w), SPEED[0], SPEED[-1], **args)[0]
        assert side.area == pytest.approx(area, rel=1e-9)
        assert side.sweep_time == pytest.approx(time, rel=1e-9)


def test_inertia_scales_time_and_is_labelled(low, high):
    """Identity: t is proportional to J; without J it is told for 1 kg*m^2 and says so."""
    given, default = compare_runs(low, high, Footing(inertia=0.25)), compare_runs(low, high)
    assert given.first.sweep_time == pytest.approx(default.first.sweep_time / 4, rel=1e-12)
    assert default.inertia == 1.0
    assert not default.inertia_given
    assert "a round figure" in compare_in_words((default,))[0]
    assert "a round figure" not in compare_in_words((given,))[0]
    with pytest.raises(InputError, match=r"inertia is -1 kg\*m\^2"):
        compare_runs(low, high, Footing(inertia=-1.0))


def test_the_spread_is_two_standard_deviations_of_independent_readings(low, high):
    """Source: GUM 5.1.2, uncorrelated inputs: 2 % calibration each, 1.96 standard deviations."""
    c = compare_runs(low, high)
    expected = 1.96 * 0.02 * np.hypot(low.torque, high.torque)
    np.testing.assert_allclose(c.too_close, expected, rtol=1e-9)
    assert c.decided.all()
    close = compare_runs(low, assessed(hump(245.0)))
    assert not close.decided.any()


def test_one_dyno_tells_smaller_differences_apart(low):
    """Source: GUM 5.2 (common errors cancel in a difference): 8 N*m decided on one dyno only."""
    other = assessed(hump(248.0))
    assert not compare_runs(low, other).decided.any()
    same = compare_runs(low, other, Footing(same_dyno=True))
    assert np.all(same.too_close < compare_runs(low, other).too_close)
    pull = 1.96 * 0.01 * np.hypot(low.torque, other.torque)
    np.testing.assert_allclose(same.too_close, pull, rtol=0.01)


def test_corrected_and_plain_readings_of_one_pull_agree(low):
    """Identity: the same pull written with J607 correction comes back to the same crank torque."""
    air = {"ambient_pressure": 95e3, "ambient_temperature": 303.15, "humidity": 0.4}
    factor = float(dyno.correction_factor(dyno.CorrectionStandard.SAE_J607, 95e3, 303.15, 0.4))
    corrected = on(SPEED, hump(240.0) * factor, correction="J607", **air)
    c = compare_runs(low, corrected)
    np.testing.assert_allclose(c.difference, 0.0, atol=1e-9)
    names = {d.name for d in c.differences if d.measuring}
    assert {"test.correction", "test.ambient_pressure"} <= names
    assert "none against J607" in compare_in_words((c,))[-1]


def test_wheel_torque_is_brought_to_the_crank(low):
    """Identity: 15 % driveline loss put back; its spread widens what is too close to call."""
    wheel = on(SPEED, hump(240.0) * 0.85, measured_at="wheel", driveline_loss=0.15)
    c = compare_runs(low, wheel)
    np.testing.assert_allclose(c.difference, 0.0, atol=1e-9)
    assert np.all(c.too_close > compare_runs(low, low).too_close)


def test_only_common_speeds_count(low):
    """Contract: the overlap of both ranges, both grids in it; no overlap is refused in words."""
    speed = np.linspace(3100.0, 7000.0, 12) * RPM
    c = compare_runs(low, on(speed, hump(260.0, speed)))
    assert c.speed[0] == pytest.approx(3100 * RPM)
    assert c.speed[-1] == pytest.approx(6500 * RPM)
    assert np.all(np.diff(c.speed) > 0)
    assert set(SPEED[(SPEED > 3101 * RPM)]) <= set(c.speed)
    far = np.linspace(7000.0, 8000.0, 5) * RPM
    moved = dataclasses.replace(low, speed=far)
    with pytest.raises(InputError, match=r"2000 to 6500 rpm and .* 7000 to 8000 rpm"):
        compare_runs(low, moved)


def test_engine_differences_are_named_apart(low):
    """Contract: what the engine itself differs in is no difference of measuring."""
    changed = engine().with_values({"head_joint.tightening_torque": 110.0, "fuel.octane": 104.0})
    run = Run(name="test run", speed=SPEED, torque=hump(240.0))
    c = compare_runs(low, assess(changed, run, default_policy(draws=DRAWS)))
    names = {d.name: d for d in c.differences}
    assert set(names) == {"head_joint.tightening_torque", "fuel.octane"}
    assert not any(d.measuring for d in c.differences)
    assert names["head_joint.tightening_torque"].first == "92 N*m"
    assert "ngines differ: " in compare_in_words((c,))[-1]
    raised = assess(changed, run, default_policy(draws=DRAWS))
    assert np.all(raised.clamp > low.clamp)


def test_least_margin_is_the_assessments_own(low):
    """Identity: no strength limit has a larger median load over strength at any common speed."""
    least = compare_runs(low, low).first.least
    strength = [i for i in low.limits.values() if i.limit.kind.value == "strength"]
    assert least.utilisation == max(i.utilisation.max() for i in strength)
    k = int(np.argmin(np.abs(low.speed - least.speed)))
    assert least.margin[1] == low.limits[least.limit.name].margin.p50[k]


def test_text_is_short_and_the_document_strict(low, high):
    """Contract of design.md section 5 `compare`: keys; text of ten sentences at most; no NaN."""
    c = compare_runs(low, high)
    sentences = compare_in_words((c,))
    assert len(sentences) <= 10
    assert not any(re.search(r"\.\s", s) for s in sentences)
    document = json.loads(json.dumps(compare_document((low, high), (c,)), allow_nan=False))
    assert {"by_speed", "area_kw_rpm", "sweep_time_s", "text", "notices"} <= set(document)
    row = document["by_speed"][3]
    assert row["torque_difference_n_m"] == pytest.approx(
        row["torque_n_m"]["second"] - row["torque_n_m"]["first"]
    )
    assert row["power_kw"]["first"] == pytest.approx(
        row["torque_n_m"]["first"] * row["speed_rpm"] * np.pi / 30e3
    )
    assert "lb·ft" in " ".join(compare_in_words((c,), Units.US))
    up = 100 * (c.second.area / c.first.area - 1)
    assert f"{up:.1f} % more area under power" in document["text"]


def test_a_run_without_torque_somewhere_has_no_sweep_time(low):
    """Contract: no number where there is none: the sweep time is null and the text says why."""
    torque = hump(240.0).copy()
    torque[-1] = -5.0
    c = compare_runs(low, on(SPEED, torque))
    assert c.second.sweep_time is None
    assert "needs torque above 0" in compare_in_words((c,))[0]


def boosted(start, torque, without=(), **test):
    """A run on the invented engine whose manifold pressure starts at a share of its boost."""
    rise = 1 / (1 + np.exp(-(SPEED / RPM - 3000) / 150))
    pressure = 101325.0 + 90e3 * (start + (1 - start) * rise)
    channels = {"manifold_pressure": pressure, "lambda_": np.full(len(SPEED), 0.88)}
    kept = {name: values for name, values in channels.items() if name not in without}
    run = Run(name="boosted run", speed=SPEED, torque=torque, channels=kept)
    facts = {"sweep_rate": 25.0, **test}
    return assess(engine(**facts), run, default_policy(draws=DRAWS))


@pytest.fixture(scope="module")
def building():
    return boosted(0.0, hump(300.0))


def test_an_early_part_is_not_compared_where_one_had_to_build_boost(building):
    """Identity: 90 % of the boost stands at 3,000 rpm + 150 ln 9 rpm; before, nothing is decided
    and no area is told. Two runs that began alike are compared everywhere."""
    there = boosted(0.8, hump(340.0))
    c = compare_runs(building, there)
    assert c.comparable_from == pytest.approx((3000 + 150 * np.log(9)) * RPM, abs=60 * RPM)
    assert c.band == (c.comparable_from, c.speed[-1])
    assert not c.decided[c.speed < c.comparable_from].any()
    assert c.decided[c.speed >= c.comparable_from].all()
    assert "cannot be compared" in " ".join(compare_in_words((c,)))
    rows = compare_document((building, there), (c,))["by_speed"]
    assert rows[0]["more_torque"] == "not comparable"
    assert not rows[0]["comparable"]
    assert compare_runs(building, building).comparable.all()
    assert compare_runs(there, there).comparable.all()


def test_held_points_have_their_boost(building):
    """Common practice, no source: at a held speed the turbo has had its time, wherever it is."""
    held = boosted(0.0, hump(300.0), sweep_rate=0.0)
    assert compare_runs(building, held).comparable_from > building.speed[0]


def test_shapes_at_equal_peak_power(low):
    """Identity: a curve scaled by a quarter has a quarter more area and the very same shape."""
    c = compare_runs(low, on(SPEED, 1.25 * hump(240.0)))
    assert c.area_ratio == pytest.approx(1.25, rel=1e-12)
    assert c.at_equal_peak_power == pytest.approx(1.0, rel=1e-12)


def test_equal_boost_takes_the_charge_out(building):
    """Identity: gross IMEP goes with the charge. A run of 20 % more manifold pressure whose gross
    IMEP is 20 % more comes back to the other's torque; without its pressure nothing is said."""
    more = building.imep_gross * 0.2 * building.engine.swept_volume_total / (4 * np.pi)
    run = Run(
        name="more boost",
        speed=SPEED,
        torque=building.torque + more,
        channels={
            **building.run.channels,
            "manifold_pressure": 1.2 * building.run.channel("manifold_pressure"),
        },
    )
    other = assess(building.reading.as_given, run, default_policy(draws=DRAWS))
    c = compare_runs(building, other)
    # Friction and pumping of the larger torque are its own: a few per cent of the step.
    np.testing.assert_allclose(c.equal_boost_torque, building.torque, rtol=0.01)
    assert c.area_ratio > 1.2
    assert c.at_equal_boost == pytest.approx(1.0, abs=0.01)
    assert "in doubt" not in " ".join(compare_in_words((c,)))
    unsaid = dataclasses.replace(c.second, pressure_doubt="is 'boost' absolute?")
    told = " ".join(compare_in_words((dataclasses.replace(c, second=unsaid),)))
    assert "in doubt (second run: is 'boost' absolute?)" in told
    assert (
        compare_runs(building, boosted(0.0, hump(300.0), ("manifold_pressure",))).at_equal_boost
        is None
    )


def test_in_one_air_is_the_standards_own_factor(low):
    """Source: SAE J1349 by `dyno.correction_factor`, itself checked against the standard."""
    states = ((95e3, 303.15, 0.4), (101e3, 293.15, 0.5))
    names = ("ambient_pressure", "ambient_temperature", "humidity")
    runs = [on(SPEED, hump(240.0), **dict(zip(names, state, strict=True))) for state in states]
    c = compare_runs(*runs)
    factors = [dyno.correction_factor(dyno.CorrectionStandard.SAE_J1349_2004, *s) for s in states]
    assert c.area_ratio == pytest.approx(1.0)
    assert c.in_one_air == pytest.approx(float(factors[1] / factors[0]), rel=1e-12)
    assert compare_runs(low, runs[0]).in_one_air is None


def test_runs_known_differently_are_judged_by_what_both_logged(building):
    """Identity: the better known run is judged as if it had not logged what the other lacks."""
    less = boosted(0.0, hump(300.0), ("lambda_", "manifold_pressure"))
    c = compare_runs(building, less)
    assert c.first.left_out == ("manifold_pressure", "lambda_")
    assert c.second.left_out == ()
    np.testing.assert_allclose(c.first.chance_any, less.chance_any)
    np.testing.assert_allclose(c.first.peak_pressure.p95, less.peak_pressure.p95)
    assert c.first.worst_by_all == building.chance_any.max()
    text = " ".join(compare_in_words((c,)))
    assert "the first logged manifold pressure and lambda beside what all logged" in text
    assert "whether each began with its boost there is not known" in text


def test_a_band_is_told_of_alone(low, high):
    """scipy.integrate.quad (QUADPACK) over the band; a band without common speeds is refused."""
    c = compare_runs(low, high, Footing(band=(3000 * RPM, 5100 * RPM)))
    area = quad(
        lambda w: np.interp(w, SPEED, low.torque) * w,
        3000 * RPM,
        5100 * RPM,
        points=list(SPEED[5:12]),
        limit=200,
    )
    assert c.first.area == pytest.approx(area[0], rel=1e-6)
    assert compare_in_words((c,))[0].startswith("From 3,000 to 5,100 rpm")
    with pytest.raises(InputError, match=r"band from 7000 to 8000 rpm holds none"):
        compare_runs(low, high, Footing(band=(7000 * RPM, 8000 * RPM)))


def test_any_number_of_runs_stand_against_the_first(low, high):
    """Identity: each pair of an overlay is what the two alone would be; keys carry all runs."""
    middle = assessed(hump(270.0))
    pairs = overlay((low, high, middle))
    for pair, other in zip(pairs, (high, middle), strict=True):
        alone = compare_runs(low, other)
        np.testing.assert_array_equal(pair.difference, alone.difference)
        assert pair.area_ratio == alone.area_ratio
    document = json.loads(json.dumps(compare_document((low, high, middle), pairs), allow_nan=False))
    assert set(document["area_kw_rpm"]) == {"first", "second", "third"}
    row = document["by_speed"][3]
    assert set(row["torque_difference_n_m"]) == {"second", "third"}
    told = compare_in_words(pairs)
    assert "the third run" in " ".join(told)
    assert sum("measured alike" in text for text in told) == 1
    assert all(" run against the first: " in text for text in told if "equal peak power" in text)
    assert len(set(told)) == len(told)
    with pytest.raises(InputError, match="1 runs to compare, but it takes 2 to 8"):
        overlay((low,))


def test_later_ignition_of_one_run_is_told_where_it_is(low):
    """Identity: ignition as put into the runs, or CA50 where both have it, which is what pressure
    follows; nothing is said where one did not log it."""
    later = np.where((SPEED / RPM > 3400) & (SPEED / RPM < 5100), 4.0, 0.0)
    runs = [
        assessed(hump(240.0), {"ignition_advance": np.radians(15.0 - by)})
        for by in (0 * later, later)
    ]
    c = compare_runs(*runs)
    np.testing.assert_allclose(np.degrees(c.ignition_later), later, atol=1e-9)
    told = (
        "The second run ignites later than the first from 3,500 to 5,000 rpm, by up to 4.0 degrees."
    )
    assert told in compare_in_words((c,))
    assert told.replace("later", "earlier") in compare_in_words((compare_runs(*reversed(runs)),))
    assert compare_runs(low, runs[1]).ignition_later is None
    burns = [
        assessed(
            hump(240.0),
            {"ignition_advance": np.radians(15.0 - 2 * by), "ca50": np.radians(12.0 + by)},
        )
        for by in (0 * later, later)
    ]
    measured = compare_runs(*burns)
    np.testing.assert_allclose(np.degrees(measured.ca50_later), later, atol=1e-9)
    assert told.replace("ignites", "burns") in compare_in_words((measured,))
    assert compare_runs(burns[0], runs[1]).ca50_later is None
    assert told in compare_in_words((compare_runs(burns[0], runs[1]),))
    row = compare_document(runs, (c,))["by_speed"][int(np.argmax(later))]
    assert row["ignition_later_deg"] == pytest.approx(4.0)
