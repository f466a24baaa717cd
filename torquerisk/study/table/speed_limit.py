"""The speed up to which a table goes: where speed alone breaks too many engines, it ends."""

import dataclasses

import numpy as np

from torquerisk.quantities import RPM
from torquerisk.study.assessment.assess import evaluate
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.table.finer_grid import SAME, ceiling_at, on_speeds, prepared_of

SPEED_STEP = 50 * RPM
"""A speed limit is a multiple of this [rad/s]."""


def speed_limit(fine: Assessment, chance: float) -> float | None:
    """Highest speed [rad/s] before speed alone uses up the accepted chance; None where none is.

    fine: on a table's grid. Less torque does not lessen the pull of the pistons, so a table ends
    there instead of asking for no torque. None too where no torque is carried from the start.
    """
    carries = ~np.isneginf(ceiling_at(fine, chance))
    if carries[-1] or not carries[:2].all():
        return None
    last = int(np.flatnonzero(carries)[-1])
    return float(max(np.floor(fine.speed[last] / SPEED_STEP) * SPEED_STEP, fine.speed[1]))


def up_to(assessment: Assessment, speed: float) -> Assessment:
    """The same engines and run up to a speed within it [rad/s]."""
    own = assessment.speed
    kept = np.append(own[own < speed - SAME], speed)
    torque = np.interp(kept, own, assessment.torque)
    cut = evaluate(
        on_speeds(prepared_of(assessment), kept, torque),
        assessment.policy,
        assessment.model.every,
        assessment.evidence,
    )
    return dataclasses.replace(cut, notices=assessment.notices)
