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

    fasteners: int = declared("Head fasteners, all heads", Kind.COUNT.within(2, 80), required=True)
    fasteners_around: int | None = declared(
        "Head fasteners around one bore, shared ones included",
        Kind.COUNT.within(4, 12),
        help="four at its corners, the rest beside it; rows of equally many are taken if left out",
    )
    fasteners_by_row: str | None = declared(
        "Head fasteners of each row across the head, front to rear",
        help="of one head, such as '3 2 2 2 3' for four cylinders; others stand beside the bores",
    )
    thread: str = declared("Fastener thread in the block", required=True)
    fastener: str | None = declared(
        "Kind of head fastener",
        default=lambda e: BOLT if e.head_joint.nut_thread is None else STUD,
        options=FASTENER_KINDS,
        reason=f"a bolt with a hexagon head, unless a thread under a nut is given {PRACTICE}",
    )
    nut_thread: str | None = declared(
        "Thread under the nut of a stud",
        help="where it is another than in the block, such as M12x1.25 over M12x1.75",
    )
    bearing_diameter: float | None = declared(
        "Outside diameter of the face that turns",
        Kind.LENGTH.within(0.007, 0.06),
        help="under head or nut, on head or washer; of a hexagon or flange by standard if left out",
    )
    property_class: str = declared(
        "Fastener class",
        required=True,
        help="8.8 to 12.9, grade 5 or 8, or 'special' with its own yield and tensile strength",
    )
    original: str | None = declared(
        "Head joint as its maker built it",
        options=YES_NO,
        help="false where fasteners, gasket or tightening were changed: of the margin that makers "
        "leave, head and deck keep what they had with the maker's own bolts, the fasteners none",
    )
    original_thread: str | None = declared(
        "Thread of the maker's own head fasteners, where others are fitted",
        help="with original = false; the fitted thread is taken if left out",
    )
    original_class: str | None = declared(
        "Class of the maker's own head fasteners, where others are fitted",
        help="with original = false; 10.9 is taken if left out",
    )
    sealing_diameter: float | None = declared(
        "Sealing diameter of the combustion ring",
        Kind.LENGTH.within(0.03, 0.23),
        default=lambda e: e.bore + 0.004,
        spread=(0.0007, 0.0015),
        absolute=True,
        reason=f"bore plus 2 to 6 mm {PRACTICE}",
    )
    tightening: str | None = declared(
        "Tightening method",
        default=usual_tightening,
        options=("torque", "angle", "yield", "stretch"),
        reason="by stretch, angle or torque where given; else by angle, as most heads since 1990 "
        f"{PRACTICE}",
    )
    tightening_torque: float | None = declared(
        "Tightening torque",
        Kind.TORQUE.within(5.0, 600.0),
        spread=(0.03, 0.0),
        reason="a calibrated wrench keeps 3 to 4 % (ISO 6789 allows 4 %, from memory)",
        help="snug torque first when tightened by angle",
    )
    tightening_angle: float | None = declared(
        "Tightening angle after the snug torque",
        Kind.ANGLE.within(math.radians(10), math.radians(400)),
    )
    tightening_stretch: float | None = declared(
        "Stretch of a fastener to tighten to",
        Kind.LENGTH.within(2e-5, 3e-3),
        help="length tightened less length loose, end to end",
    )
    measured_stretch: float | None = declared(
        "Measured stretch of the fasteners as they stand, mean",
        Kind.LENGTH.within(2e-5, 3e-3),
        help="length under load less length loose, of fasteners that have not yielded; tells their "
        "preload whatever the friction was",
    )
    lubricant: str | None = declared(
        "Lubricant on thread and bearing face",
        options=tuple(LUBRICANTS),
        help="what was on them while they were tightened; friction figures of its maker go before",
    )
    thread_friction: float | None = declared(
        "Thread friction",
        Kind.NUMBER.within(FRICTIONS[0], FRICTIONS[1]),
        default=lambda e: 0.12 if named_oil(e) is None else named_oil(e).middle,
        spread=(0.015, FRICTION_SPREAD),
        widened=friction_width,
        absolute=True,
        reason="of the lubricant where one is named; else VDI 2230 friction class B, 0.08 to 0.16, "
        "oiled (from memory)",
    )
    head_friction: float | None = declared(
        "Friction under the head or nut",
        Kind.NUMBER.within(FRICTIONS[0], FRICTIONS[1]),
        default=lambda e: e.value("head_joint.thread_friction").value,
        spread=(0.015, FRICTION_SPREAD),
        widened=friction_width,
        absolute=True,
        reason="as in the thread unless given",
    )
    yield_strength: float | None = declared(
        "Fastener yield strength",
        Kind.STRESS.within(3e8, 2.2e9),
        help="overrides the class and is taken as given; needed for class 'special'",
    )
    tensile_strength: float | None = declared(
        "Fastener tensile strength",
        Kind.STRESS.within(4e8, 2.4e9),
        help="overrides the class; needed for class 'special'",
    )
    fastener_material: str | None = declared(
        "Fastener material",
        default=FASTENER_MATERIALS[0],
        options=FASTENER_MATERIALS,
        reason="low-alloy steel; austenitic studs grow with an aluminium head and gain less warm",
    )
    clamped_length: float | None = declared(
        "Clamped length under the fastener head",
        Kind.LENGTH.within(0.015, 0.35),
        default=bore_power(1.15, 1.25, 1),
        spread=(0.02, 0.12),
        reason=f"head height at the fastener, a little above the bore {PRACTICE}",
    )
    counterbore_depth: float | None = declared(
        "Part of the clamped length that is in a counterbored block", Kind.LENGTH.within(0.0, 0.2)
    )
    shank_diameter: float | None = declared(
        "Fastener shank diameter",
        Kind.LENGTH.within(0.005, 0.03),
        default=lambda e: 0.91 * thread_nominal(e),
        spread=(0.01, 0.04),
        reason="shank rolled to about the pitch diameter",
    )
    engagement_length: float | None = declared(
        "Thread engagement in the block",
        Kind.LENGTH.within(0.006, 0.08),
        default=usual_engagement,
        spread=(0.03, 0.10),
        reason="head fasteners sit deep: 2.5 d in aluminium, 1.7 d in iron, a fifth more for class "
        "12.9, so that the fastener breaks first (VDI 2230); give it where stronger fasteners went "
        f"into threads made for weaker ones {PRACTICE}",
    )
    thread_insert: str | None = declared(
        "Thread insert of wire in the block",
        options=YES_NO,
        help="spreads the load over a larger thread in the block",
    )
    head_material: str | None = declared(
        "Head material",
        default="cast aluminium",
        options=JOINT_MATERIALS,
        reason="aluminium heads are the rule",
    )
    block_material: str | None = declared(
        "Block material",
        default=by_ignition("cast aluminium", "grey iron"),
        options=JOINT_MATERIALS,
        reason="aluminium for petrol, iron for diesel",
    )
    gasket: str | None = declared(
        "Kind of head gasket",
        default="layered steel",
        options=tuple(GASKETS),
        reason="layered steel since about 2000; wire ring for a wire or metal o-ring in a groove "
        f"{PRACTICE}",
    )
    ring_share: float | None = declared(
        "Share of the clamp that reaches the combustion ring",
        Kind.SHARE.within(0.2, 1.0),
        default=lambda e: gasket_of(e).ring_share,
        spread=(0.04, 0.06),
        widened=lambda e: (1 - gasket_of(e).ring_share) / (1 - GASKETS["layered steel"].ring_share),
        absolute=True,
        reason="0.7 to 0.9, for a wire that stands proud 0.85 to 0.95; the rest presses on beads "
        f"around water and oil (bending of the head is counted apart) {PRACTICE}",
    )
    sealing_line_load: float | None = declared(
        "Least line load that keeps the ring fully tight",
        Kind.LINE_LOAD.within(0.0, 4e5),
        default=lambda e: gasket_of(e).line_load,
        spread=(0.15, 0.30),
        reason="30 to 80 N/mm left at peak firing for multi-layer steel gaskets (from memory), "
        f"more for composition and wire rings {PRACTICE}",
    )
    lift_share: float | None = declared(
        "Line load at which the ring lifts, over that which keeps it fully tight",
        Kind.SHARE.within(0.0, 1.0),
        default=lambda e: gasket_of(e).lift_share,
        spread=(0.05, 0.08),
        widened=lambda e: gasket_of(e).lift_share / GASKETS["layered steel"].lift_share,
        absolute=True,
        reason="on a bead 1 to 2 mm wide 20 N/mm press as hard as the gas does, 10 to 20 MPa: from "
        f"there gas gets under it; on a wire, 0.5 to 0.9 mm wide, 10 N/mm {PRACTICE}",
    )
    ring_stiffness: float | None = declared(
        "Stiffness of one combustion ring with the deck below it",
        Kind.STIFFNESS.within(5e7, 5e10),
        default=lambda e: gasket_of(e).stiffness * math.pi * (e.bore + 0.004),
        spread=(0.15, 0.50),
        reason="7 kN/mm for each mm of its circle: composition 2, embossed steel layers 4 to 8, a "
        f"stopper or solid ring 15, in series with liner and deck {PRACTICE}",
        help="for a hollow o-ring, which springs back, about 4 kN/mm for each mm of its circle",
    )
    head_height: float | None = declared(
        "Height of the head",
        Kind.LENGTH.within(0.015, 0.4),
        default=lambda e: e.value("head_joint.clamped_length").value,
        spread=(0.02, 0.12),
        reason="as the clamped length",
        help="of the part that bends as one, from the sealing face to the top deck",
    )
    head_section_share: float | None = declared(
        "Stiffness of the head over that of a solid bar",
        Kind.SHARE.within(0.02, 1.5),
        default=0.35,
        spread=(0.10, 0.35),
        reason=f"what ports, water jacket and chambers leave, 0.2 to 0.6 {PRACTICE}",
        help="of a bar 1.8 bores wide and as high as the head",
    )
    bore_pitch: float | None = declared(
        "Distance between neighbouring bores",
        Kind.LENGTH.within(0.03, 0.4),
        default=lambda e: max(
            (1.15 if e.compression_ignition else 1.10) * e.bore,
            e.value("head_joint.sealing_diameter").value + LEAST_BRIDGE,
        ),
        reason=f"1.10 bores for petrol, 1.15 for diesel {PRACTICE}",
    )
    gasket_relaxation: float | None = declared(
        "Preload lost by gasket relaxation",
        Kind.SHARE.within(0.0, 0.4),
        default=lambda e: gasket_of(e).relaxation,
        spread=(0.02, 0.025),
        absolute=True,
        reason="5 to 10 % after heat cycles for layered steel and wire rings, 8 to 16 % for "
        f"composition {PRACTICE}",
    )
    assembly_temperature: float | None = declared(
        "Temperature when tightened",
        Kind.TEMPERATURE.within(253.15, 323.15),
        default=293.15,
        reason="20 °C",
    )
    running_temperature: float | None = declared(
        "Joint temperature at full load",
        Kind.TEMPERATURE.within(293.15, 473.15),
        default=378.15,
        spread=(8.0, 10.0),
        absolute=True,
        reason=f"105 °C mean of head at the fasteners {PRACTICE}",
    )
