"""As many simulated engines as an accepted chance asks for: what few of them cannot tell."""

import dataclasses

import numpy as np

from torquerisk.case import Policy
from torquerisk.quantities import Array
from torquerisk.study.assessment.assess import evaluate
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.evidence.agreement import select_draws
from torquerisk.study.table.finer_grid import finer_inputs, on_finer_grid, prepared_of

FEWEST_FAILING = 10
"""Engines that the accepted chance must stand for in a proof: fewer tell 0.05 % from nothing no
better than 0.25 %."""
MOST_DRAWS = 65536
"""Engines that a proof simulates at most."""


MOST_MORE = 4.0
"""Times as many as an assessment has that a proof takes where evidence leaves too few."""


def judged_on(assessment: Assessment, breakpoints: Array, chance: float) -> Assessment:
    """The assessment on the table's finer grid, with more engines where the chance asks for them.

    The engines that the assessment has are among them: quasi-random points of the same seed.
    """
    more = policy_of_proof(assessment, chance, 0)
    if more.draws == assessment.policy.draws:
        return on_finer_grid(assessment, breakpoints)
    begun = assessment.model.every, assessment.evidence
    chosen = select_draws(prepared_of(assessment), more, begun)
    return evaluate(finer_inputs(assessment, breakpoints), more, *chosen)


def policy_of_proof(assessment: Assessment, chance: float, attempt: int) -> Policy:
    """The policy of an independent re-assessment: another seed, engines enough for the chance."""
    policy, kept = assessment.policy, assessment.evidence.kept
    needed = FEWEST_FAILING / chance
    draws = max(policy.draws, needed)
    if kept < min(needed, policy.draws):
        draws *= min(1.1 * needed / kept, MOST_MORE)
    count = min(int(np.ceil(draws)), MOST_DRAWS)
    return dataclasses.replace(policy, seed=policy.seed + attempt, chance=chance, draws=count)


def proves(chance: float, draws: int) -> bool:
    """True where so many engines can tell an accepted chance: it stands for FEWEST_FAILING."""
    return chance * draws >= FEWEST_FAILING * (1 - 1e-9)
