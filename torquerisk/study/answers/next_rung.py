"""What the next rung of survived pulls would be worth before it is driven, and what it risks."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.quantities import Array
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.evidence.ladder import unnoticed
from torquerisk.study.run.operating_state import PhasingSource
from torquerisk.study.run.seen_signs import SHY_OF_SIGN, driven_quietly, seen_at
from torquerisk.study.table.finer_grid import binding_capacity
from torquerisk.study.table.ignition_asked import later_asked

STEPS = (1.05, 1.10, 1.20, 1.35)
"""Multiples of the torque accepted now that are asked."""
PULLS = 2
"""Pulls at a rung: as few as a dyno session has."""
LEAST_GAIN = 1.0
"""Torque accepted more below which a rung is not worth driving [N*m]."""
LEAST_STEP = 0.5
"""A rung that asks less than this above the one before it is none [N*m]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class NextRung:
    """Pulls at a curve that nobody has driven yet."""

    times: float
    """Over the torque accepted now, at most [-]."""
    pulls: int
    torque: Array
    """(S,) [N*m]: never above what the run made."""
    peak: int
    """Index of its greatest torque."""
    risk: float
    """Share of the engines that pass a limit of strength in one of these pulls."""
    accepted: Array
    """Torque (S,) at the accepted chance once nothing was seen in them [N*m]."""
    knocks: npt.NDArray[np.bool_]
    """Where the middle engine knocks at it with the run's ignition, or it makes again what knock
    was heard at (S,); nowhere by the model where nobody knows the ignition."""


def next_rungs(assessment: Assessment) -> tuple[NextRung, ...]:
    """Rungs above the torque accepted now, the lowest first; empty where the run is accepted, and
    where a sign of lift was seen, until the head was tested. None comes up to what made a noise.

    An engine that would have failed in the pulls is as likely as that nobody noticed; what is left
    gives the torque at the accepted chance as it is found now.
    """
    model, now = assessment.model, np.maximum(assessment.ceiling, 0.0)
    binding = binding_capacity(assessment)
    rungs: list[NextRung] = []
    if model.operating.lift_seen is not None:
        return ()
    engine, speed = assessment.reading.as_given, assessment.speed
    driven = driven_quietly(engine, speed)
    most = np.minimum(assessment.torque, SHY_OF_SIGN * seen_at(engine, "noise", speed))
    before = np.minimum(now, most)
    for times in STEPS:
        torque = np.minimum(times * now, most)
        if (torque - before).max() < LEAST_STEP:
            break
        before = torque
        if np.all(torque <= driven):
            continue
        fails = np.asarray((model.least.once < torque[:, None]).any(axis=0))
        weight = unnoticed(fails, fails, PULLS)
        peak = int(np.argmax(torque))
        accepted = at_accepted_weight(binding, weight, assessment.policy.chance)
        if accepted[peak] - now[peak] < LEAST_GAIN:
            continue
        rungs.append(
            NextRung(
                times=times, pulls=PULLS, torque=torque, peak=peak, risk=float(fails.mean()),
                accepted=accepted, knocks=_knocks(assessment, torque),
            )
        )  # fmt: skip
    return tuple(rungs)


def _knocks(assessment: Assessment, torque: Array) -> npt.NDArray[np.bool_]:
    """Where torques (S,) [N*m] are likely to knock with the ignition they would have."""
    model = assessment.model
    knocked = seen_at(assessment.reading.as_given, "knock", assessment.speed)
    heard = torque >= np.minimum(model.operating.heard_at, knocked) - LEAST_STEP
    if assessment.phasing_source is PhasingSource.ASSUMED:
        return heard
    return heard | (later_asked(model.demand, torque) > 0.0)


def at_accepted_weight(capacity: Array, weight: Array, chance: float) -> Array:
    """Torque (S,) at the accepted chance of capacities (S, N) [N*m], engines weighted (N,).

    As `assess.at_accepted`, with the engines that the weights are worth: (sum w)^2 / sum w^2.
    """
    worth = weight.sum() ** 2 / (weight**2).sum()
    share = max(chance - np.sqrt(chance * (1 - chance) / worth), 0.0)
    order = np.argsort(capacity, axis=-1)
    below = np.cumsum(weight[order], axis=-1) / weight.sum()
    at = np.argmax(below > share, axis=-1)
    rank = np.take_along_axis(order, at[:, None], axis=-1)
    return np.asarray(np.take_along_axis(capacity, rank, axis=-1)[:, 0])
