"""The section on the head joint: fasteners, clamped parts and gasket."""

from __future__ import annotations

import math
from dataclasses import dataclass

from torquerisk.case.declare import YES_NO, Kind, declared
from torquerisk.case.joint_defaults import (
    BOLT,
    FASTENER_KINDS,
    FASTENER_MATERIALS,
    FRICTION_SPREAD,
    FRICTIONS,
    GASKETS,
    JOINT_MATERIALS,
    LEAST_BRIDGE,
    STUD,
    friction_width,
    gasket_of,
    named_oil,
    thread_nominal,
    usual_engagement,
    usual_tightening,
)
from torquerisk.case.lubricants import LUBRICANTS
from torquerisk.case.shared_defaults import PRACTICE, bore_power, by_ignition


@dataclass(frozen=True, kw_only=True)
class HeadJoint:
    """Head fasteners, clamped parts and gasket."""

    fasteners: int = declared(
        label="Head fasteners, all heads", kind=Kind.COUNT, required=True, low=2, high=80
    )
    fasteners_around: int | None = declared(
        label="Head fasteners around one bore, shared ones included",
        kind=Kind.COUNT,
        low=4,
        high=12,
        help="four at its corners, the rest beside it; rows of equally many are taken if left out",
    )
    fasteners_by_row: str | None = declared(
        label="Head fasteners of each row across the head, front to rear",
        kind=None,
        help="of one head, such as '3 2 2 2 3' for four cylinders; others stand beside the bores",
    )
    thread: str = declared(label="Fastener thread in the block", kind=None, required=True)
    fastener: str | None = declared(
        label="Kind of head fastener",
        kind=None,
        default=lambda e: BOLT if e.head_joint.nut_thread is None else STUD,
        options=FASTENER_KINDS,
        reason=f"a bolt with a hexagon head, unless a thread under a nut is given {PRACTICE}",
    )
    nut_thread: str | None = declared(
        label="Thread under the nut of a stud",
        kind=None,
        help="where it is another than in the block, such as M12x1.25 over M12x1.75",
    )
    bearing_diameter: float | None = declared(
        label="Outside diameter of the face that turns",
        kind=Kind.LENGTH,
        low=0.007,
        high=0.06,
        help="under head or nut, on head or washer; of a hexagon or flange by standard if left out",
    )
    property_class: str = declared(
        label="Fastener class",
        kind=None,
        required=True,
        help="8.8 to 12.9, grade 5 or 8, or 'special' with its own yield and tensile strength",
    )
    original: str | None = declared(
        label="Head joint as its maker built it", kind=None, options=YES_NO,
        help="false where fasteners, gasket or tightening were changed: the joint then has no "
        "share in the margin that makers leave",
    )  # fmt: skip
    sealing_diameter: float | None = declared(
        label="Sealing diameter of the combustion ring",
        kind=Kind.LENGTH,
        low=0.03,
        high=0.23,
        default=lambda e: e.bore + 0.004,
        spread_given=0.0007,
        spread_assumed=0.0015,
        absolute=True,
        reason=f"bore plus 2 to 6 mm {PRACTICE}",
    )
    tightening: str | None = declared(
        label="Tightening method",
        kind=None,
        default=usual_tightening,
        options=("torque", "angle", "yield", "stretch"),
        reason="by stretch or torque where one is given; else by angle, as most heads since 1990 "
        f"{PRACTICE}",
    )
    tightening_torque: float | None = declared(
        label="Tightening torque",
        kind=Kind.TORQUE,
        low=5.0,
        high=600.0,
        spread_given=0.03,
        reason="a calibrated wrench keeps 3 to 4 % (ISO 6789 allows 4 %, from memory)",
        help="snug torque first when tightened by angle",
    )
    tightening_angle: float | None = declared(
        label="Tightening angle after the snug torque",
        kind=Kind.ANGLE,
        low=math.radians(10),
        high=math.radians(400),
    )
    tightening_stretch: float | None = declared(
        label="Stretch of a fastener to tighten to",
        kind=Kind.LENGTH,
        low=2e-5,
        high=3e-3,
        help="length tightened less length loose, end to end",
    )
    measured_stretch: float | None = declared(
        label="Measured stretch of the fasteners as they stand, mean",
        kind=Kind.LENGTH,
        low=2e-5,
        high=3e-3,
        help="length under load less length loose, of fasteners that have not yielded; tells their "
        "preload whatever the friction was",
    )
    lubricant: str | None = declared(
        label="Lubricant on thread and bearing face",
        kind=None,
        options=tuple(LUBRICANTS),
        help="what was on them while they were tightened; friction figures of its maker go before",
    )
    thread_friction: float | None = declared(
        label="Thread friction",
        kind=Kind.NUMBER,
        low=FRICTIONS[0],
        high=FRICTIONS[1],
        default=lambda e: 0.12 if named_oil(e) is None else named_oil(e).middle,
        spread_given=0.015,
        spread_assumed=FRICTION_SPREAD,
        widened=friction_width,
        absolute=True,
        reason="of the lubricant where one is named; else VDI 2230 friction class B, 0.08 to 0.16, "
        "oiled (from memory)",
    )
    head_friction: float | None = declared(
        label="Friction under the head or nut",
        kind=Kind.NUMBER,
        low=FRICTIONS[0],
        high=FRICTIONS[1],
        default=lambda e: e.value("head_joint.thread_friction").value,
        spread_given=0.015,
        spread_assumed=FRICTION_SPREAD,
        widened=friction_width,
        absolute=True,
        reason="as in the thread unless given",
    )
    yield_strength: float | None = declared(
        label="Fastener yield strength",
        kind=Kind.STRESS,
        low=3e8,
        high=2.2e9,
        help="overrides the class and is taken as given; needed for class 'special'",
    )
    tensile_strength: float | None = declared(
        label="Fastener tensile strength",
        kind=Kind.STRESS,
        low=4e8,
        high=2.4e9,
        help="overrides the class; needed for class 'special'",
    )
    fastener_material: str | None = declared(
        label="Fastener material",
        kind=None,
        default=FASTENER_MATERIALS[0],
        options=FASTENER_MATERIALS,
        reason="low-alloy steel; austenitic studs grow with an aluminium head and gain less warm",
    )
    clamped_length: float | None = declared(
        label="Clamped length under the fastener head",
        kind=Kind.LENGTH,
        low=0.015,
        high=0.35,
        default=bore_power(1.15, 1.25, 1),
        spread_assumed=0.12,
        spread_given=0.02,
        reason=f"head height at the fastener, a little above the bore {PRACTICE}",
    )
    counterbore_depth: float | None = declared(
        label="Part of the clamped length that is in a counterbored block",
        kind=Kind.LENGTH,
        low=0.0,
        high=0.2,
    )
    shank_diameter: float | None = declared(
        label="Fastener shank diameter",
        kind=Kind.LENGTH,
        low=0.005,
        high=0.03,
        default=lambda e: 0.91 * thread_nominal(e),
        spread_assumed=0.04,
        spread_given=0.01,
        reason="shank rolled to about the pitch diameter",
    )
    engagement_length: float | None = declared(
        label="Thread engagement in the block",
        kind=Kind.LENGTH,
        low=0.006,
        high=0.08,
        default=usual_engagement,
        spread_assumed=0.10,
        spread_given=0.03,
        reason="head fasteners sit deep: 2.5 d in aluminium, 1.7 d in iron, a fifth more for class "
        "12.9, so that the fastener breaks first (VDI 2230); give it where stronger fasteners went "
        f"into threads made for weaker ones {PRACTICE}",
    )
    thread_insert: str | None = declared(
        label="Thread insert of wire in the block",
        kind=None,
        options=YES_NO,
        help="spreads the load over a larger thread in the block",
    )
    head_material: str | None = declared(
        label="Head material",
        kind=None,
        default="cast aluminium",
        options=JOINT_MATERIALS,
        reason="aluminium heads are the rule",
    )
    block_material: str | None = declared(
        label="Block material",
        kind=None,
        default=by_ignition("cast aluminium", "grey iron"),
        options=JOINT_MATERIALS,
        reason="aluminium for petrol, iron for diesel",
    )
    gasket: str | None = declared(
        label="Kind of head gasket",
        kind=None,
        default="layered steel",
        options=tuple(GASKETS),
        reason="layered steel since about 2000; wire ring for a wire or metal o-ring in a groove "
        f"{PRACTICE}",
    )
    ring_share: float | None = declared(
        label="Share of the clamp that reaches the combustion ring",
        kind=Kind.SHARE,
        low=0.2,
        high=1.0,
        default=0.80,
        spread_given=0.04,
        spread_assumed=0.06,
        absolute=True,
        reason="0.7 to 0.9; the rest presses on beads around water and oil (bending of the head "
        f"is counted apart) {PRACTICE}",
    )
    sealing_line_load: float | None = declared(
        label="Least line load that keeps the ring fully tight",
        kind=Kind.LINE_LOAD,
        low=0.0,
        high=4e5,
        default=lambda e: gasket_of(e).line_load,
        spread_given=0.15,
        spread_assumed=0.30,
        reason="30 to 80 N/mm left at peak firing for multi-layer steel gaskets (from memory), "
        f"more for composition and wire rings {PRACTICE}",
    )
    lift_share: float | None = declared(
        label="Line load at which the ring lifts, over that which keeps it fully tight",
        kind=Kind.SHARE,
        low=0.0,
        high=1.0,
        default=lambda e: gasket_of(e).lift_share,
        spread_given=0.05,
        spread_assumed=0.08,
        absolute=True,
        reason="on a bead 1 to 2 mm wide 20 N/mm press as hard as the gas does, 10 to 20 MPa: from "
        f"there gas gets under it {PRACTICE}",
    )
    ring_stiffness: float | None = declared(
        label="Stiffness of one combustion ring with the deck below it",
        kind=Kind.STIFFNESS,
        low=5e7,
        high=5e10,
        default=lambda e: gasket_of(e).stiffness * math.pi * (e.bore + 0.004),
        spread_given=0.15,
        spread_assumed=0.50,
        reason="7 kN/mm for each mm of its circle: composition 2, embossed steel layers 4 to 8, a "
        f"stopper or solid ring 15, in series with liner and deck {PRACTICE}",
    )
    head_height: float | None = declared(
        label="Height of the head",
        kind=Kind.LENGTH,
        low=0.015,
        high=0.4,
        default=lambda e: e.value("head_joint.clamped_length").value,
        spread_given=0.02,
        spread_assumed=0.12,
        reason="as the clamped length",
        help="of the part that bends as one, from the sealing face to the top deck",
    )
    head_section_share: float | None = declared(
        label="Stiffness of the head over that of a solid bar",
        kind=Kind.SHARE,
        low=0.02,
        high=1.5,
        default=0.35,
        spread_given=0.10,
        spread_assumed=0.35,
        reason=f"what ports, water jacket and chambers leave, 0.2 to 0.6 {PRACTICE}",
        help="of a bar 1.8 bores wide and as high as the head",
    )
    bore_pitch: float | None = declared(
        label="Distance between neighbouring bores",
        kind=Kind.LENGTH,
        low=0.03,
        high=0.4,
        default=lambda e: max(
            (1.15 if e.compression_ignition else 1.10) * e.bore,
            e.value("head_joint.sealing_diameter").value + LEAST_BRIDGE,
        ),
        reason=f"1.10 bores for petrol, 1.15 for diesel {PRACTICE}",
    )
    gasket_relaxation: float | None = declared(
        label="Preload lost by gasket relaxation",
        kind=Kind.SHARE,
        low=0.0,
        high=0.4,
        default=lambda e: gasket_of(e).relaxation,
        spread_given=0.02,
        spread_assumed=0.025,
        absolute=True,
        reason="5 to 10 % after heat cycles for layered steel and wire rings, 8 to 16 % for "
        f"composition {PRACTICE}",
    )
    assembly_temperature: float | None = declared(
        label="Temperature when tightened",
        kind=Kind.TEMPERATURE,
        low=253.15,
        high=323.15,
        default=293.15,
        reason="20 °C",
    )
    running_temperature: float | None = declared(
        label="Joint temperature at full load",
        kind=Kind.TEMPERATURE,
        low=293.15,
        high=473.15,
        default=378.15,
        spread_given=8.0,
        spread_assumed=10.0,
        absolute=True,
        reason=f"105 °C mean of head at the fasteners {PRACTICE}",
    )
