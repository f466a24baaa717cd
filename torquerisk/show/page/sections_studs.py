"""The stud bench: what clamp the curve needs, which fasteners give it, and the sheet for one."""

import numpy as np
import streamlit as st

from torquerisk.quantities import BAR
from torquerisk.show.page.alone import alone, fold, nobody
from torquerisk.show.page.draw import picture
from torquerisk.show.page.grid import grid
from torquerisk.show.page.html import (
    block,
    bullets,
    heading,
    key_line,
    marked,
    paragraphs,
    pretty,
    safe,
    table,
)
from torquerisk.show.page.layout import state_mark
from torquerisk.show.page.result import Result
from torquerisk.show.page.units_in import FASTENING, torque_slider
from torquerisk.show.page.waiting import when_ready
from torquerisk.show.pictures import gallery
from torquerisk.show.pictures.joint import choice_columns, choice_name
from torquerisk.show.words.sealing_ring import (
    bending_in_words,
    fastener_sentences,
    kinds_title,
    ring_sentences,
)
from torquerisk.show.words.target_sheet import target_sheet
from torquerisk.study.answers.results import StudBench, StudChoice

MOST_DRAWN = 14
"""Choices drawn; the table has them all."""


def studs(result: Result) -> None:
    """Everything for the builder; a slider here redraws only this section."""
    heading(
        "Which studs would hold it?", "studs",
        "Clamp that the curve needs at the accepted chance, and the fastenings that give it, the "
        "mildest change first.",
    )  # fmt: skip
    alone(_bench)(result)


def _bench(result: Result) -> None:
    a = result.assessment
    peak = float(a.torque.max())
    low, high, now = (round(v / 5) * 5 for v in (0.5 * peak, 1.25 * peak, peak))
    target = torque_slider(
        "Peak torque to hold, same shape of curve", range(low, high + 1, 5), now, "hold",
        result.units, in_link=True,
    )  # fmt: skip
    exact = None if target == now else float(target)
    when_ready(
        result.slow("bench", (target, result.chance), lambda: result.answers.bench(exact)),
        "Trying fastenings on the simulated engines.",
        lambda bench: _with_bench(result, bench, target),
        result.told,
    )


def _with_bench(result: Result, bench: StudBench, target: int) -> None:
    every = [bench.present, *bench.choices]
    paragraphs([result.told(t) for t in bench.findings])
    names = [choice_name(bench, c, result.units) for c in every]
    best = bench.mildest
    key = f"{FASTENING}{target}_{result.chance:g}"
    first = every.index(best) if best is not None else 0
    st.session_state.setdefault(key, first)
    chosen = first if nobody() else st.selectbox(
        "Look at one fastening", range(len(every)), format_func=lambda k: names[k], key=key
    )  # fmt: skip
    choice = every[chosen]
    about = f"{target}_{result.chance:g}_{chosen}"
    look, stamp = result.look, result.stamp
    picture(
        result.picture(f"clamp_{about}", lambda: gallery.clamp_picture(bench, choice, look, stamp)),
        key="fig_clamp",
    )
    key_line(
        [
            state_mark("estimated to hold"),
            '<span class="tr-mark exceeds" aria-hidden="true"></span>not estimated to hold',
        ]
    )
    picture(
        result.picture(
            f"choices_{target}_{result.chance:g}",
            lambda: gallery.choices_picture(bench, _worth_drawing(bench), look, stamp),
        ),
        key="fig_choices", numbers=False,
    )  # fmt: skip
    fold(
        f"Numbers: all {len(bench.choices)} choices", "choices",
        lambda: grid(
            choice_columns(bench, every, result.units), "Fastenings, the mildest change first",
            "fastenings",
        ),
    )  # fmt: skip
    _ring(result, bench, choice, about)
    _joint(result, bench, choice, about)
    _sheet(result, bench, choice)
    with st.expander("What the bench takes for granted", type="compact"):
        bullets([*(result.told(n.text) for n in bench.notices), *bench.cautions[:2]])


def _worth_drawing(bench: StudBench) -> list[StudChoice]:
    """The present fastening, and the choices that hold or come nearest, mildest first."""
    ranked = sorted(bench.choices, key=lambda c: (not c.holds_aged, not c.holds, -c.torque_held))[
        : MOST_DRAWN - 1
    ]
    return [bench.present, *(c for c in bench.choices if c in ranked)]


def _ring(result: Result, bench: StudBench, choice: StudChoice, about: str) -> None:
    """What firing leaves on the sealing ring with the chosen fastening."""
    ring = result.answers.ring_with(bench, choice)
    draws = bench.assessment.model.draws.count
    name = choice_name(bench, choice, result.units)
    picture(
        result.picture(
            f"ring_{about}",
            lambda: gallery.ring_picture(ring, name, draws, result.look, result.stamp),
        ),
        key="fig_ring",
    )
    material = choice.engine.word("head_joint.head_material")
    loads = result.answers.fastener_with(bench, choice)
    paragraphs([*ring_sentences(ring, draws)])
    block(table(gallery.kind_columns(ring, draws), kinds_title(ring)))
    paragraphs([bending_in_words(ring), *fastener_sentences(loads, material)])


def _joint(result: Result, bench: StudBench, choice: StudChoice, about: str) -> None:
    """What one firing does to the chosen joint."""
    worst = float(np.median(result.assessment.worst_pressure.p50.max())) * bench.scale
    most = round(1.3 * float(np.quantile(choice.head.lift_pressure(), 0.95)) / BAR)
    start = int(min(max(round(worst / BAR), 0), most))
    fire = st.slider(
        "Firing pressure in the cylinder [bar]", 0, most, start, 1, key=f"fire_{about}"
    )
    picture(
        result.picture(
            f"joint_{about}_{fire}",
            lambda: gallery.joint_picture(
                result.answers.firing_with(choice, fire * BAR), result.look, result.stamp
            ),
        ),
        key="fig_joint",
    )


def _sheet(result: Result, bench: StudBench, choice: StudChoice) -> None:
    """The target sheet of one fastening: what to fit, how to tighten it, what to check."""
    sheet = target_sheet(bench, choice, result.units)
    rows = "".join(
        f'<tr><th scope="row">{safe(a[0].upper() + a[1:])}</th><td>{marked(b)}</td></tr>'
        for a, b in sheet.facts
    )
    lists = "".join(
        f"<h4>{safe(title)}</h4><{tag}>"
        + "".join(f"<li>{safe(pretty(t))}</li>" for t in texts)
        + f"</{tag}>"
        for title, tag, texts in (
            ("In this order", "ol", sheet.steps),
            ("Afterwards", "ul", sheet.afterwards),
            ("Mind", "ul", sheet.cautions),
        )
        if texts
    )
    block(
        f'<div class="tr-sheet"><h3>{safe(sheet.title)}</h3>'
        f'<div class="tr-scroll" tabindex="0" role="region" aria-label="{safe(sheet.title)}">'
        f"<table><tbody>{rows}</tbody></table></div>{lists}</div>"
    )
