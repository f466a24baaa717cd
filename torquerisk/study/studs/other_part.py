"""What gives out before the head does, at the torque that the head is asked for."""

from collections.abc import Sequence
from dataclasses import dataclass

from torquerisk.case.sentence import Sentence, Torque
from torquerisk.quantities import RPM
from torquerisk.study.assessment.alone import alone
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limits import LIFT_SEEN, Limit
from torquerisk.study.limits import head as head_limits
from torquerisk.study.studs.results import EDGE, Ask, StudChoice

OF_THE_HEAD = {limit.name for limit in (*head_limits.LIMITS, LIFT_SEEN)}


@dataclass(frozen=True, kw_only=True, eq=False)
class OtherPart:
    """The lowest ceiling that is not of the head joint, where the run comes nearest to it."""

    limit: Limit
    speed: float
    """[rad/s]."""
    torque: float
    """That it allows there at the accepted chance, as `Ceiling` [N*m]."""
    asked: float
    """There, by the curve asked [N*m]."""
    words: Sentence


def other_part(
    assessment: Assessment, ask: Ask, present: StudChoice, choices: Sequence[StudChoice]
) -> OtherPart | None:
    """What allows less than is asked, and less than the head can be made to hold; else None.

    Nothing of what speed alone passes: another torque does not mend it.
    """
    ones = alone(assessment)
    most = max(choice.torque_held for choice in (present, *choices))
    least = min((1 - EDGE) * ask.target, most) / float(assessment.torque.max())
    first = next((x for x in ones if x.limit.name not in OF_THE_HEAD and 0 < x.share < least), None)
    if first is None:
        return None
    before = {one.limit.name for one in ones[: ones.index(first)]}
    start = (
        "However the head is held, " if before & OF_THE_HEAD else "The head is not what decides: "
    )
    k, name = first.index, first.limit.title.lower()
    speed, asked = float(assessment.speed[k]), float(ask.torque[k])
    torque = first.share * float(assessment.torque[k])
    at = f" at {speed / RPM:,.0f} rpm"
    words = Sentence(
        start, f"{name} allows ", Torque(torque), f"{at} where ", Torque(asked), " are asked."
    )
    return OtherPart(limit=first.limit, speed=speed, torque=torque, asked=asked, words=words)
