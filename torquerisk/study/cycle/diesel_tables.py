"""Reading a diesel's response tables: peak pressure from load, phasing and what else varies.

Peak pressure is the greater of two things that are smooth apart and tabulated apart
(`diesel_peaks`): the peak of what burns and that of the charge as compressed. At the least premixed
share, burn duration, compression ratio, charge temperature, heat loss and lambda act on both
through polynomials about the middle. The premixed share depends on load, phasing, speed,
temperature, ratio and lambda as much as on its own spread, so it is found draw by draw and row by
row, and what it does is read from a table of its own.

What the premixed share does is no additive coordinate beside the rest, since lambda, temperature
and ratio move the share too: left out, that costs up to 1 % at a lambda of 1.5. Both peaks are
tables of their own, since the corner where compression sets the peak, rounded off between columns,
costs up to 5 % at a lambda of 2.2.
"""

import numpy as np
import numpy.typing as npt

from torquerisk.quantities import Array
from torquerisk.study.cycle.table_grid import CA50_NODES, OTHERS, collapse, look_up

Places = npt.NDArray[np.intp]

METRICS = ("burning", "angle", "trapped", "compressed", "injected")
"""Logarithm of the peak of what burns [Pa], angle of the greater peak [rad], logarithms of trapped
pressure [Pa], of the peak of compression [Pa] and of the share that burns as it is injected."""
BURNING, TRAPPED, COMPRESSED, INJECTED = (
    METRICS.index(name) for name in ("burning", "trapped", "compressed", "injected")
)
LOG_INJECTED = np.linspace(-1.4, 0.5, 39)
"""Logarithms of the share that burns as it is injected (B,), at even steps, at which what the
premixed share does is tabulated: below and above them the share is held."""
EFFECTS = ("all", "burn", "burn squared", "lambda", "trapped")
"""What a premixed share above the least does: to the burning peak, to how that follows burn
duration (linear, squared) and lambda, and to trapped pressure."""
CROSSED = (("burn", "lambda"), ("burn", "temperature"), ("burn", "ratio"), ("burn", "heat"),
           ("heat", "lambda"))  # fmt: skip
"""Pairs whose joint effect counts in the burning peak, beside temperature and lambda in both."""
MIDDLE, LATE = CA50_NODES // 2, CA50_NODES - 4
"""Columns: the middle, and one so late that compression can set the peak."""
EVERY_TERM, COMPRESSED_TERMS = 21, 14
"""Terms of what else varies; the first of them that the peak of compression needs."""

_BURN, _TEMPERATURE, _LAMBDA = (OTHERS.index(name) for name in ("burn", "temperature", "lambda"))
_CROSSED = [(OTHERS.index(one), OTHERS.index(other)) for one, other in CROSSED]


def other_terms(z: Array) -> Array:
    """1, powers and products of the other coordinates: (N, 5) -> (N, EVERY_TERM).

    By multiplication, and one term after another in memory, which is much faster.
    """
    terms = np.empty((EVERY_TERM, len(z)))
    terms[0] = 1.0
    one, square = terms[1:6], terms[6:11]
    one[:] = z.T
    np.multiply(one, one, out=square)
    np.multiply(square[_LAMBDA], one[_LAMBDA], out=terms[11])
    np.multiply(square[_LAMBDA], square[_LAMBDA], out=terms[12])
    np.multiply(one[_TEMPERATURE], one[_LAMBDA], out=terms[13])
    np.multiply(square[_BURN], one[_BURN], out=terms[14])
    np.multiply(square[_BURN], square[_BURN], out=terms[15])
    for k, (first, second) in enumerate(_CROSSED):
        np.multiply(one[first], one[second], out=terms[16 + k])
    return terms.T


def log_peak(
    tables: Array,
    premixed: Array,
    groups: list[tuple[slice, Array]],
    log_factor: Array,
    column: Places,
    share: Array,
) -> Array:
    """Logarithm of peak pressure [Pa] of draws at every load row (N, I), at one speed.

    tables: (metrics, T, I, J); premixed: (I, J, B, EFFECTS), both of `diesel_cycles.speed_tables`.
    groups: load rows that share their coordinates z (N, 5), in order of load. log_factor: logarithm
    of the factor on the share that burns as it is injected (N,). column, share: `place` (N, I).
    """
    shape = column.shape
    burning, compressed, injected = (np.empty(shape) for _ in range(3))
    weights = np.ones((*shape, len(EFFECTS) - 1))
    for rows, z in groups:
        terms = other_terms(z)
        few, place = terms[:, :COMPRESSED_TERMS], (column[:, rows], share[:, rows])
        burning[:, rows] = look_up(collapse(tables[BURNING, :, rows], terms), *place)
        compressed[:, rows] = few @ tables[COMPRESSED, :COMPRESSED_TERMS, rows, LATE]
        injected[:, rows] = few @ tables[INJECTED, :COMPRESSED_TERMS, rows, MIDDLE]
        weights[:, rows, 1] = z[:, _BURN, None]
        weights[:, rows, 2] = z[:, _BURN, None] ** 2
        weights[:, rows, 3] = z[:, _LAMBDA, None]
    # Phasing moves both through the charge alone: the same for every draw of a row.
    at = np.arange(shape[1]) * CA50_NODES + column
    for values, metric, own in ((compressed, COMPRESSED, LATE), (injected, INJECTED, MIDDLE)):
        by_phasing = (tables[metric, 0] - tables[metric, 0, :, own, None]).ravel()
        below, above = by_phasing.take(at), by_phasing.take(at + 1)
        values += below + share * (above - below)
    injected += log_factor[:, None]
    effect = _effects(premixed, at, share, injected)
    burning += np.einsum("nie,nie->ni", effect[..., :-1], weights)
    compressed += effect[..., -1]
    return np.maximum(burning, compressed, out=burning)


def _effects(premixed: Array, at: Places, share: Array, log_injected: Array) -> Array:
    """What the premixed share does (N, I, EFFECTS), linear in phasing and in LOG_INJECTED.

    at: place of row and column below, (N, I); share: of the way to the next column.
    """
    count = len(LOG_INJECTED)
    position = (log_injected - LOG_INJECTED[0]) * (1 / (LOG_INJECTED[1] - LOG_INJECTED[0]))
    np.clip(position, 0.0, count - 1, out=position)
    cell = np.minimum(position.astype(np.intp), count - 2)
    position -= cell
    flat = premixed.reshape(-1, premixed.shape[-1])
    first, along = at * count + cell, position[..., None]

    def between(place: Places) -> Array:
        low = flat.take(place, axis=0)
        high = flat.take(place + 1, axis=0)
        high -= low
        high *= along
        high += low
        return high

    near, far = between(first), between(first + count)
    far -= near
    far *= share[..., None]
    far += near
    return far
