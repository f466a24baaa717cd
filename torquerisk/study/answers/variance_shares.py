"""Shares of an output's spread that follow its inputs, from draws that are there already.

Shares are of the variance of the output's normal scores (its rank among the draws read as a normal
deviate), so an infinite or far-off value counts by its order alone, and an output that is normal
and linear in its inputs gets exactly its textbook shares.
"""

from collections.abc import Mapping

import numpy as np
from scipy.special import betainc, ndtri
from scipy.stats import rankdata

from torquerisk.quantities import Array

DEGREE = 3
"""Degree of the polynomial in an input's normal score that its effect is fitted by."""
LEVEL = 0.01
"""Chance that any share shown at all is noise: each is tested at this over the count of inputs."""


def normal_scores(values: Array) -> Array:
    """Rank of each value among the (n,) read as a standard normal deviate; ties share a rank.

    Phi^-1((rank - 1/2) / n). Source: van der Waerden scores, [PRACTICE]
    """
    return np.asarray(ndtri((rankdata(values) - 0.5) / len(values)))


def shares_of(inputs: Mapping[str, Array], output: Array) -> dict[str, float]:
    """First-order share of the output's variance (in normal scores) for every input [-].

    inputs: (n,) each; output: (n,), infinities allowed. A share that noise alone would give with a
    chance of LEVEL over the number of inputs is 0. All 0 where the output does not vary.
    """
    scores = normal_scores(output)
    level = LEVEL / max(len(inputs), 1)
    return {name: explained(values, scores, level) for name, values in inputs.items()}


def explained(values: Array, scores: Array, level: float) -> float:
    """Share [-] of the variance of scores (n,) that follows a quantity (n,).

    Least squares on Hermite polynomials of its normal score up to DEGREE, corrected for the terms
    fitted: 1 - (1 - R^2)(n - 1)/(n - terms - 1); 0 where the F test does not reach `level`. Fitted:
    an effect that turns more than twice is under-stated.
    """
    if np.ptp(values) == 0 or _level(scores):
        return 0.0
    terms = np.polynomial.hermite_e.hermevander(normal_scores(values), DEGREE)[:, 1:]
    return _adjusted(np.asarray(terms, dtype=float), scores, level)


def _level(values: Array) -> bool:
    """True where all values are one and the same, infinities included."""
    return bool((values == values[0]).all())


def _adjusted(terms: Array, scores: Array, level: float) -> float:
    """Share of variance explained by terms (n, p), corrected for p; 0 where it may be noise."""
    n, count = terms.shape
    if n <= count + 2:
        return 0.0
    spread = scores - scores.mean()
    terms = np.column_stack([np.ones(n), terms])
    fit, *_ = np.linalg.lstsq(terms, spread, rcond=None)
    left = spread - terms @ fit
    ratio = 1 - float(left @ left) / float(spread @ spread)
    if _chance_of_noise(ratio, n, count) > level:
        return 0.0
    return max(1 - (1 - ratio) * (n - 1) / (n - count - 1), 0.0)


def _chance_of_noise(ratio: float, n: int, terms: int) -> float:
    """Chance that noise alone gives this R^2 or more: it is beta-distributed then."""
    left = min(max(1 - ratio, 0.0), 1.0)
    return float(betainc((n - terms - 1) / 2, terms / 2, left))


def joint_share(inputs: Mapping[str, Array], output: Array) -> float:
    """Share of the output's variance (in normal scores) that a sum of all inputs explains [-].

    One straight-line term for each input; 0 where there are too few draws to tell.
    """
    varied = [normal_scores(z) for z in inputs.values() if np.ptp(z) > 0]
    if not varied or _level(output):
        return 0.0
    return _adjusted(np.column_stack(varied), normal_scores(output), LEVEL)


def least_resolved(count: int, inputs: int) -> float:
    """About the least share [-] that is told from noise among so many inputs and draws.

    count: draws, more than DEGREE + 2; inputs: tested beside each other.
    """
    grid = np.geomspace(1e-5, 1.0, 400)
    level = LEVEL / max(inputs, 1)
    least = next((g for g in grid if _chance_of_noise(g, count, DEGREE) <= level), 1.0)
    return float(1 - (1 - least) * (count - 1) / (count - DEGREE - 1))
