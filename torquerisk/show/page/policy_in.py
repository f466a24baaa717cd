"""How careful to be and how to shape the table: widgets beside the curve."""

import math
from dataclasses import dataclass

import numpy as np
import streamlit as st

from torquerisk.case import Policy, default_policy
from torquerisk.show.page.link import linked
from torquerisk.show.page.panel import Sample
from torquerisk.study.assessment import Assessment

RPM = math.pi / 30
RISE = 0.03 / math.pi
CHANCES = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)
"""Accepted chances to choose from [%]."""
REACHES = {"measured": "what was measured", "open": "anything"}
OBJECTIVES = {
    "most area": "most area under power",
    "shortest sweep": "shortest sweep",
    "least change": "least change from the known-good run",
    "same shape later": "the known-good run's shape, later",
}


@dataclass(frozen=True, kw_only=True)
class Wish:
    """What is asked of the table."""

    policy: Policy
    reach: str


def sample_policy(sample: Sample) -> Policy:
    """The policy of the assessment itself: the stated defaults, with what to simulate."""
    return default_policy(draws=sample.draws, seed=sample.seed, abnormal_in_chance=sample.abnormal)


def policy_widgets(assessment: Assessment, sample: Sample) -> Wish:
    """The widgets, and what they ask for."""
    low, high, peak = (_fifty(v) for v in _speeds(assessment))
    kept = st.session_state.get("peak_from")
    if kept is not None and not low <= kept <= high:
        del st.session_state["peak_from"]
    known_good = assessment.engine.known_good.curve is not None
    goals = list(OBJECTIVES) if known_good else list(OBJECTIVES)[:2]
    with st.container(horizontal=True, gap="medium"):
        chance = st.select_slider(
            "Accepted chance at each speed [%]", CHANCES, 1.0, key="chance", width=250,
            format_func=lambda c: f"{c:g}", bind="query-params",
        )  # fmt: skip
        peak_from = st.slider(
            "Peak torque not before [rpm]", low, high, peak, 50, key="peak_from", width=250,
            bind="query-params",
        )  # fmt: skip
        rise = st.slider(
            "Steepest rise [N·m per 1,000 rpm]", 5, 300, 60, 5, key="rise", width=250,
            bind="query-params",
        )  # fmt: skip
        points = st.slider(
            "Rows of the table", 4, 40, 16, 1, key="rows", width=250, bind="query-params"
        )
        reach = linked(
            "reach", list(REACHES), "measured",
            lambda: st.selectbox(
                "The engine can make", list(REACHES), key="reach", width=250,
                format_func=lambda r: REACHES[r],
            ),
        )  # fmt: skip
        aim = linked(
            "aim", goals, goals[0],
            lambda: st.selectbox(
                "The table is to give", goals, key="aim", width=250,
                format_func=lambda g: OBJECTIVES[g],
            ),
        )  # fmt: skip
        no_dip = st.checkbox("No dip before the peak", key="no_dip", bind="query-params")
    return Wish(
        policy=default_policy(
            chance=chance / 100, peak_from=peak_from * RPM, rise=rise * RISE, points=points,
            objective=aim, no_dip=no_dip, draws=sample.draws, seed=sample.seed,
            abnormal_in_chance=sample.abnormal,
        ),
        reach=reach,
    )  # fmt: skip


def _speeds(assessment: Assessment) -> tuple[float, float, float]:
    speed = assessment.speed
    return float(speed[0]), float(speed[-1]), float(speed[int(np.argmax(assessment.torque))])


def _fifty(speed: float) -> int:
    return round(speed / RPM / 50) * 50
