"""Limits of combustion: knock at the phasing judged at, and at any that a tuner would use."""

import numpy as np
from scipy.special import ndtr

from torquerisk.case import Engine
from torquerisk.quantities import Array
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.limits.limit import Limit, LimitKind, Place
from torquerisk.study.loads.demand import LATEST_SANE_CA50, Demand

HEARD_IN_TIME = 0.9
"""Share of engines whose knock is heard, and the torque taken back, before it does harm (common
practice, no source). So of knock that no ignition cures ten times the accepted chance is accepted:
a part that breaks gives no such warning."""


def knocking(loads: Demand, place: Place) -> Array:
    """Share of draws (S,) that knock at a place among the load rows, at the phasing judged at."""
    return np.asarray((place.read(loads.knock_excess) > 0.0).mean(axis=1))


def quiet_later(loads: Demand, place: Place) -> Array:
    """How much later (S,) [rad] than judged at the middle engine burns without audible knock.

    At a place among the load rows; below 0 where it may burn earlier; without bound with
    compression ignition.
    """
    if loads.spec.compression_ignition:
        return np.full(len(loads.speed), -np.inf)
    later = place.read(loads.knock_limited_ca50) - place.read(loads.ca50)
    return np.asarray(np.median(later, axis=1))


def quiet_ca50(loads: Demand, place: Place) -> Array:
    """Earliest CA50 (S,) [rad] at which the middle engine burns without audible knock, at a place
    among the load rows; without bound with compression ignition."""
    if loads.spec.compression_ignition:
        return np.full(len(loads.speed), -np.inf)
    return np.asarray(np.median(place.read(loads.knock_limited_ca50), axis=1))


def bounding(limit: Limit, capacity: Array, draws: Draws) -> Array:
    """Capacity torque (S, N) [N*m] as it bounds a table: inf where knock is heard in time."""
    if limit.kind is not LimitKind.COMBUSTION:
        return capacity
    unheard = ndtr(draws.deviates[spreads.HEARD.name]) > HEARD_IN_TIME
    return np.where(unheard, capacity, np.inf)


def accepted_of(kind: LimitKind, chance: float) -> float:
    """Chance accepted of passing a limit of a kind, where `chance` is of what breaks unheard."""
    return min(chance / (1 - HEARD_IN_TIME), 0.5) if kind is LimitKind.COMBUSTION else chance


def _spark_only(engine: Engine) -> tuple[str, ...]:
    return ("spark ignition",) if engine.compression_ignition else ()


KNOCK = Limit(
    name="knock",
    title="Knock at this ignition",
    protects="pistons and bearings: above this the fuel knocks at the phasing judged at",
    kind=LimitKind.KNOCK,
    quantity="knock integral over that of audible knock",
    unit="",
    load=lambda d, _: np.exp(d.knock_excess),
    strength=lambda *_: np.asarray(1.0),
    lifted_by="a later burn, fuel of higher octane, more ethanol, cooler charge, the same torque "
    "at higher speed",
    source="DOUAUD_EYZAT, LIVENGOOD_WU, PRACTICE",
    missing=_spark_only,
)
OCTANE = Limit(
    name="octane",
    title="Octane of the fuel",
    protects="pistons and bearings: above this the fuel knocks at any phasing a tuner would use",
    kind=LimitKind.COMBUSTION,
    quantity="earliest CA50 without audible knock",
    unit="deg",
    load=lambda d, _: d.knock_limited_ca50,
    strength=lambda *_: np.asarray(LATEST_SANE_CA50),
    lifted_by="fuel of higher octane, more ethanol, cooler charge, the same torque at higher speed",
    source="DOUAUD_EYZAT, LIVENGOOD_WU, PRACTICE",
    missing=_spark_only,
)
LIMITS = (KNOCK, OCTANE)
HEARD = Limit(
    name="knock_heard",
    title="Knock heard in this run",
    protects="pistons and bearings: no torque is added where the engine knocked, until a run is "
    "quiet there",
    kind=LimitKind.KNOCK,
    quantity="torque",
    unit="",
    load=lambda d, _: d.torque,
    strength=lambda d, _: d.state.heard_at[:, None],
    lifted_by="ignition taken back or fuel of more octane, and then a run that is quiet there",
    source="PRACTICE",
)
"""Of the log and not of an engine: it bounds tables of this run, and no verdict is given on it."""
