"""Around the limit table: what caution costs, and a table over a second axis."""

import streamlit as st

from torquerisk.errors import InputError
from torquerisk.files.lists import parse_quantities
from torquerisk.quantities import RPM
from torquerisk.show.page.alone import alone
from torquerisk.show.page.draw import picture
from torquerisk.show.page.html import (
    block,
    bullets,
    heading,
    paragraphs,
    safe,
    shown,
)
from torquerisk.show.page.limit_view import saved_in_si
from torquerisk.show.page.result import Result
from torquerisk.show.page.waiting import say, when_ready
from torquerisk.show.pictures import gallery
from torquerisk.show.text.two_axes import checked_in_words, table_2d_csv
from torquerisk.show.words.limit_columns import decimals_of, titles_of
from torquerisk.show.words.limit_table import axis_values, frontier_in_words
from torquerisk.show.words.prose import Units, torque_unit
from torquerisk.study.answers.results import AXES, Proposal, Table2D, axis_named


def cost(result: Result) -> None:
    """The trade-off about the proved table."""
    heading(
        "What does caution cost?", "cost",
        "The same engines and rules with another accepted chance, or another earliest peak. "
        "Diamond: what you chose. Open ring: fewer than four simulated engines. The upright axis "
        "does not start at zero.",
    )  # fmt: skip
    proof = result.proof
    failed = proof.done() and not proof.cancelled() and proof.exception() is not None
    if failed and isinstance(proof.exception(), InputError):
        paragraphs(["There is no table to start from; what stands in its place says why."])
        return
    when_ready(
        proof, "Waiting for the table's proof; the trade-off follows from it.",
        lambda proposal: _cost(result, proposal), result.told,
    )  # fmt: skip


def _cost(result: Result, proposal: Proposal) -> None:
    try:
        found = result.answers.trade_off(proposal)
    except (ArithmeticError, InputError) as error:
        why = result.told(error.sentence) if isinstance(error, InputError) else str(error)
        say(f"The trade-off could not be made: {why}")
        return
    draws = proposal.finer.model.draws.count
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


def axis(result: Result) -> None:
    """A table over speed and one thing more."""
    heading(
        "What if fuel, heat or gear change?", "axis",
        "A limit for every speed and every value of one thing more, with the part that governs "
        "each cell. Every column is assessed anew, which takes some seconds.",
    )  # fmt: skip
    alone(_axis)(result)


def _axis(result: Result) -> None:
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
        "Save this table as CSV", table_2d_csv(made), f"limit-over-{stem}.csv", "text/csv",
        on_click="ignore", key="save_axis",
    )  # fmt: skip
    saved_in_si(result)


def cells_table(made: Table2D, units: Units = Units.SI) -> str:
    """The table as HTML: a limit in every cell, and under it what governs there."""
    titles = titles_of(made.assessment)
    unit, size = torque_unit(units)
    decimals = decimals_of(made.policy.resolution) if units is Units.SI else 1
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
