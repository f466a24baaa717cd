"""How a run file is read, to be looked at and changed by hand before results."""

import dataclasses

import pandas as pd
import streamlit as st

from torquerisk.case import CHANNELS
from torquerisk.errors import InputError
from torquerisk.files.exports import heading_of
from torquerisk.files.run_file import FIRST, Seen, columns_seen
from torquerisk.show.page.case_in import Case, Source, read_case
from torquerisk.show.page.html import bullets, paragraphs
from torquerisk.show.page.result import cases
from torquerisk.show.page.waiting import say

UNUSED = "not used"
ROWS = [f"row {i + 1}" for i in range(FIRST)]
LABELS = {UNUSED: "", **{d.label: name for name, d in CHANNELS.items()}}
"""Channels by what people call them."""


def as_read(source: Source, key: str) -> Case | None:
    """The case as its run is read with what is said by hand; None where it cannot be read yet.

    key: ends the keys of the widgets.
    """
    told = st.container()
    try:
        seen = columns_seen(source.run, source.run_name, dict(source.columns))
    except InputError as error:
        say(str(error))
        return None
    first, _ = _read(source)
    with st.expander(f"As read: {len(seen)} columns", expanded=first is None, type="compact"):
        source = dataclasses.replace(source, columns=_said(source, seen, key))
        if first is not None and len(first.pulls) > 1:
            source = dataclasses.replace(source, pull=_pull(source, first.pulls, key))
        case, wrong = _read(source)
        if case is not None:
            bullets([n.text for n in case.run.notices] or ["Nothing in it is in doubt."])
    with told:
        if case is None:
            say(wrong)
        else:
            paragraphs([f"Run {case.run.name} on engine {case.engine.name}: read.{_besides(case)}"])
    return case


def _besides(case: Case) -> str:
    """The other runs that are read, in a sentence."""
    known, survived = case.engine.known_good.curve, case.engine.survived
    told = [] if known is None else [f"{known.name} as known good"]
    told += [f"{rung.curve.name} as survived" for rung in survived if rung.curve is not None]
    return f" With {', '.join(told)}." if told else ""


def _read(source: Source) -> tuple[Case | None, str]:
    """The case, or why it cannot be read."""
    try:
        return cases().get(source.digest, lambda: read_case(source)), ""
    except InputError as error:
        return None, str(error)


def _said(source: Source, seen: tuple[Seen, ...], key: str) -> tuple[tuple[str, str], ...]:
    """What is said of columns otherwise than they are read; what was said before counts on."""
    before = dict(source.columns)
    rows = pd.DataFrame(
        {
            "heading": [c.heading for c in seen],
            "meaning": [c.meaning or UNUSED for c in seen],
            "unit": [c.unit for c in seen],
            **({"note": [c.note for c in seen]} if any(c.note for c in seen) else {}),
            **{row: [(*c.first, *[None] * FIRST)[i] for c in seen] for i, row in enumerate(ROWS)},
        }
    )
    cells = st.data_editor(
        rows, hide_index=True, disabled=["heading", "note", *ROWS],
        key=f"as_read_{key}_{source.digest[:8]}",
        alt="Columns of the run file: heading, meaning, unit, first rows; change meaning or unit",
        column_config={
            "meaning": st.column_config.SelectboxColumn(options=list(LABELS), required=True),
            "unit": st.column_config.TextColumn(help="Such as N*m, lb*ft, kPa abs, psi gauge"),
        },
    )  # fmt: skip
    for number, (one, label, unit) in enumerate(
        zip(seen, cells["meaning"], cells["unit"], strict=True), 1
    ):
        if (label, unit) != (one.meaning or UNUSED, one.unit):
            given = f" [{unit.strip()}]" if (unit or "").strip() else ""
            channel = LABELS[label]
            before[str(number)] = f"{heading_of(channel)}{given}" if channel else ""
    return tuple(sorted(before.items()))


def _pull(source: Source, pulls: tuple[str, ...], key: str) -> int:
    """Which pull of a log is to be read."""
    numbers = list(range(1, len(pulls) + 1))
    chosen = st.selectbox(
        "Pull that is read, the one of the most torque over speed first", numbers,
        index=source.pull - 1, format_func=lambda i: f"{i}: {pulls[i - 1]}",
        key=f"pull_{key}_{source.digest[:8]}",
    )  # fmt: skip
    return int(chosen or 1)


__all__ = ["as_read"]
