"""Scrambled Sobol points, as `scipy.stats.qmc.Sobol` makes them, to the bit.

Made here since that library takes longer to load than a torque table takes to draw, since any
stretch of the sequence costs the same, and since columns that nobody reads are left out.
"""

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from torquerisk.quantities import Array
from torquerisk.study.draws.sobol_directions import DIRECTIONS

BITS = 30
"""Binary digits of a point."""
LOW = 8
"""Digits of a point's number that one table holds, those above in another."""

Words = npt.NDArray[np.uint32]


def sobol_points(
    width: int, columns: npt.NDArray[np.intp], count: int, seed: int, start: int = 0
) -> Array:
    """Points `start` to `start + count` of a scrambled sequence in [0, 1): (count, columns).

    width: dimensions of the sequence, which its scramble depends on; columns: those wanted; seed:
    fixes the scramble, a random linear map of the digits and a digital shift.
    Source: [SOBOL], [SOBOL_DIRECTIONS]; Matousek, J. of Complexity 14, 1998 (from memory)
    """
    directions, shift = _scrambled(width, seed)
    own = directions[columns].T
    first, last = start >> LOW, (start + count - 1 >> LOW) + 1
    high = _combined(own, np.arange(first, last) << LOW) ^ shift[columns]
    low = _combined(own, np.arange(1 << LOW))
    points = (high[:, None] ^ low).reshape(-1, len(columns))
    return np.asarray(points[start - (first << LOW) :][:count] * 2.0**-BITS, dtype=float)


def _combined(directions: Words, number: npt.NDArray[np.intp]) -> Words:
    """Exclusive or of the directions (BITS, d) that the Gray codes of numbers (n,) name (n, d)."""
    gray = number ^ (number >> 1)
    found = np.zeros((len(number), directions.shape[1]), dtype=np.uint32)
    for k in range(int(gray.max()).bit_length()):
        found[(gray >> k & 1).astype(bool)] ^= directions[k]
    return found


@lru_cache(maxsize=8)
def _scrambled(width: int, seed: int) -> tuple[Words, Words]:
    """Directions (width, BITS) of a sequence under a random linear map, and its shift (width,)."""
    random = np.random.default_rng(seed).spawn(1)[0]
    digits = random.integers(2, size=(width, BITS), dtype=np.uint32)
    shift = digits @ (2 ** np.arange(BITS, dtype=np.uint32))
    map_ = np.tril(random.integers(2, size=(width, BITS, BITS), dtype=np.uint32), -1)
    map_ |= np.eye(BITS, dtype=np.uint32)
    weight = np.arange(BITS - 1, -1, -1, dtype=np.uint32)
    plain = _directions(width)[:, None, :] >> weight[:, None] & 1
    mapped = np.matmul(map_.astype(float), plain.astype(float)).astype(np.uint32) & 1
    return (mapped << weight[:, None]).sum(axis=1, dtype=np.uint32), shift


def _directions(width: int) -> Words:
    """Direction numbers (width, BITS), the first digit of a point being the highest bit."""
    found = np.empty((width, BITS), dtype=np.uint32)
    for row, text in zip(found, DIRECTIONS.split(), strict=False):
        polynomial, first = text.split(":")
        taps, m = int(polynomial), [int(x) for x in first.split(",")]
        degree = taps.bit_length() - 1
        for j in range(len(m), BITS):
            new = m[j - degree] if degree else 1
            for k in range(1, degree + 1):
                if taps >> (degree - k) & 1:
                    new ^= m[j - k] << k
            m.append(new)
        row[:] = [value << (BITS - 1 - j) for j, value in enumerate(m)]
    return found
