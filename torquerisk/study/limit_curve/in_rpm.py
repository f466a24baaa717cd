"""Tables shaped with speeds in rad/s, whose sentences speak of rpm."""

import dataclasses

import numpy as np
import numpy.typing as npt

from torquerisk.case.sentence import Sentence, per_thousand
from torquerisk.physics.arrays import Array
from torquerisk.quantities import RPM
from torquerisk.study.limit_curve.ask import Shape, ShapeAsk, ShapeInfeasibleError
from torquerisk.study.limit_curve.check import verify_table
from torquerisk.study.limit_curve.curve import SpeedUnit
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
        speed_unit=SpeedUnit.REVOLUTION_PER_MINUTE,
    )


def by_thousand(text: str) -> str:
    """A sentence of the shaper with its torques per rpm as such per 1,000 rpm."""
    return text.with_torques(per_thousand) if isinstance(text, Sentence) else text


def rpm(speed: npt.ArrayLike) -> Array:
    """Speeds [rad/s] in rpm, without the last digits of the conversion."""
    return np.round(np.asarray(speed, dtype=float) / RPM, DIGITS)


def shaped(speed: Array, ceiling: Array, reach: Array | None, ask: ShapeAsk) -> Shape:
    """As `shape_limit` with speeds in rad/s, but notices and errors speak of rpm.

    Raises ShapeInfeasibleError; its `nearest` and `kept` are in rad/s.
    """
    try:
        made = shape_limit(rpm(speed), ceiling, reach, in_rpm(ask))
    except ShapeInfeasibleError as error:
        raise ShapeInfeasibleError(
            error.constraint,
            by_thousand(error.sentence),
            None if error.nearest is None else in_radians(error.nearest, speed, ask),
            None if error.kept is None else _asked_again(ask, error.kept),
        ) from None
    return in_radians(made, speed, ask)


def in_radians(shape: Shape, speed: Array, ask: ShapeAsk) -> Shape:
    """A shape made in rpm with its speeds [rad/s], the ask's own where they are the same."""
    of_area = not ask.objective.value.startswith("most area")
    return dataclasses.replace(
        shape,
        breakpoints=ask.breakpoints,
        speed=speed,
        notices=tuple(map(by_thousand, shape.notices)),
        holding_speed=shape.holding_speed * RPM,
        value=shape.value if of_area else shape.value * RPM,
        value_unrounded=shape.value_unrounded if of_area else shape.value_unrounded * RPM,
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
