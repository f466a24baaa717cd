"""The pulls in a log: rising sweeps under load found, the best chosen, the rest named.

Speed wanders, the engine idles before and coasts after, gears change and the throttle lifts. A
pull is a rise of speed that steps back by no more than the logger's jitter, cut to the rows under
load. Method and thresholds: common practice, no source.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.physics.coolant import coolant_sign
from torquerisk.quantities import RPM, Array

JITTER = 25 * RPM
"""The largest step back in speed that is taken for a logger's jitter in a table [rad/s]."""
LOG_JITTER = 100 * RPM
"""The same in a log, where speed wanders [rad/s]."""
LOG_ROWS = 50
"""Rows from which a file is taken for a log in time rather than a table of speeds."""
LEAST_SPAN, LEAST_ROWS = 500 * RPM, 10
"""The least that a pull covers [rad/s, rows]."""
LOADED, LIFTED = 0.3, 0.6
"""Share of a pull's torque from which it is under load, and below which it is lifted [1]."""
GRID, WINDOW, SMOOTH_ROWS, SMOOTH_PULL = 50, 75 * RPM, 400, 150
"""Step [rpm] and half window [rad/s] of the smoothed curve; rows above which a table, or a pull of
a log, is smoothed."""
SPEED_SPIKE = 300 * RPM
"""How far a lone speed stands off its neighbours at least, to be none of the engine's [rad/s]."""
HOLD_ROWS, HOLD_BIN = 10, 10 * RPM
"""Least rows of a steady point, and the width of the bins in which rows are counted [rad/s]."""
EQUAL = 0.97
"""Share of the largest area from which a pull is as good as the best, and the first is taken."""

Rows = npt.NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Pull:
    """One pull: the rows under load, in the order of the file."""

    rows: Rows
    low: float
    high: float
    """Speeds that it covers [rad/s]."""
    peak: float
    """Its largest torque [N*m]."""
    area: float
    """Torque over speed [N*m*rad/s]: the pull with the most is taken."""


def _median_of(rows: int, values: Array) -> Array:
    """Median of an odd number of rows about each, the end ones repeated past the ends (n,)."""
    # Loaded here: it takes a while, and only logs in time ask for it.
    from scipy.ndimage import median_filter

    return np.asarray(median_filter(values, rows, mode="nearest"))


def rises(speed: Array, jitter: float) -> list[tuple[int, int]]:
    """First and last row of each rise of speed that steps back by no more than the jitter."""
    found: list[tuple[int, int]] = []
    low = high = 0
    rising = True
    values = speed.tolist()
    for i, value in enumerate(values):
        if rising:
            if value > values[high]:
                high = i
            elif value < values[high] - jitter:
                found.append((low, high))
                rising, low = False, i
        elif value < values[low]:
            low = i
        elif value > values[low] + jitter:
            rising, high = True, i
    if rising:
        found.append((low, high))
    return [(a, b) for a, b in found if b > a]


def find_pulls(speed: Array, torque: Array) -> list[Pull]:
    """The pulls of a log, that of the most area first. speed [rad/s], torque [N*m]: (n,).

    Torque is judged by the median of 5 rows, so that a lone spike neither makes nor breaks a pull.
    """
    torque = _median_of(5, torque)
    pulls = [
        pull
        for first, last in rises(speed, LOG_JITTER)
        if last - first >= LEAST_ROWS and speed[last] - speed[first] >= LEAST_SPAN
        and (pull := _loaded(speed, torque, first, last)) is not None
    ]  # fmt: skip
    least = LOADED * max((p.peak for p in pulls), default=0.0)
    best = EQUAL * max((p.area for p in pulls), default=0.0)
    return sorted(
        (p for p in pulls if p.peak >= least),
        key=lambda p: 0.0 if p.area >= best else -p.area / best + 1,
    )


def shows_gas(pull: Pull, channels: Mapping[str, Array]) -> bool:
    """True where coolant pressure, if logged, rises in a pull as gas in the coolant makes it."""
    pressure = channels.get("coolant_pressure")
    if pressure is None:
        return False
    rows = pull.rows[np.argsort(channels["speed"][pull.rows], kind="stable")]
    at = np.arange(pull.low, pull.high, GRID * RPM)
    read, warm = (
        smoothed(channels["speed"][rows], values[rows], at)
        for values in (pressure, channels.get("coolant_temperature", np.full_like(pressure, 350.0)))
    )
    there = np.isfinite(read) & np.isfinite(warm)
    return there.sum() > 4 and coolant_sign(at[there], read[there], warm[there]) is not None


def falls_under_load(speed: Array, torque: Array, peak: float) -> int:
    """How many sweeps fall under load, as a retarder's down sweep does."""
    count = 0
    for a, b in rises(-speed, LOG_JITTER):
        if b - a >= LEAST_ROWS and speed[a] - speed[b] >= LEAST_SPAN:
            upper = speed[a : b + 1] > 0.5 * (speed[a] + speed[b])
            count += bool(np.median(torque[a : b + 1][upper]) >= LOADED * peak)
    return count


def _loaded(speed: Array, torque: Array, first: int, last: int) -> Pull | None:
    """The part of a rise that is under load, without the ends and without lifts."""
    part = torque[first : last + 1]
    full = float(np.percentile(part, 95))
    loaded = np.flatnonzero(part >= LOADED * full)
    if full <= 0 or len(loaded) < LEAST_ROWS:
        return None
    rows = np.arange(first + loaded[0], first + loaded[-1] + 1)
    rows = rows[_opened(speed[rows], torque[rows]) : _closed(speed[rows], torque[rows])]
    rows = rows[~lifted(torque[rows])]
    if len(rows) < LEAST_ROWS or np.ptp(speed[rows]) < LEAST_SPAN:
        return None
    order = rows[np.argsort(speed[rows], kind="stable")]
    return Pull(
        rows=rows,
        low=float(speed[order[0]]),
        high=float(speed[order[-1]]),
        peak=float(np.percentile(torque[rows], 99)),
        area=float(np.trapezoid(torque[order], speed[order])),
    )


def _closed(speed: Array, torque: Array) -> int:
    """How many rows there are before the throttle closes at the end of a pull."""
    top = speed.max()
    near = torque[(speed > top - 300 * RPM) & (speed < top - 50 * RPM)]
    held = np.flatnonzero(_settled(torque, near))
    return int(held[-1]) + 1 if len(held) else len(torque)


def _opened(speed: Array, torque: Array) -> int:
    """The row from which the throttle is open at the start of a pull."""
    low = speed.min()
    near = torque[(speed > low + 50 * RPM) & (speed < low + 300 * RPM)]
    held = np.flatnonzero(_settled(torque, near))
    return int(held[0]) if len(held) else 0


def _settled(torque: Array, near: Array) -> npt.NDArray[np.bool_]:
    """True for rows at 80 % or more of what is usual near."""
    usual = float(np.median(near)) if len(near) else 0.0
    return np.asarray(torque >= 0.8 * usual)


def lifted(torque: Array) -> npt.NDArray[np.bool_]:
    """True for rows far below what torque was before and is again after: lifts and shifts."""
    before = np.maximum.accumulate(torque)
    after = np.maximum.accumulate(torque[::-1])[::-1]
    return torque < LIFTED * np.minimum(before, after)


def speed_spikes(speed: Array) -> npt.NDArray[np.bool_]:
    """True for rows, at most two together, that stand far off the median of 5: a rise or a fall
    however steep is its own median."""
    off = np.abs(speed - _median_of(5, speed))
    return np.asarray((off > SPEED_SPIKE) & (off > 0.1 * speed))


def spikes(torque: Array) -> npt.NDArray[np.bool_]:
    """True for rows that stand far off the median of their neighbours, 11 rows wide."""
    off = np.abs(torque - _median_of(11, torque))
    usual = 1.4826 * float(np.median(off))
    return off > max(8 * usual, 0.1 * float(np.percentile(torque, 95)))


def holds(speed: Array) -> list[Rows]:
    """Rows of each steady point by rising speed, none where speeds are no series of such points.

    Steady points are three or more narrow bands of speed that hold most of the rows.
    """
    bins = np.floor((speed - speed.min()) / HOLD_BIN).astype(int)
    counts = np.bincount(bins)
    dense = counts > 2 * counts.mean()
    if counts[dense].sum() < 0.6 * len(speed) or dense.mean() > 0.35:
        return []
    dense[1:-1] |= dense[:-2] & dense[2:]
    band = np.cumsum(np.diff(dense.astype(int), prepend=0) == 1)[bins]
    found = [np.flatnonzero(dense[bins] & (band == i)) for i in range(1, int(band.max()) + 1)]
    found = [rows for rows in found if len(rows) >= HOLD_ROWS]
    return found if len(found) >= 3 and sum(map(len, found)) >= 0.6 * len(speed) else []


def smoothed(speed: Array, values: Array, at: Array) -> Array:
    """Straight-line least-squares fits at the speeds `at` to the rows within the window.

    speed: rising (n,) [rad/s]. values: (n,), NaN where missing. NaN where fewer than 4 rows are
    near.
    """
    there = np.isfinite(values)
    x, y = speed[there], values[there]
    start = np.searchsorted(x, at - WINDOW)
    end = np.searchsorted(x, at + WINDOW, side="right")
    middle = float(x.mean()) if len(x) else 0.0
    x = x - middle

    def total(terms: Array) -> Array:
        sums = np.concatenate([[0.0], np.cumsum(terms)])
        return np.asarray(sums[end] - sums[start])

    n = (end - start).astype(float)
    with np.errstate(divide="ignore", invalid="ignore"):
        mean_x, mean_y = total(x) / n, total(y) / n
        spread = total(x * x) / n - mean_x**2
        slope = (total(x * y) / n - mean_x * mean_y) / spread
        line = mean_y + slope * (at - middle - mean_x)
    line = np.where(spread > (1 * RPM) ** 2, line, mean_y)
    return np.where(n >= 4, line, np.nan)
