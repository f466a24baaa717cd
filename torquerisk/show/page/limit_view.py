"""What limit would hold: one sentence, the curve, what is asked of the table, the table itself."""

import numpy as np
import streamlit as st

from torquerisk.errors import InputError
from torquerisk.show.page import limit_more, own_table
from torquerisk.show.page.draw import numbers_fold, picture
from torquerisk.show.page.html import block, marked, paragraphs
from torquerisk.show.page.layout import SIDE_BY_SIDE
from torquerisk.show.page.own_table import Table
from torquerisk.show.page.policy_in import more_choices, sliders
from torquerisk.show.page.result import Result, Tabled
from torquerisk.show.page.studs_view import bench_of
from torquerisk.show.page.waiting import PROVING, say, when_ready
from torquerisk.show.pictures import gallery
from torquerisk.show.pictures.curve import Limited, shading_in_words
from torquerisk.show.pictures.style import Picture
from torquerisk.show.text.judged_table import judged_in_short
from torquerisk.show.words.in_short import likely_in_words, taken_as_in_words
from torquerisk.show.words.prose import in_units
from torquerisk.show.words.table_in_short import (
    answer_in_words,
    knocks_in_words,
    too_little_known,
)
from torquerisk.study.answers.results import JudgedTable, Proposal

HEIGHT = 470
"""Of the curve, so that it, the answer and the header fit a first screen [px]."""


def limit(result: Result) -> None:
    """The view."""
    told = st.container()
    left, right = st.columns(SIDE_BY_SIDE, gap="medium")
    with right:
        policy = sliders(result)
        beside = st.container()
    with st.expander("More choices"):
        wish = more_choices(result, policy)
    under = st.container()
    try:
        tabled = result.with_table(wish)
    except InputError as error:
        with told:
            say(in_units(error.sentence, result.units))
        return
    st.session_state["wish"] = (result.key, wish)
    with beside:
        written = own_table.editor(tabled)
    with told:
        if isinstance(written, InputError):
            say(str(written))
        elif written is None:
            _answer(tabled)
        else:
            _own_answer(tabled, written)
    own = written if isinstance(written, tuple) else None
    with left:
        curve = _curve(tabled, own)
        if own is None:
            _check(tabled)
    with under:
        numbers_fold(curve, "fig_curve")
        limit_more.more(tabled, own)


def _answer(result: Tabled) -> None:
    """The one sentence, after what must be known before any number."""
    first = too_little_known(result.assessment, result.sketch, result.units)
    told = answer_in_words(result.proposal or result.sketch, result.units)
    block("".join(f'<p class="tr-short">{marked(result.told(t))}</p>' for t in (*first, told)))
    knocks = "" if result.proposal is None else knocks_in_words(result.proposal).strip()
    paragraphs([
        *filter(None, [knocks]), *likely_in_words(result.assessment),
        *taken_as_in_words(result.assessment, result.units),
    ])  # fmt: skip


def _check(result: Tabled) -> None:
    """Whether the table was proved, under the picture."""
    when_ready(
        result.proof, PROVING,
        lambda made: paragraphs(
            [f"{'' if made.verified else 'Not proved. '}{result.told(made.proof.words)}"],
            "tr-lead",
        ),
        result.told,
    )  # fmt: skip
    if result.proposal is None:
        paragraphs([result.told(n.text) for n in result.sketch.notices], "tr-lead")
    else:
        bench_of(result)  # what is likely asked next, while nothing else is worked out


def _own_answer(result: Tabled, written: Table) -> None:
    when_ready(
        own_table.judgement(result, written), "Judging your table.",
        lambda judged: _judged(result, judged), result.told,
    )  # fmt: skip


def _judged(result: Tabled, judged: JudgedTable) -> None:
    first, *rest = judged_in_short(judged, result.units)
    block(f'<p class="tr-short">{marked(first)}</p>')
    block("".join(f'<p class="tr-text">{marked(t)}</p>' for t in rest))
    paragraphs([result.told(n.text) for n in judged.notices])


def _curve(result: Tabled, own: Table | None) -> Picture:
    a, limited = result.assessment, result.limited
    by = result.wish, isinstance(result.sketch, Proposal)
    if own is not None:
        points, torque = (np.array(part) for part in own)
        under = np.interp(a.speed, points, torque)
        limited = Limited(
            breakpoints=points, limit=torque, delivered=np.minimum(a.torque, under),
            ceiling=limited.ceiling, name="your limit",
        )  # fmt: skip
    one = result.picture(
        "curve", lambda: gallery.curve_picture(a, limited, result.look, result.stamp), *by, own
    )
    picture(one, titled=False, numbers=False, height=HEIGHT)
    paragraphs([shading_in_words(a)], "tr-lead")
    return one
