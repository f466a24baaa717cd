"""Numbers of the JSON documents: what is infinite is null, and no result may be not a number."""

import math

from torquerisk.study.assessment import Band
from torquerisk.study.stud_results import Spread

POINTS = ("p05", "p50", "p95")


def finite(value: float) -> float | None:
    """The value, or None where it is infinite; a NaN is an error of ours."""
    if math.isnan(value):
        raise ArithmeticError("a result is not a number")
    return value if math.isfinite(value) else None


def points(values: Band, k: int, size: float) -> dict[str, float | None]:
    """The three points of a band at one speed, in a unit of that SI size."""
    return {p: finite(float(getattr(values, p)[k]) / size) for p in POINTS}


def spread_points(values: Spread, size: float) -> dict[str, float | None]:
    """The three points of a spread, in a unit of that SI size."""
    return {p: finite(float(getattr(values, p)) / size) for p in POINTS}
