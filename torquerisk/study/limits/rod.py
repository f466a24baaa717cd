"""Limits of the rod: column, fatigue of shank, eye and cap, and the cap's bolts."""

import numpy as np

from torquerisk.case import Engine
from torquerisk.physics.running_gear import rod
from torquerisk.quantities import Array
from torquerisk.study.limits.limit import Limit, LimitKind
from torquerisk.study.limits.running_gear import (
    cap_pull,
    mean_rod_compression,
    pin_pull,
    rod_compression,
    rod_tension,
)
from torquerisk.study.loads.demand import Demand
from torquerisk.study.strengths.parts import Parts


def _no_cap(engine: Engine) -> tuple[str, ...]:
    """A rod on rollers of a pressed crank is of one piece."""
    return ("a rod with a cap",) if engine.given("running_gear.big_end_bearing") == "roller" else ()


def endured(demand: Demand, parts: Parts) -> Array:
    """Fully reversed stress (S, N) [Pa] that the cycles spent about each speed allow the rod."""
    return np.asarray(
        rod.finite_life_strength(
            cycles=demand.cycles[:, None],
            fatigue_strength=parts.gear.fatigue_limit,
            ultimate_strength=parts.gear.tensile_strength,
        )
    )


def _push_beside_pull(demand: Demand, parts: Parts, reversed_stress: Array) -> Array:
    """Push allowed beside the pull at a speed, or beside whipping if that stretches more (S, N)."""
    gear = parts.gear
    whip = gear.whip_stress * gear.shank_area * demand.speed[:, None] ** 2
    return rod.endured_compression(
        tension=np.maximum(rod_tension(demand, parts), whip),
        endurance_force=reversed_stress * gear.shank_area,
        ultimate_force=gear.tensile_strength * gear.shank_area,
    )


def _finite_life(demand: Demand, parts: Parts) -> Array:
    """Push that the cycles spent about each speed allow: most rods live on less than for ever."""
    return _push_beside_pull(demand, parts, endured(demand, parts))


def _pulsating(demand: Demand, parts: Parts) -> Array:
    """Highest stress of a pull that the cycles about each speed allow (S, N) [Pa]."""
    return np.asarray(
        rod.pulsating_strength(
            endurance=endured(demand, parts), ultimate_strength=parts.gear.tensile_strength
        )
    )


def _bolt_amplitude(demand: Demand, parts: Parts) -> Array:
    """Half the swing of stress in a rod bolt between no pull and the greatest (S, N, 1) [Pa]."""
    ends = parts.gear.ends
    swing = ends.bolt_load(cap_pull(demand, parts)) - ends.preload
    return (swing / (2 * ends.bolt_area))[..., None]


ROD_COLUMN = Limit(
    name="rod_compression",
    title="Rod in compression",
    protects="the connecting rod: too much gas force bends the shank",
    kind=LimitKind.STRENGTH,
    quantity="rod compression in the worst cycle",
    unit="kN",
    load=rod_compression,
    strength=lambda _, p: p.gear.column_load,
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
    load=mean_rod_compression,
    strength=lambda d, p: _push_beside_pull(d, p, p.gear.fatigue_limit),
    lifted_by="stronger or shot-peened rods, lower speed, lighter pistons",
    source="SHIGLEY",
)
ROD_EYE = Limit(
    name="rod_eye",
    title="Small-end eye",
    protects="the small end: at high speed the piston pulls its eye open, whatever the torque",
    kind=LimitKind.STRENGTH,
    quantity="greatest stress in the small-end eye",
    unit="MPa",
    load=lambda d, p: (pin_pull(d, p) * p.gear.ends.eye_stress_per_force)[..., None],
    strength=_pulsating,
    lifted_by="lighter pistons, stronger rods, lower speed; never less torque",
    source="KOLCHIN, TIMOSHENKO, SHIGLEY",
)
ROD_CAP = Limit(
    name="rod_cap",
    title="Big-end cap in bending",
    protects="the big-end cap: at high speed inertia bends it, whatever the torque",
    kind=LimitKind.STRENGTH,
    quantity="greatest stress in the big-end cap",
    unit="MPa",
    load=lambda d, p: (cap_pull(d, p) * p.gear.ends.cap_stress_per_force)[..., None],
    strength=_pulsating,
    lifted_by="lighter pistons, stronger rods, lower speed; never less torque",
    source="TIMOSHENKO, SHIGLEY",
    missing=_no_cap,
)
ROD_BOLTS = Limit(
    name="rod_bolts",
    title="Rod bolts",
    protects="the big-end cap: at high speed inertia pulls it open, whatever the torque",
    kind=LimitKind.STRENGTH,
    quantity="pull on the big-end cap",
    unit="kN",
    load=lambda d, p: cap_pull(d, p)[..., None],
    strength=lambda _, p: p.gear.ends.opening_force,
    lifted_by="stronger rod bolts, lighter pistons, lower speed; never less torque",
    source="SHIGLEY",
    missing=_no_cap,
)
ROD_BOLT_LIFE = Limit(
    name="rod_bolt_life",
    title="Rod bolt fatigue (long life)",
    protects="the rod bolts over millions of turns at this speed",
    kind=LimitKind.INDEX,
    quantity="stress amplitude in a rod bolt",
    unit="MPa",
    load=_bolt_amplitude,
    strength=lambda _, p: np.asarray(p.gear.ends.bolt_amplitude),
    lifted_by="bolts tightened more, thicker bolts, lighter pistons, lower speed",
    source="VDI2230, SHIGLEY",
    missing=_no_cap,
)
LIMITS = (ROD_COLUMN, ROD_FATIGUE, ROD_LIFE, ROD_EYE, ROD_CAP, ROD_BOLTS, ROD_BOLT_LIFE)
