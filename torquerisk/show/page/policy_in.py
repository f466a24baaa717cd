"""How careful to be and how to shape the table: widgets beside the curve."""

import dataclasses
import math
from collections.abc import Mapping

import streamlit as st

from torquerisk.case import Kind, Policy, Run, default_policy
from torquerisk.errors import InputError
from torquerisk.files.lists import parse_quantities, rising_speeds
from torquerisk.files.run_file import run_from_bytes
from torquerisk.quantities import RPM
from torquerisk.show.page.case_in import TABLE_FILES
from torquerisk.show.page.desk import Sample
from torquerisk.show.page.result import Result
from torquerisk.show.page.units_in import fresh, torque_slider
from torquerisk.show.page.waiting import say
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    CEILING_RANGE,
    NEED_REFERENCE,
    Assessment,
    BoostCeiling,
    Reach,
    Wish,
)

RISE = 0.03 / math.pi
STEEPEST = 300.0
"""Steepest rise to choose [N*m per 1,000 rpm]."""
CHANCES = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)
"""Accepted chances to choose from [%]."""
FIRST_CHANCE, FIRST_ROWS = 1.0, 16
"""Where the widgets stand at the start."""
REACHES = {
    "measured": "what was measured",
    "another run": "what another run shows",
    "boost": "what a boost ceiling gives",
    "open": "anything",
}
OBJECTIVES = {
    "most area": "most area under power",
    "shortest sweep": "shortest sweep",
    "least change": "least change from a known curve",
    "same shape later": "a known curve's shape, later",
}
NO_PRESSURE = "This run logged no manifold pressure, so a boost ceiling says nothing of its torque"


def sample_policy(sample: Sample) -> Policy:
    """The policy of the assessment itself: the stated defaults, with what to simulate."""
    return default_policy(
        draws=sample.draws, seed=sample.seed, pulls=sample.pulls, abnormal_in_chance=sample.abnormal
    )


def accepted_chance() -> float:
    """The accepted chance at each speed, as the slider or else the link has it."""
    asked = {f"{c:g}": c for c in CHANCES}
    kept = st.session_state.get("chance")
    if kept not in CHANCES:
        kept = asked.get(st.query_params.get("chance", ""), FIRST_CHANCE)
    return float(kept) / 100


def first_policy(assessment: Assessment) -> Policy:
    """What is asked before anybody has moved a slider, at the accepted chance."""
    policy = dataclasses.replace(
        assessment.policy, chance=accepted_chance(), points=FIRST_ROWS,
        peak_from=_fifty(_speeds(assessment)[2]) * RPM, objective=next(iter(OBJECTIVES)),
        no_dip=False,
    )  # fmt: skip
    steps = math.ceil(answers_of(assessment).usual_rise(policy) / RISE / 5 - 1e-9)
    return dataclasses.replace(policy, rise=5 * steps * RISE)


def first_wish(result: Result) -> Wish:
    """What is asked before anything was chosen but the accepted chance."""
    return Wish(policy=first_policy(result.assessment), reach="measured")


def sliders(result: Result) -> Policy:
    """The accepted chance, the earliest peak and the steepest rise, beside the picture."""
    low, high, peak = (_fifty(v) for v in _speeds(result.assessment))
    first = first_policy(result.assessment)
    chance = st.select_slider(
        "Accepted chance at each speed [%]", CHANCES, FIRST_CHANCE, key="chance",
        format_func=lambda c: f"{c:g}", bind="query-params",
    )  # fmt: skip
    fresh("peak_from", peak)
    peak_from = st.slider(
        "Peak torque not before [rpm]", low, high, peak, 50, key="peak_from", bind="query-params"
    )
    usual = (first.rise or RISE) / RISE
    rise = torque_slider(
        "Steepest rise [{unit} per 1,000 rpm]", max(STEEPEST, usual), usual, "rise", result.units
    )
    return dataclasses.replace(
        first, chance=chance / 100, peak_from=peak_from * RPM, rise=rise * RISE
    )


def _choice(key: str, label: str, words: Mapping[str, str]) -> str:
    """One of several, by its words."""
    return st.selectbox(
        label, list(words), key=key, format_func=lambda o: words[o], bind="query-params"
    )


def more_choices(result: Result, policy: Policy) -> Wish:
    """What else may be asked of the table, and all that is asked."""
    a = result.assessment
    points = st.slider(
        "Rows of the table", 4, 40, FIRST_ROWS, 1, key="rows", bind="query-params",
        disabled=bool(st.session_state.get("own_speeds")),
    )  # fmt: skip
    reach = _choice("reach", "The engine can make", REACHES)
    can = _reach(result, reach)
    aim = _choice("aim", "The table is to give", OBJECTIVES)
    reference = _reference(result, aim)
    if aim in NEED_REFERENCE and reference is None and a.engine.known_good.curve is None:
        aim = next(iter(OBJECTIVES))
    no_dip = st.checkbox("No dip before the peak", key="no_dip", bind="query-params")
    nearest = st.checkbox(
        "The nearest table, where none meets this", key="nearest", bind="query-params"
    )
    fresh("own_speeds", "")
    own = st.text_input(
        "Own speeds of the table [rpm], instead of even rows", key="own_speeds",
        placeholder="such as 1500, 2000, 2500, 3000", max_chars=600, bind="query-params",
    )  # fmt: skip
    policy = dataclasses.replace(policy, points=points, objective=aim, no_dip=no_dip)
    return Wish(
        policy=policy,
        reach=can,
        own_speeds=_own_speeds(a, policy, (own or "").strip()),
        reference=reference,
        nearest=nearest,
    )


def _own_speeds(assessment: Assessment, policy: Policy, written: str) -> tuple[float, ...] | None:
    """Speeds as written, bare numbers in rpm; until they can be used, a word and even rows."""
    if not written:
        return None
    name = "the list of the table's own speeds"
    try:
        given = written if written[-1].isalpha() else f"{written} rpm"
        speeds = rising_speeds(parse_quantities(given, Kind.SPEED, name), name)
        answers_of(assessment).checked_speeds(policy, speeds)
    except InputError as error:
        say(f"{error} Until then the rows are even.")
        return None
    return tuple(float(v) for v in speeds)


@st.cache_resource(show_spinner=False, max_entries=8)
def _read_run(name: str, data: bytes) -> Run:
    """The run of a file; the same one for the same bytes."""
    return run_from_bytes(data, name)


def _sent(label: str, key: str, meanwhile: str) -> Run | None:
    """A run sent in; until there is one that can be read, what stands for it is said."""
    file = st.file_uploader(label, type=TABLE_FILES, key=key)
    if file is None:
        st.caption(meanwhile)
        return None
    try:
        return _read_run(file.name, file.getvalue())
    except InputError as error:
        say(f"{error} {meanwhile}")
        return None


def _reach(result: Result, choice: str) -> Reach:
    """What the engine can make, as chosen; what is still wanting is said and stood in for."""
    assessment = result.assessment
    if choice == "another run":
        run = _sent(
            "Run that shows what the engine can make", f"reach_run_{result.tag}",
            "Until it is there, the measured run stands for what the engine can make.",
        )  # fmt: skip
        try:
            if run is not None:
                answers_of(assessment).checked_reach(run)
        except InputError as error:
            say(f"{error} Until then the measured run stands for what the engine can make.")
            return "measured"
        return "measured" if run is None else run
    if choice == "boost":
        if assessment.model.operating.manifold_pressure is None:
            say(f"{NO_PRESSURE}; the measured run stands for what the engine can make.")
            return "measured"
        low, high = (int(p / 1e3) for p in CEILING_RANGE)
        highest = float(assessment.model.operating.manifold_pressure.max())
        start = min(max(round(highest / 1e4) * 10, low), high)
        fresh("boost_kpa", start)
        ceiling = st.number_input(
            f"Boost ceiling as manifold pressure, kPa absolute ({low} to {high})", low, high,
            start, 5, key="boost_kpa",
            bind="query-params",
        )  # fmt: skip
        return BoostCeiling(pressure=float(ceiling) * 1e3)
    return choice


def _reference(result: Result, aim: str) -> Run | None:
    """A curve to keep to, where the aim needs one and another than the known-good run is sent."""
    if aim not in NEED_REFERENCE:
        return None
    known = result.assessment.engine.known_good.curve
    meanwhile = (
        "Until one is there, the table gives most area: this case has no known-good run."
        if known is None
        else f"Until one is there, the known-good run {known.name} is kept to."
    )
    return _sent("Curve to keep to", f"reference_run_{result.tag}", meanwhile)


def _speeds(assessment: Assessment) -> tuple[float, float, float]:
    return float(assessment.speed[0]), float(assessment.speed[-1]), assessment.peak_begins


def _fifty(speed: float) -> int:
    return round(speed / RPM / 50) * 50
