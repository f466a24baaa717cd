"""Parts of the page that are redrawn alone, and the page as it is drawn before anybody looks."""

from collections.abc import Callable
from typing import ParamSpec

import streamlit as st
from streamlit.runtime.scriptrunner import get_script_run_ctx

P = ParamSpec("P")


def nobody() -> bool:
    """True where the page is drawn for nobody, to have its results at hand: see `serve`.

    Then there is no session: nothing can be moved, and widgets know no value but their first.
    """
    return get_script_run_ctx(suppress_warning=True) is None


def alone(draw: Callable[P, None]) -> Callable[P, None]:
    """A part of the page that is redrawn without the rest when something in it is moved."""
    return draw if nobody() else st.fragment(draw)


def fold(label: str, key: str, inside: Callable[[], object]) -> None:
    """A fold that is sent closed, and filled when it is opened: what nobody reads costs nothing."""
    alone(_fold)(label, f"fold_{key}", inside)


def _fold(label: str, key: str, inside: Callable[[], object]) -> None:
    with st.expander(label, type="compact", key=key, on_change="rerun") as opened:
        if opened.open:
            inside()
