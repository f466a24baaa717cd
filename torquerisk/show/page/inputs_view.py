"""What went in and what was assumed: how files were read, inputs by group, what would help most."""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import streamlit as st

from torquerisk.case import CAUTIONS, COMPRESSION_ONLY, Declaration, Engine
from torquerisk.errors import InputError
from torquerisk.files.exports import TableColumn
from torquerisk.quantities import RPM
from torquerisk.show.page import survived_in
from torquerisk.show.page.alone import fold
from torquerisk.show.page.as_read import as_read
from torquerisk.show.page.desk import Desk, Sample, change, keep, put
from torquerisk.show.page.draw import picture
from torquerisk.show.page.html import block, bullets, paragraphs, pretty, safe, table
from torquerisk.show.page.inputs import (
    TITLES,
    every_declaration,
    in_a_line,
    pretty_unit,
    section_of,
    widget,
)
from torquerisk.show.page.result import Result
from torquerisk.show.page.waiting import say, when_ready
from torquerisk.show.pictures import gallery
from torquerisk.show.words.drivers import measures_in_words, next_in_words, subject_in_words
from torquerisk.show.words.notices import not_assessed_in_words
from torquerisk.show.words.prose import in_units, percent, rounded, speed_in_words
from torquerisk.study.answers.edits import as_loaded, edited, reading_of
from torquerisk.study.answers.results import Sensitivity

Named = Sequence[tuple[str, Declaration]]
"""Inputs by name, with what is declared of them."""
MOST_DRIVERS = 8
MOST_MEASURES, FIRST_MEASURES = 4, 2
SAID_ELSEWHERE = ("assumed", "not-assessed", "coolant-pressure")


def inputs(result: Result) -> None:
    """The view: what went in on the left, what would help most beside it."""
    left, right = st.columns([3, 2], gap="large")
    with left:
        _read(result)
        _given(result)
    with right:
        block('<h3 class="tr-fig">What should I measure next?</h3>')
        _measure_next(result)


def _given(result: Result) -> None:
    """Inputs by group, and what was assumed."""
    engine = as_loaded(result.case.engine, result.case.run)
    shown = result.engine
    left_out = ("fuel.octane",) if engine.compression_ignition else COMPRESSION_ONLY
    paragraphs(["Grey stands in for what was not given."], "tr-lead")
    for section, title in TITLES.items():
        names = [
            (n, d) for n, d in every_declaration() if section_of(n) == section and n not in left_out
        ]
        fold(
            f"**{title}:** {in_a_line(shown, names, result.units)}", f"in_{section or 'engine'}",
            partial(_group, result, engine, section, names),
        )  # fmt: skip
    fold(f"**Survived:** {survived_in.in_a_line(result.case.engine.survived)}", "survived",
         lambda: survived_in.survived(result))  # fmt: skip
    s = result.desk.sample
    fold(f"**Simulated:** {s.draws:,} engines, {s.pulls:,} pulls", "sample",
         lambda: _sample(result.desk))  # fmt: skip
    assumed = result.answers.assumed_by_share
    fold(f"Assumed: {len(assumed)} inputs that were not given", "assumed",
         lambda: block(_assumed_table(result, assumed)))  # fmt: skip
    fold("What to mind", "notices", lambda: _notices(result))
    fold("Cautions", "cautions", lambda: bullets(CAUTIONS))


def _read(result: Result) -> None:
    """What was read of the files."""
    engine, run = edited(result.case.engine, result.case.run, result.desk.edits)
    reading = reading_of(engine, run)
    low, high = run.speed[0] / RPM, run.speed[-1] / RPM
    logged = ", ".join(name.replace("_", " ").strip() for name in run.channels)
    steps = "; ".join(in_units(step, result.units) for step in reading.steps)
    known = engine.known_good.curve
    lines = [
        f"Run {run.name}: {len(run.speed)} rows, {low:,.0f} to {high:,.0f} rpm; "
        f"{steps}. Logged beside torque: {logged or 'nothing'}.",
        f"Engine {engine.name}: {engine.cylinders} cylinders, bore {engine.bore * 1e3:g} mm, "
        f"stroke {engine.stroke * 1e3:g} mm, {_displaced(engine)}, "
        f"{engine.word('fuel.blend')}"
        + (f"; known to survive {known.name}." if known is not None else "; no known-good run."),
    ]
    if result.desk.edits:
        changed = ", ".join(engine.declaration(name).words for name, _ in result.desk.edits)
        lines.append(f"Changed on this page: {changed}.")
    block('<div class="tr-read">' + "".join(f"<p>{safe(pretty(t))}</p>" for t in lines) + "</div>")
    told = [*run.record, *(in_units(n.text, result.units) for n in reading.notices)]
    fold("How the files were read", "read", lambda: _how_read(result, told))


def _displaced(engine: Engine) -> str:
    """What the engine displaces, and that this is not what is stated, where it is not."""
    told, stated = f"{engine.swept_volume_total * 1e6:,.0f} cm³", engine.displacement
    if stated is None or f"{stated * 1e6:,.0f} cm³" == told:
        return told
    return f"{told} by bore and stroke ({stated * 1e6:,.0f} cm³ are stated and not used)"


def _how_read(result: Result, told: Sequence[str]) -> None:
    """Every decision, and the columns to change by hand."""
    bullets(told)
    desk = result.desk
    case = as_read(desk.source, "inputs")
    changed = case is not None and case.source.digest != desk.source.digest
    if case is not None and changed and st.button("Work it out", type="primary", key="reread"):
        put(replace(desk, source=replace(case.source, name=""), before=keep(desk)))
        st.rerun()


def _group(result: Result, engine: Engine, section: str, names: Named) -> None:
    """One group as a form. engine: as loaded, what edits are told from."""
    desk = result.desk
    old = dict(desk.edits)
    edits = dict(old)
    now = engine
    try:
        now = engine.with_values(old)
    except InputError as error:
        say(str(error))
    with st.form(f"form_{section}_{desk.name}", border=False):
        with st.container(horizontal=True, gap="small"):
            for name, declaration in names:
                with st.container(width=280):
                    value = widget(
                        now, name, declaration, old.get(name, engine.given(name)),
                        f"in_{name}_{desk.name}_{result.units.value}", result.units,
                    )  # fmt: skip
                if value != engine.given(name):
                    edits[name] = value
                else:
                    edits.pop(name, None)
        sent = st.form_submit_button("Work it out", type="primary")
    if sent:
        try:
            edited(result.case.engine, result.case.run, tuple(sorted(edits.items())))
        except InputError as error:
            say(str(error))
            return
        change(desk, tuple(sorted(edits.items())), desk.sample)
        st.rerun()


def _sample(desk: Desk) -> None:
    s = desk.sample
    with st.form(f"form_sample_{desk.name}", border=False):
        draws = st.number_input("Simulated engines (64 to 65,536)", 64, 65536, s.draws, step=64)
        seed = st.number_input("Seed (0 to 2,147,483,647)", 0, 2**31 - 1, s.seed)
        pulls = st.number_input("Pulls that the tune must last (1 to 100,000)", 1, 100_000, s.pulls)
        abnormal = st.checkbox("Count knock and pre-ignition in the chance", s.abnormal)
        sent = st.form_submit_button("Work it out", type="primary")
    if sent:
        asked = Sample(draws=int(draws), seed=int(seed), pulls=int(pulls), abnormal=abnormal)
        change(desk, desk.edits, asked)
        st.rerun()


def _notices(result: Result) -> None:
    a = result.assessment
    bullets([result.told(n.text) for n in a.notices if n.code not in SAID_ELSEWHERE])
    left = not_assessed_in_words(a, by_label=True)
    paragraphs([left] if left else [])


def _measure_next(result: Result) -> None:
    """What to measure next, and what drives the torque that limits allow where it is tightest."""
    when_ready(
        result.slow("sensitivity", result.chance, lambda: result.answers.sensitivity),
        "Looking at what drives the answer.",
        lambda found: _drivers(result, found),
        result.told,
    )


def _drivers(result: Result, found: Sensitivity) -> None:
    told = measures_in_words(found, MOST_MEASURES, result.units)
    paragraphs([next_in_words(found, result.units)])
    bullets(told[:FIRST_MEASURES])
    fold("What else, and why", "drivers", lambda: _shares(result, found, told))


def _shares(result: Result, found: Sensitivity, told: Sequence[str]) -> None:
    """What else to measure, and which inputs the range of the torque follows."""
    place = speed_in_words(found.speed)
    bullets(told[FIRST_MEASURES:])
    paragraphs([f"What the range of {subject_in_words(result.assessment, found)} follows."],
               "tr-lead")  # fmt: skip
    shown = [s for s in found.shares if s.resolved][:MOST_DRIVERS]
    if not shown:
        paragraphs(["No single input's share can be told from noise."])
        return
    picture(
        result.picture(
            "drivers",
            lambda: gallery.drivers_picture(
                shown, f"the torque that limits allow at {place}", result.look, result.stamp
            ),
        )
    )
    paragraphs(
        [
            f"Each bar: share of the spread that follows one input alone; {percent(found.rest)} "
            "follows none alone. Open rings are assumed so far."
        ],
        "tr-lead",
    )


def _assumed_table(result: Result, names: tuple[str, ...]) -> str:
    engine = result.assessment.engine
    rows = []
    for name in names:
        declaration = engine.declaration(name)
        if declaration.kind is None:
            rows.append((declaration.label, engine.word(name), "", declaration.reason))
            continue
        used, kind = engine.value(name), declaration.kind
        sd, unit = used.sd / kind.shown_size, pretty_unit(kind.shown_unit)
        value, spread = pretty(declaration.in_words(used.value)), "none"
        if sd:
            value = f"{rounded(kind.shown(used.value), sd)} {unit}".strip()
            spread = f"± {rounded(2 * sd, 2 * sd)} {unit.replace('°C', 'K')}".strip()
        rows.append((declaration.label, value, spread, declaration.reason))
    return table(
        [
            TableColumn(name="input", unit="", values=[r[0] for r in rows]),
            TableColumn(name="assumed", unit="", values=[r[1] for r in rows]),
            TableColumn(name="two standard deviations", unit="", values=[r[2] for r in rows]),
            TableColumn(name="why", unit="", values=[r[3] for r in rows]),
        ],
        "Assumed inputs; give one above to narrow the answer",
        "tr-prose",
    )
