"""The rules that a torque-limit table must keep, as bounds, dip rows and differences."""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from torquerisk.physics.arrays import Array

SMALL = 1e-9
"""Relative slack for comparing torques that went through float arithmetic."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Ceiling:
    """A ceiling that is linear between its speeds, nowhere negative, nowhere infinite.

    speed, torque: shape (k,); the grid's speeds and those where the given ceiling crosses 0.
    """

    speed: Array
    torque: Array


def conservative_ceiling(speed: Array, ceiling: Array, cap: float) -> Ceiling:
    """Return the ceiling as the lowest reading between grid speeds.

    speed: grid, increasing, shape (n,); ceiling: acceptable torque [N*m], shape (n,), minus
    infinity or below 0 where no torque is acceptable, infinity where nothing limits; cap: torque
    that stands for infinity [N*m].

    Below 0 the table is held at 0, from the speed where the line between two grid speeds crosses 0.
    Next to minus infinity that speed is unknown, so 0 holds from the grid speed before. Next to
    plus infinity the finite neighbour holds.
    """
    torque = ceiling.copy()
    nothing = np.isneginf(ceiling)
    torque[nothing | np.roll(nothing, 1) * _inner(nothing, 1)] = 0.0
    torque[nothing | np.roll(nothing, -1) * _inner(nothing, -1)] = 0.0
    unlimited = np.isposinf(ceiling)
    if unlimited.any():
        finite = np.where(unlimited, cap, torque)
        padded = np.concatenate([[cap], finite, [cap]])
        torque = np.where(unlimited, np.minimum(padded[:-2], padded[2:]), torque)
        torque[unlimited] = np.minimum(torque[unlimited], cap)
    crosses = np.flatnonzero(torque[:-1] * torque[1:] < 0.0)
    zero_at = speed[crosses] + (speed[crosses + 1] - speed[crosses]) * torque[crosses] / (
        torque[crosses] - torque[crosses + 1]
    )
    every = np.concatenate([speed, zero_at])
    height = np.concatenate([np.maximum(torque, 0.0), np.zeros(len(zero_at))])
    order = np.argsort(every, kind="stable")
    every, height = every[order], height[order]
    # A crossing within rounding of a grid speed would make a cell of no width.
    keep = np.concatenate([[True], np.diff(every) > 0.0])
    return Ceiling(speed=every[keep], torque=height[keep])


def _inner(flags: npt.NDArray[np.bool_], shift: int) -> npt.NDArray[np.bool_]:
    """Return which places np.roll fills from a true neighbour, not from the other end."""
    inner = np.ones(len(flags), dtype=bool)
    inner[0 if shift > 0 else -1] = False
    return inner


@dataclass(frozen=True, kw_only=True, eq=False)
class Roof:
    """Everything that says `limit <= something known` for a table on given breakpoints.

    upper: greatest torque at each breakpoint [N*m], shape (m,); upper_at: speed that sets it.
    Dip rows, shape (r,): (1 - share) * limit[lower] + share * limit[lower + 1] <= torque at speed.
    Together they are exact: the table is linear within a segment, so it is below a piecewise
    linear ceiling if and only if it is below the vertices of that ceiling's lower convex hull.
    """

    upper: Array
    upper_at: Array
    lower: npt.NDArray[np.intp]
    share: Array
    torque: Array
    speed: Array

    def lowered(self, index: npt.NDArray[np.intp], torque: float, at: float) -> "Roof":
        """Return this roof with the breakpoints `index` held at or under `torque`, set at `at`."""
        upper, upper_at = self.upper.copy(), self.upper_at.copy()
        hit = index[upper[index] > torque]
        upper[hit], upper_at[hit] = torque, at
        return replace(self, upper=upper, upper_at=upper_at)

    def with_row(self, lower: int, share: float, torque: float, speed: float) -> "Roof":
        """Return this roof with one more dip row."""
        return replace(
            self,
            lower=np.append(self.lower, lower),
            share=np.append(self.share, share),
            torque=np.append(self.torque, torque),
            speed=np.append(self.speed, speed),
        )

    def over_rows(self, limit: Array) -> Array:
        """Return by how much the table passes each dip row [N*m], shape (r,)."""
        value = (1.0 - self.share) * limit[self.lower] + self.share * limit[self.lower + 1]
        return value - self.torque


def roof(breakpoints: Array, ceiling: Ceiling) -> Roof:
    """Return the roof that a piecewise linear ceiling makes over a table's breakpoints."""
    at_breakpoint = np.interp(breakpoints, ceiling.speed, ceiling.torque)
    upper, upper_at = at_breakpoint.copy(), breakpoints.copy()
    for end, held in (
        (0, ceiling.speed <= breakpoints[0]),
        (-1, ceiling.speed >= breakpoints[-1]),
    ):
        if held.any() and ceiling.torque[held].min() < upper[end]:
            lowest = int(np.argmin(np.where(held, ceiling.torque, np.inf)))
            upper[end], upper_at[end] = ceiling.torque[lowest], ceiling.speed[lowest]
    segments: list[int] = []
    at: list[float] = []
    torque: list[float] = []
    edges = np.searchsorted(ceiling.speed, breakpoints, side="right")
    for segment in range(len(breakpoints) - 1):
        left, right = breakpoints[segment], breakpoints[segment + 1]
        inside = slice(int(edges[segment]), int(edges[segment + 1]))
        points = [
            (s, t)
            for s, t in zip(
                ceiling.speed[inside].tolist(), ceiling.torque[inside].tolist(), strict=True
            )
            if left < s < right
        ]
        ends = ((float(left), float(upper[segment])), (float(right), float(upper[segment + 1])))
        for s, t in _lower_hull([ends[0], *points, ends[1]])[1:-1]:
            segments.append(segment)
            at.append(s)
            torque.append(t)
    index = np.array(segments, dtype=np.intp)
    speed = np.array(at, dtype=float)
    share = (speed - breakpoints[index]) / (breakpoints[index + 1] - breakpoints[index])
    return Roof(
        upper=upper,
        upper_at=upper_at,
        lower=index,
        share=share,
        torque=np.array(torque, dtype=float),
        speed=speed,
    )


def _lower_hull(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return the lower convex hull of points sorted by their first member."""
    hull: list[tuple[float, float]] = []
    for x, y in points:
        while len(hull) > 1:
            (x1, y1), (x2, y2) = hull[-2], hull[-1]
            if (x2 - x1) * (y - y1) - (y2 - y1) * (x - x1) > 0.0:
                break
            hull.pop()
        hull.append((x, y))
    return hull


def joined(one: Roof, other: Roof) -> Roof:
    """Return the roof that keeps both."""
    first = one.upper <= other.upper
    return Roof(
        upper=np.where(first, one.upper, other.upper),
        upper_at=np.where(first, one.upper_at, other.upper_at),
        lower=np.concatenate([one.lower, other.lower]),
        share=np.concatenate([one.share, other.share]),
        torque=np.concatenate([one.torque, other.torque]),
        speed=np.concatenate([one.speed, other.speed]),
    )


class Difference(NamedTuple):
    """One rule limit[lesser] <= limit[greater] + by, and its name."""

    lesser: int
    greater: int
    by: float
    name: str


def greatest_below(start: list[float], rules: list[Difference]) -> list[float] | None:
    """Return the greatest table at or under `start` that keeps every difference rule.

    None when there is none from 0 up. Such tables are closed under the greater of two, entry by
    entry, so the greatest exists and relaxation finds it (shortest paths).
    """
    value = list(start)
    for _ in range(len(value) + 2):
        changed = False
        for rule in rules:
            most = value[rule.greater] + rule.by
            if value[rule.lesser] > most + SMALL * (1.0 + abs(most)):
                value[rule.lesser] = most
                changed = True
                if most < -SMALL:
                    return None
        if not changed:
            return value
    return None


@dataclass(frozen=True, kw_only=True, eq=False)
class Rules:
    """All rules of one ask, the peak left open.

    rise: greatest rise over each segment [N*m], shape (m - 1,), infinite if free; margin: how far
    the limit before its peak stays under it, so that the peak is the first greatest limit [N*m];
    reach_at: what the engine can make at each breakpoint [N*m], shape (m,); reach_at_peak_from: the
    same at peak_from [N*m].
    """

    breakpoints: Array
    roof: Roof
    rise: Array
    margin: float
    peak_from: float
    no_dip: bool
    reach_at: Array
    reach_at_peak_from: float

    def differences(self, peak: int) -> list[Difference]:
        """Return the difference rules of a table that peaks at breakpoint `peak`."""
        rules = []
        last = len(self.breakpoints) - 1
        for j in range(last):
            if j >= peak:
                rules.append(Difference(lesser=j + 1, greater=j, by=0.0, name="fall after peak"))
            elif np.isfinite(self.rise[j]):
                rules.append(
                    Difference(lesser=j + 1, greater=j, by=float(self.rise[j]), name="rise")
                )
        for j in range(peak - 1, -1, -1):
            rules.append(Difference(lesser=j, greater=peak, by=-self.margin, name="peak"))
            if self.no_dip:
                rules.append(Difference(lesser=j, greater=j + 1, by=0.0, name="no dip"))
        return rules

    def roof_for(self, peak: int) -> Roof:
        """Return the roof with the torque before `peak_from` held under the delivered peak.

        The engine delivers at most reach_at[peak] there, so earlier breakpoints stay below that.
        In the segment that leads over peak_from the limit may also rise to what the engine makes
        at peak_from itself, for then it is delivered there.
        """
        reach = float(self.reach_at[peak])
        if not np.isfinite(reach):
            return self.roof
        speed = float(self.breakpoints[peak])
        before = np.flatnonzero(self.breakpoints < self.peak_from)
        held = self.roof.lowered(before, reach - self.margin, speed)
        following = len(before)
        over = max(reach, self.reach_at_peak_from)
        if 0 < following < len(self.breakpoints) and np.isfinite(over):
            left, right = self.breakpoints[following - 1], self.breakpoints[following]
            if right == self.peak_from:
                return held.lowered(np.array([following]), over, self.peak_from)
            share = float((self.peak_from - left) / (right - left))
            return held.with_row(following - 1, share, over, self.peak_from)
        return held

    def candidates(self) -> list[int]:
        """Return the breakpoints at which the table may peak."""
        return np.flatnonzero(self.breakpoints >= self.peak_from).tolist()
