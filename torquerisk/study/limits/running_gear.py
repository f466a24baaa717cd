"""Forces on the running gear: what its limits read, and answers beside them.

Pull at the overlap takes no help from gas pressure, nor does the speed at which pull overtakes
push; the direct cycles of `answers.cycle_traces` have that pressure.
"""

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.loads.demand import Demand
from torquerisk.study.strengths.parts import Parts
from torquerisk.study.strengths.running_gear import CRANKCASE_PRESSURE


def throw(demand: Demand, parts: Parts) -> Array:
    """Acceleration scale r w^2 (S, 1) [m/s^2]."""
    return (parts.engine.stroke / 2 * demand.speed**2)[:, None]


def pull_of(demand: Demand, parts: Parts, mass: Array) -> Array:
    """Pull of a mass (N,) that moves with the piston at overlap TDC (S, N) [N]."""
    return mass * throw(demand, parts) * parts.gear.acceleration_down


def firing_force(demand: Demand, parts: Parts, pressure: Array, mass: Array) -> Array:
    """Greatest push of a cycle (S, N, I) [N] with a mass (N,): near the peak, or near the bottom.

    Gas force less the mass's inertia at the peak's angle; at light load and high speed the push of
    the mass near bottom dead centre, where it is accelerated upwards most, is more.
    """
    relief = (mass * throw(demand, parts))[..., None] * demand.acceleration_share
    force = pressure - CRANKCASE_PRESSURE
    force *= parts.gear.bore_area
    force -= relief
    upwards = mass * throw(demand, parts) * parts.gear.acceleration_up
    return np.maximum(force, upwards[..., None], out=force)


def rod_compression(demand: Demand, parts: Parts) -> Array:
    """Rod compression in the worst cycle of all pulls (S, N, I) [N]."""
    return firing_force(demand, parts, demand.worst, parts.gear.reciprocating_mass)


def mean_rod_compression(demand: Demand, parts: Parts) -> Array:
    """Rod compression in the mean cycle (S, N, I) [N]."""
    return firing_force(demand, parts, demand.peak, parts.gear.reciprocating_mass)


def rod_tension(demand: Demand, parts: Parts) -> Array:
    """Rod tension at overlap TDC (S, N) [N]."""
    return pull_of(demand, parts, parts.gear.reciprocating_mass)


def pin_pull(demand: Demand, parts: Parts) -> Array:
    """Pull of the pin on the small-end eye at overlap TDC (S, N) [N]."""
    return pull_of(demand, parts, parts.gear.piston_mass)


def cap_pull(demand: Demand, parts: Parts) -> Array:
    """Pull on the big-end cap at overlap TDC (S, N) [N]."""
    turning = np.maximum(parts.gear.big_end_mass - parts.gear.cap_mass, 0.0)
    return rod_tension(demand, parts) + throw(demand, parts) * turning


def crankpin_pull(demand: Demand, parts: Parts) -> Array:
    """Load on the crankpin at overlap TDC (S, N) [N]: the greatest that inertia makes."""
    return rod_tension(demand, parts) + throw(demand, parts) * parts.gear.big_end_mass


def pin_force(demand: Demand, parts: Parts) -> Array:
    """Greatest force between piston and pin in the mean cycle (S, N, I) [N], push or pull."""
    push = firing_force(demand, parts, demand.peak, parts.gear.piston_mass)
    return np.maximum(push, pin_pull(demand, parts)[..., None], out=push)


def firing_load(demand: Demand, parts: Parts) -> Array:
    """Load on the crankpin near firing in the mean cycle (S, N, I) [N].

    Rod and throw in one line: at 15 degrees after dead centre 1 or 2 % low.
    """
    turning = parts.gear.big_end_mass * throw(demand, parts)
    load = mean_rod_compression(demand, parts)
    load -= turning[..., None]
    return np.maximum(load, 0.0, out=load)
