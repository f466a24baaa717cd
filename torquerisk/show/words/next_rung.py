"""What the next survived pulls would be worth, and what they risk, in words."""

from torquerisk.quantities import RPM
from torquerisk.show.words.prose import (
    Units,
    chance_in_words,
    plain,
    torque_in_words,
    where_in_words,
)
from torquerisk.study.answers.results import Assessment, NextRung


def in_words(
    assessment: Assessment, rungs: tuple[NextRung, ...], units: Units = Units.SI
) -> list[str]:
    """One sentence a rung, the lowest first, and how to write one into the engine file; or why
    there is none."""
    if assessment.model.operating.lift_seen is not None:
        return ["No further rung until the head was tested: coolant pressure was seen to rise."]
    draws = assessment.model.every.count
    told = []
    for rung in rungs:
        at, now = rung.peak, max(float(assessment.ceiling[rung.peak]), 0.0)
        knock = (
            f" It is likely to knock {where_in_words(assessment.speed, rung.knocks)}: take "
            "ignition back there first."
            if rung.knocks.any()
            else ""
        )
        told.append(
            f"Up to {torque_in_words(float(rung.torque[at]), units)} (at "
            f"{plain(assessment.speed[at] / RPM)} rpm) in {rung.pulls} pulls: a limit of strength "
            f"is passed {chance_in_words(rung.risk, draws)}. Nothing seen: the torque accepted "
            f"there goes from {torque_in_words(now, units)} to "
            f"{torque_in_words(float(rung.accepted[at]), units)}.{knock}"
        )
    if rungs:
        told.append(
            "What was driven goes into the engine file: [[survived]] with run, pulls and seen."
        )
    return told
