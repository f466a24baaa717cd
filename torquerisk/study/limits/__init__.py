"""The limits: one object each, listed here. Adding one touches its module and this list."""

# ruff: noqa: F401

from torquerisk.study.limits import bearings, boost, combustion, head, rod, supply
from torquerisk.study.limits.combustion import (
    HEARD,
    accepted_of,
    bounding,
    knocking,
    quiet_ca50,
    quiet_later,
)
from torquerisk.study.limits.head import HEAD_LIFT, LIFT_SEEN
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
    *rod.LIMITS,
    *bearings.LIMITS,
    *combustion.LIMITS,
    *supply.LIMITS,
    *boost.LIMITS,
)
