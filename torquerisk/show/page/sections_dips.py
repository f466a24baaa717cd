"""The owner's section: why the curve dips, in sentences, dots and a short word list."""

from functools import partial

import streamlit as st

from torquerisk.show.page.draw import picture
from torquerisk.show.page.html import Terms, block, heading, paragraphs, safe
from torquerisk.show.page.result import Result
from torquerisk.show.pictures import gallery
from torquerisk.show.words.dips import FOR_DOTS, WORD_LIST, dips_in_words, explain_dip


def dips(result: Result) -> None:
    """The curve with its dips, one paragraph per dip, twenty dots each, the words used."""
    a = result.assessment
    found = result.answers.dips
    heading(
        "Why is there a dip?", "dips",
        "A dip is often put there on purpose: torque that the engine could make, but should not.",
    )  # fmt: skip
    if not found:
        paragraphs(dips_in_words(a, found, result.units))
    else:
        picture(
            result.picture(
                "dips",
                lambda: gallery.dips_picture(a, found, result.look, result.stamp),
                result.chance,
            ),
            titled=False,
        )
    terms = Terms(WORD_LIST)
    for number, dip in enumerate(found, start=1):
        told = explain_dip(a, dip, result.units)
        signs = "".join(f"<li>{terms.told(s)}</li>" for s in told.signs)
        block(
            f'<h3 class="tr-fig">{"Dip " + str(number) if len(found) > 1 else "The dip"}</h3>'
            f'<p class="tr-short">{terms.told(told.what)} {terms.told(told.why)}</p>'
            + (f'<ul class="tr-list">{signs}</ul>' if signs else "")
            + f'<p class="tr-text">{terms.told(told.lifted_by)}</p>'
            f'<p class="tr-lead">{terms.told(told.how_sure)}</p>'
        )
        if dip.shown is not None:
            picture(
                result.picture(
                    f"dots_{number}",
                    partial(gallery.dots_picture, dip, number, result.look),
                    result.chance,
                )
            )
            block(f'<p class="tr-lead">{safe(FOR_DOTS)}</p>')
    with st.expander("Words used here", type="compact"):
        rows = "".join(f"<dt>{safe(w)}</dt><dd>{safe(m)}</dd>" for w, m in WORD_LIST)
        block(f'<dl class="tr-words">{rows}</dl>')
