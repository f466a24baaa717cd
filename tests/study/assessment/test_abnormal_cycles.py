"""Abnormal cycles of a pull: for spark engines only, more of them with more cycles."""

import dataclasses

import numpy as np
import pytest
from plain_runs import RPM, run_of

from torquerisk.case import Engine, Policy
from torquerisk.study.assessment.abnormal_cycles import SPEED_BAND, abnormal_cycles, cell_widths
from torquerisk.study.assessment.assess import assess, at_accepted
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limits import place_of
from torquerisk.study.limits.abnormal import head_strength, worst_over_capacity
from torquerisk.study.table.finer_grid import binding_capacity


@pytest.fixture(scope="module")
def loaded(plain_engine: Engine, few: Policy) -> Assessment:
    """A run strong and slow enough to pre-ignite now and then."""
    return assess(plain_engine, run_of([1800, 2500, 3500, 5000], [330, 350, 350, 320]), few)


def chances(result: Assessment, factor: float) -> tuple[np.ndarray, np.ndarray, float, float]:
    """Chances with the cycles of the run times a factor."""
    model = result.model
    loads = dataclasses.replace(model.demand, cycles=model.demand.cycles * factor)
    place = place_of(loads.torque, result.torque)
    found = abnormal_cycles(loads, model.parts, place)
    return found.chance_event, found.chance_harm, found.pull_event, found.pull_harm


def test_more_cycles_never_lower_a_chance(loaded: Assessment) -> None:
    """Metamorphic: twice the cycles, and every chance of an abnormal one rises."""
    for once, twice in zip(chances(loaded, 1.0), chances(loaded, 2.0), strict=True):
        assert np.all(np.asarray(twice) > np.asarray(once))


def test_a_few_rare_events_add_up(loaded: Assessment) -> None:
    """Identity: a rare event's chance is its expected number, which is in proportion to cycles."""
    few_cycles, ten_times = chances(loaded, 1e-7)[2], chances(loaded, 1e-6)[2]
    assert ten_times / few_cycles == pytest.approx(10.0, rel=1e-3)


def test_harm_needs_an_event(loaded: Assessment) -> None:
    """Identity: an event that harms is an event."""
    found = loaded.abnormal
    assert np.all(found.chance_harm <= found.chance_event)
    assert found.pull_harm <= found.pull_event


def test_a_finer_grid_does_not_change_the_pull(plain_engine: Engine, few: Policy) -> None:
    """Metamorphic: the same pull told by three times as many rows holds as many cycles.

    Linear between rows, so what is left is the rates' bend between rows: 10 % is allowed.
    """
    rpm, torque = np.linspace(1800, 5000, 9), np.full(9, 345.0)
    fine = np.linspace(1800, 5000, 33)
    few_rows = assess(plain_engine, run_of(list(rpm), list(torque)), few)
    many_rows = assess(plain_engine, run_of(list(fine), [345.0] * 33), few)
    assert many_rows.abnormal.pull_event == pytest.approx(few_rows.abnormal.pull_event, rel=0.10)


def test_cells_cover_the_run_once() -> None:
    """Identity: the widths add up to the run's span."""
    speed = np.array([1000.0, 1100.0, 1500.0, 2500.0]) * RPM
    assert cell_widths(speed).sum() == pytest.approx(1500 * RPM)
    assert cell_widths(speed) / RPM == pytest.approx([50, 250, 700, 500])
    assert cell_widths(speed[:1]) == pytest.approx(SPEED_BAND)


def test_a_diesel_has_none(plain_diesel: Engine, few: Policy) -> None:
    """Identity: knock and pre-ignition of a charge that waits for a spark need a spark engine."""
    found = assess(plain_diesel, run_of([1500, 2000, 2500], [450, 470, 450]), few).abnormal
    assert found.pull_event == found.pull_harm == 0.0
    assert not found.chance_event.any()
    assert not found.knock_rate.p95.any()
    assert not found.preignition_rate.p95.any()


def test_counting_them_in_raises_the_chance(
    plain_engine: Engine, few: Policy, loaded: Assessment
) -> None:
    """Metamorphic: the policy switch adds to the chance of any limit and of the whole pull."""
    counted = assess(plain_engine, loaded.run, dataclasses.replace(few, abnormal_in_chance=True))
    assert np.all(counted.chance_any >= loaded.chance_any)
    assert counted.chance_any.max() >= loaded.chance_any.max()
    alone = 1 - (1 - loaded.chance_pull) * (1 - loaded.abnormal.pull_harm)
    error = np.sqrt(alone * (1 - alone) / few.draws)
    assert counted.chance_pull == pytest.approx(alone, abs=3 * error)


def test_counted_they_reach_the_ceiling_and_the_proof(plain_engine: Engine, few: Policy) -> None:
    """Identity: counted, each engine's capacity is the least of the others' and of its own worst

    cycle in a pull, and the ceiling is the torque that the accepted chance of that allows.
    """
    run = run_of([1800, 2500, 3500, 5000], [330, 350, 350, 320])
    plain, counted = (
        assess(plain_engine, run, dataclasses.replace(few, abnormal_in_chance=count))
        for count in (False, True)
    )
    least = np.minimum(binding_capacity(plain), counted.model.capacities["abnormal_cycle"])
    assert np.any(least < binding_capacity(plain))
    assert counted.ceiling == pytest.approx(at_accepted(least, few.chance))
    assert "abnormal_cycle" in counted.limits
    assert "abnormal_cycle" not in plain.limits


def test_the_lot_of_a_pull_gives_the_chance_of_harm(loaded: Assessment) -> None:
    """Identity: the share of lots whose worst cycle passes is the chance of harm, rows alike.

    Lots are as even as the draws, so within three standard errors of sampling.
    """
    loads, parts = loaded.model.demand.in_one_pull(), loaded.model.parts
    over = (worst_over_capacity(loads, parts) > 1.0).mean(axis=1)
    for row in (8, 10, 12):
        torque = loads.torque[..., row]
        place = place_of(loads.torque, torque)
        normal = (loads.peak[..., row] > head_strength(loads, parts)).mean(axis=1)
        harm = abnormal_cycles(loads, parts, place).chance_harm
        error = np.sqrt(np.maximum(harm * (1 - harm), 1e-4) / torque.shape[1])
        assert np.all(over[:, row] >= harm - 3 * error)
        assert np.all(over[:, row] <= harm + normal + 3 * error)


def test_slow_and_loaded_pre_ignites_more(loaded: Assessment) -> None:
    """[ABNORMAL_CYCLES]: above about 20 bar and below about 2,500 rpm; it fades with speed."""
    rate = loaded.abnormal.preignition_rate.p50
    assert loaded.bmep[0] > 20e5
    assert rate[0] > 10 * rate[2]


def test_a_pull_is_the_sum_of_its_bands(plain_engine: Engine, few: Policy) -> None:
    """Identity: on a grid as wide as the band rare events add up, the ends' bands by half."""
    rpm = np.arange(1800, 3801, 250)
    result = assess(plain_engine, run_of(rpm, np.full(len(rpm), 345.0)), few)
    by_speed, _, pull, _ = chances(result, 1e-7)
    expected = by_speed[1:-1].sum() + (by_speed[0] + by_speed[-1]) / 2
    assert pull == pytest.approx(expected, rel=1e-3)


def test_a_heavier_piston_takes_load_off_the_rod_in_an_abnormal_cycle(
    plain_engine: Engine, few: Policy, monkeypatch: pytest.MonkeyPatch
) -> None:
    """[NEWTON]: at firing inertia works against gas, so where the rod is the weak part it helps."""
    harm = []
    for mass in (0.42, 0.84):
        engine = plain_engine.with_values(
            {"running_gear.piston_mass": mass, "running_gear.rod_section_area": 100e-6}
        )
        result = assess(engine, run_of([5000, 5500, 6000], [345.0] * 3), few)
        model = result.model
        place = place_of(model.demand.torque, result.torque)
        strong_head = np.full(model.demand.torque.shape[:2], 1e9)
        monkeypatch.setattr(
            "torquerisk.study.assessment.abnormal_cycles.head_strength",
            lambda *_, strong=strong_head: strong,
        )
        harm.append(abnormal_cycles(model.demand, model.parts, place).pull_harm)
    assert 0 < harm[1] < harm[0]


def test_only_a_boosted_engine_that_knocks_reaches_per_cents(
    plain_engine: Engine, few: Policy
) -> None:
    """Common practice, no source: a strong engine that is lit far too early breaks in per cents of
    pulls; one without boost, lit as early as it likes, in none."""
    lit = {"ignition_advance": np.radians([18.0] * 3)}
    knocking = assess(plain_engine, run_of([2000, 2500, 3000], [400.0] * 3, **lit), few)
    mild = assess(plain_engine, run_of([2000, 2500, 3000], [185.0] * 3, **lit), few)
    assert knocking.abnormal.pull_harm > 0.01
    assert mild.abnormal.pull_harm < 1e-5
