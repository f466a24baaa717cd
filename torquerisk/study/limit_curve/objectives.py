"""What a table can be chosen for: its cost, and how the best table of one peak is approached."""

from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from scipy.optimize import LinearConstraint, minimize

from torquerisk.physics.arrays import Array
from torquerisk.study.limit_curve.curve import LinearMap, band_knots
from torquerisk.study.limit_curve.program import Lumps, Program, Worth

EXACT = 1e-7
"""Torque [N*m] by which an exact table may be off, on average over the band: the solver's own."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Step:
    """The best table of one peak so far, shape (m,) [N*m], its cost and what none can beat.

    settled: the table is the best; lumps: see Program.best; corners: tables proposed.
    """

    limit: Array
    cost: float
    bound: float
    settled: bool
    lumps: Lumps
    corners: tuple[Array, ...] = ()


class Goal(Protocol):
    """What a table is chosen for. Every goal is something to make small."""

    def cost(self, limit_on_grid: Array) -> float:
        """Return the cost of a table from its limit on the grid."""
        ...

    def by_speed(self, limit_on_grid: Array) -> Array:
        """Return the cost of each grid speed apart, shape (..., n): their sum is the cost."""
        ...

    def bound(self, most_on_grid: Array) -> float:
        """Return a cost that no table at or under `most_on_grid` can beat."""
        ...

    def approach(self, program: Program, step: Step | None) -> Step | None:
        """Return the step after `step` by one linear program, or None if there is no table."""
        ...


@dataclass(frozen=True, kw_only=True, eq=False)
class MostArea:
    """Greatest weighted sum of delivered torque: weight (n,) from area_weights; reach (n,)."""

    weight: Array
    reach: Array

    def cost(self, limit_on_grid: Array) -> float:
        """Return minus the area under delivered power."""
        return -float(self.weight @ np.minimum(limit_on_grid, self.reach))

    def by_speed(self, limit_on_grid: Array) -> Array:
        """Return minus each grid speed's part of the area."""
        return -self.weight * np.minimum(limit_on_grid, self.reach)

    def bound(self, most_on_grid: Array) -> float:
        """Return the cost of delivering the most everywhere."""
        return self.cost(most_on_grid)

    def approach(self, program: Program, step: Step | None) -> Step | None:
        """Return the limits with the greatest area.

        Few speeds lie over reach, so each is its own lump: one program, exact.
        """
        worth = Worth(weight=self.weight, curve=self.reach, over=1.0)
        return _linear(self, program, worth, np.arange(len(self.weight)))


@dataclass(frozen=True, kw_only=True, eq=False)
class LeastChange:
    """Least weighted absolute distance of the limit from a curve, both on the grid (n,)."""

    weight: Array
    target: Array

    def cost(self, limit_on_grid: Array) -> float:
        """Return the weighted distance."""
        return float(self.weight @ np.abs(limit_on_grid - self.target))

    def by_speed(self, limit_on_grid: Array) -> Array:
        """Return each grid speed's part of the distance."""
        return self.weight * np.abs(limit_on_grid - self.target)

    def bound(self, most_on_grid: Array) -> float:
        """Return the distance that stays when only the greatest limits hold."""
        return float(self.weight @ np.maximum(self.target - most_on_grid, 0.0))

    def approach(self, program: Program, step: Step | None) -> Step | None:
        """Return the nearest limits: |l - t| = t - l + 2 * max(l - t, 0)."""
        worth = Worth(weight=self.weight, curve=self.target, over=2.0)
        return _linear(self, program, worth, None if step is None else step.lumps)


def _linear(
    goal: MostArea | LeastChange, program: Program, worth: Worth, lumps: Lumps | None
) -> Step | None:
    """Return the next step of a goal whose cost is minus a worth but for a constant."""
    proposal = program.best(worth, lumps)
    if proposal is None:
        return None
    cost = goal.cost(program.on_grid(proposal.limit))
    slack = EXACT * float(worth.weight.sum())
    return Step(
        limit=proposal.limit,
        cost=cost,
        bound=cost - max(proposal.doubt, slack),
        settled=proposal.doubt <= slack,
        lumps=proposal.lumps,
    )


SWEEP_EXACT = 1e-6
"""Share by which the time of a settled sweep may lie above the shortest."""
MOST_CORNERS = 20
"""Tables that a mixture for the sweep is made of at most."""
NODES, NODE_WEIGHTS = np.polynomial.legendre.leggauss(5)


@dataclass(frozen=True, kw_only=True, eq=False)
class ShortestSweep:
    """Least integral of d(speed) / delivered torque over the band.

    cells: map from the grid to the quadrature points in the band; length: weight of each point;
    floor: torque under which 1 / T is continued by its tangent, so that the cost stays finite and
    convex while the search passes tables with 0 in the band.
    """

    cells: LinearMap
    length: Array
    reach: Array
    floor: float

    @classmethod
    def over(
        cls, speed: Array, reach: Array, band: tuple[float, float], floor: float
    ) -> "ShortestSweep":
        """Return the goal with five-point Gauss-Legendre points in every cell of the band."""
        knots = band_knots(speed, band)
        half = np.diff(knots)[:, None] / 2.0
        points = knots[:-1, None] + half * (1.0 + NODES)
        return cls(
            cells=LinearMap.between(speed, points.ravel()),
            length=(half * NODE_WEIGHTS).ravel(),
            reach=reach,
            floor=floor,
        )

    def _delivered(self, limit_on_grid: Array) -> Array:
        return np.minimum(limit_on_grid, self.reach)

    def _cost(self, delivered: Array) -> float:
        return float(self.length @ self._inverse(self.cells(delivered)))

    def _worth(self, delivered: Array) -> Array:
        """Return minus the cost's gradient by delivered torque on the grid."""
        torque = np.maximum(self.cells(delivered), self.floor)
        return self.cells.gathered(self.length / torque**2)

    def cost(self, limit_on_grid: Array) -> float:
        """Return the sweep time of one unit of inertia and of speed."""
        return self._cost(self._delivered(limit_on_grid))

    def by_speed(self, limit_on_grid: Array) -> Array:
        """Return each grid speed's part of the time, by the trapezoid rule: their sum is near."""
        return self.cells.gathered(self.length) * self._inverse(self._delivered(limit_on_grid))

    def _inverse(self, torque: Array) -> Array:
        """Return 1 / torque, continued by its tangent under the floor."""
        low = np.maximum(torque, self.floor)
        return np.where(torque > self.floor, 1.0 / low, 2.0 / low - torque / low**2)

    def bound(self, most_on_grid: Array) -> float:
        """Return the cost of delivering the most everywhere."""
        return self.cost(most_on_grid)

    def approach(self, program: Program, step: Step | None) -> Step | None:
        """Return the next mixture of tables, or the last one proved within 1e-6 of the best.

        Simplicial decomposition: linear programs propose tables, the best mixture of them is
        kept. The cost is convex, so its tangent bounds it from below: at the most that can be
        delivered first, then at the best mixture.
        """
        limit = program.most_on_grid if step is None else program.on_grid(step.limit)
        about = self._delivered(limit)
        weight = self._worth(about)
        worth = Worth(weight=weight, curve=self.reach, over=1.0)
        proposal = program.best(worth, None if step is None else step.lumps)
        if proposal is None:
            return None
        gain = weight @ (self._delivered(program.on_grid(proposal.limit)) - about)
        bound = self._cost(about) - float(gain) - proposal.doubt
        corners: tuple[Array, ...] = (proposal.limit,)
        best = proposal.limit
        if step is not None:
            bound = max(bound, step.bound)
            if step.cost - bound <= SWEEP_EXACT * step.cost:
                return replace(step, bound=step.cost * (1.0 - SWEEP_EXACT), settled=True)
            corners = (*step.corners, proposal.limit)
            best = self._mixed(program, corners)
        cost = self.cost(program.on_grid(best))
        return Step(
            limit=best,
            cost=cost,
            bound=min(bound, cost * (1.0 - SWEEP_EXACT)),
            settled=len(corners) >= MOST_CORNERS,
            lumps=proposal.lumps,
            corners=corners,
        )

    def _mixed(self, program: Program, corners: tuple[Array, ...]) -> Array:
        """Return the mixture of tables with the least cost."""
        tables = np.array(corners)
        on_grid = np.array([program.on_grid(table) for table in corners])
        scale = self.cost(on_grid[0])

        def value(share: Array) -> float:
            return self.cost(share @ on_grid) / scale

        def slope(share: Array) -> Array:
            mixed = share @ on_grid
            worth = self._worth(self._delivered(mixed)) * (mixed <= self.reach)
            return np.asarray(on_grid @ -worth / scale)

        count = len(corners)
        result = minimize(
            value,
            np.full(count, 1.0 / count),
            jac=slope,
            method="SLSQP",
            bounds=[(0.0, 1.0)] * count,
            constraints=LinearConstraint(np.ones((1, count)), 1.0, 1.0),
            options={"ftol": 1e-10, "maxiter": 60},
        )
        share = np.clip(result.x, 0.0, None)
        return np.asarray((share / share.sum()) @ tables, dtype=float)
