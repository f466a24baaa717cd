"""The torque-limit table that is worth most under a ceiling, and rises and falls as asked.

Purely numeric: speeds in any one unit (named by `SpeedUnit`), torques in N*m. The ceiling is read
as linear between the speeds given and the table as linear between its breakpoints, so "at or under
the ceiling" is kept at every speed in between, exactly, not only at the speeds given.
"""

import numpy as np
import numpy.typing as npt

from torquerisk.physics.arrays import Array
from torquerisk.study.limit_curve.ask import Shape, ShapeAsk, Situation, situation
from torquerisk.study.limit_curve.curve import LinearMap
from torquerisk.study.limit_curve.goals import Judged, judged, target_of
from torquerisk.study.limit_curve.infeasible import infeasible
from torquerisk.study.limit_curve.reasons import bindings, told_of
from torquerisk.study.limit_curve.rounding import best_rounded
from torquerisk.study.limit_curve.rules import Rules, conservative_ceiling, joined, roof
from torquerisk.study.limit_curve.search import Search


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

    Exact but for rounding: convex programs for each breakpoint at which the table may peak, the
    best kept. Ties go to the higher table, then to the earlier peak. Deterministic.
    Raises ShapeInfeasibleError (an InfeasibleError) with the nearest table; InputError on bad
    input.
    """
    curves = situation(grid_speed, ceiling, reach)
    made = solved_shape(curves, ask)
    if made is None:
        raise infeasible(curves, ask, solved_shape)
    return made


def rules_of(curves: Situation, ask: ShapeAsk) -> Rules:
    """Return the rules of the ask, rises in whole steps of the resolution."""
    points = ask.breakpoints
    over = roof(points, curves.reading)
    if not ask.limit_above_reach and np.isfinite(curves.reach).any():
        over = joined(
            over, roof(points, conservative_ceiling(curves.speed, curves.reach, curves.cap))
        )
    return Rules(
        breakpoints=points,
        roof=over,
        rise=_whole(ask.rise_rate * np.diff(points), ask.torque_resolution),
        margin=ask.torque_resolution,
        peak_from=ask.peak_from,
        no_dip=ask.no_dip_before_peak,
        reach_at=curves.reach_at(points),
        reach_at_peak_from=float(curves.reach_at(np.array([ask.peak_from]))[0]),
    )


def _whole(change: Array, resolution: float) -> Array:
    """Return the greatest whole steps within a change [N*m]."""
    if resolution == 0.0:
        return change
    return np.floor(change / resolution + 1e-9) * resolution


def solved_shape(curves: Situation, ask: ShapeAsk) -> Shape | None:
    """Return the best table, or None when no table keeps all rules."""
    rules = rules_of(curves, ask)
    target, notices = target_of(curves, ask)
    judge = judged(curves, ask, target)
    goal = judge.goal(ask)
    on_grid = LinearMap.between(ask.breakpoints, judge.speed)
    search = Search(rules, goal, on_grid, judge.most)
    first = search.next_below()
    if first is None:
        return None
    peak, limit = first.peak, first.limit
    if ask.torque_resolution > 0.0:
        rounded = best_rounded(rules, goal, on_grid, search, first, ask.torque_resolution)
        if rounded is None:
            return None
        peak, limit = rounded
    return _told(curves, ask, rules, first.limit, peak, limit, judge, target, notices)


def _told(
    curves: Situation,
    ask: ShapeAsk,
    rules: Rules,
    unrounded: Array,
    peak: int,
    limit: Array,
    judge: Judged,
    target: Array | None,
    notices: tuple[str, ...],
) -> Shape:
    """Return the table with its value, its reasons and its notices."""
    allowed = ask.breakpoints >= ask.peak_from
    binding, holding = bindings(curves, ask, rules, peak, limit)
    frozen = [np.array(a) for a in (limit, curves.speed, holding)]
    delivered = np.minimum(np.interp(curves.speed, ask.breakpoints, limit), curves.reach)
    for array in (*frozen, delivered):
        array.setflags(write=False)
    return Shape(
        breakpoints=ask.breakpoints,
        limit=frozen[0],
        peak_index=int(np.argmax(np.where(allowed, limit, -1.0))),
        speed=frozen[1],
        delivered=delivered,
        value=judge.value(ask, limit),
        value_unrounded=judge.value(ask, unrounded),
        target=target,
        binding=binding,
        holding_speed=frozen[2],
        notices=notices + told_of(curves, ask),
    )
