"""Lines of text made into a grid of cells, each different cell text kept once.

Logs of hundreds of thousands of lines hold few different texts, so that what a text means is
asked once for each and looked up for all cells.
"""

import csv
import io
import itertools
import re
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.errors import InputError
from torquerisk.files.numbers_in_text import PLAIN, NumberStyle
from torquerisk.files.text import count_of, strict_number
from torquerisk.quantities import Array

MAX_CELLS = 60_000_000
"""The largest grid, empty ends of short lines included."""

_COLUMN_GAPS = {"spaces": re.compile(r" {2,}|\t+"), "blanks": re.compile(r"\s+")}
DELIMITERS = (",", ";", "\t", "|", "spaces", "blanks")
DELIMITER_WORDS = {
    ",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars", "spaces": "spaces",
    "blanks": "spaces",
}  # fmt: skip
_MARK = re.compile(r'(\s*"?)\s*#+(?!N/A) ?', re.IGNORECASE)


@dataclass(frozen=True)
class Lines:
    """The lines of a text, and which of them began with a mark '#', now taken off."""

    texts: list[str]
    comment: npt.NDArray[np.bool_]

    @classmethod
    def of(cls, text: str) -> "Lines":
        """Lines of a text with any of the usual line ends."""
        texts = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
        comment = np.zeros(len(texts), bool)
        for i, line in enumerate(texts):
            if "#" in line and (match := _MARK.match(line)) is not None:
                comment[i], texts[i] = True, match.group(1) + line[match.end() :]
        return cls(texts, comment)


@dataclass(frozen=True, eq=False)
class Grid:
    """Cells by line: indices into the different texts, -1 past a line's end."""

    numbers: npt.NDArray[np.int64]
    """Line number of each line of the grid."""
    codes: npt.NDArray[np.int64]
    texts: list[str]
    widths: npt.NDArray[np.int64]

    def cells(self, line: int) -> list[str]:
        """The cells of one line."""
        return [self.texts[c] for c in self.codes[line, : self.widths[line]]]

    def of_texts(self, style: NumberStyle) -> Array:
        """The number that each of the different texts spells, NaN where none."""
        number = strict_number if style == PLAIN else style.number
        return np.array([number(t) for t in self.texts], dtype=float)

    def values(self, style: NumberStyle) -> Array:
        """The number in each cell, NaN where there is none."""
        return np.append(self.of_texts(style), np.nan)[self.codes]

    def where(self, texts: npt.NDArray[np.bool_], ends: bool) -> npt.NDArray[np.bool_]:
        """True for the cells of these texts, and where `ends` for what lies past a line's end."""
        return np.asarray(np.append(texts, ends)[self.codes], dtype=bool)


def split(lines: list[str], delimiter: str, name: str) -> Grid:
    """The grid of lines split at a delimiter, quotes by RFC 4180.

    Raises InputError where a quotation mark is not closed or a line has far too many cells.
    """
    gap = _COLUMN_GAPS.get(delimiter)
    numbers = np.arange(1, len(lines) + 1)
    if gap is not None:
        rows = [gap.split(t.strip()) for t in lines]
    elif any('"' in t for t in lines):
        rows, numbers = _quoted(lines, delimiter, name)
    else:
        rows = [t.split(delimiter) for t in lines]
    widths = np.fromiter(map(len, rows), np.int64, len(rows))
    widest = int(widths.max())
    if widest * len(rows) > MAX_CELLS:
        raise InputError(
            f"{name} has {count_of(len(rows), 'line')} of up to {widest} cells, which is more than "
            "can be read; export only the pull and its channels."
        )
    texts: dict[str, int] = {}
    cells = itertools.chain.from_iterable(rows)
    found = np.fromiter((texts.setdefault(t, len(texts)) for t in cells), np.int64, widths.sum())
    codes = np.full((len(rows), widest), -1, dtype=np.int64)
    codes[np.arange(widest) < widths[:, None]] = found
    return Grid(numbers, codes, [t.strip() for t in texts], widths)


def _quoted(
    lines: list[str], delimiter: str, name: str
) -> tuple[list[list[str]], npt.NDArray[np.int64]]:
    """Cells by RFC 4180: quotes, doubled quotes; and the line at which each row begins."""
    reader = csv.reader(io.StringIO("\n".join(lines)), delimiter=delimiter, skipinitialspace=True)
    rows: list[list[str]] = []
    starts: list[int] = []
    before = 0
    try:
        for cells in reader:
            rows.append(cells)
            starts.append(before + 1)
            if reader.line_num > before + 1:
                raise InputError(
                    f"{name}: a cell in line {before + 1} runs over several lines; close the "
                    "quotation mark there."
                )
            before = reader.line_num
    except csv.Error:
        raise InputError(
            f"{name}: a cell is too long to be one; look for a quotation mark that is not closed."
        ) from None
    return rows, np.array(starts)
