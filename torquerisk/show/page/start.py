"""Another case: an example, or files in any order."""

import streamlit as st
from streamlit.navigation.page import StreamlitPage

from torquerisk.errors import InputError
from torquerisk.show.page import case_in
from torquerisk.show.page.case_in import TABLE_FILES, Source, read_case, source_of_files
from torquerisk.show.page.desk import CASE, Desk, keep
from torquerisk.show.page.html import block, safe
from torquerisk.show.page.result import cases
from torquerisk.show.page.waiting import say


def start(desk: Desk | None, answer: StreamlitPage) -> None:
    """The view. desk: what is open. answer: the view that a new case opens in."""
    _files(desk, answer)
    _examples(answer)


def _opened(source: Source, answer: StreamlitPage) -> None:
    """Open a case that reads; what was asked of another case stays with that one."""
    cases().get(source.digest, lambda: read_case(source))
    asked = {CASE: keep(Desk(source=source))}
    units = st.query_params.get("units")
    st.switch_page(answer, query_params=asked | ({"units": units} if units else {}))


def _files(desk: Desk | None, answer: StreamlitPage) -> None:
    block('<h3 class="tr-fig">Files of your own, in any order</h3>')
    sent = st.file_uploader(
        "Engine file, run, known-good run if there is one, or a saved case",
        type=["toml", "zip", *TABLE_FILES], accept_multiple_files=True, key="files",
    )  # fmt: skip
    st.caption(
        "Files stay on this computer, in memory, until the page's server is stopped. A run alone "
        "is judged on the engine that is open."
    )
    if not sent:
        return
    try:
        base = desk.source if desk is not None else None
        source = source_of_files([(f.name, f.getvalue()) for f in sent], base)
        case = cases().get(source.digest, lambda: read_case(source))
    except InputError as error:
        say(str(error))
        return
    told = f"Run {case.run.name} on engine {case.engine.name}: read."
    block(f'<p class="tr-text">{safe(told)}</p>')
    if st.button("Work it out", type="primary", key="open_files"):
        _opened(source, answer)


def _examples(answer: StreamlitPage) -> None:
    block('<h3 class="tr-fig">Invented examples</h3>')
    names = [case_in.GIVEN] if case_in.given_case() is not None else []
    with st.container(horizontal=True, gap="small"):
        for name in (*names, *case_in.samples()):
            if st.button(_told(name), key=f"open_{name}"):
                source = case_in.source_named(name)
                if source is not None:
                    _opened(source, answer)


def _told(name: str) -> str:
    if name == case_in.GIVEN:
        return "The case on the command line"
    return f"Example: {name.replace('_', ' ')}"
