"""Abnormal cycles of one pull: how likely, and how likely that one does harm."""

import numpy as np

from torquerisk.case import Engine
from torquerisk.physics.cylinder import abnormal
from torquerisk.physics.cylinder.mean_pressure import bmep_from_torque
from torquerisk.quantities import Array
from torquerisk.study.assessment.result import Abnormal, band
from torquerisk.study.draws import spreads
from torquerisk.study.limits import Place
from torquerisk.study.limits.running_gear import throw
from torquerisk.study.loads.demand import SPEED_BAND, Demand
from torquerisk.study.strengths.parts import Parts
from torquerisk.study.strengths.running_gear import CRANKCASE_PRESSURE

KNOCK_EXCESSES = (-50.0, 3.0)
"""Logarithm of the knock integral over its threshold that rates are asked for [-]: at both ends the
rate is 0 or 1 to rounding, so nothing is cut by it."""
PREIGNITION_LOADS = (-4e5, 59e5)
"""BMEP that the rate of pre-ignition is asked for [Pa]: below it is 0 to rounding, above lie only
loads that `load-range` tells of."""


def abnormal_cycles(
    engine: Engine,
    loads: Demand,
    parts: Parts,
    place: Place,
    head_pressure: Array,
) -> Abnormal:
    """Rates and chances at the measured torque, by speed; all cylinders of one pull.

    head_pressure: peak pressure (S, N) [Pa] at which the head joint gives; the rod's is added here.
    Knock and pre-ignition are a mixture beside the normal cycles: rates and amplitudes with wide
    spreads, see `abnormal`. Source: [ABNORMAL_CYCLES], [PRACTICE].
    """
    draws = parts.draws
    spark = not engine.compression_ignition
    peak = place.read(loads.peak)
    excess = place.read(loads.knock_excess) if spark else np.full(peak.shape, -50.0)
    knock = abnormal.heavy_knock_rate(np.exp(np.clip(excess, *KNOCK_EXCESSES)), 1.0, spark)
    knock = np.clip(knock * draws.of_model(spreads.KNOCK_RATE), 0.0, 1.0)
    bmep = bmep_from_torque(place.read(loads.torque), engine.swept_volume_total)
    load = np.clip(bmep, *PREIGNITION_LOADS)
    early = abnormal.preignition_rate(load, loads.speed[:, None], spark)
    early = np.clip(early * draws.of_model(spreads.PREIGNITION_RATE), 0.0, 1.0)
    rate = abnormal.combined_rate(knock, early)
    cycles = (loads.cycles * engine.cylinders)[:, None]
    gear = parts.gear
    relief = gear.reciprocating_mass * throw(loads, parts) * place.read(loads.acceleration_share)
    rod = (gear.column_load + relief) / gear.bore_area + CRANKCASE_PRESSURE
    ratio = np.maximum(np.minimum(head_pressure, rod), 1e5) / peak
    event, harm = (
        abnormal.chance_in_pull(rate, cycles),
        abnormal.chance_of_harm(ratio, rate, cycles),
    )
    once = cycles * (cell_widths(loads.speed) / SPEED_BAND)[:, None]
    whole = [
        1 - np.prod(1 - np.asarray(chance), axis=0)
        for chance in (
            abnormal.chance_in_pull(rate, once),
            abnormal.chance_of_harm(ratio, rate, once),
        )
    ]
    return Abnormal(
        knock_rate=band(knock),
        preignition_rate=band(early),
        chance_event=np.asarray(event).mean(axis=1),
        chance_harm=np.asarray(harm).mean(axis=1),
        pull_event=float(whole[0].mean()),
        pull_harm=float(whole[1].mean()),
    )


def cell_widths(speed: Array) -> Array:
    """Width of the speeds that each of a grid (S,) stands for, without overlap [rad/s].

    A single speed stands for SPEED_BAND.
    """
    if len(speed) == 1:
        return np.full(1, SPEED_BAND)
    edges = np.concatenate([speed[:1], (speed[1:] + speed[:-1]) / 2, speed[-1:]])
    return np.diff(edges)
