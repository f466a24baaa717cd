"""The torque-limit table: its rules, its edges and its words."""

import re

import numpy as np
import pytest

from torquerisk.errors import InfeasibleError, InputError
from torquerisk.study.limit_curve.ask import (
    Binding,
    Objective,
    Shape,
    ShapeAsk,
    ShapeInfeasibleError,
    situation,
)
from torquerisk.study.limit_curve.check import verify_table
from torquerisk.study.limit_curve.curve import even_breakpoints
from torquerisk.study.limit_curve.shape import shape_limit

GRID = np.linspace(1500.0, 7000.0, 221)
HUMP = 330.0 + 60.0 * np.sin((GRID - 1500.0) / 1750.0)
REACH = np.interp(GRID, [1500, 2500, 3500, 5500, 7000], [180, 380, 400, 380, 280])


def ask(**changes: object) -> ShapeAsk:
    fields: dict[str, object] = {
        "objective": Objective.MOST_AREA,
        "breakpoints": even_breakpoints(1500.0, 7000.0, 12, 500.0),
        "band": (2000.0, 6800.0),
        "peak_from": 4500.0,
        "rise_rate": 0.06,
    }
    return ShapeAsk(**{**fields, **changes})  # type: ignore[arg-type]


@pytest.mark.parametrize("objective", list(Objective))
@pytest.mark.parametrize("reach", [None, REACH], ids=["open", "reach"])
@pytest.mark.parametrize(
    "rules",
    [
        {},
        {"no_dip_before_peak": True},
        {"torque_resolution": 5.0},
        {"torque_resolution": 0.0},
        {"limit_above_reach": False},
        {"peak_from": 0.0, "rise_rate": np.inf},
    ],
    ids=lambda rules: "-".join(rules) or "plain",
)
def test_every_table_keeps_every_rule(
    objective: Objective, reach: np.ndarray | None, rules: dict[str, object]
) -> None:
    """Identity: the independent check finds nothing to fault in what the solver returns."""
    ceiling = HUMP - 60.0 * np.exp(-(((GRID - 3480.0) / 70.0) ** 2))
    wanted = ask(objective=objective, reference=REACH, **rules)
    table = shape_limit(GRID, ceiling, reach, wanted)
    assert verify_table(GRID, ceiling, table, wanted, reach) == []
    assert table.limit.max() > 250.0


def test_a_dip_between_two_breakpoints_pulls_both_down() -> None:
    """Identity: under a flat 300 N*m with a notch to 200 N*m midway between two breakpoints the
    straight line must pass through the notch, so the two ends average at most 200 N*m."""
    grid = np.arange(1000.0, 6001.0, 50.0)
    ceiling = np.where(grid == 3250.0, 200.0, 300.0)
    points = np.arange(1000.0, 6001.0, 500.0)
    table = shape_limit(
        grid,
        ceiling,
        None,
        ask(breakpoints=points, band=(1000.0, 6000.0), peak_from=0.0, rise_rate=np.inf),
    )
    assert table.limit[4] + table.limit[5] <= 400.0
    assert np.interp(3250.0, points, table.limit) == pytest.approx(200.0, abs=1.0)
    assert table.binding[4] is Binding.CEILING
    assert table.holding_speed[4] == 3250.0


def test_flat_ceiling_gives_the_table_known_by_hand() -> None:
    """Identity: flat 300.4 N*m, peak from 3000, rise 40 N*m per 1000 rpm, resolution 1 N*m: the
    peak is 300, the breakpoint before it one step lower, everything else as high."""
    grid = np.linspace(1000.0, 5000.0, 81)
    table = shape_limit(
        grid,
        np.full(81, 300.4),
        None,
        ask(
            breakpoints=np.arange(1000.0, 5001.0, 1000.0),
            band=(1000.0, 5000.0),
            peak_from=3000.0,
            rise_rate=0.04,
        ),
    )
    assert table.limit.tolist() == [299.0, 299.0, 300.0, 300.0, 300.0]
    assert table.peak_index == 2
    assert table.binding[0] is Binding.PEAK
    assert table.binding[2] is Binding.CEILING


def test_rise_is_what_holds_after_a_low_start() -> None:
    """Identity: a ceiling of 100 N*m at the start, 400 N*m later, is climbed at the rate."""
    grid = np.linspace(1000.0, 5000.0, 81)
    ceiling = np.where(grid < 1050.0, 100.0, 400.0)
    table = shape_limit(
        grid,
        ceiling,
        None,
        ask(
            breakpoints=np.arange(1000.0, 5001.0, 1000.0),
            band=(1000.0, 5000.0),
            peak_from=3000.0,
            rise_rate=0.05,
        ),
    )
    assert table.limit.tolist() == [100.0, 150.0, 200.0, 250.0, 300.0]
    assert table.binding[1:] == (Binding.RISE,) * 4


def test_two_breakpoints() -> None:
    """Identity: with ends at a 200 and a 300 N*m ceiling the table is that straight line."""
    grid = np.linspace(2000.0, 4000.0, 41)
    ceiling = np.interp(grid, [2000.0, 4000.0], [200.0, 300.0])
    table = shape_limit(
        grid,
        ceiling,
        None,
        ask(breakpoints=[2000.0, 4000.0], band=(2000.0, 4000.0), peak_from=4000.0, rise_rate=1.0),
    )
    assert table.limit.tolist() == [200.0, 300.0]


def test_end_values_are_held_so_the_ceiling_beyond_the_table_counts() -> None:
    """Identity: a controller holds its end values, so a low ceiling outside the table caps them."""
    grid = np.linspace(1000.0, 6000.0, 101)
    ceiling = np.where(grid > 5500.0, 150.0, 300.0)
    table = shape_limit(
        grid,
        ceiling,
        None,
        ask(breakpoints=[2000.0, 3000.0, 4000.0, 5000.0], band=(1000.0, 6000.0), peak_from=3000.0),
    )
    assert table.limit[-1] == 150.0
    assert table.holding_speed[-1] > 5500.0


@pytest.mark.parametrize("none", [-np.inf, -50.0, 0.0])
def test_where_no_torque_is_acceptable_the_table_holds_nothing(none: float) -> None:
    """Identity: a speed-limited top end is held at 0, said so, and never interpolated across."""
    ceiling = np.where(GRID > 6200.0, none, 300.0)
    wanted = ask(band=(2000.0, 6000.0))
    table = shape_limit(GRID, ceiling, None, wanted)
    assert verify_table(GRID, ceiling, table, wanted) == []
    # The breakpoint at 6000 must be 0 too: the line from it to 6500 crosses 6201 and on.
    assert table.limit[-3:].tolist() == [0.0, 0.0, 0.0]
    assert table.binding[-2:] == (Binding.NO_TORQUE,) * 2
    assert table.limit[8] > 290.0
    assert any("No torque is acceptable" in text for text in table.notices)


def test_reach_that_falls_early_holds_the_low_end_down() -> None:
    """Identity: the engine makes 400 N*m at 3500 rpm and 388 N*m at 4750 rpm; for its delivered
    torque to peak at or after 4750 the limit below must stay under 388 N*m."""
    wanted = ask(breakpoints=even_breakpoints(1500, 7000, 23, 250), peak_from=4750.0)
    table = shape_limit(GRID, np.full(len(GRID), 500.0), REACH, wanted)
    early = table.breakpoints < 4750.0
    there = np.interp(4750.0, GRID, REACH)
    assert table.limit[early].max() <= there - 1.0
    assert table.limit[early].max() >= there - 2.0
    assert table.delivered[GRID < 4750.0].max() < table.delivered[GRID >= 4750.0].max()


def test_the_table_may_exceed_reach_unless_told() -> None:
    """Identity: under a ceiling of 500 N*m the late limit exceeds reach; held, it does not."""
    ceiling = np.full(len(GRID), 500.0)
    free = shape_limit(GRID, ceiling, REACH, ask())
    held = shape_limit(GRID, ceiling, REACH, ask(limit_above_reach=False))
    assert free.limit[-1] > REACH[-1] + 50.0
    assert held.limit[-1] <= REACH[-1]
    assert Binding.REACH in held.binding
    assert held.value <= free.value


def test_open_ceiling_is_capped_and_said() -> None:
    """Identity: an infinite ceiling is lawful, caps at the highest finite torque, and is told."""
    ceiling = np.where(GRID > 5000.0, np.inf, 350.0)
    table = shape_limit(GRID, ceiling, REACH, ask())
    assert table.limit.max() <= 400.0
    assert any("open" in text for text in table.notices)


def test_breakpoints_beyond_the_assessed_speeds_are_flagged() -> None:
    """Identity: what was not assessed is named, never passed off as held by a ceiling."""
    table = shape_limit(GRID, HUMP, None, ask(breakpoints=[1000.0, 2500.0, 4500.0, 6000.0, 8000.0]))
    assert table.binding[0] is Binding.NOT_ASSESSED
    assert table.binding[-1] is Binding.NOT_ASSESSED
    assert any("Not assessed" in text for text in table.notices)


def test_least_change_returns_the_reference_where_it_is_lawful() -> None:
    """Identity: a reference that keeps every rule and lies on the breakpoints comes back itself."""
    points = even_breakpoints(1500.0, 7000.0, 12, 500.0)
    limits = np.array([200, 220, 240, 260, 280, 300, 320, 320, 310, 300, 280, 250], dtype=float)
    reference = np.interp(GRID, points, limits)
    wanted = ask(objective=Objective.LEAST_CHANGE, reference=reference, band=(1500.0, 7000.0))
    table = shape_limit(GRID, np.full(len(GRID), 330.0), None, wanted)
    assert table.limit.tolist() == limits.tolist()
    assert table.value == pytest.approx(0.0, abs=1e-9)
    assert table.binding[3] is Binding.OBJECTIVE


def test_same_shape_later_moves_the_peak_and_fits_under_the_ceiling() -> None:
    """Identity: the old curve peaks at 3500; moved to 4500 and scaled to a 300 N*m ceiling."""
    wanted = ask(objective=Objective.SAME_SHAPE_LATER, reference=REACH)
    table = shape_limit(GRID, np.full(len(GRID), 300.0), None, wanted)
    assert table.breakpoints[table.peak_index] == 4500.0
    assert table.target is not None
    assert table.target.max() == pytest.approx(300.0)
    assert GRID[np.argmax(table.target)] == 4500.0
    assert "1000 rpm" in table.notices[0]


def test_infeasible_peak_beyond_the_table_names_it_and_offers_the_nearest() -> None:
    """Identity: no breakpoint, no peak; the nearest table peaks at the last breakpoint."""
    with pytest.raises(ShapeInfeasibleError, match="last breakpoint is 7,000 rpm") as caught:
        shape_limit(GRID, HUMP, None, ask(peak_from=7500.0))
    assert isinstance(caught.value, InfeasibleError)
    assert caught.value.constraint == "peak_from"
    assert caught.value.nearest is not None
    assert caught.value.nearest.breakpoints[caught.value.nearest.peak_index] == 7000.0


def test_infeasible_ceiling_names_it() -> None:
    """Identity: where no torque is acceptable from the earliest peak on, the ceiling is named."""
    ceiling = np.where(GRID > 4000.0, -np.inf, 300.0)
    with pytest.raises(ShapeInfeasibleError, match="no torque of one step") as caught:
        shape_limit(GRID, ceiling, None, ask())
    assert caught.value.constraint == "ceiling"
    assert isinstance(caught.value.nearest, Shape)
    assert caught.value.nearest.limit.max() > 200.0


def test_infeasible_reach_names_it() -> None:
    """Identity: an engine that makes nothing late can't peak late."""
    reach = np.where(GRID > 4000.0, 0.0, 300.0)
    with pytest.raises(ShapeInfeasibleError, match="engine makes no torque") as caught:
        shape_limit(GRID, HUMP, reach, ask())
    assert caught.value.constraint == "reach"


def test_infeasible_rise_names_it_and_the_least_that_works() -> None:
    """Identity: one 5 N*m step over a 500 rpm segment needs 10 N*m per 1,000 rpm."""
    with pytest.raises(ShapeInfeasibleError, match="rise of no more than 4 N") as caught:
        shape_limit(GRID, HUMP, None, ask(rise_rate=0.004, torque_resolution=5.0))
    assert caught.value.constraint == "rise_rate"
    assert caught.value.nearest is not None
    assert "10 N*m per 1,000 rpm" in str(caught.value)


def test_nothing_acceptable_anywhere_offers_a_table_of_nothing() -> None:
    """Identity: all ceilings below 0: refused, and the nearest table is 0 throughout."""
    with pytest.raises(ShapeInfeasibleError) as caught:
        shape_limit(GRID, np.full(len(GRID), -1.0), None, ask())
    assert caught.value.nearest is not None
    assert caught.value.nearest.limit.max() == 0.0


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"rise_rate": -1.0}, "rise_rate is -1"),
        ({"rise_rate": float("nan")}, "rise_rate is nan"),
        ({"breakpoints": [1.0]}, "at least 2"),
        ({"breakpoints": [1000.0, 900.0]}, "strictly increase"),
        ({"torque_resolution": -1.0}, "torque_resolution is -1"),
        ({"peak_from": np.inf}, "must be finite"),
        ({"objective": Objective.LEAST_CHANGE}, "reference is missing"),
    ],
)
def test_a_bad_ask_is_refused(changes: dict[str, object], words: str) -> None:
    """Identity: one sentence that names the field and what was given."""
    with pytest.raises(InputError, match=words):
        ask(**changes)


@pytest.mark.parametrize(
    ("ceiling", "reach", "changes", "words"),
    [
        (HUMP[:-1], None, {}, "ceiling has shape"),
        (np.where(GRID > 5000, np.nan, 300.0), None, {}, "ceiling is NaN"),
        (HUMP, REACH - 200.0, {}, "reach is -20"),
        (np.full(221, np.inf), None, {}, "both infinite"),
        (HUMP, None, {"band": (1000.0, 6000.0)}, "keep the band within"),
        (HUMP, None, {"band": (6000.0, 2000.0)}, "must run from"),
        (
            np.where(GRID > 6000, -1.0, 300.0),
            None,
            {"objective": Objective.SHORTEST_SWEEP},
            "sweep never ends",
        ),
        (
            HUMP,
            None,
            {"objective": Objective.LEAST_CHANGE, "reference": np.ones(3)},
            "reference has shape",
        ),
    ],
)
def test_bad_curves_are_refused(
    ceiling: np.ndarray, reach: np.ndarray | None, changes: dict[str, object], words: str
) -> None:
    """Identity: one sentence that names the input and what was given."""
    with pytest.raises(InputError, match=words):
        shape_limit(GRID, ceiling, reach, ask(**changes))


def test_a_rise_of_less_than_one_step_is_told() -> None:
    """Identity: 0.008 N*m per rpm over 500 rpm is 4 N*m, less than a 5 N*m step."""
    table = shape_limit(
        GRID, HUMP, None, ask(rise_rate=0.008, torque_resolution=5.0, peak_from=0.0)
    )
    assert any("less than one step of 5 N*m over 11 of 11 segments" in t for t in table.notices)


def test_the_least_rise_that_works_is_found_between_powers_of_two() -> None:
    """Identity: one 5 N*m step over a 500 rpm segment needs 10 N*m per 1,000 rpm, found to 2 %."""
    points = np.array([1500.0, 3500.0, 4000.0, 4500.0, 5000.0, 5500.0, 6000.0, 6500.0, 7000.0])
    with pytest.raises(ShapeInfeasibleError) as caught:
        shape_limit(
            GRID,
            HUMP,
            None,
            ask(breakpoints=points, rise_rate=0.004, torque_resolution=5.0, band=(2000.0, 6800.0)),
        )
    said = re.search(r"about ([0-9.]+) N\*m per 1,000 rpm is needed", str(caught.value))
    assert said is not None
    assert float(said.group(1)) == pytest.approx(10, rel=0.02)


def test_same_shape_fits_under_a_dip_in_the_band() -> None:
    """Identity: the scale is set where the ceiling is nearest to the moved curve."""
    ceiling = np.where(np.abs(GRID - 5500.0) < 30.0, 200.0, 300.0)
    wanted = ask(objective=Objective.SAME_SHAPE_LATER, reference=REACH)
    table = shape_limit(GRID, ceiling, None, wanted)
    assert table.target is not None
    in_band = (wanted.band[0] <= GRID) & (wanted.band[1] >= GRID)
    assert (table.target - ceiling)[in_band].max() == pytest.approx(0.0, abs=1e-9)


def test_an_unrounded_table_names_its_peak_where_it_may_be() -> None:
    """Identity: under a flat ceiling the unrounded table is level; its peak is told at 4500."""
    table = shape_limit(GRID, np.full(len(GRID), 300.0), None, ask(torque_resolution=0.0))
    assert table.limit == pytest.approx(np.full(12, 300.0))
    assert table.breakpoints[table.peak_index] == 4500.0


def test_reach_between_known_and_unknown_is_the_known() -> None:
    """Identity: beside speeds where the engine is not known, the last known torque holds."""
    curves = situation([1.0, 2.0, 3.0, 4.0], [9.0] * 4, [5.0, 7.0, np.inf, np.inf])
    at = curves.reach_at(np.array([1.0, 1.5, 2.0, 2.5, 3.0, 3.5]))
    assert at.tolist() == [5.0, 6.0, 7.0, 7.0, np.inf, np.inf]
