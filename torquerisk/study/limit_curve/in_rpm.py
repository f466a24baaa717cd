"""Tables asked for with speeds in rad/s, and shaped in rpm."""

import dataclasses

import numpy as np
import numpy.typing as npt

from torquerisk.physics.arrays import Array
from torquerisk.quantities import RPM
from torquerisk.study.limit_curve.ask import (
    Binding,
    Objective,
    Shape,
    ShapeAsk,
    ShapeInfeasibleError,
)
from torquerisk.study.limit_curve.check import verify_table
from torquerisk.study.limit_curve.shape import shape_limit

DIGITS = 6
"""Decimals of an rpm: breakpoints on round speeds stay round."""


def in_rpm(ask: ShapeAsk) -> ShapeAsk:
    """The same ask with every speed in rpm."""
    low, high = ask.band
    return dataclasses.replace(
        ask,
        breakpoints=rpm(ask.breakpoints),
        band=(float(rpm(low)), float(rpm(high))),
        peak_from=float(rpm(ask.peak_from)),
        rise_rate=ask.rise_rate * RPM,
    )


def rpm(speed: npt.ArrayLike) -> Array:
    """Speeds [rad/s] in rpm, without the last digits of the conversion."""
    return np.round(np.asarray(speed, dtype=float) / RPM, DIGITS)


def shaped(speed: Array, ceiling: Array, reach: Array | None, ask: ShapeAsk) -> Shape:
    """As `shape_limit` with speeds in rad/s.

    Raises ShapeInfeasibleError; its `nearest` and `kept` are in rad/s.
    """
    try:
        made = shape_limit(rpm(speed), ceiling, reach, in_rpm(ask))
    except ShapeInfeasibleError as error:
        raise ShapeInfeasibleError(
            error.constraint,
            error.sentence,
            None if error.nearest is None else in_radians(error.nearest, speed, ask),
            None if error.kept is None else _asked_again(ask, error.kept),
        ) from None
    return in_radians(made, speed, ask)


def shaped_to_peak(speed: Array, ceiling: Array, reach: Array | None, ask: ShapeAsk) -> Shape:
    """As `shaped`, but no higher than the most that the engine makes anywhere.

    Above that a limit limits nothing and nobody measured; and of tables of equal worth on a plateau
    there would be many. A curve that is asked for is followed as it is.
    """
    shape = shaped(speed, ceiling, reach, ask)
    follows = ask.objective not in (Objective.MOST_AREA, Objective.SHORTEST_SWEEP)
    if follows or reach is None or not np.isfinite(reach).all():
        return shape
    top, step = int(np.argmax(reach)), ask.torque_resolution
    most = float(reach[top]) if step == 0.0 else float(np.ceil(reach[top] / step - 1e-9) * step)
    over = shape.limit > most
    limit = np.minimum(shape.limit, most)
    delivered = np.minimum(np.interp(speed, shape.breakpoints, limit), reach)
    if not over.any() or np.any(delivered < shape.delivered - step):
        return shape
    allowed = shape.breakpoints >= ask.peak_from
    return dataclasses.replace(
        shape,
        limit=limit,
        delivered=delivered,
        peak_index=int(np.argmax(np.where(allowed, limit, -1.0))),
        binding=tuple(
            Binding.REACH if o and b is not Binding.NOT_ASSESSED else b
            for o, b in zip(over, shape.binding, strict=True)
        ),
        holding_speed=np.where(over, speed[top], shape.holding_speed),
    )


def in_radians(shape: Shape, speed: Array, ask: ShapeAsk) -> Shape:
    """A shape made in rpm with its speeds [rad/s], the ask's own where they are the same."""
    size = {Objective.MOST_AREA: RPM * RPM, Objective.SHORTEST_SWEEP: RPM}.get(ask.objective, 1.0)
    return dataclasses.replace(
        shape,
        breakpoints=ask.breakpoints,
        speed=speed,
        holding_speed=shape.holding_speed * RPM,
        value=shape.value * size,
        value_unrounded=shape.value_unrounded * size,
    )


def _asked_again(ask: ShapeAsk, kept: ShapeAsk) -> ShapeAsk:
    """The ask in rad/s with what was relaxed in `kept` [rpm]."""
    return dataclasses.replace(
        ask,
        peak_from=_own_speed(ask, kept.peak_from),
        rise_rate=kept.rise_rate / RPM,
    )


def _own_speed(ask: ShapeAsk, speed: float) -> float:
    """A speed [rpm] in rad/s: the ask's own where it is one, to the last digit."""
    for own in (ask.peak_from, *ask.breakpoints.tolist()):
        if float(rpm(own)) == speed:
            return float(own)
    return speed * RPM


def broken_rules(
    speed: Array, ceiling: Array, shape: Shape, ask: ShapeAsk, reach: Array | None
) -> list[str]:
    """Every rule of the ask that a table breaks, as `verify_table` says it, in rpm."""
    table = (rpm(shape.breakpoints), shape.limit)
    return verify_table(rpm(speed), ceiling, table, in_rpm(ask), reach)
