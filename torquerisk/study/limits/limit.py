"""What a limit is: one load against one strength, solved for torque."""

import enum
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from torquerisk.case import Engine

Array = npt.NDArray[np.float64]


class LimitKind(enum.Enum):
    """What passing a limit means."""

    STRENGTH = "strength"
    """Something bends, lifts, yields or cracks: counts in the chance."""
    COMBUSTION = "combustion"
    """The torque cannot be had at a sane phasing on this fuel."""
    SUPPLY = "supply"
    """Fuel, sensor, spark or valve springs run out."""
    INDEX = "index"
    """A comparison with published guidance, not a verdict: shown, never counted."""


@dataclass(frozen=True, kw_only=True)
class Limit:
    """One limit: what it protects, its load by torque, its strength, and where both come from."""

    name: str
    """Short name, as in the JSON documents."""
    title: str
    """Name for readers."""
    protects: str
    """What it keeps from harm, in plain words."""
    kind: LimitKind
    unit: str
    """Unit in which load and strength are shown."""
    unit_size: float
    """SI size of that unit."""
    load: Callable[[Any], Array]
    """Demand -> load (S, N, K) over speed, draw and torque node, rising with what harms [SI]."""
    strength: Callable[[Any, Any], Array]
    """(Capacity, Demand's speeds) -> strength, broadcastable to (S, N) [SI]."""
    lifted_by: str
    """What would raise it, in plain words."""
    source: str
    """Keys of the sources of load and strength."""
    needs: Callable[[Engine], tuple[str, ...]] = lambda engine: ()
    """Inputs still missing before it can be assessed; empty when it can."""


def capacity_torque(load: Array, strength: Array, torque: Array) -> Array:
    """Least torque at which the load reaches the strength (S, N) [N*m].

    load: (S, N, K) over the torque nodes; strength: broadcastable to (S, N); torque: nodes (K,),
    rising. Linear between nodes. The first crossing counts: where load falls again with torque
    (retarded phasing), more torque does not make it safe. -inf where the load exceeds the strength
    at the least torque node already (no torque acceptable); inf where the last does not reach it.
    """
    rising = np.maximum.accumulate(load, axis=-1)
    limit = np.broadcast_to(strength, rising.shape[:-1])
    below = (rising < limit[..., None]).sum(axis=-1)
    upper = np.clip(below, 1, len(torque) - 1)
    low_load = np.take_along_axis(rising, (upper - 1)[..., None], axis=-1)[..., 0]
    high_load = np.take_along_axis(rising, upper[..., None], axis=-1)[..., 0]
    rise = np.where(high_load > low_load, high_load - low_load, 1.0)
    share = np.clip((limit - low_load) / rise, 0.0, 1.0)
    result = torque[upper - 1] + share * (torque[upper] - torque[upper - 1])
    result = np.where(below == 0, -np.inf, result)
    return np.where(below == len(torque), np.inf, result)


def load_at(load: Array, torque: Array, wanted: Array) -> Array:
    """Load at one torque a speed (S, N), linear between the torque nodes, held at their ends.

    load: (S, N, K); torque: (K,); wanted: (S,) [N*m]. Uses the same running maximum as
    `capacity_torque`, so that a limit fed back gives a utilisation of 1.
    """
    rising = np.maximum.accumulate(load, axis=-1)
    upper = np.clip(np.searchsorted(torque, wanted), 1, len(torque) - 1)
    share = np.clip((wanted - torque[upper - 1]) / (torque[upper] - torque[upper - 1]), 0.0, 1.0)
    rows = np.arange(len(wanted))
    low = rising[rows, :, upper - 1]
    high = rising[rows, :, upper]
    return low + share[:, None] * (high - low)
