"""Which inputs make a capacity uncertain: of one limit, and of what all limits allow."""

from torquerisk.show.words import prose
from torquerisk.study.answers.results import Assessment, Driver, Sensitivity

LEAST_SHARE = 0.15
"""Below this share of the spread no single input is named as its main cause."""

LEAST_FIRST = 0.05
"""Share of engines below which a limit is not named among those reached first."""


def doubt_of(driver: Driver) -> str:
    """What is doubtful about an input, to follow its label."""
    if driver.name == "model.phasing" and not driver.given:
        return "was not measured"
    known = driver.given or driver.name.startswith("model.")
    return "is not known better" if known else "is assumed"


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
