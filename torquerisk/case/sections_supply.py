"""The sections on what brings charge and spark: valve train and supply."""

from __future__ import annotations

from dataclasses import dataclass

from torquerisk.case.declare import Kind, declared
from torquerisk.case.shared_defaults import PRACTICE


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
        label="In-tank fuel pump flow at the highest rail pressure, whole engine",
        kind=Kind.VOLUME_FLOW,
        low=1e-7,
        high=1e-3,
        spread_given=0.05,
    )
    high_pressure_pump_volume: float | None = declared(
        label="Volume that the high-pressure fuel pump displaces in one turn of the engine",
        kind=Kind.VOLUME,
        low=1e-8,
        high=2e-5,
        help="plunger area times lift times its strokes in one turn of the engine, half of those "
        "in one turn of the camshaft",
        spread_given=0.05,
    )
    high_pressure_pump_efficiency: float | None = declared(
        label="Share of that volume that the high-pressure pump delivers",
        kind=Kind.SHARE,
        low=0.3,
        high=1.0,
        default=0.85,
        reason=f"fuel is compressed and leaks past the plunger {PRACTICE}",
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
        low=0.05,
        high=1.0,
        default=0.85,
        reason=f"85 % keeps control of the flow {PRACTICE}",
        help="of the whole cycle; where fuel is injected into the cylinder, its window in crank "
        "degrees over 720",
    )
    injector_flow_pressure: float | None = declared(
        label="Pressure difference that the injector flow is stated at",
        kind=Kind.GAUGE_PRESSURE,
        low=5e4,
        high=3e8,
        default=3e5,
        reason=f"makers state flow at 3 bar {PRACTICE}",
    )
    rail_pressure: float | None = declared(
        label="Fuel pressure at the injectors, over that of the rail's reference",
        kind=Kind.GAUGE_PRESSURE,
        low=5e4,
        high=3e8,
        help="the injectors are taken to work at the pressure of their stated flow when left out",
    )
    rail_reference: str | None = declared(
        label="What the fuel pressure regulator holds its pressure over",
        kind=None,
        default="manifold",
        options=("manifold", "atmosphere"),
        reason=f"most engines with boost follow the manifold {PRACTICE}",
        help="atmosphere: the injectors lose what boost pushes against them",
    )
    pressure_sensor_limit: float | None = declared(
        label="Highest manifold pressure that the sensor reads, absolute",
        kind=Kind.PRESSURE,
        low=9e4,
        high=8e5,
        spread_given=0.01,
    )
    wastegate_spring: float | None = declared(
        label="Rating of the wastegate's spring, over atmosphere",
        kind=Kind.GAUGE_PRESSURE,
        low=1e4,
        high=5e5,
        spread_given=0.03,
    )
    wastegate_opens_early: float | None = declared(
        label="Boost below the spring's rating at which the wastegate opens",
        kind=Kind.GAUGE_PRESSURE,
        low=0.0,
        high=1e5,
        default=1e4,
        spread_given=2e3,
        spread_assumed=4e3,
        absolute=True,
        reason=f"exhaust pressure pushes at its flap {PRACTICE}",
    )
    boost_valve: str | None = declared(
        label="Valve in the signal to the wastegate",
        kind=None,
        default="none",
        options=("none", "three-port"),
        reason="the spring alone holds boost unless a valve is given",
    )
    boost_over_spring: float | None = declared(
        label="Boost that the valve holds over what the spring alone does",
        kind=Kind.NUMBER,
        low=1.0,
        high=5.0,
        default=lambda engine: 1.0 if engine.word("supply.boost_valve") == "none" else 2.0,
        spread_given=0.05,
        spread_assumed=0.1,
        reason=f"a three-port valve about doubles it {PRACTICE}",
    )
    compressor_flow: float | None = declared(
        label="Largest air flow of the compressor's map, corrected",
        kind=Kind.MASS_FLOW,
        low=1e-3,
        high=10.0,
        spread_given=0.04,
        help="corrected to 25 °C and 1 bar, of all compressors together, as the next four are",
    )
    compressor_flow_ratio: float | None = declared(
        label="Pressure ratio at that flow", kind=Kind.NUMBER, low=1.0, high=6.0
    )
    compressor_top_ratio: float | None = declared(
        label="Largest pressure ratio of the compressor's map", kind=Kind.NUMBER, low=1.1, high=8.0
    )
    compressor_top_flow: float | None = declared(
        label="Largest corrected air flow at that pressure ratio",
        kind=Kind.MASS_FLOW,
        low=1e-3,
        high=10.0,
    )
    compressor_surge_flow: float | None = declared(
        label="Corrected air flow below which the compressor surges at its largest pressure ratio",
        kind=Kind.MASS_FLOW,
        low=1e-4,
        high=10.0,
    )
    crank_compressor_efficiency: float | None = declared(
        label="Isentropic efficiency of a compressor that the crank drives, with its drive",
        kind=Kind.SHARE,
        low=0.2,
        high=0.9,
        help="give it only where there is one: its power then comes on top of the crank's torque",
    )
    compressor_drive_power: float | None = declared(
        label="Power that the drive of that compressor carries",
        kind=Kind.POWER,
        low=500.0,
        high=1e6,
    )
    spark_reserve: float | None = declared(
        label="Spark demand allowed over the known-good run",
        kind=Kind.NUMBER,
        low=1.0,
        high=3.0,
        help="1.15 means 15 % denser charge at the spark than where ignition is known to hold",
        spread_given=0.03,
    )
