"""One pull of known truth in hundreds of dresses, each with what a reading of it must be.

The pull is invented. What people and loggers write around it is common practice, no source.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

RPM = np.pi / 30
LB_FT = 0.3048 * 0.45359237 * 9.80665
HP, PS, PSI = 550 * LB_FT, 735.49875, 0.45359237 * 9.80665 / 0.0254**2
"""Sizes of inch units [N*m, W, Pa]: NIST SP 811, from exact definitions."""
AMBIENT = 101325.0

SPEED = np.array([2003.4 + 200 * i for i in range(25)])
"""[rpm]"""
TORQUE = 402.7 - 1.9e-5 * (SPEED - 4212.0) ** 2
"""[N*m]"""
TRUTH = {
    "speed": SPEED * RPM,
    "torque": TORQUE,
    "power": SPEED * RPM * TORQUE,
    "manifold_pressure": 1e3 * (158.4 + 0.004 * (SPEED - 2000)),
    "ignition_advance": np.radians(8.25 + 0.0021 * (SPEED - 2000)),
    "lambda_": 0.905 - 1e-5 * (SPEED - 2000),
    "intake_temperature": 273.15 + 31.3 + 0.002 * (SPEED - 2000),
    "coolant_pressure": 1e3 * (82.4 + 0.003 * (SPEED - 2000)),
}
"""The pull in SI, absolute pressures but for the coolant's."""


@dataclass(frozen=True)
class Col:
    """A column: heading, unit as written, and the number written for an SI value."""

    name: str
    unit: str
    channel: str
    size: float = 1.0
    offset: float = 0.0

    def cells(self) -> list[str]:
        values = (TRUTH[self.channel] - self.offset) / self.size
        return [f"{v:.{5 if abs(v) < 20 else 2}f}" for v in values]


N = Col("engine speed", "rpm", "speed", RPM)
T = Col("torque", "N·m", "torque")
P = Col("power", "kW", "power", 1e3)
MAP = Col("manifold pressure", "kPa abs", "manifold_pressure", 1e3)
IGN = Col("ignition advance", "deg", "ignition_advance", np.pi / 180)
LAM = Col("lambda", "-", "lambda_")
IAT = Col("intake temperature", "°C", "intake_temperature", 1.0, 273.15)
CLP = Col("coolant pressure", "kPa gauge", "coolant_pressure", 1e3)
PLAIN = (N, T, MAP, LAM)


@dataclass(frozen=True)
class Sheet:
    """A table before it is written: lines above, heading rows, rows of cells, lines below."""

    cols: tuple[Col, ...] = PLAIN
    heads: tuple[tuple[str, ...], ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    above: tuple[str, ...] = ()
    below: tuple[str, ...] = ()
    facts: dict[str, str] = field(default_factory=dict)
    good: bool = True
    told: tuple[str, ...] = ()
    """Words of which one must be told where a doubtful file is read otherwise than the truth."""


@dataclass(frozen=True)
class Dress:
    """A file, the facts it states, and whether it must be read or may be refused or told."""

    label: str
    data: bytes
    channels: tuple[str, ...]
    facts: dict[str, str]
    good: bool
    told: tuple[str, ...]


@dataclass(frozen=True)
class Syntax:
    """How cells become text."""

    label: str
    delimiter: str = ","
    decimal: str = "."
    quotes: bool = False
    encoding: str = "utf-8"
    newline: str = "\n"
    tail: str = ""

    def cell(self, text: str, number: bool) -> str:
        if number:
            text = text.replace(".", self.decimal)
        clash = self.delimiter in text or '"' in text
        return '"' + text.replace('"', '""') + '"' if self.quotes or clash else text

    def line(self, cells: tuple[str, ...], number: bool) -> str:
        if self.delimiter == "    ":
            return "    ".join((c or "-").replace(".", self.decimal) if number else c or "-"
                               for c in cells)  # fmt: skip
        return self.delimiter.join(self.cell(c, number) for c in cells) + self.tail

    def write(self, sheet: Sheet) -> bytes:
        sheet = filled(sheet)
        lines = [a.replace("\x1f", self.delimiter) for a in sheet.above]
        lines += [self.line(h, False) for h in sheet.heads]
        for row in sheet.rows:
            numbers = not any(c in row for c in ("@heading",))
            lines.append(self.line(tuple(c for c in row if c != "@heading"), numbers))
        lines += [b.replace("\x1f", self.delimiter) for b in sheet.below]
        return (self.newline.join(lines) + self.newline).encode(self.encoding)


SYNTAXES = (
    Syntax("comma"),
    Syntax("semicolon", ";"),
    Syntax("semicolon, decimal comma", ";", ","),
    Syntax("tab", "\t"),
    Syntax("tab, decimal comma", "\t", ","),
    Syntax("bar", "|"),
    Syntax("spaces", "    "),
    Syntax("quoted", quotes=True),
    Syntax("quoted, decimal comma", decimal=",", quotes=True),
    Syntax("UTF-8 with mark", encoding="utf-8-sig"),
    Syntax("UTF-16", encoding="utf-16"),
    Syntax("UTF-16 without mark", ";", encoding="utf-16-le"),
    Syntax("Windows-1252", ";", ",", encoding="cp1252"),
    Syntax("CR LF", newline="\r\n"),
    Syntax("CR", newline="\r"),
    Syntax("trailing delimiter", tail=","),
    Syntax("trailing delimiters", ";", tail=";;;"),
)
BASES = tuple(SYNTAXES[i] for i in (0, 2, 3, 5))


def filled(sheet: Sheet) -> Sheet:
    """The sheet with heading rows and rows of numbers where it has none of its own."""
    heads = sheet.heads or (tuple(f"{c.name} [{c.unit}]" if c.unit else c.name
                                  for c in sheet.cols),)  # fmt: skip
    rows = sheet.rows or tuple(zip(*(c.cells() for c in sheet.cols), strict=True))
    return replace(sheet, heads=heads, rows=rows)


def dress(label: str, sheet: Sheet, syntax: Syntax) -> Dress:
    channels = tuple(c.channel for c in sheet.cols if c.channel not in ("speed", "power"))
    return Dress(
        f"{label} / {syntax.label}", syntax.write(sheet), channels, sheet.facts, sheet.good,
        sheet.told,
    )  # fmt: skip


Change = Callable[[Sheet], Sheet]


def lead(head: str, cells: Callable[[int], str] | str) -> Change:
    """A column in front; `cells` the same for all rows or made from a row's place."""

    def change(sheet: Sheet) -> Sheet:
        s = filled(sheet)
        more = [cells if isinstance(cells, str) else cells(i) for i in range(len(s.rows))]
        first = (head, *[""] * (len(s.heads) - 1))
        return replace(
            s,
            heads=tuple((a, *h) for a, h in zip(first, s.heads, strict=True)),
            rows=tuple((a, *r) for a, r in zip(more, s.rows, strict=True)),
        )

    return change


def trail(head: str, cells: Callable[[int], str] | str) -> Change:
    """A column behind."""

    def change(sheet: Sheet) -> Sheet:
        s = filled(sheet)
        more = [cells if isinstance(cells, str) else cells(i) for i in range(len(s.rows))]
        last = (head, *[""] * (len(s.heads) - 1))
        return replace(
            s,
            heads=tuple((*h, a) for a, h in zip(last, s.heads, strict=True)),
            rows=tuple((*r, a) for a, r in zip(more, s.rows, strict=True)),
        )

    return change


def above(*lines: str, facts: dict[str, str] | None = None, told: tuple[str, ...] = (),
          good: bool = True) -> Change:  # fmt: skip
    return lambda s: replace(
        s,
        above=(*s.above, *lines),
        facts={**s.facts, **(facts or {})},
        told=(*s.told, *told),
        good=s.good and good,
    )


def below(*lines: str, facts: dict[str, str] | None = None) -> Change:
    return lambda s: replace(s, below=(*s.below, *lines), facts={**s.facts, **(facts or {})})


def summed(sheet: Sheet, column: int, how: Callable[..., float]) -> str:
    """One column summed up, empty where it holds no numbers."""
    texts = [r[column] for r in sheet.rows if len(r) > column and "@heading" not in r]
    numbers = [float(t) for t in texts if re.fullmatch(r"-?[0-9.]+", t)]
    return f"{how(numbers):.2f}" if numbers else ""


def summary(word: str, how: Callable[..., float], *, blank: bool = False) -> Change:
    """A last row that sums the columns up, its word in a column in front."""

    def change(sheet: Sheet) -> Sheet:
        s = filled(lead("", "")(sheet))
        row = (word, *(summed(s, i, how) for i in range(1, len(s.rows[0]))))
        return replace(s, rows=(*s.rows, *([("",) * len(row)] if blank else []), row))

    return change


def summary_in_speed(word: str) -> Change:
    """A last row whose word stands where the speed would."""

    def change(sheet: Sheet) -> Sheet:
        s = filled(sheet)
        tops = (summed(s, i, max) for i in range(1, len(s.rows[0])))
        return replace(s, rows=(*s.rows, (word, *tops)))

    return change


def insert(at: int, *rows: Callable[[Sheet], tuple[str, ...]]) -> Change:
    """Rows put in at a place, each made from the sheet."""

    def change(sheet: Sheet) -> Sheet:
        s = filled(sheet)
        made = tuple(r(s) for r in rows)
        return replace(s, rows=(*s.rows[:at], *made, *s.rows[at:]))

    return change


def lifted(at: int, speed: float) -> Callable[[Sheet], tuple[str, ...]]:
    """A row at a speed with hardly any torque, else as the one before it."""

    def row(s: Sheet) -> tuple[str, ...]:
        changed = {"speed": speed * RPM, "torque": 4.0, "power": speed * RPM * 4.0}
        cells = list(s.rows[at - 1])
        heads = [re.sub(r"[^a-z]", "", h.casefold()) for h in s.heads[0]]
        for c in s.cols:
            name = re.sub(r"[^a-z]", "", c.name.casefold())
            if c.channel in changed:
                at_column = next(i for i, h in enumerate(heads) if h.startswith(name))
                cells[at_column] = f"{(changed[c.channel] - c.offset) / c.size:.4f}"
        return tuple(cells)

    return row


def bad_cell(row: int, column: int, text: str) -> Change:
    def change(sheet: Sheet) -> Sheet:
        s = filled(sheet)
        rows = [list(r) for r in s.rows]
        rows[row][column] = text
        return replace(s, rows=tuple(map(tuple, rows)))

    return change


def heading_again(at: int) -> Change:
    return insert(at, lambda s: (*s.heads[0], "@heading"))


def thousands(mark: str) -> Change:
    """Engine speeds with a mark between thousands."""

    def change(sheet: Sheet) -> Sheet:
        s = filled(sheet)
        rows = tuple((f"{float(r[0]):,.1f}".replace(",", mark), *r[1:]) for r in s.rows)
        return replace(s, rows=rows)

    return change


def count(row: int) -> str:
    return str(row + 1)
