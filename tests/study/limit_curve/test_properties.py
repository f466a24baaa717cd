"""What holds of every table, whatever the curves: searched at random."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from torquerisk.study.limit_curve.ask import Objective, Shape, ShapeAsk, ShapeInfeasibleError
from torquerisk.study.limit_curve.check import verify_table
from torquerisk.study.limit_curve.shape import shape_limit

pytestmark = pytest.mark.slow

SEARCH = settings(max_examples=25, deadline=None, derandomize=True)
Case = tuple[np.ndarray, np.ndarray, np.ndarray | None, ShapeAsk]


@st.composite
def cases(draw: st.DrawFn, objectives: tuple[Objective, ...] = tuple(Objective)) -> Case:
    """Draw (grid, ceiling, reach, ask): rough curves, dips, holes, uneven points, odd rules."""
    n = draw(st.integers(3, 40))
    steps = draw(st.lists(st.integers(1, 9), min_size=n, max_size=n))
    grid = 1000.0 + 20.0 * np.cumsum(steps)
    torque = st.one_of(
        st.integers(100, 400).map(float),
        st.floats(80.0, 420.0),
        st.sampled_from([0.0, -20.0, -np.inf, 55.5]),
    )
    tame = draw(st.booleans())
    heights = st.floats(150.0, 300.0) if tame else torque
    ceiling = np.array(draw(st.lists(heights, min_size=n, max_size=n)))
    reach = None
    if draw(st.booleans()):
        reach = np.array(draw(st.lists(st.floats(0.0, 400.0), min_size=n, max_size=n)))
    m = draw(st.integers(2, 9))
    picks = draw(st.lists(st.integers(0, 200), min_size=m, max_size=m, unique=True))
    low, high = grid[0], grid[-1]
    points = np.sort(low + (high - low) * (np.array(picks) / 200.0))
    quarter = (high - low) / 4.0
    return (
        grid,
        ceiling,
        reach,
        ShapeAsk(
            objective=draw(st.sampled_from(objectives)),
            breakpoints=points,
            band=(float(low + draw(st.integers(0, 1)) * quarter), float(high)),
            peak_from=float(draw(st.sampled_from([0.0, low + quarter, low + 2.2 * quarter]))),
            rise_rate=draw(st.sampled_from([0.02, 0.3, 5.0, np.inf])),
            torque_resolution=draw(st.sampled_from([0.0, 0.5, 1.0, 5.0])),
            no_dip_before_peak=draw(st.booleans()),
            limit_above_reach=draw(st.booleans()),
            reference=np.interp(grid, [low, (low + high) / 3, high], [200.0, 330.0, 180.0]),
        ),
    )


def solve(case: Case) -> Shape | None:
    """Return the table, or None when it is refused as infeasible."""
    grid, ceiling, reach, ask = case
    try:
        return shape_limit(grid, ceiling, reach, ask)
    except ShapeInfeasibleError:
        return None


NO_SWEEP = (Objective.MOST_AREA, Objective.LEAST_CHANGE)


@settings(SEARCH, max_examples=80)
@given(cases(NO_SWEEP))
def test_no_rule_is_ever_broken(case: Case) -> None:
    """Identity: whatever the ask, the independent check finds no fault, rounded or not."""
    table = solve(case)
    if table is not None:
        grid, ceiling, reach, ask = case
        assert verify_table(grid, ceiling, table, ask, reach) == []
        dense = np.linspace(grid[0], grid[-1], 3001)
        finite = np.where(np.isneginf(ceiling), -1e6, ceiling)
        over = np.interp(dense, table.breakpoints, table.limit) - np.maximum(
            np.interp(dense, grid, finite), 0.0
        )
        assert over.max() < 1e-6


@SEARCH
@given(cases(NO_SWEEP), st.floats(0.0, 60.0))
def test_a_lower_ceiling_is_never_worth_more(case: Case, drop: float) -> None:
    """Metamorphic: tables under the lower ceiling are among those under the higher one.

    Before rounding; the tie-break may cost 1e-5.
    """
    grid, ceiling, reach, ask = case
    lower = solve((grid, ceiling - drop * (np.arange(len(grid)) % 3 > 0), reach, ask))
    if lower is None:
        return
    higher = solve(case)
    assert higher is not None
    gain = higher.value_unrounded - lower.value_unrounded
    slack = 3e-5 * max(abs(higher.value_unrounded), 1.0)
    assert gain >= -slack if ask.objective is Objective.MOST_AREA else gain <= slack


@SEARCH
@given(cases(NO_SWEEP))
def test_the_same_ask_gives_the_same_table(case: Case) -> None:
    """Identity: deterministic to the last bit."""
    first, second = solve(case), solve(case)
    if first is None or second is None:
        assert first is second
    else:
        assert first.limit.tolist() == second.limit.tolist()
        assert first.binding == second.binding


@SEARCH
@given(cases((Objective.MOST_AREA,)))
def test_a_finer_grid_of_the_same_ceiling_changes_nothing(case: Case) -> None:
    """Metamorphic: the ceiling is linear between grid speeds, so points on its lines add nothing.

    Without reach, whose lesser with the limit is sampled at grid speeds only.
    """
    grid, ceiling, _, ask = case
    ceiling = np.where(np.isneginf(ceiling), -30.0, ceiling)
    finer = np.union1d(grid, (grid[1:] + grid[:-1]) / 2.0)
    ask = replace(ask, reference=None)
    coarse = solve((grid, ceiling, None, ask))
    fine = solve((finer, np.interp(finer, grid, ceiling), None, ask))
    assert (coarse is None) == (fine is None)
    if coarse is not None and fine is not None:
        assert abs(fine.value_unrounded - coarse.value_unrounded) <= 3e-5 * max(
            coarse.value_unrounded, 1.0
        )


@SEARCH
@given(cases((Objective.MOST_AREA,)), st.sampled_from([0.5, 2.0, np.pi / 30.0]))
def test_the_unit_of_speed_does_not_matter(case: Case, factor: float) -> None:
    """Metamorphic: speeds times k, rates divided by k: the same torques before rounding."""
    grid, ceiling, reach, ask = case
    ask = replace(ask, torque_resolution=0.0, reference=None)
    scaled = replace(
        ask,
        breakpoints=ask.breakpoints * factor,
        band=(float(ask.band[0] * factor), float(grid[-1] * factor)),
        peak_from=ask.peak_from * factor,
        rise_rate=ask.rise_rate / factor,
    )
    one = solve((grid, ceiling, reach, ask))
    other = solve((grid * factor, ceiling, reach, scaled))
    assert (one is None) == (other is None)
    if one is not None and other is not None:
        assert abs(other.value / factor**2 - one.value) <= 3e-5 * max(one.value, 1.0)
