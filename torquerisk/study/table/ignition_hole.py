"""A hole in a table that only early ignition explains, and the later one that would fill it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.table.finer_grid import index_of
from torquerisk.study.table.phasing_window import LaterPhasing, much_later
from torquerisk.study.table.propose import Proposal
from torquerisk.study.table.rows import LimitRow

LEAST_HOLE = 0.02
"""Share of the torque on both sides that a hole is deep at least [-] (stated choice)."""


@dataclass(frozen=True, kw_only=True)
class IgnitionHole:
    """Neighbouring rows that lie below the rows on both sides, and what would lift them there."""

    rows: tuple[int, ...]
    deepest: int
    depth: float
    """Of the deepest row [N*m]."""
    fill: float
    """Torque that the deepest row would then carry [N*m]."""
    later: float
    """Burn later by so much there carries it at the same chance [rad]."""
    advance: float | None
    """Logged ignition advance of that row [rad]."""
    advance_less: float | None
    """Ignition advance that it takes away [rad]."""


Further = Callable[[Sequence[int]], Sequence[tuple[LaterPhasing, ...]]]
"""What burns later than those of the rows would buy some of them."""


def ignition_hole_of(proposal: Proposal) -> IgnitionHole | None:
    """The deepest hole of a proposed table that a later burn fills wholly; None without."""
    rows, fine = proposal.rows, proposal.finer

    def further(some: Sequence[int]) -> Sequence[tuple[LaterPhasing, ...]]:
        speed, limit = (np.array([getattr(rows[k], name) for k in some]) for name in
                        ("speed", "limit"))  # fmt: skip
        ca50 = np.array([rows[k].ca50 for k in some], dtype=float)
        return much_later(fine, index_of(fine.speed, speed), limit, ca50, proposal.policy.chance)

    return ignition_hole(rows, further)


def ignition_hole(rows: Sequence[LimitRow], further: Further) -> IgnitionHole | None:
    """The deepest hole of a table's judged rows that a later burn fills wholly; None without.

    A hole is what water would stand in: rows below the lesser of the highest rows on either side.
    further: asked only where the burns that the rows were judged at do not fill it.
    """
    judged = [k for k, row in enumerate(rows) if row.assessed and row.later]
    if len(judged) < 3:
        return None
    limit = np.array([rows[k].limit for k in judged])
    water = np.minimum(np.maximum.accumulate(limit), np.maximum.accumulate(limit[::-1])[::-1])
    depth = water - limit
    deepest = int(np.argmax(depth))
    row = rows[judged[deepest]]
    error = row.sampling_error or 0.0
    if depth[deepest] < max(LEAST_HOLE * water[deepest], 2 * error):
        return None
    wet = _around(depth > 0, deepest)
    later_of = {k: rows[judged[k]].later for k in wet}
    if any(_later_for(later_of[k], float(depth[k])) is None for k in wet):
        more = further([judged[k] for k in wet])
        later_of = {k: later_of[k] + steps for k, steps in zip(wet, more, strict=True)}
    if any(_later_for(later_of[k], float(depth[k])) is None for k in wet):
        return None
    later, less = _later_for(later_of[deepest], float(depth[deepest])) or (0.0, None)
    return IgnitionHole(
        rows=tuple(judged[k] for k in wet), deepest=judged[deepest], depth=float(depth[deepest]),
        fill=float(water[deepest]), later=later, advance=row.ignition_advance, advance_less=less,
    )  # fmt: skip


def _around(flags: Array, at: int) -> list[int]:
    """Neighbours of a place, itself included, up to the first that is false."""
    first, last = at, at
    while first > 0 and flags[first - 1]:
        first -= 1
    while last + 1 < len(flags) and flags[last + 1]:
        last += 1
    return list(range(first, last + 1))


def _later_for(steps: Sequence[LaterPhasing], gain: float) -> tuple[float, float | None] | None:
    """Burn later [rad] that lifts a row by a torque [N*m], and advance less [rad]; None if none.

    Linear between the steps that the row was judged at.
    """
    later, won, less = [0.0], [0.0], [0.0]
    for step in steps:
        if step.gain is None:
            break
        later.append(step.ca50_later)
        won.append(step.gain)
        less.append(step.advance_less if step.advance_less is not None else np.nan)
    if won[-1] < gain:
        return None
    taken = float(np.interp(gain, won, less))
    return float(np.interp(gain, won, later)), None if np.isnan(taken) else taken
