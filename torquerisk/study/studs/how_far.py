"""How far a fastening is tightened: torque, angle or stretch, by fastener, block and scatter."""

import math

import numpy as np

from torquerisk.case import Engine
from torquerisk.physics.head_joint.property_class import StrengthClass
from torquerisk.physics.head_joint.scatter import TighteningMethod
from torquerisk.physics.head_joint.screw_thread import ScrewThread
from torquerisk.physics.head_joint.tightening import (
    angle_from_preload,
    preload_at_yield,
    preload_from_torque,
    torque_from_preload,
)
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import standard_draws
from torquerisk.study.strengths.fastener import Fastener, weakest_diameter, yield_preload
from torquerisk.study.strengths.head import HeadCapacity, head_capacity
from torquerisk.study.strengths.head_tightening import (
    SNUG_YIELD_SHARE,
    USUAL_ANGLE_YIELD_SHARE,
    USUAL_STRETCH_YIELD_SHARE,
)
from torquerisk.study.studs.fastening import MIDDLE, Change, Fastening
from torquerisk.study.studs.lubricants import WIDE, Lubricant
from torquerisk.study.studs.results import EDGE, PAST_YIELD_TAKEN

TABLE_YIELD_SHARE = 0.9
"""Share of least yield that printed tightening torques reach at their friction. [VDI2230]."""
BLOCK_SHARE = 0.70
"""Share of the block thread's median strip load that is aimed at, warm-up included: firing and
scatter need the rest (common practice, no source)."""
TORQUE_BLOCK_SHARE = 0.65
"""The same by torque, whose preload scatters with friction (common practice, no source): at
BLOCK_SHARE the usual thread strips about as often as is accepted, and the draws would decide."""
ANGLE_DRAWS = 512, 20261128
"""Simulated joints, and their seed, that tell which angle stays below yield."""


def largest_torque(
    thread: ScrewThread, strength: StrengthClass, oil: Lubricant, diameter: float | None = None
) -> float:
    """Largest sensible torque [N*m]: the table's, less where the lubricant is not well known.

    diameter: of the section that yields first [m], the thread's when left out. The table's takes
    the middle friction to 90 % of least yield; it is cut where friction two standard deviations
    lower would pass least yield. Source: [VDI2230] section 5.5.2; cut: ours.
    """

    def torque_to(friction: tuple[float, float], share: float) -> float:
        preload = preload_at_yield(
            thread=thread,
            yield_strength=strength.yield_strength,
            thread_friction=friction[0],
            utilisation=share,
            shank_diameter=diameter,
        )
        return float(torque_from_preload(preload, thread, *friction))

    return min(torque_to(oil.at(0.0), TABLE_YIELD_SHARE), torque_to(oil.at(-WIDE), 1.0))


def fastening(
    engine: Engine,
    *,
    change: Change,
    method: TighteningMethod,
    oil: Lubricant,
    at_least: float = 0.0,
    spare_block: bool = True,
    stood: float = 0.0,
    joint: HeadCapacity | None = None,
) -> Fastening | None:
    """An engine's fasteners tightened by a method with a lubricant; None where no wrench reaches.

    Torque: the largest by `largest_torque`, whole N*m, or at_least [N*m] where that is more. Angle:
    from a snug torque (a quarter of yield, to 5 N*m) to 95 % of least yield, to 5
    degrees, see `_below_yield`. Stretch: to 85 % of least yield, to 0.01 mm. spare_block: aim none
    higher than the block's thread bears, see BLOCK_SHARE, or than it has stood [N] where that is
    more. joint: the median joint of this
    engine, where it is known already.
    """
    joint = joint or head_capacity(engine, MIDDLE)
    most = max(_block_bears(joint, method), stood) if spare_block else math.inf
    diameter = float(weakest_diameter(engine, MIDDLE, joint.fastener)[0])
    torque, angle, stretch, spared = _setting(joint, method, oil, diameter, most, at_least)
    allowed = engine.declaration("head_joint.tightening_torque")
    most_turn = engine.declaration("head_joint.tightening_angle").high
    unreached = method is TighteningMethod.ANGLE and (angle is None or angle > most_turn)
    if unreached or not allowed.low <= torque <= allowed.high:
        return None
    if angle is not None:
        angle = _below_yield(_tightened(engine, method, oil, torque, angle, None), angle)
        if angle is None:
            return None
    return Fastening(
        change=change,
        fastener=joint.fastener,
        class_word=engine.word("head_joint.property_class"),
        method=method,
        lubricant=oil,
        tightening_torque=float(torque),
        tightening_angle=angle,
        stretch=stretch,
        spared=spared,
        stood=stood,
        engine=_tightened(engine, method, oil, torque, angle, stretch),
    )


def _tightened(
    engine: Engine,
    method: TighteningMethod,
    oil: Lubricant,
    torque: float,
    angle: float | None,
    stretch: float | None,
) -> Engine:
    """The engine with its fasteners tightened so."""
    return engine.with_values(
        {
            "head_joint.tightening": method.value,
            "head_joint.lubricant": None,
            "head_joint.thread_friction": oil.thread_friction,
            "head_joint.head_friction": oil.head_friction,
            "head_joint.tightening_torque": float(torque),
            "head_joint.tightening_angle": angle,
            "head_joint.tightening_stretch": stretch,
            "head_joint.measured_stretch": None,
        }
    )


def _below_yield(engine: Engine, angle: float) -> float | None:
    """An angle [rad], or the largest that scatter takes past yield in no more than half of
    PAST_YIELD_TAKEN, so that other draws of the joint keep it too, to 5 degrees; None below 10.

    Past yield a fastener takes all that the thread advances.
    """
    draws = standard_draws(spreads.DRAWN, *ANGLE_DRAWS)
    joint = head_capacity(engine, draws)
    advance = float(np.quantile(joint.past_yield, 1 - PAST_YIELD_TAKEN / 2, method="higher"))
    degrees = math.degrees(angle - 2 * math.pi * advance / joint.fastener.turned.pitch)
    found = 5 * math.floor(degrees / 5 + EDGE)
    return math.radians(found) if found >= 10 else None


def _setting(
    joint: HeadCapacity,
    method: TighteningMethod,
    oil: Lubricant,
    diameter: float,
    most: float,
    at_least: float,
) -> tuple[float, float | None, float | None, bool]:
    """Torque [N*m], angle [rad], stretch [m] of `fastening`, and whether the block is spared.

    diameter: weakest of the fastener [m]. most: highest preload to aim at [N].
    """
    fastener = joint.fastener
    usual = fastener.strength.yield_strength
    at_yield = float(
        yield_preload(fastener, strength=usual, friction=oil.thread_friction, diameter=diameter)
    )
    aim = at_yield * {
        TighteningMethod.STRETCH: USUAL_STRETCH_YIELD_SHARE,
        TighteningMethod.ANGLE: USUAL_ANGLE_YIELD_SHARE,
    }.get(method, 1.0)
    spared, aim = most < aim, min(aim, most)
    snug = max(5.0 * round(_torque_for(SNUG_YIELD_SHARE * at_yield, fastener, oil) / 5.0), 5.0)
    if method is TighteningMethod.TORQUE:
        full = math.floor(largest_torque(fastener.turned, fastener.strength, oil, diameter))
        torque = min(full, math.floor(_torque_for(aim, fastener, oil)))
        return max(torque, at_least), None, None, full > torque >= at_least
    if method is TighteningMethod.ANGLE:
        return snug, _angle(joint, oil, snug, aim), None, spared
    if method is TighteningMethod.STRETCH:
        stretch = round(aim * float(joint.lengthens[0]) / 1e-5) * 1e-5
        return float(round(_torque_for(aim, fastener, oil))), None, stretch, spared
    return snug, None, None, False


def _torque_for(preload: float, fastener: Fastener, oil: Lubricant) -> float:
    """Torque that gives a preload [N] at middling friction [N*m]."""
    return float(torque_from_preload(preload, fastener.turned, *oil.middle))


def _block_bears(joint: HeadCapacity, method: TighteningMethod) -> float:
    """Preload that the block's thread bears: its share, less what warm-up adds [N]."""
    gain = float(joint.preload_hot[0] - joint.preload_cold[0])
    share = TORQUE_BLOCK_SHARE if method is TighteningMethod.TORQUE else BLOCK_SHARE
    return max(share * float(joint.strip_load[0]) - max(gain, 0.0), 0.0)


def _angle(joint: HeadCapacity, oil: Lubricant, snug: float, aim: float) -> float | None:
    """Turn from snug to a preload [N] for the middling joint, to 5 degrees [rad]; None below 10."""
    start = preload_from_torque(snug, joint.fastener.turned, *oil.middle)
    turn = angle_from_preload(
        max(aim, float(start)),
        thread=joint.fastener.turned,
        snug_preload=start,
        fastener_compliance=joint.fastener_compliance,
        member_compliance=joint.member_compliance,
    )
    degrees = 5 * math.floor(math.degrees(float(turn[0])) / 5 + 0.5)
    return math.radians(degrees) if degrees >= 10 else None
