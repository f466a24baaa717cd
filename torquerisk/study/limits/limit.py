"""What a limit is: one load against one strength, solved for torque."""

import enum
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.case import Engine
from torquerisk.quantities import BAR, DEGREE, KILO, KN, MEGA, MM, Array
from torquerisk.study.cycle.last_axis import count_last, pair_last
from torquerisk.study.loads.demand import Demand
from torquerisk.study.strengths.parts import Parts


class LimitKind(enum.Enum):
    """What passing a limit means."""

    STRENGTH = "strength"
    """Something bends, lifts, yields or cracks: counts in the chance."""
    COMBUSTION = "combustion"
    """The torque cannot be had at a sane phasing on this fuel."""
    KNOCK = "knock"
    """The burn is early for the fuel: judged, but a later one cures it, so it bounds no torque."""
    SUPPLY = "supply"
    """Fuel, sensor, spark or valve springs run out."""
    INDEX = "index"
    """A comparison with published guidance, not a verdict: shown, never counted."""


SIZES = {
    "": 1.0, "N": 1.0, "kN": KN, "bar": BAR, "kPa": KILO, "MPa": MEGA, "mm": MM, "deg": DEGREE,
    "kg/h": 1 / 3600, "s/kg": 1.0, "kW": KILO,
}  # fmt: skip
"""Sizes in SI of the units that loads and strengths are shown in."""


def _nothing_missing(engine: Engine) -> tuple[str, ...]:
    return ()


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
    quantity: str
    """What load and strength are, such as 'peak cylinder pressure'."""
    unit: str
    """Unit in which load and strength are shown."""
    load: Callable[[Demand, Parts], Array]
    """Load (S, N, I) over speed, draw and load row [SI]; (S, N, 1) where torque does not count."""
    strength: Callable[[Demand, Parts], Array]
    """Strength broadcastable to (S, N) [SI]; reads speeds from the demand, never torque."""
    lifted_by: str
    """What would raise it, in plain words."""
    source: str
    """Keys of the sources of load and strength."""
    missing: Callable[[Engine], tuple[str, ...]] = _nothing_missing
    """Inputs without which it is not assessed; empty when it can be. Words without a section name
    what such an engine does not have at all: no input is wanted then."""

    @property
    def unit_size(self) -> float:
        """SI size of that unit."""
        return SIZES[self.unit]

    def capacity(self, demand: Demand, parts: Parts) -> Array:
        """Least torque at which it is reached (S, N) [N*m]: see `capacity_torque`."""
        return capacity_torque(
            self.load(demand, parts), self.strength(demand, parts), demand.torque
        )


def wants_inputs(missing: tuple[str, ...]) -> bool:
    """True where inputs are missing, False where the limit does not concern such an engine."""
    return any("." in name for name in missing)


def running_maximum(load: Array) -> Array:
    """Highest load up to each row (S, N, I): where load falls again, more torque is not safer."""
    rising = np.array(load)
    for k in range(1, load.shape[-1]):
        np.maximum(rising[..., k], rising[..., k - 1], out=rising[..., k])
    return rising


def capacity_torque(load: Array, strength: Array, torque: Array, is_rising: bool = False) -> Array:
    """Least torque at which the load reaches the strength (S, N) [N*m].

    load: (S, N, I) or (S, N, 1); strength: broadcastable to (S, N); torque: (S, N, I), rising;
    is_rising: the load is a `running_maximum` already. Linear between rows. The first crossing
    counts: where load falls again with torque (retarded phasing), more torque does not make it
    safe. -inf where the load is too much at the least row already (no torque acceptable); inf where
    no row reaches the strength.
    """
    limit = np.broadcast_to(strength, torque.shape[:-1])
    if load.shape[-1] == 1:
        return np.where(load[..., 0] < limit, np.inf, -np.inf)
    rising = load if is_rising else running_maximum(load)
    below = count_last(rising < limit[..., None])
    lower = np.clip(below, 1, torque.shape[-1] - 1) - 1
    low, high = pair_last(rising, lower)
    rise = np.where(high > low, high - low, 1.0)
    share = np.clip((limit - low) / rise, 0.0, 1.0)
    start, end = pair_last(torque, lower)
    result = start + share * (end - start)
    result = np.where(below == 0, -np.inf, result)
    return np.where(below == torque.shape[-1], np.inf, result)


@dataclass(frozen=True, kw_only=True, eq=False)
class Place:
    """Where a torque lies among the load rows: row above (S, N) and share of the way to it."""

    upper: npt.NDArray[np.intp]
    share: Array

    def read(self, values: Array) -> Array:
        """Value (S, N) at this place of an array (S, N, I) or (S, N, 1), linear between rows."""
        if values.shape[-1] == 1:
            return values[..., 0]
        low, high = pair_last(values, self.upper - 1)
        return low + self.share * (high - low)

    def load(self, values: Array) -> Array:
        """As `read`, of the running maximum that `capacity_torque` uses."""
        return self.read(running_maximum(values))


def place_of(torque: Array, wanted: Array) -> Place:
    """Place of torques (S,) or (S, N) [N*m] among the rows (S, N, I); held at the ends."""
    target = np.asarray(wanted, dtype=float)
    target = target[:, None] if target.ndim == 1 else target
    below = count_last(torque < target[..., None])
    upper = np.clip(below, 1, torque.shape[-1] - 1)
    low, high = pair_last(torque, upper - 1)
    span = np.where(high > low, high - low, 1.0)
    return Place(upper=upper, share=np.clip((target - low) / span, 0.0, 1.0))
