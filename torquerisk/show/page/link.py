"""State in the address, so that a link opens what its sender saw."""

from collections.abc import Callable, Sequence
from typing import TypeVar

import streamlit as st

from torquerisk.show.page.alone import nobody

T = TypeVar("T")


def linked(key: str, options: Sequence[T], first: T, widget: Callable[[], T | None]) -> T:
    """The choice of a widget, taken from the address at the start and kept there after.

    options: what may be chosen; a word of the address that is none of them is ignored. first: the
    default, which is left out of the address.
    """
    if nobody():
        return first
    if st.session_state.get(key) not in options:
        asked = {str(o): o for o in options}
        st.session_state[key] = asked.get(st.query_params.get(key, ""), first)
    picked = widget()
    chosen = first if picked is None else picked
    if chosen != first:
        if st.query_params.get(key) != str(chosen):
            st.query_params[key] = str(chosen)
    elif key in st.query_params:
        del st.query_params[key]
    return chosen
