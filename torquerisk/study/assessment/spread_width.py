"""How wide an answer is, in the few numbers that the notices quote."""

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.assessment.result import Assessment, Band
from torquerisk.study.limits import LimitKind


def relative_width(values: Band, torque: Array) -> tuple[float, float]:
    """5 and 95 % points over the median, less 1, where torque is greatest."""
    top = int(np.argmax(torque))
    middle = values.p50[top]
    return float(values.p05[top] / middle - 1), float(values.p95[top] / middle - 1)


def survived_width(result: Assessment) -> float | None:
    """How many times narrower the governing capacity would be had this run been survived.

    5-95 % width of the least strength capacity at peak torque over all draws, over that of the
    draws that carry the whole run; None where fewer than 16 do.
    """
    strength = [
        result.model.capacities[name]
        for name, item in result.limits.items()
        if item.limit.kind is LimitKind.STRENGTH
    ]
    least = np.min(strength, axis=0)
    kept = (least >= result.torque[:, None]).all(axis=0)
    if kept.sum() < 16:
        return None
    top = int(np.argmax(result.torque))
    edge = float(result.model.demand.torque[top, :, -1].min())
    values = np.clip(least[top], 0.0, edge)
    before = np.subtract(*np.quantile(values, [0.95, 0.05]))
    after = np.subtract(*np.quantile(values[kept], [0.95, 0.05]))
    return float(before / after) if after > 0 else None
