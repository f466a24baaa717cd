"""Fast reading along the last axis of arrays: how many hold, and the entry at an index."""

import numpy as np
import numpy.typing as npt

from torquerisk.quantities import Array


def count_last(mask: npt.NDArray[np.bool_]) -> npt.NDArray[np.intp]:
    """How many of the last axis (at most 127) are true (...,); several times faster than `sum`."""
    return np.einsum("...i->...", mask.view(np.int8)).astype(np.intp)


def entry_index(shape: tuple[int, ...], index: npt.NDArray[np.intp]) -> npt.NDArray[np.intp]:
    """Flat position of entry `index` (...,) along the last axis of an array of a shape (..., n)."""
    first = np.arange(index.size, dtype=np.intp).reshape(index.shape) * shape[-1]
    return first + index


def pair_last(values: Array, index: npt.NDArray[np.intp]) -> tuple[Array, Array]:
    """Entries `index` and `index` + 1 (...,) along the last axis of contiguous values (..., n)."""
    flat = np.ascontiguousarray(values).ravel()
    at = entry_index(values.shape, index)
    return flat.take(at), flat.take(at + 1)
