"""The sections of an engine file; every input declared once with its default, spread and reason."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from torquerisk.case.declare import Kind, declared
from torquerisk.errors import InputError

if TYPE_CHECKING:
    from torquerisk.case.run import Run

PRACTICE = "(common practice, no source)"
JOINT_MATERIALS = (
    "cast aluminium",
    "wrought aluminium",
    "strong wrought aluminium",
    "grey iron",
    "compacted graphite iron",
    "ductile iron",
)
"""Materials that a head or block may be of, by plain name."""
FRICTIONS = (0.03, 0.35)
"""Friction of thread and bearing face that is believed, least and most [-] (common practice)."""
SHANK_OVER_THREAD = 1.05
"""Shank over the thread's nominal diameter, at most [-]: it has to pass the thread's hole."""
TENSILE_OVER_YIELD = 1.35
"""Tensile over yield strength of a rod where only one is given [-], 1.3 to 1.5 (from memory)."""


def _by_ignition(spark: float | str | None, compression: float | str) -> Any:
    return lambda engine: compression if engine.compression_ignition else spark


def _bore_power(spark: float, compression: float, power: int) -> Any:
    """A default that scales with a power of the bore [m], by kind of ignition."""
    return lambda e: (compression if e.compression_ignition else spark) * e.bore**power


def thread_nominal(engine: Any) -> float:
    """Nominal thread diameter [m] read off the designation, metric (M11x1.5) or inch (7/16-14)."""
    text = str(engine.head_joint.thread).strip().upper()
    metric = re.match(r"M\s*(\d+(?:\.\d+)?)", text)
    if metric:
        return float(metric[1]) * 1e-3
    inch = re.match(r"(\d+)/(\d+)", text)
    if inch and int(inch[2]):
        return int(inch[1]) / int(inch[2]) * 0.0254
    raise InputError(
        f"head_joint.thread is {engine.head_joint.thread!r}, but must be a metric thread such as "
        "M11x1.5 or an inch thread such as 7/16-14."
    )


def _rod_yield(engine: Any) -> float:
    """Rod yield strength [Pa] where none is given: it follows a tensile strength that is."""
    tensile: float | None = engine.running_gear.rod_tensile_strength
    return 640e6 if tensile is None else tensile / TENSILE_OVER_YIELD


@dataclass(frozen=True, kw_only=True)
class Fuel:
    """What burns."""

    blend: str | None = declared(
        label="Fuel blend",
        kind=None,
        default=_by_ignition("E5", "diesel"),
        reason="petrol sold with a little ethanol, or diesel",
        help="E0 to E100 (ethanol by volume in petrol), or diesel",
    )
    octane: float | None = declared(
        label="Research octane number of the blend",
        kind=Kind.NUMBER,
        low=80.0,
        high=125.0,
        spread_given=1.0,
        spread_assumed=2.5,
        absolute=True,
        reason="pump fuel is sold by its least octane; an unknown base petrol is taken as 95",
    )
    cetane: float | None = declared(
        label="Cetane number of the diesel",
        kind=Kind.NUMBER,
        low=20.0,
        high=70.0,
        default=_by_ignition(None, 51.0),
        spread_given=1.5,
        spread_assumed=3.5,
        absolute=True,
        reason="European diesel is sold with 51 at least, other markets have 40 to 55 (from "
        "memory)",
        help="how readily the spray lights: sets the ignition delay, compression ignition only",
    )
    lambda_: float | None = declared(
        label="Air-fuel equivalence at full load",
        kind=Kind.NUMBER,
        low=0.6,
        high=6.0,
        default=_by_ignition(0.87, 1.5),
        spread_given=0.02,
        spread_assumed=0.05,
        reason=f"boosted spark engines run rich at full load, diesels lean {PRACTICE}",
    )


@dataclass(frozen=True, kw_only=True)
class Charge:
    """What is trapped in the cylinder, and when."""

    intake_temperature: float | None = declared(
        label="Charge temperature in the intake manifold",
        kind=Kind.TEMPERATURE,
        low=243.15,
        high=423.15,
        default=_by_ignition(318.15, 323.15),
        spread_given=5.0,
        spread_assumed=12.0,
        absolute=True,
        reason=f"20 to 30 K above ambient behind an intercooler at full load {PRACTICE}",
    )
    trapped_heating: float | None = declared(
        label="Heating of the charge on its way into the cylinder",
        kind=Kind.TEMPERATURE_RISE,
        low=0.0,
        high=120.0,
        default=_by_ignition(25.0, 35.0),
        spread_given=8.0,
        spread_assumed=10.0,
        absolute=True,
        reason="kelvin gained from port walls and residual gas at full load; Heywood ch. 6 gives "
        "tens of kelvin (from memory)",
    )
    residual_fraction: float | None = declared(
        label="Residual gas share",
        kind=Kind.SHARE,
        low=0.0,
        high=0.30,
        default=0.04,
        reason="3 to 7 % at wide-open throttle (cylinder references 7.4, from memory)",
    )
    exhaust_pressure: float | None = declared(
        label="Exhaust manifold pressure, absolute",
        kind=Kind.PRESSURE,
        low=8e4,
        high=8e5,
        help="assumed from the intake manifold pressure when not given",
    )
    intake_closing: float | None = declared(
        label="Intake valve closing after bottom dead centre",
        kind=Kind.ANGLE,
        low=math.radians(-40),
        high=math.radians(110),
        default=_by_ignition(math.radians(50), math.radians(35)),
        reason=f"usual effective timing at 1 mm lift {PRACTICE}",
    )
    exhaust_opening: float | None = declared(
        label="Exhaust valve opening before bottom dead centre",
        kind=Kind.ANGLE,
        low=math.radians(0),
        high=math.radians(90),
        default=math.radians(45),
        reason=f"usual effective timing at 1 mm lift {PRACTICE}",
    )
    burn_duration: float | None = declared(
        label="Burn duration from 10 to 90 % burned",
        kind=Kind.ANGLE,
        low=math.radians(6),
        high=math.radians(90),
        spread_given=0.06,
        spread_assumed=0.14,
        reason="a correlation with speed and load when not given",
    )
    heat_loss_scale: float | None = declared(
        label="Heat loss over the correlation's",
        kind=Kind.NUMBER,
        low=0.3,
        high=2.5,
        default=1.0,
        spread_given=0.15,
        spread_assumed=0.25,
        reason="heat-transfer correlations differ by about a quarter between engines",
    )
    friction_scale: float | None = declared(
        label="Engine friction over the correlation's",
        kind=Kind.NUMBER,
        low=0.3,
        high=2.5,
        default=1.0,
        spread_given=0.10,
        spread_assumed=0.20,
        reason="published friction correlations scatter by about 20 % (from memory)",
    )


@dataclass(frozen=True, kw_only=True)
class RunningGear:
    """Piston, pin, rod and big end."""

    piston_mass: float | None = declared(
        label="Piston mass with rings and pin",
        kind=Kind.MASS,
        low=0.03,
        high=8.0,
        default=_bore_power(660.0, 1050.0, 3),
        spread_given=0.01,
        spread_assumed=0.15,
        reason=f"660 kg/m^3 times bore cubed, 1,050 for diesel {PRACTICE}",
    )
    rod_mass: float | None = declared(
        label="Rod mass",
        kind=Kind.MASS,
        low=0.05,
        high=10.0,
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
        default=_bore_power(0.0257, 0.042, 2),
        spread_given=0.03,
        spread_assumed=0.15,
        reason=f"2.6 % of bore squared, 4.2 % for diesel {PRACTICE}",
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
    rod_bolt_thread: str | None = declared(
        label="Rod bolt thread",
        kind=None,
        default=lambda e: "M9x1" if e.bore > 0.078 else "M8x1",
        reason=f"M8x1 to M9x1 in car engines {PRACTICE}",
    )
    rod_bolt_class: str | None = declared(
        label="Rod bolt property class",
        kind=None,
        default="12.9",
        reason=f"as a rule 12.9 {PRACTICE}",
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
        high=0.10,
        default=_bore_power(0.256, 0.35, 1),
        spread_assumed=0.05,
        reason=f"a quarter of the bore, a third for diesel {PRACTICE}",
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
        default=_bore_power(0.24, 0.30, 1),
        spread_assumed=0.08,
        reason=f"a quarter of the bore {PRACTICE}",
    )
    pin_boss_length: float | None = declared(
        label="Pin boss length, both bosses",
        kind=Kind.LENGTH,
        low=0.008,
        high=0.15,
        default=_bore_power(0.33, 0.40, 1),
        spread_assumed=0.08,
        reason=f"a third of the bore {PRACTICE}",
    )
    big_end_diameter: float | None = declared(
        label="Crankpin diameter",
        kind=Kind.LENGTH,
        low=0.02,
        high=0.15,
        default=_bore_power(0.56, 0.63, 1),
        spread_assumed=0.04,
        reason=f"0.5 to 0.65 of the bore {PRACTICE}",
    )
    big_end_width: float | None = declared(
        label="Big-end bearing width",
        kind=Kind.LENGTH,
        low=0.008,
        high=0.10,
        default=_bore_power(0.23, 0.27, 1),
        spread_assumed=0.06,
        reason=f"a quarter of the bore {PRACTICE}",
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
        default=_by_ignition(
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


@dataclass(frozen=True, kw_only=True)
class HeadJoint:
    """Head fasteners, clamped parts and gasket."""

    fasteners: int = declared(
        label="Head fasteners, all heads", kind=Kind.COUNT, required=True, low=2, high=80
    )
    thread: str = declared(label="Fastener thread", kind=None, required=True)
    property_class: str = declared(
        label="Fastener class",
        kind=None,
        required=True,
        help="8.8 to 12.9, grade 5 or 8, or 'special' with its own yield and tensile strength",
    )
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
        default=lambda e: "angle" if e.head_joint.tightening_torque is None else "torque",
        options=("torque", "angle", "yield"),
        reason=f"by torque where one is given; else by angle, as most heads since 1990 {PRACTICE}",
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
    thread_friction: float | None = declared(
        label="Thread friction",
        kind=Kind.NUMBER,
        low=FRICTIONS[0],
        high=FRICTIONS[1],
        default=0.12,
        spread_given=0.015,
        spread_assumed=0.020,
        absolute=True,
        reason="VDI 2230 friction class B, 0.08 to 0.16, oiled (from memory)",
    )
    head_friction: float | None = declared(
        label="Friction under the head or nut",
        kind=Kind.NUMBER,
        low=FRICTIONS[0],
        high=FRICTIONS[1],
        default=lambda e: e.value("head_joint.thread_friction").value,
        spread_given=0.015,
        spread_assumed=0.020,
        absolute=True,
        reason="as in the thread unless given",
    )
    yield_strength: float | None = declared(
        label="Fastener yield strength",
        kind=Kind.STRESS,
        low=3e8,
        high=2.2e9,
        help="overrides the class; needed for class 'special'",
    )
    tensile_strength: float | None = declared(
        label="Fastener tensile strength",
        kind=Kind.STRESS,
        low=4e8,
        high=2.4e9,
        help="overrides the class; needed for class 'special'",
    )
    clamped_length: float | None = declared(
        label="Clamped length under the fastener head",
        kind=Kind.LENGTH,
        low=0.015,
        high=0.35,
        default=_bore_power(1.15, 1.25, 1),
        spread_assumed=0.12,
        spread_given=0.02,
        reason=f"head height at the fastener, a little above the bore {PRACTICE}",
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
        default=lambda e: (1.7 if e.compression_ignition else 2.5) * thread_nominal(e),
        spread_assumed=0.10,
        spread_given=0.03,
        reason=f"head fasteners sit deep: 2.5 d in aluminium, 1.7 d in iron {PRACTICE}",
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
        default=_by_ignition("cast aluminium", "grey iron"),
        options=JOINT_MATERIALS,
        reason="aluminium for petrol, iron for diesel",
    )
    ring_share: float | None = declared(
        label="Share of the clamp that reaches the combustion ring",
        kind=Kind.SHARE,
        low=0.2,
        high=1.0,
        default=0.65,
        spread_given=0.04,
        spread_assumed=0.09,
        absolute=True,
        reason="0.5 to 0.8; the rest goes to other beads and to bending of head and block "
        + PRACTICE,
    )
    sealing_line_load: float | None = declared(
        label="Least line load that keeps the ring tight",
        kind=Kind.LINE_LOAD,
        low=0.0,
        high=4e5,
        default=50e3,
        spread_given=0.15,
        spread_assumed=0.30,
        reason="30 to 80 N/mm left at peak firing for multi-layer steel gaskets (from memory)",
    )
    gasket_relaxation: float | None = declared(
        label="Preload lost by gasket relaxation",
        kind=Kind.SHARE,
        low=0.0,
        high=0.4,
        default=0.07,
        spread_given=0.02,
        spread_assumed=0.025,
        absolute=True,
        reason=f"5 to 10 % after heat cycles {PRACTICE}",
    )
    load_introduction: float | None = declared(
        label="Load introduction factor",
        kind=Kind.NUMBER,
        low=0.05,
        high=1.0,
        default=0.4,
        spread_given=0.08,
        spread_assumed=0.12,
        absolute=True,
        reason="0.3 to 0.7 typical in VDI 2230 (from memory)",
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


@dataclass(frozen=True, kw_only=True)
class Valvetrain:
    """What is needed to see valve float and blow-open; absent means not assessed."""

    valve_diameter: float | None = declared(
        label="Valve head diameter", kind=Kind.LENGTH, low=0.012, high=0.08
    )
    valve_effective_mass: float | None = declared(
        label="Effective mass of one valve with its share of the train",
        kind=Kind.MASS,
        low=0.01,
        high=1.0,
        spread_given=0.06,
    )
    valve_deceleration: float | None = declared(
        label="Greatest closing acceleration per radian squared of cam angle",
        kind=Kind.LENGTH,
        low=1e-4,
        high=0.2,
        spread_given=0.06,
        help="lift curve's second derivative over the nose, length per cam radian squared",
    )
    spring_force_at_nose: float | None = declared(
        label="Spring force at full lift", kind=Kind.FORCE, low=20.0, high=5000.0, spread_given=0.05
    )
    spring_force_on_seat: float | None = declared(
        label="Spring force on the seat", kind=Kind.FORCE, low=10.0, high=3000.0, spread_given=0.05
    )


@dataclass(frozen=True, kw_only=True)
class Supply:
    """Ceilings that are no matter of strength; absent means not assessed."""

    fuel_pump_flow: float | None = declared(
        label="Fuel pump flow at rail pressure, whole engine",
        kind=Kind.VOLUME_FLOW,
        low=1e-7,
        high=1e-3,
        spread_given=0.05,
    )
    injector_flow: float | None = declared(
        label="Injector flow, all injectors together",
        kind=Kind.VOLUME_FLOW,
        low=1e-7,
        high=1e-3,
        spread_given=0.04,
    )
    injector_duty: float | None = declared(
        label="Highest injector duty",
        kind=Kind.SHARE,
        low=0.2,
        high=1.0,
        default=0.85,
        reason=f"85 % keeps control of the flow {PRACTICE}",
    )
    pressure_sensor_limit: float | None = declared(
        label="Highest manifold pressure that the sensor reads, absolute",
        kind=Kind.PRESSURE,
        low=9e4,
        high=8e5,
        spread_given=0.01,
    )
    spark_reserve: float | None = declared(
        label="Spark demand allowed over the known-good run",
        kind=Kind.NUMBER,
        low=1.0,
        high=3.0,
        help="1.15 means 15 % denser charge at the spark than where ignition is known to hold",
        spread_given=0.03,
    )


@dataclass(frozen=True, kw_only=True)
class TestFacts:
    """How the run was measured."""

    __test__ = False

    correction: str | None = declared(
        label="Correction standard applied by the dyno",
        kind=None,
        default="unknown",
        options=("none", "J1349", "ISO1585", "DIN70020", "J607", "unknown"),
        reason="a run that does not say may be corrected or not: the band is widened",
    )
    correction_factor: float | None = declared(
        label="Correction factor that the dyno applied", kind=Kind.NUMBER, low=0.8, high=1.35
    )
    measured_at: str | None = declared(
        label="Where torque was measured",
        kind=None,
        default="crank",
        options=("crank", "hub", "wheel"),
        reason="taken as crank torque unless said otherwise",
    )
    driveline_loss: float | None = declared(
        label="Driveline loss, share of crank torque",
        kind=Kind.SHARE,
        low=0.0,
        high=0.4,
        default=lambda e: {"crank": 0.0, "hub": 0.12, "wheel": 0.15}[e.word("test.measured_at")],
        spread_given=0.015,
        spread_assumed=0.03,
        absolute=True,
        reason=f"10 to 20 % between crank and wheel {PRACTICE}",
    )
    ambient_pressure: float | None = declared(
        label="Ambient pressure",
        kind=Kind.PRESSURE,
        low=5e4,
        high=1.1e5,
        default=101325.0,
        spread_assumed=0.02,
        reason="sea level",
    )
    ambient_temperature: float | None = declared(
        label="Ambient temperature",
        kind=Kind.TEMPERATURE,
        low=243.15,
        high=328.15,
        default=298.15,
        spread_assumed=8.0,
        absolute=True,
        reason="25 °C",
    )
    humidity: float | None = declared(
        label="Relative humidity",
        kind=Kind.SHARE,
        low=0.0,
        high=1.0,
        default=0.40,
        spread_assumed=0.15,
        absolute=True,
        reason="temperate indoor air",
    )
    sweep_rate: float | None = declared(
        label="Sweep rate",
        kind=Kind.SPEED_RATE,
        low=0.0,
        high=400.0,
        spread_given=0.05,
        help="how fast the engine gained speed; 0 for steady points",
    )
    inertia: float | None = declared(
        label="Rotating inertia upstream of the torque sensor, at the crank",
        kind=Kind.INERTIA,
        low=0.0,
        high=5.0,
        spread_given=0.10,
    )
    torque_error: float | None = declared(
        label="Calibration error of the dyno",
        kind=Kind.SHARE,
        low=0.0,
        high=0.2,
        default=0.02,
        reason=f"1 to 3 % between dynos {PRACTICE}",
    )


@dataclass(frozen=True, kw_only=True)
class KnownGood:
    """A curve that the engine has survived many times."""

    run: str | None = declared(label="Known-good run file", kind=None)
    blend: str | None = declared(label="Fuel blend of the known-good run", kind=None)
    octane: float | None = declared(
        label="Research octane of the known-good run", kind=Kind.NUMBER, low=80.0, high=125.0
    )
    curve: Run | None = None
    """The run itself, once read."""
