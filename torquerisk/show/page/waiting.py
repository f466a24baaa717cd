"""Sections whose numbers take a second or more: a word in their place, then the section itself."""

from collections.abc import Callable
from concurrent.futures import Future
from typing import TypeVar

import streamlit as st

from torquerisk.errors import InputError
from torquerisk.show.page.html import block, safe

T = TypeVar("T")
PROVING = (
    "Being checked on fresh simulated engines: until then speeds and torques may still move a step."
)
"""What is said of a table while its proof is worked out."""
POLL = 0.25
"""How often a waiting section looks whether its numbers are there [s]."""


def when_ready(
    future: "Future[T]",
    doing: str,
    draw: Callable[[T], None],
    told: Callable[[str], str] = str,
) -> None:
    """Draw the result when it is there; until then say what is being worked out.

    A result that could not be made leaves its one sentence, worded by `told`.
    """
    if not future.done():
        st.fragment(_wait, run_every=POLL)(future, doing)
        return
    error = future.exception()
    if error is None:
        draw(future.result())
    elif isinstance(error, InputError):
        say(told(error.sentence))
    else:
        raise error


def _wait(future: "Future[T]", doing: str) -> None:
    if future.done():
        st.rerun()
    block(f'<p class="tr-wait" role="status">{safe(doing)}</p>')


def say(sentence: str) -> None:
    """The one sentence that stands where a result cannot."""
    block(f'<div class="tr-said" role="alert"><p>{safe(sentence)}</p></div>')
