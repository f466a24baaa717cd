"""The header that stays: which case, units, undo, what can be saved, the one warning, the views."""

from collections.abc import Sequence
from dataclasses import dataclass

import streamlit as st
from streamlit.delta_generator import DeltaGenerator
from streamlit.navigation.page import StreamlitPage

from torquerisk.files.text import brief
from torquerisk.show.page.case_in import Case, case_zip
from torquerisk.show.page.desk import CASE, Desk, undo
from torquerisk.show.page.html import block, safe, safe_markdown
from torquerisk.show.page.limit_more import report_now
from torquerisk.show.page.own_table import LINK
from torquerisk.show.page.result import Result, file_stem
from torquerisk.show.page.units_in import choose_units
from torquerisk.show.words.in_short import urgent_in_short
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.edits import edited

Link = tuple[StreamlitPage, str, bool]
"""A view, its name, and whether it is open."""


@dataclass(frozen=True, kw_only=True)
class Header:
    """What of the header waits for the result."""

    units: Units
    warning: DeltaGenerator
    save: DeltaGenerator

    def fill(self, result: Result) -> None:
        """The warning that matters now, and the report."""
        told = urgent_in_short(result.assessment)
        if told:
            self.warning.html(f'<p class="tr-urgent" role="alert">{safe(result.told(told))}</p>')
        stem = file_stem(result)
        self.save.download_button(
            "Report, to print", lambda: report_now(result), f"report-{stem}.html", "text/html",
            on_click="ignore", key="save_report", width="stretch",
        )  # fmt: skip


def draw(
    start: StreamlitPage, questions: Sequence[Link], deep: Sequence[Link], desk: Desk | None,
    case: Case | None,
) -> Header:  # fmt: skip
    """The header of a view. start: where cases are opened."""
    with st.container(key="head", gap="xxsmall"):
        with st.container(horizontal=True, vertical_alignment="center", key="case_line"):
            block('<h1 class="tr-name">torquerisk</h1>')
            name = "no case" if case is None else safe_markdown(brief(case.engine.name, 60))
            st.page_link(
                start, label=name, icon=":material/folder_open:", query_params=_asked(),
            )  # fmt: skip
            units = choose_units()
            if desk is not None and desk.before is not None:
                st.button("Undo", on_click=undo, args=(desk,), key="undo")
            with st.popover("Save", key="save"):
                saved = st.container()
                if desk is not None and case is not None:
                    _save_case(desk, case)
        warning = st.empty()
        with st.container(horizontal=True, vertical_alignment="center", key="views", gap="xsmall"):
            for one in questions:
                _link(one)
            opened = next((label for _, label, is_open in deep if is_open), "")
            with st.popover(opened or "Look deeper", key="deep_open" if opened else "deep"):
                for one in deep:
                    _link(one)
    return Header(units=units, warning=warning, save=saved)


def _link(one: Link) -> None:
    """A link to a view; the open one is marked."""
    page, label, is_open = one
    if is_open:
        with st.container(width="content"):
            block(f'<span class="tr-open" aria-current="page">{safe(label)}</span>')
    else:
        st.page_link(page, label=label, query_params=_asked())


def _asked() -> dict[str, str]:
    """What a link to another view carries; the browser adds the values of widgets."""
    return {key: st.query_params[key] for key in (CASE, LINK) if key in st.query_params}


def _save_case(desk: Desk, case: Case) -> None:
    engine, run = edited(case.engine, case.run, desk.edits)
    stem = "".join(c if c.isalnum() else "-" for c in engine.name.lower()).strip("-")[:40]
    st.download_button(
        "This case, as files", lambda: case_zip(engine, run), f"{stem or 'case'}.zip",
        "application/zip", on_click="ignore", key="save_case", width="stretch",
    )  # fmt: skip
