"""Abnormal cycles of one pull: how likely, and how likely that one does harm."""

import numpy as np

from torquerisk.physics.cylinder import abnormal
from torquerisk.quantities import Array
from torquerisk.study.assessment.result import Abnormal, band
from torquerisk.study.limits import Place
from torquerisk.study.limits.abnormal import head_strength, rates, rod_strength
from torquerisk.study.loads.cycles_spent import SPEED_BAND
from torquerisk.study.loads.demand import Demand
from torquerisk.study.strengths.parts import Parts


def abnormal_cycles(loads: Demand, parts: Parts, place: Place) -> Abnormal:
    """Rates and chances at a torque, by speed; all cylinders of one pull.

    place: of the torque among the load rows.
    Knock and pre-ignition are a mixture beside the normal cycles: rates and amplitudes with wide
    spreads, see `abnormal`. Source: [ABNORMAL_CYCLES], [PRACTICE].
    """
    knock, early = rates(loads, parts, place.read(loads.torque), place.read(loads.knock_excess))
    cycles = (loads.cycles / loads.pulls * parts.engine.cylinders)[:, None]
    head = head_strength(loads, parts)
    rod = rod_strength(loads, parts, place.read(loads.acceleration_share))
    ratio = np.maximum(np.minimum(head, rod), 1e5) / place.read(loads.peak)
    once = cycles * (cell_widths(loads.speed) / SPEED_BAND)[:, None]
    rate = abnormal.either(knock, early)

    def harmed(count: Array) -> Array:
        return abnormal.either(
            abnormal.chance_of_harm(ratio, knock, count, abnormal.HEAVY_KNOCK),
            abnormal.chance_of_harm(ratio, early, count, abnormal.PREIGNITION),
        )

    whole = [
        1 - np.prod(1 - chance, axis=0)
        for chance in (abnormal.chance_in_pull(rate, once), harmed(once))
    ]
    return Abnormal(
        knock_rate=band(knock),
        preignition_rate=band(early),
        chance_event=abnormal.chance_in_pull(rate, cycles).mean(axis=1),
        chance_harm=harmed(cycles).mean(axis=1),
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
