"""The page from top to bottom: read, compute into one frozen result, then draw."""

from collections.abc import Callable
from typing import Any

import streamlit as st

from torquerisk.errors import InputError
from torquerisk.show.page import (
    layout,
    panel,
    sections,
    sections_dips,
    sections_end,
    sections_own,
    sections_parts,
    sections_studs,
    sections_tables,
)
from torquerisk.show.page.case_in import Case, read_case
from torquerisk.show.page.draw import STILLS, begin, enliven, next_turn, turn
from torquerisk.show.page.html import block, heading, safe
from torquerisk.show.page.link import linked
from torquerisk.show.page.panel import Sample, assess_key
from torquerisk.show.page.policy_in import policy_widgets, sample_policy
from torquerisk.show.page.result import (
    Result,
    assessments,
    cases,
    look_now,
    stamp_of,
    start_proof,
    table_now,
)
from torquerisk.show.page.units_in import choose_units
from torquerisk.show.page.waiting import say
from torquerisk.show.page.walk import walk
from torquerisk.show.page.work import AssessKey, assessed
from torquerisk.show.pictures.style import Look
from torquerisk.show.words.prose import Units, in_units
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.edits import Edits, as_loaded
from torquerisk.study.answers.results import Assessment

ENTRANCES = {
    "tuner": "What limit would hold?",
    "builder": "Which studs would hold it?",
    "owner": "Why is there a dip?",
}
"""Three ways in over one case: what comes first."""
ORDER = {
    "tuner": ("curve", "cost", "room", "map", "axis", "own", "parts", "cylinder", "later", "next",
              "studs", "dips"),
    "builder": ("studs", "parts", "cylinder", "room", "curve", "cost", "map", "axis", "own",
                "later", "next", "dips"),
    "owner": ("dips", "room", "curve", "cost", "map", "own", "axis", "parts", "cylinder", "later",
              "studs", "next"),
}  # fmt: skip
FIRST_PICTURE = {"tuner": "fig_curve", "builder": "fig_clamp", "owner": "fig_dips"}
LAST = ("compare", "assumed")
FIRST_ENTRANCE = "tuner"
SETTLE = 0.3
"""On a first visit the browser has this long to show the still page [s]."""
NAMES = {
    "curve": "limit",
    "cost": "cost of caution",
    "room": "where tight",
    "map": "more or less",
    "axis": "fuel, heat, gear",
    "own": "own table",
    "parts": "each part",
    "cylinder": "cylinder",
    "later": "later",
    "next": "measure next",
    "studs": "studs",
    "dips": "dips",
    "compare": "another run",
    "assumed": "assumed",
}
"""Short names of the sections, for the links on top."""
DRAW: dict[str, Callable[[Result], None]] = {
    "short": sections.short,
    "room": sections.room,
    "map": sections.risk_map,
    "cost": sections_tables.cost,
    "own": sections_own.own,
    "axis": sections_tables.axis,
    "dips": sections_dips.dips,
    "parts": sections_parts.parts,
    "cylinder": sections_parts.cylinder,
    "next": sections_end.measure_next,
    "later": sections_end.later,
    "compare": sections_end.compare,
    "assumed": sections_end.assumed,
    "studs": sections_studs.studs,
}
"""Sections beside the curve, in the order in which they are computed: the quick ones first."""


def page() -> None:
    """Draw the page once."""
    st.set_page_config(
        page_title="torquerisk", layout="wide", initial_sidebar_state="auto",
        menu_items={"Get help": None, "Report a bug": None, "About": None},
    )  # fmt: skip
    look = look_now()
    block(f'<p class="tr-notice" role="note">{safe(layout.NOTICE)}</p>{layout.style(look)}')
    try:
        _case_page()
    except InputError as error:
        say(str(error))


def _case_page() -> None:
    with st.sidebar:
        block('<p class="tr-name tr-in">What goes in</p>')
        try:
            source = panel.choose_source()
            case: Case = cases().get(source.digest, lambda: read_case(source))
            keep_place = st.container()
            edits, sample = panel.inputs_form(as_loaded(case.engine, case.run), source.digest)
            with keep_place:
                panel.undo_button(edits)
                panel.save_button(case, edits)
        except InputError:
            top = st.session_state.get("case", "")
            _top(str(top), "")
            raise
    _top(case.engine.name, case.source.label)
    left, right = st.columns([5, 3], gap="medium")
    with left:
        entrance = linked(
            "start", list(ENTRANCES), FIRST_ENTRANCE,
            lambda: st.segmented_control(
                "Start with", list(ENTRANCES), required=True, key="start", wrap=True,
                format_func=lambda e: ENTRANCES[e],
            ),
        )  # fmt: skip
    with right:
        units = choose_units()
    walk(entrance)
    _results(case, edits, sample, entrance, units)


def _top(name: str, label: str) -> None:
    block(
        f'<div class="tr-top"><h1 class="tr-name">torquerisk</h1>'
        f'<span class="tr-case">{safe(name)}</span></div>'
    )


def _results(case: Case, edits: Edits, sample: Sample, entrance: str, units: Units) -> None:
    """Compute, then draw; while a new assessment is made, nothing old stays in view."""
    base = sample_policy(sample)
    key = assess_key(case, edits, sample)
    sections.read(case, edits, units)
    # Emptying the place would take the focus off a slider, so only a new assessment does it.
    place = st.container() if assessments().has(key) else st.empty().container()
    with place, st.spinner("Simulating engines within your input ranges", show_time=True):
        assessment = assessments().get(key, lambda: assessed(case, edits, base))
    with place:
        draw_results(case, edits, key, assessment, sample, entrance, look_now(units))


def _settle() -> None:
    """On a first visit the page comes with still pictures; live ones follow once it is there."""
    if turn() > STILLS:
        st.rerun()
    block('<p class="tr-wait" role="status">The pictures will answer to the pointer soon.</p>')


def draw_results(
    case: Case,
    edits: Edits,
    key: AssessKey,
    assessment: Assessment,
    sample: Sample,
    entrance: str,
    look: Look,
) -> None:
    """Ask what the table is to be, then draw every section from one result."""
    begin(FIRST_PICTURE[entrance])
    order = (*ORDER[entrance], *LAST)
    links = " ".join(f'<a href="#tr-{n}" target="_self">{safe(NAMES[n])}</a>' for n in order)
    block(f'<nav class="tr-nav" aria-label="On this page">{links}</nav>')
    slots: dict[str, Any] = {"short": st.container()}
    slots.update({name: st.container() for name in order})
    with slots["curve"]:
        heading(
            "What limit would hold?", "curve",
            "Torque at the crank as it really was. The shaded band is what the weakest part "
            "carries, 5 to 95 % of the simulated engines.",
        )  # fmt: skip
        above = st.container()
        wish = policy_widgets(assessment, sample, look.units)
        below = st.container()
    try:
        answers = answers_of(assessment).at(wish.policy.chance)
        proof = start_proof(key, answers, wish)
        sketch = table_now(key, answers, wish, proof)
    except InputError as error:
        with above:
            say(in_units(error.sentence, look.units))
        return
    result = Result(
        case=case, edits=edits, key=key, answers=answers, wish=wish, sketch=sketch,
        look=look, stamp=stamp_of(case, key), proof=proof,
    )  # fmt: skip
    with above:
        sections.curve(result)
    with below:
        sections.limit(result)
    for name, draw in DRAW.items():
        with slots[name]:
            draw(result)
    if turn() == STILLS:
        enliven()
        st.fragment(_settle, run_every=SETTLE)()
    next_turn()
    sections_end.foot(result)
