"""What each rule of an ask costs, and where breakpoints are worth most."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from torquerisk.errors import InputError
from torquerisk.physics.arrays import Array
from torquerisk.study.limit_curve.ask import Objective, Shape, ShapeAsk, ShapeInfeasibleError
from torquerisk.study.limit_curve.shape import shape_limit


@dataclass(frozen=True, kw_only=True, eq=False)
class RuleCost:
    """What one rule costs: the table without it, and how much better its value is (0 or more).

    rule: name of the ask's field; gain: in the unit of the objective (see Shape.value), before
    rounding, so that it is never blurred by the resolution; share: gain over the value with the
    rule.
    """

    rule: str
    gain: float
    share: float
    without: Shape


LEAST_GAIN = 1e-6
"""Share of the value that counts as a gain: the sweep's tables are no more exact."""

FREE: dict[str, object] = {
    "peak_from": 0.0,
    "rise_rate": np.inf,
    "fall_rate": None,
    "slope_change": None,
    "concave": False,
    "no_dip_before_peak": False,
    "limit_above_reach": True,
}
"""Each rule of shape and the value at which it asks nothing."""


def rule_costs(
    grid_speed: npt.ArrayLike,
    ceiling: npt.ArrayLike,
    reach: npt.ArrayLike | None,
    ask: ShapeAsk,
) -> tuple[RuleCost, ...]:
    """Return what each rule of shape that was asked costs, dearest first.

    Arguments as in shape_limit. Each rule is dropped alone and the table sought anew; costs of
    several rules do not add up. Under SAME_SHAPE_LATER peak_from moves the target itself, so its
    cost is not told.
    """
    kept = shape_limit(grid_speed, ceiling, reach, ask)
    sign = 1.0 if ask.objective is Objective.MOST_AREA else -1.0
    costs = []
    for rule, free in FREE.items():
        moves_target = rule == "peak_from" and ask.objective is Objective.SAME_SHAPE_LATER
        if getattr(ask, rule) == free or moves_target:
            continue
        without = shape_limit(grid_speed, ceiling, reach, _freed(ask, rule))
        gain = sign * (without.value_unrounded - kept.value_unrounded)
        # Less than the programs can tell apart is no gain, so its sign does not order the costs.
        gain = gain if gain > LEAST_GAIN * abs(kept.value_unrounded) else 0.0
        costs.append(
            RuleCost(
                rule=rule,
                gain=gain,
                share=gain / abs(kept.value_unrounded) if kept.value_unrounded else 0.0,
                without=without,
            )
        )
    return tuple(sorted(costs, key=lambda cost: -cost.gain))


def _freed(ask: ShapeAsk, rule: str) -> ShapeAsk:
    """Return the ask with one rule dropped."""
    fields = {name: getattr(ask, name) for name in ask.__dataclass_fields__}
    return ShapeAsk(**{**fields, rule: FREE[rule]})


def placed_breakpoints(
    grid_speed: npt.ArrayLike,
    ceiling: npt.ArrayLike,
    reach: npt.ArrayLike | None,
    ask: ShapeAsk,
    step: float,
) -> Array:
    """Return as many breakpoints as the ask has, put where they are worth most, shape (m,).

    grid_speed, ceiling, reach: as in shape_limit; ask: its breakpoints give their number and their
    ends; step: breakpoints lie on multiples of it, in the ask's speed unit.
    The best table with a breakpoint on every multiple of `step` is found first; then the choice of
    breakpoints whose straight lines stay nearest to it (dynamic programming, least squares). A
    heuristic: the ask's own breakpoints come back where they serve better.
    """
    own = ask.breakpoints
    first, last = int(np.ceil(own[0] / step - 1e-9)), int(np.floor(own[-1] / step + 1e-9))
    every = np.asarray(np.arange(first, last + 1) * float(step), dtype=np.float64)
    if len(every) < len(own):
        raise InputError(
            f"step is {step:.6g}, but only {len(every)} multiples of it lie between "
            f"{own[0]:.6g} and {own[-1]:.6g}, fewer than the {len(own)} breakpoints asked for."
        )
    # A limit on the change of slope is per breakpoint, so it means nothing on another spacing.
    try:
        ideal = shape_limit(
            grid_speed,
            ceiling,
            reach,
            replace(ask, breakpoints=every, torque_resolution=0.0, slope_change=None),
        )
    except ShapeInfeasibleError:
        return own
    chosen = every[_nearest_chords(every, ideal.limit, len(own))]
    try:
        placed = shape_limit(grid_speed, ceiling, reach, replace(ask, breakpoints=chosen))
    except ShapeInfeasibleError:
        return own
    try:
        kept = shape_limit(grid_speed, ceiling, reach, ask)
    except ShapeInfeasibleError:
        return chosen
    sign = 1.0 if ask.objective is Objective.MOST_AREA else -1.0
    return chosen if sign * (placed.value - kept.value) > 0.0 else own


def _nearest_chords(speed: Array, torque: Array, count: int) -> npt.NDArray[np.intp]:
    """Return `count` indices, ends among them, whose chords stay nearest: least sum of squares."""
    n = len(speed)
    cost = np.full((n, n), np.inf)
    for i in range(n - 1):
        slope = (torque[i + 1 :] - torque[i]) / (speed[i + 1 :] - speed[i])
        chord = torque[i] + slope[:, None] * (speed - speed[i])
        off = chord - torque
        inside = np.arange(n) > i
        upto = np.cumsum(off**2 * inside, axis=1)
        cost[i, i + 1 :] = upto[np.arange(n - i - 1), np.arange(i + 1, n)]
    best = np.where(np.arange(n) == 0, 0.0, np.inf)
    came = []
    for _ in range(count - 1):
        total = best[:, None] + cost
        came.append(total.argmin(axis=0))
        best = total.min(axis=0)
    path = [n - 1]
    for chosen in reversed(came):
        path.append(int(chosen[path[-1]]))
    return np.array(path[::-1], dtype=np.intp)
