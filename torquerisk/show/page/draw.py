"""How a picture is put on the page: with its text alternative and the table behind it."""

import streamlit as st

from torquerisk.show.page.alone import fold
from torquerisk.show.page.grid import grid
from torquerisk.show.page.html import block, safe
from torquerisk.show.pictures.style import CONFIG, Picture


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
    st.plotly_chart(
        one.figure, width="stretch", height=height or "content", theme=None, config=CONFIG,
        alt=one.alt, key=key,
    )  # fmt: skip
    if numbers:
        numbers_fold(one, key)


def numbers_fold(one: Picture, key: str) -> None:
    """The table behind a picture, closed."""
    if one.columns:
        title = f"Numbers: {one.title[0].lower()}{one.title[1:]}"
        fold(title, key, lambda: _numbers(one, key))
