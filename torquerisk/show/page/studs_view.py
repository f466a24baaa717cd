"""Which studs would hold it: a torque to hold, three fastenings, the clamp, the bench sheet."""

import math
from concurrent.futures import Future
from dataclasses import replace
from functools import partial

import numpy as np
import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from torquerisk.case.lubricants import LUBRICANTS
from torquerisk.errors import InputError
from torquerisk.quantities import BAR
from torquerisk.show.page.alone import fold
from torquerisk.show.page.draw import picture
from torquerisk.show.page.grid import grid
from torquerisk.show.page.html import (
    block,
    bullets,
    key_line,
    marked,
    paragraphs,
    safe,
    table,
)
from torquerisk.show.page.layout import SIDE_BY_SIDE, state_mark
from torquerisk.show.page.result import Result, file_stem
from torquerisk.show.page.sheet import printed_sheet
from torquerisk.show.page.units_in import torque_box
from torquerisk.show.page.waiting import say, when_ready
from torquerisk.show.pictures import gallery
from torquerisk.show.pictures.joint import choice_columns, choice_name
from torquerisk.show.pictures.order import order_image
from torquerisk.show.pictures.style import Look
from torquerisk.show.report.report import sheet_html
from torquerisk.show.text.studs import worth_showing
from torquerisk.show.words import lubricants
from torquerisk.show.words.columns import Shown, chosen, worded
from torquerisk.show.words.lubricants import oil_sources, oils_title
from torquerisk.show.words.own_studs import own_in_words
from torquerisk.show.words.prose import (
    chance_count,
    force_in_words,
    torque_in_words,
    torque_unit,
)
from torquerisk.show.words.sealing_ring import (
    KIND,
    KIND_COLUMNS,
    bending_in_words,
    fastener_sentences,
    kinds,
    kinds_title,
    ring_sentences,
)
from torquerisk.show.words.stud_findings import findings, lifted
from torquerisk.show.words.target_sheet import STATE_WORDS, TargetSheet, target_sheet
from torquerisk.study.answers.results import (
    OWN,
    STRENGTHS,
    OwnStuds,
    StudBench,
    StudChoice,
    TighteningMethod,
)

HEIGHT = 340


def studs(result: Result) -> None:
    """The view; what is chosen here redraws only this."""
    st.fragment(_studs)(result)


def target(result: Result) -> float:
    """The torque to hold [N*m]."""
    peak = float(result.assessment.torque.max())
    return torque_box("Hold, as the peak of the same curve", 0.3 * peak, 1.5 * peak, peak, "hold",
                      result.units)  # fmt: skip


def _studs(result: Result) -> None:
    peak = float(result.assessment.torque.max())
    told = st.container()
    places = st.columns(SIDE_BY_SIDE, gap="medium")
    with places[1]:
        asked = target(result)
    exact = None if abs(asked - peak) < 0.5 * result.look.torque.size else asked
    when_ready(
        bench_of(result, exact),
        "Trying fastenings on the simulated engines.",
        lambda bench: _bench(result, bench, told, *places),
        result.told,
    )


def bench_of(result: Result, target: float | None = None) -> Future[StudBench]:
    """The bench, under way or at hand. target: torque to hold [N*m]; None: what was measured."""
    return result.slow("bench", (target, result.chance), lambda: result.answers.bench(target))


def _bench(
    result: Result, bench: StudBench, told: DeltaGenerator, left: DeltaGenerator,
    right: DeltaGenerator,
) -> None:  # fmt: skip
    """The answer; the picture beside what is chosen; the rest in folds under both."""
    every = (bench.present, *bench.choices)
    with told:
        after = "" if bench.mildest is not None else " No fastening tried here holds it."
        other = "" if bench.other_part is None else f" {result.told(bench.other_part.words)}"
        seen = " ".join(result.told(t) for t in (bench.findings[0], *lifted(bench)))
        short = marked(seen + after + other)
        block(f'<p class="tr-short">{short}</p>')
    key = f"fastening_{result.tag}_{bench.target_torque:.1f}_{result.chance:g}"
    best = bench.mildest
    first = every.index(best) if best is not None else 0
    st.session_state.setdefault(key, first)
    names = [choice_name(bench, c, result.units) for c in every]
    with right:
        _cards(result, bench, every, key)
        # A list of its own in each unit: the browser keeps the words of what was chosen.
        box = f"{key}_{result.units.value}"
        st.session_state[box] = st.session_state[key]
        chosen = st.selectbox(
            "Looked at", range(len(every)), format_func=lambda k: names[k], key=box,
            on_change=lambda: _look(key, st.session_state[box]),
        )  # fmt: skip
        choice = every[chosen]
        sheet = target_sheet(bench, choice, result.units)
        st.download_button(
            "Bench sheet, to print", lambda: printed_sheet(sheet),
            f"bench-{file_stem(result)}.html", "text/html", on_click="ignore", key="save_sheet",
        )  # fmt: skip
    about = (bench.target_torque, chosen)
    look, stamp = result.look, result.stamp
    with left:
        clamp = result.picture(
            "clamp", lambda: gallery.clamp_picture(bench, choice, look, stamp), about
        )
        picture(clamp, height=HEIGHT)
        fold("The bench sheet here", "sheet", lambda: _sheet(sheet, result.look))
        fold("My own studs", "own_studs", lambda: _own_studs(result, bench))
        fold("If the lubricant changes", "oils", lambda: _oils(bench, result))
        fold("Why, and what it takes for granted", "findings",
             lambda: _findings(result, bench, choice))  # fmt: skip
    fold(f"All {len(bench.choices)} choices", "choices", lambda: _choices(result, bench, every))
    fold("What firing leaves on the sealing ring", "ring",
         lambda: _ring(result, bench, choice, about))  # fmt: skip
    fold("What one firing does to the joint", "joint",
         lambda: _joint(result, bench, choice, about))  # fmt: skip


def _sheet(sheet: TargetSheet, look: Look) -> None:
    order = None if sheet.order is None else order_image(sheet.order, look.ink)
    block(sheet_html(sheet, order))


def _cards(result: Result, bench: StudBench, every: tuple[StudChoice, ...], key: str) -> None:
    """The mildest change, the mildest and longest that last, the one without a yield tool."""
    cards: dict[int, list[str]] = {}
    for name, choice in (
        (_mild(bench, bench.mildest_new), bench.mildest_new),
        (_mild(bench, bench.mildest), bench.mildest),
        *([] if bench.present.holds_aged else [("Lasts longest", bench.longest_lasting)]),
        ("No yield tool needed", bench.without_yield_tool),
    ):
        if choice is not None:
            names = cards.setdefault(every.index(choice), [])
            if name not in names:
                names.append(name)
    if not cards:
        holds_most = max(every, key=lambda c: c.torque_held)
        held = torque_in_words(holds_most.torque_held, result.units)
        cards = {every.index(holds_most): [f"None holds it; the most is {held}"]}
    with st.container(gap="small", key="cards"):
        for k, named in cards.items():
            with st.container(border=True, gap="xxsmall", key=f"card_{k}"):
                block(_card(result, bench, every[k], named))
                st.button("Look at it", key=f"look_{k}", on_click=partial(_look, key, k))


def _mild(bench: StudBench, choice: StudChoice | None) -> str:
    """What the card of the mildest is called."""
    if choice is None or choice is bench.present:
        return "As it stands"
    if choice.close:
        return "Mildest change, too close to call"
    return "Mildest change that lasts" if choice.holds_aged else "Mildest change, new only"


def _look(key: str, k: int) -> None:
    st.session_state[key] = k


def _card(result: Result, bench: StudBench, choice: StudChoice, named: list[str]) -> str:
    draws = len(bench.present.pressure_held)
    clamp, needed = (
        force_in_words(force, result.units)
        for force in (choice.clamp.p50, bench.required_clamp_per_fastener)
    )
    title = f"{named[0]}{''.join(f', {n[0].lower()}{n[1:]}' for n in named[1:])}"
    return (
        f'<p class="tr-card"><small>{safe(title)}</small>'
        f"<b>{safe(choice_name(bench, choice, result.units))}</b>"
        f"<span>{safe(choice.fastening.change.words)}</span>"
        f"<span>clamp {safe(clamp)}, needed {safe(needed)}</span>"
        f"<span>lifts aged in {chance_count(choice.lift_chance_aged, draws)} of {draws:,}</span>"
        "</p>"
    )


def _own_studs(result: Result, bench: StudBench) -> None:
    """Studs that somebody has in mind, judged like the others."""
    unit, size = torque_unit(result.units)
    tag = f"{result.tag}_{unit}"
    with st.form(f"own_studs_{tag}"), st.container(horizontal=True, gap="small"):
        now = bench.present.fastening.thread.designation
        thread = st.text_input("Thread in the block", now, width=180, max_chars=20)
        strength, oil = (
            st.selectbox(label, [OWN, *known], width=200,
                         format_func=lambda o: "as it is now" if o == OWN else o)
            for label, known in (("Strength", STRENGTHS), ("Lubricant", LUBRICANTS))
        )  # fmt: skip
        by = st.selectbox("Tightened by", ["torque", "angle", "yield"], width=180)
        low, high = 1.0, round(1000.0 / size)
        torque = st.number_input(f"Torque [{unit}], or usual", low, float(high), None, 5.0,
                                 width=200)  # fmt: skip
        angle = st.number_input("Angle after it [°], or usual", 1.0, 360.0, None, 5.0, width=200)
        sent = st.form_submit_button("Judge them", type="primary")
    if sent:
        st.session_state[f"own_{tag}"] = OwnStuds(
            thread=thread, strength=strength, lubricant=oil, method=TighteningMethod(by),
            torque=None if torque is None else torque * size,
            angle=math.radians(angle) if angle is not None and by == "angle" else None,
        )  # fmt: skip
    own: OwnStuds | None = st.session_state.get(f"own_{tag}")
    if own is None:
        return
    try:
        usual = result.answers.own_studs(bench, replace(own, torque=None, angle=None))
        choice = result.answers.own_studs(bench, own)
    except InputError as error:
        say(result.told(error.sentence))
        return
    told = " ".join(own_in_words(bench, choice, usual, result.units))
    block(f'<p class="tr-text">{marked(told)}</p>')
    block(_card(result, bench, choice, ["My own studs"]))
    sheet = target_sheet(bench, choice, result.units)
    st.download_button(
        "Their bench sheet, to print", lambda: printed_sheet(sheet), "bench-own-studs.html",
        "text/html", on_click="ignore", key="save_own_sheet",
    )  # fmt: skip


def _findings(result: Result, bench: StudBench, choice: StudChoice) -> None:
    paragraphs([result.told(t) for t in findings(bench)])
    bullets([*(result.told(n.text) for n in bench.notices), *choice.cautions])


def _choices(result: Result, bench: StudBench, every: tuple[StudChoice, ...]) -> None:
    key_line([state_mark(word) for word in STATE_WORDS.values()])
    picture(
        result.picture(
            "choices",
            lambda: gallery.choices_picture(
                bench, [bench.present, *worth_showing(bench.choices)], result.look, result.stamp
            ),
            bench.target_torque,
        ),
        numbers=False,
    )
    grid(choice_columns(bench, every, result.units), "Fastenings, the mildest change first",
         "fastenings")  # fmt: skip


def _ring(result: Result, bench: StudBench, choice: StudChoice, about: tuple[float, int]) -> None:
    """What firing leaves on the sealing ring with the chosen fastening."""
    ring = result.answers.ring_with(bench, choice)
    draws = bench.assessment.model.draws.count
    name = choice_name(bench, choice, result.units)
    picture(
        result.picture(
            "ring",
            lambda: gallery.ring_picture(ring, name, draws, result.look, result.stamp),
            about,
        ),
        key="fig_ring",
    )
    material = choice.engine.word("head_joint.head_material")
    loads = result.answers.fastener_with(bench, choice)
    paragraphs([*ring_sentences(ring, draws)])
    columns = chosen(KIND_COLUMNS, ("marked", "cylinders", *KIND))
    block(table(worded(columns, kinds(ring), Shown(draws=draws)), kinds_title(ring)))
    paragraphs([bending_in_words(ring), *fastener_sentences(loads, material, result.units)])


def _joint(result: Result, bench: StudBench, choice: StudChoice, about: tuple[float, int]) -> None:
    """What one firing does to the chosen joint."""
    worst = float(np.median(bench.ask.worst[bench.worst]))
    most = round(1.3 * float(np.quantile(choice.head.lift_pressure(), 0.95)) / BAR)
    start = int(min(max(round(worst / BAR), 0), most))
    fire = st.slider(
        "Firing pressure in the cylinder [bar]", 0, most, start, 1,
        key=f"fire_{result.tag}_{about[0]:.0f}_{about[1]}",
    )  # fmt: skip
    picture(
        result.picture(
            "joint",
            lambda: gallery.joint_picture(
                result.answers.firing_with(choice, fire * BAR), result.look, result.stamp
            ),
            about, fire,
        )
    )  # fmt: skip


def _oils(bench: StudBench, result: Result) -> None:
    """What changes when the lubricant does."""
    columns = chosen(lubricants.COLUMNS, lubricants.ROW)
    shown = Shown(units=result.units)
    block(table(worded(columns, bench.oils, shown), oils_title(bench, result.units)))
    paragraphs([oil_sources()])
