"""The joint diagram of one fastener: force against stretch, at rest and at firing, cold and hot."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.limits import place_of
from torquerisk.study.strengths.head import HeadCapacity
from torquerisk.study.studs.judgement import thermal_gain
from torquerisk.study.studs.results import StudChoice


@dataclass(frozen=True, kw_only=True)
class WorkingPoint:
    """Where fastener and clamped parts stand. Forces per fastener [N], stretch from loose [m]."""

    preload: float
    """At rest."""
    gas_force: float
    """That fastener and ring bear between them, by fastener, neighbours' part left out; 0 at
    rest."""
    fastener_force: float
    clamp_force: float
    """Left on the ring and other beads, by fastener."""
    stretch: float
    """Of the fastener."""
    line_load: float
    """Left on the combustion ring, its mean [N/m]; 0 where it has lifted."""


@dataclass(frozen=True, kw_only=True, eq=False)
class JointDiagram:
    """Force against deformation for one fastener and its share of head and gasket. SI.

    Of the joint of the cylinder that lifts first, with every input at its median. The clamped side
    is as stiff as head, ring and neighbours together make it: the lines cross with slopes that
    split between them what the head as a beam leaves to this cylinder.
    """

    pressure: float
    """Cylinder pressure at firing, absolute [Pa]."""
    speed: float
    """Where the pressure belongs [rad/s]; that of the highest pressure unless asked."""
    effective_count: float
    """Fasteners that clamp the ring [-]."""
    load_factor: float
    """Share of that force that the fastener gains [-]."""
    fastener_compliance: float
    """Stretch per force of the fastener's side [m/N]."""
    member_compliance: float
    """Of the clamped side [m/N]."""
    points: Mapping[str, WorkingPoint]
    """'rest, cold', 'firing, cold', 'rest, hot', 'firing, hot' and 'lift' (from rest, hot)."""
    clamp_at_lift: float
    """Clamp per fastener at which the ring's mean is down to the line load at which it lifts, warm
    [N]."""
    yield_load: float
    """Load at which the fastener yields in service [N]."""
    fastener_line: tuple[Array, Array]
    """Stretch [m] and force [N] from loose to yield."""
    member_line: Mapping[str, tuple[Array, Array]]
    """Stretch [m] and clamp [N] of the clamped side, 'cold' and 'hot', from rest to clamp gone."""


def joint_diagram(
    assessment: Assessment,
    choice: StudChoice | None = None,
    torque: Array | float | None = None,
    speed: float | None = None,
) -> JointDiagram:
    """The joint diagram at the highest pressure of a pull.

    choice: a fastening of the bench, the present one when left out. torque: the curve judged (S,)
    or one torque at every speed [N*m], the measured run when left out. speed: the nearest speed of
    the run is taken [rad/s]; that of the highest pressure when left out.
    """
    model = assessment.model
    head = model.parts.head if choice is None else choice.head
    draws: Draws = model.draws if choice is None else choice.draws
    engine = assessment.engine if choice is None else choice.engine
    speeds = assessment.speed
    wanted = assessment.torque if torque is None else np.broadcast_to(torque, speeds.shape)
    worst = np.median(place_of(model.demand.torque, wanted).load(model.demand.worst), axis=1)
    at = int(np.argmax(worst) if speed is None else np.argmin(np.abs(speeds - speed)))
    pressure = float(worst[at])
    gain = float(np.median(thermal_gain(engine, draws, head)))
    return _diagram(head, pressure, float(assessment.speed[at]), gain)


def _diagram(head: HeadCapacity, pressure: float, speed: float, gain: float) -> JointDiagram:
    def middle(values: Array) -> float:
        return float(np.median(values))

    first = min(head.rings, key=lambda kind: middle(head.lift_pressure(kind)))
    ring = head.rings[first]
    count, own = middle(ring.fasteners), middle(ring.own_share)
    gained = middle(ring.gain) * count
    factor = gained / (gained + own)
    stretching = middle(head.fastener_compliance)
    clamped = stretching * factor / (1 - factor)
    cold, share = middle(head.preload_cold), middle(head.ring_share)
    hot = max(min(cold + gain, middle(head.yield_load)), 0.0)
    around = np.pi * middle(head.sealing_diameter)
    sealing = middle(head.lift_line_load) * around / count
    gas = pressure * middle(head.sealing_area) / count * (gained + own)

    def point(preload: float, force: float) -> WorkingPoint:
        clamp = max(preload - (1 - factor) * force, 0.0)
        load = max(preload + factor * force, force)
        left = max(clamp - (1 - share) * preload, 0.0) * count
        return WorkingPoint(
            preload=preload, gas_force=force, fastener_force=load, clamp_force=clamp,
            stretch=load * stretching, line_load=left / around,
        )  # fmt: skip

    def members_line(preload: float) -> tuple[Array, Array]:
        start = preload * stretching
        return np.array([start, start + preload * clamped]), np.array([preload, 0.0])

    lift = max(share * hot - sealing, 0.0) / (1 - factor)
    top = middle(head.yield_load)
    return JointDiagram(
        pressure=pressure,
        speed=speed,
        effective_count=count,
        load_factor=factor,
        fastener_compliance=stretching,
        member_compliance=clamped,
        points={
            "rest, cold": point(cold, 0.0),
            "firing, cold": point(cold, gas),
            "rest, hot": point(hot, 0.0),
            "firing, hot": point(hot, gas),
            "lift": point(hot, lift),
        },
        clamp_at_lift=(1 - share) * hot + sealing,
        yield_load=top,
        fastener_line=(np.array([0.0, top * stretching]), np.array([0.0, top])),
        member_line={"cold": members_line(cold), "hot": members_line(hot)},
    )
