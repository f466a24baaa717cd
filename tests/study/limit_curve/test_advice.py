"""What each rule costs, and where breakpoints are worth most."""

from dataclasses import replace

import numpy as np
import pytest

from torquerisk.errors import InputError
from torquerisk.study.limit_curve.advice import placed_breakpoints, rule_costs
from torquerisk.study.limit_curve.shape import (
    Objective,
    ShapeAsk,
    SpeedUnit,
    even_breakpoints,
    shape_limit,
    verify_table,
)

GRID = np.linspace(1500.0, 7000.0, 221)
HUMP = 330.0 + 60.0 * np.sin((GRID - 1500.0) / 1750.0)
NOTCHED = HUMP - 70.0 * np.exp(-(((GRID - 3480.0) / 60.0) ** 2))
ASK = ShapeAsk(
    objective=Objective.MOST_AREA,
    breakpoints=even_breakpoints(1500.0, 7000.0, 8, 50.0),
    band=(2000.0, 6800.0),
    peak_from=6500.0,
    rise_rate=0.02,
    no_dip_before_peak=True,
    speed_unit=SpeedUnit.REVOLUTION_PER_MINUTE,
)


def test_every_rule_asked_costs_and_no_other_is_told() -> None:
    """Identity: the gain is that of the table without the rule, dearest first."""
    costs = rule_costs(GRID, NOTCHED, None, ASK)
    assert {cost.rule for cost in costs} == {"peak_from", "rise_rate", "no_dip_before_peak"}
    assert [cost.gain for cost in costs] == sorted((cost.gain for cost in costs), reverse=True)
    kept = shape_limit(GRID, NOTCHED, None, ASK).value_unrounded
    free = shape_limit(GRID, NOTCHED, None, replace(ASK, peak_from=0.0)).value_unrounded
    told = next(cost for cost in costs if cost.rule == "peak_from")
    assert told.gain == pytest.approx(free - kept, rel=1e-12)
    assert told.gain > 0.0
    assert told.share == pytest.approx(told.gain / kept, rel=1e-12)


def test_a_rule_that_nothing_presses_on_costs_nothing() -> None:
    """Identity: under a flat ceiling a fast enough fall is never needed."""
    ask = replace(ASK, peak_from=0.0, rise_rate=np.inf, no_dip_before_peak=False, fall_rate=1.0)
    (cost,) = rule_costs(GRID, np.full(len(GRID), 300.0), None, ask)
    assert cost.rule == "fall_rate"
    assert cost.gain == pytest.approx(0.0, abs=1.0)


def test_a_longer_sweep_counts_as_a_cost_too() -> None:
    """Identity: for times, less is better, and the gain is still 0 or more."""
    costs = rule_costs(GRID, NOTCHED, None, replace(ASK, objective=Objective.SHORTEST_SWEEP))
    assert max(cost.gain for cost in costs) > 0.0
    assert min(cost.gain for cost in costs) >= 0.0


@pytest.mark.parametrize("count", [6, 9, 13])
def test_placed_breakpoints_are_lawful_and_no_worse(count: int) -> None:
    """Metamorphic: chosen breakpoints serve at least as well as even ones, on round speeds."""
    ask = replace(
        ASK,
        breakpoints=even_breakpoints(1500.0, 7000.0, count, 50.0),
        peak_from=4500.0,
        rise_rate=0.06,
        no_dip_before_peak=False,
    )
    chosen = placed_breakpoints(GRID, NOTCHED, None, ask, 50.0)
    assert len(chosen) == count
    assert (chosen % 50.0 == 0.0).all()
    assert chosen[[0, -1]].tolist() == [1500.0, 7000.0]
    placed = replace(ask, breakpoints=chosen)
    table = shape_limit(GRID, NOTCHED, None, placed)
    assert verify_table(GRID, NOTCHED, table, placed) == []
    assert table.value > shape_limit(GRID, NOTCHED, None, ask).value


def test_placed_breakpoints_find_the_bends() -> None:
    """Identity: a ceiling with two bends is met exactly by four breakpoints at ends and bends."""
    ceiling = np.interp(GRID, [1500, 3000, 5500, 7000], [200, 350, 350, 250])
    ask = replace(
        ASK,
        breakpoints=even_breakpoints(1500.0, 7000.0, 4, 50.0),
        peak_from=3000.0,
        rise_rate=np.inf,
        no_dip_before_peak=False,
    )
    chosen = placed_breakpoints(GRID, ceiling, None, ask, 50.0)
    assert chosen.tolist() == [1500.0, 3000.0, 5500.0, 7000.0]


def test_too_coarse_a_step_is_refused() -> None:
    """Identity: one sentence that says how many multiples there are."""
    with pytest.raises(InputError, match="only 6 multiples"):
        placed_breakpoints(GRID, NOTCHED, None, ASK, 1000.0)


def test_own_breakpoints_come_back_where_they_serve_better() -> None:
    """Identity: own breakpoints on the bends beat any on multiples of 500 rpm."""
    bends = np.array([1500.0, 3225.0, 5225.0, 7000.0])
    ceiling = np.interp(GRID, bends, [200.0, 350.0, 350.0, 250.0])
    ask = replace(
        ASK, breakpoints=bends, peak_from=3000.0, rise_rate=np.inf, no_dip_before_peak=False
    )
    assert placed_breakpoints(GRID, ceiling, None, ask, 500.0).tolist() == bends.tolist()
