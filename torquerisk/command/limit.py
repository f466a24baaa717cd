"""The verbs `limit` and `judge`: options made into a study, and its result into text or JSON."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from torquerisk.command.request import Request, named, writable
from torquerisk.errors import InputError
from torquerisk.files.exports import write_text_atomically
from torquerisk.files.lists import axis_name, parse_quantities
from torquerisk.files.run_file import read_limit_table
from torquerisk.show.documents import assessed, limit_csv
from torquerisk.show.documents.marked_table import marked_name, reasons_of, reasons_of_2d
from torquerisk.show.text import judged_table, limit_table, two_axes
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import AXES, axis_named

Document = dict[str, Any]
AXIS_NAMES = tuple(axis.name for axis in AXES)


@dataclass(frozen=True, kw_only=True)
class LimitOptions:
    """What is wanted of `limit` beside the table itself."""

    reach: str = "measured"
    csv: str | None = None
    axis: str | None = None
    values: str | None = None
    frontier: bool = False
    clipboard: bool = False
    full: bool = False


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What goes to stdout, and what must be said beside it."""

    shown: str | Document
    warning: str | None = None


def limit_answer(request: Request, options: LimitOptions) -> Answer:
    """The answer to `limit`; writes the CSV file where one is wanted."""
    _check(request, options)
    for path in (options.csv, options.csv and _place(options.csv, ("any",))):
        writable(path, "--csv", request.inputs)
    if options.axis is not None:
        return _table_2d(request, options, options.axis, options.values or "")
    proposal = request.proposal(options.reach)
    if options.csv is not None:
        path = _place(options.csv, reasons_of(proposal))
        write_text_atomically(path, limit_csv.limit_csv(proposal))
    warning = _warning(proposal.verified, options.csv, reasons_of(proposal))
    if options.clipboard:
        return Answer(shown=limit_csv.clipboard(proposal, request.units), warning=warning)
    if request.as_json:
        made = answers_of(proposal.assessment).trade_off(proposal) if options.frontier else None
        document = assessed.limit_document(proposal, request.notices, made)
        return Answer(shown=document, warning=warning)
    return Answer(
        shown=limit_table.limit_text(
            proposal, request.notices, request.units, options.frontier, options.full
        ),
        warning=warning,
    )


def _place(csv: str, reasons: Sequence[str]) -> str:
    """Where a table goes: beside its name where it is for a test only, but into a pipe as it is."""
    path = Path(csv)
    return csv if path.exists() and not path.is_file() else marked_name(csv, reasons)


NOT_VERIFIED = "the table is not proved and must not be used as it is."


def _warning(verified: bool, csv: str | None, reasons: Sequence[str]) -> str | None:
    """What is said beside a table that is for a test only, and where its file went."""
    if verified:
        return None
    written = "" if csv is None else f" It is marked for a test only: {_place(csv, reasons)}."
    return NOT_VERIFIED + written


def _check(request: Request, options: LimitOptions) -> None:
    if (options.axis is None) != (options.values is None):
        given, other = ("--axis", "--values") if options.values is None else ("--values", "--axis")
        raise InputError(
            f"{given} is given without {other}; give both, such as --axis ethanol --values "
            "'0 %, 30 %, 60 %, 85 %'."
        )
    apart = (
        ("--json", request.as_json, "--clipboard", options.clipboard),
        ("--frontier", options.frontier, "--axis", options.axis is not None),
        ("--frontier", options.frontier, "--clipboard", options.clipboard),
        ("--nearest", request.nearest, "--axis", options.axis is not None),
    )
    for one, has_one, other, has_other in apart:
        if has_one and has_other:
            raise InputError(f"{one} cannot go with {other}; leave one of them out.")


def _table_2d(request: Request, options: LimitOptions, axis: str, values: str) -> Answer:
    along = axis_named(axis_name(axis, AXIS_NAMES, "--axis"))
    numbers = parse_quantities(values, along.kind, "--values")
    wish = request.wish(options.reach)
    assessment = request.assessment()
    request.progress(f"shaping and assessing {len(numbers)} columns anew")
    table = answers_of(assessment).table_2d(along, tuple(numbers), wish)
    if options.csv is not None:
        path = _place(options.csv, reasons_of_2d(table))
        write_text_atomically(path, two_axes.table_2d_csv(table))
    warning = _warning(table.verified, options.csv, reasons_of_2d(table))
    if options.clipboard:
        return Answer(shown=two_axes.clipboard(table), warning=warning)
    if request.as_json:
        document = two_axes.table_2d_document(table, request.notices)
        return Answer(shown=document, warning=warning)
    shown = two_axes.table_2d_text(table, request.notices, request.units)
    return Answer(shown=shown, warning=warning)


def judge_verb(request: Request, path: str, reach: str) -> Answer:
    """The answer to `judge`: the table in a file, against what the engine carries."""
    named(path, "TABLE")
    breakpoints, limit = read_limit_table(path)
    wish = request.wish(reach)
    judged = answers_of(request.assessment()).judged(
        tuple(breakpoints.tolist()), tuple(limit.tolist()), wish
    )
    if request.as_json:
        return Answer(shown=judged_table.judge_document(judged, request.notices))
    return Answer(shown=judged_table.judge_text(judged, request.notices, request.units))
