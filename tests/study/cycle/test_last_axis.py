"""Reading along the last axis, against numpy's plain ways."""

import numpy as np

from torquerisk.study.cycle.last_axis import count_last, entry_index, pair_last

VALUES = np.random.default_rng(3).standard_normal((4, 5, 9))


def test_count_is_the_sum() -> None:
    """Identity: as many as numpy's sum counts, none and all included, up to 127 entries."""
    for mask in (VALUES > 0, VALUES > 9, VALUES > -9, np.ones((2, 127), dtype=bool)):
        np.testing.assert_array_equal(count_last(mask), mask.sum(axis=-1))


def test_pairs_are_neighbours() -> None:
    """Identity: numpy's take_along_axis at the index and at the next, of a view as well."""
    index = np.random.default_rng(4).integers(0, 8, (4, 5))
    for values in (VALUES, VALUES[::-1, :, ::-1]):
        for found, at in zip(pair_last(values, index), (index, index + 1), strict=True):
            plain = np.take_along_axis(values, at[..., None], axis=-1)[..., 0]
            np.testing.assert_array_equal(found, plain)
    flat = VALUES.ravel()[entry_index(VALUES.shape, index)]
    np.testing.assert_array_equal(flat, np.take_along_axis(VALUES, index[..., None], -1)[..., 0])
