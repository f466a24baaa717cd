"""How a picture is put on the page: with its text alternative and the table behind it.

The plot library takes a second or more of the browser, in which it paints nothing. So a visit
begins with its first picture as a still, and the live one is laid over it once that was painted.
"""

import time
from functools import partial

import streamlit as st

from torquerisk.show.page.alone import fold
from torquerisk.show.page.grid import grid
from torquerisk.show.page.html import block, safe
from torquerisk.show.pictures.still import for_page
from torquerisk.show.pictures.style import CONFIG, Picture

_FIRST, _LATER = "first_picture", "first_live"
PAINTED, OPENING = 0.25, 30.0
"""How long a browser is given to paint the first still, and to get the plot library [s]."""


def leave() -> None:
    """The visit goes on in another view, where the plot library is at hand."""
    st.session_state[_FIRST] = ("", 0.0)


def enliven() -> None:
    """Once the rest of the page was sent: the live picture over the first still."""
    later = st.session_state.pop(_LATER, None)
    if later is not None:
        time.sleep(PAINTED)
        later()


def _numbers(one: Picture, key: str) -> None:
    block(f"<p class='tr-lead'>{safe(one.alt)}</p>")
    grid(one.columns, one.title, key.removeprefix("fig_"))


def picture(
    one: Picture, *, titled: bool = True, numbers: bool = True, key: str | None = None,
    height: int | None = None,
) -> None:  # fmt: skip
    """A picture, its title above, its numbers in a fold below."""
    if titled:
        block(f'<h3 class="tr-fig">{safe(one.title)}</h3>')
    key = key or f"fig_{one.name}"
    place = st.container(key=f"place_{key}", gap=None)
    live = partial(
        place.plotly_chart, one.figure, width="stretch", height=height or "content", theme=None,
        config=CONFIG, alt=one.alt, key=key,
    )  # fmt: skip
    begins = _FIRST not in st.session_state
    first, begun = st.session_state.setdefault(_FIRST, (key, time.monotonic()))
    still = place.empty()
    if key == first and time.monotonic() - begun < OPENING:
        still.html(f'<div class="tr-still">{for_page(one, height)}</div>')
    if begins:
        st.session_state[_LATER] = live
    else:
        live()
    if numbers:
        numbers_fold(one, key)


def numbers_fold(one: Picture, key: str) -> None:
    """The table behind a picture, closed."""
    if one.columns:
        title = f"Numbers: {one.title[0].lower()}{one.title[1:]}"
        fold(title, key, lambda: _numbers(one, key))
