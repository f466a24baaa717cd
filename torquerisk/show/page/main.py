"""The page from top to bottom: read, compute into one frozen result, then draw."""

from typing import Any

import streamlit as st

import torquerisk
from torquerisk.errors import InputError
from torquerisk.show.page import layout, panel, sections
from torquerisk.show.page.case_in import Case, read_case
from torquerisk.show.page.html import block, safe
from torquerisk.show.page.panel import Sample
from torquerisk.show.page.policy_in import policy_widgets, sample_policy
from torquerisk.show.page.result import (
    Result,
    assessments,
    cases,
    look_now,
    stamp_of,
    start_proof,
)
from torquerisk.show.page.work import AssessKey, Edits, as_loaded, assessed, at_chance, sketched

ENTRANCES = {
    "tuner": "What limit would hold?",
    "builder": "Which studs would hold it?",
    "owner": "Why is there a dip?",
}
ORDER = {
    "tuner": ("curve", "room", "map", "parts", "cylinder", "studs", "dips", "next", "assumed"),
    "builder": ("studs", "parts", "cylinder", "curve", "room", "map", "dips", "next", "assumed"),
    "owner": ("dips", "room", "curve", "map", "parts", "cylinder", "studs", "next", "assumed"),
}


def page() -> None:
    """Draw the page once."""
    st.set_page_config(
        page_title="torquerisk", layout="wide", initial_sidebar_state="auto",
        menu_items={"Get help": None, "Report a bug": None, "About": None},
    )  # fmt: skip
    look = look_now()
    block(layout.style(look))
    block(f'<p class="tr-notice" role="note">{safe(layout.NOTICE)}</p>')
    try:
        _case_page()
    except InputError as error:
        say(str(error))


def say(sentence: str) -> None:
    """The one sentence that stands where a result cannot."""
    block(f'<div class="tr-said" role="alert"><p>{safe(sentence)}</p></div>')


def _case_page() -> None:
    with st.sidebar:
        block('<p class="tr-name">What goes in</p>')
        try:
            source = panel.choose_source()
            case: Case = cases().get(source.digest, lambda: read_case(source))
            edits, sample = panel.inputs_form(as_loaded(case), source.digest)
        except InputError:
            top = st.session_state.get("case", "")
            _top(str(top), "")
            raise
    _top(case.engine.name, case.source.label)
    entrance = st.segmented_control(
        "Start with", list(ENTRANCES), default="tuner", required=True, key="start",
        format_func=lambda e: ENTRANCES[e], bind="query-params",
    )  # fmt: skip
    _results(case, edits, sample, entrance or "tuner")


def _top(name: str, label: str) -> None:
    block(
        f'<div class="tr-top"><span class="tr-name">torquerisk</span>'
        f'<span class="tr-case">{safe(name)}</span></div>'
    )


def _results(case: Case, edits: Edits, sample: Sample, entrance: str) -> None:
    """Compute, then draw; while a new assessment is made, nothing old stays in view."""
    base = sample_policy(sample)
    key = AssessKey(
        digest=case.source.digest, edits=edits, draws=sample.draws, seed=sample.seed,
        abnormal=sample.abnormal, version=torquerisk.__version__,
    )  # fmt: skip
    read_slot = st.container()
    body = st.empty()
    with read_slot:
        sections.read(case, edits)
    if not assessments().has(key):
        with (
            body.container(),
            st.spinner("Simulating engines within your input ranges", show_time=True),
        ):
            assessment = assessments().get(key, lambda: assessed(case, edits, base))
    else:
        assessment = assessments().get(key, lambda: assessed(case, edits, base))
    with body.container():
        slots: dict[str, Any] = {"short": st.container()}
        slots.update({name: st.container() for name in ORDER[entrance]})
        with slots["curve"]:
            sections.curve_heading()
            wish = policy_widgets(assessment, sample)
        judged = at_chance(assessment, wish.policy)
        result = Result(
            case=case, edits=edits, key=key, assessment=judged, wish=wish,
            sketch=sketched(judged, wish.policy, wish.reach), look=look_now(),
            stamp=stamp_of(case, key), proof=start_proof(key, judged, wish),
        )  # fmt: skip
        for name, slot in slots.items():
            with slot:
                sections.DRAW[name](result)
        sections.foot(result)
