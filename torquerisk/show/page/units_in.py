"""Units of torque and power on the page: the switch, and boxes and sliders of torque.

Units ride in `style.Look`, so that a picture converts where it is drawn and is kept apart in the
cache. A torque that is asked for is in the units that the link names beside it; at a switch it is
converted, never taken for one in the other units. Saved files stay in SI.
"""

import math

import streamlit as st

from torquerisk.show.words.prose import Units, power_unit, torque_unit

TORQUE_KEYS = ("rise", "hold", "same")
"""Keys of widgets whose value is a torque in the units shown."""
_LABELS = {"SI": Units.SI, "US": Units.US}


def units_now() -> Units:
    """The units chosen."""
    return _LABELS.get(str(st.session_state.get("units")), Units.SI)


def choose_units() -> Units:
    """The switch; torque and power everywhere on the page follow it."""
    chosen = st.segmented_control(
        "Units", list(_LABELS), default="SI", required=True, key="units", bind="query-params",
        on_change=_convert, label_visibility="collapsed",
        help="; ".join(f"{k}: {torque_unit(u).name}, {power_unit(u).name}"
                       for k, u in _LABELS.items()),
    )  # fmt: skip
    st.session_state["units_before"] = chosen
    return _LABELS[chosen or "SI"]


def _convert() -> None:
    """Give every torque that is asked for its value in the units now chosen."""
    before = torque_unit(_LABELS[st.session_state.get("units_before") or "SI"]).size
    now = torque_unit(units_now()).size
    for key in TORQUE_KEYS:
        if key in st.session_state:
            st.session_state[key] = st.session_state[key] * before / now


def torque_box(label: str, low: float, high: float, first: float, key: str, units: Units) -> float:
    """A torque to type [N*m], shown in whole units; low, high and first are [N*m]."""
    unit, size = torque_unit(units)
    ends = _ends(low, high, size, 1.0, key)
    start = min(max(float(round(first / size)), ends[0]), ends[1])
    fresh(key, start)
    shown = st.number_input(
        f"{label} [{unit}]", *ends, start, 5.0, key=key, format="%.0f", width=260,
        bind="query-params",
    )  # fmt: skip
    return round(float(shown) * size, 6)


def torque_slider(
    label: str, high: float, first: float, key: str, units: Units, *, low: float = 5.0
) -> float:
    """A torque to slide to [N*m], in steps of five of the units shown. label: holds {unit}."""
    unit, size = torque_unit(units)
    ends = _ends(low, high, size, 5.0, key)
    start = min(max(first / size, ends[0]), ends[1])
    fresh(key, start)
    shown = st.slider(
        label.format(unit=unit), *ends, start, 5.0, key=key,
        format="%.0f", bind="query-params",
    )  # fmt: skip
    return round(float(shown) * size, 6)


def one_cases(tag: str) -> None:
    """Before a view is drawn: what was asked of another case is no wish of this one.

    tag: of the case. A value in the link counts at the start of a visit.
    """
    before = st.session_state.get("asked_of")
    st.session_state["asked_of"] = tag
    if before not in (None, tag):
        st.session_state["another_cases"] = {*TORQUE_KEYS, "peak_from", "own_speeds", "boost_kpa"}


def fresh(key: str, first: float | str) -> None:
    """Before a widget is drawn: put it where it stands at the start if it has another case's."""
    left = st.session_state.get("another_cases", set())
    if key in left:
        left.discard(key)
        st.session_state[key] = first


def _ends(low: float, high: float, size: float, step: float, key: str) -> tuple[float, float]:
    """Ends within both, in steps of the units shown; what is kept outside them is forgotten."""
    ends = step * math.ceil(low / size / step), step * math.floor(high / size / step + 1e-9)
    kept = st.session_state.get(key)
    if kept is not None and not ends[0] <= kept <= ends[1]:
        del st.session_state[key]
    return ends
