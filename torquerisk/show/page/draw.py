"""How a picture is put on the page: with its text alternative and the table behind it."""

import streamlit as st

from torquerisk.show.figure_style import CONFIG, Picture
from torquerisk.show.page.html import block, safe, table


def picture(
    one: Picture, *, titled: bool = True, numbers: bool = True, key: str | None = None
) -> None:
    """A picture, its title above, its numbers in a fold below."""
    if titled:
        block(f'<h3 class="tr-fig">{safe(one.title)}</h3>')
    st.plotly_chart(
        one.figure, width="stretch", theme=None, config=CONFIG, alt=one.alt,
        key=key or f"fig_{one.name}",
    )  # fmt: skip
    if numbers and one.columns:
        with st.expander(f"Numbers: {one.title[0].lower()}{one.title[1:]}", type="compact"):
            block(f"<p class='tr-lead'>{safe(one.alt)}</p>" + table(one.columns, one.title))
