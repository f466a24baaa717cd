"""Shares of a spread, at many engines and at few."""

import numpy as np
import pytest

from torquerisk.study.answers.variance_shares import explained, least_resolved, normal_scores


@pytest.mark.parametrize("count", [9, 14, 40])
def test_share_at_few_engines_pays_for_its_terms(count: int) -> None:
    """Ezekiel's adjusted R^2, 1 - (1 - R^2)(n - 1)/(n - p - 1), with R^2 by a plain cubic fit."""
    rng = np.random.default_rng(11)
    values = rng.standard_normal(count)
    scores = normal_scores(values + 0.4 * rng.standard_normal(count))
    own = normal_scores(values)
    left = scores - np.polynomial.Polynomial.fit(own, scores, 3)(own)
    ratio = 1 - left @ left / np.sum((scores - scores.mean()) ** 2)
    expected = 1 - (1 - ratio) * (count - 1) / (count - 3 - 1)
    assert explained(values, scores, level=1.0) == pytest.approx(expected, rel=1e-9)


def test_too_few_engines_tell_nothing() -> None:
    """Edge: five engines are explained by a cubic whatever they say, so no share is told."""
    values = np.array([1.0, 2.0, 3.0, 4.0, 5.0])
    assert explained(values, normal_scores(values), level=1.0) == 0.0


def test_noise_has_no_share_on_average() -> None:
    """Identity: the adjusted share of pure noise is 0 on average before it is cut at 0.

    600 trials of 20 engines; a share above 0 is told in at most the level asked, 2 %.
    """
    rng = np.random.default_rng(5)
    told = [
        explained(rng.standard_normal(20), normal_scores(rng.standard_normal(20)), level=0.02) > 0
        for _ in range(600)
    ]
    assert np.mean(told) == pytest.approx(0.02, abs=4 * np.sqrt(0.02 * 0.98 / 600))


def test_least_share_told_falls_with_more_engines() -> None:
    """Metamorphic: more engines tell smaller shares, more inputs beside each other only larger."""
    assert least_resolved(64, 30) > least_resolved(256, 30) > least_resolved(1024, 30) > 0
    assert least_resolved(256, 60) > least_resolved(256, 30)
