"""An existing table judged: against its own assessment as a run, and by hand."""

import dataclasses
import re

import numpy as np
import pytest
from small_case import SPEED, assessed, hump
from table_case import careful, proposal_ca50, with_ca50

from torquerisk.errors import InputError
from torquerisk.quantities import RPM
from torquerisk.show.text.judged_table import judged_in_short
from torquerisk.show.words.limit_table import abnormal_in_words
from torquerisk.show.words.prose import Units
from torquerisk.study.assessment.assess import evaluate
from torquerisk.study.assessment.result import State
from torquerisk.study.limit_curve.curve import area_under_power
from torquerisk.study.limits import place_of, quiet_later
from torquerisk.study.table.finer_grid import on_finer_grid, on_speeds, prepared_of
from torquerisk.study.table.judge import judge_existing


@pytest.fixture(scope="module")
def own():
    made = proposal_ca50()
    return judge_existing(with_ca50(), made.ask.breakpoints, made.shape.limit, careful())


@pytest.fixture(scope="module")
def high():
    made = proposal_ca50()
    return judge_existing(with_ca50(), made.ask.breakpoints, 1.25 * made.shape.limit, careful())


def test_the_proposal_holds(own):
    """Identity: a table shaped under the ceiling nowhere passes it."""
    assert own.holds
    assert set(own.state) == {State.HOLDS}
    assert own.judgement.worst_excess == 0.0
    assert own.chance.max() <= 0.05
    assert own.chance_pull == pytest.approx(proposal_ca50().under.chance_pull)


def test_a_higher_table_is_too_high_by_what_it_passes_the_ceiling(high):
    """Identity: excess is limit less ceiling; verdicts follow it and the share of engines."""
    excess = np.maximum(high.judgement.limit - np.maximum(high.ceiling, 0.0), 0.0)
    assert high.judgement.unsafe_excess == pytest.approx(excess)
    assert not high.holds
    assert high.judgement.worst_excess >= excess.max()
    for state, over in zip(high.state, excess, strict=True):
        assert (state is State.HOLDS) == (over == 0.0)


def test_the_sentences_and_the_rows_say_the_same(high):
    """Identity: each state that a row beyond its ceiling has is told, and where; no other is."""
    made = proposal_ca50()
    for factor in (1.02, 1.06, 1.25):
        judged = judge_existing(
            with_ca50(), made.ask.breakpoints, factor * made.shape.limit, careful()
        )
        told = " ".join(judged_in_short(judged))
        for state, words in (
            (State.EXCEEDS, "asks more than is accepted"), (State.CLOSE, "is too close to call"),
        ):  # fmt: skip
            assert (words in told) is (state in judged.state), (factor, state)
        for many, accepted in re.findall(r"in (\d+) of [\d,]+ sim[a-z ]+, where (<?\d+) \(", told):
            assert int(many) > (0 if accepted == "<1" else int(accepted)), "no fewer than accepted"
    assert State.EXCEEDS in judged.state


def test_what_is_heard_in_time_is_no_excess():
    """Identity: of engines that knock at any timing those count that are not heard, as under a
    proposed table; so the state agrees with the ceiling's own chance."""
    run = assessed(hump(420.0))
    judged = judge_existing(run, SPEED, hump(420.0), careful())
    model, names = judged.assessment.model, judged.assessment.limits
    octane = names["octane"].limit
    knocking = (model.capacities["octane"] < judged.judgement.limit[:, None]).mean(axis=1)
    unheard = (model.bounding(octane) < judged.judgement.limit[:, None]).mean(axis=1)
    assert np.all(unheard < 0.5 * knocking)
    assert knocking.max() > 0.05
    for state, chance, share in zip(judged.state, judged.chance, unheard, strict=True):
        if chance == 0.0 and share <= 0.05:
            assert state is not State.EXCEEDS


def test_chance_is_that_of_the_table_as_a_run(high):
    """Identity: the limit assessed as a run with the same engines fails as often at every speed."""
    fine = high.assessment
    inputs = on_speeds(prepared_of(fine), fine.speed, high.judgement.limit)
    inputs = dataclasses.replace(inputs, state=fine.model.operating)
    again = evaluate(inputs, fine.policy, fine.model.draws, fine.evidence)
    assert np.array_equal(again.chance_any, high.chance)
    assert again.chance_pulls == high.chance_pulls_at_limit


def test_abnormal_cycles_are_those_of_the_ignition_that_the_table_asks_for():
    """Identity: its torque as a run, later by what quietens the middle engine, on the same engines;
    metamorphic: at the earlier ignition that was run there are more."""
    run = assessed(hump(300.0), {"ca50": np.full(len(SPEED), np.radians(0.0))})
    judged = judge_existing(run, SPEED, hump(260.0), careful())
    fine = judged.assessment
    inputs = on_speeds(prepared_of(fine), fine.speed, judged.judgement.limit)
    inputs = dataclasses.replace(inputs, state=fine.model.operating)
    loads = fine.model.demand
    later = np.maximum(quiet_later(loads, place_of(loads.torque, inputs.torque)), 0.0)
    assert later.max() > np.radians(2.0)
    state = dataclasses.replace(inputs.state, later=later)
    early, asked = (
        evaluate(each, fine.policy, fine.model.draws, fine.evidence).abnormal
        for each in (inputs, dataclasses.replace(inputs, state=state))
    )
    assert judged.abnormal.pull_harm == pytest.approx(asked.pull_harm)
    assert judged.abnormal.chance_harm == pytest.approx(asked.chance_harm)
    assert early.pull_event > asked.pull_event
    assert "to all that the table allows" in abnormal_in_words(
        dataclasses.replace(judged, abnormal=early)
    )


def test_what_is_wasted_is_up_to_ceiling_and_reach(own):
    """Identity: the area of the lesser of ceiling and run, less what the table gives."""
    fine = own.assessment
    could = np.minimum(np.maximum(own.ceiling, 0.0), fine.torque)
    unused = np.maximum(could - own.judgement.limit, 0.0)
    band = (float(fine.speed[0]), float(fine.speed[-1]))
    assert own.area_unused == pytest.approx(area_under_power(fine.speed, unused, band))
    assert own.delivered == pytest.approx(np.minimum(own.judgement.limit, fine.torque))


def test_a_finer_grid_changes_no_verdict(own, high):
    """Metamorphic: breakpoints put in at the table's own height leave every chance as it was."""
    for judged in (own, high):
        speed = np.union1d(judged.breakpoints, judged.breakpoints[:-1] + 0.37 * np.diff(
            judged.breakpoints))  # fmt: skip
        limit = np.interp(speed, judged.breakpoints, judged.limit)
        again = judge_existing(with_ca50(), speed, limit, careful())
        apart = np.abs(again.assessment.speed[:, None] - judged.assessment.speed)
        here, there = np.nonzero(apart < 1e-6)
        assert len(here) >= len(SPEED) + len(judged.breakpoints) - 4
        assert again.chance[here] == pytest.approx(judged.chance[there], abs=1e-12)
        assert [again.state[k] for k in here] == [judged.state[k] for k in there]
        assert again.holds == judged.holds


def test_the_finer_grid_of_the_run_itself_changes_no_chance():
    """Metamorphic: at the run's own speeds the chances are those of the run alone."""
    a = with_ca50()
    fine = on_finer_grid(a, np.array([2222.0, 3333.0, 4444.0]) * RPM)
    same = [int(np.argmin(np.abs(fine.speed - s))) for s in a.speed]
    assert fine.chance_any[same] == pytest.approx(a.chance_any, abs=1e-12)


def test_what_lies_outside_the_run_is_said_not_judged():
    """common practice, no source: nothing is known there."""
    table = np.array([1000.0, 3000.0, 8000.0]) * RPM
    judged = judge_existing(with_ca50(), table, np.array([900.0, 100.0, 100.0]), careful())
    assert judged.outside == pytest.approx(table[[0, 2]])
    assert "table-outside-run" in {n.code for n in judged.notices}
    assert judged.assessment.speed[0] == pytest.approx(2000 * RPM)


def test_a_table_of_other_speeds_is_refused():
    """common practice, no source: one sentence that names both ranges."""
    with pytest.raises(InputError, match="no speed in common"):
        judge_existing(with_ca50(), np.array([100.0, 120.0]), np.array([90.0, 90.0]), careful())


def test_what_rounds_to_no_torque_is_not_told_as_unused(own):
    """Identity: 0.6 N*m are 0.44 lb*ft: told in N*m, none in lb*ft."""
    unused = np.where(np.arange(len(own.judgement.unused)) == 3, 0.6, 0.0)
    near = dataclasses.replace(own, judgement=dataclasses.replace(own.judgement, unused=unused))
    assert "unused" in " ".join(judged_in_short(near))
    assert "unused" not in " ".join(judged_in_short(near, Units.US))
