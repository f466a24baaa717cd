"""The search for the breakpoint at which the best table peaks: the most promising first.

A peak is ruled out by the best whole-step table only, not by the best one before rounding: another
peak may round better.
"""

from dataclasses import dataclass
from heapq import heapify, heappop, heappush

import numpy as np

from torquerisk.physics.arrays import Array
from torquerisk.study.limit_curve.curve import LinearMap
from torquerisk.study.limit_curve.objectives import Goal, Step
from torquerisk.study.limit_curve.program import Program, program
from torquerisk.study.limit_curve.rules import Rules


@dataclass(frozen=True, kw_only=True, eq=False)
class Found:
    """The best table of one peak before rounding: its limits (m,) and cost."""

    peak: int
    limit: Array
    cost: float


class Search:
    """The best table of each peak, the best first, worked out no further than asked for.

    Every peak waits with a cost that none of its tables can beat: first what its greatest limits
    would cost, then what the linear programs prove. The least of these is worked on, one linear
    program at a time, until the table of a peak is settled and no other peak can beat it.
    Of peaks that cost the same the one with the better first bound stands first, then the earlier.
    """

    def __init__(
        self, rules: Rules, goal: Goal, on_grid: LinearMap, ceiling_on_grid: Array
    ) -> None:
        self.programs = 0
        """Linear programs solved."""
        self._goal = goal
        self._peaks: list[tuple[float, int, Program]] = []
        for peak in rules.candidates():
            made = program(rules, peak, on_grid, ceiling_on_grid)
            if made is not None:
                self._peaks.append((goal.bound(made.most_on_grid), peak, made))
        self._peaks.sort(key=lambda entry: entry[:2])
        self._steps: dict[int, Step] = {}
        self._waiting = [(bound, False, rank) for rank, (bound, _, _) in enumerate(self._peaks)]
        heapify(self._waiting)

    def next_below(self, cost: float = np.inf) -> Found | None:
        """Return the best table not yet returned, or None if none costs less than `cost`."""
        while self._waiting and self._waiting[0][0] < cost:
            _, _, rank = heappop(self._waiting)
            _, peak, made = self._peaks[rank]
            step = self._steps.get(rank)
            if step is not None and step.settled:
                return Found(peak=peak, limit=step.limit, cost=step.cost)
            self.programs += 1
            after = self._goal.approach(made, step)
            if after is not None:
                self._steps[rank] = after
                heappush(self._waiting, (after.bound, not after.settled, rank))
        return None
