"""A fastening: what is fitted, what is on it, and how it is tightened."""

import enum
import math
from dataclasses import dataclass

from torquerisk.case import Engine
from torquerisk.case.joint_defaults import STUD
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.physics.head_joint.property_class import StrengthClass
from torquerisk.physics.head_joint.scatter import TighteningMethod
from torquerisk.physics.head_joint.screw_thread import ScrewThread
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import middle_draw
from torquerisk.study.strengths.fastener import Fastener, fastener_of
from torquerisk.study.strengths.head import head_capacity
from torquerisk.study.strengths.head_tightening import (
    SNUG_YIELD_SHARE,
    USUAL_STRETCH_YIELD_SHARE,
    USUAL_YIELD_SHARE,
    torque_at,
    usual_angle,
)
from torquerisk.study.studs.lubricants import Lubricant, own_lubricant

MIDDLE = middle_draw(spreads.DRAWN)
"""One joint with every input at its median."""


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
    Change.TIGHTENING: "fasteners of the same thread and class, tightened anew",
    Change.STRENGTH: "other fasteners in the same holes",
    Change.TAP_OUT: "larger fasteners of the same pitch: open and re-tap the holes",
    Change.DRILL_AND_TAP: "larger fasteners: drill out and tap the block, open the head",
}


SMALL_TORQUE = 20.0
"""Below this a tenth is set on a wrench [N*m]."""


def set_in_tenths(torque: float) -> bool:
    """True of a tightening torque [N*m] that is small and not whole."""
    return torque < SMALL_TORQUE and abs(torque - round(torque)) >= 0.05


@dataclass(frozen=True, kw_only=True)
class Fastening:
    """A fastener, a lubricant and a way of tightening; SI."""

    change: Change
    fastener: Fastener
    class_word: str
    """As [head_joint] property_class takes it."""
    method: TighteningMethod
    lubricant: Lubricant
    tightening_torque: float
    """By torque: the torque. By angle or to yield: the snug torque; by stretch: about where it is
    reached [N*m]."""
    tightening_angle: float | None = None
    """After the snug torque [rad]; only by angle."""
    stretch: float | None = None
    """To tighten to [m]; only by stretch."""
    spared: bool = False
    """Tightened less than the fastener could bear, to spare the thread in the block."""
    stood: float = 0.0
    """Preload that the thread in the block has borne, if it is the present one [N]."""
    engine: Engine
    """The engine with this fastening in place of its own."""

    @property
    def thread(self) -> ScrewThread:
        """In the block."""
        return self.fastener.thread

    @property
    def strength(self) -> StrengthClass:
        """Of the fastener."""
        return self.fastener.strength

    @property
    def stud(self) -> bool:
        """A stud with nut and washer, not a bolt."""
        return self.fastener.kind == STUD

    @property
    def name(self) -> str:
        """Thread, that under the nut where it is another, and strength."""
        nut = self.fastener.turned.designation
        under = f", {nut} under the nut" if nut != self.thread.designation else ""
        return f"{self.thread.designation} {self.kind_and_strength}{under}"

    @property
    def kind_and_strength(self) -> str:
        """Class of a bolt, or 'stud' and its strength."""
        return f"stud {self.strength.name}" if self.stud else self.strength.name

    @property
    def how(self) -> Sentence:
        """How it is tightened, in a few characters."""
        torque = self.tightening_torque
        snug = Torque(torque, ",.1f" if set_in_tenths(torque) else ",.0f")
        if self.method is TighteningMethod.STRETCH and self.stretch is not None:
            return Sentence(f"{self.stretch * 1e3:.2f} mm stretch")
        if self.method is TighteningMethod.TORQUE:
            return Sentence(snug)
        if self.tightening_angle is not None:
            return Sentence(snug, f" + {math.degrees(self.tightening_angle):.0f}°")
        return Sentence(snug, f" + {self.method.value}")

    @property
    def torque_is(self) -> str:
        """What the tightening torque is, in words."""
        return {
            TighteningMethod.TORQUE: "final",
            TighteningMethod.STRETCH: "about, the stretch decides",
        }.get(self.method, "snug")


def present_fastening(engine: Engine) -> Fastening:
    """The fastening of an engine as its file has it."""
    method = TighteningMethod(engine.word("head_joint.tightening"))
    fastener = fastener_of(engine)
    share = {
        TighteningMethod.TORQUE: USUAL_YIELD_SHARE,
        TighteningMethod.STRETCH: USUAL_STRETCH_YIELD_SHARE,
    }.get(method, SNUG_YIELD_SHARE)
    torque = engine.given("head_joint.tightening_torque")
    angle, stretch = None, None
    joint = head_capacity(engine, MIDDLE)
    if method is TighteningMethod.ANGLE:
        angle = engine.given("head_joint.tightening_angle") or usual_angle(
            engine,
            fastener,
            float(joint.fastener_compliance[0]),
            float(joint.member_compliance[0]),
        )
    if method is TighteningMethod.STRETCH:
        stretch = float(joint.stretch[0])
    return Fastening(
        change=Change.NONE,
        fastener=fastener,
        class_word=engine.word("head_joint.property_class"),
        method=method,
        lubricant=own_lubricant(engine),
        tightening_torque=torque_at(engine, fastener, share) if torque is None else float(torque),
        tightening_angle=angle,
        stretch=stretch,
        engine=engine,
    )
