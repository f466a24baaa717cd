"""What is asked of a head joint, and what one fastening does about it: frozen results."""

import enum
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.case import Engine
from torquerisk.physics.head_joint.tightening import torque_from_preload
from torquerisk.quantities import Array
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.loads.demand import Demand
from torquerisk.study.strengths.head import HeadCapacity
from torquerisk.study.strengths.head_tightening import head_friction_draws
from torquerisk.study.studs.cost import cost_in_words
from torquerisk.study.studs.fastening import Change, Fastening


class JointState(enum.Enum):
    """When the joint is judged. New: embedded, the gasket settled by the first heat cycles."""

    COLD_NEW = "cold, new"
    HOT_NEW = "hot, new"
    COLD_AGED = "cold, after many heat cycles"
    HOT_AGED = "hot, after many heat cycles"


class Mode(enum.Enum):
    """A way in which a fastening fails."""

    LIFT = "the head lifts off its sealing ring"
    YIELD = "the fasteners yield in service"
    STRIP = "the thread in the block strips"
    BREAK = "tightening takes the fasteners further past yield than their free thread bears"

    @property
    def short(self) -> str:
        """The same for a table's cell."""
        return {Mode.LIFT: "lifts", Mode.YIELD: "yields", Mode.STRIP: "strips"}.get(
            self, "tightened too far"
        )


PAST_YIELD_TAKEN = 0.05
"""Share of fasteners brought to yield while tightening from which all count as used once (stated
choice). It is no failure: they keep their clamp, and are replaced each time the head comes off."""
EDGE = 1e-9
"""Rounding of a torque fed back [-]."""
CLEAN = (
    "Clean, true and dry holes, the lubricant the torque was worked out for and a checked wrench "
    "matter as much as the class."
)
USED_ONCE = "Fasteners that were tightened to or near yield are used once."
LARGER = (
    "A larger thread takes wall from block and head: look for water, oil and the next hole first."
)
HARD = "Class 12.9 and stronger is open to hydrogen: no plating by acid, no rust."
HARD_FROM = 1200e6
"""Tensile strength of class 12.9 [Pa]. Source: [ISO898-1]."""


@dataclass(frozen=True, kw_only=True)
class Spread:
    """5, 50 and 95 % points over the simulated joints."""

    p05: float
    p50: float
    p95: float


def spread_of(values: Array) -> Spread:
    """The three points of draws (N,)."""
    low, middle, high = np.quantile(values, [0.05, 0.5, 0.95])
    return Spread(p05=float(low), p50=float(middle), p95=float(high))


@dataclass(frozen=True, kw_only=True)
class StateResult:
    """The joint in one state."""

    preload: Spread
    """Per fastener [N]."""
    lift_chance: float
    """Greatest over the speeds [-]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Ask:
    """What a torque curve asks of the head: pressures by speed (S) and draw (N), and the chance."""

    curve: str
    """What it is, in words."""
    speed: Array
    """(S,) [rad/s]."""
    torque: Array
    """The curve judged (S,) [N*m]."""
    loads: Demand
    worst: Array
    """Highest cylinder pressure of a pull (S, N) [Pa]."""
    peak: Array
    """Mean peak (S, N) [Pa]."""
    accepted: float
    kept: float
    """How many independent engines the simulated ones are worth."""
    needed: Array
    """Preload per fastener in service that keeps the ring from lifting at the highest pressure of a
    pull, in all but the accepted share of draws (S,) [N]."""
    hard: npt.NDArray[np.intp]
    """Indices of the few speeds that need the most."""

    @property
    def target(self) -> float:
        """Peak of the curve [N*m]."""
        return float(self.torque.max())

    @property
    def worst_speed(self) -> int:
        """Index of the speed that needs the most."""
        return int(np.argmax(self.needed))

    @property
    def sampling(self) -> float:
        """Standard error of the accepted chance at so many engines [-]."""
        return float(np.sqrt(self.accepted * (1 - self.accepted) / self.kept))

    def chance(self, pressure: Array) -> Array:
        """Share of draws whose highest pressure passes a pressure (N,) [Pa], at the hard speeds."""
        return (self.worst[self.hard] > pressure).mean(axis=1)


@dataclass(frozen=True, kw_only=True, eq=False)
class StudChoice:
    """One fastening and what it does at the curve asked. Forces per fastener [N], torque [N*m]."""

    fastening: Fastening
    preload: Spread
    """Right after tightening."""
    clamp: Spread
    """Preload in service, new and warm."""
    states: Mapping[JointState, StateResult]
    clamp_to_spare: float
    """Clamp over what is needed at the accepted chance, less 1 [-]; negative: that much short."""
    past_yield: float
    """Share of fasteners brought to yield while tightening, as oiled where nobody said [-]."""
    yield_utilisation: float
    """Load over yield load, firing, at the medians and the worst speed [-]."""
    yield_chance: float
    strip_utilisation: float
    """Greatest load on the block's thread (tightening, or cold and firing) over its strip load."""
    strip_chance: float
    fatigue_utilisation: float
    """Mean peak pressure over what the fatigue guidance allows; an index, not a verdict [-]."""
    bearing_utilisation: float
    """Pressure under a hardened washer of twice the nominal diameter over the head's limit [-]."""
    washer_diameter: float
    """Outer diameter of a hardened washer with which 95 of 100 stay below that limit [m]."""
    torque_held: float
    """Peak of the same curve at which the chance of any failure is the accepted [N*m]: the target
    or more where `holds`; 0 where no torque is. Where fasteners are brought past yield on purpose
    (`plastic`) yield in service does not count, its cost in clamp does."""
    torque_held_aged: float
    """The same after many heat cycles [N*m]."""
    torque_held_middle: float
    """What half of the simulated engines hold, new [N*m]: how wide the estimate is."""
    stretch: Spread
    """How much longer a fastener is when tightened than loose [m]; see `HeadCapacity.stretch`."""
    holds: bool
    """New: the curve asked is held at the accepted chance."""
    holds_aged: bool
    """And after many heat cycles too."""
    first_to_fail: Mode
    fails: tuple[Mode, ...]
    """What passes the accepted chance, or does so together; the first to fail where none does."""
    break_chance: float
    """That tightening stretches them further than they bear [-]."""
    into_gasket: float
    """Share of the turn that goes into the gasket, by angle, in the middle; 0 by other ways [-]."""
    plastic: bool
    """Brought to yield on purpose: yielding a little more at the first firing is then no failure,
    but the clamp that it costs is taken off."""
    pressure_held: Array
    """Cylinder pressure at which the first of all that counts is reached (N,) [Pa]."""
    close: bool
    """So near the accepted chance that so many simulated engines cannot tell holding from not."""
    head: HeadCapacity
    draws: Draws

    @property
    def lift_chance(self) -> float:
        """New and warm: greatest over the speeds, as the assessment."""
        return self.states[JointState.HOT_NEW].lift_chance

    @property
    def lift_chance_aged(self) -> float:
        """The same after many heat cycles."""
        return self.states[JointState.HOT_AGED].lift_chance

    @property
    def held(self) -> str:
        """Whether it holds, or why not, for a table's cell."""
        if self.close:
            return "too close to call"
        if not self.holds:
            return f"no: {' or '.join(mode.short for mode in self.fails)}"
        return "new and aged" if self.holds_aged else "new"

    @property
    def chances(self) -> dict[Mode, float]:
        """Of all that counts: greatest over the hard speeds, or while tightening."""
        found = {
            Mode.LIFT: self.lift_chance,
            Mode.STRIP: self.strip_chance,
            Mode.BREAK: self.break_chance,
        }
        return found if self.plastic else {**found, Mode.YIELD: self.yield_chance}

    @property
    def not_said(self) -> str:
        """Which figures of the tightening stand in for what nobody said, in words; else ''."""
        made, has = self.fastening, self.engine.has
        if made.change is not Change.NONE or made.stretch is not None:
            return ""
        if not has("head_joint.tightening_torque"):
            return "assumed: nobody said"
        turned = made.tightening_angle is not None
        angle = turned and not has("head_joint.tightening_angle")
        return "angle assumed: nobody said" if angle else ""

    @property
    def used_once(self) -> bool:
        """Brought to yield on purpose, or often enough that a used one must be taken for it."""
        return self.plastic or self.past_yield >= PAST_YIELD_TAKEN

    @property
    def cost(self) -> dict[str, str]:
        """What to machine and to buy, and how often it serves, in words."""
        return cost_in_words(
            self.fastening, self.washer_diameter, plastic=self.plastic, once=self.used_once
        )

    @property
    def fitted_new(self) -> bool:
        """Whether none that has served may be fitted."""
        return self.used_once or self.fastening.change > Change.TIGHTENING

    @property
    def cautions(self) -> tuple[str, ...]:
        """Those of a bench's cautions that this one needs."""
        made = self.fastening
        found = {
            CLEAN: True,
            USED_ONCE: self.used_once,
            LARGER: made.change > Change.STRENGTH,
            HARD: made.strength.tensile_strength >= HARD_FROM,
        }
        return tuple(caution for caution, needed in found.items() if needed)

    @property
    def last_torque(self) -> Spread:
        """What a wrench shows as the tightening ends, by preload and friction [N*m]."""
        friction = self.draws.of_value(self.engine.value("head_joint.thread_friction"))
        under_head = head_friction_draws(self.engine, self.draws, friction)
        preload, turned = self.head.assembly_preload, self.fastening.fastener.turned
        return spread_of(torque_from_preload(preload, turned, friction, under_head))

    @property
    def engine(self) -> Engine:
        """The engine with this fastening."""
        return self.fastening.engine
