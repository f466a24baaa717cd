"""What knowing something would do to the torque accepted, against what is known in closed form."""

import numpy as np
import pytest
from scipy.stats import norm

from torquerisk.study.answers.accepted_tail import Tail
from torquerisk.study.answers.variance_shares import explained, normal_scores
from torquerisk.study.assessment.assess import at_accepted
from torquerisk.study.draws.columns import COLUMNS
from torquerisk.study.draws.simulated_engines import standard_draws

CHANCE = 0.05


@pytest.fixture(scope="module")
def drawn():
    return list(standard_draws(COLUMNS[:10], 4096, 3).deviates.values())


@pytest.fixture(scope="module")
def linear(drawn):
    """Capacities of a linear normal model: 300 N*m, standard deviation 30 N*m."""
    return Tail(300 + 30 * (0.8 * drawn[0] + 0.6 * drawn[1]), CHANCE)


def closed(observed, error):
    """Rise of a normal quantile when a share of the variance is observed with an error."""
    count = 4096
    rank = np.floor(count * CHANCE - np.sqrt(count * CHANCE * (1 - CHANCE)))
    left = 1 - observed + observed * error**2 / (1 + error**2)
    return -30 * norm.ppf((rank + 0.5) / count) * (1 - np.sqrt(left))


@pytest.mark.parametrize(
    ("index", "observed", "error"), [(0, 0.64, 0.2), (1, 0.36, 0.2), (0, 0.64, 1.0)]
)
def test_a_linear_normal_case_gets_its_closed_form(drawn, linear, index, observed, error):
    """Source: conjugate normal law: z seen with error e keeps the variance e^2 / (1 + e^2), and the
    mean of the posterior quantile rises by as much as its distance shrinks. 4,096 engines."""
    worth = linear.worth(drawn[index][None, :], np.array([error]))
    assert worth.clear
    assert worth.gain == pytest.approx(closed(observed, error), rel=0.06)
    assert worth.low < linear.now + worth.gain < worth.high


def test_both_observed_get_the_closed_form_of_both(drawn, linear):
    """Source: as above, for two independent shares seen with equal errors."""
    worth = linear.worth(np.stack(drawn[:2]), np.array([0.5, 0.5]))
    assert worth.gain == pytest.approx(closed(1.0, 0.5), rel=0.06)


def test_what_tells_nothing_is_worth_nothing(drawn, linear):
    """Simulation: none of eight quantities that the capacity does not follow is told, nor among a
    hundred for which capacities of 256 engines are drawn."""
    for z in drawn[2:]:
        worth = linear.worth(z[None, :], np.array([0.2]))
        assert not worth.clear
        assert abs(worth.gain) < 1.5
    random = np.random.default_rng(4)
    told = 0
    for _ in range(100):
        few = Tail(random.standard_normal(256), CHANCE)
        told += few.worth(random.standard_normal((1, 256)), np.array([0.3])).clear
    assert told <= 3


def test_it_is_the_low_tail_that_counts(drawn):
    """Metamorphic: an input that makes the weakest engines weak is worth measuring first, though
    another one makes most of the spread of all of them."""
    weak_part, all_parts = drawn[0] < -1.5, drawn[1]
    capacity = 300 + 10 * all_parts - 60 * weak_part
    tail, error = Tail(capacity, CHANCE), np.array([0.1])
    scores = normal_scores(capacity)
    shares = [explained(z, scores, level=1.0) for z in drawn[:2]]
    assert shares[0] < 0.5 * shares[1]
    gains = [tail.worth(z[None, :], error).gain for z in drawn[:2]]
    assert gains[0] > 20 > 5 > gains[1]


def test_now_is_what_the_assessment_accepts(drawn):
    """Identity: with every engine alike it is the torque at the accepted chance, sampling error off
    it and all."""
    capacity = 300 + 30 * drawn[3]
    for chance in (0.001, 0.01, 0.2):
        tail = Tail(capacity, chance)
        assert tail.now == at_accepted(capacity, chance)
        assert tail.accepted(np.ones((1, len(capacity))))[0] == pytest.approx(tail.now, rel=1e-12)
