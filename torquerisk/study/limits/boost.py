"""Ceilings of boost: spring and valve, a compressor's map, a crank-driven compressor. Not strength.

The compressor breathes through a filter and blows through an intercooler; both losses count.
"""

import numpy as np

from torquerisk.case import Engine
from torquerisk.physics.supply.boost import (
    boost_from_spring,
    compressor_work,
    corrected_flow,
    share_of_map,
)
from torquerisk.quantities import Array
from torquerisk.study.limits.supply import (
    air_flow,
    ambient,
    ceiling,
    manifold_pressure,
    missing,
)
from torquerisk.study.loads.demand import Demand
from torquerisk.study.loads.manifold import CRANK_DRIVEN, compressor_ratio
from torquerisk.study.strengths.parts import Parts

MAP_CORNERS = (
    "supply.compressor_flow",
    "supply.compressor_flow_ratio",
    "supply.compressor_top_ratio",
    "supply.compressor_top_flow",
)


def spring_and_valve(demand: Demand, parts: Parts) -> Array:
    """Manifold pressure that spring and valve hold (N,) [Pa]."""
    return boost_from_spring(
        parts.given("supply.wastegate_spring"),
        parts.given("supply.wastegate_opens_early"),
        np.maximum(parts.given("supply.boost_over_spring"), 1.0),
        ambient(parts.engine),
    )


def _flow_and_ratio(demand: Demand, parts: Parts) -> tuple[Array, Array]:
    """Corrected air flow [kg/s] and pressure ratio [-] that a torque takes (S, N, I) each."""
    engine = parts.engine
    ratio, inlet = compressor_ratio(engine, manifold_pressure(demand, parts))
    warm = engine.value("test.ambient_temperature").value
    return corrected_flow(air_flow(demand, parts), inlet, warm), ratio


def map_share(demand: Demand, parts: Parts) -> Array:
    """How far out in its map a torque drives the compressor (S, N, I) [-]."""
    engine = parts.engine
    flow, ratio = _flow_and_ratio(demand, parts)
    largest, there, top, top_flow = (engine.value(name).value for name in MAP_CORNERS)
    wider = (parts.given(MAP_CORNERS[0]) / largest)[None, :, None]
    return share_of_map(flow / wider, ratio, largest, there, top, top_flow)


def surge_slope(demand: Demand, parts: Parts) -> Array:
    """Rise of pressure over corrected flow that a torque takes (S, N, I) [s/kg]."""
    flow, ratio = _flow_and_ratio(demand, parts)
    return np.maximum(ratio - 1, 0.0) / np.maximum(flow, 1e-9)


def _surge_line(demand: Demand, parts: Parts) -> Array:
    top = parts.engine.value("supply.compressor_top_ratio").value
    flow = parts.engine.value("supply.compressor_surge_flow").value
    return np.asarray((top - 1) / flow)


def drive_power(demand: Demand, parts: Parts) -> Array:
    """Power that a crank-driven compressor takes (S, N, I) [W]."""
    engine = parts.engine
    ratio, _ = compressor_ratio(engine, manifold_pressure(demand, parts))
    warm = engine.value("test.ambient_temperature").value
    share = engine.value(CRANK_DRIVEN).value
    return air_flow(demand, parts) * compressor_work(ratio, warm, share)


def _drive_missing(engine: Engine) -> tuple[str, ...]:
    if not engine.has(CRANK_DRIVEN):
        return ("a compressor that the crank drives",)
    return missing("supply.compressor_drive_power")(engine)


BOOST = ceiling(
    "manifold pressure", "kPa", "supply.wastegate_spring",
    name="boost", title="Boost that spring and valve hold",
    protects="nothing that breaks: past it the wastegate opens and the engine makes no more",
    load=manifold_pressure, strength=spring_and_valve,
    lifted_by="a stiffer wastegate spring, a three-port valve, less exhaust pressure",
    source="PRACTICE",
)  # fmt: skip
COMPRESSOR = ceiling(
    "share of the way to the edge of the map", "", *MAP_CORNERS,
    name="compressor", title="Compressor's map",
    protects="the compressor: past its map it overspeeds and heats the air without passing more",
    load=map_share, strength=lambda *_: np.asarray(1.0),
    lifted_by="a larger compressor, less loss in filter and intercooler, colder air",
    source="HEYWOOD, PRACTICE",
)  # fmt: skip
SURGE = ceiling(
    "rise of pressure over corrected air flow", "s/kg", "supply.compressor_surge_flow",
    "supply.compressor_top_ratio",
    name="compressor_surge", title="Compressor surge",
    protects="the compressor: above this pressure its flow turns back and shakes its bearings",
    load=surge_slope, strength=_surge_line,
    lifted_by="the same torque at higher speed, a smaller compressor",
    source="HEYWOOD, PRACTICE",
)  # fmt: skip
COMPRESSOR_DRIVE = ceiling(
    "power that the compressor takes", "kW",
    name="compressor_drive", title="Drive of the compressor",
    protects="the belt or gears that drive the compressor from the crank",
    load=drive_power, strength=lambda _, p: p.given("supply.compressor_drive_power"),
    lifted_by="a wider belt or stronger gears, a compressor of better efficiency",
    source="HEYWOOD", missing=_drive_missing,
)  # fmt: skip
LIMITS = (BOOST, COMPRESSOR, SURGE, COMPRESSOR_DRIVE)
