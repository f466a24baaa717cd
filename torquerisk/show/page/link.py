"""State in the address, so that a link opens what its sender saw."""

from collections.abc import Callable, Sequence
from typing import TypeVar

import streamlit as st

T = TypeVar("T")


def linked(key: str, options: Sequence[str], first: str, widget: Callable[[], str | None]) -> str:
    """The choice of a widget, taken from the address at the start and kept there after.

    options: what may be chosen; a word of the address that is none of them is ignored. first: the
    default, which is left out of the address.
    """
    if st.session_state.get(key) not in options:
        asked = st.query_params.get(key)
        st.session_state[key] = asked if asked in options else first
    chosen = widget() or first
    if chosen != first:
        if st.query_params.get(key) != chosen:
            st.query_params[key] = chosen
    elif key in st.query_params:
        del st.query_params[key]
    return chosen
