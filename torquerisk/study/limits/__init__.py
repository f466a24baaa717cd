"""The limits: one object each, listed here. Adding one touches its module and this list."""

from torquerisk.study.limits import boost, combustion, head, running_gear, supply
from torquerisk.study.limits.limit import (
    Limit,
    LimitKind,
    Place,
    capacity_torque,
    place_of,
    running_maximum,
    wants_inputs,
)

ALL_LIMITS: tuple[Limit, ...] = (
    *head.LIMITS,
    *running_gear.LIMITS,
    *combustion.LIMITS,
    *supply.LIMITS,
    *boost.LIMITS,
)

__all__ = [
    "ALL_LIMITS",
    "Limit",
    "LimitKind",
    "Place",
    "capacity_torque",
    "place_of",
    "running_maximum",
    "wants_inputs",
]
