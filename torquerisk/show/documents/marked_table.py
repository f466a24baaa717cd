"""Two kinds of table, never confused: one that keeps every ceiling, and one for a test only.

The second carries its mark in the file's name, in its header with the reasons, and in every row.
"""

from collections.abc import Mapping, Sequence
from pathlib import PurePath

import numpy as np

from torquerisk.files.exports import TableColumn
from torquerisk.quantities import RPM
from torquerisk.show.words import prose
from torquerisk.show.words.limit_columns import titles_of
from torquerisk.study.answers.results import (
    BINDING,
    HEARD,
    Assessment,
    JudgedTable,
    Proposal,
    Table2D,
    accepted_of,
)

MARK = "TEST ONLY"
IN_NAME = ".TEST-ONLY"
NOT_JUDGED = ("it has not been judged against any ceiling",)
MOST_REASONS = 6
"""Reasons told in a header, worst first."""


def marked_name(name: str, reasons: Sequence[str]) -> str:
    """The name of a file, or its path, with the mark before its ending where there are reasons."""
    path = PurePath(name)
    if not reasons or IN_NAME in path.name:
        return name
    return str(path.with_name(f"{path.stem}{IN_NAME}{path.suffix}"))


def marked_facts(facts: Mapping[str, str], reasons: Sequence[str]) -> dict[str, str]:
    """The facts on top of a file, the mark and its reasons first where there are any."""
    if not reasons:
        return dict(facts)
    return {
        MARK: "this table breaks a ceiling or is not proved; no engine may be run to it in use",
        **{f"reason {k}": text for k, text in enumerate(reasons[:MOST_REASONS], 1)},
        **facts,
    }


def marked_columns(columns: Sequence[TableColumn], reasons: Sequence[str]) -> list[TableColumn]:
    """The columns of a table; where there are reasons, with the mark in every row."""
    if not reasons:
        return list(columns)
    count = len(columns[0].values)
    return [*columns, TableColumn(name="use", unit="", values=[MARK] * count)]


def reasons_of(proposal: Proposal) -> tuple[str, ...]:
    """Why a proposed table may be used for a test only; empty where it is proved."""
    if proposal.verified:
        return ()
    found = _passed(proposal.fresh, proposal.policy.chance)
    return (*found, str(proposal.proof.words))


def _passed(fresh: Assessment, accepted: float) -> list[str]:
    """Ceilings that the table as a run passes more often than accepted, worst first."""
    titles, found = titles_of(fresh), []
    for name, item in fresh.limits.items():
        over = item.chance > accepted_of(item.limit.kind, accepted)
        if item.limit.kind in BINDING and over.any():
            where = prose.where_in_words(fresh.speed, over)
            worst = float(item.chance.max())
            found.append((worst, f"{titles[name]} is passed {where}, by up to {worst:.1%}"))
    found.sort(key=lambda one: -one[0])
    return [f"{text} of the simulated engines" for _, text in found]


def reasons_of_2d(table: Table2D) -> tuple[str, ...]:
    """Why a table over a second axis may be used for a test only; empty where it is proved."""
    worst = [c.worst_chance for c in table.columns if not c.verified]
    if table.verified:
        return ()
    return (
        f"{len(worst) or 'some'} of {len(table.columns)} columns did not pass the check on fresh "
        f"engines, with a chance of up to {max(worst, default=0.0):.1%} where "
        f"{table.policy.chance:.1%} is accepted",
    )


def reasons_of_judged(judged: JudgedTable) -> tuple[str, ...]:
    """Why a table of somebody's own may be used for a test only; empty where it holds."""
    found = []
    titles = titles_of(judged.assessment)
    over = judged.judgement.unsafe_excess > 0
    speed = judged.judgement.speed
    for name in dict.fromkeys(np.array(judged.governing)[over].tolist()):
        here = over & (np.array(judged.governing) == name)
        none = bool(np.isneginf(judged.ceiling[here]).all())
        most = float(judged.judgement.unsafe_excess[here].max())
        far = "no torque is acceptable there" if none else f"by up to {most:.0f} N*m"
        passed = (
            "the run's torque, at or beside knock that was heard in it,"
            if name == HEARD.name
            else titles[name]
        )
        found.append(f"{passed} is passed {prose.where_in_words(speed, here)}, {far}")
    if not judged.holds and not found:
        found.append(
            f"a ceiling is passed near {judged.judgement.worst_speed / RPM:,.0f} rpm by "
            f"{judged.judgement.worst_excess:.0f} N*m"
        )
    if len(judged.outside):
        rows = ", ".join(f"{s / RPM:,.0f}" for s in judged.outside)
        found.append(f"nothing is known at {rows} rpm, outside the measured run")
    return tuple(found)
