"""The grid that a table is judged on."""

from types import SimpleNamespace

import numpy as np
import pytest

from torquerisk.quantities import RPM
from torquerisk.study.table.finer_grid import WIDEST_GAP, finer_speeds, index_of

RUN = SimpleNamespace(speed=np.array([2000.0, 3000.0, 3100.0, 3400.0]) * RPM)


def test_finer_grid_holds_rows_and_breakpoints_and_no_wide_gap() -> None:
    """Identity: every row of the run, every breakpoint within it, evenly filled between."""
    points = np.array([1500.0, 2500.0, 3000.0, 3250.0, 5000.0]) * RPM
    grid = finer_speeds(RUN, points)
    assert (grid[0], grid[-1]) == (RUN.speed[0], RUN.speed[-1])
    assert np.all(np.diff(grid) > 0)
    assert np.diff(grid).max() <= WIDEST_GAP * (1 + 1e-9)
    for speed in (*RUN.speed, *points[1:4]):
        assert np.abs(grid - speed).min() < 1e-9
    at = index_of(grid, RUN.speed)
    assert grid[at] == pytest.approx(RUN.speed)


def test_a_breakpoint_beside_a_row_is_that_row() -> None:
    """Edge: speeds that differ by less than rounding stay one speed."""
    same = finer_speeds(RUN, RUN.speed[1:2] * (1 + 1e-10))
    np.testing.assert_array_equal(same, finer_speeds(RUN, RUN.speed[1:2]))
