"""Which inputs make a capacity uncertain: of one limit, and of what all limits allow."""

from dataclasses import dataclass

from torquerisk.show.words import prose
from torquerisk.study.answers.sensitivity import Sensitivity, told_of
from torquerisk.study.answers.variance_shares import shares_of
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.draws import spreads

LEAST_SHARE = 0.15
"""Below this share of the spread no single input is named as its main cause."""

LEAST_FIRST = 0.05
"""Share of engines below which a limit is not named among those reached first."""


@dataclass(frozen=True, kw_only=True)
class Driver:
    """One uncertain input and the share of the spread that follows it."""

    name: str
    label: str
    share: float
    """First-order share of the capacity torque's variance in normal scores [-]; above 0."""
    given: bool
    """False where a default or a model stands in for it."""

    @property
    def doubt(self) -> str:
        """What is doubtful about it, to follow its label."""
        if self.name == "model.phasing" and not self.given:
            return "was not measured"
        known = self.given or self.name.startswith("model.")
        return "is not known better" if known else "is assumed"


def drivers(assessment: Assessment, limit: str, index: int) -> tuple[Driver, ...]:
    """What makes the capacity torque of a limit uncertain at a speed, greatest share first.

    Inputs whose share cannot be told from noise are left out; empty where nothing stands out or
    the capacity does not vary.
    """
    draws = assessment.model.draws
    deviates = {n: z for n, z in draws.deviates.items() if n != spreads.ACCEPTANCE.name}
    shares = shares_of(deviates, assessment.model.capacities[limit][index])
    found = []
    for name, share in shares.items():
        if share > 0:
            label, given = told_of(assessment, name)
            found.append(Driver(name=name, label=label, share=share, given=given))
    return tuple(sorted(found, key=lambda d: -d.share))


def subject_in_words(assessment: Assessment, found: Sensitivity) -> str:
    """What the shares and measures are of: a torque at a speed, and the limits that set it."""
    told = f"the torque that all limits together allow at {prose.speed_in_words(found.speed)}"
    named = [(name, share) for name, share in found.first if share >= LEAST_FIRST]
    if not named:
        return told
    limits = ", ".join(
        f"{assessment.limits[name].limit.title.lower()} in {prose.chance_count(share, found.draws)}"
        for name, share in named
    )
    return f"{told} (reached first: {limits} of {found.draws:,} simulated engines)"
