"""What a bench of fastenings finds, and what was seen of the head as it stands."""

import math

from torquerisk.case.sentence import Sentence, Torque
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import StudBench


def lifted(bench: StudBench) -> tuple[str, ...]:
    """A sentence where coolant pressure was seen to rise, which no count of engines outweighs."""
    peak = answers_of(bench.assessment).lifted_at
    if math.isinf(peak):
        return ()
    told = Sentence(
        "Coolant pressure was seen to rise: as it stands the head has lifted at a peak of ",
        Torque(peak), ", whatever this count says; other fastenings are judged by the count alone.",
    )  # fmt: skip
    return (told,)


def findings(bench: StudBench) -> tuple[str, ...]:
    """The bench's findings, with what was seen behind the first, which is of the same head."""
    first, *rest = bench.findings
    return (first, *lifted(bench), *rest)
