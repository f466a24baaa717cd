"""Limits of the running gear: rod column and fatigue, rod bolts, pin and big-end bearing.

Rod tension takes no help from gas pressure at overlap TDC, nor does the speed at which pull
overtakes push; the direct cycles of `answers.cycle_traces` have that pressure.
"""

import numpy as np

from torquerisk.physics.running_gear import big_end, rod
from torquerisk.quantities import Array
from torquerisk.study.limits.limit import Limit, LimitKind
from torquerisk.study.loads.demand import Demand
from torquerisk.study.strengths.parts import Parts
from torquerisk.study.strengths.running_gear import CRANKCASE_PRESSURE

KILONEWTON, MEGAPASCAL = 1e3, 1e6


def throw(demand: Demand, parts: Parts) -> Array:
    """Acceleration scale r w^2 (S, 1) [m/s^2]."""
    return (parts.engine.stroke / 2 * demand.speed**2)[:, None]


def bottom_force(demand: Demand, parts: Parts, mass: Array) -> Array:
    """Push of a mass (N,) at bottom dead centre (S, N) [N]: no rod is pressed with less."""
    ratio = parts.engine.stroke / 2 / parts.engine.rod_length
    return mass * throw(demand, parts) * (1 - ratio)


def firing_force(demand: Demand, parts: Parts, pressure: Array, mass: Array) -> Array:
    """Greatest push of a cycle (S, N, I) [N] with a mass (N,): near the peak, or at the bottom.

    Gas force less the mass's inertia at the peak's angle; at light load and high speed the push at
    bottom dead centre is more.
    """
    relief = (mass * throw(demand, parts))[..., None] * demand.acceleration_share
    force = pressure - CRANKCASE_PRESSURE
    force *= parts.gear.bore_area
    force -= relief
    return np.maximum(force, bottom_force(demand, parts, mass)[..., None])


def rod_compression(demand: Demand, parts: Parts) -> Array:
    """Rod compression in the worst cycle of all pulls (S, N, I) [N]."""
    return firing_force(demand, parts, demand.worst, parts.gear.reciprocating_mass)


def mean_rod_compression(demand: Demand, parts: Parts) -> Array:
    """Rod compression in the mean cycle (S, N, I) [N]."""
    return firing_force(demand, parts, demand.peak, parts.gear.reciprocating_mass)


def rod_tension(demand: Demand, parts: Parts) -> Array:
    """Rod tension at overlap TDC (S, N) [N], no help from gas pressure counted."""
    ratio = parts.engine.stroke / 2 / parts.engine.rod_length
    return throw(demand, parts) * (1 + ratio) * parts.gear.reciprocating_mass


def cap_pull(demand: Demand, parts: Parts) -> Array:
    """Pull on the big-end cap at overlap TDC (S, N) [N]."""
    turning = np.maximum(parts.gear.big_end_mass - parts.gear.cap_mass, 0.0)
    return rod_tension(demand, parts) + throw(demand, parts) * turning


def pin_force(demand: Demand, parts: Parts) -> Array:
    """Force between piston and pin in the mean cycle (S, N, I) [N]."""
    return firing_force(demand, parts, demand.peak, parts.gear.piston_mass)


def big_end_force(demand: Demand, parts: Parts) -> Array:
    """Force on the big-end bearing near firing in the mean cycle (S, N, I) [N]."""
    turning = parts.gear.big_end_mass * throw(demand, parts)
    return np.maximum(mean_rod_compression(demand, parts) - turning[..., None], 0.0)


def _column(demand: Demand, parts: Parts) -> Array:
    return parts.gear.column_load


def _push_beside_pull(demand: Demand, parts: Parts, endured: Array) -> Array:
    """Push allowed beside the pull at a speed (S, N) [N]; endured: reversed stress [Pa]."""
    gear = parts.gear
    return rod.endured_compression(
        tension=rod_tension(demand, parts),
        endurance_force=endured * gear.shank_area,
        ultimate_force=gear.tensile_strength * gear.shank_area,
    )


def _finite_life(demand: Demand, parts: Parts) -> Array:
    """Push that the cycles spent about each speed allow: most rods live on less than for ever."""
    endured = rod.finite_life_strength(
        cycles=demand.cycles[:, None],
        fatigue_strength=parts.gear.fatigue_limit,
        ultimate_strength=parts.gear.tensile_strength,
    )
    return _push_beside_pull(demand, parts, np.asarray(endured))


def _endless_life(demand: Demand, parts: Parts) -> Array:
    return _push_beside_pull(demand, parts, parts.gear.fatigue_limit)


def _cap_pull_load(demand: Demand, parts: Parts) -> Array:
    return cap_pull(demand, parts)[..., None]


def _cap(demand: Demand, parts: Parts) -> Array:
    return parts.gear.cap_opening_force


def _boss_pressure(demand: Demand, parts: Parts) -> Array:
    return pin_force(demand, parts) / parts.gear.boss_area[:, None]


def _boss(demand: Demand, parts: Parts) -> Array:
    return parts.gear.boss_limit


def _bush_pressure(demand: Demand, parts: Parts) -> Array:
    return pin_force(demand, parts) / parts.gear.bush_area[:, None]


def _bush(demand: Demand, parts: Parts) -> Array:
    return parts.gear.bush_limit


def _pin_stress(demand: Demand, parts: Parts) -> Array:
    return pin_force(demand, parts) * parts.gear.pin_stress_per_force[:, None]


def _pin_yield(demand: Demand, parts: Parts) -> Array:
    return parts.gear.pin_yield


def _big_end_load(demand: Demand, parts: Parts) -> Array:
    return big_end_force(demand, parts) / parts.gear.big_end_area[:, None]


def _lining(demand: Demand, parts: Parts) -> Array:
    return parts.gear.lining_limit


FILM_INDEX_LOW = 0.006
"""Film index at which the static film would be a few tenths of a micrometre: guidance only."""


def film_load_limit(demand: Demand, parts: Parts) -> Array:
    """Specific load (S, N) [Pa] at which the static film index falls to FILM_INDEX_LOW."""
    gear = parts.gear
    effective = big_end.effective_speed_at_firing(
        angular_speed=demand.speed,
        crank_radius=parts.engine.stroke / 2,
        rod_length=parts.engine.rod_length,
    )
    least = big_end.steady_sommerfeld(
        eccentricity=1 - FILM_INDEX_LOW, length_to_diameter=gear.length_to_diameter
    )
    turns = np.asarray(effective)[:, None] / (2 * np.pi)
    return gear.viscosity * turns / (np.asarray(least) * gear.relative_clearance**2)


ROD_COLUMN = Limit(
    name="rod_compression",
    title="Rod in compression",
    protects="the connecting rod: too much gas force bends the shank",
    kind=LimitKind.STRENGTH,
    quantity="rod compression in the worst cycle",
    unit="kN",
    unit_size=KILONEWTON,
    load=rod_compression,
    strength=_column,
    lifted_by="stronger rods, the same torque at higher speed, later phasing",
    source="SHIGLEY, KMD",
)
ROD_FATIGUE = Limit(
    name="rod_fatigue",
    title="Rod fatigue",
    protects="the rod shank over the firings spent at this speed, between push and pull",
    kind=LimitKind.STRENGTH,
    quantity="rod compression in the mean cycle",
    unit="kN",
    unit_size=KILONEWTON,
    load=mean_rod_compression,
    strength=_finite_life,
    lifted_by="stronger or shot-peened rods, lower speed, lighter pistons",
    source="SHIGLEY",
)
ROD_LIFE = Limit(
    name="rod_life",
    title="Rod fatigue (long life)",
    protects="the rod shank over millions of firings between push and pull",
    kind=LimitKind.INDEX,
    quantity="rod compression in the mean cycle",
    unit="kN",
    unit_size=KILONEWTON,
    load=mean_rod_compression,
    strength=_endless_life,
    lifted_by="stronger or shot-peened rods, lower speed, lighter pistons",
    source="SHIGLEY",
)
ROD_BOLTS = Limit(
    name="rod_bolts",
    title="Rod bolts",
    protects="the big-end cap: at high speed inertia pulls it open, whatever the torque",
    kind=LimitKind.STRENGTH,
    quantity="pull on the big-end cap",
    unit="kN",
    unit_size=KILONEWTON,
    load=_cap_pull_load,
    strength=_cap,
    lifted_by="stronger rod bolts, lighter pistons, lower speed; never less torque",
    source="SHIGLEY",
)
PIN_BOSS = Limit(
    name="pin_boss",
    title="Piston pin in its bosses",
    protects="the pin bosses of the piston",
    kind=LimitKind.INDEX,
    quantity="pin bearing pressure in the bosses",
    unit="MPa",
    unit_size=MEGAPASCAL,
    load=_boss_pressure,
    strength=_boss,
    lifted_by="a larger pin, a forged or bushed piston",
    source="TRIBOLOGY-HANDBOOK, PRACTICE",
)
PIN_BUSH = Limit(
    name="pin_bush",
    title="Small-end bush",
    protects="the small-end bush",
    kind=LimitKind.INDEX,
    quantity="bearing pressure in the small-end bush",
    unit="MPa",
    unit_size=MEGAPASCAL,
    load=_bush_pressure,
    strength=_bush,
    lifted_by="a wider bush or larger pin",
    source="PRACTICE",
)
PIN_BENDING = Limit(
    name="pin_bending",
    title="Piston pin in bending",
    protects="the piston pin: a beam between its bosses, which wears or cracks the bosses too",
    kind=LimitKind.INDEX,
    quantity="bending stress in the middle of the pin",
    unit="MPa",
    unit_size=MEGAPASCAL,
    load=_pin_stress,
    strength=_pin_yield,
    lifted_by="a pin with a thicker wall or a larger diameter",
    source="KMD",
)
BIG_END_LOAD = Limit(
    name="big_end_load",
    title="Big-end lining",
    protects="the lining of the big-end bearing against fatigue",
    kind=LimitKind.INDEX,
    quantity="specific load of the big end",
    unit="MPa",
    unit_size=MEGAPASCAL,
    load=_big_end_load,
    strength=_lining,
    lifted_by="a stronger lining, a wider bearing",
    source="TRIBOLOGY-HANDBOOK",
)
BIG_END_FILM = Limit(
    name="big_end_film",
    title="Big-end oil film (index)",
    protects="the oil film of the big end: the same torque at low speed is harder on it",
    kind=LimitKind.INDEX,
    quantity="specific load of the big end",
    unit="MPa",
    unit_size=MEGAPASCAL,
    load=_big_end_load,
    strength=film_load_limit,
    lifted_by="the same torque at higher speed, thicker or cooler oil, less clearance",
    source="RAIMONDI-BOYD, REYNOLDS-FD",
)
LIMITS = (
    ROD_COLUMN,
    ROD_FATIGUE,
    ROD_LIFE,
    ROD_BOLTS,
    PIN_BOSS,
    PIN_BUSH,
    PIN_BENDING,
    BIG_END_LOAD,
    BIG_END_FILM,
)
