"""Parts of a view that are redrawn alone, and folds that are filled when they are opened."""

from collections.abc import Callable

import streamlit as st


def fold(label: str, key: str, inside: Callable[[], object]) -> None:
    """A fold that is sent closed, and filled when it is opened: what nobody reads costs nothing."""
    st.fragment(_fold)(label, f"fold_{key}", inside)


def _fold(label: str, key: str, inside: Callable[[], object]) -> None:
    with st.expander(label, type="compact", key=key, on_change="rerun") as opened:
        if opened.open:
            inside()
