"""What is asked stays asked, from view to view; and a step back for what the table is to be."""

from collections.abc import Callable
from typing import Any

import streamlit as st

from torquerisk.show.page.units_in import TORQUE_KEYS
from torquerisk.show.words.prose import Units, torque_unit

ASKED = ("chance", "peak_from", "rise", "rows", "reach", "aim", "no_dip", "nearest", "own_speeds")
"""Keys of the widgets that a step back sets."""
PAST = "asked_before"
MOST_STEPS = 50
KEPT = "asked_last"
KEPT_KEYS = {*ASKED, *TORQUE_KEYS, "boost_kpa"}


def ask_again(tag: str, units: Units, arrived: bool = False) -> bool:
    """Ask again what was asked in any view, where another view's widgets or the link dropped it.

    tag: of the case; another case begins anew. arrived: from another view. True where something
    was put back.
    """
    state = st.session_state
    of, before, kept = state.get(KEPT, ("", units, {}))
    if of != tag:
        kept = {}
    gone = [k for k in kept if (arrived or k not in state) and k not in st.query_params]
    left = {k: kept[k] for k in gone}
    for key, value in left.items():
        sizes = torque_unit(before).size / torque_unit(units).size if key in TORQUE_KEYS else 1
        state[key] = value if sizes == 1 else value * sizes
    state[KEPT] = (tag, units, kept | left | {k: state[k] for k in kept if k in state})
    return bool(left)


def note_asked(tag: str, units: Units) -> None:
    """After a view is drawn: keep what is asked and stands off its start, which the link holds.

    What stands at its start comes back by itself: a widget takes it from one place.
    """
    ask_again(tag, units)
    state, kept = st.session_state, st.session_state[KEPT][2]
    elsewhere = {k: value for k, value in kept.items() if k not in state}
    here = {k: state[k] for k in KEPT_KEYS if k in state and k in st.query_params}
    state[KEPT] = (tag, units, elsewhere | here)


def remember(tag: str, units: Units, typed: tuple[tuple[float, ...], ...] | None) -> bool:
    """Keep what is asked now, if it is new; True where there is a step to go back to.

    tag: of the case; another case, or other units, begin anew. typed: the table's cells.
    """
    about = (tag, units)
    past: list[dict[str, Any]] = st.session_state.setdefault(PAST, [])
    now = {key: st.session_state.get(key) for key in ASKED}
    state = {"about": about, "asked": now, "typed": typed, "rounded": _rounded(typed)}
    if past and past[-1]["about"] != about:
        past.clear()
    if not past or any(past[-1][k] != state[k] for k in ("asked", "rounded")):
        past.append(state)
        del past[:-MOST_STEPS]
    return len(past) > 1


def _rounded(typed: tuple[tuple[float, ...], ...] | None) -> list[list[float]] | None:
    """Cells without what their units' conversion there and back leaves."""
    return None if typed is None else [[round(v, 2) for v in column] for column in typed]


def step_back(restore: Callable[[Any], None]) -> None:
    """Ask again what was asked before. restore: puts the typed cells back."""
    past: list[dict[str, Any]] = st.session_state[PAST]
    past.pop()
    for key, value in past[-1]["asked"].items():
        if value is not None:
            st.session_state[key] = value
    restore(past[-1]["typed"])
