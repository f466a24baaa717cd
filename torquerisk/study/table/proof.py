"""The proof of a table: the limit itself assessed as a run, by other simulated engines."""

import dataclasses
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from torquerisk.case import Policy
from torquerisk.case.sentence import Sentence
from torquerisk.quantities import RPM, Array
from torquerisk.study.assessment.assess import at_accepted, evaluate
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.evidence.agreement import select_draws
from torquerisk.study.limit_curve.ask import Shape, ShapeAsk
from torquerisk.study.limit_curve.curve import interpolated_limit
from torquerisk.study.limit_curve.in_rpm import broken_rules, shaped_to_peak
from torquerisk.study.limits import knocking, place_of
from torquerisk.study.table.engines_enough import FEWEST_FAILING, policy_of_proof, proves
from torquerisk.study.table.finer_grid import binding_capacity, on_speeds, prepared_of
from torquerisk.study.table.ignition_asked import as_asked, later_asked

ATTEMPTS = 3
"""Tables shaped at most: a failed proof lowers the ceiling to what its draws and those before
accept together, a second one to what its own do."""
SAMPLING_SIGMAS = 2.5
"""Re-assessed chances may exceed the accepted one by this many standard errors of sampling."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Proof:
    """What an independent re-assessment of a table found."""

    holds: bool
    """True where the accepted chance and every rule are kept."""
    enough: bool
    """True where there were engines enough to tell."""
    words: str
    fresh: Assessment
    least: Array
    """Torque that each fresh engine bears, on the measured run's speeds (S, N) [N*m]."""

    @cached_property
    def knock(self) -> Array:
        """Share of fresh engines (S,) that knock at the limit with the ignition asked for."""
        loads = self.fresh.model.demand
        return knocking(loads, place_of(loads.torque, self.fresh.torque))

    @property
    def verified(self) -> bool:
        """True where the table is proved."""
        return self.holds and self.enough


def shaped_and_proved(
    assessment: Assessment, policy: Policy, ask: ShapeAsk, ceiling: Array, reach: Array | None
) -> tuple[Shape, Proof]:
    """Shape a table and re-assess it; where fresh draws say less, shape under both, try again."""
    seen = binding_capacity(assessment)
    for attempt in range(1, ATTEMPTS + 1):
        shape = shaped_to_peak(assessment.speed, ceiling, reach, ask)
        proof = verify(assessment, policy, shape, ask, ceiling, reach, attempt)
        if proof.holds:
            break
        seen = np.concatenate([seen, proof.least], axis=1) if attempt == 1 else proof.least
        ceiling = np.minimum(ceiling, at_accepted(seen, policy.chance))
    return shape, proof


def verify(
    assessment: Assessment,
    policy: Policy,
    shape: Shape,
    ask: ShapeAsk,
    ceiling: Array,
    reach: Array | None,
    attempt: int = 1,
) -> Proof:
    """Assess the limit itself as a run with fresh draws; say whether it keeps the accepted chance.

    The whole chain runs anew with another seed, on the speeds of the assessment given, which hold
    the table's breakpoints, with the ignition that the table asks for: the run's, later where that
    is likely to knock.
    """
    broken = broken_rules(assessment.speed, ceiling, shape, ask, reach)
    speed = assessment.speed
    limit = interpolated_limit(shape.breakpoints, shape.limit, speed)
    fresh_policy = policy_of_proof(assessment, policy.chance, attempt)
    prepared = prepared_of(assessment)
    later = later_asked(assessment.model.demand, limit)
    kept, evidence = select_draws(prepared, fresh_policy, known=assessment.evidence)
    at_limit = on_speeds(prepared, speed, limit)
    asked = dataclasses.replace(at_limit, state=as_asked(at_limit.state, later))
    fresh = evaluate(asked, fresh_policy, kept, evidence)
    least = binding_capacity(fresh)
    chance = (least < limit[:, None]).mean(axis=1)
    error = sampling_error(policy.chance, evidence.kept)
    worst = int(np.argmax(chance))
    allowed = policy.chance + SAMPLING_SIGMAS * error
    told = (
        f"Checked at {len(speed)} speeds on {kept.count:,} fresh simulated engines: at most "
        f"{100 * chance[worst]:.2f} % at {speed[worst] / RPM:,.0f} rpm"
    )
    within = policy.chance < chance[worst] <= allowed
    told += ", which so many cannot tell from the " if within else " against "
    told += f"{100 * policy.chance:.2f} % accepted"
    told += ". " if broken else "; every shape rule kept."
    enough = proves(policy.chance, evidence.kept)
    few = (
        f" The accepted chance stands for {policy.chance * evidence.kept:.2g} of them that are "
        f"independent, and nothing is proved by less than {FEWEST_FAILING}: evidence leaves too "
        "few, so simulate more."
    )
    return Proof(
        holds=bool(chance[worst] <= allowed) and not broken,
        enough=enough,
        words=Sentence(told, Sentence.joined(" ", broken), "" if enough else few),
        fresh=fresh,
        least=least,
    )


def sampling_error(chance: float, draws: int) -> float:
    """Standard error of the difference of two chances, each of so many draws [-]."""
    return float(np.sqrt(chance * (1 - chance) * 2 / draws))
