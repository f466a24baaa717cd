"""How wide an answer is, in the few numbers that the notices quote."""

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.assessment.result import Band


def relative_width(values: Band, torque: Array) -> tuple[float, float]:
    """5 and 95 % points over the median, less 1, where torque is greatest."""
    top = int(np.argmax(torque))
    middle = values.p50[top]
    return float(values.p05[top] / middle - 1), float(values.p95[top] / middle - 1)
