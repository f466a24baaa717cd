"""Another case: my engine in two minutes, files in any order, or an invented example."""

import dataclasses
import re
from collections.abc import Callable
from typing import Any

import streamlit as st
from streamlit.navigation.page import StreamlitPage

from torquerisk.case import Declaration, Engine
from torquerisk.case.sections import Fuel, HeadJoint, Rated
from torquerisk.errors import InputError
from torquerisk.files.engine_file import engine_to_toml
from torquerisk.show.page import case_in
from torquerisk.show.page.as_read import as_read
from torquerisk.show.page.case_in import (
    TABLE_FILES,
    Source,
    case_zip,
    read_case,
    source_named,
    source_of_files,
)
from torquerisk.show.page.desk import CASE, Desk, keep
from torquerisk.show.page.html import block, safe
from torquerisk.show.page.inputs import every_declaration, input_box, section_of
from torquerisk.show.page.result import cases
from torquerisk.show.page.units_in import units_now
from torquerisk.show.page.waiting import say
from torquerisk.show.words.prose import torque_unit

SECTIONS = {"fuel": Fuel, "head_joint": HeadJoint, "rated": Rated}
GROUPS = {
    "The engine": (
        "ignition", "cylinders", "bore", "stroke", "rod_length", "compression_ratio", "fuel.blend",
    ),
    "Its head fasteners": (
        "head_joint.fasteners", "head_joint.thread", "head_joint.property_class",
    ),
    "Its data sheet": (
        "rated.torque", "rated.torque_from", "rated.torque_speed", "rated.power",
        "rated.power_speed", "rated.rev_limit", "rated.boosted",
    ),
}  # fmt: skip
"""What the form asks for; everything else is what is usual, and says so."""


def start(desk: Desk | None, answer: StreamlitPage) -> None:
    """The view. desk: what is open. answer: the view that a new case opens in."""
    left, right = st.columns([3, 2], gap="large")
    with right:
        _files(desk, answer)
        _examples(answer)
    with left:
        _form(answer)


def _form(answer: StreamlitPage) -> None:
    """My engine in two minutes."""
    block('<h3 class="tr-fig">My engine in two minutes</h3>')
    units = units_now()
    unit = torque_unit(units).name
    given: dict[str, Any] = {}
    declared = dict(every_declaration())
    with st.form("new_engine"):
        name = st.text_input("What it is called", max_chars=60, key="new_name")
        for title, names in GROUPS.items():
            block(f'<p class="tr-lead">{safe(title)}</p>')
            with st.container(horizontal=True, gap="small"):
                for one in names:
                    with st.container(width=176):
                        given[one] = input_box(
                            declared[one], None, _absent(one, declared[one]),
                            f"new_{one}_{unit}", units, ranged=False,
                        )  # fmt: skip
        block('<p class="tr-lead">The run that was measured on it</p>')
        file = st.file_uploader("As a file, with units in its headings", type=TABLE_FILES)
        typed = st.text_area(
            f"Or typed: rpm and {unit} at the crank, a line each", height=120, max_chars=4000,
            placeholder=f"2000 180\n2500 230\n3000 265 … in rpm and {unit}", key="new_run",
        )  # fmt: skip
        if st.form_submit_button("Work it out", type="primary"):
            st.session_state["entered"] = True
    if not st.session_state.get("entered"):
        return
    try:
        engine = entered_engine(name or "", given)
        if file is None:
            run = ("typed run", typed_run(typed or "", unit))
        else:
            run = (file.name, file.getvalue())
        source = Source(
            label="entered here", engine_name="engine.toml", engine=engine_to_toml(engine).encode(),
            run_name=run[0], run=run[1],
        )  # fmt: skip
        if file is None:
            _opened(source, answer)
    except InputError as error:
        say(str(error))
        return
    _confirmed(source, "entered", answer)


def _absent(name: str, declaration: Declaration) -> str:
    """What stands where nothing is given: what is usual, but of a data sheet nothing."""
    if declaration.required:
        return ""
    return "if known" if section_of(name) == "rated" else "usual"


def entered_engine(name: str, given: dict[str, Any]) -> Engine:
    """The engine of the form's values, SI by name of input. Raises InputError in one sentence."""
    declared = dict(every_declaration())
    missing = [declared[n].words for n, v in given.items() if v is None and declared[n].required]
    if missing:
        raise InputError(f"Still to be filled in: {', '.join(missing)}.")
    parts: dict[str, dict[str, Any]] = {section: {} for section in ("", *SECTIONS)}
    for full, value in given.items():
        section, _, key = full.rpartition(".")
        if value is not None:
            parts[section][key] = value
    made = {section: build(**parts[section]) for section, build in SECTIONS.items()}
    return Engine(name=name.strip() or "my engine", **parts[""], **made)


def typed_run(text: str, unit: str) -> bytes:
    """A typed run as the file that it would be: two numbers a line, apart by spaces or a comma."""
    rows = [re.split(r"[\s;,]+", line.strip()) for line in text.splitlines() if line.strip()]
    if not rows:
        raise InputError("The run is still missing: send a file, or type a line for each speed.")
    for number, row in enumerate(rows, start=1):
        if len(row) != 2:
            raise InputError(
                f"line {number} of the typed run holds {len(row)} numbers; give engine speed and "
                "torque, with a point for decimals."
            )
    lines = "".join(f"{speed},{torque}\n" for speed, torque in rows)
    return f"engine speed [rpm],torque [{unit}]\n{lines}".encode()


def _opened(source: Source, answer: StreamlitPage) -> None:
    """Open a case that reads; what was asked of another case stays with that one."""
    cases().get(source.digest, lambda: read_case(source))
    st.session_state.pop("entered", None)
    st.switch_page(answer, query_params={CASE: keep(Desk(source=source))})


def _files(desk: Desk | None, answer: StreamlitPage) -> None:
    block('<h3 class="tr-fig">Files, in any order</h3>')
    sent = st.file_uploader(
        "Engine file, run, known-good run, or a saved case",
        type=["toml", "zip", *TABLE_FILES], accept_multiple_files=True, key="files",
    )  # fmt: skip
    st.caption(
        "Files stay in this computer's memory until the page's server is stopped. A run alone is "
        "judged on the engine that is open."
    )
    if not sent:
        return
    try:
        base = desk.source if desk is not None else None
        source = source_of_files([(f.name, f.getvalue()) for f in sent], base)
    except InputError as error:
        say(str(error))
        return
    _confirmed(source, "files", answer)


def _confirmed(source: Source, key: str, answer: StreamlitPage) -> None:
    """Open a case once its reading was looked at."""
    case = as_read(source, key)
    if case is not None and st.button("Work it out", type="primary", key=f"open_{key}"):
        _opened(case.source, answer)


def _examples(answer: StreamlitPage) -> None:
    block('<h3 class="tr-fig">Invented examples</h3>')
    names = [case_in.GIVEN] if case_in.given_case() is not None else []
    samples = list(case_in.samples())
    with st.container(horizontal=True, gap="small"):
        for name in (*names, *samples):
            if st.button(_told(name), key=f"open_{name}"):
                source = source_named(name)
                if source is not None:
                    _opened(source, answer)
    if samples:
        st.download_button(
            "Template: an engine file and a run to write over", _template(samples[0]),
            "template.zip", "application/zip", on_click="ignore", key="template",
        )  # fmt: skip


def _template(sample: str) -> Callable[[], bytes]:
    def made() -> bytes:
        source = source_named(sample)
        assert source is not None
        case = read_case(source)
        return case_zip(dataclasses.replace(case.engine, name="my engine"), case.run)

    return made


def _told(name: str) -> str:
    if name == case_in.GIVEN:
        return "The case on the command line"
    return f"Example: {name.replace('_', ' ')}"
