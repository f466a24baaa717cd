"""Peaks of a diesel's pressure trace: of what burns, and of the charge as compressed.

The greater of both is the cycle's peak, and each moves smoothly with the engine where the greater
does not. A premixed peak is a few degrees wide, so that a parabola through three nodes of one
degree misses it by -0.3 to 0.5 %, now over, now under, as the burn moves against the nodes; a
polynomial through seven does not move with them, within 0.1 % (regression).
"""

import numpy as np
import numpy.typing as npt

from torquerisk.physics.cylinder.closed_cycle import parabola_top, peak_and_angle
from torquerisk.physics.cylinder.cycle_data import Trace
from torquerisk.quantities import DEGREE, Array

Places = npt.NDArray[np.intp]

BURNING = (-30 * DEGREE, 90 * DEGREE)
"""Angles between which the peak of what burns is looked for [rad]."""
AFTER_START = 2 * DEGREE
"""It is looked for from this long after the burn starts [rad]: before it compression sets it."""
COMPRESSION = (-15 * DEGREE, 10 * DEGREE)
"""Angles between which compression peaks [rad]."""
_SIDE = 3
"""Nodes on either side of the highest that a polynomial goes through."""
_NODES = np.arange(-_SIDE, _SIDE + 1)
_BETWEEN = np.linspace(-1, 1, 17)
"""Places about the highest node where the polynomial is taken, in steps."""
_WEIGHTS = np.array(
    [[np.prod([(x - m) / (k - m) for m in _NODES if m != k]) for k in _NODES] for x in _BETWEEN]
)
"""Of the nodes in the polynomial at the places between."""


def burning_peak(trace: Trace) -> Array:
    """Peak pressure (n,) [Pa] from AFTER_START on, held up by the pressure there."""
    first, last = np.searchsorted(trace.angle, BURNING)
    angle, pressure = trace.angle[first:last], trace.pressure[first:last]
    step, lane = angle[1] - angle[0], np.arange(pressure.shape[1])
    after = np.broadcast_to(trace.inputs.burn.start + AFTER_START, lane.shape)
    row = np.argmax(np.where(angle[:, None] >= after, pressure, 0.0), axis=0)
    row = np.clip(row, _SIDE, len(angle) - 1 - _SIDE)
    between = _WEIGHTS @ np.stack([pressure[row + k, lane] for k in _NODES])
    between[angle[row] + _BETWEEN[:, None] * step < after - 1e-9 * step] = 0.0
    best = np.clip(np.argmax(between, axis=0), 1, len(_BETWEEN) - 2)
    before, top, past = (between[best + k, lane] for k in (-1, 0, 1))
    inside = (before > 0) & (past > 0)
    peak = np.where(inside, parabola_top(before, top, past)[0], np.max(between, axis=0))
    return np.maximum(peak, _at(angle, pressure, after))


def compression_peak(trace: Trace) -> Array:
    """Peak pressure (n,) [Pa] about firing TDC of charges that do not burn there."""
    first, last = np.searchsorted(trace.angle, COMPRESSION)
    return peak_and_angle(trace.angle[first:last], trace.pressure[first:last])[0]


def _at(angle: Array, pressure: Array, wanted: Array) -> Array:
    """Pressure (n,) at an angle per lane, by the cubic through four nodes that is smooth in it."""
    lane, step = np.arange(pressure.shape[1]), angle[1] - angle[0]
    row = np.clip(np.searchsorted(angle, wanted) - 1, 1, len(angle) - 3)
    x = np.clip((wanted - angle[row]) / step, 0.0, 1.0)
    a, b, c, d = (pressure[row + k, lane] for k in (-1, 0, 1, 2))
    bend = 2 * a - 5 * b + 4 * c - d + x * (3 * (b - c) + d - a)
    return np.asarray(b + 0.5 * x * (c - a + x * bend))
