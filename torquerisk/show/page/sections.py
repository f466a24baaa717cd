"""The first sections of the page, each a question, drawn from one frozen result."""

import streamlit as st

from torquerisk.quantities import RPM
from torquerisk.show.page.case_in import Case
from torquerisk.show.page.draw import picture
from torquerisk.show.page.html import (
    block,
    bullets,
    heading,
    key_line,
    marked,
    paragraphs,
    pretty,
    safe,
)
from torquerisk.show.page.layout import STATES, state_mark
from torquerisk.show.page.limit_view import before_after, table_view
from torquerisk.show.page.result import Result
from torquerisk.show.pictures import gallery
from torquerisk.show.words.in_short import assessment_in_short, proposal_in_short
from torquerisk.show.words.prose import Units, in_units
from torquerisk.study.answers.edits import Edits, edited, reading_of


def read(case: Case, edits: Edits, units: Units) -> None:
    """What was read, before any result."""
    engine, run = edited(case.engine, case.run, edits)
    reading = reading_of(engine, run)
    low, high = run.speed[0] / RPM, run.speed[-1] / RPM
    logged = ", ".join(name.replace("_", " ").strip() for name in run.channels)
    steps = "; ".join(in_units(step, units) for step in reading.steps)
    known = engine.known_good.curve
    lines = [
        f"Run {run.name}: {len(run.speed)} rows, {low:,.0f} to {high:,.0f} rpm; "
        f"{steps}. Logged beside torque: {logged or 'nothing'}.",
        f"Engine {engine.name}: {engine.cylinders} cylinders, bore {engine.bore * 1e3:g} mm, "
        f"stroke {engine.stroke * 1e3:g} mm, {engine.swept_volume_total * 1e6:,.0f} cm³, "
        f"{engine.word('fuel.blend')}"
        + (f"; known to survive {known.name}." if known is not None else "; no known-good run."),
    ]
    if edits:
        lines.append(f"Changed on this page: {_inputs(engine, edits)}.")
    block('<div class="tr-read">' + "".join(f"<p>{safe(pretty(t))}</p>" for t in lines) + "</div>")
    with st.expander("How the files were read"):
        bullets([*run.record, *(in_units(n.text, units) for n in reading.notices)])


def _inputs(engine: object, edits: Edits) -> str:
    labels = [engine.declaration(name).words for name, _ in edits]  # type: ignore[attr-defined]
    return ", ".join(labels)


def short(result: Result) -> None:
    """The answer in a few sentences, worst first."""
    heading("What does it come to?", "short")
    proposal = result.proposal
    told = result.keep(
        ("short", result.chance if proposal is None else result.wish, result.units),
        lambda: (
            assessment_in_short(result.assessment, result.units)
            if proposal is None
            else proposal_in_short(proposal, result.units)
        ),
    )
    left, right = st.columns([3, 2], gap="medium")
    with left:
        block("".join(f'<p class="tr-short">{marked(t)}</p>' for t in told))
    with right:
        before_after(result)


def curve(result: Result) -> None:
    """Curve, table, before and after."""
    a, s = result.assessment, result.sketch
    picture(
        result.picture(
            "curve",
            lambda: gallery.curve_picture(a, result.limited, result.look, result.stamp),
            result.wish,
            s.proved,
        ),
        titled=False,
    )


def limit(result: Result) -> None:
    """The table, and what it changes."""
    table_view(result)
    notices = result.sketch.notices if result.proposal is None else ()
    paragraphs([result.told(n.text) for n in notices])


def room(result: Result) -> None:
    """Least margin by speed."""
    a = result.assessment
    heading(
        "Where is it tight?", "room",
        "Torque to spare before the weakest part, with the range of the simulated engines.",
    )  # fmt: skip
    key_line([state_mark(w) for w in STATES])
    picture(
        result.picture(
            "room",
            lambda: gallery.room_picture(a, result.look, result.stamp, result.chance),
            result.chance,
        ),
        titled=False,
    )


def risk_map(result: Result) -> None:
    """Chance over speed and torque."""
    a, s, look = result.assessment, result.sketch, result.look
    heading(
        "What if it made more, or less?", "map",
        "Share of the simulated engines that pass a strength limit at that speed and torque. The "
        "dotted line is the chance that you accept.",
    )  # fmt: skip
    key_line(
        [
            f'<span class="tr-swatch" style="background:{c}"></span>{safe(n)}'
            for c, n in zip(look.chance, gallery.CHANCE_NAMES, strict=True)
        ]
    )
    picture(
        result.picture(
            "map",
            lambda: gallery.map_picture(a, result.limited, look, result.stamp, result.chance),
            result.wish,
            s.proved,
        ),
        titled=False,
    )
