"""Why is there a dip: what an owner says back to a friend, the picture, what to ask the tuner."""

from collections.abc import Sequence
from functools import partial

import streamlit as st

from torquerisk.show.page.alone import fold
from torquerisk.show.page.draw import numbers_fold, picture
from torquerisk.show.page.html import Terms, block, bullets, paragraphs, pretty, safe
from torquerisk.show.page.layout import SIDE_BY_SIDE
from torquerisk.show.page.result import Result
from torquerisk.show.pictures import gallery
from torquerisk.show.words.dips import (
    FOR_DOTS,
    dip_in_short,
    dips_in_words,
    explain_dip,
    left_aside,
    others_in_short,
    to_ask,
)
from torquerisk.show.words.word_list import WORD_LIST, words_used
from torquerisk.study.answers.results import Dip

HEIGHT = 330
"""Of the picture, so that a phone's first screen holds it with the answer [px]."""


def dips(result: Result) -> None:
    """The view: the deepest dip in short, the others named, the curve, what to ask; all behind."""
    a, found = result.assessment, result.answers.dips
    one = result.picture("dips", lambda: gallery.dips_picture(a, found, result.look, result.stamp))
    if not found:
        told = " ".join(dips_in_words(a, found, result.units))
        block(f'<p class="tr-short">{safe(pretty(told))}</p>')
        picture(one, titled=False, numbers=False, height=HEIGHT)
        return
    deepest = max(found, key=lambda dip: dip.depth)
    terms = Terms(WORD_LIST)
    short = (*dip_in_short(deepest, result.units), *others_in_short(found, result.units))
    told = " ".join(terms.told(t) for t in (*short, *left_aside(a)))
    block(f'<p class="tr-short">{told}</p>')
    left, right = st.columns(SIDE_BY_SIDE, gap="medium")
    with left:
        picture(one, titled=False, numbers=False, height=HEIGHT)
    with right:
        block('<h3 class="tr-fig">What to ask the tuner</h3>')
        bullets([result.told(t) for t in to_ask(deepest, result.units)])
    numbers_fold(one, "fig_dips")
    for number, dip in enumerate(found, start=1):
        name = f"Dip {number} in full" if len(found) > 1 else "The dip in full, and how sure"
        fold(name, f"dip_{number}", partial(_in_full, result, dip, number))
    used = words_used((*short, *dips_in_words(a, found)))
    fold("Words used here", "words", partial(_words, used))


def _in_full(result: Result, dip: Dip, number: int) -> None:
    told = explain_dip(result.assessment, dip, result.units)
    paragraphs([f"{told.what} {told.why}"])
    bullets([text for text in (*told.signs, told.unsaid) if text])
    paragraphs([told.lifted_by])
    paragraphs([told.how_sure], "tr-lead")
    if dip.shown is not None:
        picture(
            result.picture(
                f"dots_{number}", partial(gallery.dots_picture, dip, number, result.look)
            )
        )
        paragraphs([FOR_DOTS], "tr-lead")


def _words(used: Sequence[tuple[str, str]]) -> None:
    rows = "".join(f"<dt>{safe(w)}</dt><dd>{safe(m)}</dd>" for w, m in used)
    block(f'<dl class="tr-words">{rows}</dl>')
