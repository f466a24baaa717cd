"""Phasing of each row: what a later burn buys, how early it may sit, what pressure or retard."""

import dataclasses

import numpy as np
import pytest
from small_case import SPEED, assessed, hump
from table_case import ADVANCE, CA50, careful, proposal_advance, proposal_ca50, with_advance

from torquerisk.physics.cylinder.burn_duration import duration_spark, flame_development
from torquerisk.physics.cylinder.phasing import (
    MBT_CA50,
    ca50_from_ignition_advance,
    relative_efficiency,
)
from torquerisk.quantities import DEGREE, RPM
from torquerisk.study.assessment.assess import at_accepted, evaluate
from torquerisk.study.limits import knocking, place_of
from torquerisk.study.loads.demand import LATEST_SANE_CA50
from torquerisk.study.table.finer_grid import (
    ceiling_at,
    index_of,
    on_finer_grid,
    on_speeds,
    prepared_of,
)
from torquerisk.study.table.phasing_window import advance_notices
from torquerisk.study.table.propose import propose_limit
from torquerisk.study.table.rows import pressure_targets, retards


def test_what_a_later_burn_buys_is_what_a_run_that_burned_later_may_have():
    """Metamorphic: the gain at 4 degrees is how the ceiling of a run logged that much later rises.

    The second run goes through the whole chain by its own channel, with the same engines.
    """
    flat = np.ones(len(SPEED))
    runs = [assessed(hump(300.0), {"ca50": (CA50 + d) * flat}) for d in (0.0, 4 * DEGREE)]
    made = propose_limit(runs[0], careful())
    fine = [on_finer_grid(run, made.ask.breakpoints) for run in runs]
    index = index_of(fine[0].speed, made.ask.breakpoints)
    rise = (ceiling_at(fine[1], 0.05) - ceiling_at(fine[0], 0.05))[index]
    gains = [row.later[1].gain for row in made.rows]
    assert gains == pytest.approx(rise.tolist(), abs=1e-6)


def test_later_never_carries_less_where_the_head_governs():
    """Heywood 1988 fig. 9-3 (from memory): later phasing lowers peak pressure at equal work."""
    rows = [row for row in proposal_ca50().rows if row.governing == "head_lift"]
    assert len(rows) >= 4
    for row in rows:
        gains = [step.gain for step in row.later]
        assert 0.0 < gains[0] < gains[1] < gains[2]


def test_a_degree_is_worth_about_two_per_cent():
    """references/cylinder.md 5: at equal torque one degree of CA50 moves peak pressure by 2 %.

    1 to 3 % is allowed for load and speed.
    """
    early, late = (
        assessed(hump(300.0), {"ca50": np.radians(angle) * np.ones(len(SPEED))})
        for angle in (18.0, 20.0)
    )
    share = (early.peak_pressure.p50 / late.peak_pressure.p50 - 1) / 2
    assert np.all(share > 0.01)
    assert np.all(share < 0.03)


def test_later_than_anybody_tunes_is_no_advice():
    """common practice, no source: no CA50 later than 36 degrees is offered."""
    flat = np.ones(len(SPEED))
    run = assessed(hump(300.0), {"ca50": np.radians(33.0) * flat})
    made = propose_limit(run, careful(points=3))
    for row in made.rows:
        for step in row.later:
            assert (step.gain is None) == (row.ca50 + step.ca50_later > LATEST_SANE_CA50)
        assert row.later[2].gain is None


def test_judged_at_its_earliest_phasing_a_row_keeps_the_chance():
    """Identity: a run at the row's limits and earliest CA50s has the accepted chance, no more.

    Capacities are linear between phasings 4 degrees apart: 1 % of chance for that.
    """
    rows = proposal_ca50().rows
    speed = np.array([row.speed for row in rows])
    early = np.array([row.ca50_not_before for row in rows])
    fine = proposal_ca50().finer
    inputs = on_speeds(prepared_of(fine), speed, np.array([row.limit for row in rows]))
    inputs = dataclasses.replace(inputs, state=dataclasses.replace(inputs.state, ca50=early))
    again = evaluate(inputs, fine.policy, fine.model.draws, fine.evidence)
    assert np.all(again.chance_any <= 0.05 + 0.01)


def test_advance_taken_away_burns_that_much_later():
    """Identity: the physics' own CA50 of advance, at the advance less what is taken away."""
    made = proposal_advance()
    engine = made.assessment.engine
    for row in made.rows:
        bmep = row.limit * 4 * np.pi / engine.swept_volume_total
        residual = engine.value("charge.residual_fraction").value
        lam = engine.value("fuel.lambda_").value
        start = flame_development(row.speed, bmep, lam, residual)
        length = duration_spark(row.speed, bmep, lam, residual)
        measured = float(np.interp(row.speed, made.assessment.speed, made.assessment.torque))
        as_logged = row.ignition_advance == pytest.approx(ADVANCE)
        assert as_logged or (row.limit > measured and row.ignition_advance < ADVANCE)
        before = ca50_from_ignition_advance(row.ignition_advance, start, length)
        for step in row.later:
            after = ca50_from_ignition_advance(
                row.ignition_advance - step.advance_less, start, length
            )
            assert after - before == pytest.approx(step.ca50_later, abs=1e-6)


def test_the_most_advance_is_below_the_judged_only_for_knock_and_keeps_the_chance():
    """Identity: a run logged at its most advance keeps the accepted chance at the limits.

    Capacities are linear between shifts of 2 and 4 degrees: 1 % of chance for that.
    """
    made = proposal_advance()
    rows = made.rows
    assert all(
        (row.advance_not_above < row.ignition_advance) == (row.knock_later > 0) for row in rows
    )
    speed = np.array([row.speed for row in rows])
    most = np.interp(SPEED, speed, [row.advance_not_above for row in rows])
    run = assessed(hump(300.0), {"ignition_advance": most})
    fine = on_finer_grid(run, made.ask.breakpoints)
    least = np.min(
        [fine.model.capacities[n] for n, i in fine.limits.items() if i.limit.kind.value ==
         "strength"], axis=0,
    )[index_of(fine.speed, speed)]  # fmt: skip
    chance = (least < np.array([row.limit for row in rows])[:, None]).mean(axis=1)
    assert np.all(chance <= 0.05 + 0.01)


def test_a_row_without_torque_to_spare_has_no_advance_to_spare():
    """Identity: the window keeps the chance as the table's ceiling does, with the same engines.

    A step of a quarter of a degree is worth 1.1 N*m at 230 N*m, so below half of one none is to
    spare.
    What strength alone leaves counts: the fuel's part in a ceiling forbids no earlier burn.
    """
    made = proposal_advance()
    fine = made.finer
    strength = np.min(
        [fine.model.capacities[n] for n, i in fine.limits.items() if i.limit.kind.value ==
         "strength"], axis=0,
    )  # fmt: skip
    carried = at_accepted(strength, made.policy.chance)
    index = index_of(fine.speed, np.array([row.speed for row in made.rows]))
    rows = [row for row, k in zip(made.rows, index, strict=True) if carried[k] - row.limit < 0.5]
    assert rows
    for row in rows:
        less = row.ignition_advance - row.advance_not_above
        assert less == pytest.approx(0.0, abs=1e-9) or row.knock_later > 0


def test_where_knock_control_acted_no_row_is_given_more_advance():
    """common practice, no source: what knock control took back is not handed out again."""
    advance = np.full(len(SPEED), np.radians(4.0))
    retard = np.where((SPEED > 3000 * RPM) & (SPEED < 4500 * RPM), np.radians(5.0), 0.0)
    quiet, heard = (
        propose_limit(assessed(hump(260.0), {"ignition_advance": advance, **more}), careful())
        for more in ({}, {"knock_retard": retard})
    )
    inside = [3000 * RPM < row.speed < 4400 * RPM for row in heard.rows]
    assert sum(inside) >= 2
    for row, within in zip(heard.rows, inside, strict=True):
        if within:
            assert row.advance_not_above <= row.ignition_advance + 1e-9
    assert any(row.advance_not_above > row.ignition_advance + 1e-3 for row in quiet.rows)


@pytest.mark.parametrize("top", [230.0, 300.0])
def test_at_its_earliest_phasing_half_of_the_engines_are_quiet(top):
    """Identity: the limits as a run at the earliest CA50s make no more than half of the engines
    knock, the binomial's two deviations to spare; where it is later than the judged, just half."""
    early = np.full(len(SPEED), np.radians(1.0))
    made = propose_limit(assessed(hump(top), {"ca50": early}), careful(points=6))
    speed, limit, least = (np.array([getattr(row, name) for row in made.rows])
                           for name in ("speed", "limit", "ca50_not_before"))  # fmt: skip
    inputs = on_speeds(prepared_of(made.finer), speed, limit)
    inputs = dataclasses.replace(inputs, state=dataclasses.replace(inputs.state, ca50=least))
    loads = evaluate(inputs, made.finer.policy, made.finer.model.draws, made.finer.evidence)
    loads = loads.model.demand
    share = knocking(loads, place_of(loads.torque, limit))
    judged = np.array([row.ca50 for row in made.rows])
    assert np.all(share <= 0.5 + 2 * np.sqrt(0.25 / made.finer.evidence.kept))
    knocks = np.array([row.knock_later for row in made.rows]) > 2 * DEGREE
    assert knocks.any()
    assert np.all(least[knocks] > judged[knocks] + DEGREE)
    assert [row.ca50_asked for row in made.rows] == pytest.approx(
        [row.ca50 + max(row.knock_later, 0.0) for row in made.rows]
    )


def test_with_phasing_measured_the_earliest_is_not_later_than_the_judged():
    """Identity: there proved with and earliest ask the same of every engine; capacities are linear
    between phasings 4 degrees apart, and steps are a quarter of a degree."""
    for row in proposal_ca50().rows:
        assert row.ca50_not_before <= row.ca50_asked + 0.5 * DEGREE


def test_rows_without_logged_advance_say_none():
    """common practice, no source: no advance is invented."""
    for row in proposal_ca50().rows:
        assert row.ignition_advance is None
        assert row.advance_not_above is None
        assert all(step.advance_less is None for step in row.later)


def test_retard_gives_the_limit_at_the_runs_own_charge():
    """Identity: gross work falls with the efficiency of the phasing that the retard leads to."""
    made = proposal_advance()
    fine = made.finer
    index = index_of(fine.speed, made.ask.breakpoints)
    lost = (fine.imep_gross - fine.bmep) * fine.engine.swept_volume_total / (4 * np.pi)
    checked = 0
    for row, k in zip(made.rows, index, strict=True):
        if row.retard is None or row.retard.ca50_later == 0.0:
            continue
        start = float(fine.ca50.p50[k])
        ratio = relative_efficiency(row.retard.ca50) / relative_efficiency(start)
        wanted = (row.limit + lost[k]) / (fine.torque[k] + lost[k])
        assert ratio == pytest.approx(wanted, abs=1e-9)
        assert row.retard.ca50_later == pytest.approx(row.retard.ca50 - start)
        assert MBT_CA50 < row.retard.ca50 <= LATEST_SANE_CA50
        checked += 1
    assert checked > 0


def test_retard_is_nothing_where_the_run_made_no_more():
    """Identity: a limit above the run's torque needs no retard; a far lower one has none sane."""
    made = proposal_advance()
    for row in made.rows:
        run = float(np.interp(row.speed, made.finer.speed, made.finer.torque))
        if row.limit >= run:
            assert row.retard.ca50_later == 0.0
    assert retards(made.finer, np.array([5]), np.array([20.0])) == (None,)


def test_pressure_is_in_proportion_and_flagged_where_it_leaves_the_run():
    """Heywood 1988 eq. 2.38 by hand; trusted within 30 % of the run's and not above its highest."""
    made = proposal_ca50()
    fine = made.finer
    index = index_of(fine.speed, made.ask.breakpoints)
    lost = (fine.imep_gross - fine.bmep) * fine.engine.swept_volume_total / (4 * np.pi)
    for row, k in zip(made.rows, index, strict=True):
        by_hand = 1.9e5 * (row.limit + lost[k]) / (fine.torque[k] + lost[k])
        assert row.pressure.value == pytest.approx(by_hand)
        assert row.pressure.sd == pytest.approx(0.04 * by_hand)
        assert (row.pressure.low, row.pressure.high) == pytest.approx((1.33e5, 1.9e5))
        assert row.pressure.trusted == (1.33e5 <= by_hand <= 1.9e5)
    far = pressure_targets(fine, index[:2], np.array([60.0, 380.0]))
    assert [item.trusted for item in far] == [False, False]


def test_a_run_without_pressure_gets_none():
    """common practice, no source: no target without a logged pressure."""
    assert with_advance().model.operating.manifold_pressure is None
    assert all(row.pressure is None for row in proposal_advance().rows)


def test_a_row_of_next_to_no_load_says_where_its_advance_comes_from():
    """Arithmetic: below 0.6 bar BMEP the correlations stop; only with advance logged does it count.

    BMEP of a four-stroke is 4 pi T over the swept volume.
    """
    proposal = proposal_advance()
    run = proposal.assessment
    edge = 0.6e5 * run.engine.swept_volume_total / (4 * np.pi)
    speed, torque = np.array([2000.0, 4000.0]) * np.pi / 30, np.array([0.5 * edge, 40 * edge])
    told = advance_notices(run, speed, torque)
    assert [n.code for n in told] == ["advance-load-range"]
    assert "at 2,000 rpm" in told[0].text
    assert "0.3 bar BMEP" in told[0].text
    assert not advance_notices(run, speed, np.array([1.01 * edge, 40 * edge]))
    assert not advance_notices(proposal_ca50().assessment, speed, torque)
    assert "advance-load-range" not in {n.code for n in proposal.notices}
