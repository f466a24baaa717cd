"""What each rule costs."""

from dataclasses import replace

import numpy as np
import pytest

from torquerisk.study.limit_curve.advice import rule_costs
from torquerisk.study.limit_curve.ask import Objective, ShapeAsk
from torquerisk.study.limit_curve.curve import even_breakpoints
from torquerisk.study.limit_curve.shape import shape_limit

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
    """Identity: under a flat ceiling no table wants a dip."""
    ask = replace(ASK, peak_from=0.0, rise_rate=np.inf)
    (cost,) = rule_costs(GRID, np.full(len(GRID), 300.0), None, ask)
    assert cost.rule == "no_dip_before_peak"
    assert cost.gain == pytest.approx(0.0, abs=1.0)


def test_a_longer_sweep_counts_as_a_cost_too() -> None:
    """Identity: for times, less is better, and the gain is still 0 or more."""
    costs = rule_costs(GRID, NOTCHED, None, replace(ASK, objective=Objective.SHORTEST_SWEEP))
    assert max(cost.gain for cost in costs) > 0.0
    assert min(cost.gain for cost in costs) >= 0.0
