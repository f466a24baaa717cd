"""The columns of the torque-limit table, each described once for every face.

A face names the columns that it shows, in its own order, by their keys; the list's own order is
that of JSON. A row beyond the run is not assessed: what governs it reads so, and its other cells
are empty.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from torquerisk.files.exports import TableColumn
from torquerisk.quantities import DEGREE, KILO, RPM
from torquerisk.show.words import prose
from torquerisk.show.words.prose import ShownUnit, Units
from torquerisk.study.answers.results import (
    Assessment,
    JudgedTable,
    LimitRow,
    PressureTarget,
    Proposal,
)

ROUNDING = 1e-6
"""Tenths of a degree that are no more than rounding."""
BEYOND_RUN = "not assessed"
"""What stands for the governing limit in a row beyond the run."""
Value = float | str | bool | None


@dataclass(frozen=True, kw_only=True)
class Shown:
    """What the cells of a table are written for."""

    units: Units
    titles: dict[str, str]
    draws: int
    decimals: int
    """Of the limit, as its step and units need them."""


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column: its value, and how it is headed and written for people."""

    key: str
    """In JSON, where the value is over `size`."""
    value: Callable[[LimitRow], Value]
    """SI, or a word; None where there is none."""
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
    number: Callable[[LimitRow], Value] | None = None
    """In `unit`, where it is rounded for people even in a file."""
    cell: Callable[[LimitRow, Shown], str] | None = None
    """In words, where it is not the plain number."""
    decimals: int = 0

    def headed(self, shown: Shown) -> str:
        """Heading in lines of 80 columns."""
        return self.text.format(unit=self.unit_in(shown.units), draws=f"{shown.draws:,}")

    def unit_in(self, units: Units) -> str:
        """Its unit for people."""
        return self.unit if self.measure is None else self.measure(units).name

    def in_words(self, row: LimitRow, shown: Shown) -> str:
        """Its cell for people."""
        if self.cell is not None:
            return self.cell(row, shown)
        value = self.shown(row, shown.units)
        if value is None or isinstance(value, str):
            return value or ""
        return prose.plain(value, self.decimals)

    def shown(self, row: LimitRow, units: Units = Units.SI) -> float | str | None:
        """Its value in the unit that people are shown."""
        if self.number is not None:
            return self.number(row)
        value = self.value(row)
        if value is None or isinstance(value, str):
            return value
        return value / (self.size if self.measure is None else self.measure(units).size)

    def in_json(self, row: LimitRow) -> Value:
        """Its value in JSON: null where it is infinite."""
        value = self.value(row)
        if value is None or isinstance(value, str | bool):
            return value
        if math.isnan(value):
            raise ArithmeticError(f"{self.key} is not a number")
        return value / self.size if math.isfinite(value) else None


def titles_of(assessment: Assessment) -> dict[str, str]:
    """The limits' titles by name."""
    return {name: item.limit.title for name, item in assessment.limits.items()}


def limited_at(judged: JudgedTable, speeds: Sequence[float]) -> list[str]:
    """What limits somebody's own table at its rows. speeds: [rad/s]."""
    speed, titles = judged.assessment.speed, titles_of(judged.assessment)
    nearest = [int(np.argmin(np.abs(speed - s))) for s in speeds]
    return [
        titles[judged.governing[k]].lower() if speed[0] <= s <= speed[-1] else BEYOND_RUN
        for k, s in zip(nearest, speeds, strict=True)
    ]


def decimals_of(resolution: float) -> int:
    """Decimals that a torque step needs, three at most."""
    return next((d for d in range(3) if abs(resolution * 10**d % 1) < 1e-9), 3)


def shown_of(proposal: Proposal, units: Units) -> Shown:
    """How the cells of a proposal are written."""
    return Shown(
        units=units,
        titles=titles_of(proposal.assessment),
        draws=proposal.finer.model.every.count,
        decimals=decimals_of(proposal.policy.resolution) if units is Units.SI else 1,
    )


def degrees(angle: float | None) -> float | None:
    """An angle [rad] in degrees, or None."""
    return None if angle is None else angle / DEGREE


def spare_state(row: LimitRow) -> str:
    """What the torque to spare is, in a word or two."""
    return BEYOND_RUN if row.spare is None else prose.torque_state(row.spare)


def not_before_degrees(row: LimitRow) -> float | None:
    """Earliest phasing that a row can carry [degrees after firing TDC], tenths rounded up.

    None too where not even the latest judged holds.
    """
    earliest = row.ca50_not_before
    return None if earliest is None else float(np.ceil(10 * earliest / DEGREE - ROUNDING) / 10)


def not_before(row: LimitRow) -> str:
    """The same in words: 'none' where not even the latest judged holds."""
    earliest = not_before_degrees(row)
    if not row.assessed:
        return ""
    return "none" if earliest is None else prose.plain(earliest, 1)


def tenths_down(angle: float) -> str:
    """An angle [rad] in tenths of a degree, rounded down."""
    return prose.plain(np.floor(10 * angle / DEGREE + ROUNDING) / 10, 1)


def _advance_not_above(row: LimitRow) -> str:
    if not row.assessed:
        return ""
    return "none" if row.advance_not_above is None else tenths_down(row.advance_not_above)


def _limit(row: LimitRow, shown: Shown) -> str:
    return prose.plain(row.limit / prose.torque_unit(shown.units).size, shown.decimals)


def _spare(row: LimitRow, shown: Shown) -> str:
    size = prose.torque_unit(shown.units).size
    if row.spare is None or row.sampling_error is None:
        return ""
    told, error = prose.open_or_none(row.spare, size), row.sampling_error / size
    known = math.isfinite(row.spare) and math.isfinite(error)
    return f"{told} ± {error:.2g}" if known else told


def starred(target: PressureTarget | None) -> str:
    """Manifold pressure [kPa], with a star where it is beyond trust."""
    if target is None:
        return "none"
    return f"{prose.plain(target.value / KILO)}{'' if target.trusted else ' *'}"


COLUMNS: tuple[Column, ...] = (
    Column(key="speed_rpm", value=lambda r: r.speed, size=RPM, unit="rpm", text="rpm",
           name="speed"),
    Column(key="torque_limit_n_m", value=lambda r: r.limit, measure=prose.torque_unit,
           text="limit\n{unit}", name="limit", cell=_limit),
    Column(key="power_kw", value=lambda r: r.power, size=KILO, measure=prose.power_unit,
           text="power\n{unit}", name="power"),
    Column(key="governing", value=lambda r: r.governing, text="limited by", name="limited by",
           cell=lambda r, shown: shown.titles[r.governing] if r.assessed else BEYOND_RUN),
    Column(key="assessed", value=lambda r: r.assessed),
    Column(key="chance", value=lambda r: r.chance, text="fail, of\n{draws}", name="fail",
           report_unit="of {draws}",
           cell=lambda r, shown: "" if r.chance is None
           else prose.chance_count(r.chance, shown.draws)),
    Column(key="ca50_deg", value=lambda r: r.ca50, size=DEGREE, unit="deg", decimals=1,
           text="CA50\ndeg", name="judged at CA50", report_unit="° after TDC"),
    Column(key="ca50_not_before_deg", value=lambda r: r.ca50_not_before, size=DEGREE, unit="deg",
           decimals=1, text="CA50\nfrom", name="CA50 not before", report_unit="° after TDC",
           number=not_before_degrees, cell=lambda r, _: not_before(r)),
    Column(key="manifold_pressure_kpa", value=lambda r: r.manifold_pressure, size=KILO,
           unit="kPa abs", text="manifold\nkPa", name="manifold"),
    Column(key="held_by", value=lambda r: r.held_by, name="held by"),
    Column(key="spare_n_m", value=lambda r: r.spare, measure=prose.torque_unit,
           text="spare\n{unit}", name="to spare", cell=_spare),
    Column(key="sampling_error_n_m", value=lambda r: r.sampling_error),
    Column(key="spare_state", value=spare_state),
    Column(key="lifted_by", value=lambda r: r.lifted_by),
    Column(key="ignition_advance_deg", value=lambda r: r.ignition_advance, size=DEGREE,
           unit="deg", text="advance\ndeg", cell=lambda r, _: ""
           if r.ignition_advance is None else tenths_down(r.ignition_advance)),
    Column(key="advance_not_above_deg", value=lambda r: r.advance_not_above, size=DEGREE,
           unit="deg", text="advance\nto", name="advance not above", report_unit="° before TDC",
           cell=lambda r, _: _advance_not_above(r)),
    Column(key="knock_chance", value=lambda r: r.knock_chance, text="knock", name="knock",
           report_unit="of {draws}",
           cell=lambda r, shown: "" if r.knock_chance is None
           else prose.chance_count(r.knock_chance, shown.draws)),
    Column(key="pressure", value=lambda r: r.manifold_pressure, size=KILO, unit="kPa abs",
           name="manifold", cell=lambda r, _: starred(r.pressure)),
    Column(key="boost", value=lambda r: None if r.pressure is None else r.pressure.boost,
           measure=prose.boost_unit, name="boost"),
)  # fmt: skip
ALWAYS = 14
"""Columns that a row of JSON begins with; what the others say stands there among more keys."""
BY_KEY = {column.key: column for column in COLUMNS}


def chosen(keys: Iterable[str]) -> list[Column]:
    """Columns by their keys."""
    return [BY_KEY[key] for key in keys]


def rows_in_words(
    rows: Sequence[LimitRow], columns: Sequence[Column], shown: Shown
) -> list[list[str]]:
    """Cells for people, a list for every row."""
    return [[column.in_words(row, shown) for column in columns] for row in rows]


def table_column(
    rows: Sequence[LimitRow], key: str, decimals: int | None, shown: Shown, name: str = ""
) -> TableColumn:
    """A column of numbers or words that leaves, or that the page's tables show."""
    column = BY_KEY[key]
    cell = column.shown if key != "governing" else partial(_word, column, shown)
    return TableColumn(
        name=name or column.name, unit=column.unit_in(shown.units), decimals=decimals,
        values=[cell(row, shown.units) for row in rows],
    )  # fmt: skip


def _word(column: Column, shown: Shown, row: LimitRow, _: Units) -> str:
    return column.in_words(row, shown)
