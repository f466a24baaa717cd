"""The page: one view for each question, under a header that stays.

Only the view that is open is worked out and drawn. One case lies behind all of them: the link
names it, and the view.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import streamlit as st
from streamlit.navigation.page import StreamlitPage

from torquerisk.errors import InputError
from torquerisk.show.page import (
    another,
    dip_view,
    header,
    inputs_view,
    layout,
    limit_view,
    parts_view,
    start,
    studs_view,
)
from torquerisk.show.page.case_in import Case, read_case
from torquerisk.show.page.desk import Desk, on_desk
from torquerisk.show.page.draw import enliven, leave
from torquerisk.show.page.html import block, heading, safe
from torquerisk.show.page.linked_hover import link_hover
from torquerisk.show.page.policy_in import accepted_chance, more_choices, sample_policy, sliders
from torquerisk.show.page.result import Result, assessments, cases, look_now, stamp_of
from torquerisk.show.page.step_back import ask_again, note_asked
from torquerisk.show.page.units_in import one_cases, units_now
from torquerisk.show.page.waiting import say
from torquerisk.show.page.work import assessed
from torquerisk.show.words.prose import in_units
from torquerisk.study.answers.answers import answers_of


@dataclass(frozen=True, kw_only=True)
class View:
    """One question and what answers it."""

    path: str
    question: str
    draw: Callable[[Result], None] | None
    """None: needs no result."""


QUESTIONS = (
    View(path="limit", question="What limit would hold?", draw=limit_view.limit),
    View(path="studs", question="Which studs would hold it?", draw=studs_view.studs),
    View(path="dip", question="Why is there a dip?", draw=dip_view.dips),
)
DEEP = (
    View(path="parts", question="How close is each part?", draw=parts_view.parts),
    View(path="cylinder", question="What happens in the cylinder?", draw=parts_view.cylinder),
    View(path="inputs", question="What went in, what was assumed?", draw=inputs_view.inputs),
    View(path="another", question="How does another run compare?", draw=another.another),
)
START = View(path="case", question="Which engine, which run?", draw=None)
VIEWS = (*QUESTIONS, *DEEP, START)


def page() -> None:
    """Draw the view that the link names."""
    st.set_page_config(
        layout="wide", menu_items={"Get help": None, "Report a bug": None, "About": None}
    )
    pages: dict[str, StreamlitPage] = {}
    first = QUESTIONS[0]
    # The default page is at the root and nowhere else; the first view stands under its name too.
    paths = {"": first, **{view.path: view for view in VIEWS}}
    drawn = {
        path: st.Page(
            lambda: None, title=f"{view.question} torquerisk", url_path=path or "root",
            default=not path,
        )
        for path, view in paths.items()
    }  # fmt: skip
    pages.update({**drawn, first.path: drawn[""]})
    now = st.navigation(list(drawn.values()), position="hidden")
    look = look_now()
    block(f'<p class="tr-notice" role="note">{safe(layout.NOTICE)}</p>{layout.style(look)}')
    # Drawn here and not by the page itself, whose widgets' values would leave the link with it.
    _show(paths[now.url_path], pages)
    link_hover()


def _show(view: View, pages: Mapping[str, StreamlitPage]) -> None:
    """The header, then the view from one frozen result, or one sentence where it cannot be."""
    desk: Desk | None = None
    case: Case | None = None
    refused: InputError | None = None
    try:
        desk = on_desk()
        source = desk.source
        case = cases().get(source.digest, lambda: read_case(source))
        _asked_still(desk, view)
    except InputError as error:
        refused = error
    head = header.draw(
        pages[START.path],
        [(pages[v.path], v.question, v is view) for v in QUESTIONS],
        [(pages[v.path], v.question, v is view) for v in DEEP],
        desk, case,
    )  # fmt: skip
    if desk is None or case is None or view.draw is None:
        if refused is not None:
            say(str(refused))
        heading(START.question)
        start.start(desk, pages[QUESTIONS[0].path])
        return
    _worked_out(view, view.draw, desk, case, head)


def _asked_still(desk: Desk, view: View) -> None:
    """What was asked in a view that is left counts in the next, and stands there on return."""
    arrived = st.session_state.get("view") != view.path
    if arrived and "view" in st.session_state:
        leave()
    st.session_state["view"] = view.path
    # Where the browser went back, widgets follow the link alone; in a run after that they do not.
    if ask_again(desk.tag, units_now(), arrived) and arrived:
        st.rerun()


def _worked_out(
    view: View, draw: Callable[[Result], None], desk: Desk, case: Case, head: header.Header
) -> None:
    """Compute, then draw; while a new assessment is made, nothing old stays in view."""
    here = assessments().has(desk.key)
    # Emptying the place would take the focus off a slider, so only a new assessment does it.
    place = st.container() if here else st.empty().container()
    with place:
        heading(view.question)
        try:
            with st.spinner("Simulating engines within your input ranges", show_time=True):
                assessment = assessments().get(
                    desk.key, lambda: assessed(case, desk.edits, sample_policy(desk.sample))
                )
            answers = answers_of(assessment).at(accepted_chance())
            result = Result(
                case=case, desk=desk, answers=answers, look=look_now(head.units),
                stamp=stamp_of(assessment),
            )  # fmt: skip
            head.fill(result)
            one_cases(result.tag)
            if view is not QUESTIONS[0]:
                with st.container(key="kept"):  # out of sight: the link keeps what is drawn
                    more_choices(result, sliders(result))
                    if view is not QUESTIONS[1]:
                        studs_view.target(result)
            draw(result)
        except InputError as error:
            say(in_units(error.sentence, head.units))
            return
        finally:
            note_asked(desk.tag, head.units)
        foot(result)
    enliven()


def foot(result: Result) -> None:
    """Version, seed, draws and the digest of the inputs."""
    p = result.assessment.policy
    block(
        f'<p class="tr-foot">torquerisk {safe(result.stamp.version)}. Seed {p.seed}, '
        f"{p.draws:,} simulated engines. Inputs {safe(result.stamp.digest[:12])}.</p>"
    )
