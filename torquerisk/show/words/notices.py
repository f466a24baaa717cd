"""An assessment's notices for people who read on: long lists in short, everything else as it is.

JSON and the report keep every notice as the study words it.
"""

from collections.abc import Iterable

from torquerisk.case import Notice
from torquerisk.case.sentence import Sentence
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import ALL_LIMITS, ORDINALS, Assessment, wants_inputs

ASSUMED, NOT_ASSESSED = "assumed", "not-assessed"
MOST_NAMED = 6
"""Assumed inputs that are named one by one."""


def notices_in_short(assessment: Assessment) -> tuple[Notice, ...]:
    """The notices, with all limits that are not assessed in one sentence, and of the assumed inputs
    the first few by how much they drive the answer."""
    short = {
        ASSUMED: assumed_in_words(assessment),
        NOT_ASSESSED: not_assessed_in_words(assessment),
    }
    told = (
        Notice(n.code, short[n.code]) if n.code in short else n for n in assessment.notices
    )  # fmt: skip
    return tuple(dict.fromkeys(told))


def by_run(notices: Iterable[Iterable[Notice]]) -> list[Notice]:
    """The notices of several runs: once what is alike of all, else with the run's place."""
    each = [list(own) for own in notices]
    shared = set.intersection(*({n.text for n in own} for own in each))
    alike = [n for n in each[0] if n.text in shared]
    return alike + [
        Notice(n.code, Sentence(f"{which.capitalize()} run: ", n.text))
        for which, own in zip(ORDINALS, each, strict=False)
        for n in own
        if n.text not in shared
    ]


def not_assessed_in_words(assessment: Assessment, by_label: bool = False) -> str:
    """Every limit that is not assessed, with the inputs it wants; empty where all are.

    by_label: name inputs as the page does, not as an engine file does.
    """
    titles = {limit.name: limit.title for limit in ALL_LIMITS}
    wanted = [
        f"{titles[name].lower()} ({_labels(assessment, missing) if by_label else _keys(missing)})"
        for name, missing in assessment.not_assessed.items()
        if wants_inputs(missing)
    ]
    return f"Not assessed for want of inputs: {'; '.join(wanted)}." if wanted else ""


def _labels(assessment: Assessment, names: tuple[str, ...]) -> str:
    """Inputs as the page names them."""
    return ", ".join(assessment.engine.declaration(name).words for name in names)


def _keys(names: tuple[str, ...]) -> str:
    """Inputs as an engine file has them: '[supply] injector_flow'."""
    by_section: dict[str, list[str]] = {}
    for name in names:
        section, _, key = name.rpartition(".")
        by_section.setdefault(section, []).append(key)
    return "; ".join(
        f"[{section}] {', '.join(keys)}" if section else ", ".join(keys)
        for section, keys in by_section.items()
    )


def assumed_in_words(assessment: Assessment) -> str:
    """How many inputs are assumed, those that drive the answer most by name; empty for none."""
    names = answers_of(assessment).assumed_by_share
    if not names:
        return ""
    named = "; ".join(assessment.engine.declaration(n).words for n in names[:MOST_NAMED])
    told = f"{len(names)} inputs were not given and are assumed, each with a wide spread"
    if len(names) <= MOST_NAMED:
        return f"{told}: {named}."
    return f"{told}. What drives the answer most: {named}. The full report and --json list all."
