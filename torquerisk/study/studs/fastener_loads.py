"""What a head fastener and the face under it bear at one speed, before and after lift."""

import math
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Engine
from torquerisk.physics.head_joint import fatigue, joint, materials
from torquerisk.quantities import Array
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limits import place_of
from torquerisk.study.strengths.head import HeadCapacity
from torquerisk.study.studs.results import Ask, Spread, spread_of

WASHER_DIAMETERS = 2.0
"""Outer diameter of the usual hardened washer, in nominal diameters (common practice, no source).

It carries the head's or nut's force to its full face; VDI 2230 R10 would allow less for a thin one.
"""

HALF = 0.5


@dataclass(frozen=True, kw_only=True)
class FastenerLoads:
    """One fastener of the most lightly held cylinder at one speed; forces [N], pressures [Pa].

    What it bears is told in the greater of cold and hot, where it bears most; what opens the ring
    in the lesser, where the ring opens first.
    """

    rest: Spread
    """Preload in service in the greater of cold and hot; at most the load at which it yields where
    it is tightened into yield."""
    firing: Spread
    """From `rest`, at the highest pressure of a pull; with the whole added force once lifted."""
    hot_share: float
    """Share of simulated joints whose preload is no less hot than cold [-]."""
    open_pressure: Spread
    """Cylinder pressure at which nothing is left on the ring, from the lesser of cold and hot."""
    at_open: Spread
    """Load at that pressure in that lesser state; 0 where the ring is never closed."""
    gain_closed: float
    """Load gained by gas pressure while the ring is closed, median [N/Pa]."""
    gain_lifted: float
    """And once it has lifted, when the fastener carries all that is added [N/Pa]."""
    open_share: float
    """Share of simulated joints whose ring is open at the highest pressure, in the lesser [-]."""
    amplitude: Spread
    """Stress amplitude of a mean cycle with the ring closed, as the fatigue index has it [Pa]."""
    amplitude_limit: float
    """What the thread bears for good by VDI 2230 [Pa]; no other book's values are mixed in."""
    bearing: "Bearing"

    @property
    def load_state(self) -> str:
        """State of `rest` and `firing` in most simulated joints: 'hot' or 'cold'."""
        return "hot" if self.hot_share >= HALF else "cold"

    @property
    def open_state(self) -> str:
        """State of `open_pressure` and `at_open` in most simulated joints: 'cold' or 'hot'."""
        return "cold" if self.hot_share >= HALF else "hot"


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
    """Outer diameter with which 95 of 100 stay below the limit, whole millimetres [m]."""

    @property
    def utilisation(self) -> float:
        """Pressure over limit [-]."""
        return self.pressure / self.limit


def bearing_under_head(engine: Engine, head: HeadCapacity) -> Bearing:
    """Bearing pressure under the head or nut of a fastener, and the washer it takes."""
    limit = materials.joint_material(engine.word("head_joint.head_material")).bearing_limit
    load = np.maximum(head.assembly_preload, head.preload_hot)
    hole = head.thread.clearance_hole_diameter
    usual = WASHER_DIAMETERS * head.thread.nominal_diameter
    area = math.pi / 4 * (usual**2 - hole**2)
    needed = math.sqrt(4 * float(np.quantile(load, 0.95)) / (math.pi * limit) + hole**2)
    return Bearing(
        pressure=float(np.median(load)) / area,
        limit=limit,
        usual_washer=usual,
        washer=math.ceil(needed * 1e3) * 1e-3,
    )


def fastener_loads(engine: Engine, head: HeadCapacity, worst: Array, peak: Array) -> FastenerLoads:
    """Loads of a fastener at the highest pressure of a pull (N,) and the mean peak (N,) [Pa].

    The load factor is the one on the safe side for the fastener. Where fasteners are brought to
    yield on purpose, the preload is what the firing leaves them.
    """
    count = head.counts.least
    lesser = head.clamp / count
    greater = np.maximum(head.preload_cold, head.preload_hot)
    if head.to_yield:
        greater = np.minimum(greater, head.yield_load)

    def load(pressure: Array, preload: Array) -> Array:
        force = pressure * head.sealing_area
        kept = preload
        if head.to_yield:
            gained = head.load_factor_fastener * force / count
            kept = np.clip(head.yield_load - gained, 0.0, preload)
        return joint.fastener_load(
            force,
            preload_per_fastener=kept,
            effective_count=count,
            load_factor=head.load_factor_fastener,
            ring_share=head.ring_share,
        )

    opens = np.maximum(head.ring_open_pressure(), 0.0)
    one_pascal = head.sealing_area / count
    swing = head.load_factor_fastener * peak * one_pascal
    return FastenerLoads(
        rest=spread_of(greater),
        firing=spread_of(load(worst, greater)),
        hot_share=float((head.preload_hot >= head.preload_cold).mean()),
        open_pressure=spread_of(opens),
        at_open=spread_of(load(opens, lesser)),
        gain_closed=float(np.median(head.load_factor_fastener * one_pascal)),
        gain_lifted=float(np.median(one_pascal)),
        open_share=float((worst > opens).mean()),
        amplitude=spread_of(
            fatigue.stress_amplitude(lesser + swing, lesser, area=head.thread.stress_area)
        ),
        amplitude_limit=float(fatigue.amplitude_limit_vdi2230(head.thread.nominal_diameter)),
        bearing=bearing_under_head(engine, head),
    )


def loads_of_run(assessment: Assessment, speed: int) -> FastenerLoads:
    """Loads of a fastener in the measured run, at the index of a speed."""
    a = assessment
    demand = a.model.demand
    place = place_of(demand.torque, a.torque)
    worst = place.read(a.model.loads["head_lift"])[speed]
    return fastener_loads(a.engine, a.model.parts.head, worst, place.read(demand.peak)[speed])


def loads_of_ask(ask: Ask, engine: Engine, head: HeadCapacity, speed: int) -> FastenerLoads:
    """Loads of a fastener at the curve asked, at the index of a speed."""
    return fastener_loads(engine, head, ask.worst[speed], ask.peak[speed])
