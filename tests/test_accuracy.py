"""The README's table of predicted against measured or published values is what the code gives."""

from pathlib import Path

import accuracy
import pytest

ALLOWED = {
    "measured": 9.4, "published": 1.0, "read off a chart": 2.4, "recomputed": 0.2,
    "another formula": 8.0,
}  # fmt: skip
"""Percent: twice the spread of the measurements themselves (4.7 % in quadrature); digits printed;
a hundredth of a chart's scale; recomputed to its digits; what formulas of the trade differ by."""


@pytest.mark.slow
def test_readme_table_is_current() -> None:
    """Identity: the README prints the table that `tests/accuracy.py` makes."""
    readme = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
    assert accuracy.table() in readme


@pytest.mark.slow
def test_every_row_lies_within_what_its_kind_allows() -> None:
    """Sources as named in each row; measured rows within the measurement's own spread."""
    for row in accuracy.rows():
        assert abs(row.error) <= ALLOWED[row.kind], row.line()
