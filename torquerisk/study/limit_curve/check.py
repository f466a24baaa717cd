"""Checks of a torque-limit table that share nothing with the solver: plain interpolation only."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.case.sentence import Sentence, Torque
from torquerisk.errors import InputError
from torquerisk.physics.arrays import Array
from torquerisk.study.limit_curve.ask import Shape, ShapeAsk

Table = Shape | tuple[npt.ArrayLike, npt.ArrayLike]

PARTS = 5
"""Speeds looked at in every gap between grid speeds and breakpoints, besides its ends."""


def table_of(table: Table) -> tuple[Array, Array]:
    """Return (breakpoints, limit) of a Shape or of a pair, checked to match."""
    pair = (table.breakpoints, table.limit) if isinstance(table, Shape) else table
    points, limit = (np.asarray(part, dtype=float) for part in pair)
    if points.ndim != 1 or points.shape != limit.shape or len(points) < 2:
        raise InputError(
            f"table has breakpoints of shape {points.shape} and limits of shape {limit.shape}, "
            "but needs two lists of equal length, 2 or more."
        )
    if not np.isfinite([points, limit]).all() or (np.diff(points) <= 0.0).any():
        raise InputError("table must hold finite torques at strictly increasing breakpoints.")
    return points, limit


def rise_excess(table: Table, rise_rate: float, peak_from: float = 0.0) -> Array:
    """Return by how much each segment up to the peak rises more than asked [N*m], shape (m - 1,).

    table: a Shape or (breakpoints, limit [N*m]); rise_rate: [N*m per speed unit]; peak_from: the
    peak is the last greatest limit at or after this speed. 0 where the rise is kept or after the
    peak. Exact.
    """
    points, limit = table_of(table)
    excess = np.maximum(np.diff(limit) - rise_rate * np.diff(points), 0.0)
    excess[peak_of(points, limit, peak_from, last=True) :] = 0.0
    return np.asarray(excess)


def peak_of(points: Array, limit: Array, peak_from: float, last: bool = False) -> int:
    """Return the index of the greatest limit at or after peak_from: the first, or the last, of it.

    The last breakpoint when none lies at or after peak_from. The last counts levels that differ by
    less than a millionth as equal, because an unrounded table is no more exact.
    """
    allowed = np.flatnonzero(points >= peak_from)
    if not len(allowed):
        return len(points) - 1
    if last:
        level = limit[allowed].max() - 1e-6 * max(1.0, float(np.abs(limit).max()))
        return int(allowed[limit[allowed] >= level][-1])
    return int(allowed[np.argmax(limit[allowed])])


def dense_speeds(grid: Array, points: Array) -> Array:
    """Return all grid speeds and breakpoints, and `PARTS` speeds within every gap between them."""
    ends = np.unique(np.concatenate([grid, points[(points >= grid[0]) & (points <= grid[-1])]]))
    parts = np.arange(PARTS + 1) / (PARTS + 1)
    inner = (ends[:-1, None] + np.diff(ends)[:, None] * parts).ravel()
    return np.append(inner, ends[-1])


def acceptable_torque(grid: Array, ceiling: Array, speed: Array) -> Array:
    """Return the torque acceptable at `speed` [N*m]: linear between grid speeds, at least 0.

    An infinite ceiling counts within the cell beside it: next to minus infinity nothing is
    acceptable, next to plus infinity the finite neighbour holds.
    """
    right = np.clip(np.searchsorted(grid, speed, side="left"), 1, len(grid) - 1)
    a, b = ceiling[right - 1], ceiling[right]
    share = np.clip((speed - grid[right - 1]) / (grid[right] - grid[right - 1]), 0.0, 1.0)
    both = np.isfinite(a) & np.isfinite(b)
    line = (1.0 - share) * np.where(both, a, 0.0) + share * np.where(both, b, 0.0)
    line = np.where(both, line, np.minimum(a, b))
    return np.maximum(np.where(share == 1.0, b, np.where(share == 0.0, a, line)), 0.0)


def verify_table(
    grid_speed: npt.ArrayLike,
    ceiling: npt.ArrayLike,
    table: Table,
    ask: ShapeAsk,
    reach: npt.ArrayLike | None = None,
) -> list[str]:
    """Return every rule of the ask that a table breaks, in plain words; empty when none.

    grid_speed, ceiling, reach: as in shape_limit, shape (n,); table: a Shape or (breakpoints,
    limit [N*m]). Looks at every grid speed, every breakpoint and between them. Shares no code with
    the solver.
    """
    grid, top = np.asarray(grid_speed, dtype=float), np.asarray(ceiling, dtype=float)
    can = np.full(len(grid), np.inf) if reach is None else np.asarray(reach, dtype=float)
    points, limit = table_of(table)
    found: list[str] = []
    if limit.min() < 0.0:
        found.append(
            Sentence("The limit is ", Torque(float(limit.min()), ".4g", " N*m"), ", below 0.")
        )
    dense = dense_speeds(grid, np.append(points, ask.peak_from))
    value = np.interp(dense, points, limit)
    slack = 1e-6 * max(1.0, float(np.abs(limit).max()))
    for name, curve in (("ceiling", top), ("reach", can)):
        if name == "reach" and ask.limit_above_reach:
            continue
        over = value - acceptable_torque(grid, curve, dense)
        worst = int(np.argmax(over))
        if over[worst] > slack:
            found.append(
                Sentence(
                    f"The limit passes the {name} by ",
                    Torque(float(over[worst]), ".4g", " N*m"),
                    f" at {dense[worst]:,.6g} rpm.",
                )
            )
    step = ask.torque_resolution
    if step > 0.0 and np.abs(limit / step - np.round(limit / step)).max() > 1e-6:
        found.append(
            Sentence("The limits are not whole steps of ", Torque(step, ".4g", " N*m"), ".")
        )
    found += _shape_faults(points, limit, ask, slack)
    found += _delivered_faults(dense, value, acceptable_torque(grid, can, dense), ask, slack)
    return found


def _shape_faults(points: Array, limit: Array, ask: ShapeAsk, slack: float) -> list[str]:
    """Return the rules on rise, dip and peak that the table breaks."""
    found: list[str] = []
    # Unrounded tables may touch their peak's height before it; rounded ones stay a step under.
    peak = peak_of(points, limit, ask.peak_from, last=ask.torque_resolution == 0.0)
    before = limit[points < ask.peak_from]
    if ask.peak_from > points[-1]:
        found.append(f"No breakpoint lies at or after {ask.peak_from:,.6g} rpm.")
    elif len(before) and before.max() > limit[peak] - ask.torque_resolution + slack:
        found.append(f"The limit peaks before {ask.peak_from:,.6g} rpm.")
    if limit[peak] < limit.max() - slack:
        found.append(f"The greatest limit is not at or after {ask.peak_from:,.6g} rpm.")
    excess = (
        rise_excess((points, limit), ask.rise_rate, ask.peak_from)
        if np.isfinite(ask.rise_rate)
        else np.zeros(1)
    )
    if excess.max() > slack:
        found.append(
            Sentence(
                "The limit rises ",
                Torque(float(excess.max()), ".4g", " N*m"),
                f" more than asked after {points[int(np.argmax(excess))]:,.6g} rpm.",
            )
        )
    change = np.diff(limit)
    for j in range(len(change)):
        if j >= peak and change[j] > slack:
            found.append(f"The limit rises after its peak, at {points[j]:,.6g} rpm.")
        if j < peak and ask.no_dip_before_peak and change[j] < -slack:
            found.append(f"The limit falls before its peak, at {points[j]:,.6g} rpm.")
    return found


def _delivered_faults(
    dense: Array, value: Array, can: Array, ask: ShapeAsk, slack: float
) -> list[str]:
    """Return whether the torque delivered peaks before it may."""
    delivered = np.minimum(value, can)
    early, late = dense < ask.peak_from, dense >= ask.peak_from
    if early.any() and late.any() and delivered[early].max() > delivered[late].max() + slack:
        at = dense[early][int(np.argmax(delivered[early]))]
        return [f"Torque delivered is greatest at {at:,.6g} rpm, too early."]
    return []


@dataclass(frozen=True, kw_only=True, eq=False)
class TableJudgement:
    """A table against its ceiling, per grid speed, shape (n,) [N*m].

    limit: what the table allows; unsafe_excess: by how much limit passes the acceptable torque;
    unsafe_delivered: the same for torque that the engine can really make; unused: acceptable torque
    that the engine could make and the table withholds. worst_excess at worst_speed: the greatest
    excess anywhere, between grid speeds too.
    """

    speed: Array
    limit: Array
    unsafe_excess: Array
    unsafe_delivered: Array
    unused: Array
    worst_excess: float
    worst_speed: float


def judge_table(
    breakpoints: npt.ArrayLike,
    limit: npt.ArrayLike,
    grid_speed: npt.ArrayLike,
    ceiling: npt.ArrayLike,
    reach: npt.ArrayLike | None = None,
) -> TableJudgement:
    """Return where a table asks for more than is acceptable, and where it withholds torque.

    breakpoints, limit: any table, shape (m,), [N*m]; grid_speed, ceiling, reach: as in
    shape_limit. Unused torque counts up to the lesser of ceiling and reach; where both are infinite
    it is infinite. Exact.
    """
    points, value = table_of((breakpoints, limit))
    grid, top = np.asarray(grid_speed, dtype=float), np.asarray(ceiling, dtype=float)
    can = np.full(len(grid), np.inf) if reach is None else np.asarray(reach, dtype=float)
    acceptable = acceptable_torque(grid, top, grid)
    asked = np.interp(grid, points, value)
    dense = dense_speeds(grid, points)
    over = np.interp(dense, points, value) - acceptable_torque(grid, top, dense)
    worst = int(np.argmax(over))
    return TableJudgement(
        speed=grid,
        limit=asked,
        unsafe_excess=np.maximum(asked - acceptable, 0.0),
        unsafe_delivered=np.maximum(np.minimum(asked, can) - acceptable, 0.0),
        unused=np.maximum(np.minimum(acceptable, can) - asked, 0.0),
        worst_excess=max(float(over[worst]), 0.0),
        worst_speed=float(dense[worst]),
    )
