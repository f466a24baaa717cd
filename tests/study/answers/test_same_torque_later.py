"""The same torque made later: what eases, what does not, against what the trade says."""

import dataclasses

import numpy as np
import pytest
from small_case import DRAWS, RPM, SPEED, assessed, engine, hump

from torquerisk.case import Run, default_policy
from torquerisk.errors import InputError
from torquerisk.show.words import prose
from torquerisk.show.words.same_torque_later import later_in_words
from torquerisk.study.answers.same_torque_later import Change, same_torque_by_speed
from torquerisk.study.assessment.assess import assess
from torquerisk.study.limits import place_of

TORQUE = 330.0


@pytest.fixture(scope="module")
def case():
    """No channels and an exact torque, so that the run holds nothing that moves but speed."""
    return assessed(hump(360.0), torque_error=0.0)


@pytest.fixture(scope="module")
def later(case):
    return same_torque_by_speed(case, TORQUE)


@pytest.mark.parametrize(
    "name",
    ["rod_compression", "knock", "preignition_rate"],
)
def test_the_same_torque_later_is_easier(case, name):
    """Common practice, no source: torque moved to higher speed is kinder to rods, knock and
    pre-ignition. At equal phasing, 18 degrees as boosted engines are held, the model must say so by
    itself, up to 6,000 rpm: past it a small turbine's exhaust pressure heats the charge."""
    speeds = np.linspace(2000, 6000, 9) * RPM
    later = same_torque_by_speed(case, TORQUE, ca50=np.radians(18.0), speeds=speeds)
    assert later.trends[name].at_equal_phasing is Change.EASES


def test_a_bearing_is_kindest_in_between(case):
    """[BOOKER]: gas is hard on lining and film at low speed, inertia at high speed, so both ease
    and turn; the speed between is named with its value, by its own figures."""
    wide = same_torque_by_speed(case, 150.0, speeds=np.linspace(2000, 9000, 8) * RPM)
    for name in ("big_end_load", "big_end_film"):
        trend = wide.trends[name]
        assert trend.at_equal_phasing is Change.TURNS, name
        middle = trend.equal_phasing.p50
        k = int(np.argmin(middle))
        assert 0 < k < len(middle) - 1
        assert wide.kindest(trend.equal_phasing) == wide.speed[k]
        turning = next(t for t in later_in_words(wide) if t.startswith("Kindest in between"))
        where = prose.about_speed(float(wide.speed[k]))
        assert f"{trend.title[1:]} (at {where})" in turning


def test_more_power_and_heat_are_told(later):
    """Identity: power is torque times speed at both ends."""
    told = later_in_words(later)[0]
    first, last = (TORQUE * later.speed[k] / 1e3 for k in (0, -1))
    assert f"{last:.0f} kW instead of {first:.0f} kW" in told


def test_head_lift_hardly_changes_at_equal_phasing(case):
    """Common practice, no source: gas force at one torque and phasing is one gas force; what is
    left is friction, pumping against the turbine, heat loss and the count of cycles. Near best
    phasing, where cycles scatter least, and over the boosted range."""
    speeds = np.linspace(2000, 5000, 7) * RPM
    usual = same_torque_by_speed(case, TORQUE, ca50=np.radians(12), speeds=speeds)
    for name in ("head_lift", "peak_pressure"):
        middle = usual.trends[name].equal_phasing.p50
        assert np.ptp(middle) / middle.mean() < 0.08


def test_worst_cycle_grows_with_retard_and_count():
    """Source: [ORDER_STATISTICS], the largest of more cycles is larger, and [MATEKUNAS], late ones
    scatter more: at equal late phasing the mean peak stays and the worst cycle of a pull grows.
    Of one pull: the largest of 500 pulls' cycles grows less with still more of them."""
    run = Run(name="one pull", speed=SPEED, torque=hump(360.0))
    once = assess(engine(torque_error=0.0), run, default_policy(draws=DRAWS, pulls=1))
    later = same_torque_by_speed(once, TORQUE, ca50=np.radians(30))
    assert later.cycles[-1] > later.cycles[0]
    mean, worst = (later.trends[n].equal_phasing.p50 for n in ("peak_pressure", "head_lift"))
    assert worst[-1] / worst[0] > 1.01 * mean[-1] / mean[0]


def test_the_phasing_that_fuel_allows_moves_by_a_few_degrees(later):
    """Common practice, no source: calibrators hold CA50 within 16 to 22 degrees or so over the
    boosted range, so the peak at one torque hardly climbs with speed; low speed asks for latest."""
    boosted = (later.speed > 1900 * RPM) & (later.speed < 5600 * RPM)
    middle = np.degrees(later.ca50_allowed.p50[boosted])
    assert np.ptp(middle) < 6
    assert np.argmax(middle) == 0
    peak = later.trends["peak_pressure"].allowed_phasing.p50[boosted]
    assert np.ptp(peak) / peak[0] < 0.15
    assert later.trends["preignition_rate"].at_allowed_phasing is Change.EASES


def test_abnormal_cycles_add_most_where_it_is_slow(later):
    """[ABNORMAL_CYCLES]: pre-ignition belongs to low speed and high load; counted they only add."""
    added = later.chance_with_abnormal - later.chance
    assert np.all(added >= 0)
    assert "with knock and pre-ignition counted" in later_in_words(later)[0]


def test_inertia_alone_gets_harder(later):
    """Source: piston acceleration goes with speed squared (slider-crank), whatever the torque."""
    trend = later.trends["rod_bolts"]
    expected = (later.speed[-1] / later.speed[0]) ** 2
    for values in (trend.equal_phasing, trend.allowed_phasing):
        assert values.p50[-1] / values.p50[0] == pytest.approx(expected, rel=1e-9)
    assert trend.at_equal_phasing is Change.WORSENS


def test_both_cases_start_alike(later):
    """Identity: the equal phasing is by default the allowed one's median at the first speed."""
    assert later.ca50_equal == pytest.approx(
        np.median(later.ca50_allowed.p50[0]), abs=np.radians(1)
    )
    trend = later.trends["peak_pressure"]
    assert trend.equal_phasing.p50[0] == pytest.approx(trend.allowed_phasing.p50[0], rel=0.03)


def test_at_a_speed_of_the_run_it_is_the_assessment(case):
    """Identity: at the run's own torque and speed the allowed case is the assessment itself."""
    k = 6
    speeds = np.array([SPEED[k], SPEED[-1]])
    result = same_torque_by_speed(case, float(case.torque[k]), speeds=speeds)
    assert result.draws == DRAWS
    for name, item in case.limits.items():
        if item.limit.kind.value == "combustion":
            continue
        strength = item.limit.strength(case.model.demand, case.model.parts)
        ratio = place_of(case.model.demand.torque, case.torque).load(
            case.model.load(case.limits[name].limit)
        )
        ratio = ratio / np.broadcast_to(strength, ratio.shape)
        trend = result.trends[name].allowed_phasing
        for share, told in ((0.05, trend.p05), (0.5, trend.p50), (0.95, trend.p95)):
            expected = np.quantile(ratio[k], share, method="inverted_cdf")
            assert told[0] == pytest.approx(expected, rel=1e-9), name
    pressure = result.trends["peak_pressure"].allowed_phasing
    assert pressure.p50[0] == pytest.approx(case.peak_pressure.p50[k], rel=1e-9)


def test_a_sign_of_lift_at_some_speeds_is_none_at_others(case, later):
    """Identity: what was seen at the run's speeds is not asked of a torque at speeds of its own."""
    state = dataclasses.replace(case.model.operating, lift_seen=np.full(len(SPEED), 200.0))
    seen = dataclasses.replace(case, model=dataclasses.replace(case.model, operating=state))
    assert len(later.speed) != len(SPEED)
    assert same_torque_by_speed(seen, TORQUE).chance.tolist() == later.chance.tolist()


def test_later_phasing_lowers_pressure_and_no_inertia(case, later):
    """Metamorphic: ten degrees later, equal torque: lower peak everywhere, inertia untouched."""
    late = same_torque_by_speed(case, TORQUE, ca50=later.ca50_equal + np.radians(10))
    peak = late.trends["peak_pressure"].equal_phasing.p50
    assert np.all(peak < 0.95 * later.trends["peak_pressure"].equal_phasing.p50)
    np.testing.assert_allclose(
        late.trends["rod_bolts"].equal_phasing.p50, later.trends["rod_bolts"].equal_phasing.p50
    )


def test_out_of_reach_is_told(case):
    """Metamorphic: the more torque, the more engines whose fuel knocks at any sane phasing."""
    some, much = (same_torque_by_speed(case, t) for t in (250.0, 600.0))
    assert np.all(much.out_of_reach >= some.out_of_reach)
    assert much.out_of_reach[0] > 0.5 > some.out_of_reach[0]
    assert "hardly allow this torque" in later_in_words(much)[-1]
    assert "hardly allow this torque" not in later_in_words(some)[-1]


def test_bad_asks_are_refused_in_a_sentence(case):
    """Contract: which input, what was given, what is allowed."""
    with pytest.raises(InputError, match=r"torque is 50000 N·m, but must be from .* N·m"):
        same_torque_by_speed(case, 50000.0)
    with pytest.raises(InputError, match="two or more, above 0 rpm and rising"):
        same_torque_by_speed(case, 200.0, speeds=np.array([3000.0, 2000.0]) * RPM)


def test_every_limit_has_its_verdict_in_words(later):
    """Contract: each is named once, under what becomes of it at equal phasing."""
    heads = {Change.EASES: "Easier on", Change.WORSENS: "Harder on", Change.SAME: "About the same"}
    told = later_in_words(later)[1:-1]
    for trend in later.trends.values():
        found = [text for text in told if trend.title[1:].lower() in text.lower()]
        assert found, trend.title
        if trend.at_equal_phasing in heads:
            assert any(t.startswith(heads[trend.at_equal_phasing]) for t in found), trend.title
