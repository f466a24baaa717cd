"""Columns that repeat a fact about the test in every row, such as a barometer."""

from collections.abc import Mapping

import numpy as np

from torquerisk.case import TestFacts
from torquerisk.case.declare import declarations
from torquerisk.errors import InputError
from torquerisk.files.channel_names import TARGETS
from torquerisk.files.facts import Facts, fact_key
from torquerisk.files.headings import Heading, read_heading, words_of
from torquerisk.files.left_out import SPOKEN_OF
from torquerisk.files.run_columns import Columns
from torquerisk.files.table import Cells, Table
from torquerisk.files.text import quoted
from torquerisk.files.units import kind_in_words, unit_of

IN_COLUMNS = ("ambient_pressure", "ambient_temperature", "humidity", "correction_factor")
"""Facts that dynos export as a column."""
_SAME = 0.01
"""How far a column may stand off what is stated, in share of it [1]."""
_TOLD = 40


def take_fact_columns(
    table: Table, columns: Columns, by_hand: Mapping[str, str], facts: Facts
) -> None:
    """Add to the facts those that stand in columns and are not stated; tell of each."""
    for index, text in list(columns.not_known.items()):
        heading = read_heading(table.headings[index])
        fact = _fact(heading)
        if fact is None or {str(index + 1), text} & by_hand.keys():
            continue
        del columns.not_known[index]
        try:
            value = _value(fact, heading, table.columns[index])
        except InputError as error:
            columns.doubts.append(f"{quoted(text)} was left out: {error}")
        else:
            _take(fact, value, quoted(text), facts, columns)
            if facts.get(fact) is value:
                columns.notes[index] = fact.replace("_", " ").capitalize()
    silent: list[str] = []
    spoken: list[str] = []
    for index, text in columns.not_known.items():
        heading = read_heading(table.headings[index])
        said = {str(index + 1), text} & by_hand.keys() or heading.words & TARGETS
        (spoken if heading.words & SPOKEN_OF and not said else silent).append(quoted(text))
    for names, told in ((silent, columns.record), (spoken, columns.doubts)):
        named = ", ".join(n for n in names[:_TOLD] if n != quoted(""))
        more = f" and {len(names) - _TOLD} more" if len(names) > _TOLD else ""
        told += [f"Left out, not known as a channel: {named}{more}."] if named else []


def _fact(heading: Heading) -> str | None:
    unit, name = heading.unit, heading.text
    for written in (f"[{unit}]", f"({unit})", unit):
        name = name.removesuffix(written).strip(" _,/")
    fact = fact_key(name) or fact_key(" ".join(words_of(name)))
    return fact if fact in IN_COLUMNS else None


def _value(fact: str, heading: Heading, cells: Cells) -> float:
    """The median of a column in SI; InputError where it is none of the fact."""
    declaration = declarations(TestFacts)[fact]
    kind = declaration.kind
    if kind is None:
        raise KeyError(fact)
    unit = unit_of(heading.unit, kind)
    if unit is None:
        said = quoted(heading.unit) if heading.unit else "none"
        raise InputError(f"its heading needs a unit of {kind_in_words(kind)}, and has {said}.")
    if not np.isfinite(cells.values).any():
        raise InputError("it holds no numbers.")
    value = unit.to_si(float(np.nanmedian(cells.values)))
    declaration.check(fact.replace("_", " "), value)
    return value


def _take(fact: str, value: float, label: str, facts: Facts, columns: Columns) -> None:
    declaration, what = declarations(TestFacts)[fact], fact.replace("_", " ")
    told, stated = declaration.in_words(value), facts.get(fact)
    if isinstance(stated, float):
        differs = abs(stated - value) > _SAME * abs(stated)
        (columns.doubts if differs else columns.record).append(
            f"{label} holds {told}, and is not used: the {what} is stated as "
            f"{declaration.in_words(stated)}."
        )
    elif fact == "correction_factor" and facts.get("correction") == "none" and value != 1.0:
        columns.doubts.append(
            f"{label} holds a correction factor of {told}, but torque is said to be uncorrected: "
            "it is not used."
        )
    else:
        facts[fact] = value
        columns.doubts.append(f"The {what} is taken from {label}, median {told}.")
