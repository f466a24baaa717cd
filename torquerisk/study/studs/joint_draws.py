"""Draws of a head joint whose fasteners were changed: what was learnt of the joint is kept."""

import math
from dataclasses import replace

import numpy as np

from torquerisk.case import Engine
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import Draws, standard_draws
from torquerisk.study.studs.fastening import Fastening

OF_THE_FASTENER = (
    "head_joint.thread_friction",
    "head_joint.head_friction",
    "head_joint.tightening_torque",
    "head_joint.shank_diameter",
    spreads.TOOL.name,
    spreads.STRENGTH.name,
)
"""Draws that belong to a set of fasteners and the day it was tightened, not to the joint."""


def fresh_draws(draws: Draws, seed: int) -> Draws:
    """The same simulated joints with new fasteners: friction, tool, strength and shank drawn anew.

    What evidence has taught of the present fasteners does not hold for others; what it taught of
    ring share, sealing and cylinder pressure does, and is kept. The new deviates are shuffled, so
    that they are independent of what is kept.
    """
    new = standard_draws(OF_THE_FASTENER, draws.count, seed + 1)
    order = np.random.default_rng(seed + 2).permutation(draws.count)
    fresh = {name: values[order] for name, values in new.deviates.items()}
    return Draws(deviates={**draws.deviates, **fresh}, count=draws.count)


def draws_for(draws: Draws, was: Engine, made: Fastening) -> Draws:
    """Draws scaled so that each input of a fastening keeps its own spread.

    An input that the bench sets counts as given; the spread that belongs to it may be wider (a
    friction class, a hole depth that was assumed).
    """
    oil, now = made.lubricant, made.engine
    wanted = {
        "head_joint.thread_friction": oil.thread_sd,
        "head_joint.head_friction": oil.head_sd,
        "head_joint.engagement_length": was.value("head_joint.engagement_length").sd,
    }
    scaled = dict(draws.deviates)
    for name, sd in wanted.items():
        set_here = now.value(name).sd
        if set_here > 0 and not math.isclose(sd, set_here):
            scaled[name] = draws.deviates[name] * (sd / set_here)
    return replace(draws, deviates=scaled)
