"""Array types that physics shares, and its one way to refuse a value out of range."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from torquerisk.errors import OutOfRangeError
from torquerisk.quantities import Array, Floats

__all__ = ["Array", "Floats", "require", "require_between", "require_positive"]


def require(
    argument: str, value: Floats, allowed: str, holds: Callable[[Array], npt.NDArray[np.bool_]]
) -> None:
    """Refuse `value` unless `holds` is true for every element.

    argument: name shown to the reader; allowed: what is allowed, in words with unit.
    Raises OutOfRangeError naming the first offending value (NaN always offends).
    """
    flat = np.asarray(value, dtype=float).reshape(-1)
    good = holds(flat) & (flat == flat)
    if not good.all():
        raise OutOfRangeError(argument, f"{flat[~good][0]:.6g}", allowed)


def require_positive(argument: str, value: Floats, unit: str) -> None:
    """Refuse `value` unless every element is finite and above zero."""
    require(argument, value, f"above 0 {unit}", lambda x: (x > 0) & np.isfinite(x))


def require_between(
    argument: str, value: Floats, low: float, high: float, unit: str = "", size: float = 1.0
) -> None:
    """Refuse `value` unless every element lies from low to high. unit: theirs, of a size [SI]."""
    shown = value if size == 1.0 else np.asarray(value, dtype=float) / size
    allowed = f"between {low:g} and {high:g} {unit}".rstrip()
    require(argument, shown, allowed, lambda x: (x >= low) & (x <= high))
