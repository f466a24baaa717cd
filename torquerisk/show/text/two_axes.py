"""A table over speed and a second axis: as text, document, CSV and plain numbers."""

from collections.abc import Sequence

import numpy as np

from torquerisk.case import CAUTIONS, Notice
from torquerisk.files.exports import TableColumn, speed_column, table_csv
from torquerisk.quantities import RPM
from torquerisk.show.documents import assessed
from torquerisk.show.documents.json_numbers import Document
from torquerisk.show.documents.limit_csv import proposed_for
from torquerisk.show.documents.marked_table import MARK, marked_columns, marked_facts, reasons_of_2d
from torquerisk.show.text import tables
from torquerisk.show.words import limit_table, prose
from torquerisk.show.words.limit_columns import decimals_of, titles_of
from torquerisk.show.words.notices import notices_in_short
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.results import LEAST_LATER, Table2D

MOST_WIDE = 7
"""Columns of the axis in one printed block."""


def table_2d_text(table: Table2D, extra: Sequence[Notice] = (), units: Units = Units.SI) -> str:
    """The table in words and numbers, with what governs and what is held."""
    a = table.assessment
    title = f"Torque limit over speed and {table.axis.title}"
    return tables.joined(
        tables.section("Read", tables.read_lines(a, units)),
        tables.section("What is held and what moves", tables.bullets(table.held)),
        tables.section(title, _blocks(table, units)),
        tables.section("Ignition", tables.bullets(_ignition(table))),
        tables.section("What governs", tables.bullets(_governs(table))),
        tables.section("Check", tables.bullets(checked_in_words(table))),
        tables.closing((*extra, *table.notices, *notices_in_short(a)), table.policy, units),
    )


def _blocks(table: Table2D, units: Units) -> list[str]:
    name, size = prose.torque_unit(units)
    heads = limit_table.axis_values(table.axis, table.values)
    limit = table.limit
    decimals = decimals_of(table.policy.step) if units is Units.SI else 1
    blocks = []
    for start in range(0, len(heads), MOST_WIDE):
        part = range(start, min(start + MOST_WIDE, len(heads)))
        rows = [
            [
                prose.plain(table.breakpoints[r] / RPM),
                *(prose.plain(limit[r, v] / size, decimals) for v in part),
            ]
            for r in range(len(table.breakpoints))
        ]
        headings = ["rpm", *(f"{heads[v]}\n{name}" for v in part)]
        blocks.append(tables.columns(headings, rows, left=()))
    return blocks


def _ignition(table: Table2D) -> list[str]:
    """How much later than judged at a column's limits must burn; nothing where none must."""
    heads = limit_table.axis_values(table.axis, table.values)
    told = []
    for head, column in zip(heads, table.columns, strict=True):
        later = np.degrees(column.knock_later)
        if (late := later >= LEAST_LATER).any():
            told.append(
                f"{head}: the burn must be up to {later.max():.0f} degrees later than it was "
                f"judged at, {prose.where_in_words(table.breakpoints, late)}, most at "
                f"{prose.speed_in_words(float(table.breakpoints[int(np.argmax(later))]))}."
            )
    return told


def _governs(table: Table2D) -> list[str]:
    titles = titles_of(table.assessment)
    told = []
    heads = limit_table.axis_values(table.axis, table.values)
    for head, column in zip(heads, table.columns, strict=True):
        parts = []
        for name in dict.fromkeys(column.governing):
            mask = np.array([g == name for g in column.governing])
            parts.append(f"{titles[name].lower()} {prose.where_in_words(table.breakpoints, mask)}")
        told.append(f"{head}: {'; '.join(parts)}.")
    return told


def checked_in_words(table: Table2D) -> list[str]:
    """That every column was assessed anew, and which did not pass."""
    count = table.assessment.model.every.count
    heads = limit_table.axis_values(table.axis, table.values)
    told = [
        f"Every column was assessed anew with {count:,} fresh simulated engines at an accepted "
        f"chance of {prose.percent(table.policy.chance, 2)}."
    ]
    for head, column in zip(heads, table.columns, strict=True):
        if not column.verified:
            told.append(
                f"The column at {head} did not pass: a limit is exceeded at the worst speed "
                f"{prose.chance_in_words(column.worst_chance, count)}; it must not be used as it "
                "is."
            )
    return told


def table_2d_document(table: Table2D, extra: Sequence[Notice] = ()) -> Document:
    """The document of a table over an axis."""
    a = table.assessment
    axis = table.axis
    unit = {"%": "percent", "°C": "celsius"}.get(axis.kind.shown_unit)
    unit = unit or assessed.suffix(axis.kind.shown_unit)
    return {
        **assessed.envelope((*extra, *table.notices, *a.notices)),
        **assessed.judged_on(a, table.policy),
        "axis": axis.name,
        f"values_{unit}": [_shown(axis.kind.shown(float(v))) for v in table.values],
        "speed_rpm": [_shown(float(s) / RPM) for s in table.breakpoints],
        "torque_limit_n_m": table.limit.tolist(),
        "held": list(table.held),
        "lowered_n_m": table.lowered,
        "verified": table.verified,
        "columns": [
            {
                f"value_{unit}": _shown(axis.kind.shown(c.value)),
                "torque_limit_n_m": c.shape.limit.tolist(),
                "governing": list(c.governing),
                "held_by": [b.value for b in c.shape.binding],
                "chance": c.chance.tolist(),
                "spare_n_m": [assessed.finite(float(s)) for s in c.spare],
                "knock_chance": c.knock_chance.tolist(),
                "knock_later_deg": np.degrees(c.knock_later).tolist(),
                "verified": c.verified,
                "worst_chance": c.worst_chance,
            }
            for c in table.columns
        ],
    }


def _shown(number: float) -> float:
    """A number without the last digits of a conversion."""
    return round(number, 6)


def table_2d_csv(table: Table2D) -> str:
    """The table as CSV: a column of speeds and one of limits for every value of the axis."""
    policy, engine = table.policy, table.assessment.engine
    heads = limit_table.axis_values(table.axis, table.values)
    columns = [
        speed_column(table.breakpoints),
        *(
            TableColumn(
                name=f"torque limit at {head}",
                unit="N·m",
                values=[float(t) for t in c.shape.limit],
                decimals=decimals_of(policy.step),
            )
            for head, c in zip(heads, table.columns, strict=True)
        ),
    ]
    facts = {
        "torque limit": proposed_for(engine, policy),
        "second axis": table.axis.title,
        "held": " ".join(table.held),
        "checked": "every column passed" if table.verified else "not every column passed",
        "caution": f"{CAUTIONS[0]} {CAUTIONS[3]}",
    }
    reasons = reasons_of_2d(table)
    return table_csv(marked_columns(columns, reasons), marked_facts(facts, reasons))


def clipboard(table: Table2D) -> str:
    """Only the cells, tab-separated: a line for every speed, a column for every value."""
    decimals = decimals_of(table.policy.step)
    mark = f"\t{MARK}" if reasons_of_2d(table) else ""
    return "\n".join("\t".join(f"{t:.{decimals}f}" for t in row) + mark for row in table.limit)
