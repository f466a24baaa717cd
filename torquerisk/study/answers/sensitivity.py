"""What drives the answer, and what to measure next.

The answer is the least torque that any limit that binds allows, at one speed. Which limit that is
differs from one simulated engine to another, so shares are never of one limit's torque alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.answers.measure_next import (
    Advice,
    binding_capacity,
    binding_names,
    worth_measuring,
)
from torquerisk.study.answers.variance_shares import (
    explained,
    joint_share,
    least_resolved,
    normal_scores,
    shares_of,
)
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.draws import spreads
from torquerisk.study.run.operating_state import PhasingSource

DRAWN_AS = {
    "test.torque_error": spreads.READING.name,
    "test.driveline_loss": spreads.READING.name,
}
"""Inputs whose spread is drawn within another one's."""


@dataclass(frozen=True, kw_only=True)
class Share:
    """One drawn input and the share of the spread that follows it alone (first order)."""

    name: str
    label: str
    given: bool
    """False where a default or a model stands in for it."""
    share: float
    """Of the variance, in normal scores [-]; 0 where it cannot be told from noise."""

    @property
    def resolved(self) -> bool:
        """False where it cannot be told from noise."""
        return self.share > 0


@dataclass(frozen=True, kw_only=True, eq=False)
class Sensitivity:
    """What the spread of the least torque that all binding limits allow at one speed comes from."""

    speed: float
    """Where least torque is to spare [rad/s]."""
    limit: str
    """The limit that governs there: by itself it allows least at the accepted chance."""
    first: tuple[tuple[str, float], ...]
    """Limits by name, with the share of simulated engines in which each is reached first; greatest
    first, those of no engine left out. What no limit holds is in none."""
    accepted: float
    """Torque accepted there now, which measuring would raise [N*m]; +-inf happens."""
    capacity_torque: tuple[float, float, float]
    """5, 50 and 95 % points of the least binding capacity [N*m]; +-inf happens."""
    shares: tuple[Share, ...]
    """Greatest first; their sum is at most 1."""
    rest: float
    """Share that no single input explains: interactions, ties and what is too small to tell."""
    together: float
    """Share that all inputs explain together as a plain sum [-]. Well above the sum of the shares
    where evidence has tied inputs together: each alone then says little, all of them much."""
    least_resolved: float
    """About the least share that is told from noise with so many simulated engines [-]."""
    next: Advice
    """What to measure next."""
    draws: int


def sensitivity(assessment: Assessment, index: int | None = None) -> Sensitivity:
    """What drives the least capacity torque, and what would raise the torque accepted most.

    index: of the assessed speed; by default where the torque at the accepted chance leaves least.
    Each share is a regression over the simulated engines that are there already.
    """
    k = least_spare(assessment) if index is None else index
    least = binding_capacity(assessment)[k]
    draws, deviates = assessment.model.draws, _deviates(assessment)
    found = shares_of(deviates, least)
    total = sum(found.values())
    scaled = 1.0 if total <= 1 else 1 / total
    low, middle, high = np.quantile(least, [0.05, 0.5, 0.95], method="inverted_cdf")
    return Sensitivity(
        speed=float(assessment.speed[k]),
        limit=assessment.governing[k],
        first=reached_first(assessment, k),
        accepted=float(assessment.ceiling[k]),
        capacity_torque=(float(low), float(middle), float(high)),
        shares=_told(assessment, {name: share * scaled for name, share in found.items()}),
        rest=1 - min(total, 1.0),
        together=joint_share(deviates, least),
        least_resolved=least_resolved(draws.count, len(deviates)),
        next=worth_measuring(assessment, k, least),
        draws=draws.count,
    )


def drivers_of(assessment: Assessment, limit: str, index: int) -> tuple[Share, ...]:
    """What makes the capacity torque of a limit uncertain at a speed, greatest share first.

    Inputs whose share cannot be told from noise are left out; empty where nothing stands out or
    the capacity does not vary.
    """
    shares = shares_of(_deviates(assessment), assessment.model.capacities[limit][index])
    return _told(assessment, {name: share for name, share in shares.items() if share > 0})


def by_share(assessment: Assessment, names: Sequence[str]) -> tuple[str, ...]:
    """Inputs by the share of the spread that follows each where least torque is to spare, greatest
    first. An order only: small shares are ranked by their estimates, noise and all."""
    scores = normal_scores(binding_capacity(assessment)[least_spare(assessment)])
    drawn = assessment.model.draws.deviates
    deviates = {n: drawn.get(DRAWN_AS.get(n, n)) for n in names}
    shares = {n: explained(z, scores, level=1.0) for n, z in deviates.items() if z is not None}
    return tuple(sorted(names, key=lambda n: -shares.get(n, 0.0)))


def reached_first(assessment: Assessment, k: int) -> tuple[tuple[str, float], ...]:
    """Limits by name with the share of engines in which each allows least at speed k."""
    names = binding_names(assessment)
    capacities = np.stack([assessment.model.capacities[n][k] for n in names])
    held = capacities.min(axis=0) < np.inf
    lowest = np.argmin(capacities, axis=0)
    shares = {n: float(np.mean(held & (lowest == i))) for i, n in enumerate(names)}
    return tuple(sorted(((n, s) for n, s in shares.items() if s > 0), key=lambda item: -item[1]))


def least_spare(assessment: Assessment) -> int:
    """Index of the speed with the least torque to spare at the accepted chance, a finite one."""
    spare = np.where(
        np.isfinite(assessment.ceiling), assessment.ceiling - assessment.torque, np.inf
    )
    return int(np.argmin(spare))


def _deviates(assessment: Assessment) -> dict[str, Array]:
    """Deviates of all that is uncertain of the engine, by name."""
    drawn = assessment.model.draws.deviates
    return {name: z for name, z in drawn.items() if name != spreads.ACCEPTANCE.name}


def _told(assessment: Assessment, shares: dict[str, float]) -> tuple[Share, ...]:
    """Shares with their labels, greatest first."""
    told = {name: told_of(assessment, name) for name in shares}
    found = [
        Share(name=name, label=told[name][0], given=told[name][1], share=share)
        for name, share in shares.items()
    ]
    return tuple(sorted(found, key=lambda one: -one.share))


def told_of(assessment: Assessment, name: str) -> tuple[str, bool]:
    """Label of a drawn input for readers, and whether it was given."""
    engine = assessment.engine
    if name == "model.phasing":
        source = assessment.phasing_source
        spread = spreads.PHASING[source]
        if engine.compression_ignition and source is not PhasingSource.GIVEN:
            spread = spreads.PHASING_COMPRESSION
        return spread.label, source is PhasingSource.GIVEN
    if name != "charge.burn_duration":
        models = (*spreads.MODEL_SPREADS, *spreads.MODEL_SPREADS_COMPRESSION)
        model = next((s for s in models if s.name == name), None)
        if model is not None:
            return model.label, False
    return engine.declaration(name).words, engine.has(name)
