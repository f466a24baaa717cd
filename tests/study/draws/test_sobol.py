"""Against scipy.stats.qmc.Sobol, another program for the same sequence."""

import numpy as np
import pytest
from scipy.stats import qmc

from torquerisk.study.draws.sobol import sobol_points

WIDTH = 128


@pytest.mark.parametrize(
    ("seed", "start", "count"), [(20240229, 0, 1024), (7, 0, 3), (1, 1000, 700), (5, 65536, 4096)]
)
def test_points_are_those_of_another_program(seed: int, start: int, count: int) -> None:
    """Every stretch of the sequence and every column, to the bit."""
    other = qmc.Sobol(d=WIDTH, scramble=True, rng=np.random.default_rng(seed))
    expected = other.random_base2(int(np.ceil(np.log2(start + count))))[start : start + count]
    columns = np.array([0, 1, 77, 127])
    assert np.array_equal(sobol_points(WIDTH, columns, count, seed, start), expected[:, columns])
