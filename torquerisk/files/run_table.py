"""Text made into a table of cells: delimiter, decimal mark, headings, units row, preamble, footer.

Every delimiter is tried with every decimal and thousands mark; the longest block of rows of equal
width that are full of strict numbers decides.
"""

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from torquerisk.errors import InputError
from torquerisk.files.channel_names import BY_NAME
from torquerisk.files.run_columns import is_units_row, known_headings, split_heading
from torquerisk.files.text import count_of, quoted, strict_number

MAX_LINES = 200_000
_SAMPLE = 2000
_NUMBER_LIKE = re.compile(r"[+-]?[0-9.,][0-9., ']*[0-9.,](?:[eE][+-]?[0-9]+)?")

_GAPS = frozenset(
    ("", "na", "n/a", "#n/a", "nan", "null", "none", "-", "--", "---", "—", "–", "#nv", "?")
)

_COLUMN_GAPS = {"spaces": re.compile(r" {2,}|\t+"), "blanks": re.compile(r"\s+")}
_DELIMITERS = (",", ";", "\t", "|", "spaces", "blanks")
_DELIMITER_WORDS = {
    ",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars", "spaces": "spaces",
    "blanks": "spaces",
}  # fmt: skip


@dataclass(frozen=True)
class NumberStyle:
    """Decimal and thousands mark of the numbers in a file."""

    decimal: str
    thousands: str

    def number(self, text: str) -> float | None:
        """The strict number that a cell spells in this style, or None."""
        if self.decimal == "." and not self.thousands:
            return strict_number(text)
        text = text.strip().replace("\u00a0", " ").replace("\u202f", " ")
        if self.thousands and self.thousands in text:
            if not _GROUPED[self].fullmatch(text):
                return None
            text = text.replace(self.thousands, "")
        if self.decimal == ",":
            if "." in text:
                return None
            text = text.replace(",", ".")
        return strict_number(text)

    def in_words(self) -> str:
        """The style as the record tells it."""
        names = {".": "point", ",": "comma", " ": "space", "'": "apostrophe"}
        words = f"decimal {names[self.decimal]}"
        return f"{words}, thousands {names[self.thousands]}" if self.thousands else words


_STYLES = (
    NumberStyle(".", ""),
    NumberStyle(",", ""),
    NumberStyle(".", ","),
    NumberStyle(",", "."),
    NumberStyle(".", " "),
    NumberStyle(",", " "),
    NumberStyle(".", "'"),
)

_GROUPED = {
    style: re.compile(
        rf"[+-]?[1-9][0-9]{{0,2}}(?:{re.escape(style.thousands)}[0-9]{{3}})+"
        rf"(?:{re.escape(style.decimal)}[0-9]*)?"
    )
    for style in _STYLES
    if style.thousands
}


def is_gap(text: str) -> bool:
    """True for a cell that says 'no value'; a gap is never zero."""
    return text.strip().casefold() in _GAPS


@dataclass(frozen=True)
class Line:
    """One line of the file as cells."""

    number: int
    cells: list[str]

    @property
    def blank(self) -> bool:
        """True when every cell is empty."""
        return not any(c.strip() for c in self.cells)


@dataclass(kw_only=True)
class Table:
    """Headings, units and data cells of a file, with the record of how they were found."""

    delimiter: str
    style: NumberStyle
    headings: list[str]
    units: list[str]
    rows: list[Line]
    record: list[str] = field(default_factory=list)


def split_comments(text: str) -> tuple[list[tuple[int, str]], list[tuple[int, str]]]:
    """Comment lines without their mark '#', and all other lines, each with its line number."""
    comments: list[tuple[int, str]] = []
    others: list[tuple[int, str]] = []
    for number, line in enumerate(text.replace("\r\n", "\n").replace("\r", "\n").split("\n"), 1):
        match = re.match(r'\s*"?\s*#+(?!N/A)\s?(.*)', line, re.IGNORECASE)
        if match is None:
            others.append((number, line))
            continue
        comment = match.group(1)
        if line.lstrip().startswith('"'):
            comment = next(csv.reader([line.strip()]), [line])[0].lstrip().lstrip("#").strip()
        comments.append((number, comment))
    return comments, others


def tables(lines: list[tuple[int, str]], name: str) -> list[Table]:
    """The readings of the lines as a table, best first; more than one only where they rival.

    Raises InputError when no block of numbers or no headings are found.
    """
    if len(lines) > MAX_LINES:
        raise InputError(f"{name} has more than {MAX_LINES} lines; export only the pull.")
    scored = sorted(_candidates(lines), key=lambda c: -c[0])
    if not scored:
        raise InputError(
            f"{name} holds no table of numbers; it needs a row of headings with units, such as "
            "'engine speed [rpm], torque [N·m]', and a row of numbers for each speed."
        )
    best = scored[0][0]
    rivals = [c for c in scored if c[0] >= 0.98 * best]
    found: list[Table] = []
    first_error: InputError | None = None
    for _, delimiter, style, start in rivals:
        try:
            found.append(_table(_split(lines, delimiter), delimiter, style, start, name))
        except InputError as error:
            first_error = first_error or error
        except csv.Error:
            first_error = InputError(
                f"{name}: a cell is too long to be one; look for a quotation mark that is not "
                "closed."
            )
    if not found and first_error is not None:
        raise first_error
    return found


def _split(lines: list[tuple[int, str]], delimiter: str) -> list[Line]:
    gap = _COLUMN_GAPS.get(delimiter)
    if gap is not None:
        return [Line(n, gap.split(text.strip())) for n, text in lines]
    if any('"' in text for _, text in lines):
        return list(_split_quoted(lines, delimiter))
    return [Line(n, [c.strip() for c in text.split(delimiter)]) for n, text in lines]


def _split_quoted(lines: list[tuple[int, str]], delimiter: str) -> Iterator[Line]:
    """Cells by RFC 4180: quotes, doubled quotes, line breaks inside quotes."""
    reader = csv.reader(io.StringIO("\n".join(t for _, t in lines)), delimiter=delimiter)
    before = 0
    for cells in reader:
        yield Line(lines[min(before, len(lines) - 1)][0], [c.strip() for c in cells])
        before = reader.line_num


Candidate = tuple[float, str, NumberStyle, int]


def _candidates(lines: list[tuple[int, str]]) -> Iterator[Candidate]:
    """Score, delimiter, style and first line of the longest block of numbers, for each reading."""
    sample = lines[:_SAMPLE]
    joined = "\n".join(text for _, text in sample)
    for delimiter in _DELIMITERS:
        if len(delimiter) == 1 and delimiter not in joined:
            continue
        if delimiter in _COLUMN_GAPS and any(d in joined for d in ";\t|"):
            continue
        try:
            split = _split(sample, delimiter)
        except csv.Error:
            continue
        seen: set[tuple[float | None, ...]] = set()
        for style in _STYLES:
            if style.thousands and not re.search(
                rf"[0-9]{re.escape(style.thousands)}[0-9]{{3}}(?![0-9])", joined
            ):
                continue
            score, start, values = _longest_block(split, style)
            if score > 0 and values not in seen:
                seen.add(values)
                yield score, delimiter, style, start


def _longest_block(
    lines: list[Line], style: NumberStyle
) -> tuple[float, int, tuple[float | None, ...]]:
    """Score and first line of the best run of rows of equal width, and its values.

    A row counts with two numbers or more; each number adds one.
    """
    best: tuple[float, int, list[float | None]] = (0.0, 0, [])
    score, start, width = 0.0, 0, -1
    values: list[float | None] = []
    for index, line in enumerate(lines):
        numbers = [style.number(c) for c in line.cells]
        count = sum(n is not None for n in numbers)
        if count < 2:
            width = -1 if not line.blank else width
            continue
        if len(line.cells) != width:
            score, start, width, values = 0.0, index, len(line.cells), []
        score += count
        values += numbers
        if score > best[0]:
            best = (score, start, values)
    return best[0], best[1], tuple(best[2])


def _table(lines: list[Line], delimiter: str, style: NumberStyle, start: int, name: str) -> Table:
    headings, units, first, below = _headings(lines, start, name)
    record = [f"Columns are separated by {_DELIMITER_WORDS[delimiter]}, {style.in_words()}."]
    preamble = [line for line in lines[:first] if not line.blank]
    if preamble:
        record.append(
            f"{count_of(len(preamble), 'line')} above the headings passed over, the first "
            f"{quoted(' '.join(preamble[0].cells))}."
        )
    width = max(i + 1 for i, h in enumerate(headings) if h.strip() or units[i].strip())
    data = [line for line in lines[below:] if not line.blank]
    speed = [i for i, h in enumerate(headings) if BY_NAME.get(split_heading(h).name) == "speed"]
    last = next(i for i in reversed(range(len(data))) if _is_data(data[i], speed, style))
    rows, repeated = _data_rows(data[: last + 1], headings, width, name)
    if repeated:
        record.append(f"{count_of(repeated, 'repeated heading row')} among the data left out.")
    footer = data[last + 1 :]
    if footer:
        record.append(
            f"{count_of(len(footer), 'line')} below the data passed over, the first "
            f"{quoted(' '.join(footer[0].cells))} in line {footer[0].number}."
        )
        _refuse_open_quote(footer, name)
    return Table(
        delimiter=delimiter,
        style=style,
        headings=headings[:width],
        units=units[:width],
        rows=rows,
        record=record,
    )


def _is_data(line: Line, speed_columns: list[int], style: NumberStyle) -> bool:
    """True for a row with a number where speed stands, or with two numbers anywhere."""
    numbers = [style.number(c) is not None for c in line.cells]
    return sum(numbers) >= 2 or any(numbers[i] for i in speed_columns if i < len(numbers))


def _data_rows(
    data: list[Line], headings: list[str], width: int, name: str
) -> tuple[list[Line], int]:
    """The rows cut to the width of the headings, and how many repeated headings were dropped."""
    _refuse_open_quote(data, name)
    rows: list[Line] = []
    for line in data:
        if _is_words(line) and (_is_repeat(line.cells, headings) or is_units_row(line.cells)):
            continue
        if len(line.cells) < width or any(c.strip() for c in line.cells[width:]):
            raise InputError(
                f"{name}: line {line.number} has {len(line.cells)} cells where the headings name "
                f"{width} columns; look for a missing or an extra separator there."
            )
        rows.append(Line(line.number, line.cells[:width]))
    return rows, len(data) - len(rows)


def _refuse_open_quote(lines: list[Line], name: str) -> None:
    for line in lines:
        if any("\n" in c for c in line.cells):
            raise InputError(
                f"{name}: a cell in line {line.number} runs over several lines; close the "
                "quotation mark there."
            )


def _headings(lines: list[Line], start: int, name: str) -> tuple[list[str], list[str], int, int]:
    """Headings, units row (empty texts where there is none), their first line, the line below."""
    above = [i for i in range(start) if not lines[i].blank]
    words = [i for i in above if _is_words(lines[i])]
    best = max(words, key=lambda i: (known_headings(lines[i].cells), i), default=None)
    if best is None or known_headings(lines[best].cells) == 0:
        raise InputError(
            f"{name} has numbers from line {lines[start].number} on but no headings that are known "
            "above them; write a row such as 'engine speed [rpm], torque [N·m]'."
        )
    best = next(i for i in words if lines[i].cells == lines[best].cells)
    headings, units, below = lines[best].cells, [""], best + 1
    after = [i for i in above if i > best][:1]
    if after and is_units_row(lines[after[0]].cells):
        units, below = lines[after[0]].cells, after[0] + 1
    wide = max(len(headings), len(units))
    headings = headings + [""] * (wide - len(headings))
    units = units + [""] * (wide - len(units))
    return headings, units, best, below


def _is_words(line: Line) -> bool:
    """True where no cell is a number of more than one digit, in any style."""
    return not any(_NUMBER_LIKE.fullmatch(c) for c in line.cells)


def _is_repeat(cells: list[str], headings: list[str]) -> bool:
    given = [c.strip().casefold() for c in cells if c.strip()]
    return bool(given) and given == [h.strip().casefold() for h in headings if h.strip()]


__all__ = ["Line", "NumberStyle", "Table", "is_gap", "split_comments", "tables"]
