"""The limit table with its proof and downloads, and what it changes."""

import math

import numpy as np
import streamlit as st

from torquerisk.files.exports import TableColumn, to_json
from torquerisk.show.documents import limit_document
from torquerisk.show.limit_csv import limit_csv
from torquerisk.show.page.html import block, paragraphs, safe, table
from torquerisk.show.page.result import Result
from torquerisk.study.propose import Proposal

RPM = math.pi / 30


def table_view(result: Result) -> None:
    """The table at once; its proof when it is there, and only then the downloads."""
    if result.proof.done():
        _proved(result)
    else:
        st.fragment(_waiting, run_every=0.5)(result)


def _waiting(result: Result) -> None:
    if result.proof.done():
        st.rerun()
    block(table(_sketch_columns(result), "Torque-limit table, not yet proved"))
    block(
        '<p class="tr-lead" role="status">Being re-assessed with fresh simulated engines; the '
        "table can be saved when that is done.</p>"
    )


def _sketch_columns(result: Result) -> list[TableColumn]:
    s = result.sketch
    titles = [result.assessment.limits[g].limit.title for g in s.governing]
    return [
        TableColumn(name="engine speed", unit="rpm", decimals=0,
                    values=[float(v) / RPM for v in s.limited.breakpoints]),
        TableColumn(name="torque limit", unit="N·m", decimals=0,
                    values=[float(v) for v in s.limited.limit]),
        TableColumn(name="power", unit="kW", decimals=0,
                    values=[float(v) / 1e3 for v in s.limited.limit * s.limited.breakpoints]),
        TableColumn(name="governed by", unit="", values=titles),
    ]  # fmt: skip


def _proved(result: Result) -> None:
    error = None if result.proof.cancelled() else result.proof.exception()
    proposal = result.proposal
    if proposal is None:
        block(f'<div class="tr-said"><p>{safe(error or "The proof was dropped.")}</p></div>')
        return
    block(table(_columns(proposal), "Torque-limit table"))
    word = "Proved" if proposal.verified else "Not proved"
    paragraphs([f"{word}. {proposal.verification}", *(n.text for n in proposal.notices)])
    name = result.case.engine.name.lower().replace(" ", "-")[:40]
    safe_name = "".join(c for c in name if c.isalnum() or c == "-") or "engine"
    with st.container(horizontal=True):
        st.download_button(
            "Save table as CSV", limit_csv(proposal), f"limit-{safe_name}.csv", "text/csv",
            on_click="ignore", key="save_csv",
        )  # fmt: skip
        st.download_button(
            "Save table as JSON", to_json(limit_document(proposal)), f"limit-{safe_name}.json",
            "application/json", on_click="ignore", key="save_json",
        )  # fmt: skip


def _columns(proposal: Proposal) -> list[TableColumn]:
    rows, titles = proposal.rows, proposal.assessment.limits
    decimals = max(0, -math.floor(math.log10(proposal.policy.resolution)))
    columns = [
        TableColumn(name="engine speed", unit="rpm", decimals=0,
                    values=[r.speed / RPM for r in rows]),
        TableColumn(name="torque limit", unit="N·m", decimals=decimals,
                    values=[r.limit for r in rows]),
        TableColumn(name="power", unit="kW", decimals=0, values=[r.power / 1e3 for r in rows]),
        TableColumn(name="governed by", unit="",
                    values=[titles[r.governing].limit.title for r in rows]),
        TableColumn(name="held by", unit="", values=[r.held_by for r in rows]),
        TableColumn(name="chance", unit="%", decimals=1, values=[100 * r.chance for r in rows]),
        TableColumn(name="judged at CA50", unit="deg", decimals=1,
                    values=[float(np.degrees(r.ca50)) for r in rows]),
        TableColumn(name="CA50 not before", unit="deg", decimals=1,
                    values=[None if r.ca50_not_before is None
                            else float(np.degrees(r.ca50_not_before)) for r in rows]),
    ]  # fmt: skip
    if any(r.manifold_pressure is not None for r in rows):
        columns.append(
            TableColumn(name="manifold pressure for it", unit="kPa abs", decimals=0,
                        values=[None if r.manifold_pressure is None
                                else r.manifold_pressure / 1e3 for r in rows])
        )  # fmt: skip
    return columns


def before_after(result: Result) -> None:
    """What the table changes, in a small table."""
    s, a = result.sketch, result.assessment
    peak = int(np.argmax(a.torque))
    rows = [
        ("peak torque [N·m]", float(a.torque[peak]), s.peak_torque),
        ("at [rpm]", float(a.speed[peak]) / RPM, s.peak_speed / RPM),
        ("area under power [kW·rpm / 1,000]", s.before.area / 1e6 / RPM, s.after.area / 1e6 / RPM),
        ("hc", 100 * s.before.chance_any_max, 100 * s.after.chance_any_max),
        ("chance in one pull [%]", 100 * a.chance_pull, 100 * s.chance_pull),
    ]  # fmt: skip
    block(
        table(
            [
                TableColumn(name="", unit="", values=[r[0] for r in rows]),
                TableColumn(name="measured", unit="", values=[r[1] for r in rows], decimals=0),
                TableColumn(
                    name="under the limit", unit="", values=[r[2] for r in rows], decimals=0
                ),
            ],
            "Before and after",
        )
    )
