"""Independent ways to find the best table: dynamic programming on whole steps, and a plain
linear program over a dense grid with one row for everything. Share no code with the solver."""

from itertools import pairwise

import numpy as np
from scipy.optimize import linprog

from torquerisk.study.limit_curve.ask import Objective, ShapeAsk
from torquerisk.study.limit_curve.curve import sweep_time

Curve = np.ndarray


def _segment_costs(
    grid: Curve,
    reach: Curve,
    left: float,
    right: float,
    ask: ShapeAsk,
    levels: Curve,
) -> np.ndarray:
    """Return the cost of a segment for every pair of end levels, shape (levels, levels).

    Breakpoints and band ends must lie on the grid, so that every cell belongs to one segment.
    """
    low, high = max(left, ask.band[0]), min(right, ask.band[1])
    if low >= high:
        return np.zeros((len(levels), len(levels)))
    speed = grid[(grid >= low) & (grid <= high)]
    share = (speed - left) / (right - left)
    limit = levels[:, None, None] * (1.0 - share) + levels[None, :, None] * share
    delivered = np.minimum(limit, np.interp(speed, grid, reach))
    width = np.diff(speed)
    a, b = delivered[..., :-1], delivered[..., 1:]
    if ask.objective is Objective.MOST_AREA:
        # Trapezoid of torque times speed, and the known error of that rule for a product of lines.
        product = (a * speed[:-1] + b * speed[1:]) / 2.0 - (b - a) * width / 6.0
        return -(product * width).sum(axis=-1)
    if ask.objective is Objective.SHORTEST_SWEEP:
        with np.errstate(divide="ignore", invalid="ignore"):
            mean = np.where(np.abs(b - a) < 1e-9 * (a + b), (a + b) / 2.0, (b - a) / np.log(b / a))
            return np.where(np.minimum(a, b) > 0.0, width / mean, np.inf).sum(axis=-1)
    assert ask.reference is not None
    off = np.abs(limit - np.interp(speed, grid, ask.reference))
    return ((off[..., :-1] + off[..., 1:]) / 2.0 * width).sum(axis=-1) / (ask.band[1] - ask.band[0])


def best_by_steps(grid: Curve, ceiling: Curve, reach: Curve, ask: ShapeAsk) -> float:
    """Return the least cost over all tables in whole steps: every peak, every peak level."""
    step, points = ask.torque_resolution, ask.breakpoints
    levels = np.arange(0.0, np.floor(max(ceiling.max(), 0.0) / step) + 1) * step
    count, m = len(levels), len(points)
    top = np.maximum(np.interp(points, grid, ceiling), 0.0)
    costs, fits = [], []
    for left, right in pairwise(points):
        costs.append(_segment_costs(grid, reach, left, right, ask, levels))
        inside = np.linspace(left, right, 200)
        inside = np.union1d(inside, grid[(grid > left) & (grid < right)])
        share = (inside - left) / (right - left)
        over = levels[:, None, None] * (1.0 - share) + levels[None, :, None] * share
        fits.append((over <= np.maximum(np.interp(inside, grid, ceiling), 0.0) + 1e-9).all(axis=-1))
    best = np.inf
    change = levels[None, :] - levels[:, None]
    for peak in np.flatnonzero(points >= ask.peak_from):
        reach_there = np.interp(points[peak], grid, reach)
        reach_from = max(reach_there, np.interp(ask.peak_from, grid, reach))
        for height in range(count):
            cost = np.zeros(count)
            for j in range(m):
                allowed = levels <= top[j] + 1e-9
                if j == peak:
                    allowed &= levels == levels[height]
                if j < peak:
                    allowed &= levels <= levels[height] - step + 1e-9
                if points[j] < ask.peak_from:
                    allowed &= levels <= reach_there - step + 1e-9
                if j > 0:
                    ok = fits[j - 1].copy()
                    if j <= peak:
                        ok &= change <= ask.rise_rate * (points[j] - points[j - 1]) + 1e-9
                    else:
                        ok &= change <= 1e-9
                    share = (ask.peak_from - points[j - 1]) / (points[j] - points[j - 1])
                    if 0.0 < share <= 1.0:
                        at = levels[:, None] * (1.0 - share) + levels[None, :] * share
                        ok &= at <= reach_from + 1e-9
                    cost = (cost[:, None] + np.where(ok, costs[j - 1], np.inf)).min(axis=0)
                cost = np.where(allowed, cost, np.inf)
            best = min(best, float(cost.min()))
    return best


def _dense_rows(
    grid: Curve, ceiling: Curve, reach: Curve, ask: ShapeAsk, peak: int
) -> tuple[Curve, Curve, Curve]:
    """Return (limits to grid speeds, rows on the limits, the most of each row) for one peak.

    One row per dense speed keeps the ceiling. No hulls, no envelopes, no pruning. For
    torque_resolution 0 and finite reach.
    """
    points, m = ask.breakpoints, len(ask.breakpoints)
    unit = np.eye(m)

    def basis(at: Curve) -> np.ndarray:
        return np.array([np.interp(at, points, row) for row in unit]).T

    dense = np.union1d(np.linspace(grid[0], grid[-1], 1500), np.union1d(grid, points))
    rows: list[np.ndarray] = [basis(dense)]
    most: list[np.ndarray] = [np.maximum(np.interp(dense, grid, ceiling), 0.0)]
    there = float(np.interp(points[peak], grid, reach))
    for j in range(m - 1):
        row = unit[j + 1] - unit[j]
        rows.append(row[None])
        bound = ask.rise_rate * (points[j + 1] - points[j]) if j < peak else 0.0
        most.append(np.array([bound]))
    for j in range(peak):
        rows.append((unit[j] - unit[peak])[None])
        most.append(np.zeros(1))
    early = points < ask.peak_from
    if early.any():
        rows.append(unit[early])
        most.append(np.full(int(early.sum()), there))
        rows.append(basis(np.array([ask.peak_from])))
        most.append(np.array([max(there, float(np.interp(ask.peak_from, grid, reach)))]))
    return basis(grid), np.vstack(rows), np.concatenate(most)


def _most_delivered(grid: Curve, reach: Curve, rows: tuple[Curve, Curve, Curve], weight: Curve):
    """Return the greatest weight @ delivered, one variable per grid speed; minus infinity if none.

    weight: shape (n,), 0 or above.
    """
    on_grid, limits, most = rows
    m, n = limits.shape[1], len(grid)
    matrix = np.block(
        [
            [limits, np.zeros((len(limits), n))],
            [-on_grid, np.eye(n)],
        ]
    )
    rhs = np.concatenate([most, np.zeros(n)])
    scale = weight.max()
    result = linprog(
        np.concatenate([np.zeros(m), -weight / scale]),
        A_ub=matrix,
        b_ub=rhs,
        bounds=[(0.0, None)] * m + [(0.0, float(r)) for r in reach],
        method="highs",
    )
    return float(-result.fun * scale) if result.status == 0 else -np.inf


def best_by_dense_program(
    grid: Curve, ceiling: Curve, reach: Curve, ask: ShapeAsk, peak: int
) -> float:
    """Return the greatest integral of torque times speed for one peak, unrounded.

    One row per grid speed ties delivered torque to the breakpoints; composite Simpson on the
    delivered line.
    """
    weight = np.zeros(len(grid))
    for k in range(len(grid) - 1):
        low, high = max(grid[k], ask.band[0]), min(grid[k + 1], ask.band[1])
        if low >= high:
            continue
        for at, simpson in ((low, 1.0), ((low + high) / 2.0, 4.0), (high, 1.0)):
            share = (at - grid[k]) / (grid[k + 1] - grid[k])
            weight[k] += (high - low) / 6.0 * simpson * at * (1.0 - share)
            weight[k + 1] += (high - low) / 6.0 * simpson * at * share
    return _most_delivered(grid, reach, _dense_rows(grid, ceiling, reach, ask, peak), weight)


def sooner_by_dense_program(
    grid: Curve, ceiling: Curve, reach: Curve, ask: ShapeAsk, peak: int, limit: Curve
) -> float:
    """Return by how much a table of this peak might sweep sooner than `limit`, at most [s].

    Sweep time is convex in delivered torque, so its tangent at `limit` lies under it. The tangent
    comes from differences of `sweep_time` (exact), 1e-3 N*m to both sides.
    """
    rows = _dense_rows(grid, ceiling, reach, ask, peak)
    delivered = np.minimum(rows[0] @ limit, reach)
    worth = np.array(
        [
            sweep_time(grid, delivered - step, 1.0, ask.band)
            - sweep_time(grid, delivered + step, 1.0, ask.band)
            for step in 1e-3 * np.eye(len(grid))
        ]
    ) / 2e-3  # fmt: skip
    return _most_delivered(grid, reach, rows, np.maximum(worth, 0.0)) - float(worth @ delivered)


def nearest_by_dense_program(
    grid: Curve, ceiling: Curve, reach: Curve, ask: ShapeAsk, peak: int
) -> float:
    """Return the least mean distance from the reference for one peak, unrounded [N*m].

    One distance per grid speed, at least limit - reference and reference - limit; trapezoids.
    """
    assert ask.reference is not None
    on_grid, limits, most = _dense_rows(grid, ceiling, reach, ask, peak)
    m, n = limits.shape[1], len(grid)
    speed = np.union1d(grid[(grid > ask.band[0]) & (grid < ask.band[1])], ask.band)
    weight = np.array([np.trapezoid(np.interp(speed, grid, row), speed) for row in np.eye(n)])
    result = linprog(
        np.concatenate([np.zeros(m), weight / weight.sum()]),
        A_ub=np.block(
            [
                [limits, np.zeros((len(limits), n))],
                [on_grid, -np.eye(n)],
                [-on_grid, -np.eye(n)],
            ]
        ),
        b_ub=np.concatenate([most, ask.reference, -ask.reference]),
        bounds=[(0.0, None)] * (m + n),
        method="highs",
    )
    return float(result.fun) if result.status == 0 else np.inf
