"""What firing leaves on the combustion ring, by kind of cylinder."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.assessment.assess import upper_median
from torquerisk.study.assessment.result import Assessment, Band, band
from torquerisk.study.limits import place_of
from torquerisk.study.strengths.head import HeadCapacity
from torquerisk.study.strengths.head_rings import HeldBy
from torquerisk.study.studs.results import Ask, Spread, spread_of


@dataclass(frozen=True, kw_only=True, eq=False)
class RingHold:
    """One kind of cylinder: what is left on its ring at the highest pressure, warm."""

    fasteners: float
    """That clamp its ring, from the head as a beam, median [-]."""
    own_share: Spread
    """Share of its cylinder's gas force that the ring loses [-]."""
    cylinders: int
    """Of this kind in one head."""
    clamp: Spread
    """At rest [N]."""
    left: Band
    """Clamp left on the ring (S,) [N]; 0 where it is open."""
    line_load: Band
    """Left at the ring's weakest point by length of the sealing circle (S,) [N/m]."""
    lift_utilisation: Array
    """Median of the pressure over that at which the head lifts (S,) [-]; above 1 it lifts."""
    lift_chance: Array
    """Share of simulated engines in which the head lifts (S,) [-]."""
    weep_chance: Array
    """Share in which the ring is no longer fully tight (S,) [-]: an early sign, no failure."""


@dataclass(frozen=True, kw_only=True, eq=False)
class RingClamp:
    """What the highest pressure of a pull leaves on the combustion ring, by speed (S,). SI."""

    speed: Array
    pressure: Band
    """Highest cylinder pressure of a pull [Pa]."""
    sealing_diameter: float
    """Median [m]."""
    least_line_load: Spread
    """At which the ring is still fully tight; below it weeps [N/m]."""
    lift_line_load: Spread
    """At which it lifts [N/m]."""
    holds: Mapping[HeldBy, RingHold]
    """Inner cylinders only where the head has any."""
    governing: HeldBy
    """The kind of cylinder whose ring lifts in most engines; of two alike the more loaded."""
    worst: int
    """Index of the speed at which it is nearest to lift."""

    @property
    def governs(self) -> RingHold:
        """The kind of cylinder that lifts first."""
        return self.holds[self.governing]

    @property
    def single(self) -> bool:
        """One cylinder to a head: none is inner or at an end."""
        return self.governs.cylinders == 1 and HeldBy.INNER not in self.holds


def ring_clamp(head: HeadCapacity, worst: Array, speed: Array) -> RingClamp:
    """What is left on the ring of inner and end cylinders.

    head: the joint by draw (N,); worst: highest cylinder pressure of a pull (S, N) [Pa];
    speed: (S,) [rad/s].
    """
    holds = {kind: _hold(head, worst, kind) for kind in head.rings}
    governing = max(
        holds, key=lambda kind: (holds[kind].lift_chance.max(), holds[kind].lift_utilisation.max())
    )
    return RingClamp(
        speed=speed,
        pressure=band(worst),
        sealing_diameter=float(np.median(head.sealing_diameter)),
        least_line_load=spread_of(head.line_load),
        lift_line_load=spread_of(head.lift_line_load),
        holds=holds,
        governing=governing,
        worst=int(np.argmax(holds[governing].lift_utilisation)),
    )


def _hold(head: HeadCapacity, worst: Array, kind: HeldBy) -> RingHold:
    ring, lift = head.rings[kind], head.lift_pressure(kind)
    with np.errstate(divide="ignore"):
        used = np.where(lift > 0, worst / np.where(lift > 0, lift, 1.0), np.inf)
    return RingHold(
        fasteners=float(np.median(ring.fasteners)),
        own_share=spread_of(ring.own_share),
        cylinders=ring.cylinders,
        clamp=spread_of(head.clamp_of(ring)),
        left=band(head.ring_clamp_left(worst, kind)),
        line_load=band(head.ring_line_load(worst, kind)),
        lift_utilisation=upper_median(used),
        lift_chance=(worst > lift).mean(axis=1),
        weep_chance=(worst > head.weep_pressure(kind)).mean(axis=1),
    )


def ring_of_run(assessment: Assessment) -> RingClamp:
    """What the measured run leaves on the ring, for the simulated engines of the assessment."""
    a = assessment
    place = place_of(a.model.demand.torque, a.torque)
    return ring_clamp(
        a.model.parts.head, place.read(a.model.load(a.limits["head_lift"].limit)), a.speed
    )


def ring_of_ask(ask: Ask, head: HeadCapacity) -> RingClamp:
    """What the curve asked leaves on the ring with one fastening; at the worst speed of all."""
    return replace(ring_clamp(head, ask.worst, ask.speed), worst=ask.worst_speed)


def ring_chances(ask: Ask, head: HeadCapacity) -> dict[HeldBy, tuple[float, float]]:
    """Greatest chance over the speeds that a ring lifts, and that it weeps, by kind of cylinder."""
    return {
        kind: (
            float(ask.chance(head.lift_pressure(kind)).max()),
            float(ask.chance(head.weep_pressure(kind)).max()),
        )
        for kind in head.rings
    }
