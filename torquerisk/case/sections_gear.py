"""The section on the running gear: piston, pin, rod and big end."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

from torquerisk.case.declare import YES_NO, Kind, declared
from torquerisk.case.shared_defaults import PRACTICE, bore_power, by_ignition, piston_mass

TENSILE_OVER_YIELD = 1.35
"""Tensile over yield strength of a rod where only one is given [-], 1.3 to 1.5 (from memory)."""


def _rod_yield(engine: Any) -> float:
    """Rod yield strength [Pa] where none is given: it follows a tensile strength that is."""
    tensile: float | None = engine.running_gear.rod_tensile_strength
    return 640e6 if tensile is None else tensile / TENSILE_OVER_YIELD


ROD_BOLT_OVER_BORE = 0.108
"""Rod bolt's nominal diameter over the bore [-] (common practice, no source)."""
ROD_BOLTS = ("M6x0.75", "M7x1", "M8x1", "M9x1", "M10x1.25", "M11x1.25", "M12x1.25", "M14x1.5",
             "M16x1.5", "M18x1.5", "M20x1.5", "M22x1.5")  # fmt: skip


def _rod_bolt(engine: Any) -> str:
    """Thread of the rod bolt whose diameter is nearest to its usual share of the bore."""
    wanted = ROD_BOLT_OVER_BORE * engine.bore
    return min(ROD_BOLTS, key=lambda name: abs(_diameter(name) - wanted))


def _diameter(thread: str) -> float:
    """Nominal diameter [m] that a metric thread's name begins with; 9 mm for another's."""
    found = re.match(r"M(\d+(?:\.\d+)?)", thread)
    return float(found[1]) * 1e-3 if found else 0.009


@dataclass(frozen=True, kw_only=True)
class RunningGear:
    """Piston, pin, rod and big end."""

    original_rods: str | None = declared(
        "Rods as the maker fitted them",
        options=YES_NO,
        help="false for other rods: they have no share in the margin that makers leave",
    )
    original_rod_bolts: str | None = declared(
        "Rod bolts as the maker fitted them",
        options=YES_NO,
        help="false for other bolts: they have no share in the margin that makers leave",
    )
    piston_mass: float | None = declared(
        "Piston mass with rings and pin",
        Kind.MASS.within(0.03, 20.0),
        default=piston_mass,
        spread=(0.01, 0.18),
        reason="660 kg/m^3 times bore cubed, less for a rating beyond 20,000 m/s^2 of crank-pin "
        "acceleration, by its power -0.43, where the bore is 1.35 times the stroke or more for "
        "21 m/s if none is given; for diesel 1,350 at 83 mm and 1,700 at 130 mm, where "
        "crowns are of steel and pins thick (from memory)",
    )
    rod_mass: float | None = declared(
        "Rod mass",
        Kind.MASS.within(0.05, 20.0),
        default=lambda e: (900.0 if e.compression_ignition else 560.0) * e.bore**2 * e.rod_length,
        spread=(0.01, 0.15),
        reason=f"scaled by bore^2 x length {PRACTICE}",
    )
    rod_big_end_share: float | None = declared(
        "Share of the rod's mass at the big end",
        Kind.SHARE.within(0.5, 0.85),
        default=0.70,
        spread=(0.01, 0.03),
        absolute=True,
        reason=f"0.65 to 0.75 for plain rods {PRACTICE}",
    )
    rod_inertia: float | None = declared(
        "Rod moment of inertia about its centre of mass",
        Kind.INERTIA.within(1e-5, 1.0),
        help="adds the correction couple of the two-mass model",
    )
    rod_section_area: float | None = declared(
        "Least section of the rod shank",
        Kind.AREA.within(2e-5, 4e-3),
        default=bore_power(0.0257, 0.048, 2, growth=0.4),
        spread=(0.03, 0.15),
        reason="2.6 % of bore squared; for diesel 4.8 % at 83 mm and 5.8 % at 130 mm, which 160 "
        f"and 200 bar press with 250 to 290 MPa {PRACTICE}",
    )
    rod_inertia_ratio: float | None = declared(
        "Shank second moment of area, in the plane of motion over across it",
        Kind.NUMBER.within(0.5, 8.0),
        default=3.2,
        spread=(0.0, 0.15),
        reason="3.2 for the classical I section of thickness t, flange 4 t, height 5 t",
    )
    rod_yield_strength: float | None = declared(
        "Rod yield strength",
        Kind.STRESS.within(2e8, 2e9),
        default=_rod_yield,
        spread=(0.04, 0.10),
        reason="between sintered-forged (588) and micro-alloyed (700 MPa) rods; 1/1.35 of the "
        "tensile strength where that is given (from memory)",
    )
    rod_tensile_strength: float | None = declared(
        "Rod tensile strength",
        Kind.STRESS.within(3e8, 2.3e9),
        default=lambda e: TENSILE_OVER_YIELD * e.value("running_gear.rod_yield_strength").value,
        spread=(0.04, 0.06),
        reason="1.3 to 1.5 of yield for rod steels (from memory)",
    )
    rod_fatigue_share: float | None = declared(
        "Rod fatigue limit over its tensile strength",
        Kind.SHARE.within(0.1, 0.6),
        default=0.33,
        spread=(0.10, 0.15),
        reason="axial R=-1 specimens 0.39 to 0.45 (from memory) times 0.8 for surface and size",
    )
    rod_bolts: float | None = declared(
        "Bolts per rod", Kind.COUNT.within(2, 4), default=2.0, reason="two as a rule"
    )
    rod_bolt_stretch: float | None = declared(
        "Rod bolt stretch as measured",
        Kind.LENGTH.within(2e-5, 2e-3),
        spread=(0.05, 0.0),
        help="how much longer tightening made the bolt: tells preload better than torque or angle",
    )
    rod_bolt_length: float | None = declared(
        "Rod bolt length that stretches",
        Kind.LENGTH.within(0.01, 0.2),
        default=lambda e: 4.5 * _diameter(e.word("running_gear.rod_bolt_thread")),
        reason=f"4.5 diameters under the head, half the engaged thread counted {PRACTICE}",
    )
    rod_bolt_thread: str | None = declared(
        "Rod bolt thread",
        default=_rod_bolt,
        reason=f"about a ninth of the bore: M8x1 to M9x1 in cars, M14x1.5 in trucks {PRACTICE}",
    )
    rod_bolt_class: str | None = declared(
        "Rod bolt property class", default="10.9", reason=f"10.9 as a rule, 12.9 in some {PRACTICE}"
    )
    rod_bolt_preload_share: float | None = declared(
        "Rod bolt preload over its proof load",
        Kind.SHARE.within(0.2, 1.1),
        default=0.85,
        spread=(0.06, 0.10),
        reason=f"tightened by angle close to yield {PRACTICE}",
    )
    pin_diameter: float | None = declared(
        "Piston pin diameter",
        Kind.LENGTH.within(0.008, 0.12),
        default=bore_power(0.256, 0.335, 1, growth=0.5),
        spread=(0.0, 0.05),
        reason="a quarter of the bore; for diesel a third at 83 mm and 0.42 at 130 mm (from "
        "memory)",
    )
    pin_bore_diameter: float | None = declared(
        "Piston pin inner diameter",
        Kind.LENGTH.within(0.0, 0.08),
        default=lambda e: 0.55 * e.value("running_gear.pin_diameter").value,
        spread=(0.0, 0.06),
        reason=f"half to six tenths of the outside {PRACTICE}",
    )
    pin_yield_strength: float | None = declared(
        "Piston pin core yield strength",
        Kind.STRESS.within(3e8, 2e9),
        default=850e6,
        spread=(0.05, 0.12),
        reason="case-hardened alloy steel (from memory)",
    )
    small_end_width: float | None = declared(
        "Small-end bush width",
        Kind.LENGTH.within(0.006, 0.12),
        default=bore_power(0.24, 0.30, 1, growth=0.25),
        spread=(0.0, 0.08),
        reason=f"a quarter of the bore, 0.30 to 0.34 for diesel {PRACTICE}",
    )
    small_end_wall: float | None = declared(
        "Wall of the small-end eye at its crown, without bush",
        Kind.LENGTH.within(0.0015, 0.05),
        default=lambda e: 0.20 * e.value("running_gear.pin_diameter").value,
        spread=(0.03, 0.06),
        reason="eye 1.3 to 1.7 times the pin outside (from memory), over a bush of a twentieth; "
        "half of that range, for a thin one goes with a light piston",
    )
    pin_boss_length: float | None = declared(
        "Pin boss length, both bosses",
        Kind.LENGTH.within(0.008, 0.15),
        default=bore_power(0.33, 0.40, 1),
        spread=(0.0, 0.08),
        reason=f"a third of the bore {PRACTICE}",
    )
    ring_land_height: float | None = declared(
        "Land between the first and second ring groove",
        Kind.LENGTH.within(0.001, 0.03),
        spread=(0.03, 0.0),
    )
    big_end_bearing: str | None = declared(
        "Big-end bearing",
        options=("plain", "roller"),
        default="plain",
        reason="'roller' for rods of one piece on a pressed crank: no cap, bolts, lining or film",
    )
    firing_order: str | None = declared(
        "Firing order",
        help="cylinders from one end, such as 1-3-4-2, with even firing: main bearings get the sum "
        "of both their neighbours",
    )
    bank_angle: float | None = declared(
        "Angle between the rows of a vee or flat engine",
        Kind.ANGLE.within(math.radians(10), math.pi),
        help="with the firing order, cylinders counted along the crankshaft: 1 and 2 stand between "
        "the same main bearings, then 3 and 4",
    )
    counterweight_share: float | None = declared(
        "Counterweights over the rods' turning mass",
        Kind.SHARE.within(0.0, 1.5),
        help="what they balance beside the throws themselves; without it main bearings are told "
        "without them",
    )
    critical_speed: float | None = declared(
        "Engine speed at which the crankshaft's torsion resonates",
        Kind.SPEED.within(50.0, 1500.0),
        help="from the damper's or crankshaft's maker: told of, never judged",
    )
    big_end_diameter: float | None = declared(
        "Crankpin diameter",
        Kind.LENGTH.within(0.02, 0.16),
        default=bore_power(0.56, 0.63, 1, growth=0.25),
        spread=(0.0, 0.04),
        reason="0.5 to 0.65 of the bore; for diesel 0.63 at 83 mm and 0.70 at 130 mm (from memory)",
    )
    big_end_width: float | None = declared(
        "Big-end bearing width",
        Kind.LENGTH.within(0.008, 0.10),
        default=bore_power(0.23, 0.27, 1, growth=0.35),
        spread=(0.0, 0.06),
        reason="a quarter of the bore; for diesel 0.27 at 83 mm and 0.32 at 130 mm (from memory)",
    )
    cap_thickness: float | None = declared(
        "Big-end cap in its middle, without shell",
        Kind.LENGTH.within(0.003, 0.1),
        default=lambda e: 0.24 * e.value("running_gear.big_end_diameter").value,
        spread=(0.03, 0.06),
        reason="a quarter of the crankpin, ribs counted (from memory); a thin one goes with a "
        "light piston",
    )
    big_end_clearance: float | None = declared(
        "Big-end clearance on the diameter",
        Kind.LENGTH.within(5e-6, 3e-4),
        default=lambda e: 0.001 * e.value("running_gear.big_end_diameter").value,
        spread=(0.15, 0.25),
        reason=f"a thousandth of the diameter {PRACTICE}",
    )
    big_end_lining: str | None = declared(
        "Big-end lining",
        default=by_ignition(
            "lead-bronze or tin-aluminium, small engines", "trimetal, electroplated overlay"
        ),
        reason=f"aluminium-tin in petrol, tri-metal in diesel engines {PRACTICE}",
    )
    oil_grade: str | None = declared(
        "Oil grade when warm (SAE J300)", default="30", reason="SAE J300 grade 30"
    )
    oil_temperature: float | None = declared(
        "Oil temperature in the bearing",
        Kind.TEMPERATURE.within(303.15, 443.15),
        default=393.15,
        spread=(8.0, 12.0),
        absolute=True,
        reason=f"120 °C in the film at full load {PRACTICE}",
    )
