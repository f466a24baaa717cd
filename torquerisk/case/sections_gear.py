"""The section on the running gear: piston, pin, rod and big end."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

from torquerisk.case.declare import YES_NO, Kind, declared
from torquerisk.case.shared_defaults import PRACTICE, bore_power, by_ignition

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
        label="Rods as the maker fitted them", kind=None, options=YES_NO,
        help="false for other rods: they have no share in the margin that makers leave",
    )  # fmt: skip
    original_rod_bolts: str | None = declared(
        label="Rod bolts as the maker fitted them", kind=None, options=YES_NO,
        help="false for other bolts: they have no share in the margin that makers leave",
    )  # fmt: skip
    piston_mass: float | None = declared(
        label="Piston mass with rings and pin",
        kind=Kind.MASS,
        low=0.03,
        high=20.0,
        default=bore_power(660.0, 1350.0, 3, growth=0.5),
        spread_given=0.01,
        spread_assumed=0.18,
        reason="660 kg/m^3 times bore cubed; for diesel 1,350 at 83 mm and 1,700 at 130 mm, where "
        "crowns are of steel and pins thick (from memory)",
    )
    rod_mass: float | None = declared(
        label="Rod mass",
        kind=Kind.MASS,
        low=0.05,
        high=20.0,
        default=lambda e: (900.0 if e.compression_ignition else 560.0) * e.bore**2 * e.rod_length,
        spread_given=0.01,
        spread_assumed=0.15,
        reason=f"scaled by bore^2 x length {PRACTICE}",
    )
    rod_big_end_share: float | None = declared(
        label="Share of the rod's mass at the big end",
        kind=Kind.SHARE,
        low=0.5,
        high=0.85,
        default=0.70,
        spread_given=0.01,
        spread_assumed=0.03,
        absolute=True,
        reason=f"0.65 to 0.75 for plain rods {PRACTICE}",
    )
    rod_inertia: float | None = declared(
        label="Rod moment of inertia about its centre of mass",
        kind=Kind.INERTIA,
        low=1e-5,
        high=1.0,
        help="adds the correction couple of the two-mass model",
    )
    rod_section_area: float | None = declared(
        label="Least section of the rod shank",
        kind=Kind.AREA,
        low=2e-5,
        high=4e-3,
        default=bore_power(0.0257, 0.048, 2, growth=0.4),
        spread_given=0.03,
        spread_assumed=0.15,
        reason="2.6 % of bore squared; for diesel 4.8 % at 83 mm and 5.8 % at 130 mm, which 160 "
        f"and 200 bar press with 250 to 290 MPa {PRACTICE}",
    )
    rod_inertia_ratio: float | None = declared(
        label="Shank second moment of area, in the plane of motion over across it",
        kind=Kind.NUMBER,
        low=0.5,
        high=8.0,
        default=3.2,
        spread_assumed=0.15,
        reason="3.2 for the classical I section of thickness t, flange 4 t, height 5 t",
    )
    rod_yield_strength: float | None = declared(
        label="Rod yield strength",
        kind=Kind.STRESS,
        low=2e8,
        high=2e9,
        default=_rod_yield,
        spread_given=0.04,
        spread_assumed=0.10,
        reason="between sintered-forged (588) and micro-alloyed (700 MPa) rods; 1/1.35 of the "
        "tensile strength where that is given (from memory)",
    )
    rod_tensile_strength: float | None = declared(
        label="Rod tensile strength",
        kind=Kind.STRESS,
        low=3e8,
        high=2.3e9,
        default=lambda e: TENSILE_OVER_YIELD * e.value("running_gear.rod_yield_strength").value,
        spread_given=0.04,
        spread_assumed=0.06,
        reason="1.3 to 1.5 of yield for rod steels (from memory)",
    )
    rod_fatigue_share: float | None = declared(
        label="Rod fatigue limit over its tensile strength",
        kind=Kind.SHARE,
        low=0.1,
        high=0.6,
        default=0.33,
        spread_given=0.10,
        spread_assumed=0.15,
        reason="axial R=-1 specimens 0.39 to 0.45 (from memory) times 0.8 for surface and size",
    )
    rod_bolts: float | None = declared(
        label="Bolts per rod", kind=Kind.COUNT, low=2, high=4, default=2.0, reason="two as a rule"
    )
    rod_bolt_stretch: float | None = declared(
        label="Rod bolt stretch as measured",
        kind=Kind.LENGTH,
        low=2e-5,
        high=2e-3,
        spread_given=0.05,
        help="how much longer tightening made the bolt: tells preload better than torque or angle",
    )
    rod_bolt_length: float | None = declared(
        label="Rod bolt length that stretches",
        kind=Kind.LENGTH,
        low=0.01,
        high=0.2,
        default=lambda e: 4.5 * _diameter(e.word("running_gear.rod_bolt_thread")),
        reason=f"4.5 diameters under the head, half the engaged thread counted {PRACTICE}",
    )
    rod_bolt_thread: str | None = declared(
        label="Rod bolt thread",
        kind=None,
        default=_rod_bolt,
        reason=f"about a ninth of the bore: M8x1 to M9x1 in cars, M14x1.5 in trucks {PRACTICE}",
    )
    rod_bolt_class: str | None = declared(
        label="Rod bolt property class",
        kind=None,
        default="10.9",
        reason=f"10.9 as a rule, 12.9 in some {PRACTICE}",
    )
    rod_bolt_preload_share: float | None = declared(
        label="Rod bolt preload over its proof load",
        kind=Kind.SHARE,
        low=0.2,
        high=1.1,
        default=0.85,
        spread_given=0.06,
        spread_assumed=0.10,
        reason=f"tightened by angle close to yield {PRACTICE}",
    )
    pin_diameter: float | None = declared(
        label="Piston pin diameter",
        kind=Kind.LENGTH,
        low=0.008,
        high=0.12,
        default=bore_power(0.256, 0.335, 1, growth=0.5),
        spread_assumed=0.05,
        reason="a quarter of the bore; for diesel a third at 83 mm and 0.42 at 130 mm (from "
        "memory)",
    )
    pin_bore_diameter: float | None = declared(
        label="Piston pin inner diameter",
        kind=Kind.LENGTH,
        low=0.0,
        high=0.08,
        default=lambda e: 0.55 * e.value("running_gear.pin_diameter").value,
        spread_assumed=0.06,
        reason=f"half to six tenths of the outside {PRACTICE}",
    )
    pin_yield_strength: float | None = declared(
        label="Piston pin core yield strength",
        kind=Kind.STRESS,
        low=3e8,
        high=2e9,
        default=850e6,
        spread_given=0.05,
        spread_assumed=0.12,
        reason="case-hardened alloy steel (from memory)",
    )
    small_end_width: float | None = declared(
        label="Small-end bush width",
        kind=Kind.LENGTH,
        low=0.006,
        high=0.12,
        default=bore_power(0.24, 0.30, 1, growth=0.25),
        spread_assumed=0.08,
        reason=f"a quarter of the bore, 0.30 to 0.34 for diesel {PRACTICE}",
    )
    small_end_wall: float | None = declared(
        label="Wall of the small-end eye at its crown, without bush",
        kind=Kind.LENGTH,
        low=0.0015,
        high=0.05,
        default=lambda e: 0.20 * e.value("running_gear.pin_diameter").value,
        spread_given=0.03,
        spread_assumed=0.06,
        reason="eye 1.3 to 1.7 times the pin outside (from memory), over a bush of a twentieth; "
        "half of that range, for a thin one goes with a light piston",
    )
    pin_boss_length: float | None = declared(
        label="Pin boss length, both bosses",
        kind=Kind.LENGTH,
        low=0.008,
        high=0.15,
        default=bore_power(0.33, 0.40, 1),
        spread_assumed=0.08,
        reason=f"a third of the bore {PRACTICE}",
    )
    ring_land_height: float | None = declared(
        label="Land between the first and second ring groove",
        kind=Kind.LENGTH,
        low=0.001,
        high=0.03,
        spread_given=0.03,
    )
    big_end_bearing: str | None = declared(
        label="Big-end bearing",
        kind=None,
        options=("plain", "roller"),
        default="plain",
        reason="'roller' for rods of one piece on a pressed crank: no cap, bolts, lining or film",
    )
    firing_order: str | None = declared(
        label="Firing order",
        kind=None,
        help="cylinders from one end, such as 1-3-4-2, with even firing: main bearings get the sum "
        "of both their neighbours",
    )
    bank_angle: float | None = declared(
        label="Angle between the rows of a vee or flat engine",
        kind=Kind.ANGLE,
        low=math.radians(10),
        high=math.pi,
        help="with the firing order, cylinders counted along the crankshaft: 1 and 2 stand between "
        "the same main bearings, then 3 and 4",
    )
    counterweight_share: float | None = declared(
        label="Counterweights over the rods' turning mass",
        kind=Kind.SHARE,
        low=0.0,
        high=1.5,
        help="what they balance beside the throws themselves; without it main bearings are told "
        "without them",
    )
    critical_speed: float | None = declared(
        label="Engine speed at which the crankshaft's torsion resonates",
        kind=Kind.SPEED,
        low=50.0,
        high=1500.0,
        help="from the damper's or crankshaft's maker: told of, never judged",
    )
    big_end_diameter: float | None = declared(
        label="Crankpin diameter",
        kind=Kind.LENGTH,
        low=0.02,
        high=0.16,
        default=bore_power(0.56, 0.63, 1, growth=0.25),
        spread_assumed=0.04,
        reason="0.5 to 0.65 of the bore; for diesel 0.63 at 83 mm and 0.70 at 130 mm (from memory)",
    )
    big_end_width: float | None = declared(
        label="Big-end bearing width",
        kind=Kind.LENGTH,
        low=0.008,
        high=0.10,
        default=bore_power(0.23, 0.27, 1, growth=0.35),
        spread_assumed=0.06,
        reason="a quarter of the bore; for diesel 0.27 at 83 mm and 0.32 at 130 mm (from memory)",
    )
    cap_thickness: float | None = declared(
        label="Big-end cap in its middle, without shell",
        kind=Kind.LENGTH,
        low=0.003,
        high=0.1,
        default=lambda e: 0.24 * e.value("running_gear.big_end_diameter").value,
        spread_given=0.03,
        spread_assumed=0.06,
        reason="a quarter of the crankpin, ribs counted (from memory); a thin one goes with a "
        "light piston",
    )
    big_end_clearance: float | None = declared(
        label="Big-end clearance on the diameter",
        kind=Kind.LENGTH,
        low=5e-6,
        high=3e-4,
        default=lambda e: 0.001 * e.value("running_gear.big_end_diameter").value,
        spread_given=0.15,
        spread_assumed=0.25,
        reason=f"a thousandth of the diameter {PRACTICE}",
    )
    big_end_lining: str | None = declared(
        label="Big-end lining",
        kind=None,
        default=by_ignition(
            "lead-bronze or tin-aluminium, small engines", "trimetal, electroplated overlay"
        ),
        reason=f"aluminium-tin in petrol, tri-metal in diesel engines {PRACTICE}",
    )
    oil_grade: str | None = declared(
        label="Oil grade when warm (SAE J300)", kind=None, default="30", reason="SAE J300 grade 30"
    )
    oil_temperature: float | None = declared(
        label="Oil temperature in the bearing",
        kind=Kind.TEMPERATURE,
        low=303.15,
        high=443.15,
        default=393.15,
        spread_given=8.0,
        spread_assumed=12.0,
        absolute=True,
        reason=f"120 °C in the film at full load {PRACTICE}",
    )
