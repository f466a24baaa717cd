"""The fastenings worth judging for a head: threads, strengths, lubricants, ways of tightening."""

import enum
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from torquerisk.case import Engine
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.errors import OutOfRangeError
from torquerisk.physics.head_joint.property_class import StrengthClass, strength_class
from torquerisk.physics.head_joint.scatter import (
    TighteningMethod,
    tightening_method,
)
from torquerisk.physics.head_joint.screw_thread import KNOWN_THREADS, ScrewThread, screw_thread
from torquerisk.physics.head_joint.tightening import (
    angle_from_preload,
    preload_at_yield,
    preload_from_torque,
    torque_from_preload,
)
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.strengths.head import HeadCapacity, fastener_strength, head_capacity
from torquerisk.study.strengths.head_tightening import (
    SNUG_YIELD_SHARE,
    USUAL_ANGLE_YIELD_SHARE,
    USUAL_YIELD_SHARE,
)
from torquerisk.study.studs.lubricants import Lubricant, own_lubricant

TABLE_YIELD_SHARE = 0.9
"""Share of least yield that printed tightening torques reach at their friction. [VDI2230]."""
OLD_THREAD_LEFT = 0.2e-3
"""A new thread clears the old one when no more than this of its diameter is left [m].

Common practice, no source.
"""
BLOCK_SHARE = 0.70
"""Share of the block thread's median strip load that is aimed at, warm-up included: firing and
scatter need the rest (common practice, no source)."""
MIDDLE = Draws(deviates=dict.fromkeys(spreads.DRAWN, np.zeros(1)), count=1)
"""One joint with every input at its median."""
METRIC_CLASSES = ("8.8", "9.8", "10.9", "12.9")
INCH_CLASSES = ("SAE grade 5", "SAE grade 8")
METHODS = (TighteningMethod.TORQUE, TighteningMethod.ANGLE, TighteningMethod.YIELD)


class Change(enum.IntEnum):
    """What is changed, the mildest first."""

    NONE = 0
    TIGHTENING = 1
    STRENGTH = 2
    TAP_OUT = 3
    DRILL_AND_TAP = 4

    @property
    def words(self) -> str:
        """What has to be done, in words."""
        return _CHANGES[self]


_CHANGES = {
    Change.NONE: "as it stands",
    Change.TIGHTENING: "new fasteners of the same thread and class, tightened anew",
    Change.STRENGTH: "stronger fasteners in the same holes",
    Change.TAP_OUT: "larger fasteners of the same pitch: open and re-tap the holes",
    Change.DRILL_AND_TAP: "larger fasteners: drill out and tap the block, open the head",
}


@dataclass(frozen=True, kw_only=True)
class Fastening:
    """A thread, a strength, a lubricant and a way of tightening; SI."""

    change: Change
    thread: ScrewThread
    class_word: str
    """As [head_joint] property_class takes it."""
    strength: StrengthClass
    method: TighteningMethod
    lubricant: Lubricant
    tightening_torque: float
    """By torque: the torque. By angle or to yield: the snug torque [N*m]."""
    tightening_angle: float | None
    """After the snug torque [rad]; None by torque and to yield."""
    spared: bool = False
    """Tightened less than the fastener could bear, to spare the thread in the block."""
    engine: Engine
    """The engine with this fastening in place of its own."""

    @property
    def short(self) -> Sentence:
        """How it is tightened, in a few characters."""
        snug = Torque(self.tightening_torque)
        if self.method is TighteningMethod.TORQUE:
            return Sentence(snug)
        if self.tightening_angle is not None:
            return Sentence(snug, f" + {math.degrees(self.tightening_angle):.0f}°")
        return Sentence(snug, f" + {self.method.value}")

    @property
    def how(self) -> Sentence:
        """How it is tightened, in words."""
        if self.method is TighteningMethod.YIELD:
            return Sentence(Torque(self.tightening_torque), ", then on to yield")
        return self.short

    @property
    def torque_is(self) -> str:
        """What the tightening torque is, in words."""
        return "final" if self.method is TighteningMethod.TORQUE else "snug"


def present_fastening(engine: Engine) -> Fastening:
    """The fastening of an engine as its file has it."""
    thread = screw_thread(engine.word("head_joint.thread"))
    strength = fastener_strength(engine, thread)
    method = tightening_method(engine.word("head_joint.tightening"))
    here = own_lubricant(engine)
    torque = engine.given("head_joint.tightening_torque")
    if torque is None:
        share = USUAL_YIELD_SHARE if method is TighteningMethod.TORQUE else SNUG_YIELD_SHARE
        torque = _torque_to(thread, strength, here, share)
    angle = None
    if method is TighteningMethod.ANGLE:
        angle = engine.given("head_joint.tightening_angle")
    return Fastening(
        change=Change.NONE,
        thread=thread,
        class_word=engine.word("head_joint.property_class"),
        strength=strength,
        method=method,
        lubricant=here,
        tightening_torque=float(torque),
        tightening_angle=angle,
        engine=engine,
    )


def _at_yield(
    thread: ScrewThread, strength: StrengthClass, oil: Lubricant, share: float
) -> npt.NDArray[np.float64]:
    """Preload of a fastener of middling friction at a share of its least yield [N]."""
    return preload_at_yield(
        thread=thread,
        yield_strength=strength.yield_strength,
        thread_friction=oil.thread_friction,
        utilisation=share,
    )


def _torque_for(preload: float, thread: ScrewThread, oil: Lubricant) -> float:
    """Torque that gives a preload [N] at middling friction [N*m]."""
    return float(
        torque_from_preload(
            preload,
            thread=thread,
            thread_friction=oil.thread_friction,
            head_friction=oil.head_friction,
        )
    )


def _torque_to(thread: ScrewThread, strength: StrengthClass, oil: Lubricant, share: float) -> float:
    """Torque that brings a fastener of middling friction to a share of its least yield [N*m]."""
    return _torque_for(float(_at_yield(thread, strength, oil, share)), thread, oil)


def largest_torque(thread: ScrewThread, strength: StrengthClass, oil: Lubricant) -> float:
    """Largest sensible torque [N*m]: the table's, less where the lubricant is not well known.

    The table's takes the middle friction to 90 % of least yield; it is cut where friction two
    standard deviations lower would pass least yield. Source: [VDI2230] section 5.5.2; cut: ours.
    """
    slippery, slippery_head = oil.least
    preload = preload_at_yield(
        thread=thread, yield_strength=strength.yield_strength, thread_friction=slippery
    )
    most = torque_from_preload(
        preload, thread=thread, thread_friction=slippery, head_friction=slippery_head
    )
    return min(_torque_to(thread, strength, oil, TABLE_YIELD_SHARE), float(most))


def threads_near(present: ScrewThread) -> list[tuple[Change, ScrewThread]]:
    """The present thread, and those one and two sizes up that the old hole allows.

    Metric for metric, inch for inch. A larger thread must cut the old one away (its minor diameter
    reaches the old major diameter, but for OLD_THREAD_LEFT), or follow it at the same pitch.
    """
    metric = present.designation.upper().startswith("M")
    pool = [screw_thread(name) for name in KNOWN_THREADS if name.startswith("M") == metric]
    if metric:
        pool += [screw_thread(f"M{size}") for size in (18, 20, 22, 24)]
    larger = [t for t in pool if t.nominal_diameter > present.nominal_diameter + 1e-6]
    sizes = sorted({round(t.nominal_diameter, 7) for t in larger})[:2]
    out = [(Change.NONE, present)]
    for thread in larger:
        if round(thread.nominal_diameter, 7) not in sizes:
            continue
        if abs(thread.pitch - present.pitch) < 1e-9:
            out.append((Change.TAP_OUT, thread))
        elif thread.internal_minor_diameter >= present.nominal_diameter - OLD_THREAD_LEFT:
            out.append((Change.DRILL_AND_TAP, thread))
    return out


@dataclass(frozen=True, kw_only=True)
class _Strength:
    """A class, or strengths of its own, as the engine file takes them."""

    word: str
    yield_strength: float | None = None
    tensile_strength: float | None = None

    def values(self) -> dict[str, Any]:
        return {
            "head_joint.property_class": self.word,
            "head_joint.yield_strength": self.yield_strength,
            "head_joint.tensile_strength": self.tensile_strength,
        }


def _strengths(engine: Engine, present: StrengthClass, thread: ScrewThread) -> list[_Strength]:
    """The engine's own strength and the classes above it; all classes for a larger thread."""
    own = _Strength(
        word=engine.word("head_joint.property_class"),
        yield_strength=engine.given("head_joint.yield_strength"),
        tensile_strength=engine.given("head_joint.tensile_strength"),
    )
    classes = METRIC_CLASSES if thread.designation.upper().startswith("M") else INCH_CLASSES
    out = [own]
    for name in classes:
        try:
            found = strength_class(name, thread.nominal_diameter)
        except OutOfRangeError:
            continue
        if found.name != present.name:
            out.append(_Strength(word=name))
    return out


def fastenings(engine: Engine, lubricants: Sequence[Lubricant]) -> Iterator[Fastening]:
    """Every fastening worth judging, the present one apart.

    Each carries at least the present yield load (class times stress area): nobody fits weaker ones.
    """
    now = present_fastening(engine)
    least = now.strength.yield_strength * now.thread.stress_area * (1 - 1e-9)
    for change, thread in threads_near(now.thread):
        for option in _strengths(engine, now.strength, thread):
            base = engine_with(engine, thread, option.values())
            strength = fastener_strength(base, thread)
            if strength.yield_strength * thread.stress_area < least:
                continue
            if change is Change.NONE:
                same = strength.yield_strength == now.strength.yield_strength
                kind = Change.TIGHTENING if same else Change.STRENGTH
            else:
                kind = change
            joint = head_capacity(base, MIDDLE)
            for oil in lubricants:
                for method in METHODS:
                    made = fastening(
                        base,
                        change=kind,
                        method=method,
                        oil=oil,
                        at_least=_kept_torque(now, kind),
                        joint=joint,
                    )
                    if made is not None:
                        yield made


def _kept_torque(now: Fastening, kind: Change) -> float:
    """Torque below which nobody would go with the same fasteners [N*m]."""
    same = kind is Change.TIGHTENING and now.method is TighteningMethod.TORQUE
    return now.tightening_torque if same else 0.0


def engine_with(engine: Engine, thread: ScrewThread, values: dict[str, Any]) -> Engine:
    """The engine with another thread and strength; the depth of its holes stays as it is."""
    was = screw_thread(engine.word("head_joint.thread"))
    changes: dict[str, Any] = {"head_joint.thread": thread.designation, **values}
    if thread.designation != was.designation:
        depth = engine.value("head_joint.engagement_length").value
        changes["head_joint.engagement_length"] = depth
        shank = engine.given("head_joint.shank_diameter")
        if shank is not None:
            scale = thread.nominal_diameter / was.nominal_diameter
            changes["head_joint.shank_diameter"] = shank * scale
    return engine.with_values(changes)


def fastening(
    engine: Engine,
    *,
    change: Change,
    method: TighteningMethod,
    oil: Lubricant,
    at_least: float = 0.0,
    spare_block: bool = True,
    joint: HeadCapacity | None = None,
) -> Fastening | None:
    """An engine's fasteners tightened by a method with a lubricant; None where no wrench reaches.

    Torque: the largest by `largest_torque`, whole N*m, or at_least [N*m] where that is more. Angle:
    from a snug torque (a quarter of yield, to 5 N*m) to 95 % of least yield, to 5 degrees.
    spare_block: aim both no higher than the block's thread bears, see BLOCK_SHARE.
    joint: the median joint of this engine, where it is known already.
    """
    thread = screw_thread(engine.word("head_joint.thread"))
    strength = fastener_strength(engine, thread)
    joint = joint or head_capacity(engine, MIDDLE)
    most = _block_bears(joint) if spare_block else math.inf
    spared = False
    torque: float
    if method is TighteningMethod.TORQUE:
        full = math.floor(largest_torque(thread, strength, oil))
        torque = min(full, math.floor(_torque_for(min(most, 1e9), thread, oil)))
        spared = full > torque >= at_least
        torque = max(torque, at_least)
    else:
        snug = _torque_to(thread, strength, oil, SNUG_YIELD_SHARE)
        torque = max(5.0 * round(snug / 5.0), 5.0)
    allowed = engine.declaration("head_joint.tightening_torque")
    if not allowed.low <= torque <= allowed.high:
        return None
    angle: float | None = None
    if method is TighteningMethod.ANGLE:
        aim = float(_at_yield(thread, strength, oil, USUAL_ANGLE_YIELD_SHARE))
        spared = most < aim
        angle = _angle(joint, oil, torque, min(aim, most))
        if angle is None:
            return None
    return Fastening(
        change=change,
        thread=thread,
        class_word=engine.word("head_joint.property_class"),
        strength=strength,
        method=method,
        lubricant=oil,
        tightening_torque=float(torque),
        tightening_angle=angle,
        spared=spared,
        engine=engine.with_values(
            {
                "head_joint.tightening": method.value,
                "head_joint.thread_friction": oil.thread_friction,
                "head_joint.head_friction": oil.head_friction,
                "head_joint.tightening_torque": float(torque),
                "head_joint.tightening_angle": angle,
            }
        ),
    )


def _block_bears(joint: HeadCapacity) -> float:
    """Preload that the block's thread bears: BLOCK_SHARE, less what warm-up adds [N]."""
    gain = float(joint.preload_hot[0] - joint.preload_cold[0])
    return max(BLOCK_SHARE * float(joint.strip_load[0]) - max(gain, 0.0), 0.0)


def _angle(joint: HeadCapacity, oil: Lubricant, snug: float, aim: float) -> float | None:
    """Turn from snug to a preload [N] for the middling joint, to 5 degrees [rad]; None below 10."""
    start = preload_from_torque(
        snug,
        thread=joint.thread,
        thread_friction=oil.thread_friction,
        head_friction=oil.head_friction,
    )
    turn = angle_from_preload(
        max(aim, float(start)),
        thread=joint.thread,
        snug_preload=start,
        fastener_compliance=joint.fastener_compliance,
        member_compliance=joint.member_compliance,
    )
    degrees = 5 * math.floor(math.degrees(float(turn[0])) / 5 + 0.5)
    return math.radians(degrees) if degrees >= 10 else None
