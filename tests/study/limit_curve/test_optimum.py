"""The table is the best one: held against two independent ways to find it."""

from dataclasses import replace

import numpy as np
import pytest
from shape_oracles import (
    best_by_dense_program,
    best_by_steps,
    nearest_by_dense_program,
    sooner_by_dense_program,
)

from torquerisk.study.limit_curve.ask import Objective, ShapeAsk, ShapeInfeasibleError
from torquerisk.study.limit_curve.curve import area_under_power, sweep_time
from torquerisk.study.limit_curve.shape import shape_limit

pytestmark = pytest.mark.slow

GRID = np.arange(1000.0, 6001.0, 100.0)


def case(seed: int, objective: Objective) -> tuple[np.ndarray, np.ndarray, ShapeAsk]:
    """Return (ceiling, reach, ask) drawn at random: rough ceiling, six uneven breakpoints."""
    random = np.random.default_rng(seed)
    ceiling = random.uniform(200.0, 300.0) + np.cumsum(random.normal(0.0, 8.0, len(GRID)))
    reach = np.interp(GRID, [1000, 2500, 4500, 6000], random.uniform(150.0, 320.0, 4))
    inner = np.sort(random.choice(GRID[1:-1], 4, replace=False))
    ask = ShapeAsk(
        objective=objective,
        breakpoints=np.concatenate([[1000.0], inner, [6000.0]]),
        band=(1500.0, 5500.0),
        peak_from=float(random.choice([0.0, 2500.0, 4000.0, 4321.0])),
        rise_rate=float(random.choice([0.02, 0.05, 0.2])),
        torque_resolution=5.0,
        reference=reach,
    )
    return ceiling, reach, ask


@pytest.mark.parametrize(
    "objective", [Objective.MOST_AREA, Objective.SHORTEST_SWEEP, Objective.LEAST_CHANGE]
)
@pytest.mark.parametrize("seed", [*range(5), 116, 282, 284])
def test_rounded_table_against_dynamic_programming(seed: int, objective: Objective) -> None:
    """Oracle: dynamic programming over every whole-step table finds nothing better.

    Equality up to float arithmetic, and no better than the table before rounding. The last three
    seeds are cases whose best whole-step table peaks elsewhere than the best unrounded one.
    """
    ceiling, reach, ask = case(seed, objective)
    table = shape_limit(GRID, ceiling, reach, ask)
    sign = -1.0 if objective is Objective.MOST_AREA else 1.0
    best = best_by_steps(GRID, ceiling, reach, ask)
    assert sign * table.value == pytest.approx(best, rel=1e-9)
    assert sign * table.value_unrounded <= best * (1.0 + sign * 1e-5)


@pytest.mark.parametrize("seed", range(6, 14))
def test_unrounded_table_against_a_dense_linear_program(seed: int) -> None:
    """Oracle: a linear program with a row for each of 1,500 speeds, each peak solved in full.

    The tie-break may cost 1e-5 of the area, and the solver's own tolerance is 1e-7.
    """
    ceiling, reach, ask = case(seed, Objective.MOST_AREA)
    ask = replace(ask, torque_resolution=0.0)
    table = shape_limit(GRID, ceiling, reach, ask)
    best = max(
        best_by_dense_program(GRID, ceiling, reach, ask, int(peak))
        for peak in np.flatnonzero(ask.breakpoints >= ask.peak_from)
    )
    assert table.value == pytest.approx(best, rel=1e-5)


@pytest.mark.parametrize("later", [False, True], ids=["least change", "same shape later"])
@pytest.mark.parametrize("seed", range(30, 42))
def test_unrounded_distance_against_a_dense_linear_program(seed: int, later: bool) -> None:
    """Oracle: the same with one distance variable for each grid speed; a rough reference.

    The tie-break may cost 1e-5 N*m for each N*m that the limits are higher, on average, and the
    solver's own tolerance is 1e-7.
    """
    ceiling, reach, ask = case(seed, Objective.LEAST_CHANGE)
    rough = reach + np.random.default_rng(seed).normal(0.0, 10.0, len(GRID))
    ask = replace(ask, torque_resolution=0.0, reference=rough)
    if later:
        ask = replace(ask, objective=Objective.SAME_SHAPE_LATER)
    table = shape_limit(GRID, ceiling, reach, ask)
    best = min(
        nearest_by_dense_program(GRID, ceiling, reach, replace(ask, reference=table.target), peak)
        for peak in np.flatnonzero(ask.breakpoints >= ask.peak_from).tolist()
    )
    assert table.value == pytest.approx(best, abs=1e-5 * table.limit.mean())
    assert table.value >= best - 1e-6


@pytest.mark.parametrize("seed", range(42, 54))
def test_no_table_of_its_peak_sweeps_sooner_than_the_unrounded_one(seed: int) -> None:
    """Oracle: the tangent of sweep time at the table, over all tables of a dense linear program.

    The sweep is settled within 1e-6 of its time, the tie-break may cost 1e-5.
    """
    ceiling, reach, ask = case(seed, Objective.SHORTEST_SWEEP)
    ask = replace(ask, torque_resolution=0.0)
    table = shape_limit(GRID, ceiling, reach, ask)
    sooner = sooner_by_dense_program(GRID, ceiling, reach, ask, table.peak_index, table.limit)
    assert sooner <= 1.1e-5 * table.value
    lower = 0.8 * table.limit
    assert sooner_by_dense_program(GRID, ceiling, reach, ask, table.peak_index, lower) > 1e-3


@pytest.mark.parametrize(
    ("seed", "objective"),
    [
        (76, Objective.MOST_AREA),
        (101, Objective.MOST_AREA),
        (76, Objective.SHORTEST_SWEEP),
        (101, Objective.SHORTEST_SWEEP),
        (68, Objective.LEAST_CHANGE),
    ],
)
def test_a_peak_that_is_worse_before_rounding_may_be_best_after(
    seed: int, objective: Objective
) -> None:
    """Oracle: dynamic programming over every whole-step table, as above.

    Picked so that the best whole-step table has a peak whose greatest limits promise less than the
    best table before rounding gives.
    """
    ceiling, reach, ask = case(seed, objective)
    table = shape_limit(GRID, ceiling, reach, ask)
    sign = -1.0 if objective is Objective.MOST_AREA else 1.0
    assert sign * table.value == pytest.approx(best_by_steps(GRID, ceiling, reach, ask), rel=1e-9)


def test_refused_asks_have_no_whole_step_table() -> None:
    """Oracle: where the solver refuses a rise too slow for one step, dynamic programming agrees."""
    ceiling, reach, ask = case(3, Objective.MOST_AREA)
    ask = replace(ask, rise_rate=0.0005, peak_from=4000.0)
    with pytest.raises(ShapeInfeasibleError, match="rise"):
        shape_limit(GRID, ceiling, reach, ask)
    assert best_by_steps(GRID, ceiling, reach, ask) == np.inf


@pytest.mark.parametrize("seed", range(18, 26))
def test_each_objective_is_best_at_its_own(seed: int) -> None:
    """Metamorphic: no table made for area sweeps sooner, none made for the sweep has more area."""
    ceiling, reach, ask = case(seed, Objective.SHORTEST_SWEEP)
    ask = replace(ask, torque_resolution=0.0, peak_from=0.0)
    sweep = shape_limit(GRID, ceiling, reach, ask)
    area = shape_limit(GRID, ceiling, reach, replace(ask, objective=Objective.MOST_AREA))
    assert sweep.value <= sweep_time(GRID, area.delivered, 1.0, ask.band) * (1.0 + 1e-5)
    assert area.value >= area_under_power(GRID, sweep.delivered, ask.band) * (1.0 - 1e-5)
