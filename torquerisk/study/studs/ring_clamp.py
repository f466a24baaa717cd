"""What firing leaves on the combustion ring, by kind of cylinder and way of counting fasteners."""

import enum
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.assessment.assess import upper_median
from torquerisk.study.assessment.result import Assessment, Band, band
from torquerisk.study.limits import place_of
from torquerisk.study.strengths.head import HeadCapacity
from torquerisk.study.studs.results import Ask, Spread, spread_of


class HeldBy(enum.Enum):
    """A cylinder and how the fasteners that hold it are counted."""

    INNER = "inner"
    """Between two others: every fastener around it is shared, and counts half."""
    END = "end"
    """At an end of the head: its outer row is its own."""
    ADJACENT = "adjacent"
    """Either, if every fastener around its bore counted wholly: shown, not used."""


USED = (HeldBy.INNER, HeldBy.END)
"""By the tributary count, which judges lift."""


@dataclass(frozen=True, kw_only=True, eq=False)
class RingHold:
    """One kind of cylinder by one count: what is left on its ring at the highest pressure."""

    fasteners: float
    """Counted for one cylinder [-]."""
    cylinders: int
    """Of this kind in one head."""
    clamp: Spread
    """At rest, in the lesser of cold and hot [N]."""
    left: Band
    """Clamp left on the ring (S,) [N]; 0 where it is open."""
    line_load: Band
    """The same by length of the sealing circle (S,) [N/m]."""
    lift_utilisation: Array
    """Median of the pressure over that at which the head lifts (S,) [-]; above 1 it lifts."""
    lift_chance: Array
    """Share of simulated engines in which the head lifts (S,) [-]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class RingClamp:
    """What the highest pressure of a pull leaves on the combustion ring, by speed (S,). SI."""

    speed: Array
    pressure: Band
    """Highest cylinder pressure of a pull [Pa]."""
    sealing_diameter: float
    """Median [m]."""
    least_line_load: Spread
    """At which the ring still seals; below it counts as lift [N/m]."""
    holds: Mapping[HeldBy, RingHold]
    """Inner cylinders only where the head has any."""
    governing: HeldBy
    """Kind of cylinder that lifts first by the tributary count."""
    worst: int
    """Index of the speed at which it is nearest to lift."""

    @property
    def governs(self) -> RingHold:
        """The kind of cylinder that lifts first."""
        return self.holds[self.governing]

    @property
    def single(self) -> bool:
        """One cylinder to a head: both counts are one, and none is inner or at an end."""
        return self.governs.cylinders == 1 and HeldBy.INNER not in self.holds

    @property
    def shown(self) -> tuple[HeldBy, ...]:
        """Kinds and counts that differ, for people to read."""
        return (HeldBy.END,) if self.single else tuple(self.holds)


def ring_clamp(head: HeadCapacity, worst: Array, speed: Array) -> RingClamp:
    """What is left on the ring of inner and end cylinders, and by the other count.

    head: the joint by draw (N,); worst: highest cylinder pressure of a pull (S, N) [Pa];
    speed: (S,) [rad/s].
    """
    counts = head.counts
    holds = {HeldBy.END: _hold(head, worst, counts.tributary_end, counts.end_cylinders)}
    if counts.inner_cylinders:
        inner = _hold(head, worst, counts.tributary_inner, counts.inner_cylinders)
        holds = {HeldBy.INNER: inner, **holds}
    both = counts.inner_cylinders + counts.end_cylinders
    holds[HeldBy.ADJACENT] = _hold(head, worst, counts.adjacent, both)
    governing = max(
        (kind for kind in USED if kind in holds), key=lambda k: holds[k].lift_utilisation.max()
    )
    return RingClamp(
        speed=speed,
        pressure=band(worst),
        sealing_diameter=float(np.median(head.sealing_diameter)),
        least_line_load=spread_of(head.line_load),
        holds=holds,
        governing=governing,
        worst=int(np.argmax(holds[governing].lift_utilisation)),
    )


def _hold(head: HeadCapacity, worst: Array, count: float, cylinders: int) -> RingHold:
    lift = head.lift_pressure(count)
    with np.errstate(divide="ignore"):
        used = np.where(lift > 0, worst / np.where(lift > 0, lift, 1.0), np.inf)
    return RingHold(
        fasteners=count,
        cylinders=cylinders,
        clamp=spread_of(head.clamp_by(count)),
        left=band(head.ring_clamp_left(worst, count)),
        line_load=band(head.ring_line_load(worst, count)),
        lift_utilisation=upper_median(used),
        lift_chance=(worst > lift).mean(axis=1),
    )


def ring_of_run(assessment: Assessment) -> RingClamp:
    """What the measured run leaves on the ring, for the simulated engines of the assessment."""
    a = assessment
    place = place_of(a.model.demand.torque, a.torque)
    return ring_clamp(a.model.parts.head, place.read(a.model.loads["head_lift"]), a.speed)


def ring_of_ask(ask: Ask, head: HeadCapacity, speed: Array, worst: int) -> RingClamp:
    """What the curve asked leaves on the ring with one fastening.

    worst: index of the speed that the bench calls the worst, so that all figures are of one speed.
    """
    return replace(ring_clamp(head, ask.worst, speed), worst=worst)


def lift_chances(ask: Ask, head: HeadCapacity) -> dict[HeldBy, float]:
    """Greatest chance of lift over the speeds of the curve asked, by kind of cylinder and count."""
    counts = head.counts
    fasteners = {HeldBy.END: counts.tributary_end, HeldBy.ADJACENT: counts.adjacent}
    if counts.inner_cylinders:
        fasteners[HeldBy.INNER] = counts.tributary_inner
    return {
        kind: float(ask.chance(head.lift_pressure(count)).max())
        for kind, count in fasteners.items()
    }
