"""A table as it was found in a file: headings, cells by column, the lines around it, the record."""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from torquerisk.quantities import Array

Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class Cells:
    """One column: numbers, NaN where there is none, and the first cell that is neither."""

    values: Array
    bad: Mask
    """True where a cell is neither a number nor a gap."""
    first_bad: str
    foreign: bool
    """True where a bad cell is a number in another style."""


@dataclass(kw_only=True)
class Table:
    """Headings and data rows of a file, with the lines around them and the record."""

    headings: list[tuple[str, ...]]
    lines: npt.NDArray[np.int64]
    """Line number of each data row."""
    columns: list[Cells]
    remarks: list[tuple[int, str, bool]] = field(default_factory=list)
    """Lines that are no row: number, text, whether a mark '#' began it."""
    how: str = ""
    """Delimiter and style of numbers, in words."""
    record: list[str] = field(default_factory=list)
    """Rows that were left out, and why."""
    decimals_hidden: bool = False
    """True where commas separate cells and no number has a decimal point."""
