"""Tables of numbers that can be sorted, searched and taken away."""

from collections.abc import Sequence

import pandas as pd
import streamlit as st

from torquerisk.files.exports import TableColumn, table_csv

ROW = 35
"""Height of a row [px]."""
MOST_HIGH = 14
"""Rows shown at once; the others are scrolled to."""


def _whole(value: float | int | str | None, decimals: int | None) -> float | int | str | None:
    """The value, without the sign of what is shown as zero."""
    if isinstance(value, float) and decimals is not None and round(value, decimals) == 0:
        return 0.0
    return value


def grid(columns: Sequence[TableColumn], caption: str, key: str) -> None:
    """A table that sorts by a click on a heading, with its CSV. key: the file's name."""
    rows = min(len(columns[0].values), MOST_HIGH)
    st.dataframe(
        pd.DataFrame({c.heading: [_whole(v, c.decimals) for v in c.values] for c in columns}),
        hide_index=True, alt=caption, key=f"grid_{key}", height=ROW * (rows + 1) + 3,
        column_config={
            c.heading: st.column_config.NumberColumn(format=f"%.{c.decimals}f")
            for c in columns
            if c.decimals is not None
        },
    )  # fmt: skip
    st.download_button(
        "Save these numbers as CSV", lambda: table_csv(columns),
        f"{key.replace('_', '-')}.csv", "text/csv", on_click="ignore", key=f"save_{key}",
    )  # fmt: skip
