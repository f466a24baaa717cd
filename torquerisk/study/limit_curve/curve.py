"""What a torque-limit table means between its breakpoints, and what a torque curve is worth.

A controller interpolates the table linearly and holds its end values outside.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.errors import InputError
from torquerisk.physics.arrays import Array


@dataclass(frozen=True, kw_only=True, eq=False)
class LinearMap:
    """Linear interpolation from values at knots to values at points, end values held.

    value at point k = (1 - share[k]) * value[lower[k]] + share[k] * value[lower[k] + 1]. Exact.
    """

    lower: npt.NDArray[np.intp]
    share: Array
    knots: int

    @classmethod
    def between(cls, knot_speed: Array, at: Array) -> "LinearMap":
        """Return the map from increasing `knot_speed` (two or more) to the speeds `at`."""
        lower = np.clip(np.searchsorted(knot_speed, at, side="right") - 1, 0, len(knot_speed) - 2)
        share = (at - knot_speed[lower]) / (knot_speed[lower + 1] - knot_speed[lower])
        return cls(lower=lower, share=np.clip(share, 0.0, 1.0), knots=len(knot_speed))

    def __call__(self, value: Array) -> Array:
        """Return the values at the points from the values at the knots."""
        return (1.0 - self.share) * value[self.lower] + self.share * value[self.lower + 1]

    def gathered(self, weight: Array) -> Array:
        """Return the weight of each knot when each point weighs `weight`: the transpose."""
        low = np.bincount(self.lower, (1.0 - self.share) * weight, self.knots)
        high = np.bincount(self.lower + 1, self.share * weight, self.knots)
        return np.asarray(low + high, dtype=np.float64)


def checked_speeds(name: str, speed: npt.ArrayLike) -> Array:
    """Return `speed` as an array, or refuse it: finite, not negative, strictly increasing."""
    array = np.array(speed, dtype=float)
    if array.ndim != 1 or len(array) < 2:
        raise InputError(f"{name} has {array.size} speeds, but needs a list of at least 2.")
    if not np.isfinite(array).all() or array[0] < 0.0:
        raise InputError(
            f"{name} holds {array.min():.6g}, but every speed must be finite, 0 or above."
        )
    steps = np.diff(array)
    if (steps <= 0.0).any():
        first = int(np.argmax(steps <= 0.0))
        raise InputError(
            f"{name} goes from {array[first]:.6g} to {array[first + 1]:.6g}, "
            "but must strictly increase: sort the speeds and drop repeats."
        )
    return array


def interpolated_limit(
    breakpoints: npt.ArrayLike, limit: npt.ArrayLike, speed: npt.ArrayLike
) -> Array:
    """Return the torque limit [N*m] that a controller applies at `speed`.

    breakpoints: speeds of the table, increasing, shape (m,); limit: torque at them [N*m], shape
    (m,); speed: in the same unit, any shape. Linear between breakpoints, end values held outside.
    Exact. Source: [PRACTICE].
    """
    at, points, torque = (np.asarray(part, dtype=float) for part in (speed, breakpoints, limit))
    return np.asarray(np.interp(at, points, torque))


def band_knots(speed: Array, band: tuple[float, float]) -> Array:
    """Return the speeds of `speed` within `band`, with the band's ends put in.

    Raises InputError when the band is empty or leaves the speeds given.
    """
    low, high = band
    if not low < high:
        raise InputError(
            f"band is {low:.6g} to {high:.6g}, but must run from a lower to a higher speed."
        )
    if low < speed[0] or high > speed[-1]:
        raise InputError(
            f"band is {low:.6g} to {high:.6g}, but the speeds assessed run from {speed[0]:.6g} to "
            f"{speed[-1]:.6g}: keep the band within them."
        )
    inside = speed[(speed > low) & (speed < high)]
    return np.concatenate([[low], inside, [high]])


def area_under_power(
    speed: npt.ArrayLike, torque: npt.ArrayLike, band: tuple[float, float]
) -> float:
    """Return the area under power over the band [W*rad/s].

    speed: increasing, shape (n,) [rad/s]; torque: T at them [N*m], shape (n,), taken as linear
    between them; band: (low, high) [rad/s]. Integral of T * omega over speed. Exact for a torque
    that is linear between speeds (the integrand is quadratic: Simpson's rule is exact).
    """
    weight = area_weights(checked_speeds("speed", speed), band)
    return float(weight @ np.asarray(torque, dtype=float))


def area_weights(speed: Array, band: tuple[float, float]) -> Array:
    """Return w with w @ torque = integral over the band of torque times speed, shape (n,)."""
    knots = band_knots(speed, band)
    step = np.diff(knots) / 6.0
    weight = np.zeros(len(knots))
    weight[:-1] += step * (2.0 * knots[:-1] + knots[1:])
    weight[1:] += step * (knots[:-1] + 2.0 * knots[1:])
    return LinearMap.between(speed, knots).gathered(weight)


def length_weights(speed: Array, band: tuple[float, float]) -> Array:
    """Return w with w @ torque = integral over the band of torque, shape (n,)."""
    knots = band_knots(speed, band)
    half = np.diff(knots) / 2.0
    weight = np.zeros(len(knots))
    weight[:-1] += half
    weight[1:] += half
    return LinearMap.between(speed, knots).gathered(weight)


def sweep_time(
    speed: npt.ArrayLike, torque: npt.ArrayLike, inertia: float, band: tuple[float, float]
) -> float:
    """Return the time to pull a plain inertia through the band at this torque [s].

    speed: increasing, shape (n,) [rad/s]; torque: T at them [N*m], shape (n,), linear between;
    inertia: J at the crank [kg*m^2]; band: (low, high) [rad/s].
    t = integral of J d(omega) / T, no drag. Exact for a torque linear between speeds:
    J * (w2 - w1) * ln(T2 / T1) / (T2 - T1).
    Raises InputError when the torque is 0 or below within the band (the sweep never ends).
    """
    grid = checked_speeds("speed", speed)
    if not (np.isfinite(inertia) and inertia > 0.0):
        raise InputError(f"inertia is {inertia:.6g} kg*m^2, but must be above 0 kg*m^2.")
    knots = band_knots(grid, band)
    value = np.interp(knots, grid, np.asarray(torque, dtype=float))
    if not (value > 0.0).all():
        at = knots[int(np.argmin(value))]
        raise InputError(
            f"torque is {value.min():.6g} N*m at {at:.6g} rad/s, but must be above 0 N*m all "
            "through the band: narrow the band."
        )
    low, high = value[:-1], value[1:]
    # ln(b / a) / (b - a) = atanh(z) / z / mean with z = (b - a) / (b + a), steady as b nears a.
    ratio = (high - low) / (high + low)
    squared = ratio * ratio
    series = 1.0 + squared / 3.0 + squared**2 / 5.0 + squared**3 / 7.0
    large = np.abs(ratio) > 0.01
    exact = np.arctanh(ratio[large]) / ratio[large]
    series[large] = exact
    seconds = np.diff(knots) * series / ((high + low) / 2.0)
    return float(inertia * seconds.sum())


def even_breakpoints(
    low: float, high: float, count: int, step: float, through: float | None = None
) -> Array:
    """Return `count` nearly even breakpoints within low to high, on multiples of `step`.

    low, high, step, through: in any one speed unit. The ends are the outermost multiples within
    low to high; those between are the nearest multiples to even spacing. `through` asks for a
    breakpoint at the first multiple at or above it (the earliest peak, say): the nearest one moves.
    Raises InputError when step leaves fewer than `count` multiples.
    """
    if count < 2:
        raise InputError(f"count is {count}, but a table needs at least 2 breakpoints.")
    if not (step > 0.0 and np.isfinite([low, high, step]).all() and low < high):
        raise InputError(
            f"low, high and step are {low:.6g}, {high:.6g} and {step:.6g}, "
            "but need low below high and step above 0."
        )
    first, last = int(np.ceil(low / step - 1e-9)), int(np.floor(high / step + 1e-9))
    if last - first + 1 < count:
        raise InputError(
            f"count is {count}, but only {max(last - first + 1, 0)} multiples of {step:.6g} lie "
            f"between {low:.6g} and {high:.6g}: ask for fewer breakpoints or a finer step."
        )
    # Spacing is at least one multiple, so rounding half up keeps the multiples distinct.
    multiple = np.floor(np.linspace(first, last, count) + 0.5).astype(int)
    if through is not None:
        wanted = int(np.ceil(through / step - 1e-9))
        if first < wanted < last and wanted not in multiple and count > 2:
            nearest = 1 + int(np.argmin(np.abs(multiple[1:-1] - wanted)))
            multiple[nearest] = wanted
            multiple.sort()
    return multiple * float(step)
