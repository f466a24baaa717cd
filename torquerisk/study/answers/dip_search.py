"""Where a torque curve dips: falls and rises again, measured down from a line laid over it."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from torquerisk.quantities import RPM, Array
from torquerisk.study.run.averaged import means_in_bands

HALF_WINDOW = 200 * RPM
"""The curve is smoothed over this far to either side first, weights falling to 0 there [rad/s]."""
MOST_ROWS = 600
"""Longer runs are averaged into this many even bands of speed first."""
LEAST_SHARE = 0.02
"""Least depth that counts, over peak torque: about what two pulls of one engine differ by (common
practice, no source)."""
LEAST_NOISE = 5.0
"""Least depth that counts, in standard deviations of the noise left in the smoothed curve."""
NEAR = 2 * HALF_WINDOW
"""Four rows within this tell noise, for no torque curve turns so fast; farther apart, they tell the
curve's own shape too [rad/s]."""
ENOUGH = 5
"""Fours of neighbouring rows from which noise is told."""
ROW_NOISE = 0.01
"""Most noise from row to row, over greatest torque, that is believed of rows too far apart or too
few to tell it from shape (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Basin:
    """One dip of a curve. SI."""

    from_speed: float
    from_torque: float
    """The line over the dip touches the curve here."""
    to_speed: float
    to_torque: float
    speed: float
    """Where the smoothed curve is deepest under the line."""
    depth: float
    """Depth of the smoothed curve under the line there [N*m]."""

    def line(self, speed: float) -> float:
        """Torque [N*m] on the straight line over the dip at a speed [rad/s]."""
        share = (speed - self.from_speed) / (self.to_speed - self.from_speed)
        return self.from_torque + share * (self.to_torque - self.from_torque)


@dataclass(frozen=True, kw_only=True, eq=False)
class Smoothed:
    """A curve with its noise taken down, and how much noise there was."""

    speed: Array
    torque: Array
    noise: float
    """Standard deviation of the noise that is left [N*m]."""


def envelope_corners(speed: Array, torque: Array) -> npt.NDArray[np.intp]:
    """Indices of the points at which the concave envelope touches and bends."""
    kept: list[int] = []
    for i in range(len(speed)):
        while len(kept) >= 2:
            j, k = kept[-2], kept[-1]
            left = (torque[k] - torque[j]) * (speed[i] - speed[j])
            if left > (torque[i] - torque[j]) * (speed[k] - speed[j]):
                break
            kept.pop()
        kept.append(i)
    return np.asarray(kept, dtype=np.intp)


def smoothed(speed: Array, torque: Array) -> Smoothed:
    """The curve smoothed by a straight line fitted about each point, weights triangular.

    speed: rising (n,) [rad/s]; torque: (n,) [N*m]. Rows that lie HALF_WINDOW or more apart are left
    as they are. A dip narrower than the window is shown shallower than it is.
    """
    if len(speed) > MOST_ROWS:
        speed, torque = means_in_bands((speed, torque), MOST_ROWS)
    apart = speed[None, :] - speed[:, None]
    weight = np.maximum(1.0 - np.abs(apart) / HALF_WINDOW, 0.0)
    first, second = (weight * apart).sum(axis=1), (weight * apart**2).sum(axis=1)
    total = weight.sum(axis=1)
    spread = total * second - first**2
    alone = spread <= 1e-9 * np.maximum(total * HALF_WINDOW, 1.0) ** 2
    line = weight * (second[:, None] - first[:, None] * apart)
    safe = np.where(alone, 1.0, spread)
    share = np.where(alone[:, None], weight / total[:, None], line / safe[:, None])
    gain = float(np.median(np.sqrt((share**2).sum(axis=1))))
    return Smoothed(speed=speed, torque=share @ torque, noise=noise_of(speed, torque) * gain)


def noise_of(speed: Array, torque: Array) -> float:
    """Standard deviation of a curve's noise from row to row [N*m].

    Median size of the distance of each row from the parabola through three of its neighbours, over
    what unit noise would give: a smooth curve leaves nearly none. Told by fours of rows that lie
    within NEAR where there are ENOUGH. Rows farther apart leave the curve's shape in that distance,
    a dip's own above all: it is then no more than a bound, and ROW_NOISE another.
    """
    most = ROW_NOISE * float(np.abs(torque).max())
    if len(speed) < ENOUGH + 3:
        return most
    x = np.lib.stride_tricks.sliding_window_view(speed, 4)
    y = np.lib.stride_tricks.sliding_window_view(torque, 4)
    others = [0, 2, 3]
    weight = np.ones((len(x), 3))
    for place, j in enumerate(others):
        for k in others:
            if k != j:
                weight[:, place] *= (x[:, 1] - x[:, k]) / (x[:, j] - x[:, k])
    distance = y[:, 1] - (weight * y[:, others]).sum(axis=1)
    size = 1.4826 * np.abs(distance) / np.sqrt(1 + (weight**2).sum(axis=1))
    near = x[:, 3] - x[:, 0] <= NEAR
    if near.sum() >= ENOUGH:
        return float(np.median(size[near]))
    return min(float(np.median(size)), most)


def least_depth_of(curve: Smoothed) -> float:
    """Least depth that counts [N*m]: a share of peak torque, and clear of the noise."""
    return max(LEAST_SHARE * float(curve.torque.max()), LEAST_NOISE * curve.noise)


def basins(curve: Smoothed, least_depth: float) -> tuple[Basin, ...]:
    """Dips of a smoothed curve, by rising speed.

    A dip lies between two peaks that both stand at least half of `least_depth` above everything
    between them and higher ground; lesser peaks do not part two dips. The higher of the two peaks
    counts only up to as far above the lower one as the dip lies below it, so that a steep rise
    behind a small dip is no part of it. Depth is measured from the concave envelope in between.
    """
    low = float(curve.torque.min() - np.ptp(curve.torque) - 1.0)
    padded = np.concatenate([[low], curve.torque, [low]])
    # Loaded here: it takes a while, and few who ask of an engine ask of its dips.
    from scipy.signal import find_peaks

    peaks = find_peaks(padded, prominence=0.5 * least_depth)[0] - 1
    found = [_basin(curve, a, b) for a, b in pairwise(peaks.tolist())]
    return tuple(basin for basin in found if basin.depth >= least_depth)


def _basin(curve: Smoothed, left: int, right: int) -> Basin:
    speed, torque = _span(curve, left, right)
    corner = envelope_corners(speed, torque)
    gap = np.interp(speed, speed[corner], torque[corner]) - torque
    deepest = int(np.argmax(gap))
    after = int(np.searchsorted(corner, deepest))
    start, end = corner[after - 1], corner[after]
    return Basin(
        from_speed=float(speed[start]),
        from_torque=float(torque[start]),
        to_speed=float(speed[end]),
        to_torque=float(torque[end]),
        speed=float(speed[deepest]),
        depth=float(gap[deepest]),
    )


def _span(curve: Smoothed, left: int, right: int) -> tuple[Array, Array]:
    """The curve between two peaks, the higher one cut down to the height that counts."""
    speed, torque = curve.speed[left : right + 1], curve.torque[left : right + 1]
    lowest = int(np.argmin(torque))
    level = min(torque[0], torque[-1])
    most = 2 * level - torque[lowest]
    if torque[0] > most:
        k = int(np.flatnonzero(torque[: lowest + 1] > most)[-1])
        share = (torque[k] - most) / (torque[k] - torque[k + 1])
        start = speed[k] + share * (speed[k + 1] - speed[k])
        return np.r_[start, speed[k + 1 :]], np.r_[most, torque[k + 1 :]]
    if torque[-1] > most:
        k = lowest + int(np.flatnonzero(torque[lowest:] > most)[0])
        share = (most - torque[k - 1]) / (torque[k] - torque[k - 1])
        end = speed[k - 1] + share * (speed[k] - speed[k - 1])
        return np.r_[speed[:k], end], np.r_[torque[:k], most]
    return speed, torque
