"""Many engines that agree with the evidence, made of the few that were drawn."""

import numpy as np

from torquerisk.case import Policy
from torquerisk.study.draws.simulated_engines import Z_MOST, Draws, standard_draws
from torquerisk.study.evidence.likelihood import likelihood_of
from torquerisk.study.evidence.piece import Piece
from torquerisk.study.run.run_on_grid import Prepared

MOVES = 10
"""Times that engines are moved where fewer agree."""


def moved(
    prepared: Prepared,
    pieces: tuple[Piece, ...],
    found: Draws,
    policy: Policy,
    power: float = 1.0,
) -> tuple[Draws, float]:
    """As many engines as are wanted that agree, made of few, and how many independent ones.

    Each is moved a step within the spreads of its inputs, z' = sqrt(1 - b^2) z + b x, and keeps the
    step with the ratio of likelihoods (to the power 1/power): spreads and evidence both stay as
    they are whatever b is (Metropolis and Hastings; Cotter and others, Statistical Science 28
    (2013) 424, from memory). Two engines of one origin stay alike by what their steps have left of
    it, and count so.
    """
    wanted, random = policy.draws, np.random.default_rng(policy.seed + 1)
    now = found.take(np.resize(np.arange(found.count), wanted))
    level = likelihood_of(prepared, pieces, now, np.zeros(wanted))
    left, step = np.ones(wanted), 0.5
    for _ in range(MOVES):
        fresh = standard_draws(tuple(now.deviates), wanted, int(random.integers(2**31)))
        proposed = _stepped(now, fresh.take(random.permutation(wanted)), step)
        floor = random.random(wanted) ** power * level
        likelihood = likelihood_of(prepared, pieces, proposed, floor)
        taken = likelihood > floor
        now = Draws(
            deviates={
                name: np.where(taken, proposed.deviates[name], z)
                for name, z in now.deviates.items()
            },
            count=wanted,
        )
        level = np.where(taken, likelihood, level)
        left = np.where(taken, left * np.sqrt(1 - step**2), left)
        step = float(np.clip(step * (0.6 if taken.mean() < 0.25 else 1.25), 0.05, 0.9))
    alike = (wanted / found.count - 1) * float(np.mean(left)) ** 2
    return now, wanted / (1 + alike)


def _stepped(now: Draws, fresh: Draws, step: float) -> Draws:
    """Engines a step away towards other ones, within the same spreads."""
    deviates = {
        name: np.clip(np.sqrt(1 - step**2) * z + step * fresh.deviates[name], -Z_MOST, Z_MOST)
        for name, z in now.deviates.items()
    }
    return Draws(deviates=deviates, count=now.count)
