"""Where knock was heard in a run, no table asks for more torque or advance than the run had."""

import dataclasses
from functools import cache

import numpy as np
import pytest
from small_case import SPEED, assessed, hump
from table_case import careful

from torquerisk.quantities import RPM, Array
from torquerisk.show.text.judged_table import judged_in_short
from torquerisk.show.words.limit_columns import titles_of
from torquerisk.show.words.limit_table import ignition_conditions
from torquerisk.study.assessment.assess import evaluate
from torquerisk.study.assessment.result import Assessment, Least
from torquerisk.study.limit_curve.curve import interpolated_limit
from torquerisk.study.limits import HEARD
from torquerisk.study.run.seen_signs import SEEN_BESIDE
from torquerisk.study.table.finer_grid import prepared_of
from torquerisk.study.table.judge import judge_existing
from torquerisk.study.table.propose import Proposal, Wish, propose_limit
from torquerisk.study.table.second_axis import ETHANOL
from torquerisk.study.table.two_axes import propose_table_2d

INSIDE = (SPEED > 3000 * RPM) & (SPEED < 4500 * RPM)
MADE = hump(200.0)
LOGGED = {
    "knock_retard": np.where(INSIDE, np.radians(5.0), 0.0),
    "knock_count": np.where(INSIDE, 3.0, 0.0),
}


@cache
def run_with(channel: str) -> Assessment:
    """A run well under what the engine carries, with knock heard in its middle or without."""
    heard = {channel: LOGGED[channel]} if channel else {}
    return assessed(MADE, {"ignition_advance": np.full(len(SPEED), np.radians(4.0)), **heard})


@cache
def table_of(channel: str) -> Proposal:
    """Its proposed table."""
    return propose_limit(run_with(channel), careful(), reach="open")


def heard_at(speed: Array) -> Array:
    """True where knock was heard or as near as one that was."""
    first, last = SPEED[INSIDE][[0, -1]] + np.array([-1, 1]) * SEEN_BESIDE
    return (first <= speed) & (speed <= last)


@pytest.mark.parametrize("channel", list(LOGGED))
def test_no_row_asks_for_more_than_the_run_made_where_knock_was_heard(channel: str) -> None:
    """common practice, no source: no torque is added where an engine knocked until it is quiet; the
    same run without knock shows that the engine carries more."""
    made, free = table_of(channel), table_of("")
    speed = made.finer.speed
    within = heard_at(speed)
    most = np.interp(speed, SPEED, MADE)
    limit, other = (interpolated_limit(t.shape.breakpoints, t.shape.limit, speed)
                    for t in (made, free))  # fmt: skip
    assert np.all(limit[within] <= most[within] + 1e-6)
    assert np.all(other[within] > most[within] + 10)
    rows = [row for row in made.rows if heard_at(np.array([row.speed]))[0]]
    assert len(rows) >= 2
    assert {row.governing for row in rows} == {HEARD.name}
    assert all(row.spare is not None and row.spare >= -1e-6 for row in rows)
    assert all(step.gain in (0.0, None) for row in rows for step in row.later)
    assert titles_of(made.assessment)[HEARD.name] == HEARD.title
    assert made.verified


def test_a_run_that_knocked_hands_out_no_advance_at_any_speed() -> None:
    """common practice, no source: one fuel and one engine knock alike at all speeds, so a limit of
    knock that was missed at one is not trusted at another; the same run without knock has some."""
    made, free = table_of("knock_retard"), table_of("")
    for table, none in ((made, True), (free, False)):
        judged, most = (np.array([getattr(row, name) for row in table.rows])
                        for name in ("ignition_advance", "advance_not_above"))  # fmt: skip
        assert bool(np.all(most <= judged + 1e-9)) == none
    assert all(row.ca50_not_before >= row.ca50 - 1e-9 for row in made.rows)


def test_rows_where_knock_control_acted_say_what_ignition_they_stand_on() -> None:
    """common practice, no source: a map that knock control corrects asks for more advance than was
    run, so the advance of these rows is not the map's; counts take none back."""
    told, free = (" ".join(ignition_conditions(table_of(x))) for x in ("knock_retard", ""))
    low, high = SPEED[INSIDE][[0, -1]] / RPM
    assert f"From {low:,.0f} to {high:,.0f} rpm that is what knock control took it back to" in told
    assert "took it back" not in free
    assert "took it back" not in " ".join(ignition_conditions(table_of("knock_count")))


def test_parts_carry_a_row_with_the_maps_own_ignition_too() -> None:
    """Identity: where 5 degrees were taken back what binds is the lesser of the run's ignition and
    of one 5 degrees earlier, of the same engines; elsewhere that of the run's. A late burn that was
    an answer to knock would otherwise put the peak of a table where the engine knocked."""
    found = run_with("knock_retard")
    prepared = prepared_of(found)
    assert prepared.state.map_earlier == pytest.approx(np.where(INSIDE, np.radians(5.0), 0.0))

    def least(**changes: object) -> Least:
        state = dataclasses.replace(prepared.state, **changes)
        again = dataclasses.replace(prepared, state=state)
        return evaluate(again, found.policy, found.model.every, found.evidence).model.least

    as_run = least(map_earlier=None).binding
    by_map = least(map_earlier=None, later=np.where(INSIDE, -np.radians(5.0), 0.0)).strength
    assert by_map[INSIDE].mean() < as_run[INSIDE].mean(), "an earlier burn presses more"
    both = found.model.least.binding
    assert both == pytest.approx(np.minimum(as_run, by_map), rel=1e-9)
    advance = prepared.state.ignition_advance + np.where(INSIDE, np.radians(5.0), 0.0)
    as_set = least(map_earlier=None, ignition_advance=advance).binding
    low = [np.quantile(x[INSIDE], 0.05, axis=1) for x in (both, as_set)]
    assert low[0] == pytest.approx(low[1], rel=0.02), "as of a log with that advance"
    assert (run_with("knock_count").model.operating.map_earlier) is None


def test_a_table_of_ones_own_above_the_run_there_is_told() -> None:
    """Identity: the free run's table is too high for the one that knocked by limit less run."""
    free = table_of("").shape
    judged = judge_existing(run_with("knock_retard"), free.breakpoints, free.limit, careful())
    speed = judged.assessment.speed
    within = heard_at(speed)
    over = judged.judgement.limit - np.interp(speed, SPEED, MADE)
    assert not judged.holds
    assert judged.judgement.unsafe_excess[within] == pytest.approx(over[within])
    told = " ".join(judged_in_short(judged))
    assert "where knock was heard" in told or "knock that was heard" in told
    own = judge_existing(run_with("knock_retard"), SPEED, MADE, careful())
    assert own.holds


@pytest.mark.slow
def test_columns_of_a_second_axis_are_held_too() -> None:
    """common practice, no source: another fuel is quiet once a run with it was, not before."""
    wish = Wish(policy=careful(points=6), reach="open")
    table = propose_table_2d(run_with("knock_retard"), ETHANOL, (0.3, 0.6), wish)
    grid = np.linspace(SPEED[0], SPEED[-1], 200)
    within = heard_at(grid)
    for column in table.columns:
        limit = interpolated_limit(table.breakpoints, column.shape.limit, grid)
        assert np.all(limit[within] <= np.interp(grid, SPEED, MADE)[within] + 1e-6)
        assert HEARD.name in column.governing


@pytest.mark.parametrize("rise", [None, 30.0])
def test_a_steep_run_held_by_knock_loses_nothing_to_the_usual_rise(rise: float | None) -> None:
    """Identity: where no rise is asked for, the run's own in the part that it is held to is one."""
    torque = np.interp(SPEED / RPM, [2000, 4000, 6500], [60.0, 230.0, 190.0])
    low = SPEED < 3800 * RPM
    run = assessed(torque, {"knock_retard": np.where(low, np.radians(4.0), 0.0)})
    asked = {} if rise is None else {"rise": rise / 1000 / RPM}
    made = propose_limit(run, careful(points=10, **asked))
    late = made.finer.speed > 4100 * RPM
    lost = np.interp(made.finer.speed, SPEED, torque) - made.under.torque
    assert (float(lost[late].max()) < 2.0) == (rise is None)
