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
