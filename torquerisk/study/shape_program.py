"""The convex programs that find the best table for one peak, and the search over peaks."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt
from scipy.optimize import Bounds, LinearConstraint, milp, minimize
from scipy.sparse import csc_array

from torquerisk.physics.arrays import Array
from torquerisk.study.shape_rules import Rules, greatest_below
from torquerisk.study.shape_table import LinearMap, band_knots

TIE_WEIGHT = 1e-5
"""Weight of being high everywhere, against an objective whose breakpoint weights average 1."""


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

    def solve(self, program: "Program") -> Array | None:
        """Return the best limit at the breakpoints, or None if the program has no table."""
        ...


@dataclass(frozen=True, kw_only=True, eq=False)
class Rows:
    """Linear rows `matrix @ variables <= most` (or between), the matrix as its entries."""

    value: Array
    row: npt.NDArray[np.intp]
    column: npt.NDArray[np.intp]
    least: Array
    most: Array

    def below(self, other: "Rows") -> "Rows":
        """Return these rows with `other` under them."""
        return Rows(
            value=np.concatenate([self.value, other.value]),
            row=np.concatenate([self.row, other.row + len(self.most)]),
            column=np.concatenate([self.column, other.column]),
            least=np.concatenate([self.least, other.least]),
            most=np.concatenate([self.most, other.most]),
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Extra:
    """Variables besides the limits, from 0 up to `upper`, and the rows that tie them in."""

    rows: Rows
    weight: Array
    upper: Array


@dataclass(frozen=True, kw_only=True, eq=False)
class Program:
    """The linear constraints on the breakpoints' limits for one peak.

    upper: shape (m,); rows on the limits; on_grid: limits to grid speeds; most_on_grid: what no
    table of this program exceeds at a grid speed [N*m], shape (n,).
    """

    upper: Array
    rows: Rows
    on_grid: LinearMap
    most_on_grid: Array

    def best(self, limit_weight: Array, extra: Extra | None = None) -> Array | None:
        """Return the limits that maximise a linear weight, shape (m,), or None if there are none.

        limit_weight: per breakpoint; extra: further variables with their own weight.
        """
        m = len(self.upper)
        weight, upper, rows = limit_weight, self.upper, self.rows
        if extra is not None:
            weight = np.concatenate([weight, extra.weight])
            upper = np.concatenate([upper, extra.upper])
            rows = rows.below(extra.rows)
        scale = np.abs(weight).sum()
        cost = -weight * (m / scale if scale > 0.0 else 1.0)
        cost[:m] -= TIE_WEIGHT
        shape = (len(rows.most), len(upper))
        matrix = csc_array((rows.value, (rows.row, rows.column)), shape=shape)
        result = milp(
            cost,
            bounds=Bounds(np.zeros(len(upper)), upper),
            constraints=LinearConstraint(matrix, rows.least, rows.most),
        )
        if result.status == 2:
            return None
        if result.x is None:
            raise RuntimeError(f"The linear program for the torque limit failed: {result.message}")
        return np.asarray(np.clip(result.x[:m], 0.0, self.upper), dtype=float)

    def tied(self, points: npt.NDArray[np.intp], sign: float, most: Array) -> Rows:
        """Return rows sign * (limit at a grid point - its extra variable) <= most.

        points: grid indices, shape (k,); the k extra variables come after the limits.
        """
        lower, share = self.on_grid.lower[points], self.on_grid.share[points]
        k = np.arange(len(points))
        return Rows(
            value=sign * np.concatenate([1.0 - share, share, -np.ones(len(k))]),
            row=np.concatenate([k, k, k]),
            column=np.concatenate([lower, lower + 1, len(self.upper) + k]),
            least=np.full(len(k), -np.inf),
            most=most,
        )


def program(rules: Rules, peak: int, on_grid: LinearMap, ceiling_on_grid: Array) -> Program | None:
    """Return the program of tables that peak at breakpoint `peak`, or None if there are none."""
    held = rules.roof_for(peak)
    differences = rules.differences(peak)
    if held.upper.min() < 0.0:
        return None
    envelope = greatest_below(held.upper.tolist(), differences)
    if envelope is None:
        return None
    dips, count = np.arange(len(held.lower)), len(differences)
    pairs = np.arange(count)
    rows = Rows(
        value=np.concatenate([1.0 - held.share, held.share]),
        row=np.concatenate([dips, dips]),
        column=np.concatenate([held.lower, held.lower + 1]),
        least=np.full(len(dips), -np.inf),
        most=held.torque,
    ).below(
        Rows(
            value=np.concatenate([np.ones(count), -np.ones(count)]),
            row=np.concatenate([pairs, pairs]),
            column=np.array(
                [d.lesser for d in differences] + [d.greater for d in differences], dtype=np.intp
            ),
            least=np.full(count, -np.inf),
            most=np.array([d.by for d in differences], dtype=float),
        )
    )
    if rules.has_bend:
        matrix, least, most = rules.bend_rows()
        # Slopes are small numbers; scaled to torques they share the solver's tolerance.
        scale = float(np.diff(rules.breakpoints).mean())
        row, column = np.nonzero(matrix)
        value = matrix[row, column] * scale
        rows = rows.below(
            Rows(value=value, row=row, column=column, least=least * scale, most=most * scale)
        )
    top = np.array(envelope)
    return Program(
        upper=top,
        rows=rows,
        on_grid=on_grid,
        most_on_grid=np.minimum(on_grid(top), ceiling_on_grid),
    )


def _most_delivered(program: Program, reach: Array, weight: Array) -> Array | None:
    """Return the limits that maximise weight @ min(limit, reach); weight 0 or above, shape (n,).

    Delivered torque is the limit itself where the engine can always make it; elsewhere it is a
    variable of its own, at or under both.
    """
    held = np.flatnonzero((reach < program.most_on_grid) & (weight != 0.0))
    if not len(held):
        return program.best(program.on_grid.gathered(weight))
    free = weight.copy()
    free[held] = 0.0
    extra = Extra(
        rows=program.tied(held, -1.0, np.zeros(len(held))), weight=weight[held], upper=reach[held]
    )
    return program.best(program.on_grid.gathered(free), extra)


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

    def solve(self, program: Program) -> Array | None:
        """Return the limits with the greatest area: one linear program."""
        return _most_delivered(program, self.reach, self.weight)


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

    def solve(self, program: Program) -> Array | None:
        """Return the nearest limits: distance above the target is an extra variable.

        |l - t| = t - l + 2 * over with over >= l - t, over >= 0.
        """
        over = np.flatnonzero((self.weight > 0.0) & (self.target < program.most_on_grid))
        limit_weight = program.on_grid.gathered(self.weight)
        if not len(over):
            return program.best(limit_weight)
        extra = Extra(
            rows=program.tied(over, 1.0, self.target[over]),
            weight=-2.0 * self.weight[over],
            upper=np.full(len(over), np.inf),
        )
        return program.best(limit_weight, extra)


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

    def solve(self, program: Program) -> Array | None:
        """Return the limits with the shortest sweep.

        Simplicial decomposition: linear programs propose tables, the best mixture of them is
        kept, until the linear program proves the mixture within 1e-6 of the best (the cost is
        convex, so its tangent bounds it from below).
        """
        delivered = self._delivered(program.most_on_grid)
        first = _most_delivered(program, self.reach, self._worth(delivered))
        if first is None:
            return None
        corners = [first]
        best = first
        for _ in range(20):
            delivered = self._delivered(program.on_grid(best))
            worth = self._worth(delivered)
            corner = _most_delivered(program, self.reach, worth)
            if corner is None:
                return best
            gain = worth @ (self._delivered(program.on_grid(corner)) - delivered)
            if gain <= 1e-6 * self._cost(delivered):
                return best
            corners.append(corner)
            best = self._mixed(program, corners)
        return best

    def _mixed(self, program: Program, corners: list[Array]) -> Array:
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


@dataclass(frozen=True, kw_only=True, eq=False)
class Found:
    """The best table of one peak before rounding: its program, limits (m,) and cost."""

    peak: int
    program: Program
    limit: Array
    cost: float


def best_table(
    rules: Rules,
    goal: Goal,
    on_grid: LinearMap,
    ceiling_on_grid: Array,
    every_peak: bool = False,
) -> list[Found]:
    """Return the best table of each peak that was worth solving, the best of all first.

    Each peak's greatest limits give a bound on its cost; peaks are solved from the most promising
    on, until no bound left beats the best cost found, unless every_peak is asked for. Of peaks that
    cost the same the one with the better bound stands first, then the earlier one.
    """
    waiting: list[tuple[float, int, Program]] = []
    for peak in rules.candidates():
        made = program(rules, peak, on_grid, ceiling_on_grid)
        if made is not None:
            waiting.append((goal.bound(made.most_on_grid), peak, made))
    waiting.sort(key=lambda entry: entry[:2])
    found: list[Found] = []
    least = np.inf
    for bound, peak, made in waiting:
        if found and not every_peak and bound >= least - 1e-6 * abs(least):
            break
        limit = goal.solve(made)
        if limit is None:
            continue
        cost = goal.cost(on_grid(limit))
        least = min(least, cost)
        found.append(Found(peak=peak, program=made, limit=limit, cost=cost))
    found.sort(key=lambda entry: entry.cost)
    return found
