"""The torque-limit table that is worth most under a ceiling, and rises and falls as asked.

Purely numeric: speeds in any one unit (named by `SpeedUnit`), torques in N*m. The ceiling is read
as linear between the speeds given and the table as linear between its breakpoints, so "at or under
the ceiling" is kept at every speed in between, exactly, not only at the speeds given.
"""

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from torquerisk.errors import InputError
from torquerisk.physics.arrays import Array
from torquerisk.study.shape_ask import (
    Binding,
    Objective,
    Shape,
    ShapeAsk,
    ShapeInfeasibleError,
    Situation,
    situation,
)
from torquerisk.study.shape_check import judge_table, rise_excess, verify_table
from torquerisk.study.shape_infeasible import infeasible
from torquerisk.study.shape_program import (
    Found,
    Goal,
    LeastChange,
    MostArea,
    ShortestSweep,
    best_table,
)
from torquerisk.study.shape_reasons import bindings, told_of
from torquerisk.study.shape_rounding import rounded_down
from torquerisk.study.shape_rules import Rules, conservative_ceiling, joined, roof
from torquerisk.study.shape_table import (
    LinearMap,
    SpeedUnit,
    area_under_power,
    area_weights,
    band_knots,
    even_breakpoints,
    interpolated_limit,
    length_weights,
    sweep_time,
)

__all__ = [
    "Binding",
    "Objective",
    "Shape",
    "ShapeAsk",
    "ShapeInfeasibleError",
    "SpeedUnit",
    "area_under_power",
    "convert_breakpoints",
    "even_breakpoints",
    "frontier",
    "interpolated_limit",
    "judge_table",
    "rise_excess",
    "shape_limit",
    "sweep_time",
    "verify_table",
]


def shape_limit(
    grid_speed: npt.ArrayLike,
    ceiling: npt.ArrayLike,
    reach: npt.ArrayLike | None,
    ask: ShapeAsk,
) -> Shape:
    """Return the torque-limit table that is best for the ask's objective and keeps all its rules.

    grid_speed: speeds assessed, increasing, shape (n,), in ask.speed_unit; ceiling: capacity
    torque at the accepted chance [N*m], shape (n,), minus infinity or below 0 where no torque is
    acceptable; reach: what the engine can make [N*m], shape (n,), None or infinite where open.

    Exact but for rounding: a convex program for each breakpoint at which the table may peak, the
    best kept. Ties go to the higher table, then to the earlier peak. Deterministic.
    Raises ShapeInfeasibleError (an InfeasibleError) with the nearest table; InputError on bad
    input.
    """
    curves = situation(grid_speed, ceiling, reach)
    made = solved_shape(curves, ask)
    if made is None:
        raise infeasible(curves, ask, solved_shape)
    return made


def frontier(
    grid_speed: npt.ArrayLike,
    ceilings: npt.ArrayLike,
    reach: npt.ArrayLike | None,
    ask: ShapeAsk,
) -> tuple[Shape | ShapeInfeasibleError, ...]:
    """Return a table for each ceiling (one per accepted chance), or why there is none.

    ceilings: [N*m], shape (c, n); the rest as in shape_limit.
    """
    answers: list[Shape | ShapeInfeasibleError] = []
    for ceiling in np.atleast_2d(np.asarray(ceilings, dtype=float)):
        try:
            answers.append(shape_limit(grid_speed, ceiling, reach, ask))
        except ShapeInfeasibleError as error:
            answers.append(error)
    return tuple(answers)


def rules_of(curves: Situation, ask: ShapeAsk) -> Rules:
    """Return the rules of the ask, rises and falls in whole steps of the resolution."""
    points = ask.breakpoints
    over = roof(points, curves.reading)
    if not ask.limit_above_reach and np.isfinite(curves.reach).any():
        over = joined(
            over, roof(points, conservative_ceiling(curves.speed, curves.reach, curves.cap))
        )
    step = np.diff(points)
    fall = np.inf if ask.fall_rate is None else ask.fall_rate
    held = np.where(np.isfinite(curves.reach), curves.reach, np.inf)
    return Rules(
        breakpoints=points,
        roof=over,
        rise=_whole(ask.rise_rate * step, ask.torque_resolution),
        fall=_whole(fall * step, ask.torque_resolution),
        margin=ask.torque_resolution,
        peak_from=ask.peak_from,
        bend=ask.slope_change,
        concave=ask.concave,
        no_dip=ask.no_dip_before_peak,
        reach_at=_reach_at(points, curves.speed, held),
    )


def _whole(change: Array, resolution: float) -> Array:
    """Return the greatest whole steps within a change [N*m]."""
    if resolution == 0.0:
        return change
    return np.floor(change / resolution + 1e-9) * resolution


def _reach_at(points: Array, speed: Array, reach: Array) -> Array:
    """Return reach at the breakpoints; infinite only where both neighbours on the grid are."""
    lower = LinearMap.between(speed, points)
    left, right = reach[lower.lower], reach[lower.lower + 1]
    both = np.isfinite(left) & np.isfinite(right)
    mixed = lower(np.where(np.isfinite(reach), reach, 0.0))
    return np.where(both, mixed, np.minimum(left, right))


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
    scale = ask.reference_scale
    if scale is None:
        reading = curves.reading_on_grid
        low, high = ask.band
        judged = (curves.speed >= low) & (curves.speed <= high) & (moved > 0.0)
        top = curves.reach.max() if np.isfinite(curves.reach).all() else curves.cap
        room = np.concatenate([reading[judged] / moved[judged], [top / moved.max()]])
        scale = float(room.min())
        if scale <= 0.0:
            raise InputError(
                "No scale of the reference fits, because no torque is acceptable somewhere in the "
                f"band {low:.6g} to {high:.6g} {ask.speed_unit.value}: narrow the band or give "
                "reference_scale."
            )
    text = (
        f"The reference was moved up by {shift:.6g} {ask.speed_unit.value} and its torque "
        f"multiplied by {scale:.3g}."
    )
    return moved * scale, (text,)


def goal_of(curves: Situation, ask: ShapeAsk, target: Array | None) -> Goal:
    """Return the goal that the programs work towards."""
    if target is not None:
        weight = length_weights(curves.speed, ask.band)
        return LeastChange(weight=weight / weight.sum(), target=target)
    if ask.objective is Objective.MOST_AREA:
        return MostArea(weight=area_weights(curves.speed, ask.band), reach=curves.reach)
    reading = curves.reading_on_grid
    most = np.minimum(reading, curves.reach)
    judged = LinearMap.between(curves.speed, band_knots(curves.speed, ask.band))(most)
    if judged.min() <= 0.0:
        raise InputError(
            f"band is {ask.band[0]:.6g} to {ask.band[1]:.6g} {ask.speed_unit.value}, but no torque "
            "is acceptable or delivered somewhere in it, so that the sweep never ends: narrow it."
        )
    return ShortestSweep.over(curves.speed, curves.reach, ask.band, 1e-3 * float(most.max()))


def value_of(curves: Situation, ask: ShapeAsk, target: Array | None, limit: Array) -> float:
    """Return the objective of a table in its own unit (see Shape)."""
    on_grid = np.interp(curves.speed, ask.breakpoints, limit)
    if target is not None:
        weight = length_weights(curves.speed, ask.band)
        return float(weight @ np.abs(on_grid - target) / weight.sum())
    delivered = np.minimum(on_grid, curves.reach)
    if ask.objective is Objective.MOST_AREA:
        return area_under_power(curves.speed, delivered, ask.band, ask.speed_unit)
    inertia = 1.0 if ask.inertia is None else ask.inertia
    return sweep_time(curves.speed, delivered, inertia, ask.band, ask.speed_unit)


def solved_shape(curves: Situation, ask: ShapeAsk) -> Shape | None:
    """Return the best table, or None when no table keeps all rules."""
    rules = rules_of(curves, ask)
    target, notices = target_of(curves, ask)
    goal = goal_of(curves, ask, target)
    on_grid = LinearMap.between(ask.breakpoints, curves.speed)
    reading = curves.reading_on_grid
    found = best_table(rules, goal, on_grid, reading)
    if found is None:
        return None
    limit: Array | None = found.limit
    if ask.torque_resolution > 0.0:
        limit = rounded_down(
            rules,
            found.peak,
            found.limit,
            ask.torque_resolution,
            lambda torque: goal.cost(on_grid(torque)),
        )
    if limit is None:
        return None
    return _told(curves, ask, rules, found, limit, target, notices)


def _told(
    curves: Situation,
    ask: ShapeAsk,
    rules: Rules,
    found: Found,
    limit: Array,
    target: Array | None,
    notices: tuple[str, ...],
) -> Shape:
    """Return the table with its value, its reasons and its notices."""
    allowed = ask.breakpoints >= ask.peak_from
    binding, holding = bindings(curves, ask, rules, found.peak, limit)
    frozen = [np.array(a) for a in (limit, found.limit, curves.speed, holding)]
    delivered = np.minimum(np.interp(curves.speed, ask.breakpoints, limit), curves.reach)
    for array in (*frozen, delivered):
        array.setflags(write=False)
    return Shape(
        breakpoints=ask.breakpoints,
        limit=frozen[0],
        peak_index=int(np.argmax(np.where(allowed, limit, -1.0))),
        unrounded=frozen[1],
        speed=frozen[2],
        delivered=delivered,
        value=value_of(curves, ask, target, limit),
        value_unrounded=value_of(curves, ask, target, found.limit),
        target=target,
        binding=binding,
        holding_speed=frozen[3],
        notices=notices + told_of(curves, ask),
        programs=found.solved,
    )


def convert_breakpoints(
    table: tuple[npt.ArrayLike, npt.ArrayLike],
    own_breakpoints: npt.ArrayLike,
    grid_speed: npt.ArrayLike,
    ceiling: npt.ArrayLike,
    torque_resolution: float = 1.0,
    ask: ShapeAsk | None = None,
    reach: npt.ArrayLike | None = None,
) -> Shape:
    """Return a table on the user's own breakpoints that nowhere exceeds the table or the ceiling.

    table: (breakpoints, limit) as proposed; own_breakpoints: increasing, shape (k,); grid_speed,
    ceiling, reach: as in shape_limit. With `ask` its rules are kept too; without, only the
    greatest area under the limit over the grid is sought, in steps of torque_resolution.
    Own breakpoints outside the grid are flagged `Binding.NOT_ASSESSED`.
    """
    curves = situation(grid_speed, ceiling, reach)
    old_speed, old_limit = (np.asarray(part, dtype=float) for part in table)
    low, high = curves.speed[0], curves.speed[-1]
    knots = np.union1d(curves.reading.speed, old_speed[(old_speed > low) & (old_speed < high)])
    gap = np.interp(knots, old_speed, old_limit) - np.interp(
        knots, curves.reading.speed, curves.reading.torque
    )
    cross = np.flatnonzero(gap[:-1] * gap[1:] < 0.0)
    share = gap[cross] / (gap[cross] - gap[cross + 1])
    # The lesser of two lines bends where they cross, so that speed becomes a knot as well.
    knots = np.union1d(knots, knots[cross] + share * (knots[cross + 1] - knots[cross]))
    lesser = np.minimum(
        np.interp(knots, old_speed, old_limit),
        np.interp(knots, curves.reading.speed, curves.reading.torque),
    )
    can = None if reach is None else _reach_at(knots, curves.speed, curves.reach)
    if ask is None:
        ask = ShapeAsk(
            objective=Objective.MOST_AREA,
            breakpoints=np.asarray(own_breakpoints, dtype=float),
            band=(float(curves.speed[0]), float(curves.speed[-1])),
            peak_from=0.0,
            rise_rate=np.inf,
            torque_resolution=torque_resolution,
        )
    else:
        followed = ask.reference
        ask = replace(
            ask,
            breakpoints=np.asarray(own_breakpoints, dtype=float),
            reference=None if followed is None else np.interp(knots, curves.speed, followed),
        )
    return shape_limit(knots, lesser, can, ask)
