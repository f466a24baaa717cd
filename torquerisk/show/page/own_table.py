"""The limit's points in a table to type in: the proposed ones, until one is changed or sent in."""

import math
from collections.abc import Iterable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np
import pandas as pd
import streamlit as st

from torquerisk.errors import InputError
from torquerisk.files.exports import TableColumn, limit_table_csv, speed_column
from torquerisk.files.run_file import read_limit_table
from torquerisk.quantities import RPM
from torquerisk.show.documents.limit_csv import clipboard, has_advance, limit_csv
from torquerisk.show.documents.marked_table import (
    MARK,
    NOT_JUDGED,
    marked_columns,
    marked_facts,
    marked_name,
    reasons_of,
    reasons_of_judged,
)
from torquerisk.show.page.case_in import TABLE_FILES
from torquerisk.show.page.result import Tabled, file_stem
from torquerisk.show.page.step_back import remember, step_back
from torquerisk.show.words.limit_columns import limited_at
from torquerisk.show.words.prose import Units, torque_unit
from torquerisk.show.words.table_in_short import by_row
from torquerisk.study.answers.results import JudgedTable

Table = tuple[tuple[float, ...], tuple[float, ...]]
"""Speeds [rad/s] and limits at the crank [N*m], rising in speed; hashable."""
SPEED, LIMITED = "rpm", "limited by"
SPEEDS, LIMITS = (0.0, 30_000.0), (0.0, 20_000.0)
"""Ranges of a cell, in rpm and N*m."""
MOST_ROWS = 400
HEIGHT = 264
"""Of the table; its rows scroll [px]."""
KEY = "own_table"
LINK = "table"
"""In the link: rpm and N*m of every row."""


@dataclass(frozen=True, kw_only=True)
class Own:
    """What is kept of a table of one's own between reruns."""

    tag: str
    """Of the case that it belongs to."""
    base: Table | None = None
    """What the cells began with: held still while they are changed, so that no change is lost."""
    limited: tuple[str, ...] = ()
    """What limits each row of the base, held still with it; empty while nobody knows."""
    typed: Table | None = None
    """What they say now, where that is another table than the proposed one."""
    sent: bool = False
    """True where the base is not the proposed table."""
    units: Units = Units.SI
    refused: str = ""
    """Why a file could not be read."""


def editor(result: Tabled) -> Table | InputError | None:
    """The table; what was typed or sent instead of the proposed one, or what is wrong with that."""
    unit, size = torque_unit(result.units)
    own = _kept(result)
    assert own.base is not None
    speed, torque = own.base
    key = _key(own, result.units)
    changed = any(dict(st.session_state.get(key) or {}).values())
    if own.sent and not own.limited and not changed:
        own = replace(own, limited=_limited(result, own.base))
    cells = st.data_editor(
        pd.DataFrame(
            {
                SPEED: np.round(np.array(speed) / RPM, 3), unit: np.array(torque) / size,
                LIMITED: own.limited or [""] * len(speed),
            }
        ),
        num_rows="dynamic", hide_index=True, height=HEIGHT, disabled=[LIMITED], key=key,
        alt="Torque limit at the crank by engine speed; type in it to try a limit of your own",
        column_config={
            SPEED: _column("Engine speed; rows need not be in order", SPEEDS, 1.0, "%.0f"),
            unit: _column(
                "Limit at the crank, as it really is", (0.0, LIMITS[1] / size), 0.1, "%.1f"
            ),
        },
    )  # fmt: skip
    written: Table | InputError | None = None
    if changed or own.sent:
        try:
            written = table_of(zip(cells[SPEED], cells[unit] * size, strict=True))
        except InputError as error:
            written = error
    typed = written if isinstance(written, tuple) else None
    _link(own, typed)
    st.session_state[KEY] = replace(own, typed=typed, units=result.units)
    _take_away(result, typed, can_go_back=remember(result.tag, result.units, typed))
    return InputError(own.refused) if own.refused else written


def _limited(result: Tabled, base: Table) -> tuple[str, ...]:
    """What limits each row of an own table, once it is judged; nothing before."""
    judged = judgement(result, base)
    if not judged.done() or judged.exception() is not None:
        return ()
    return tuple(limited_at(judged.result(), base[0]))


def _kept(result: Tabled) -> Own:
    """What is kept of this case; it begins with the proposed table."""
    own: Own | None = st.session_state.get(KEY)
    if own is None or own.tag != result.tag:
        own = _linked(result.tag, result.units)
    left = own.base is not None and _key(own, own.units) not in st.session_state
    if own.typed is not None and (own.units is not result.units or left):
        return replace(own, base=own.typed, sent=True, limited=())
    if own.base is not None and (own.sent or own.typed is not None):
        return own
    shape = result.sketch.shape
    base = tuple(shape.breakpoints.tolist()), tuple(shape.limit.tolist())
    return replace(own, base=base, limited=tuple(by_row(result.assessment, result.sketch)))


def _key(own: Own, units: Units) -> str:
    """Of the cells' widget: new cells begin a new one."""
    return f"own_cells_{own.tag}_{_turn()}_{torque_unit(units).name}_{hash(own.base):x}"


def _linked(tag: str, units: Units) -> Own:
    """What a visit begins with: the table that the link carries, else the proposed one."""
    text = st.query_params.get(LINK)
    if not text:
        return Own(tag=tag, units=units)
    try:
        rows = [[float(v) for v in row.split(":")] for row in text.split(",")]
        base = table_of([(rpm, limit) for rpm, limit in rows])
    except InputError as error:
        return Own(tag=tag, units=units, refused=str(error))
    except ValueError:
        return Own(tag=tag, units=units, refused="the table in this link cannot be read.")
    return Own(tag=tag, base=base, typed=base, sent=True, units=units)


def _link(before: Own, typed: Table | None) -> None:
    """Have the link carry what is typed, where that changed: a way back stays a way back."""
    if typed == before.typed:
        return
    if typed is None:
        st.query_params.pop(LINK, None)
    else:
        st.query_params[LINK] = ",".join(
            f"{s / RPM:.6g}:{t:.2f}" for s, t in zip(*typed, strict=True)
        )


def _turn() -> int:
    return int(st.session_state.setdefault("own_turn", 0))


def again() -> None:
    """Forget the changed cells, the file and the judgement."""
    st.session_state["own_turn"] = _turn() + 1
    st.session_state.pop(KEY, None)
    st.query_params.pop(LINK, None)


def _restore(tag: str, units: Units, typed: Table | None) -> None:
    """Put cells back as they were typed; None: the proposed table."""
    again()
    if typed is not None:
        st.session_state[KEY] = Own(tag=tag, base=typed, sent=True, units=units)


def _file(tag: str, key: str) -> None:
    """A file was sent in or taken away."""
    file = st.session_state[key]
    if file is None:
        again()
        return
    try:
        points, limit = read_limit_table(file.getvalue(), file.name)
    except InputError as error:
        st.session_state[KEY] = Own(tag=tag, refused=str(error))
        return
    base = tuple(float(v) for v in points), tuple(float(v) for v in limit)
    st.session_state[KEY] = Own(tag=tag, base=base, sent=True)


def _take_away(result: Tabled, own: Table | None, can_go_back: bool) -> None:
    """Copy and CSV of what the table says, the way back, and a table from a file."""
    proposal = result.proposal
    with st.container(horizontal=True, gap="xsmall"):
        if own is not None:
            reasons = _reasons(result, own)
            csv: str | None = _csv(own, reasons)
            copied = _lines(own, result.units, reasons)
            name, advance = marked_name("my-limit.csv", reasons), ""
        else:
            csv = None if proposal is None else limit_csv(proposal)
            copied = "" if proposal is None else clipboard(proposal, result.units)
            why = () if proposal is None else reasons_of(proposal)
            name = marked_name(f"limit-{file_stem(result)}.csv", why)
            logged = proposal is not None and has_advance(proposal)
            advance = ", advance at most in degrees" if logged else ""
        st.download_button(
            "CSV", csv or "", name, "text/csv", on_click="ignore", key="save_csv",
            disabled=csv is None,
        )  # fmt: skip
        with st.popover("Copy", disabled=not copied):
            st.caption(f"Columns: rpm, {torque_unit(result.units).name}{advance}. No headings.")
            st.code(copied, language=None)
        with st.popover("Table from a file"):
            key = f"own_file_{result.tag}_{_turn()}"
            st.file_uploader(
                "A limit table as CSV, with units in its headings", type=TABLE_FILES, key=key,
                on_change=_file, args=(result.tag, key),
            )  # fmt: skip
        st.button(
            "Step back", on_click=step_back, args=(partial(_restore, result.tag, result.units),),
            key="step_back", disabled=not can_go_back,
        )  # fmt: skip
        if own is not None:
            st.button("Proposed table again", on_click=again, key="own_again")


def _reasons(result: Tabled, own: Table) -> tuple[str, ...]:
    """Why the own table may be used for a test only: what it breaks, or that nobody knows yet."""
    judged = judgement(result, own)
    if not judged.done() or judged.exception() is not None:
        return NOT_JUDGED
    return reasons_of_judged(judged.result())


def _lines(own: Table, units: Units, reasons: tuple[str, ...]) -> str:
    size, mark = torque_unit(units).size, f"\t{MARK}" if reasons else ""
    return "\n".join(f"{s / RPM:.0f}\t{t / size:.1f}{mark}" for s, t in zip(*own, strict=True))


def _column(told: str, ends: tuple[float, float], step: float, form: str) -> Any:
    return st.column_config.NumberColumn(
        help=f"{told}; {ends[0]:,.0f} to {ends[1]:,.0f}", min_value=ends[0], max_value=ends[1],
        step=step, required=True, format=form,
    )  # fmt: skip


def table_of(cells: Iterable[Sequence[float | None]]) -> Table:
    """The table of cells as written, by rising speed. cells: rpm and N*m of every row.

    Rows with both cells empty are left out. Raises InputError in one sentence.
    """
    rows: list[tuple[float, float]] = []
    for number, row in enumerate(cells, start=1):
        given = [None if v is None or math.isnan(v) else float(v) for v in row]
        if given == [None, None]:
            continue
        for value, name, (low, high) in zip(
            given, ("engine speed [rpm]", "limit at the crank [N·m]"), (SPEEDS, LIMITS), strict=True
        ):
            if value is None:
                raise InputError(
                    f"row {number} of the table has no {name}; fill it, or clear the row."
                )
            if not low <= value <= high:
                raise InputError(
                    f"{name} in row {number} of the table is {value:g}, but must be {low:g} to "
                    f"{high:,.0f}."
                )
        rows.append((float(given[0] or 0.0), float(given[1] or 0.0)))
    rows.sort()
    if len({speed for speed, _ in rows}) < len(rows):
        raise InputError("the table has the same engine speed twice; give each speed one row.")
    if not 2 <= len(rows) <= MOST_ROWS:
        raise InputError(f"the table has {len(rows)} rows, but must have 2 to {MOST_ROWS}.")
    return tuple(speed * RPM for speed, _ in rows), tuple(limit for _, limit in rows)


def judgement(result: Tabled, written: Table) -> "Future[JudgedTable]":
    """How the table fares, under way or at hand."""
    wish = result.wish
    return result.slow("judged", (written, wish), lambda: result.answers.judged(*written, wish))


def _csv(written: Table, reasons: tuple[str, ...]) -> str:
    columns = [
        speed_column(written[0]),
        TableColumn(name="torque limit", unit="N·m", values=written[1]),
    ]
    return limit_table_csv(
        marked_columns(columns, reasons),
        marked_facts({"measured at": "crank", "correction": "none"}, reasons),
    )
