"""A limit table of one's own: sent in or written here, then judged."""

import hashlib
import math
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
import pandas as pd
import streamlit as st

from torquerisk.errors import InputError
from torquerisk.files.exports import TableColumn, limit_table_csv, speed_column
from torquerisk.files.run_file import read_limit_table
from torquerisk.quantities import RPM
from torquerisk.show.page.alone import alone
from torquerisk.show.page.case_in import TABLE_FILES
from torquerisk.show.page.draw import STILLS, picture, turn
from torquerisk.show.page.html import block, heading, key_line, marked, paragraphs
from torquerisk.show.page.layout import STATES, state_mark
from torquerisk.show.page.limit_view import saved_in_si
from torquerisk.show.page.result import Result
from torquerisk.show.page.waiting import say, when_ready
from torquerisk.show.pictures import gallery
from torquerisk.show.text.judged_table import judged_in_short
from torquerisk.study.answers.results import JudgedTable

Table = tuple[tuple[float, ...], tuple[float, ...]]
"""Speeds [rad/s] and limits at the crank [N*m], rising in speed; hashable."""
SPEED, LIMIT = "engine speed [rpm]", "limit at crank [N·m]"
SPEEDS, LIMITS = (0.0, 30_000.0), (0.0, 20_000.0)
"""Ranges of a cell, in rpm and N*m."""
MOST_ROWS = 400
BESIDE = 250
"""Height of what stands above and below the table to edit [px]."""


def own(result: Result) -> None:
    """A table that somebody already has, or would like."""
    heading(
        "Is a table of my own all right?", "own",
        "Change the numbers of the table above, or send in one as CSV, with columns of engine "
        "speed and torque and their units; it is judged at the accepted chance chosen above.",
    )  # fmt: skip
    if turn() == STILLS:  # the editor's script is a large one
        rows = len(result.sketch.breakpoints)
        block(f'<div style="height:{_height(rows) + BESIDE}px"></div>')
    else:
        alone(_own)(result)


def _own(result: Result) -> None:
    if st.session_state.get("own_case") != result.key.digest:
        st.session_state["own_case"] = result.key.digest
        _again()
    number = st.session_state["own_turn"]
    sent, digest = _sent(number)
    key = f"own_cells_{number}{digest}"
    start = sent or _start(result, key)
    cells = st.data_editor(
        pd.DataFrame({SPEED: np.round(np.array(start[0]) / RPM, 3), LIMIT: start[1]}),
        num_rows="dynamic", hide_index=True, width=560, key=key,
        height=_height(len(start[0])),
        alt="Table to edit: engine speed and torque limit at the crank, a row for each speed",
        column_config={
            SPEED: _column("Rows need not be in order", SPEEDS, 1.0),
            LIMIT: _column("At the crank, as it really is", LIMITS, 0.1),
        },
    )  # fmt: skip
    with st.container(horizontal=True):
        st.button("Judge this table", on_click=_wanted, key="own_judge")
        st.button("Take the proposed table again", on_click=_again, key="own_again")
    if not (sent or _changed(key) or "own_wanted" in st.session_state):
        return
    try:
        written = table_of(zip(cells[SPEED], cells[LIMIT], strict=True))
    except InputError as error:
        say(str(error))
        return
    _judge(result, written)


def _height(rows: int) -> int:
    """Height of the table to edit, with its head and a row to add [px]."""
    return 35 * (rows + 2) + 3


def _sent(number: int) -> tuple[Table | None, str]:
    """The table of a file, with what tells it apart; of one that cannot be read a sentence."""
    file = st.file_uploader("A limit table", type=TABLE_FILES, key=f"own_table_{number}")
    if file is None:
        return None, ""
    data = file.getvalue()
    try:
        points, limit = read_limit_table(data, file.name)
    except InputError as error:
        say(str(error))
        return None, ""
    table = tuple(float(v) for v in points), tuple(float(v) for v in limit)
    return table, f"_{hashlib.sha256(data).hexdigest()[:12]}"


def _start(result: Result, key: str) -> Table:
    """The proposed table; held still once a cell was changed, so that no change is lost."""
    kept: Table | None = st.session_state.get("own_start")
    if kept is not None and (_changed(key) or "own_wanted" in st.session_state):
        return kept
    s = result.sketch
    start = tuple(float(v) for v in s.breakpoints), tuple(float(v) for v in s.limit)
    st.session_state["own_start"] = start
    return start


def _changed(key: str) -> bool:
    """True where a cell was changed, or a row added or taken away."""
    return any(dict(st.session_state.get(key) or {}).values())


def _wanted() -> None:
    st.session_state["own_wanted"] = True


def _again() -> None:
    """Forget the changed cells, the file and the judgement."""
    st.session_state["own_turn"] = st.session_state.get("own_turn", 0) + 1
    for name in ("own_start", "own_wanted"):
        st.session_state.pop(name, None)


def _column(told: str, ends: tuple[float, float], step: float) -> Any:
    return st.column_config.NumberColumn(
        help=f"{told}; {ends[0]:,.0f} to {ends[1]:,.0f}", min_value=ends[0], max_value=ends[1],
        step=step, required=True,
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
        for value, name, (low, high) in zip(given, (SPEED, LIMIT), (SPEEDS, LIMITS), strict=True):
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


def _judge(result: Result, written: Table) -> None:
    wish = result.wish
    when_ready(
        result.slow(
            "judged", (written, wish),
            lambda: result.answers.judged(*written, wish),
        ),
        "Judging the table.",
        lambda judged: _judged(result, judged, written), result.told,
    )  # fmt: skip
    st.download_button(
        "Save my table as CSV", _csv(written), "my-limit.csv", "text/csv", on_click="ignore",
        key="save_own",
    )  # fmt: skip
    saved_in_si(result)


def _csv(written: Table) -> str:
    return limit_table_csv(
        [
            speed_column(written[0]),
            TableColumn(name="torque limit", unit="N·m", values=written[1]),
        ],
        {"measured at": "crank", "correction": "none"},
    )


def _judged(result: Result, judged: JudgedTable, written: Table) -> None:
    block(
        "".join(
            f'<p class="tr-text">{marked(t)}</p>' for t in judged_in_short(judged, result.units)
        )
    )
    key_line([state_mark(w) for w in STATES])
    picture(
        result.picture(
            "judged",
            lambda: gallery.judged_picture(judged, result.look, result.stamp),
            result.wish,
            written,
        ),
        key="fig_judged",
    )
    paragraphs([result.told(n.text) for n in judged.notices])
