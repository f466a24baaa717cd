"""Simulated engines: one quasi-random draw per engine of everything that is not known exactly."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri

from torquerisk.case import Value
from torquerisk.quantities import Array
from torquerisk.study.draws.columns import WIDTH, column_of

Z_MOST = 3.5
"""Draws are cut at this many standard deviations: beyond it no published spread is trusted."""
LEAST_CUT = 0.01
"""Share of the simulated engines held at an edge that is worth a sentence [-]: less is no more than
the tail that every draw is cut at."""
CUT_DRAWS = 1024
"""Draws looked at for that: enough to tell LEAST_CUT."""


@dataclass(frozen=True)
class ModelSpread:
    """A spread that belongs to a model, not to an input: its size and the reason for it."""

    name: str
    label: str
    sd: float
    """Standard deviation: of the logarithm where `logarithmic`, else absolute in SI."""
    reason: str
    logarithmic: bool = True


@dataclass(frozen=True, kw_only=True)
class Draws:
    """Standard normal deviates by name, each (n,), shared by all speeds (epistemic)."""

    deviates: Mapping[str, Array]
    count: int

    def take(self, index: npt.NDArray[np.int_]) -> "Draws":
        """The draws with these indices."""
        return Draws(deviates={k: v[index] for k, v in self.deviates.items()}, count=len(index))

    def of_another_run(self, errors: Mapping[str, tuple[str, float]]) -> "Draws":
        """The same engines at another run: name -> (deviates of its own, correlation with these).

        An error r z + sqrt(1 - r^2) z' has the size of z and correlates with it by r.
        """
        other = {
            name: shared * self.deviates[name] + np.sqrt(1 - shared**2) * self.deviates[own]
            for name, (own, shared) in errors.items()
        }
        return Draws(deviates={**self.deviates, **other}, count=self.count)

    def and_more(self, others: Sequence["Draws"]) -> "Draws":
        """These draws and others of the same names after them."""
        every = [self, *others]
        return Draws(
            deviates={k: np.concatenate([d.deviates[k] for d in every]) for k in self.deviates},
            count=sum(d.count for d in every),
        )

    def first(self, count: int) -> "Draws":
        """The first of the draws, all where there are fewer."""
        return self.take(np.arange(min(self.count, count)))

    def of_value(self, value: Value) -> Array:
        """Draws of an input (n,): lognormal, or normal where its spread is absolute.

        Normal ones are held within the declared range: `part_ranges` says so where that binds.
        """
        drawn = self.unheld(value)
        if not value.declaration.absolute:
            return drawn
        return np.clip(drawn, value.declaration.low, value.declaration.high)

    def unheld(self, value: Value) -> Array:
        """Draws of an input (n,) before they are held within its declared range."""
        z = self.deviates.get(value.name)
        if z is None or value.sd == 0.0:
            return np.full(self.count, value.value)
        if value.declaration.absolute:
            return np.asarray(value.value + value.sd * z)
        return value.value * np.exp(value.relative_sd * z)

    def of_model(self, spread: ModelSpread) -> Array:
        """Draws of a model's factor about 1 (logarithmic) or offset about 0 (n,)."""
        z = self.deviates[spread.name]
        return np.exp(spread.sd * z) if spread.logarithmic else spread.sd * z


def middle_draw(names: tuple[str, ...]) -> Draws:
    """One engine with everything in the middle of its spread."""
    return Draws(deviates={name: np.zeros(1) for name in names}, count=1)


@lru_cache(maxsize=4)
def standard_draws(names: tuple[str, ...], count: int, seed: int, start: int = 0) -> Draws:
    """Scrambled Sobol points mapped to standard normal deviates, cut at 3.5 standard deviations.

    names: what to draw, each from the column that it owns, so that names do not move each other;
    count: how many engines; seed: fixes the scramble; start: points of the sequence passed over, so
    that blocks one after another are one sequence. Source: [SOBOL], by scipy.stats.qmc.
    """
    from scipy.stats import qmc

    sampler = qmc.Sobol(d=WIDTH, scramble=True, rng=np.random.default_rng(seed))
    if start:
        uniform = sampler.fast_forward(start).random(count)
    else:
        uniform = sampler.random_base2(int(np.ceil(np.log2(max(count, 2)))))[:count]
    edge = ndtr(-Z_MOST)
    deviates = {name: ndtri(np.clip(uniform[:, column_of(name)], edge, 1 - edge)) for name in names}
    return Draws(deviates=deviates, count=count)
