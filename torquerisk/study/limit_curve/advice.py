"""What each rule of an ask costs."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from torquerisk.study.limit_curve.ask import Objective, Shape, ShapeAsk
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
        without = shape_limit(grid_speed, ceiling, reach, replace(ask, **{rule: free}))  # type: ignore[arg-type]
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
