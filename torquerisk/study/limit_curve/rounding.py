"""Rounding a table down to its resolution so that every rule still holds."""

import numpy as np
import numpy.typing as npt

from torquerisk.physics.arrays import Array
from torquerisk.study.limit_curve.curve import LinearMap
from torquerisk.study.limit_curve.objectives import Goal
from torquerisk.study.limit_curve.rules import SMALL, Difference, Roof, Rules
from torquerisk.study.limit_curve.search import Found, Search


def in_steps(rules: Rules, peak: int, resolution: float) -> list[Difference]:
    """Return the difference rules in whole steps of `resolution`, rounded to the strict side.

    A rise of at most 1.9 steps between two table entries is a rise of at most 1 step.
    """
    return [
        Difference(
            lesser=d.lesser,
            greater=d.greater,
            by=float(np.floor(d.by / resolution + 1e-9)),
            name=d.name,
        )
        for d in rules.differences(peak)
    ]


def best_rounded(
    rules: Rules, goal: Goal, on_grid: LinearMap, search: Search, first: Found, resolution: float
) -> tuple[int, Array] | None:
    """Return (peak, table in whole steps of `resolution`) that keeps every rule and costs least.

    first: best table before rounding [N*m]; search: gives those of the other peaks. Peaks are
    rounded in turn until the next one's cost before rounding is no better than the best rounded
    cost. Of tables that cost the same the higher wins, then the earlier peak. None when no
    whole-step table exists.
    """
    best: tuple[int, Array] | None = None
    least = np.inf
    entry: Found | None = first
    while entry is not None:
        table = _rounded(rules, goal, on_grid, entry, resolution)
        if table is not None:
            cost = goal.cost(on_grid(table))
            same = best is not None and abs(cost - least) <= SMALL * abs(least)
            if best is None or (_before(table, entry.peak, best) if same else cost < least):
                best, least = (entry.peak, table), cost
        entry = search.next_below(least)
    return best


def _before(table: Array, peak: int, best: tuple[int, Array]) -> bool:
    """Return whether a table goes before another of the same cost."""
    return (-float(table.sum()), peak) < (-float(best[1].sum()), best[0])


def _rounded(
    rules: Rules, goal: Goal, on_grid: LinearMap, found: Found, resolution: float
) -> Array | None:
    """Return a rounded table for one peak [N*m], shape (m,).

    The limits rounded down are lawful, because rises are whole steps already. From there a search
    over all tables within a few steps finds the one that costs least.
    """
    roof = rules.roof_for(found.peak)
    differences = in_steps(rules, found.peak, resolution)
    most = np.floor(roof.upper / resolution + SMALL)
    start = np.minimum(np.floor(found.limit / resolution + 1e-6), most)
    best = _searched(roof, differences, most, start, resolution, goal, on_grid)
    return None if best is None else best * resolution


DOWN, UP = 4, 4
"""Whole steps below and above the rounded table that the search looks at."""


def _searched(
    roof: Roof,
    differences: list[Difference],
    most: Array,
    steps: Array,
    size: float,
    goal: Goal,
    on_grid: LinearMap,
) -> Array | None:
    """Return the lawful whole-step table near `steps` with the least sum of costs by speed.

    Dynamic programming over the breakpoints: the cost of a segment depends on its two ends only.
    Rules between distant breakpoints all compare with the peak, whose level is tried in turn.
    Of tables that cost the same the higher wins.
    """
    m, count = len(steps), DOWN + UP + 1
    levels = steps[:, None] + np.arange(-DOWN, UP + 1)
    fits = (levels >= 0.0) & (levels <= most[:, None])
    far = [d for d in differences if abs(d.lesser - d.greater) > 1]
    joint = _segment_costs(levels, size, goal, on_grid)
    height = 1e-9 * np.abs(joint).max() * (levels - steps[:, None]) / (m * count)
    joint = joint - height[1:, None, :]
    joint[_unlawful(levels, size, roof, differences)] = np.inf
    allowed = fits[:, None, :]
    if far:
        peak = far[0].greater
        allowed = np.repeat(allowed, count, axis=1)
        allowed[peak] &= np.eye(count, dtype=bool)
        for d in far:
            allowed[d.lesser] &= levels[d.lesser] <= levels[peak][:, None] + d.by
    path = _cheapest_path(joint, allowed, -height[0])
    return None if path is None else levels[np.arange(m), path]


def _unlawful(
    levels: Array, size: float, roof: Roof, differences: list[Difference]
) -> npt.NDArray[np.bool_]:
    """Return for each segment whether its pair of end levels breaks a dip row or a difference.

    levels: [steps], shape (m, k); answer: shape (m - 1, k, k).
    """
    count = levels.shape[1]
    broken = np.zeros((len(levels) - 1, count, count), dtype=bool)
    share = roof.share[:, None, None]
    value = (1.0 - share) * levels[roof.lower][:, :, None]
    value = size * (value + share * levels[roof.lower + 1][:, None, :])
    most = roof.torque + SMALL * (1.0 + roof.torque)
    np.logical_or.at(broken, roof.lower, value > most[:, None, None])
    pairs = [d for d in differences if abs(d.lesser - d.greater) == 1]
    left = np.array([min(d.lesser, d.greater) for d in pairs], dtype=np.intp)
    up = np.array([d.lesser - d.greater for d in pairs], dtype=float)
    by = np.array([d.by for d in pairs], dtype=float)
    change = levels[left + 1][:, None, :] - levels[left][:, :, None]
    np.logical_or.at(broken, left, up[:, None, None] * change > by[:, None, None])
    return broken


def _segment_costs(levels: Array, size: float, goal: Goal, on_grid: LinearMap) -> Array:
    """Return the cost of each segment for each pair of end levels, shape (m - 1, k, k)."""
    low = size * levels[on_grid.lower].T[:, None, :]
    high = size * levels[on_grid.lower + 1].T[None, :, :]
    by_speed = goal.by_speed((1.0 - on_grid.share) * low + on_grid.share * high)
    count = levels.shape[1]
    total = np.zeros((len(levels) - 1, count, count))
    segments, first = np.unique(on_grid.lower, return_index=True)
    total[segments] = np.moveaxis(np.add.reduceat(by_speed, first, axis=-1), -1, 0)
    return total


def _cheapest_path(
    joint: Array, allowed: npt.NDArray[np.bool_], start: Array
) -> npt.NDArray[np.intp] | None:
    """Return the level index per breakpoint of the cheapest way through the segments, shape (m,).

    joint: cost of each segment by its end levels, shape (m - 1, k, k); allowed: levels that may be
    used, for each of several cases (rows) apart, shape (m, cases, k); start: cost of the first.
    None when there is no way.
    """
    cost = np.where(allowed[0], start, np.inf)
    came: list[npt.NDArray[np.intp]] = []
    for j in range(len(joint)):
        total = cost[:, :, None] + joint[j]
        came.append(total.argmin(axis=1))
        cost = np.where(allowed[j + 1], total.min(axis=1), np.inf)
    if not np.isfinite(cost.min()):
        return None
    case, last = np.unravel_index(int(cost.argmin()), cost.shape)
    path = [int(last)]
    for chosen in reversed(came):
        path.append(int(chosen[case, path[-1]]))
    return np.array(path[::-1], dtype=np.intp)
