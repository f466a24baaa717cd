"""The sections on what brings charge and spark: valve train and supply."""

from __future__ import annotations

from dataclasses import dataclass

from torquerisk.case.declare import Kind, declared
from torquerisk.case.shared_defaults import PRACTICE


@dataclass(frozen=True, kw_only=True)
class Valvetrain:
    """What is needed to see valve float and blow-open; absent means not assessed."""

    valve_diameter: float | None = declared("Valve head diameter", Kind.LENGTH.within(0.012, 0.08))
    valve_effective_mass: float | None = declared(
        "Effective mass of one valve with its share of the train",
        Kind.MASS.within(0.01, 1.0),
        spread=(0.06, 0.0),
    )
    valve_deceleration: float | None = declared(
        "Greatest closing acceleration per radian squared of cam angle",
        Kind.LENGTH.within(1e-4, 0.2),
        spread=(0.06, 0.0),
        help="lift curve's second derivative over the nose, length per cam radian squared",
    )
    spring_force_at_nose: float | None = declared(
        "Spring force at full lift", Kind.FORCE.within(20.0, 5000.0), spread=(0.05, 0.0)
    )
    spring_force_on_seat: float | None = declared(
        "Spring force on the seat", Kind.FORCE.within(10.0, 3000.0), spread=(0.05, 0.0)
    )


@dataclass(frozen=True, kw_only=True)
class Supply:
    """Ceilings that are no matter of strength; absent means not assessed."""

    fuel_pump_flow: float | None = declared(
        "In-tank fuel pump flow at the highest rail pressure, whole engine",
        Kind.VOLUME_FLOW.within(1e-7, 1e-3),
        spread=(0.05, 0.0),
    )
    high_pressure_pump_volume: float | None = declared(
        "Volume that the high-pressure fuel pump displaces in one turn of the engine",
        Kind.VOLUME.within(1e-8, 2e-5),
        help="plunger area times lift times its strokes in one turn of the engine, half of those "
        "in one turn of the camshaft",
        spread=(0.05, 0.0),
    )
    high_pressure_pump_efficiency: float | None = declared(
        "Share of that volume that the high-pressure pump delivers",
        Kind.SHARE.within(0.3, 1.0),
        default=0.85,
        reason=f"fuel is compressed and leaks past the plunger {PRACTICE}",
    )
    injector_flow: float | None = declared(
        "Injector flow, all injectors together",
        Kind.VOLUME_FLOW.within(1e-7, 1e-3),
        spread=(0.04, 0.0),
        help="the flow stated of one, times their number",
    )
    injector_duty: float | None = declared(
        "Highest injector duty",
        Kind.SHARE.within(0.05, 1.0),
        default=0.85,
        reason=f"85 % keeps control of the flow {PRACTICE}",
        help="of the whole cycle; where fuel is injected into the cylinder, its window in crank "
        "degrees over 720",
    )
    injector_flow_pressure: float | None = declared(
        "Pressure difference that the injector flow is stated at",
        Kind.GAUGE_PRESSURE.within(5e4, 3e8),
        default=3e5,
        reason=f"makers state flow at 3 bar {PRACTICE}",
    )
    rail_pressure: float | None = declared(
        "Fuel pressure at the injectors, over that of the rail's reference",
        Kind.GAUGE_PRESSURE.within(5e4, 3e8),
        help="the injectors are taken to work at the pressure of their stated flow when left out",
    )
    rail_reference: str | None = declared(
        "What the fuel pressure regulator holds its pressure over",
        default="manifold",
        options=("manifold", "atmosphere"),
        reason=f"most engines with boost follow the manifold {PRACTICE}",
        help="atmosphere: the injectors lose what boost pushes against them",
    )
    pressure_sensor_limit: float | None = declared(
        "Highest manifold pressure that the sensor reads, absolute",
        Kind.PRESSURE.within(9e4, 8e5),
        spread=(0.01, 0.0),
    )
    wastegate_spring: float | None = declared(
        "Rating of the wastegate's spring, over atmosphere",
        Kind.GAUGE_PRESSURE.within(1e4, 5e5),
        spread=(0.03, 0.0),
    )
    wastegate_opens_early: float | None = declared(
        "Boost below the spring's rating at which the wastegate opens",
        Kind.GAUGE_PRESSURE.within(0.0, 1e5),
        default=1e4,
        spread=(2e3, 4e3),
        absolute=True,
        reason=f"exhaust pressure pushes at its flap {PRACTICE}",
    )
    boost_valve: str | None = declared(
        "Valve in the signal to the wastegate",
        default="none",
        options=("none", "three-port"),
        reason="the spring alone holds boost unless a valve is given",
    )
    boost_over_spring: float | None = declared(
        "Boost that the valve holds over what the spring alone does",
        Kind.NUMBER.within(1.0, 5.0),
        default=lambda engine: 1.0 if engine.word("supply.boost_valve") == "none" else 2.0,
        spread=(0.05, 0.1),
        reason=f"a three-port valve about doubles it {PRACTICE}",
    )
    compressor_flow: float | None = declared(
        "Largest air flow of the compressor's map, corrected",
        Kind.MASS_FLOW.within(1e-3, 10.0),
        spread=(0.04, 0.0),
        help="corrected to 25 °C and 1 bar, of all compressors together, as the next four are",
    )
    compressor_flow_ratio: float | None = declared(
        "Pressure ratio at that flow", Kind.NUMBER.within(1.0, 6.0)
    )
    compressor_top_ratio: float | None = declared(
        "Largest pressure ratio of the compressor's map", Kind.NUMBER.within(1.1, 8.0)
    )
    compressor_top_flow: float | None = declared(
        "Largest corrected air flow at that pressure ratio", Kind.MASS_FLOW.within(1e-3, 10.0)
    )
    compressor_surge_flow: float | None = declared(
        "Corrected air flow below which the compressor surges at its largest pressure ratio",
        Kind.MASS_FLOW.within(1e-4, 10.0),
    )
    crank_compressor_efficiency: float | None = declared(
        "Isentropic efficiency of a compressor that the crank drives, with its drive",
        Kind.SHARE.within(0.2, 0.9),
        help="give it only where there is one: its power then comes on top of the crank's torque",
    )
    compressor_drive_power: float | None = declared(
        "Power that the drive of that compressor carries", Kind.POWER.within(500.0, 1e6)
    )
    spark_reserve: float | None = declared(
        "Spark demand allowed over the known-good run",
        Kind.NUMBER.within(1.0, 3.0),
        help="1.15 means 15 % denser charge at the spark than where ignition is known to hold",
        spread=(0.03, 0.0),
    )
