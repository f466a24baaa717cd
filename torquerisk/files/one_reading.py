"""One way to split and read the lines of a file: its headings, its rows, and all else told."""

import csv
import itertools
import re
from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from torquerisk.errors import InputError
from torquerisk.files.grid import DELIMITER_WORDS, Grid, Lines
from torquerisk.files.headings import (
    is_all_vocabulary,
    is_unit,
    kind_and_size,
    read_heading,
)
from torquerisk.files.numbers_in_text import NumberStyle, is_gap, is_number_like
from torquerisk.files.table import Cells, Mask, Table
from torquerisk.files.text import count_of, quoted

FEW = 0.01
"""Share of rows that may be left out for a fault of their own [1]."""
_SUMMARY = re.compile(
    r"(?:max|maxima|maximum|peak|highest|average|avg|mean|median|min|minimum|minima|lowest|std|"
    r"stdev|sum|total|range|count)\b.*",
    re.IGNORECASE,
)
"""Words of a row that sums columns up and is none of the pull."""


class Reading:
    """One way to read the lines, taken apart step by step."""

    def __init__(
        self, grid: Grid, lines: Lines, delimiter: str, style: NumberStyle, name: str
    ) -> None:
        self.grid, self.name, self.delimiter, self.style = grid, name, delimiter, style
        numbers = grid.of_texts(style)
        self.values = np.append(numbers, np.nan)[grid.codes]
        self.text_is_number: Mask = np.isfinite(numbers)
        self.gap = grid.where(self._texts_that(is_gap), True)
        self.empty = grid.where(self._texts_that(lambda t: not t), True)
        self.lines = lines
        self.comment = lines.comment[grid.numbers - 1]
        self.blank: Mask = np.asarray(self.empty.all(axis=1), dtype=bool)
        self.counts = np.isfinite(self.values).sum(axis=1)
        self.number_rows = (self.counts >= 2) & ~self.comment
        self.like: dict[str, bool] = {}
        self.how = f"Columns are separated by {DELIMITER_WORDS[delimiter]}, {style.in_words()}."
        self.record: list[str] = []

    def _texts_that(self, are: Callable[[str], bool]) -> Mask:
        """True for those of the different texts, none of them a number, that are such."""
        found = np.zeros(len(self.grid.texts), bool)
        for i in np.flatnonzero(~self.text_is_number):
            found[i] = are(self.grid.texts[i])
        return found

    def table(self) -> Table:
        """The table, or InputError where there are no headings or too many faulty rows."""
        top, heading_rows = self._headings()
        heads = [self.grid.cells(i) for i in heading_rows]
        wide = max((i + 1 for cells in heads for i, c in enumerate(cells) if c.strip()), default=0)
        headings = [
            tuple(cells[i] if i < len(cells) else "" for cells in heads) for i in range(wide)
        ]
        below = heading_rows[-1] + 1
        last = int(np.flatnonzero(self._has_data(headings))[-1])
        rows = self._data_rows(below, last, heading_rows, wide)
        around = [*range(top), *range(last + 1, len(self.blank))]
        return Table(
            headings=headings,
            lines=self.grid.numbers[rows],
            columns=[self._cells(rows, i) for i in range(wide)],
            remarks=self._remarks(around, below, last),
            how=self.how,
            record=self.record,
            decimals_hidden=self._decimals_hidden(),
        )

    def _is_words(self, row: int) -> bool:
        """True where a row has words and no cell is a number in any style."""
        cells = [c for c in self.grid.cells(row) if not is_gap(c)]
        return bool(cells) and not any(self._like(c) for c in cells)

    def _like(self, cell: str) -> bool:
        if cell not in self.like:
            self.like[cell] = cell != "1" and is_number_like(cell)
        return self.like[cell]

    def _naming(self, row: int) -> bool:
        """True where a row of words names two channels, or one above a row of units."""
        cells = [c for c in self.grid.cells(row) if c]
        named = sum(read_heading((c,)).channel is not None for c in cells)
        if named >= 2 or named == 0:
            return named >= 2
        below = self._next(row)
        return below is not None and self._is_words(below) and (
            sum(is_unit(c.strip("[](){}")) for c in self.grid.cells(below)) >= 2
        )  # fmt: skip

    def _next(self, row: int) -> int | None:
        after = np.flatnonzero(~self.blank[row + 1 :])
        return row + 1 + int(after[0]) if len(after) else None

    def _word_rows(self) -> list[int]:
        rows = np.flatnonzero(~self.number_rows & ~self.blank)
        return [int(i) for i in rows[:2000] if self._is_words(int(i))]

    def _headings(self) -> tuple[int, list[int]]:
        """The first line of the headings, and the rows that make them."""
        words = self._word_rows()
        naming = [i for i in words if self._naming(i)]
        naming = [i for i in naming if not self.comment[i]] or naming
        groups = [i for i in naming if i - 1 not in naming]
        starts = np.flatnonzero(self.number_rows)
        groups = groups or self._words_above(words, starts)
        if not groups or not (starts > groups[0]).any():
            raise InputError(
                f"{self.name} has numbers from line {int(self.grid.numbers[starts[0]])} on but no "
                "headings that are known above them; write a row such as 'engine speed [rpm], "
                "torque [N·m]'."
            )
        main = self._main_group(groups, starts)
        first_number = int(starts[starts > main][0])
        rows = [i for i in range(main, first_number) if i in words and self._joins(i, main)]
        all_units = all(is_unit(c.strip("[](){}")) for c in self.grid.cells(main) if c)
        while rows[0] - 1 in words and (
            (self._is_head_above(rows[0] - 1) and not self._spoils(rows[0] - 1, rows))
            or (all_units and self._naming(rows[0] - 1))
        ):
            rows.insert(0, rows[0] - 1)
        return rows[0], rows

    def _words_above(self, words: list[int], starts: npt.NDArray[np.int64]) -> list[int]:
        """The row of as many unknown words right above the numbers, which a person may explain."""
        row = int(starts[0]) - 1
        wide = row >= 0 and self.grid.widths[row] == self.grid.widths[row + 1] > 1
        return [row] if row in words and wide and all(self.grid.cells(row)) else []

    def _joins(self, row: int, main: int) -> bool:
        """True for the heading itself and for rows below it that are made of cells."""
        return row == main or (
            self.grid.widths[row] > 1 and self.comment[row] == self.comment[main]
        )

    def _is_head_above(self, row: int) -> bool:
        cells = [c for c in self.grid.cells(row) if c]
        return self.grid.widths[row] > 1 and all(is_all_vocabulary(c) for c in cells)

    def _spoils(self, row: int, rows: list[int]) -> bool:
        """True for a title: with it some heading below names its channel less clearly."""
        title = self.grid.cells(row)
        for above, *below in zip(title, *(self.grid.cells(i) for i in rows), strict=False):
            alone, both = read_heading(tuple(below)), read_heading((above, *below))
            clear = alone.channel is not None and not alone.unknown
            if clear and (both.unknown or both.channel != alone.channel):
                return True
        return False

    def _main_group(self, groups: list[int], starts: npt.NDArray[np.int64]) -> int:
        """The heading with the most rows of numbers below it; refused where others have some."""
        edges = [*groups, len(self.blank)]
        sizes = [int(((starts > a) & (starts < b)).sum()) for a, b in itertools.pairwise(edges)]
        largest = int(np.argmax(sizes))
        first = next(i for i, g in enumerate(groups) if self._same(g, groups[largest]))
        for i, size in enumerate(sizes):
            if size >= 2 and not self._same(groups[i], groups[largest]):
                raise InputError(
                    f"{self.name}: line {int(self.grid.numbers[groups[max(i, first)]])} heads the "
                    "columns anew, with other names, order or other units; give each table a file "
                    "of its own."
                )
        width = self.grid.widths[starts[starts > groups[first]][0]]
        lone = [
            i
            for i in range(min(groups[0], 2000))
            if self.grid.widths[i] == width
            and not self.comment[i]
            and sum(self._like(c) for c in self.grid.cells(i)) >= 2
        ]
        if len(lone) >= 2:
            raise InputError(
                f"{self.name} has {len(lone)} rows of numbers above the heading in line "
                f"{int(self.grid.numbers[groups[first]])}; put the heading above all rows, or take "
                "those rows out."
            )
        if lone:
            self.record.append(
                f"Line {int(self.grid.numbers[lone[0]])}, a row of numbers above the heading, is "
                "left out."
            )
        return groups[first]

    def _meaning(self, row: int) -> dict[int, tuple[object, ...]]:
        """What a heading says by column, with the row of units below it if there is one."""
        below = self._next(row)
        units = [] if below is None or not self._is_words(below) else self.grid.cells(below)
        cells = self.grid.cells(row)
        units += [""] * (len(cells) - len(units))
        said = {i: read_heading((c, u)) for i, (c, u) in enumerate(zip(cells, units, strict=False))}
        return {
            i: (
                h.channel,
                kind_and_size(h.unit) if h.unit else None,
                h.scale,
                h.place,
                h.correction,
            )
            for i, h in said.items()
            if h.channel is not None
        }

    def _same(self, one: int, other: int) -> bool:
        """True where two headings say the same of every column that both name."""
        first, second = self._meaning(one), self._meaning(other)
        return all(
            a == b or None in (a, b)
            for i in first.keys() & second.keys()
            for a, b in zip(first[i], second[i], strict=True)
        )

    def _has_data(self, headings: list[tuple[str, ...]]) -> Mask:
        """True for a row of two numbers, or of one where speed stands."""
        speed = [i for i, texts in enumerate(headings) if read_heading(texts).channel == "speed"]
        has = self.number_rows.copy()
        for i in speed:
            has |= np.isfinite(self.values[:, i]) & ~self.comment
        return has

    def _data_rows(
        self, below: int, last: int, heading_rows: list[int], wide: int
    ) -> npt.NDArray[np.int64]:
        """The rows of data, after repeated headings, summaries and faulty rows are left out."""
        rows = np.arange(below, last + 1)
        rows = rows[~self.blank[rows] & ~self.comment[rows]]
        rows = rows[~self._repeats(rows, heading_rows)]
        rows = rows[~self._summaries(rows)]
        too_long: Mask = np.zeros(len(rows), bool)
        if self.values.shape[1] > wide:
            too_long = np.asarray(~self.empty[rows][:, wide:].all(axis=1), dtype=bool)
        faulty = (self.grid.widths[rows] < wide) | too_long
        if faulty.any():
            self._tell_faulty(rows, faulty, wide)
        return rows[~faulty]

    def _tell_faulty(self, rows: npt.NDArray[np.int64], faulty: Mask, wide: int) -> None:
        first = int(rows[np.argmax(faulty)])
        line, cells = int(self.grid.numbers[first]), int(self.grid.widths[first])
        only_last = faulty[-1] and faulty.sum() == 1 and cells < wide
        if not only_last and faulty.sum() > FEW * len(rows):
            raise InputError(
                f"{self.name}: line {line} has {cells} cells where the headings name {wide} "
                "columns; look for a missing or an extra separator there."
            )
        told = "the last line, which is cut short" if only_last else f"the first in line {line}"
        self.record.append(
            f"{count_of(int(faulty.sum()), 'row')} left out with more or fewer cells than the "
            f"{wide} columns: {told}."
        )

    def _repeats(self, rows: npt.NDArray[np.int64], heading_rows: list[int]) -> Mask:
        known = [self._plain(i) for i in heading_rows]
        repeated = np.zeros(len(rows), bool)
        for at in np.flatnonzero(self.counts[rows] == 0):
            row = int(rows[at])
            repeated[at] = self._is_words(row) and (
                self._plain(row) in known
                or self._naming(row)
                or all(is_unit(c.strip("[](){}")) for c in self.grid.cells(row) if c)
            )
        if repeated.any():
            self.record.append(
                f"{count_of(int(repeated.sum()), 'repeated heading row')} among the data left out."
            )
        return repeated

    def _plain(self, row: int) -> tuple[str, ...]:
        return tuple(c.casefold() for c in self.grid.cells(row) if c)

    def _summaries(self, rows: npt.NDArray[np.int64]) -> Mask:
        """Rows with a word such as Max or Average in a column that otherwise has none."""
        sums_up = self._texts_that(lambda t: _SUMMARY.fullmatch(t) is not None)
        marked = self.grid.where(sums_up, False)[rows]
        marked |= self._last_words(rows)
        usual = marked.mean(axis=0) > FEW + 4 / max(len(rows), 1)
        found = np.asarray(marked[:, ~usual].any(axis=1), dtype=bool)
        if found.any():
            first = int(rows[np.argmax(found)])
            self.record.append(
                f"{count_of(int(found.sum()), 'row')} that sums up the columns left out, the first "
                f"in line {int(self.grid.numbers[first])}: "
                f"{quoted(' '.join(self.grid.cells(first)))}."
            )
        return found

    def _last_words(self, rows: npt.NDArray[np.int64]) -> Mask:
        """Cells of the last rows with a word in a column that has none in any row above."""
        words = ~np.isfinite(self.values[rows]) & ~self.gap[rows]
        if len(rows) < 8:
            return np.zeros_like(words)
        above = words[:-3].any(axis=0)
        words[:-3] = False
        return np.asarray(words & ~above, dtype=bool)

    def _cells(self, rows: npt.NDArray[np.int64], column: int) -> Cells:
        values = self.values[rows, column]
        bad = ~np.isfinite(values) & ~self.gap[rows, column]
        texts = {self.grid.texts[c] for c in np.unique(self.grid.codes[rows[bad], column])}
        first = self.grid.texts[self.grid.codes[rows[np.argmax(bad)], column]] if bad.any() else ""
        foreign = [t for t in texts if is_number_like(t)]
        if foreign:
            at = [self.grid.texts[c] in foreign for c in self.grid.codes[rows, column]]
            bad, first = bad & np.array(at), foreign[0]
            first = self.grid.texts[self.grid.codes[rows[np.argmax(bad)], column]]
        return Cells(values=values, bad=bad, first_bad=first, foreign=bool(foreign))

    def _remarks(self, around: list[int], below: int, last: int) -> list[tuple[int, str, bool]]:
        """Lines that are no rows: their number, text, and whether a mark '#' began them."""
        among = [below + int(i) for i in np.flatnonzero(self.comment[below : last + 1])]
        return [
            (int(self.grid.numbers[i]), self._as_text(i), bool(self.comment[i]))
            for i in sorted((*around, *among))
            if not self.blank[i]
        ]

    def _as_text(self, row: int) -> str:
        """A line as text; of several cells the first as a key where it has no mark of its own."""
        if self.comment[row]:
            text = self.lines.texts[int(self.grid.numbers[row]) - 1].strip()
            return next(csv.reader([text]), [text])[0].strip() if text.startswith('"') else text
        first, *rest = [c for c in self.grid.cells(row) if c]
        mark = ":" if rest and not re.search(r"[:=]", first) else ""
        return " ".join([first + mark, *rest])

    def _decimals_hidden(self) -> bool:
        """True where commas separate cells and no number has a decimal mark."""
        return self.delimiter == "," and not any(
            "." in text or "," in text
            for text, number in zip(self.grid.texts, self.text_is_number, strict=True)
            if number
        )
