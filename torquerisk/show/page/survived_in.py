"""Pulls that the engine survived at the run on the page: what a tuner has before any data sheet."""

from dataclasses import replace

import streamlit as st

from torquerisk.case import Rung, declarations
from torquerisk.show.page.case_in import case_zip, source_from_zip
from torquerisk.show.page.desk import Desk, keep, put
from torquerisk.show.page.html import bullets
from torquerisk.show.page.result import Result


def in_a_line(rungs: tuple[Rung, ...]) -> str:
    """What was survived, for the title of its group."""
    return "; ".join(_told(rung) for rung in rungs) or "nobody says"


def survived(result: Result) -> None:
    """What is known, and a form that adds the run on the page."""
    engine, desk, asked = result.case.engine, result.desk, declarations(Rung)
    bullets([_told(rung) for rung in engine.survived])
    with st.form(f"form_survived_{desk.name}", border=False):
        with st.container(horizontal=True, gap="small"):
            most = int(asked["pulls"].high)
            pulls = st.number_input(
                f"Pulls driven like this run (1 to {most:,})", 1, most, 1, width=280
            )
            seen = st.selectbox("What was seen in them", asked["seen"].options, width=280)
        sent = st.form_submit_button("Work it out", type="primary")
    if sent:
        rung = Rung(run=result.case.run.name, pulls=int(pulls), seen=seen, curve=result.case.run)
        _with(result, (*engine.survived, rung))
    if engine.survived and st.button("Forget the last", key=f"forget_{desk.name}"):
        _with(result, engine.survived[:-1])


def _with(result: Result, rungs: tuple[Rung, ...]) -> None:
    """The same case with these rungs; the way back leads to the one before."""
    engine, desk = replace(result.case.engine, survived=rungs), result.desk
    source = source_from_zip(case_zip(engine, result.case.run), desk.source.label)
    source = replace(source, run_name=desk.source.run_name)
    put(Desk(source=source, edits=desk.edits, sample=desk.sample, before=keep(desk)))
    st.rerun()


def _told(rung: Rung) -> str:
    name = rung.curve.name if rung.curve is not None else rung.run
    return f"{name}, {rung.count:,} pulls, seen: {rung.sign}"
