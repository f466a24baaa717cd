"""Limits of the head joint: lift and weeping, fastener yield and fatigue, thread strip."""

from dataclasses import replace

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.limits.limit import Limit, LimitKind, place_of
from torquerisk.study.loads.demand import Demand
from torquerisk.study.run.seen_signs import SHY_OF_SIGN
from torquerisk.study.strengths.parts import Parts


def _worst_peak(demand: Demand, parts: Parts) -> Array:
    return demand.worst


ROUNDING = 1e-6
"""Share by which that torque is taken higher, so that a table rounded to it is not past it [-]."""


def _lift_pressure(demand: Demand, parts: Parts) -> Array:
    """Pressure (N,) or (S, N) [Pa] that lifts the head: no more than where it was seen to leak,
    whatever a simulated engine says, for a head that leaked may hold less than any sound one."""
    pressure, seen = parts.head.lift_pressure(), demand.state.lift_seen
    if seen is None:
        return pressure
    there = np.isfinite(seen)
    kept = (1 + ROUNDING) * SHY_OF_SIGN * np.where(there, seen, 0.0)
    pressed = place_of(demand.torque, kept).load(demand.worst)
    return np.where(there[:, None], np.minimum(pressure, pressed), pressure)


HEAD_LIFT = Limit(
    name="head_lift",
    title="Head clamping",
    protects="the head gasket: too much cylinder pressure lifts the head off its sealing ring",
    kind=LimitKind.STRENGTH,
    quantity="highest cylinder pressure",
    unit="bar",
    load=_worst_peak,
    strength=_lift_pressure,
    lifted_by="stronger or better-tightened head fasteners, later phasing, less compression",
    source="TIMOSHENKO, HETENYI, VDI2230, PRACTICE",
)
LIFT_SEEN = replace(
    HEAD_LIFT, name="lift_seen", title="Sign of lift", lifted_by="a head tested for gas and tight"
)
"""What stands for head clamping where coolant pressure was seen to rise and that is what binds."""
HEAD_WEEP = Limit(
    name="head_weep",
    title="Head gasket fully tight",
    protects="the head gasket: below this line load it may weep, an early sign of lifting",
    kind=LimitKind.INDEX,
    quantity="highest cylinder pressure",
    unit="bar",
    load=_worst_peak,
    strength=lambda _, p: p.head.weep_pressure(),
    lifted_by="what lifts head clamping",
    source="TIMOSHENKO, HETENYI, PRACTICE",
)
FASTENER_YIELD = Limit(
    name="fastener_yield",
    title="Head fastener yield",
    protects="the head fasteners: past yield they stretch for good and lose clamp",
    kind=LimitKind.STRENGTH,
    quantity="highest cylinder pressure",
    unit="bar",
    load=_worst_peak,
    strength=lambda _, p: p.head.breaking_pressure(),
    lifted_by="a higher property class where there is one, a larger thread, less preload, which "
    "costs clamp",
    source="VDI2230",
)
THREAD_STRIP = Limit(
    name="thread_strip",
    title="Thread in the block",
    protects="the threads in the block: they strip before a strong fastener gives",
    kind=LimitKind.STRENGTH,
    quantity="highest cylinder pressure",
    unit="bar",
    load=_worst_peak,
    strength=lambda _, p: p.head.strip_pressure(),
    lifted_by="more thread engagement, a larger thread, a thread insert",
    source="VDI2230, FED-STD-H28",
)
FASTENER_FATIGUE = Limit(
    name="fastener_fatigue",
    title="Head fastener fatigue (long life)",
    protects="the head fasteners over millions of firings",
    kind=LimitKind.INDEX,
    quantity="mean peak cylinder pressure",
    unit="bar",
    load=lambda d, _: d.peak,
    strength=lambda _, p: p.head.fatigue_pressure(),
    lifted_by="a waisted shank, a longer fastener, more fasteners",
    source="VDI2230",
)
LIMITS = (HEAD_LIFT, HEAD_WEEP, FASTENER_YIELD, THREAD_STRIP, FASTENER_FATIGUE)
