"""Motion and loads of the running gear by speed, against hand values and the forces themselves."""

import numpy as np
import pytest
from plain_runs import run_of

from torquerisk.case import Engine, Policy, Run
from torquerisk.errors import OutOfRangeError
from torquerisk.physics.running_gear.slider_crank import piston_acceleration
from torquerisk.quantities import RPM
from torquerisk.show.words.running_gear import film_in_words, mains_in_words
from torquerisk.study.answers import gear_loads as module
from torquerisk.study.answers.cycle_traces import median_cycle, median_cycles, one_lane
from torquerisk.study.answers.gear_loads import FORCES, GearLoads, gear_loads
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.strengths.running_gear import CRANKCASE_PRESSURE

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def case(plain_engine: Engine, plain_run: Run, few: Policy) -> Assessment:
    return assess(plain_engine.with_values({"running_gear.piston_mass": 0.4}), plain_run, few)


@pytest.fixture(scope="module")
def gear(case: Assessment) -> GearLoads:
    return gear_loads(case)


def test_motion_by_hand(case: Assessment, gear: GearLoads) -> None:
    """By hand, 86 mm stroke and 145 mm rod at 6,000 rpm: 2 S n = 17.2 m/s; r w^2 (1 + r/l) =
    0.043 x 394,784 x 1.29655 = 22,010 m/s^2; times 0.4 kg = 8.804 kN."""
    k = int(np.argmin(np.abs(gear.speed - 6000 * RPM)))
    assert gear.speed[k] == pytest.approx(6000 * RPM)
    assert gear.mean_piston_speed[k] == pytest.approx(17.2, abs=1e-9)
    assert gear.acceleration[k] == pytest.approx(22_010, abs=1)
    assert gear.piston_inertia[k] == pytest.approx(8_804, abs=0.5)


def test_pin_offset_moves_the_dead_centre(case: Assessment) -> None:
    """identity: with an offset the greatest acceleration lies at the piston's own dead centre."""
    engine = case.engine.with_values({"pin_offset": 0.003})
    moved = gear_loads(assess(engine, case.run, case.policy))
    angle = np.radians(np.linspace(-20, 20, 40_001))
    most = piston_acceleration(
        angle=angle, angular_speed=moved.speed[-1], crank_radius=0.043, rod_length=0.145,
        pin_offset=0.003,
    ).max()  # fmt: skip
    assert moved.acceleration[-1] == pytest.approx(most, rel=2e-4)


def test_crown_load_is_pressure_on_the_bore(case: Assessment, gear: GearLoads) -> None:
    """identity: (p - 1 bar) pi D^2 / 4 at each point of the band; the land sees p - 1 bar."""
    area = np.pi / 4 * 0.086**2
    for p in ("p05", "p50", "p95"):
        over = getattr(case.peak_pressure, p) - 1e5
        assert getattr(gear.top_land, p) == pytest.approx(over)
        assert getattr(gear.crown, p) == pytest.approx(over * area)
        worst = getattr(case.worst_pressure, p) - 1e5
        assert getattr(gear.crown_worst, p) == pytest.approx(worst * area)
    assert CRANKCASE_PRESSURE == 1e5


def test_all_speeds_at_once_are_each_speed_alone(case: Assessment) -> None:
    """identity: lanes of one march do not see each other, to the search's own 1e-6."""
    whole = median_cycles(case)
    for k in (0, 2, len(case.speed) - 1):
        alone = median_cycle(case, k)
        assert whole.pressure[:, k] == pytest.approx(alone.pressure, rel=2e-5)
        for name in ("rod_link", "big_end", "side_thrust", "rod_bolts"):
            force = getattr(one_lane(whole.forces, k), name)
            assert force == pytest.approx(getattr(alone.forces, name), rel=1e-4, abs=3.0)


def test_extremes_are_the_greatest_of_the_cycle(case: Assessment, gear: GearLoads) -> None:
    """identity: push and pull of every force, and the force at the angle told."""
    cycles = median_cycles(case)
    for k, ranges in enumerate(gear.ranges):
        assert ranges is not None
        for force in FORCES:
            values = force.of(cycles.forces)[:, k]
            for sign, found in ((1, ranges[force.name].push), (-1, ranges[force.name].pull)):
                if found is None:
                    continue
                assert found.size == pytest.approx(max((sign * values).max(), 0.0))
                if found.angle is None:
                    assert found.size == 0
                else:
                    assert -2 * np.pi < found.angle <= 2 * np.pi
                    at = np.isclose(cycles.angle, found.angle)
                    ends = np.isclose(np.abs(cycles.angle), 2 * np.pi)
                    here = ends if np.isclose(found.angle, 2 * np.pi) else at
                    assert (sign * values[here]).max() == pytest.approx(found.size)


def test_push_is_near_firing_and_pull_at_overlap(gear: GearLoads) -> None:
    """[KTM] ch. 15: the rod is pressed most after firing TDC and stretched most at overlap TDC."""
    for ranges in gear.ranges:
        assert ranges is not None
        shank = ranges["shank"]
        assert shank.push is not None
        assert shank.pull is not None
        assert shank.push.angle is not None
        assert 0 < np.degrees(shank.push.angle) < 45
        assert shank.pull.angle == pytest.approx(2 * np.pi)


def test_main_bearing_carries_half_the_crankpin(gear: GearLoads) -> None:
    """identity: a main on both sides of a balanced throw takes half of it."""
    for ranges in gear.ranges:
        assert ranges is not None
        main, pin = ranges["main_bearing"].push, ranges["crankpin"].push
        assert main is not None
        assert pin is not None
        assert 2 * main.size == pytest.approx(pin.size)


def test_reach_holds_every_speed(case: Assessment, gear: GearLoads) -> None:
    """identity: no crankpin load of any speed lies outside the one frame."""
    assert gear.reach is not None
    for k in range(len(case.speed)):
        f = median_cycle(case, k).forces
        assert -gear.reach.inwards * 1.0001 <= f.big_end_radial.min()
        assert f.big_end_radial.max() <= gear.reach.outwards * 1.0001
        assert np.abs(f.big_end_tangential).max() <= gear.reach.aside * 1.0001


def test_crossing_inside_a_run(plain_engine: Engine, few: Policy) -> None:
    """identity: on either side of the speed found, the judged push and pull change order."""
    engine = plain_engine.with_values(
        {"running_gear.piston_mass": 0.75, "running_gear.rod_mass": 0.8}
    )
    result = assess(engine, run_of([3000, 5000, 7000, 9000], [180, 170, 110, 60]), few)
    found = gear_loads(result).overtaking
    assert found is not None
    assert len(found.speeds) == 1
    at = found.speeds[0]
    ahead = result.rod_tension - result.rod_compression
    # Medians of the judged draws and one median cycle agree within 3 % of force.
    assert (ahead[result.speed < 0.97 * at] < 0).all()
    assert (ahead[result.speed > 1.03 * at] > 0).all()


def test_a_cycle_that_cannot_be_made_is_left_out_with_its_reason(
    case: Assessment, monkeypatch: pytest.MonkeyPatch
) -> None:
    """identity: the other speeds keep their forces, that one has none and says why."""

    def refusing(assessment: Assessment, index: list[int]) -> object:
        if 3 in index:
            raise OutOfRangeError("gas temperature", "4000", "250 to 3500 K")
        return median_cycles(assessment, index)

    whole = gear_loads(case)
    monkeypatch.setattr(module, "median_cycles", refusing)
    part = gear_loads(case)
    assert part.ranges[3] is None
    assert [k for k, r in enumerate(part.ranges) if r is None] == [3]
    assert part.why_not.startswith("no cycle of the median engine can be made there: gas temp")
    assert part.mean_piston_speed[3] == whole.mean_piston_speed[3]

    def never(assessment: Assessment, index: list[int]) -> object:
        raise OutOfRangeError("gas temperature", "4000", "250 to 3500 K")

    monkeypatch.setattr(module, "median_cycles", never)
    none = gear_loads(case)
    assert set(none.ranges) == {None}
    assert none.reach is none.relief is none.overtaking is None
    assert none.why_not


def test_least_film_over_the_cycle(case: Assessment, gear: GearLoads) -> None:
    """[BOOKER], metamorphic: a share of the clearance at every speed that has a cycle, and less of
    it with thinner oil."""
    share = np.array([film.share for film in gear.films if film is not None])
    assert share.size == sum(at is not None for at in gear.ranges)
    assert np.all((share > 0) & (share < 0.5))
    thin = case.engine.with_values({"running_gear.oil_temperature": 423.0})
    thinner = gear_loads(assess(thin, case.run, case.policy)).films
    assert all(b.share < a.share for a, b in zip(gear.films, thinner, strict=True) if a and b)


def test_rollers_have_no_film(case: Assessment) -> None:
    """Identity: without a plain bearing no film and no word of it."""
    rolls = case.engine.with_values({"running_gear.big_end_bearing": "roller"})
    found = gear_loads(assess(rolls, case.run, case.policy))
    assert not any(found.films)
    assert film_in_words(found) == ()


def test_mains_get_the_sum_of_their_throws(case: Assessment, gear: GearLoads) -> None:
    """Identity: told with a firing order alone; at most two halves of one crankpin's load, and
    nearer to two than to one where inertia rules, since throws 2 and 3 stand side by side."""
    assert gear.mains is None
    assert mains_in_words(gear) == ()
    ordered = case.engine.with_values({"running_gear.firing_order": "1-3-4-2"})
    found = gear_loads(assess(ordered, case.run, case.policy))
    assert found.mains is not None
    half = [at["main_bearing"].push.size for at in found.ranges if at and at["main_bearing"].push]
    assert np.all(found.mains[1] <= 2 * np.array(half))
    assert found.mains[1][-1] > 1.5 * half[-1]
    assert "between cylinders" in mains_in_words(found)[0]
    vee = {"running_gear.firing_order": "1-4-2-3", "running_gear.bank_angle": np.pi}
    flat = gear_loads(assess(case.engine.with_values(vee), case.run, case.policy))
    assert flat.mains is not None
    assert flat.mains.shape == (1, found.mains.shape[1])
    assert "between cylinders 2 and 3" in mains_in_words(flat)[0]
