"""What stands behind the limit: why, every column, what caution costs, other torques and fuels."""

import math

import streamlit as st

from torquerisk.errors import InputError
from torquerisk.files.exports import TableColumn, speed_column
from torquerisk.files.lists import parse_quantities
from torquerisk.quantities import RPM
from torquerisk.show.documents.assessed import limit_document
from torquerisk.show.documents.json_numbers import document_text
from torquerisk.show.documents.marked_table import marked_name, reasons_of_2d
from torquerisk.show.page.alone import fold
from torquerisk.show.page.ceilings_view import ceilings
from torquerisk.show.page.draw import picture
from torquerisk.show.page.html import (
    block,
    bullets,
    key_line,
    marked,
    paragraphs,
    safe,
    shown,
    table,
)
from torquerisk.show.page.layout import STATES, state_mark
from torquerisk.show.page.own_table import Table, judgement
from torquerisk.show.page.policy_in import first_wish
from torquerisk.show.page.result import Result, Tabled, file_stem
from torquerisk.show.page.waiting import PROVING, say, when_ready
from torquerisk.show.pictures import gallery
from torquerisk.show.pictures.style import Look
from torquerisk.show.report.report import report_html
from torquerisk.show.text.two_axes import checked_in_words, table_2d_csv
from torquerisk.show.words import before_after, by_speed
from torquerisk.show.words.columns import chosen, fitted
from torquerisk.show.words.in_short import assessment_in_short
from torquerisk.show.words.limit_columns import (
    BY_KEY,
    decimals_of,
    shown_of,
    starred,
    table_column,
    titles_of,
)
from torquerisk.show.words.limit_table import (
    axis_values,
    carries_in_words,
    frontier_in_words,
    window_in_words,
)
from torquerisk.show.words.prose import Units, torque_unit
from torquerisk.show.words.table_in_short import proposal_in_short
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import AXES, JudgedTable, Proposal, Table2D, axis_named


def more(result: Tabled, own: Table | None) -> None:
    """Folds under the view."""
    if own is not None:
        fold("Your table by engine speed", "judged", lambda: _judged(result, own))
    fold("Why, and how sure", "why", lambda: _why(result))
    fold("More columns: power, chance, knock, phasing", "columns", lambda: _all_columns(result))
    fold("What stops it first, and what next?", "ceilings", lambda: ceilings(result))
    fold("What does caution cost?", "cost", lambda: _cost(result))
    fold("What if it made more, or less?", "map", lambda: _map(result))
    fold("What if fuel, heat or gear change?", "axis", lambda: _axis(result))


def _judged(result: Tabled, own: Table) -> None:
    def draw(judged: JudgedTable) -> None:
        key_line([state_mark(w) for w in STATES])
        one = result.picture(
            "judged", lambda: gallery.judged_picture(judged, result.look, result.stamp),
            result.wish, own,
        )  # fmt: skip
        picture(one, key="fig_judged")

    when_ready(judgement(result, own), "Judging your table.", draw, result.told)


def _why(result: Tabled) -> None:
    """The answer in a few sentences, worst first, and where least is to spare."""
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
        block("".join(f'<p class="tr-text">{marked(t)}</p>' for t in told))
    with right:
        _before_after(result)
    a = result.assessment
    key_line([state_mark(w) for w in STATES])
    picture(
        result.picture(
            "room", lambda: gallery.room_picture(a, result.look, result.stamp, result.chance)
        )
    )


def _all_columns(result: Tabled) -> None:
    when_ready(result.proof, PROVING,
               lambda proposal: _columns_and_files(result, proposal), result.told)  # fmt: skip


def _columns_and_files(result: Tabled, proposal: Proposal) -> None:
    block(table(_columns(proposal, result.look), "Torque-limit table, at the crank"))
    told = [f"CA50 not before: the earliest that {carries_in_words(proposal)}."]
    told += [*window_in_words(proposal), *(result.told(n.text) for n in proposal.notices)]
    paragraphs(told)
    st.download_button(
        "Save as JSON, in SI units", lambda: document_text(limit_document(proposal)),
        f"limit-{file_stem(result)}.json", "application/json", on_click="ignore", key="save_json",
    )  # fmt: skip


def report_now(result: Result) -> bytes:
    """The printable report of the table last asked for, with its dips and studs."""
    key, wish = st.session_state.get("wish", (None, None))
    proposal = result.answers.proposal(wish if key == result.key else first_wish(result))
    answers = answers_of(proposal.assessment)
    return report_html(proposal, answers.dips, answers.bench()).encode()


def _columns(proposal: Proposal, look: Look) -> list[TableColumn]:
    rows, shown = proposal.rows, shown_of(proposal, look.units)
    draws = shown.draws
    decimals = max(0, -math.floor(math.log10(proposal.policy.step / look.torque.size)))
    chance = BY_KEY["chance"]
    columns = [
        speed_column([r.speed for r in rows]),
        table_column(rows, "torque_limit_n_m", decimals, shown, "torque limit"),
        table_column(rows, "power_kw", fitted([BY_KEY["power_kw"]], rows)[0].decimals, shown),
        table_column(rows, "governing", None, shown),
        table_column(rows, "held_by", None, shown),
        TableColumn(name=f"pass a limit, of {draws:,}", unit="",
                    values=[chance.in_words(r, shown) or None for r in rows]),
        TableColumn(name=f"knock, of {draws:,}", unit="",
                    values=[BY_KEY["knock_chance"].in_words(r, shown) or None for r in rows]),
        table_column(rows, "ca50_deg", 1, shown),
        table_column(rows, "ca50_not_before_deg", 1, shown),
    ]  # fmt: skip
    if any(r.manifold_pressure is not None for r in rows):
        columns.append(TableColumn(
            name="manifold pressure for it", unit="kPa abs; *: too far from the run to be trusted",
            values=[None if r.pressure is None else starred(r.pressure) for r in rows],
        ))  # fmt: skip
        decimals = 0 if look.units is Units.SI else 1
        columns.append(table_column(rows, "boost", decimals, shown, "as boost"))
    return columns


def _before_after(result: Tabled) -> None:
    """What the table changes: two curves in a few figures."""
    keys = ("torque", "speed", "area_shown", *before_after.CHANCES)
    curves = before_after.curves(result.sketch)
    shown = by_speed.shown_of(result.assessment, result.units)
    rows = []
    for column in chosen(before_after.COLUMNS, keys):
        name, unit = column.named(shown)
        rows.append((name, *(f"{column.in_words(c, shown)} {unit}".rstrip() for c in curves)))
    caption = f"Before and after (area in {result.look.area.name}; counts of simulated engines)"
    head = "".join(f'<th scope="col" class="n">{c.name}</th>' for c in curves)
    body = "".join(
        f'<tr><th scope="row">{safe(n)}</th><td class="n">{safe(b)}</td>'
        f'<td class="n">{safe(c)}</td></tr>'
        for n, b, c in rows
    )
    block(
        '<div class="tr-scroll tr-facts" tabindex="0" role="region" aria-label="Before and after">'
        f"<table><caption>{caption}</caption><thead><tr><td></td>{head}</tr></thead><tbody>{body}</tbody></table></div>"
    )


def _cost(result: Tabled) -> None:
    """The trade-off about the proved table."""
    paragraphs(
        [
            "The same engines and rules with another accepted chance, or another earliest peak. "
            "Diamond: what you chose. Open ring: fewer than four simulated engines. The upright "
            "axis does not start at zero."
        ],
        "tr-lead",
    )
    when_ready(
        result.proof, "Waiting for the table's proof; the trade-off follows from it.",
        lambda proposal: _trade_off(result, proposal), result.told,
    )  # fmt: skip


def _trade_off(result: Tabled, proposal: Proposal) -> None:
    try:
        found = result.answers.trade_off(proposal)
    except (ArithmeticError, InputError) as error:
        why = result.told(error.sentence) if isinstance(error, InputError) else str(error)
        say(f"The trade-off could not be made: {why}")
        return
    draws = proposal.finer.model.every.count
    look, stamp, wish = result.look, result.stamp, result.wish
    left, right = st.columns(2, gap="medium")
    with left:
        picture(
            result.picture(
                "by_chance", lambda: gallery.by_chance_picture(found, draws, look, stamp), wish
            )
        )
    with right:
        picture(
            result.picture(
                "by_peak", lambda: gallery.by_peak_picture(found, draws, look, stamp), wish
            )
        )
    bullets([result.told(t) for t in frontier_in_words(found, result.units)])


def _axis(result: Tabled) -> None:
    diesel = result.engine.compression_ignition
    choices = [a.name for a in AXES if not (diesel and a.spark_only)]
    if st.session_state.get("axis") not in (None, *choices):
        del st.session_state["axis"]
    with st.container(horizontal=True, gap="medium", vertical_alignment="bottom"):
        along = axis_named(
            st.selectbox(
                "What changes", choices, key="axis", width=250,
                format_func=lambda name: axis_named(name).title,
            )
        )  # fmt: skip
        text = st.text_input(
            f"Values, the last with its unit, such as {along.first_values}", along.first_values,
            key=f"axis_values_{along.name.replace(' ', '_')}", width=420, max_chars=400,
        )  # fmt: skip
        pressed = st.button("Work out the table", key="axis_go")
    try:
        values = parse_quantities(text, along.kind, "the list of values")
        rising = result.answers.axis_values(along, values)
    except InputError as error:
        say(str(error))
        return
    wish = result.wish
    asked = (along, rising, result.key, wish)
    if pressed:
        st.session_state["axis_asked"] = asked
    before = st.session_state.get("axis_asked")
    if before != asked:
        if before is not None:
            paragraphs(["Something changed since the last table: press the button for a new one."])
        return
    try:
        with st.spinner("Shaping and assessing every column anew", show_time=True):
            made = result.answers.table_2d(along, rising, wish)
    except InputError as error:
        say(result.told(error.sentence))
        return
    _table_2d(result, made)


def _table_2d(result: Result, made: Table2D) -> None:
    block(cells_table(made, result.units))
    first, *rest = checked_in_words(made)
    word = "Proved" if made.verified else "Not proved"
    told = [f"{word}. {first}", *rest, *made.held, *(n.text for n in made.notices)]
    paragraphs([result.told(t) for t in told])
    stem = made.axis.name.replace(" ", "-")
    st.download_button(
        "Save this table as CSV", table_2d_csv(made),
        marked_name(f"limit-over-{stem}.csv", reasons_of_2d(made)), "text/csv",
        on_click="ignore", key="save_axis",
    )  # fmt: skip


def cells_table(made: Table2D, units: Units = Units.SI) -> str:
    """The table as HTML: a limit in every cell, and under it what governs there."""
    titles = titles_of(made.assessment)
    unit, size = torque_unit(units)
    decimals = decimals_of(made.policy.step) if units is Units.SI else 1
    heads = "".join(
        f'<th scope="col" class="n">{safe(head)}{"" if column.verified else "<br>not proved"}</th>'
        for head, column in zip(axis_values(made.axis, made.values), made.columns, strict=True)
    )
    rows = "".join(
        f'<tr><th scope="row" class="n">{safe(shown(float(speed) / RPM, 0))}</th>'
        + "".join(
            f'<td class="n">{safe(shown(float(c.shape.limit[r]) / size, decimals))}'
            f"<small>{safe(titles[c.governing[r]].lower())}</small></td>"
            for c in made.columns
        )
        + "</tr>"
        for r, speed in enumerate(made.breakpoints)
    )
    caption = (
        f"Torque limit in {unit} at the crank over engine speed and {made.axis.title}; under each "
        "limit the part that governs it"
    )
    return (
        '<div class="tr-scroll tr-facts tr-cells" tabindex="0" role="region" '
        f'aria-label="{safe(caption)}"><table><caption>{safe(caption)}</caption><thead><tr>'
        '<th scope="col" class="n">engine speed <span class="u">[rpm]</span></th>'
        f"{heads}</tr></thead><tbody>{rows}</tbody></table></div>"
    )


def _map(result: Tabled) -> None:
    """Chance over speed and torque."""
    a, look = result.assessment, result.look
    paragraphs(
        [
            "Share of the simulated engines that pass a strength limit at that speed and torque. "
            "The dotted line is the chance that you accept."
        ],
        "tr-lead",
    )
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
            isinstance(result.sketch, Proposal),
        ),
        titled=False,
    )
