"""Units of torque and power on the page: the switch, and sliders of torque that keep SI.

Units of torque and power ride in `style.Look`, so that a picture converts where it is drawn and is
kept apart in the cache. A slider keeps N·m in session and link whatever it shows; the browser knows
its place by words only, so it is given its value again at a switch. Inputs and saved files stay in
SI.
"""

from collections.abc import Sequence

import streamlit as st

from torquerisk.show.page.alone import nobody
from torquerisk.show.page.link import linked
from torquerisk.show.words.prose import Units, power_unit, torque_unit

FASTENING = "fastening_"
"""How the keys of choices of a fastening begin; their words name a torque."""
TORQUE_KEYS = ("rise", "hold", "same")
"""Keys of the sliders of torque."""
RISES = range(5, 301, 5)
"""Steepest rises to choose from [N*m per 1,000 rpm]; the first one may be steeper."""


def choose_units() -> Units:
    """The switch; torque and power everywhere on the page follow it."""
    every = [u.value for u in Units]
    chosen = linked(
        "units", every, Units.SI.value,
        lambda: st.segmented_control(
            "Torque and power in", every, required=True, key="units", wrap=True,
            format_func=_names, on_change=_keep_values,
        ),
    )  # fmt: skip
    units = Units(chosen)
    if units is not Units.SI:
        st.caption("Inputs in the left column and the table to edit stay in SI.")
    return units


def _names(word: str) -> str:
    units = Units(word)
    return f"{torque_unit(units).name}, {power_unit(units).name}"


def _keep_values() -> None:
    """Give every widget whose words name a torque its own value again, to be worded anew.

    The browser knows a choice by its words only, and those change with the units.
    """
    for key in list(st.session_state):
        if isinstance(key, str) and (key in TORQUE_KEYS or key.startswith(FASTENING)):
            st.session_state[key] = st.session_state[key]


def torque_slider(
    label: str,
    steps: Sequence[int],
    first: int,
    key: str,
    units: Units,
    *,
    per: str = "",
    in_link: bool = False,
    width: int | None = None,
) -> int:
    """A torque [N*m] of some steps, shown in the chosen units; its state and link keep N*m.

    first: where it stands at the start. per: what the torque is per, for the label. width: [px].
    """
    unit, size = torque_unit(units)

    def widget() -> int:
        return st.select_slider(
            f"{label} [{unit}{per}]", steps, key=key, width=width or "stretch",
            format_func=lambda torque: f"{torque / size:,.0f}",
        )  # fmt: skip

    if in_link:
        return linked(key, steps, first, widget)
    if nobody():
        return first
    if st.session_state.get(key) not in steps:
        st.session_state[key] = first
    return widget()


def rise_slider(units: Units, first: int) -> int:
    """The steepest rise that the table may have [N*m per 1,000 rpm]."""
    return torque_slider(
        "Steepest rise", sorted({*RISES, first}), first, "rise", units, per=" per 1,000 rpm",
        in_link=True, width=250,
    )  # fmt: skip
