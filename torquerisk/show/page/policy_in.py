"""How careful to be and how to shape the table: widgets beside the curve."""

import dataclasses
import math
from collections.abc import Mapping

import numpy as np
import streamlit as st

from torquerisk.case import Kind, Policy, Run, default_policy
from torquerisk.errors import InputError
from torquerisk.files.lists import parse_quantities, rising_speeds
from torquerisk.files.run_file import run_from_bytes
from torquerisk.quantities import RPM
from torquerisk.show.page.case_in import TABLE_FILES
from torquerisk.show.page.link import linked
from torquerisk.show.page.panel import Sample
from torquerisk.show.page.units_in import RISES, rise_slider
from torquerisk.show.page.waiting import say
from torquerisk.show.words.prose import Units
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


def _first_policy(assessment: Assessment, sample: Sample) -> Policy:
    """What the widgets ask for before anybody has moved one."""
    policy = dataclasses.replace(
        sample_policy(sample), chance=FIRST_CHANCE / 100,
        peak_from=_fifty(_speeds(assessment)[2]) * RPM, points=FIRST_ROWS,
        objective=next(iter(OBJECTIVES)), no_dip=False,
    )  # fmt: skip
    usual = answers_of(assessment).usual_rise(policy) / RISE
    steps = math.ceil(usual / RISES.step - 1e-9)
    return dataclasses.replace(policy, rise=steps * RISES.step * RISE)


def _choice(key: str, label: str, words: Mapping[str, str], first: str) -> str:
    """One of several, by its words; what a link carries is kept."""
    options = list(words)
    return linked(
        key, options, first,
        lambda: st.selectbox(label, options, key=key, width=250, format_func=lambda o: words[o]),
    )  # fmt: skip


def policy_widgets(assessment: Assessment, sample: Sample, units: Units) -> Wish:
    """The widgets, and what they ask for."""
    low, high, peak = (_fifty(v) for v in _speeds(assessment))
    kept = st.session_state.get("peak_from")
    if kept is not None and not low <= kept <= high:
        del st.session_state["peak_from"]
    first = _first_policy(assessment, sample)
    goals = list(OBJECTIVES)
    with st.container(horizontal=True, gap="medium"):
        chance = st.select_slider(
            "Accepted chance at each speed [%]", CHANCES, FIRST_CHANCE, key="chance", width=250,
            format_func=lambda c: f"{c:g}", bind="query-params",
        )  # fmt: skip
        peak_from = st.slider(
            "Peak torque not before [rpm]", low, high, peak, 50, key="peak_from", width=250,
            bind="query-params",
        )  # fmt: skip
        rise = rise_slider(units, round((first.rise or RISE) / RISE))
        points = st.slider(
            "Rows of the table",
            4,
            40,
            FIRST_ROWS,
            1,
            key="rows",
            width=250,
            bind="query-params",
            disabled=bool(st.session_state.get("own_speeds")),
        )
        reach = _choice("reach", "The engine can make", REACHES, "measured")
        aim = _choice("aim", "The table is to give", OBJECTIVES, goals[0])
        no_dip = st.checkbox("No dip before the peak", key="no_dip", bind="query-params")
        nearest = st.checkbox(
            "The nearest table, where none meets this", key="nearest", bind="query-params"
        )
        own = st.text_input(
            "Own speeds of the table [rpm], instead of even rows", key="own_speeds", width=380,
            placeholder="such as 1500, 2000, 2500, 3000", max_chars=600, bind="query-params",
        )  # fmt: skip
    can, reference = _reach(assessment, reach), _reference(assessment, aim)
    if aim in NEED_REFERENCE and reference is None and assessment.engine.known_good.curve is None:
        aim = goals[0]
    policy = dataclasses.replace(
        first, chance=chance / 100, peak_from=peak_from * RPM, rise=rise * RISE, points=points,
        objective=aim, no_dip=no_dip,
    )  # fmt: skip
    return Wish(
        policy=policy,
        reach=can,
        own_speeds=_own_speeds(assessment, policy, (own or "").strip()),
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


def _reach(assessment: Assessment, choice: str) -> Reach:
    """What the engine can make, as chosen; what is still wanting is said and stood in for."""
    if choice == "another run":
        run = _sent(
            "Run that shows what the engine can make", "reach_run",
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
        ceiling = st.number_input(
            f"Boost ceiling as manifold pressure, kPa absolute ({low} to {high})", low, high,
            min(max(round(highest / 1e4) * 10, low), high), 5, key="boost_kpa", width=380,
            bind="query-params",
        )  # fmt: skip
        return BoostCeiling(pressure=float(ceiling) * 1e3)
    return choice


def _reference(assessment: Assessment, aim: str) -> Run | None:
    """A curve to keep to, where the aim needs one and another than the known-good run is sent."""
    if aim not in NEED_REFERENCE:
        return None
    known = assessment.engine.known_good.curve
    meanwhile = (
        "Until one is there, the table gives most area: this case has no known-good run."
        if known is None
        else f"Until one is there, the known-good run {known.name} is kept to."
    )
    return _sent("Curve to keep to", "reference_run", meanwhile)


def _speeds(assessment: Assessment) -> tuple[float, float, float]:
    speed = assessment.speed
    return float(speed[0]), float(speed[-1]), float(speed[int(np.argmax(assessment.torque))])


def _fifty(speed: float) -> int:
    return round(speed / RPM / 50) * 50
