"""Drawn quantities and the torque accepted of them against examples that have closed answers."""

import numpy as np
import pytest
from scipy.stats import norm

from torquerisk.quantities import Array
from torquerisk.study.assessment.assess import at_accepted
from torquerisk.study.draws.columns import COLUMNS
from torquerisk.study.draws.simulated_engines import standard_draws

NAMES = tuple(name for name in COLUMNS if name)[:4]
COUNT, SEED = 8192, 7


def standard_normal(seed: int = SEED) -> Array:
    """Four inputs (4, COUNT), standard normal, as the simulated engines draw them."""
    deviates = standard_draws(NAMES, COUNT, seed).deviates
    return np.stack([deviates[name] for name in NAMES])


def rectangular(half_width: float = 3.0**0.5) -> Array:
    """The same, evenly spread with standard deviation 1."""
    return np.asarray(half_width * (2 * norm.cdf(standard_normal()) - 1))


def interval(values: Array) -> Array:
    """The probabilistically symmetric 95 % interval."""
    return np.quantile(values, [0.025, 0.975])


def test_a_sum_of_four_normal_inputs() -> None:
    """JCGM 101:2008, 9.2.2 (from memory): u = 2.0 and the 95 % interval is -3.92 to 3.92."""
    total = standard_normal().sum(axis=0)
    assert total.std() == pytest.approx(2.0, abs=0.02)
    assert interval(total) == pytest.approx([-3.92, 3.92], abs=0.05)


def test_a_sum_of_four_rectangular_inputs() -> None:
    """JCGM 101:2008, 9.2.3 (from memory): u = 2.0 and the 95 % interval is -3.88 to 3.88."""
    total = rectangular().sum(axis=0)
    assert total.std() == pytest.approx(2.0, abs=0.02)
    assert interval(total) == pytest.approx([-3.88, 3.88], abs=0.05)


def test_a_sum_that_one_rectangular_input_rules() -> None:
    """JCGM 101:2008, 9.2.4 (from memory): one standard deviation 10; u = 10.1, -17.0 to 17.0."""
    total = (rectangular() * np.array([[1.0], [1.0], [1.0], [10.0]])).sum(axis=0)
    assert total.std() == pytest.approx(10.1, abs=0.1)
    assert interval(total) == pytest.approx([-17.0, 17.0], abs=0.2)


@pytest.mark.parametrize("chance", [0.01, 0.001])
def test_the_torque_accepted_of_a_linear_gaussian_capacity(chance: float) -> None:
    """Identity: a capacity that is a sum of normal inputs has a normal quantile; one standard error
    of the count is taken off the chance first. Within three errors of the order statistic."""
    scale = np.array([20.0, 12.0, 9.0, 5.0])
    sigma = float(np.sqrt((scale**2).sum()))
    taken = chance - np.sqrt(chance * (1 - chance) / COUNT)
    wanted = 300.0 + sigma * norm.ppf(taken)
    error = np.sqrt(taken * (1 - taken) / COUNT) / norm.pdf(norm.ppf(taken)) * sigma
    found = [at_accepted(300.0 + scale @ standard_normal(seed), chance) for seed in range(6)]
    assert found == pytest.approx(np.full(6, wanted), abs=3 * error)
    assert np.std(found) < error
