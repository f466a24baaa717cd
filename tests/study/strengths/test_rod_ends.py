"""Eye, cap and bolts of a rod: what stands before and past the speed that engines are sold for."""

import numpy as np
import pytest
from ordinary import RPM, Ordinary, ordinary_engines
from plain_runs import run_of

from torquerisk.case import Engine, Policy
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.result import Assessment, State

pytestmark = pytest.mark.slow

ENDS = ("rod_eye", "rod_cap", "rod_bolts")
PETROL = ("petrol_1600_four", "petrol_2000_sports_four", "turbo_2000_four", "motorcycle_650_single")


def at_speeds(one: Ordinary, few: Policy, times: list[float]) -> tuple[Assessment, list[int]]:
    """A rated engine at multiples of its rated speed, at its own curve's torque, and where."""
    engine, _ = one.case(rated=True)
    rpm = np.array(times) * one.rated["power_speed"]
    found = assess(engine, run_of(rpm, one.curve_at(rpm * RPM)), few)
    return found, [int(np.argmin(np.abs(found.speed - n * RPM))) for n in rpm]


@pytest.mark.parametrize("name", PETROL)
def test_overspeed_is_no_hold(name: str, few: Policy) -> None:
    """Common practice, no source: rated speed and a limiter 8 % above it hold, at 1.3 times rated
    speed it is too close to call or worse.

    The chance of any part; in petrol engines the ends of the rod set it.
    """
    one = next(one for one in ordinary_engines() if one.name == name)
    found, (low, rated, limiter, over) = at_speeds(one, few, [0.7, 1.0, 1.08, 1.3])
    assert found.chance_any[low] <= few.chance
    assert found.chance_any[rated] <= found.chance_any[limiter] <= few.chance
    assert found.chance_any[over] > few.chance
    states = [found.limits[end].state(few.chance, found.evidence.kept)[over] for end in ENDS]
    assert set(states) & {State.CLOSE, State.EXCEEDS}


def test_a_stock_engine_far_past_its_speed_breaks(few: Policy) -> None:
    """Common practice, no source: a stock 2.0 at 11,750 rpm is past what its rods bear."""
    one = next(one for one in ordinary_engines() if one.name == "petrol_2000_four")
    found, (_, _, over) = at_speeds(one, few, [0.7, 1.0, 11_750 / one.rated["power_speed"]])
    assert found.limits["rod_eye"].utilisation[over] > 1.5
    assert found.chance_any[over] > 0.99


def test_lighter_parts_and_stronger_bolts_turn_faster(plain_engine: Engine, few: Policy) -> None:
    """Metamorphic: half the piston's mass halves what the eye bears; class 12.9 opens later by the
    proof strengths of ISO 898-1, 970 over 830 MPa, and a little more for the crush both bear."""
    run = run_of([3000, 4500, 6000], [150.0] * 3)
    piston = plain_engine.value("running_gear.piston_mass").value
    heavy, light = (
        assess(plain_engine.with_values({"running_gear.piston_mass": m}), run, few).limits
        for m in (piston, piston / 2)
    )
    assert light["rod_eye"].utilisation == pytest.approx(heavy["rod_eye"].utilisation / 2)
    assert np.all(light["rod_cap"].utilisation < heavy["rod_cap"].utilisation)
    strong = plain_engine.with_values({"running_gear.rod_bolt_class": "12.9"})
    ratio = (
        assess(strong, run, few).limits["rod_bolts"].strength.p50
        / assess(plain_engine, run, few).limits["rod_bolts"].strength.p50
    )
    assert np.all((ratio > 970 / 830) & (ratio < 970 / 830 * 1.05))


def test_measured_stretch_tells_the_preload(plain_engine: Engine, few: Policy) -> None:
    """Identity (Hooke) and common practice: a bolt measured as long as its usual preload makes it
    opens where the assumed one does, and half its scatter is left; one past yield holds its yield.
    """
    run = run_of([3000, 4500, 6000], [150.0] * 3)
    assumed = assess(plain_engine, run, few).limits["rod_bolts"].strength
    length = plain_engine.value("running_gear.rod_bolt_length").value
    usual = 0.85 * 830e6 * length / 207e9
    measured, stretched = (
        assess(plain_engine.with_values({"running_gear.rod_bolt_stretch": s}), run, few)
        .limits["rod_bolts"]
        .strength
        for s in (usual, 3 * usual)
    )
    assert measured.p50 == pytest.approx(assumed.p50, rel=0.02)
    assert np.all(measured.p95 - measured.p05 < assumed.p95 - assumed.p05)
    assert np.all(stretched.p50 < 1.6 * measured.p50)


def test_a_rod_of_one_piece_has_no_cap(plain_engine: Engine, few: Policy) -> None:
    """Identity: on rollers neither cap, bolts, lining nor film is judged, and none of their inputs
    is called missing or assumed."""
    run = run_of([3000, 4500, 6000], [150.0] * 3)
    found = assess(plain_engine.with_values({"running_gear.big_end_bearing": "roller"}), run, few)
    gone = {"rod_cap", "rod_bolts", "rod_bolt_life", "big_end_load", "big_end_film"}
    assert gone <= set(found.not_assessed)
    assert not gone & set(found.limits)
    assert "rod_eye" in found.limits
    told = " ".join(n.text for n in found.notices if n.code in ("assumed", "not-assessed"))
    assert "cap" not in told.replace("capa", "").replace("handicap", "").lower().split()
