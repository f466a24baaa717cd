"""What a head fastener and the face under it bear at one speed, before and after lift."""

import math
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Engine
from torquerisk.physics.head_joint import materials
from torquerisk.quantities import Array
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limits import place_of
from torquerisk.study.strengths.head import HeadCapacity
from torquerisk.study.strengths.head_rings import HeldBy
from torquerisk.study.studs.results import Ask, Spread, spread_of

WASHER_DIAMETERS = 2.0
"""Outer diameter of the usual hardened washer, in nominal diameters (common practice, no source).

It carries the head's or nut's force to its full face; VDI 2230 R10 would allow less for a thin one.
"""


@dataclass(frozen=True, kw_only=True)
class FastenerLoads:
    """The fastener that a firing loads most, at one speed; forces [N], pressures [Pa].

    What it bears is told in the greater of cold and hot, where it bears most; what opens the ring
    warm, as the joint is judged.
    """

    rest: Spread
    """Preload in service in the greater of cold and hot; at most the load at which it yields."""
    firing: Spread
    """From `rest`, at the highest pressure of a pull; more is added once the ring has lifted."""
    hot_share: float
    """Share of simulated joints whose preload is no less hot than cold [-]."""
    open_pressure: Spread
    """Cylinder pressure at which the ring has nothing left somewhere, warm."""
    at_open: Spread
    """Load at that pressure, warm; 0 where the ring is never closed."""
    gain_closed: float
    """Load gained by gas pressure while the ring is closed, median [N/Pa]."""
    gain_lifted: float
    """And once it has lifted, when its share falls to fasteners and neighbours [N/Pa]."""
    open_share: float
    """Share of simulated joints whose ring is open at the highest pressure, warm [-]."""
    amplitude: Spread
    """Stress amplitude of a mean cycle with the ring closed, as the fatigue index has it [Pa]."""
    amplitude_limit: float
    """What the thread bears for good by VDI 2230 [Pa]; no other book's values are mixed in."""
    bearing: "Bearing"

    @property
    def load_state(self) -> str:
        """State of `rest` and `firing` in most simulated joints: 'hot' or 'cold'."""
        return "hot" if self.hot_share >= 0.5 else "cold"


@dataclass(frozen=True, kw_only=True)
class Bearing:
    """Pressure under a hardened washer of WASHER_DIAMETERS on the head's material."""

    pressure: float
    """Median of the greater of assembly and hot [Pa]."""
    limit: float
    """Of the head's material [Pa]."""
    usual_washer: float
    """Outer diameter of the washer it is worked out for [m]."""
    washer: float
    """Outer diameter with which 95 of 100 stay below the limit, no less than the head or nut that
    turns on it, whole millimetres [m]."""

    @property
    def utilisation(self) -> float:
        """Pressure over limit [-]."""
        return self.pressure / self.limit


def bearing_under_head(engine: Engine, head: HeadCapacity) -> Bearing:
    """Bearing pressure under the head or nut of a fastener, and the washer it takes."""
    limit = materials.joint_material(engine.word("head_joint.head_material")).bearing_limit
    load = np.maximum(head.assembly_preload, head.preload_hot)
    hole = head.fastener.turned.clearance_hole_diameter
    usual = WASHER_DIAMETERS * head.fastener.turned.nominal_diameter
    area = math.pi / 4 * (usual**2 - hole**2)
    needed = math.sqrt(4 * float(np.quantile(load, 0.95)) / (math.pi * limit) + hole**2)
    return Bearing(
        pressure=float(np.median(load)) / area,
        limit=limit,
        usual_washer=usual,
        washer=math.ceil(max(needed, head.fastener.turned.bearing_outer_diameter) * 1e3) * 1e-3,
    )


def fastener_loads(engine: Engine, head: HeadCapacity, worst: Array, peak: Array) -> FastenerLoads:
    """Loads of a fastener at the highest pressure of a pull (N,) and the mean peak (N,) [Pa].

    Of the kind of cylinder whose firing adds most to a fastener. A fastener that firing takes past
    yield has stretched and keeps less.
    """
    kind, greater = _most_loaded(head)
    ring, area = head.rings[kind], head.sealing_area
    opens = np.maximum(head.ring_open_pressure(kind), 0.0)

    amplitude = ring.gain * peak * area / (2 * head.fastener.thread_area)
    return FastenerLoads(
        rest=spread_of(greater),
        firing=spread_of(head.fastener_load(worst, kind, greater)),
        hot_share=float((head.preload_hot >= head.preload_cold).mean()),
        open_pressure=spread_of(opens),
        at_open=spread_of(head.fastener_load(opens, kind, head.preload)),
        gain_closed=float(np.median(ring.gain * area)),
        gain_lifted=float(np.median(ring.gain_open * area)),
        open_share=float((worst > opens).mean()),
        amplitude=spread_of(amplitude),
        amplitude_limit=float(head.fatigue_amplitude),
        bearing=bearing_under_head(engine, head),
    )


def _most_loaded(head: HeadCapacity) -> tuple[HeldBy, Array]:
    """Kind of cylinder whose firing adds most to a fastener, and the preload it adds to (N,) [N].

    The greater of cold and hot, at most the load at which it yields.
    """
    kind = max(head.rings, key=lambda k: float(np.median(head.rings[k].gain)))
    greater = np.maximum(head.preload_cold, head.preload_hot)
    return kind, np.minimum(greater, head.yield_load)


@dataclass(frozen=True, kw_only=True, eq=False)
class FiringCurve:
    """A fastener and its ring as cylinder pressure rises: medians, forces per fastener [N]."""

    pressure: Array
    """Cylinder pressure (P,) [Pa]; the last is the one asked about."""
    fastener: Array
    """In the most loaded one, from the greater of cold and hot (P,)."""
    left: Array
    """On the ring that lifts first, warm, over the fasteners that clamp it (P,)."""
    lift: Spread
    """Pressure at which that ring lifts [Pa]."""
    yield_load: float
    """At which a fastener yields in service."""


CURVE_POINTS = 60
CURVE_BEYOND = 1.3
"""How far the curve goes beyond the 95 % point of the pressure that lifts [-]."""


def firing_curve(head: HeadCapacity, pressure: float) -> FiringCurve:
    """Forces of a joint from no pressure to beyond lift, and at one pressure [Pa]."""
    lift = head.lift_pressure()
    most = CURVE_BEYOND * float(np.quantile(lift, 0.95))
    grid = np.append(np.linspace(0.0, most, CURVE_POINTS), pressure)
    kind, greater = _most_loaded(head)
    first = min(head.rings, key=lambda k: float(np.median(head.lift_pressure(k))))
    each = np.repeat(grid[:, None], len(head.preload), axis=1)
    left = head.ring_clamp_left(each, first) / head.rings[first].fasteners
    return FiringCurve(
        pressure=grid,
        fastener=np.median(head.fastener_load(each, kind, greater), axis=1),
        left=np.median(left, axis=1),
        lift=spread_of(lift),
        yield_load=float(np.median(head.yield_load)),
    )


def loads_of_run(assessment: Assessment, speed: int) -> FastenerLoads:
    """Loads of a fastener in the measured run, at the index of a speed."""
    a = assessment
    demand = a.model.demand
    place = place_of(demand.torque, a.torque)
    worst = place.read(a.model.load(a.limits["head_lift"].limit))[speed]
    return fastener_loads(a.engine, a.model.parts.head, worst, place.read(demand.peak)[speed])


def loads_of_ask(ask: Ask, engine: Engine, head: HeadCapacity) -> FastenerLoads:
    """Loads of a fastener at the worst speed of the curve asked."""
    return fastener_loads(engine, head, ask.worst[ask.worst_speed], ask.peak[ask.worst_speed])
