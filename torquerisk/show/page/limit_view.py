"""The limit table with its proof and downloads, and what it changes."""

import dataclasses
import math

import numpy as np
import streamlit as st

from torquerisk.files.exports import TableColumn, speed_column
from torquerisk.show.documents.assessed import limit_document
from torquerisk.show.documents.json_numbers import document_text
from torquerisk.show.documents.limit_csv import clipboard, limit_csv
from torquerisk.show.page.alone import fold
from torquerisk.show.page.html import block, paragraphs, safe, table
from torquerisk.show.page.result import Result
from torquerisk.show.page.waiting import when_ready
from torquerisk.show.pictures.style import Look, torque_column
from torquerisk.show.report.report import report_html
from torquerisk.show.words import prose
from torquerisk.show.words.limit_columns import BY_KEY, shown_of, table_column
from torquerisk.show.words.limit_table import window_in_words
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import Proposal


def table_view(result: Result) -> None:
    """The table at once; its proof when it is there, and only then the downloads."""
    if not result.proof.done():
        block(table(_sketch_columns(result), "Torque-limit table, at the crank, not yet proved"))
    when_ready(
        result.proof,
        "Being re-assessed with fresh simulated engines; the table can be saved after that.",
        lambda proposal: _proved(result, proposal),
        result.told,
    )


def _sketch_columns(result: Result) -> list[TableColumn]:
    s = result.sketch
    titles = [result.assessment.limits[g].limit.title for g in s.governing]
    return [
        speed_column(s.breakpoints),
        torque_column("torque limit", s.limit, result.look),
        TableColumn(name="power", unit=result.look.power.name, decimals=0,
                    values=[float(v) / result.look.power.size for v in s.limit * s.breakpoints]),
        TableColumn(name="governed by", unit="", values=titles),
    ]  # fmt: skip


def _proved(result: Result, proposal: Proposal) -> None:
    block(table(_columns(proposal, result.look), "Torque-limit table, at the crank"))
    word = "Proved" if proposal.verified else "Not proved"
    told = [f"{word}. {result.told(proposal.verification)}", *window_in_words(proposal)]
    paragraphs([*told, *(result.told(n.text) for n in proposal.notices)])
    name = result.case.engine.name.lower().replace(" ", "-")[:40]
    stem = "".join(c for c in name if c.isalnum() or c == "-") or "engine"
    with st.container(horizontal=True):
        st.download_button(
            "Save table as CSV", lambda: limit_csv(proposal), f"limit-{stem}.csv", "text/csv",
            on_click="ignore", key="save_csv",
        )  # fmt: skip
        st.download_button(
            "Save table as JSON", lambda: document_text(limit_document(proposal)),
            f"limit-{stem}.json", "application/json", on_click="ignore", key="save_json",
        )  # fmt: skip
        st.download_button(
            "Save the report", lambda: report(proposal), f"report-{stem}.html", "text/html",
            on_click="ignore", key="save_report",
        )  # fmt: skip
    saved_in_si(result)
    unit = result.look.torque.name
    fold(
        f"Copy the numbers: engine speed [rpm], limit at the crank [{unit}]", "copy",
        lambda: st.code(clipboard(proposal, result.units), language=None),
    )  # fmt: skip


def saved_in_si(result: Result) -> None:
    """By the buttons that save: which units the files have, where the page shows others."""
    if result.units is not Units.SI:
        st.caption("Saved files stay in SI (N·m, kW), with the units in their headings.")


def report(proposal: Proposal) -> bytes:
    """The printable report of a proved table, with its dips and studs."""
    answers = answers_of(proposal.assessment)
    return report_html(proposal, answers.dips, answers.bench()).encode()


def _columns(proposal: Proposal, look: Look) -> list[TableColumn]:
    rows, draws = proposal.rows, proposal.policy.draws
    shown = dataclasses.replace(shown_of(proposal, look.units), draws=draws)
    decimals = max(0, -math.floor(math.log10(proposal.policy.resolution / look.torque.size)))
    chance = BY_KEY["chance"]
    columns = [
        speed_column([r.speed for r in rows]),
        table_column(rows, "torque_limit_n_m", decimals, shown, "torque limit"),
        table_column(rows, "power_kw", 0, shown),
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
        name = "manifold pressure for it"
        columns.append(table_column(rows, "manifold_pressure_kpa", 0, shown, name))
    return columns


def before_after(result: Result) -> None:
    """What the table changes: two curves in a few figures."""
    s, a, draws = result.sketch, result.assessment, result.wish.policy.draws
    peak, (unit, size) = int(np.argmax(a.torque)), result.look.torque
    area_unit, area = result.look.area

    def of(chance: float) -> str:
        return f"{prose.chance_count(chance, draws)} of {draws:,}"

    before, after = s.before, s.after
    rows = (
        ("peak torque", *(f"{t / size:,.0f} {unit}" for t in (a.torque[peak], s.peak_torque))),
        ("at", prose.speed_in_words(float(a.speed[peak])), prose.speed_in_words(s.peak_speed)),
        ("area under power", f"{before.area / area:,.0f}", f"{after.area / area:,.0f}"),
        ("pass a limit at the hardest speed", of(before.chance_any_max), of(after.chance_any_max)),
        ("pass one somewhere in one pull", of(a.chance_pull), of(s.chance_pull)),
        (f"in {a.policy.pulls:,} pulls", of(a.chance_pulls), of(s.chance_pulls)),
    )
    head = "".join(f'<th scope="col" class="n">{h}</th>' for h in ("measured", "under the limit"))
    body = "".join(
        f'<tr><th scope="row">{safe(n)}</th><td class="n">{safe(b)}</td>'
        f'<td class="n">{safe(c)}</td></tr>'
        for n, b, c in rows
    )
    block(
        '<div class="tr-scroll tr-facts" tabindex="0" role="region" aria-label="Before and after">'
        f"<table><caption>Before and after (area in {area_unit}; counts of simulated engines)"
        f"</caption><thead><tr><td></td>{head}</tr></thead><tbody>{body}</tbody></table></div>"
    )
