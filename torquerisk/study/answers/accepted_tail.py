"""What knowing something would do to the torque accepted, which rests on the weakest engines.

Before it is measured nobody knows what it will show. Every simulated engine is one way it could be:
for what each would show, the others are weighted by how well they agree, and the torque at the
accepted chance is read anew. Its mean over what could be shown, less the torque accepted now, is
what measuring is worth (preposterior analysis; from memory, no source at hand).
"""

from dataclasses import dataclass

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.assessment.assess import accepted_rank

OUTCOMES = 64
"""What could be shown is stood for by so many values, equally likely."""
SHUFFLES = ((6, 2.5), (24, 4.0))
"""Times that it is asked of engines at random instead, whose mean is taken off, and standard
deviations of that from which a worth is told; what fails the first round is not asked again."""
FINEST = 0.1
"""Least error, over the spread of what is observed, that so few engines resolve; of two quantities
observed together its root, so that as many engines agree."""
SEED = 20240229


@dataclass(frozen=True, kw_only=True)
class Worth:
    """What knowing something would do to the torque accepted. [N*m]."""

    gain: float
    """Mean rise of the torque accepted, expected before it is known."""
    low: float
    """Torque accepted afterwards, 10 % point of what could be shown."""
    high: float
    """The same, 90 % point."""
    clear: bool
    """False where the gain cannot be told from chance."""


class Tail:
    """The torque accepted of engines by their capacities (N,) [N*m], finite; ties are kept."""

    def __init__(self, capacity: Array, chance: float) -> None:
        count = len(capacity)
        rank = accepted_rank(count, chance)
        self._order = np.argsort(capacity, kind="stable")
        self._rising = np.asarray(capacity, dtype=float)[self._order]
        self._share = (rank + 0.5) / count
        self.now = float(self._rising[rank])
        """As `assess.at_accepted` has it."""

    def accepted(self, weight: Array) -> Array:
        """Torque accepted (J,) with engines weighted (J, N), linear between them.

        At the share that all engines together are judged at: measured, there will be as many.
        """
        own = weight[:, self._order]
        total = own.sum(axis=1, keepdims=True)
        below = (np.cumsum(own, axis=1) - own / 2) / total
        at = np.clip(np.argmax(below >= self._share, axis=1), 1, None)
        row = np.arange(len(own))
        low, high = below[row, at - 1], below[row, at]
        part = np.clip((self._share - low) / np.where(high > low, high - low, 1.0), 0.0, 1.0)
        return np.asarray(self._rising[at - 1] + part * np.diff(self._rising)[at - 1])

    def worth(self, values: Array, error: Array) -> Worth:
        """Worth of observing quantities (C, N), each with the standard deviation of its error (C,).

        Errors are normal and independent. What is shown is the quantity of every engine with an
        error of its own, thinned to OUTCOMES.
        """
        random = np.random.default_rng(SEED)
        spread = values.std(axis=1)
        noise = np.maximum(error, FINEST ** (1 / len(values)) * spread)[:, None]
        shown = values + noise * random.standard_normal(values.shape)
        picked = _thinned(shown)
        found = self._after(values, shown[:, picked], noise)
        low, high = np.quantile(found, [0.1, 0.9])
        chance: list[float] = []
        for times, clear in SHUFFLES:
            for _ in range(times):
                order = random.permutation(values.shape[1])
                chance.append(float(self._after(values[:, order], shown[:, picked], noise).mean()))
            gain = float(found.mean() - np.mean(chance))
            is_clear = gain > clear * float(np.std(chance))
            if not is_clear:
                break
        return Worth(gain=gain, low=float(low), high=float(high), clear=is_clear)

    def _after(self, values: Array, shown: Array, noise: Array) -> Array:
        """Torque accepted (J,) for what is shown (C, J)."""
        apart = (shown[:, :, None] - values[:, None, :]) / noise[:, :, None]
        return self.accepted(np.exp(-0.5 * (apart**2).sum(axis=0)))


def _thinned(shown: Array) -> Array:
    """Indices of OUTCOMES of what could be shown (C, N), even in the first quantity."""
    order = np.argsort(shown[0], kind="stable")
    steps = (np.arange(OUTCOMES) + 0.5) / OUTCOMES
    return np.asarray(order[(steps * len(order)).astype(int)])
