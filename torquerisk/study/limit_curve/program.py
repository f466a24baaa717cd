"""The linear program of one peak: the rules as rows, and the best table for a linear worth.

One variable stands for a lump of grid speeds on one side of the curve followed (or of what the
engine makes); only lumps in doubt are split. A program with lumps never promises too little, so
peaks are ruled out by it, and it is exact once no lump is in doubt.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csc_array

from torquerisk.physics.arrays import Array
from torquerisk.study.limit_curve.curve import LinearMap
from torquerisk.study.limit_curve.rules import Rules, greatest_below

TIE_WEIGHT = 1e-5
"""Weight of being high everywhere, against an objective whose breakpoint weights average 1."""

NEAR = 0.01
"""Share of the greatest limit within which a grid speed counts as near its curve."""

Lumps = npt.NDArray[np.intp]
"""A number for each grid speed, shape (n,): speeds of the same number share a variable."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Rows:
    """Linear rows `matrix @ variables <= most`, the matrix as its entries."""

    value: Array
    row: npt.NDArray[np.intp]
    column: npt.NDArray[np.intp]
    most: Array

    def below(self, other: "Rows") -> "Rows":
        """Return these rows with `other` under them."""
        return Rows(
            value=np.concatenate([self.value, other.value]),
            row=np.concatenate([self.row, other.row + len(self.most)]),
            column=np.concatenate([self.column, other.column]),
            most=np.concatenate([self.most, other.most]),
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Worth:
    """What a limit is worth on the grid: weight @ (limit - over * max(limit - curve, 0)).

    weight: 0 or above, shape (n,); curve: shape (n,) [N*m]; over: 1 makes torque above the curve
    worth nothing (the engine delivers no more), 2 makes it cost what it is worth below (distance).
    """

    weight: Array
    curve: Array
    over: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Proposal:
    """A lawful table, and how near it is to the best.

    limit: shape (m,) [N*m]; doubt: by how much, at most, another table of the program is worth
    more; lumps: those to solve with next, in which this table leaves no doubt.
    """

    limit: Array
    doubt: float
    lumps: Lumps


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

    def best(self, worth: Worth, lumps: Lumps | None = None) -> Proposal | None:
        """Return the limits worth most, or None if there are none.

        lumps: within segments, whole segments if None. Torque above the curve is a variable of
        its own, one for each lump: at least 0, and at least the weighted sum of limit - curve over
        the lump. So a lump never costs more than its speeds one by one, and just as much where
        they lie on one side of the curve: the program bounds every table, and is exact once its
        table has no lump on both sides.
        """
        m, lumps = len(self.upper), self.on_grid.lower if lumps is None else lumps
        over = np.flatnonzero((worth.weight > 0.0) & (worth.curve < self.most_on_grid))
        _, first, lump = np.unique(lumps[over], return_index=True, return_inverse=True)
        count = len(first)
        limit_weight = self.on_grid.gathered(worth.weight)
        total = limit_weight.sum()
        scale = m / total if total > 0.0 else 1.0
        share, weight = self.on_grid.share[over], worth.over * worth.weight[over]
        segment = self.on_grid.lower[over][first]
        k = np.arange(count)
        rows = self.rows.below(
            Rows(
                value=np.concatenate(
                    [
                        np.bincount(lump, scale * weight * (1.0 - share), count),
                        np.bincount(lump, scale * weight * share, count),
                        np.full(count, -1.0),
                    ]
                ),
                row=np.concatenate([k, k, k]),
                column=np.concatenate([segment, segment + 1, m + k]),
                most=np.bincount(lump, scale * weight * worth.curve[over], count).astype(float),
            )
        )
        result = milp(
            np.concatenate([-scale * limit_weight - TIE_WEIGHT, np.ones(count)]),
            bounds=Bounds(
                np.zeros(m + count), np.concatenate([self.upper, np.full(count, np.inf)])
            ),
            constraints=LinearConstraint(
                csc_array((rows.value, (rows.row, rows.column)), shape=(len(rows.most), m + count)),
                ub=rows.most,
            ),
            # So small a program takes longer to simplify than to solve.
            options={"presolve": False},
        )
        if result.status == 2:
            return None
        if result.x is None:
            raise RuntimeError(f"The linear program for the torque limit failed: {result.message}")
        limit = np.clip(result.x[:m], 0.0, self.upper)
        above = self.on_grid(limit) - worth.curve
        apart = weight @ np.maximum(above[over], 0.0)
        together = np.maximum(np.bincount(lump, weight * above[over], count), 0.0).sum()
        return Proposal(
            limit=limit,
            doubt=max(float(apart - together), 0.0),
            lumps=_split(lumps, above, NEAR * float(self.upper.max())),
        )


def _split(lumps: Lumps, above: Array, near: float) -> Lumps:
    """Return the lumps split by side of the curve, the speeds near it each for itself.

    above: limit - curve, shape (n,) [N*m].
    """
    count = int(lumps.max()) + 1
    side = np.where(above > 0.0, count, 0) + lumps
    alone = 2 * count + np.arange(len(above))
    return np.unique(np.where(np.abs(above) < near, alone, side), return_inverse=True)[1]


def program(rules: Rules, peak: int, on_grid: LinearMap, ceiling_on_grid: Array) -> Program | None:
    """Return the program of tables that peak at breakpoint `peak`, or None if there are none."""
    held = rules.roof_for(peak)
    differences = rules.differences(peak)
    if held.upper.min() < 0.0:
        return None
    envelope = greatest_below(held.upper.tolist(), differences)
    if envelope is None:
        return None
    top = np.array(envelope)
    # What the greatest limits keep, every table of this program keeps.
    needed = held.over_rows(top) > 0.0
    lower, share, torque = held.lower[needed], held.share[needed], held.torque[needed]
    dips, count = np.arange(len(lower)), len(differences)
    pairs = np.arange(count)
    rows = Rows(
        value=np.concatenate([1.0 - share, share]),
        row=np.concatenate([dips, dips]),
        column=np.concatenate([lower, lower + 1]),
        most=torque,
    ).below(
        Rows(
            value=np.concatenate([np.ones(count), -np.ones(count)]),
            row=np.concatenate([pairs, pairs]),
            column=np.array(
                [d.lesser for d in differences] + [d.greater for d in differences], dtype=np.intp
            ),
            most=np.array([d.by for d in differences], dtype=float),
        )
    )
    return Program(
        upper=top,
        rows=rows,
        on_grid=on_grid,
        most_on_grid=np.minimum(on_grid(top), ceiling_on_grid),
    )
