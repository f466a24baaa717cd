"""Headings made into channels with units, by a closed table of names."""

import re
from dataclasses import dataclass, field

from torquerisk.case import CHANNELS
from torquerisk.case.declare import Kind
from torquerisk.errors import InputError
from torquerisk.files.channel_names import (
    BY_NAME,
    CORRECTIONS,
    GAUGE_NAMES,
    LIMIT_NAMES,
    PLACES,
    QUALIFIERS,
    SYMBOLS,
    UNIT_IN_NAME,
)
from torquerisk.files.text import brief, quoted, strict_number
from torquerisk.files.units import Unit, accepted_units, kind_of_unit, unit_of

_CORE = ("speed", "torque", "power")


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column of a run: which channel, in which unit, and how to make SI of it."""

    index: int
    heading: str
    channel: str
    unit: Unit
    sign: float = 1.0
    gauge_to_absolute: bool = False
    absolute_to_gauge: bool = False


@dataclass(kw_only=True)
class Columns:
    """The columns that are used, what the headings imply, and the record of every decision."""

    used: dict[str, Column] = field(default_factory=dict)
    implied: dict[str, str] = field(default_factory=dict)
    record: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Heading:
    """A heading taken apart: normal name, unit text ('' where there is none), words beside."""

    name: str
    unit: str
    words: tuple[str, ...] = ()


def normal_name(text: str) -> str:
    """A name without case, punctuation and repeated spaces."""
    return " ".join(re.sub(r"[^\wλ]+|_", " ", text.casefold()).split())


def split_heading(text: str) -> Heading:
    """Name and unit of a heading: 'torque [N·m]', 'MAP / kPa', 'speed (1/min)', 'power PS'."""
    text = " ".join(text.split())[:120]
    brackets = re.findall(r"[\[({]([^\[\](){}]*(?:\([^()]*\))?[^\[\](){}]*)[\])}]", text)
    outside = re.sub(r"[\[({](?:[^\[\](){}]|\([^()]*\))*[\])}]", " ", text)
    units = [b for b in brackets if _is_unit(b)]
    words = tuple(w for b in brackets if b not in units for w in normal_name(b).split())
    if units or brackets:
        unit = units[-1] if units else (brackets[-1] if not _are_words(brackets[-1]) else "")
        name, extra = _without_qualifiers(normal_name(outside))
        if not unit:
            inner = split_heading(outside)
            return Heading(inner.name, inner.unit, (*inner.words, *words))
        return Heading(name, unit.strip(), (*words, *extra))
    plain, extra = _without_qualifiers(normal_name(text))
    if plain in BY_NAME or plain in LIMIT_NAMES:
        return Heading(plain, "", extra)
    for match in re.finditer(r"[/,]|(?<=\S)[\s_](?=\S)", text):
        unit = text[match.end() :].strip()
        name, extra = _without_qualifiers(normal_name(text[: match.start()]))
        if (name in BY_NAME or name in LIMIT_NAMES) and _is_unit(unit):
            return Heading(name, unit, extra)
    head, mark, tail = text.rpartition("/")
    if mark and kind_of_unit(tail) is not None:
        return Heading(normal_name(head), tail.strip(), ())
    return Heading(plain, "", extra)


def _are_words(text: str) -> bool:
    """True where brackets hold qualifying words and not a unit."""
    return all(w in QUALIFIERS or w in PLACES for w in normal_name(text).split())


def _without_qualifiers(name: str) -> tuple[str, tuple[str, ...]]:
    if name in BY_NAME:
        return name, ()
    words = name.split()
    extra = tuple(w for w in words if w in QUALIFIERS)
    return " ".join(w for w in words if w not in QUALIFIERS), extra


def _angle_reference(unit: str) -> tuple[str, float]:
    """An angle unit without its dead-centre mark, and +1 after, -1 before, 0 where it says none."""
    match = re.fullmatch(
        r"(.*?)[\s.]*(?:(a|b)\.?tdc|(after|before)\s+(?:top dead cent(?:re|er)|tdc))",
        unit.strip(),
        re.IGNORECASE,
    )
    if match is None:
        return unit, 0.0
    after = (match.group(2) or match.group(3)).lower().startswith("a")
    return match.group(1) or "deg", 1.0 if after else -1.0


def _is_unit(text: str) -> bool:
    text = text.strip()
    if not text:
        return False
    return kind_of_unit(_angle_reference(text)[0]) is not None or text in ("-", "1", "whp", "wtq")


def is_units_row(cells: list[str]) -> bool:
    """True for a row of units below a row of names."""
    stripped = [c.strip().strip("[](){}").strip() for c in cells]
    filled = [c for c in stripped if c]
    units = [c for c in filled if _is_unit(c)]
    names = [c for c in filled if normal_name(c) in BY_NAME and normal_name(c) not in UNIT_IN_NAME]
    if any(c != "1" and strict_number(c) is not None for c in filled):
        return False
    marks = [c for c in units if c in ("1", "-")]
    return len(units) >= 2 and len(units) > max(len(marks), len(names), 0.5 * len(filled) - 1)


def known_headings(cells: list[str]) -> int:
    """How many cells of a row name a channel."""
    return sum(split_heading(c).name in (*BY_NAME, *LIMIT_NAMES) for c in cells if c.strip())


def match_columns(
    headings: list[str], units: list[str], choose: dict[str, str], *, limit_table: bool = False
) -> Columns:
    """Columns by channel.

    headings, units: one text per column; a units row's cell counts where the heading has none.
    choose: channel to heading, where two columns stand for the same channel.
    """
    columns = Columns()
    wanted = _wanted(headings, limit_table)
    found: dict[str, list[Column]] = {}
    misfits: dict[str, list[str]] = {}
    unused: list[str] = []
    for index, (text, below) in enumerate(zip(headings, units, strict=True)):
        heading = split_heading(text)
        if not heading.unit and below.strip():
            unit = below.strip()
            if unit[0] in "[({" and unit[-1] in "])}":
                unit = unit[1:-1].strip()
            heading = Heading(heading.name, unit, heading.words)
        channel = _channel(heading, wanted)
        if channel is None:
            if text.strip():
                unused.append(quoted(text))
            continue
        try:
            column = _column(index, text, heading, channel, columns)
        except InputError as error:
            misfits.setdefault(channel, []).append(str(error))
            continue
        if column is None:
            continue
        found.setdefault(column.channel, []).append(column)
    for channel, candidates in found.items():
        columns.used[channel] = _one(channel, candidates, choose)
        columns.record += _as_words(columns.used[channel])
    _refuse_misfits(columns, misfits)
    if unused:
        columns.record.append(
            f"Left out, not known as a channel: {', '.join(unused[:12])}"
            f"{f' and {len(unused) - 12} more' if len(unused) > 12 else ''}."
        )
    for column in columns.used.values():
        _implied(columns, column)
    return columns


def _wanted(headings: list[str], limit_table: bool) -> tuple[str, ...]:
    """The channels to look for: all in a run; in a limit table the limit before all else."""
    if not limit_table:
        return (*CHANNELS, "afr")
    if any(split_heading(h).name in LIMIT_NAMES for h in headings):
        return ("speed", "limit")
    return _CORE


def _channel(heading: Heading, wanted: tuple[str, ...]) -> str | None:
    """The channel that a heading names, or None where it names none that is wanted."""
    if heading.name in LIMIT_NAMES:
        return "torque" if "limit" in wanted else None
    symbol = SYMBOLS.get(heading.name, "")
    if symbol in wanted and unit_of(heading.unit, _kind(symbol)) is not None:
        return symbol
    if BY_NAME.get(heading.name) not in wanted:
        return None
    return BY_NAME.get(heading.name)


def _kind(channel: str) -> Kind:
    kind = CHANNELS[channel].kind
    if kind is None:
        raise KeyError(channel)
    return kind


def _column(
    index: int, text: str, heading: Heading, channel: str, columns: Columns
) -> Column | None:
    """The column, None where it is left out with a record, or InputError where it misfits."""
    label = quoted(text)
    if channel == "afr":
        if not {"petrol", "gasoline"} & set(heading.words):
            columns.record.append(
                f"{label} was left out: an air-fuel ratio means a lambda only with its fuel; head "
                "the column 'AFR (petrol)' for 14.7 to 1, or log lambda."
            )
            return None
        columns.record.append(f"{label} was divided by 14.7 to give lambda (petrol scale).")
        afr = Unit(Kind.NUMBER, "petrol air-fuel ratio", 1 / 14.7, "")
        return Column(index=index, heading=text, channel="lambda_", unit=afr)
    kind = _kind(channel)
    if not heading.unit:
        return _column_without_unit(index, text, heading, channel, columns)
    unit_text, reference = _angle_reference(heading.unit)
    unit_text = {"whp": "hp", "wtq": ""}.get(unit_text.casefold(), unit_text)
    sign = 1.0
    if kind is Kind.ANGLE and reference:
        sign = -reference if channel == "ignition_advance" else reference
    unit = unit_of(unit_text, kind)
    gauge_name = heading.name in GAUGE_NAMES or "gauge" in heading.words
    if kind is Kind.PRESSURE:
        gauge = unit_of(unit_text, Kind.GAUGE_PRESSURE)
        if gauge is not None and (unit is None or gauge_name):
            if unit is not None and unit_of(unit_text + " gauge", Kind.GAUGE_PRESSURE) is None:
                return Column(index=index, heading=text, channel=channel, unit=unit)
            return Column(
                index=index, heading=text, channel=channel, unit=gauge, gauge_to_absolute=True
            )
        if unit is not None and unit_of(unit_text + " abs", Kind.PRESSURE) is not None:
            columns.record.append(f"{label} is taken as absolute pressure.")
    if kind is Kind.GAUGE_PRESSURE and unit is None:
        absolute = unit_of(unit_text, Kind.PRESSURE)
        if absolute is not None:
            return Column(
                index=index, heading=text, channel=channel, unit=absolute, absolute_to_gauge=True
            )
    if unit is None:
        raise InputError(
            f"the heading {label} has the unit {quoted(heading.unit, 24)}, which is no known unit "
            f"of {CHANNELS[channel].words}; use one of {accepted_units(kind)}"
        )
    return Column(index=index, heading=text, channel=channel, unit=unit, sign=sign)


def _column_without_unit(
    index: int, text: str, heading: Heading, channel: str, columns: Columns
) -> Column | None:
    kind = _kind(channel)
    said = UNIT_IN_NAME.get(heading.name, "")
    unit = unit_of(said, kind)
    if unit is not None:
        if said:
            columns.record.append(f"{quoted(text)} is taken in {unit.spelling}, as it says.")
        if kind is not Kind.SHARE:
            return Column(index=index, heading=text, channel=channel, unit=unit)
    if channel == "time":
        columns.record.append(f"{quoted(text)} was left out: its heading has no unit.")
        return None
    raise InputError(
        f"the heading {quoted(text)} has no unit; write it in brackets, as in "
        f"'{brief(text)} [{kind.shown_unit}]', from {accepted_units(kind)}"
    )


def _one(channel: str, candidates: list[Column], choose: dict[str, str]) -> Column:
    if len(candidates) == 1:
        return candidates[0]
    wanted = choose.get(channel)
    if wanted is not None:
        chosen = [c for c in candidates if c.heading.strip() == wanted.strip()]
        if len(chosen) == 1:
            return chosen[0]
    names = " and ".join(quoted(c.heading) for c in candidates[:4])
    raise InputError(
        f"{len(candidates)} columns stand for {CHANNELS[channel].words}: {names}; say "
        "which one to use, or remove the others"
    )


def _refuse_misfits(columns: Columns, misfits: dict[str, list[str]]) -> None:
    """Refuse a needed channel, or one without a unit; leave others out with a record."""
    for channel, reasons in misfits.items():
        if channel in columns.used:
            columns.record.append(f"One column was left out: {reasons[0]}.")
            continue
        torque_from_other = channel in ("torque", "power") and (
            {"torque", "power"} & set(columns.used)
        )
        if "has no unit" in reasons[0] or (channel in _CORE and not torque_from_other):
            raise InputError(reasons[0])
        columns.record.append(f"One column was left out: {reasons[0]}.")


def _as_words(column: Column) -> list[str]:
    label = CHANNELS[column.channel].words
    words = [f"{quoted(column.heading)} is read as {label} in {column.unit.spelling}."]
    if column.sign < 0:
        words.append(f"{quoted(column.heading)} was turned in sign for its dead-centre reference.")
    return words


def _implied(columns: Columns, column: Column) -> None:
    """Facts that the heading of torque or power itself tells."""
    if column.channel not in ("torque", "power"):
        return
    heading = split_heading(column.heading)
    words = [*normal_name(column.heading).split(), *heading.words]
    places = {PLACES[w] for w in words if w in PLACES}
    for place in places:
        if columns.implied.setdefault("measured_at", place) != place:
            raise InputError("the headings of torque and power name different measuring points")
    standards = {CORRECTIONS[w] for w in words if w in CORRECTIONS}
    if {"uncorrected", "observed", "raw"} & set(words):
        standards.add("none")
    for standard in standards:
        if columns.implied.setdefault("correction", standard) not in (standard, "corrected"):
            raise InputError("the headings of torque and power name different corrections")
        columns.implied["correction"] = standard
    if "corrected" in words:
        columns.implied.setdefault("correction", "corrected")


__all__ = [
    "Column",
    "Columns",
    "Heading",
    "is_units_row",
    "known_headings",
    "match_columns",
    "normal_name",
    "split_heading",
]
