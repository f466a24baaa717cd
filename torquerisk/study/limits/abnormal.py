"""Abnormal cycles (heavy knock, pre-ignition): how often, and the limit of their worst.

Counted among the limits only where the policy asks for it; told beside the chance otherwise.
"""

import numpy as np
from scipy.special import ndtr

from torquerisk.physics.cylinder import abnormal
from torquerisk.physics.cylinder.mean_pressure import bmep_from_torque
from torquerisk.quantities import Array
from torquerisk.study.draws import spreads
from torquerisk.study.limits.limit import Limit, LimitKind
from torquerisk.study.limits.running_gear import throw
from torquerisk.study.loads.cycles_spent import SPEED_BAND
from torquerisk.study.loads.demand import Demand
from torquerisk.study.run.operating_state import known_bmep
from torquerisk.study.strengths.parts import Parts
from torquerisk.study.strengths.running_gear import CRANKCASE_PRESSURE

KNOCK_EXCESSES = (-50.0, 3.0)
"""Logarithm of the knock integral over its threshold that rates are asked for [-]: at both ends the
rate is 0 or 1 to rounding, so nothing is cut by it."""
PREIGNITION_LOADS = (-4e5, 59e5)
"""BMEP that the rate of pre-ignition is asked for [Pa]: below it is 0 to rounding, above lie only
loads that `load-range` tells of."""
GOLDEN = 0.6180339887498949
"""Share of a turn between the lots of neighbouring bands of speed: as even as any."""


def rates(demand: Demand, parts: Parts, torque: Array, excess: Array) -> tuple[Array, Array]:
    """Rates per cycle of heavy knock and of pre-ignition, of the shape of `torque` (S, N, ...).

    torque: crank torque [N*m]; excess: logarithm of the knock integral over its threshold [-]; both
    (S, N) or (S, N, I). Source: see `abnormal`.
    """
    engine, draws = parts.engine, parts.draws
    spark = not engine.compression_ignition
    more = (1,) * (torque.ndim - 2)

    def by_draw(values: Array) -> Array:
        return values.reshape(1, -1, *more)

    over = np.exp(np.clip(excess, *KNOCK_EXCESSES))
    knock = abnormal.heavy_knock_rate(over, 1.0, spark)
    knock = np.clip(knock * by_draw(draws.of_model(spreads.KNOCK_RATE)), 0.0, 1.0)
    bmep = bmep_from_torque(torque, engine.swept_volume_total)
    load = np.clip(bmep, *PREIGNITION_LOADS)
    speed = demand.speed.reshape(-1, 1, *more)
    known = known_bmep(engine, demand.speed)
    rated = 0.0 if known is None else known.reshape(speed.shape)
    early = abnormal.preignition_rate(load, speed, spark, rated)
    early = np.clip(early * by_draw(draws.of_model(spreads.PREIGNITION_RATE)), 0.0, 1.0)
    return knock, early


def head_strength(demand: Demand, parts: Parts) -> Array:
    """Least peak pressure (S, N) [Pa] of one cycle that passes a strength limit of the head."""
    lift = parts.head.lift_pressure()
    gives = parts.head.breaking_pressure()
    return np.broadcast_to(np.minimum(lift, gives), demand.torque.shape[:2])


def rod_strength(demand: Demand, parts: Parts, acceleration_share: Array) -> Array:
    """Peak pressure [Pa] of one cycle that bends a rod, of the shape of `acceleration_share`.

    acceleration_share: (S, N) or (S, N, I), as the demand has it. Inertia works against gas.
    """
    gear = parts.gear
    more = (1,) * (acceleration_share.ndim - 2)

    def by_draw(values: Array) -> Array:
        return np.asarray(values).reshape(*np.shape(values), *more)

    relief = by_draw(gear.reciprocating_mass * throw(demand, parts)) * acceleration_share
    return (by_draw(gear.column_load) + relief) / gear.bore_area + CRANKCASE_PRESSURE


def lots(demand: Demand, parts: Parts) -> Array:
    """A number from 0 to 1 for each draw and band of speed (S, N): how lucky its pulls are there.

    Each band has its own, so that bands are as good as independent; speeds of one band
    share it, so that a finer grid holds no more events.
    """
    lot = ndtr(parts.draws.deviates[spreads.ABNORMAL.name])
    band = np.floor(demand.speed / SPEED_BAND)
    return np.asarray((lot[None, :] + GOLDEN * band[:, None]) % 1.0)


def worst_over_capacity(demand: Demand, parts: Parts) -> Array:
    """Worst cycle of all pulls, abnormal ones counted, over what head or rod carries (S, N, I) [-].

    The worst amplitude of either kind follows from its lot: `abnormal.worst_amplitude`. That of
    knock is the digits of the other's after the third: as good as another draw.
    """
    knock, early = rates(demand, parts, demand.torque, demand.knock_excess)
    cycles = (demand.cycles * parts.engine.cylinders)[:, None, None]
    lot = lots(demand, parts)[:, :, None]
    amplitude = np.maximum(
        *(
            abnormal.worst_amplitude(rate, cycles, np.clip(own, 1e-9, 1 - 1e-9), kind)
            for rate, own, kind in (
                (knock, 1000.0 * lot % 1.0, abnormal.HEAVY_KNOCK),
                (early, lot, abnormal.PREIGNITION),
            )
        )
    )
    head = head_strength(demand, parts)[:, :, None]
    rod = rod_strength(demand, parts, demand.acceleration_share)
    return np.asarray(demand.peak * amplitude / np.maximum(np.minimum(head, rod), 1e5))


ABNORMAL = Limit(
    name="abnormal_cycle",
    title="Abnormal cycle",
    protects="head, rods and pistons: one heavy knock or pre-ignition passes what they carry",
    kind=LimitKind.STRENGTH,
    quantity="worst cycle over what head or rod carries",
    unit="",
    load=worst_over_capacity,
    strength=lambda *_: np.asarray(1.0),
    lifted_by="the same torque at higher speed, fuel of higher octane, a later burn, oil that "
    "pre-ignites less, stronger head and rods",
    source="ABNORMAL_CYCLES, PRACTICE",
)
"""Of all pulls, order of magnitude only; spark ignition."""
