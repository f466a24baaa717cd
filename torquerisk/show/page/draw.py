"""How a picture is put on the page: with its text alternative and the table behind it.

A first visit is drawn twice: first with its first picture as a still that needs no script and room
for the others, then with live ones, which hide both once drawn; CSS does the hiding, so nothing
moves or goes blank. The plot library is 4.7 MB of script and takes a browser about a second to
read. `serve.warm` draws the first case for nobody, in both themes, before the server is ready.
"""

from functools import lru_cache

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from torquerisk.show.page.alone import fold
from torquerisk.show.page.grid import grid
from torquerisk.show.page.html import block, safe
from torquerisk.show.pictures.still import for_page
from torquerisk.show.pictures.style import CONFIG, Picture

PLACE = "place_"
"""How the keys of pictures' places begin."""
_TURN, _FIRST = "turn_of_pictures", "first_picture"
STILLS, BOTH, LIVE = 0, 1, 2
"""Turns of a visit: first the whole page comes with its first picture as a still, which needs no
script, and with room for the others; then live ones are laid over them, and hide them once they are
drawn; from then on pictures are live alone."""


def turn() -> int:
    """STILLS, BOTH or LIVE."""
    return int(st.session_state.get(_TURN, STILLS))


def first_turn() -> None:
    """As if nobody had seen the page."""
    st.session_state[_TURN] = STILLS


def next_turn() -> None:
    """The page was drawn once."""
    st.session_state[_TURN] = min(turn() + 1, LIVE)
    st.session_state.pop(_FIRST, None)


def begin(key: str) -> None:
    """Say which picture is the first one, before any is drawn."""
    st.session_state[_FIRST] = (key, None, None)


def _numbers(one: Picture, key: str) -> None:
    block(f"<p class='tr-lead'>{safe(one.alt)}</p>")
    grid(one.columns, one.title, key.removeprefix("fig_"))


def enliven() -> None:
    """Lay the live picture over the first still at once: with it comes the plot library."""
    key, place, one = st.session_state[_FIRST]
    if place is not None:
        with place:
            _live(one, key)


def _live(one: Picture, key: str) -> None:
    st.plotly_chart(one.figure, width="stretch", theme=None, config=CONFIG, alt=one.alt, key=key)


@lru_cache(maxsize=12)
def _still(one: Picture) -> str:
    return for_page(one)


def _before_live(one: Picture, key: str, place: DeltaGenerator) -> str:
    """The first picture as a still; room for any other, so that nothing moves later."""
    first = st.session_state.get(_FIRST, ("",))[0] == key
    if first and turn() == STILLS:
        st.session_state[_FIRST] = (key, place, one)
    height = one.figure.to_dict()["layout"]["height"]
    return _still(one) if first else f'<div class="tr-still" style="height:{height}px"></div>'


def picture(
    one: Picture, *, titled: bool = True, numbers: bool = True, key: str | None = None
) -> None:
    """A picture, its title above, its numbers in a fold below."""
    if titled:
        block(f'<h3 class="tr-fig">{safe(one.title)}</h3>')
    key = key or f"fig_{one.name}"
    place = st.container(key=f"{PLACE}{key}")
    with place:
        still = st.empty()
        if turn() < LIVE:
            still.html(_before_live(one, key, place))
        if turn() > STILLS:
            _live(one, key)
    if numbers and one.columns:
        fold(
            f"Numbers: {one.title[0].lower()}{one.title[1:]}", key,
            lambda: _numbers(one, key),
        )  # fmt: skip
