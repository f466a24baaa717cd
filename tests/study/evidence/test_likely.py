"""Against the closed form of a linear Gaussian case, and identities of weighted draws."""

import numpy as np
import pytest

from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.draws.spreads import engine_draws
from torquerisk.study.evidence.likely import Likely, likely_of

A, B = "head_joint.ring_share", "charge.burn_duration"
SEEN, SD = 1.5, 0.1
"""A reading of (a + b)/sqrt 2 and its standard deviation: 3 % of draws agree with it."""


def _likelihood(draws: Draws) -> np.ndarray:
    apart = (draws.deviates[A] + draws.deviates[B]) / np.sqrt(2) - SEEN
    return np.asarray(np.exp(-0.5 * (apart / SD) ** 2))


def _drawn(likely: Likely, count: int, start: int) -> tuple[Draws, np.ndarray]:
    draws = likely.draws(compression_ignition=False, count=count, seed=5, start=start)
    return draws, likely.stands(draws)


@pytest.fixture(scope="module")
def likely() -> Likely:
    pilot = engine_draws(compression_ignition=False, count=4096, seed=5)
    found = likely_of(pilot, _likelihood(pilot), [None])
    assert found is not None
    return found


def test_only_what_the_evidence_moves_is_drawn_elsewhere(likely: Likely) -> None:
    """Identity: the reading tells of two inputs and of no third."""
    assert set(likely.names) == {A, B}


def test_weighted_draws_stand_for_those_of_the_spreads(likely: Likely) -> None:
    """Identity: the weights sum to the count, and weighted deviates are standard normal.

    Within 3 standard errors of 16,384 draws none of which stands for more than 5/2.
    """
    draws, stands = _drawn(likely, 16384, 0)
    assert stands.mean() == pytest.approx(1.0, abs=0.01)
    for name in (A, B, "model.reading"):
        z = draws.deviates[name]
        assert np.average(z, weights=stands) == pytest.approx(0.0, abs=0.037)
        assert np.average(z**2, weights=stands) == pytest.approx(1.0, abs=0.06)


def test_the_posterior_is_that_of_the_closed_form(likely: Likely) -> None:
    """Linear Gaussian: the sum s has mean y/(1 + sd^2) and variance sd^2/(1 + sd^2), its low tail
    is that normal's, the difference keeps its spread, and the evidence its chance."""
    draws, stands = _drawn(likely, 16384, 4096)
    weight = _likelihood(draws) * stands
    variance = SD**2 / (1 + SD**2)
    total = (draws.deviates[A] + draws.deviates[B]) / np.sqrt(2)
    apart = (draws.deviates[A] - draws.deviates[B]) / np.sqrt(2)
    mean = np.average(total, weights=weight)
    assert mean == pytest.approx(SEEN / (1 + SD**2), abs=0.01)
    assert np.average((total - mean) ** 2, weights=weight) == pytest.approx(variance, rel=0.05)
    assert np.average(apart**2, weights=weight) == pytest.approx(1.0, abs=0.05)
    low = SEEN / (1 + SD**2) - 2.326 * np.sqrt(variance)
    assert np.average(total < low, weights=weight) == pytest.approx(0.01, abs=0.004)
    evidence = np.sqrt(variance) * np.exp(-0.5 * SEEN**2 / (1 + SD**2))
    assert weight.mean() == pytest.approx(evidence, rel=0.05)


def test_more_engines_are_kept_and_few_are_copies(likely: Likely) -> None:
    """The point of it: several times as many, and hardly one that weighs more than 1."""
    draws, stands = _drawn(likely, 16384, 4096)
    kept = _likelihood(draws) * stands / likely.weight
    as_drawn = _likelihood(engine_draws(compression_ignition=False, count=16384, seed=6))
    assert kept.sum() > 3 * as_drawn.sum()
    assert np.maximum(kept - 1, 0).sum() < 0.03 * kept.sum()


def test_where_next_to_none_agrees_nothing_is_told() -> None:
    """Edge: 16 independent engines at least must tell where the others are."""
    pilot = engine_draws(compression_ignition=False, count=256, seed=5)
    assert likely_of(pilot, np.zeros(256), [None]) is None
    assert likely_of(pilot, _likelihood(pilot), [None]) is None


def test_draws_of_several_places_together_tell_where_it_is(likely: Likely) -> None:
    """Linear Gaussian: told by draws of the spreads and of a first place together, the middle is
    that of the engines that agree best, y/(1 + sd^2/2) along the sum."""
    pilot = engine_draws(compression_ignition=False, count=4096, seed=5)
    there, _ = _drawn(likely, 4096, 4096)
    both = pilot.and_more([there])
    found = likely_of(both, _likelihood(both), [None, likely])
    assert found is not None
    assert {A, B} <= set(found.names)
    middle = dict(zip(found.names, found.middle, strict=True))
    assert (middle[A] + middle[B]) / np.sqrt(2) == pytest.approx(SEEN / (1 + SD**2 / 2), abs=0.01)
