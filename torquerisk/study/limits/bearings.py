"""Limits of piston, pin and big-end bearing: the whole cycle's greatest load, push or pull."""

import numpy as np

from torquerisk.case import Engine
from torquerisk.physics.running_gear import big_end
from torquerisk.physics.running_gear.piston import ring_land_stress
from torquerisk.quantities import Array
from torquerisk.study.limits.limit import Limit, LimitKind
from torquerisk.study.limits.running_gear import crankpin_pull, firing_load, pin_force
from torquerisk.study.loads.demand import Demand
from torquerisk.study.strengths.parts import Parts
from torquerisk.study.strengths.running_gear import CRANKCASE_PRESSURE

BIG_END = "running_gear.big_end_bearing"


PIN_OVALISATION_MOST = 50e-6
"""Growth of the pin's diameter that its clearance in the boss still takes [m], 20 to 50 µm. Source:
[KOLCHIN] ch. 11 (from memory)."""


def _ring_land_stress(demand: Demand, parts: Parts) -> Array:
    height = parts.given("running_gear.ring_land_height")[:, None]
    pressure = np.maximum(demand.peak - CRANKCASE_PRESSURE, 0.0)
    bore = parts.engine.bore
    return np.asarray(ring_land_stress(peak_pressure=pressure, bore=bore, land_height=height))


def _no_land(engine: Engine) -> tuple[str, ...]:
    name = "running_gear.ring_land_height"
    return () if engine.has(name) else (name,)


def _rolls(engine: Engine) -> tuple[str, ...]:
    return ("a plain big-end bearing",) if engine.given(BIG_END) == "roller" else ()


def _big_end_load(demand: Demand, parts: Parts) -> Array:
    """Specific load of the big end, near firing or at overlap (S, N, I) [Pa]."""
    load = firing_load(demand, parts)
    np.maximum(load, crankpin_pull(demand, parts)[..., None], out=load)
    load /= parts.gear.big_end_area[:, None]
    return load


def _speed_at_firing(demand: Demand, parts: Parts) -> Array:
    """Effective speed of the load near firing (S,) [rad/s]."""
    return np.asarray(
        big_end.effective_speed_at_firing(
            angular_speed=demand.speed,
            crank_radius=parts.engine.stroke / 2,
            rod_length=parts.engine.rod_length,
        )
    )


LEAST_SPEED_SHARE = 0.1
"""Effective speed of the pull, over that at firing, that is counted at least [-]: below, oil is
squeezed out rather than dragged in, and a steady film says nothing."""


def film_load(demand: Demand, parts: Parts) -> Array:
    """Specific load (S, N, I) [Pa] that is as hard on the film at firing's effective speed.

    Near firing as it is; at overlap, where the load turns along and less oil is dragged in, more by
    the ratio of both effective speeds.
    """
    gear, speed = parts.gear, _speed_at_firing(demand, parts)[:, None]
    at_overlap = big_end.effective_speed_at_overlap(
        angular_speed=demand.speed[:, None],
        crank_radius=parts.engine.stroke / 2,
        rod_length=parts.engine.rod_length,
        reciprocating_mass=gear.reciprocating_mass,
        turning_mass=gear.big_end_mass,
    )
    share = np.maximum(at_overlap / speed, LEAST_SPEED_SHARE)
    load = firing_load(demand, parts)
    np.maximum(load, (crankpin_pull(demand, parts) / share)[..., None], out=load)
    load /= gear.big_end_area[:, None]
    return load


FILM_INDEX_LOW = 0.006
"""Film index at which the static film would be a few tenths of a micrometre: guidance only."""


def film_load_limit(demand: Demand, parts: Parts) -> Array:
    """Specific load (S, N) [Pa] at which the static film index falls to FILM_INDEX_LOW."""
    gear = parts.gear
    least = big_end.steady_sommerfeld(
        eccentricity=1 - FILM_INDEX_LOW, length_to_diameter=gear.length_to_diameter
    )
    turns = _speed_at_firing(demand, parts)[:, None] / (2 * np.pi)
    return gear.viscosity * turns / (np.asarray(least) * gear.relative_clearance**2)


PIN_BOSS = Limit(
    name="pin_boss",
    title="Piston pin in its bosses",
    protects="the pin bosses of the piston",
    kind=LimitKind.INDEX,
    quantity="pin bearing pressure in the bosses",
    unit="MPa",
    load=lambda d, p: pin_force(d, p) / p.gear.boss_area[:, None],
    strength=lambda _, p: p.gear.boss_limit,
    lifted_by="a larger pin, a forged or bushed piston",
    source="PRACTICE",
)
PIN_BUSH = Limit(
    name="pin_bush",
    title="Small-end bush",
    protects="the small-end bush",
    kind=LimitKind.INDEX,
    quantity="bearing pressure in the small-end bush",
    unit="MPa",
    load=lambda d, p: pin_force(d, p) / p.gear.bush_area[:, None],
    strength=lambda _, p: p.gear.bush_limit,
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
    load=lambda d, p: pin_force(d, p) * p.gear.pin_stress_per_force[:, None],
    strength=lambda _, p: p.gear.pin_yield,
    lifted_by="a pin with a thicker wall or a larger diameter",
    source="KMD",
)
PIN_OVAL = Limit(
    name="pin_ovalisation",
    title="Piston pin going oval",
    protects="the pin and its bosses: a thin wall goes oval, binds and cracks",
    kind=LimitKind.INDEX,
    quantity="growth of the pin's diameter",
    unit="mm",
    load=lambda d, p: pin_force(d, p) * p.gear.pin_oval_per_force[:, None],
    strength=lambda *_: np.asarray(PIN_OVALISATION_MOST),
    lifted_by="a pin with a thicker wall",
    source="KOLCHIN",
)
RING_LAND = Limit(
    name="ring_land",
    title="Ring land",
    protects="the land under the first ring, which breaks with too much pressure or with knock",
    kind=LimitKind.INDEX,
    quantity="stress in the land between the first two rings, mean cycle",
    unit="MPa",
    load=_ring_land_stress,
    strength=lambda _, p: p.gear.ring_land_limit,
    lifted_by="a thicker land, a forged piston, no knock",
    source="KOLCHIN",
    missing=_no_land,
)
BIG_END_LOAD = Limit(
    name="big_end_load",
    title="Big-end lining",
    protects="the lining of the big-end bearing against fatigue",
    kind=LimitKind.INDEX,
    quantity="specific load of the big end",
    unit="MPa",
    load=_big_end_load,
    strength=lambda _, p: p.gear.lining_limit,
    lifted_by="a stronger lining, a wider bearing",
    source="TRIBOLOGY-HANDBOOK",
    missing=_rolls,
)
BIG_END_FILM = Limit(
    name="big_end_film",
    title="Big-end oil film (index)",
    protects="the big end's oil film: gas is hard on it at low speed, inertia at high speed",
    kind=LimitKind.INDEX,
    quantity="specific load of the big end, at firing's oil supply",
    unit="MPa",
    load=film_load,
    strength=film_load_limit,
    lifted_by="the same torque at middle speed, lighter pistons, thicker or cooler oil",
    source="RAIMONDI-BOYD, REYNOLDS-FD",
    missing=_rolls,
)
LIMITS = (
    PIN_BOSS,
    PIN_BUSH,
    PIN_BENDING,
    PIN_OVAL,
    RING_LAND,
    BIG_END_LOAD,
    BIG_END_FILM,
)
