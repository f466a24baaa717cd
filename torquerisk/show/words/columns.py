"""A table's columns, each described once: text, report, page, CSV and JSON read the same ones.

A face names the columns that it shows by their keys, in its own order; the list's own order is that
of JSON.
"""

import dataclasses
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Generic, NamedTuple, TypeVar

from torquerisk.files.exports import TableColumn
from torquerisk.quantities import RPM
from torquerisk.show.words import prose
from torquerisk.show.words.prose import ShownUnit, Units
from torquerisk.study.answers.results import Band

Row = TypeVar("Row")
Of = TypeVar("Of")
Triple = tuple[float, float, float]


class At(NamedTuple, Generic[Of]):
    """A row that is a result at one speed of its grid."""

    of: Of
    k: int


def triple(values: Band, k: int) -> Triple:
    """The three points of a band at one speed [SI]."""
    return float(values.p05[k]), float(values.p50[k]), float(values.p95[k])


@dataclass(frozen=True, kw_only=True)
class Shown:
    """What the cells of a table are written for."""

    units: Units = Units.SI
    draws: int = 0
    decimals: int = 0
    """Of a torque limit, as its step and units need them."""
    step: float = 0.0
    """Of a table's torques [N*m]."""
    titles: Mapping[str, str] = field(default_factory=dict)
    """Of the limits by name."""
    pulls: int = 0
    of: str = ""
    """What a column is of, where several have it."""


@dataclass(frozen=True, kw_only=True)
class Column(Generic[Row]):
    """One column: its value, and how it is headed and written for people."""

    key: str
    """In JSON, where the value is over `size`."""
    value: Callable[[Row], Any]
    """A number, or three points of a spread [SI], or a word; None where there is none."""
    size: float = 1.0
    """Of the unit [SI]; torque and power have that of `measure` for people."""
    measure: Callable[[Units], ShownUnit] | None = None
    unit: str = ""
    text: str = ""
    """Heading in lines of 80 columns."""
    name: str = ""
    """Heading where there is room."""
    report_unit: str = ""
    """Unit in the report, where it is not `unit`."""
    number: Callable[[Row], float | None] | None = None
    """In `unit`, where it is rounded for people even in a file."""
    cell: Callable[[Row, Shown], str] | None = None
    """In words, where it is not the plain number."""
    decimals: int = 0
    words: bool = False
    """Set to the left."""
    counted: bool = False
    """A chance: in words a count of simulated engines."""
    part: str = ""
    """Of a spread in words: its 'middle' or its 'range', where not both."""
    none: str = ""
    """What stands in words where there is no value."""
    json: bool = True

    def _headed(self, template: str, shown: Shown) -> str:
        unit = self.unit_in(shown.units)
        return template.format(
            unit=unit, short=unit.partition(" ")[0], draws=f"{shown.draws:,}",
            pulls=f"{shown.pulls:,}", of=shown.of,
        )  # fmt: skip

    def headed(self, shown: Shown) -> str:
        """Heading in lines of 80 columns."""
        return self._headed(self.text, shown)

    def named(self, shown: Shown) -> tuple[str, str]:
        """Heading where there is room, and the unit to follow it."""
        return self._headed(self.name, shown), self._headed(self.report_unit or "{unit}", shown)

    def unit_in(self, units: Units) -> str:
        """Its unit for people."""
        return self.unit if self.measure is None else self.measure(units).name

    def in_words(self, row: Row, shown: Shown) -> str:
        """Its cell for people."""
        if self.cell is not None:
            return self.cell(row, shown)
        value = self.shown(row, shown.units)
        if value is None or isinstance(value, str):
            return value or self.none
        if self.counted:
            return prose.chance_count(value, shown.draws)
        if isinstance(value, tuple):
            middle, low, high = prose.middle_low_high(*value)
            told = {"middle": middle, "range": f"{low} to {high}"}
            return told.get(self.part) or f"{middle} ({low} to {high})"
        return prose.plain(value, self.decimals)

    def shown(self, row: Row, units: Units = Units.SI) -> Any:
        """Its value in the unit that people are shown."""
        if self.number is not None:
            return self.number(row)
        value = self.value(row)
        if value is None or isinstance(value, str):
            return value
        size = self.size if self.measure is None else self.measure(units).size
        if isinstance(value, tuple):
            low, middle, high = (float(v) / size for v in value)
            return low, middle, high
        return float(value) / size


def speed(of: Callable[[Row], Any]) -> Column[Row]:
    """The column of engine speeds that leads a table. of: [rad/s]."""
    return Column(key="speed_rpm", value=of, size=RPM, unit="rpm", text="rpm", name="speed")


def chosen(columns: Iterable[Column[Row]], keys: Iterable[str]) -> list[Column[Row]]:
    """Columns by their keys."""
    by_key = {column.key: column for column in columns}
    return [by_key[key] for key in keys]


SMALL = {"power_kw": prose.SMALL_POWER, "peak_power_kw": prose.SMALL_POWER, "torque_n_m": 20.0}
"""Power [W] and torque [N*m] of small engines: where no row has more, a tenth is shown."""


def fitted(columns: Iterable[Column[Row]], rows: Sequence[Row]) -> list[Column[Row]]:
    """The columns with a tenth more in those that hold a small engine's power or torque."""
    made = []
    for column in columns:
        most = SMALL.get(column.key)
        if most is not None and column.cell is None:
            values = [v for row in rows if isinstance(v := column.value(row), int | float)]
            if values and max(values) < most:
                column = dataclasses.replace(column, decimals=max(column.decimals, 1))
        made.append(column)
    return made


def in_words(columns: Sequence[Column[Row]], rows: Iterable[Row], shown: Shown) -> list[list[str]]:
    """Cells for people, a list for every row."""
    rows = list(rows)
    columns = fitted(columns, rows)
    return [[column.in_words(row, shown) for column in columns] for row in rows]


def worded(columns: Sequence[Column[Row]], rows: Sequence[Row], shown: Shown) -> list[TableColumn]:
    """Columns of words for the page."""
    made = []
    for column in fitted(columns, rows):
        name, unit = column.named(shown)
        cells = [column.in_words(row, shown) for row in rows]
        made.append(TableColumn(name=name, unit=unit, values=cells))
    return made


def numbers(
    columns: Iterable[Column[Row]], rows: Sequence[Row], shown: Shown
) -> Iterator[TableColumn]:
    """Columns as a picture keeps them: numbers as they are, none where one is infinite."""
    for column in fitted(columns, rows):
        name, unit = column.named(shown)
        yield TableColumn(
            name=name, unit=unit, decimals=None if column.words or column.counted
            else column.decimals, values=[_cell(column, row, shown) for row in rows],
        )  # fmt: skip


def _cell(column: Column[Row], row: Row, shown: Shown) -> float | str | None:
    if column.words or column.counted:
        return column.in_words(row, shown) or None
    value = column.shown(row, shown.units)
    return value if value is None or math.isfinite(value) else None
