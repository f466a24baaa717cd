"""How a picture is put on the page: with its text alternative and the table behind it."""

from functools import lru_cache

import streamlit as st

from torquerisk.show.page.alone import fold
from torquerisk.show.page.grid import grid
from torquerisk.show.page.html import block, safe
from torquerisk.show.pictures.stills import still_of
from torquerisk.show.pictures.style import CONFIG, Picture

PLACE = "place_"
"""How the keys of pictures' places begin."""
_TURN, _PLACES = "turn_of_pictures", "places_of_pictures"
STILLS, BOTH, LIVE = 0, 1, 2
"""Turns of a visit: first the whole page comes with still pictures, which need no script and are
there at once; then live ones are laid over them, and hide them once they are drawn; from then on
pictures are live alone."""


def turn() -> int:
    """STILLS, BOTH or LIVE."""
    return int(st.session_state.get(_TURN, STILLS))


def first_turn() -> None:
    """As if nobody had seen the page."""
    st.session_state[_TURN] = STILLS
    st.session_state[_PLACES] = {}


def next_turn() -> None:
    """The page was drawn once."""
    st.session_state[_TURN] = min(turn() + 1, LIVE)
    st.session_state[_PLACES] = {}


def _numbers(one: Picture, key: str) -> None:
    block(f"<p class='tr-lead'>{safe(one.alt)}</p>")
    grid(one.columns, one.title, key.removeprefix("fig_"))


def enliven(key: str) -> None:
    """Lay the live picture over one still at once: with it comes the plot library."""
    place, one = st.session_state.get(_PLACES, {}).get(key, (None, None))
    if place is not None:
        with place:
            _live(one, key)


def _live(one: Picture, key: str) -> None:
    st.plotly_chart(one.figure, width="stretch", theme=None, config=CONFIG, alt=one.alt, key=key)


@lru_cache(maxsize=240)
def _still(one: Picture) -> str:
    return still_of(one)


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
            still.html(_still(one))
        if turn() > STILLS:
            _live(one, key)
    if turn() == STILLS:
        st.session_state.setdefault(_PLACES, {})[key] = (place, one)
    if numbers and one.columns:
        fold(
            f"Numbers: {one.title[0].lower()}{one.title[1:]}", key,
            lambda: _numbers(one, key),
        )  # fmt: skip
