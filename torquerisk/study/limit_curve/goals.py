"""What a table is judged by: the speeds looked at, the curve followed, the value in its unit."""

from dataclasses import dataclass

import numpy as np

from torquerisk.errors import InputError
from torquerisk.quantities import Array
from torquerisk.study.limit_curve.ask import Objective, ShapeAsk, Situation
from torquerisk.study.limit_curve.curve import (
    LinearMap,
    area_under_power,
    area_weights,
    band_knots,
    length_weights,
    sweep_time,
)
from torquerisk.study.limit_curve.objectives import Goal, LeastChange, MostArea, ShortestSweep


@dataclass(frozen=True, kw_only=True, eq=False)
class Judged:
    """The speeds at which a table is judged, and the curves there, shape (k,) [N*m].

    speed: the grid and the table's breakpoints, so that the limit is linear between them; most:
    lowest reading of the ceiling; reach; target: curve to follow, or None.
    """

    speed: Array
    most: Array
    reach: Array
    target: Array | None

    def goal(self, ask: ShapeAsk) -> Goal:
        """Return the goal that the programs work towards."""
        if self.target is not None:
            weight = length_weights(self.speed, ask.band)
            return LeastChange(weight=weight / weight.sum(), target=self.target)
        if ask.objective is Objective.MOST_AREA:
            return MostArea(weight=area_weights(self.speed, ask.band), reach=self.reach)
        most = np.minimum(self.most, self.reach)
        in_band = LinearMap.between(self.speed, band_knots(self.speed, ask.band))(most)
        if in_band.min() <= 0.0:
            raise InputError(
                f"band is {ask.band[0]:.6g} to {ask.band[1]:.6g} rpm, but no torque "
                " is acceptable or delivered somewhere in it, so that the sweep never ends: "
                "narrow it."
            )
        return ShortestSweep.over(self.speed, self.reach, ask.band, 1e-3 * float(most.max()))

    def value(self, ask: ShapeAsk, limit: Array) -> float:
        """Return the objective of limits at the breakpoints (m,), in its unit (see Shape)."""
        asked = np.interp(self.speed, ask.breakpoints, limit)
        if self.target is not None:
            weight = length_weights(self.speed, ask.band)
            return float(weight @ np.abs(asked - self.target) / weight.sum())
        delivered = np.minimum(asked, self.reach)
        if ask.objective is Objective.MOST_AREA:
            return area_under_power(self.speed, delivered, ask.band)
        return sweep_time(self.speed, delivered, 1.0, ask.band)


def judged(curves: Situation, ask: ShapeAsk, target: Array | None) -> Judged:
    """Return the speeds and curves that tables of this ask are judged at; target: on the grid."""
    points = ask.breakpoints
    inside = points[(points > curves.speed[0]) & (points < curves.speed[-1])]
    speed = np.union1d(curves.speed, inside)
    return Judged(
        speed=speed,
        most=curves.reading_at(speed),
        reach=curves.reach_at(speed),
        target=None if target is None else np.interp(speed, curves.speed, target),
    )


def target_of(curves: Situation, ask: ShapeAsk) -> tuple[Array | None, tuple[str, ...]]:
    """Return the curve that the table shall follow on the grid, if any, and what was done to it."""
    if ask.reference is None or ask.objective in (Objective.MOST_AREA, Objective.SHORTEST_SWEEP):
        return None, ()
    reference = np.array(ask.reference, dtype=float)
    if reference.shape != curves.speed.shape or not np.isfinite(reference).all():
        raise InputError(
            f"reference has shape {reference.shape}, but must be finite torques on the grid, "
            f"shape {curves.speed.shape}."
        )
    if ask.objective is Objective.LEAST_CHANGE:
        return reference, ()
    if reference.max() <= 0.0:
        raise InputError("reference has no torque above 0 N*m, so it has no shape to keep.")
    shift = max(0.0, ask.peak_from - float(curves.speed[int(np.argmax(reference))]))
    moved = np.maximum(np.interp(curves.speed - shift, curves.speed, reference), 0.0)
    reading = curves.reading_at(curves.speed)
    low, high = ask.band
    judged = (curves.speed >= low) & (curves.speed <= high) & (moved > 0.0)
    top = curves.reach.max() if np.isfinite(curves.reach).all() else curves.cap
    room = np.concatenate([reading[judged] / moved[judged], [top / moved.max()]])
    scale = float(room.min())
    if scale <= 0.0:
        raise InputError(
            "No scale of the reference fits, because no torque is acceptable somewhere in the "
            f"band {low:.6g} to {high:.6g} rpm: narrow the band."
        )
    moved_up = f"moved up by {shift:.6g} rpm" if shift > 0 else "left in place"
    text = f"The reference was {moved_up} and its torque multiplied by {scale:.3g}."
    return moved * scale, (text,)
