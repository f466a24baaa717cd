"""The linear program of one peak: what lumps of speeds promise, and what they cannot."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from torquerisk.study.limit_curve.ask import Objective, ShapeAsk, situation
from torquerisk.study.limit_curve.curve import LinearMap
from torquerisk.study.limit_curve.goals import judged, target_of
from torquerisk.study.limit_curve.objectives import LeastChange
from torquerisk.study.limit_curve.program import Program, Worth, program
from torquerisk.study.limit_curve.search import Search
from torquerisk.study.limit_curve.shape import rules_of

GRID = np.arange(1000.0, 6001.0, 50.0)


def drawn(seed: int) -> tuple[Program, np.ndarray, np.ndarray]:
    """Return (program, weight, rough curve) on the grid for a peak at the sixth of nine rows."""
    random = np.random.default_rng(seed)
    ceiling = 250.0 + np.cumsum(random.normal(0.0, 2.0, len(GRID)))
    ask = ShapeAsk(
        objective=Objective.MOST_AREA,
        breakpoints=np.linspace(1000.0, 6000.0, 9),
        band=(1000.0, 6000.0),
        peak_from=3500.0,
        rise_rate=0.05,
    )
    curves = situation(GRID, ceiling, None)
    speed = judged(curves, ask, None).speed
    on_grid = LinearMap.between(ask.breakpoints, speed)
    made = program(rules_of(curves, ask), 5, on_grid, curves.reading_at(speed))
    assert made is not None
    curve = 220.0 + 15.0 * np.sin(speed / 700.0) + random.normal(0.0, 12.0, len(speed))
    return made, random.uniform(0.5, 2.0, len(speed)), curve


def worth_of(limit: np.ndarray, made: Program, worth: Worth) -> float:
    """Return the worth of limits at the breakpoints, speed by speed."""
    on_grid = made.on_grid(limit)
    above = np.maximum(on_grid - worth.curve, 0.0)
    return float(worth.weight @ (on_grid - worth.over * above))


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.integers(0, 10**6), st.integers(1, 4), st.sampled_from([1.0, 2.0]))
def test_lumps_never_promise_too_little(seed: int, parts: int, over: float) -> None:
    """Identity: whatever the lumps, worth and doubt together are at least the best table's worth.

    The best is found with each speed a lump of its own, which leaves no doubt. The tie-break may
    cost 1e-5 of the limits, each weighing 1 on average.
    """
    made, weight, curve = drawn(seed)
    worth = Worth(weight=weight, curve=curve, over=over)
    alone = made.best(worth, np.arange(len(weight)))
    random = np.random.default_rng(seed)
    lumps = made.on_grid.lower * parts + random.integers(0, parts, len(weight))
    some = made.best(worth, lumps)
    assert alone is not None
    assert some is not None
    assert alone.doubt <= 1e-6
    best = worth_of(alone.limit, made, worth)
    slack = 1e-5 * weight.sum() * made.upper.max()
    assert worth_of(some.limit, made, worth) <= best + slack
    assert worth_of(some.limit, made, worth) + some.doubt >= best - slack


@pytest.mark.parametrize("over", [1.0, 2.0])
@pytest.mark.parametrize("seed", range(8))
def test_splitting_ends_at_the_best_table(seed: int, over: float) -> None:
    """Identity: whole segments first, then split where in doubt, come to the table of single ones.

    Where over is 2 whole segments must be in doubt, or the splitting would not have been tried.
    """
    made, weight, curve = drawn(seed)
    worth = Worth(weight=weight, curve=curve, over=over)
    alone = made.best(worth, np.arange(len(weight)))
    step = made.best(worth)
    assert alone is not None
    assert step is not None
    assert over == 1.0 or step.doubt > 1e-3
    for _ in range(10):
        if step.doubt <= 1e-7 * weight.sum():
            break
        step = made.best(worth, step.lumps)
        assert step is not None
    assert step.doubt <= 1e-7 * weight.sum()
    assert step.limit == pytest.approx(alone.limit, abs=1e-6)


@pytest.mark.parametrize("objective", list(Objective))
def test_peaks_come_in_the_order_of_their_cost(objective: Objective) -> None:
    """Identity: every peak once, the best first, each as good as solved with every speed alone."""
    ask = ShapeAsk(
        objective=objective,
        breakpoints=np.linspace(1000.0, 6000.0, 11),
        band=(1500.0, 5500.0),
        peak_from=3000.0,
        rise_rate=0.05,
        reference=220.0 - 20.0 * ((GRID - 3000.0) / 2000.0) ** 2,
        torque_resolution=0.0,
    )
    random = np.random.default_rng(7)
    curves = situation(
        GRID, 260.0 + np.cumsum(random.normal(0.0, 4.0, len(GRID))), np.full(len(GRID), 240.0)
    )
    rules = rules_of(curves, ask)
    target, _ = target_of(curves, ask)
    judge = judged(curves, ask, target)
    goal = judge.goal(ask)
    on_grid = LinearMap.between(ask.breakpoints, judge.speed)
    search = Search(rules, goal, on_grid, judge.most)
    found = []
    while (entry := search.next_below()) is not None:
        found.append(entry)
    assert sorted(entry.peak for entry in found) == rules.candidates()
    costs = np.array([entry.cost for entry in found])
    assert (np.diff(costs) >= -2e-6 * np.abs(costs[1:])).all()
    if isinstance(goal, LeastChange):
        worth = Worth(weight=goal.weight, curve=goal.target, over=2.0)
        for entry in found:
            made = program(rules, entry.peak, on_grid, judge.most)
            assert made is not None
            alone = made.best(worth, np.arange(len(judge.speed)))
            assert alone is not None
            assert entry.cost == pytest.approx(goal.cost(on_grid(alone.limit)), abs=1e-6)
    again = Search(rules, goal, on_grid, judge.most)
    first = again.next_below()
    assert first is not None
    assert again.next_below(first.cost - 1e-3 * abs(first.cost)) is None
    assert again.programs < search.programs
    assert first.peak == found[0].peak
