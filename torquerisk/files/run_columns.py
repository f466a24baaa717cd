"""Headings made into the columns of a run: which channel, in which unit, and what they imply."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from torquerisk.case import CHANNELS
from torquerisk.case.declare import Kind
from torquerisk.errors import InputError
from torquerisk.files.headings import Heading, angle_reference, read_heading
from torquerisk.files.text import brief, quoted
from torquerisk.files.units import Unit, accepted_units, says_absolute, says_gauge, unit_of

CORE = ("speed", "torque", "power")
_PRESSURES = (Kind.PRESSURE, Kind.GAUGE_PRESSURE)
_TOLD = 40


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column of a run: which channel, in which unit, and how to make SI of it."""

    index: int
    heading: Heading
    channel: str
    unit: Unit
    sign: float = 1.0
    ambient: float = 0.0
    """How often ambient pressure is to be added: 1, 0 or -1."""

    @property
    def label(self) -> str:
        """The heading in quotation marks."""
        return quoted(self.heading.text)


@dataclass(kw_only=True)
class Columns:
    """The columns that are used, what the headings imply, and the record of every decision."""

    used: dict[str, Column] = field(default_factory=dict)
    implied: dict[str, str] = field(default_factory=dict)
    record: list[str] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    """What of the headings may change a result."""
    not_known: dict[int, str] = field(default_factory=dict)
    """Columns that name no channel, with their heading."""


def match_columns(
    headings: list[tuple[str, ...]], choose: Mapping[str, str], *, limit_table: bool = False
) -> Columns:
    """Columns by channel.

    headings: for each column the texts that stand over it, names and units alike.
    choose: channel to heading, where two columns stand for the same channel.
    """
    columns = Columns()
    read = [read_heading(texts) for texts in headings]
    wanted = _wanted(read, limit_table)
    found: dict[str, list[Column]] = {}
    misfits: dict[str, list[str]] = {}
    doubtful: dict[str, list[Heading]] = {}
    for index, heading in enumerate(read):
        channel = wanted.get(heading.channel or "")
        if channel is None:
            columns.not_known[index] = heading.text
        elif heading.unknown:
            doubtful.setdefault(channel, []).append(heading)
        else:
            try:
                column = _column(index, heading, channel, columns)
            except InputError as error:
                misfits.setdefault(channel, []).append(str(error))
                continue
            if column is not None:
                found.setdefault(column.channel, []).append(column)
    for channel, candidates in found.items():
        chosen = _one(channel, candidates, choose, columns.doubts)
        if chosen is not None:
            columns.used[channel] = chosen
    _refuse(columns, misfits, doubtful)
    _implied(columns)
    for column in columns.used.values():
        columns.record += _as_words(column)
    _tell_left_out(columns, doubtful)
    return columns


def _wanted(read: list[Heading], limit_table: bool) -> dict[str, str]:
    """What headings may name, and as which channel it is read."""
    if not limit_table:
        return {name: name for name in (*CHANNELS, "afr")}
    if any(h.channel == "limit" for h in read):
        return {"speed": "speed", "limit": "torque"}
    return {name: name for name in CORE}


def _column(index: int, heading: Heading, channel: str, columns: Columns) -> Column | None:
    """The column, None where it is left out with a record, or InputError where it misfits."""
    if channel == "afr":
        return _air_fuel_ratio(index, heading, columns)
    if not heading.unit and channel == "time":
        columns.record.append(f"{quoted(heading.text)} was left out: its heading has no unit.")
        return None
    kind = CHANNELS[channel].kind
    if kind is None:
        raise KeyError(channel)
    text, after = angle_reference(heading.unit)
    sign = 1.0
    if kind is Kind.ANGLE:
        sign = _angle_sign(heading, after, channel)
    unit, ambient = _pressure(heading, kind) if kind in _PRESSURES else (unit_of(text, kind), 0.0)
    if unit is None or (not heading.unit and kind is Kind.SHARE):
        raise InputError(_no_unit(heading, channel, kind))
    if channel == "power" and unit.spelling == "hp" and "din" in heading.words:
        columns.doubts.append(
            f"{quoted(heading.text)} is taken in mechanical hp (745.7 W); write PS if DIN stands "
            "for metric horsepower (735.5 W)."
        )
    if heading.scale != 1.0:
        words = f"{unit.spelling} x {heading.scale:g}"
        unit = Unit(kind, words, heading.scale * unit.size, "", unit.offset)
    return Column(
        index=index, heading=heading, channel=channel, unit=unit, sign=sign, ambient=ambient
    )


def _no_unit(heading: Heading, channel: str, kind: Kind) -> str:
    if heading.unit:
        return (
            f"the heading {quoted(heading.text)} has the unit {quoted(heading.unit, 24)}, which is "
            f"no known unit of {CHANNELS[channel].words}; use one of {accepted_units(kind)}"
        )
    return (
        f"the heading {quoted(heading.text)} has no unit; write it in brackets, as in "
        f"'{brief(heading.text)} [{kind.shown_unit}]', from {accepted_units(kind)}"
    )


def _air_fuel_ratio(index: int, heading: Heading, columns: Columns) -> Column | None:
    if "petrol" not in heading.words:
        columns.record.append(
            f"{quoted(heading.text)} was left out: an air-fuel ratio means a lambda only with its "
            "fuel; head the column 'AFR (petrol)' for 14.7 to 1, or log lambda."
        )
        return None
    columns.record.append(
        f"{quoted(heading.text)} was divided by 14.7 to give lambda (petrol scale)."
    )
    afr = Unit(Kind.NUMBER, "petrol air-fuel ratio", 1 / 14.7, "")
    return Column(index=index, heading=heading, channel="lambda_", unit=afr)


def _angle_sign(heading: Heading, after_in_unit: float, channel: str) -> float:
    """+1 where the heading counts the angle as the channel does, -1 where the other way round."""
    said = {after_in_unit} - {0.0}
    said |= {1.0 for w in heading.words if w in ("atdc", "after")}
    said |= {-1.0 for w in heading.words if w in ("btdc", "before")}
    if len(said) > 1:
        raise InputError(f"the heading {quoted(heading.text)} says both before and after TDC")
    after = said.pop() if said else 0.0
    return (-after if channel == "ignition_advance" else after) or 1.0


def _pressure(heading: Heading, kind: Kind) -> tuple[Unit | None, float]:
    """The unit of a pressure, and how often ambient pressure is to be added."""
    text = heading.unit
    absolute = "absolute" in heading.words or says_absolute(text)
    gauge = "gauge" in heading.words or says_gauge(text)
    if absolute and gauge:
        raise InputError(
            f"the heading {quoted(heading.text)} says both gauge and absolute pressure; keep one"
        )
    if not absolute and not gauge:
        boost = "boost" in heading.words or {"charge", "pressure"} <= heading.words
        gauge = kind is Kind.GAUGE_PRESSURE or boost
    unit = unit_of(text, Kind.GAUGE_PRESSURE) or unit_of(text, Kind.PRESSURE)
    if kind is Kind.PRESSURE:
        return unit, 1.0 if gauge else 0.0
    return unit, 0.0 if gauge else -1.0


def _one(
    channel: str, candidates: list[Column], choose: Mapping[str, str], doubts: list[str]
) -> Column | None:
    """The column that stands for a channel; refused, or for an optional one left out, if unclear.

    Of columns of one quantity at several places the one at the crank is taken.
    """
    wanted = choose.get(channel)
    chosen = [c for c in candidates if wanted is not None and c.heading.text == wanted.strip()]
    if not chosen and channel in CORE and all(c.heading.place for c in candidates):
        chosen = [c for c in candidates if c.heading.place == "crank"]
    if len(chosen or candidates) == 1:
        column = (chosen or candidates)[0]
        for other in candidates:
            if other is not column:
                doubts.append(f"{other.label} was left out: {column.label} is used instead.")
        return column
    names = " and ".join(c.label for c in candidates[:4])
    told = f"{len(candidates)} columns stand for {CHANNELS[channel].words}: {names}"
    if channel not in CORE:
        doubts.append(f"{told}; none is used, because it is not known which one is meant.")
        return None
    raise InputError(f"{told}; say which one to use, or remove the others")


def _refuse(
    columns: Columns, misfits: dict[str, list[str]], doubtful: dict[str, list[Heading]]
) -> None:
    """Refuse a needed channel that misfits, or any without a unit; record the others."""
    has_torque = bool({"torque", "power"} & set(columns.used))
    for channel, reasons in misfits.items():
        needed = channel not in columns.used and not (channel in CORE[1:] and has_torque)
        if needed and (channel in CORE or "has no unit" in reasons[0]):
            raise InputError(reasons[0])
        columns.doubts.append(f"One column was left out: {reasons[0]}.")
    missing = [c for c in CORE if c in doubtful and c not in columns.used]
    if "speed" in missing or (missing and not has_torque):
        first = doubtful[missing[0]][0]
        raise InputError(
            f"the heading {quoted(first.text)} speaks of {CHANNELS[missing[0]].words}, but "
            f"{quoted(first.unknown[0])} beside it is not known and may make it another quantity; "
            "name the column without that word if it is the engine's own"
        )


def _tell_left_out(columns: Columns, doubtful: dict[str, list[Heading]]) -> None:
    near = [h for headings in doubtful.values() for h in headings]
    if near:
        told = "; ".join(f"{quoted(h.text)} for {quoted(h.unknown[0])}" for h in near[:_TOLD])
        columns.doubts.append(
            "Left out, because a word beside the quantity is not known and may make it another "
            f"one: {told}{_more(len(near))}."
        )
    names = [quoted(text) for text in columns.not_known.values() if text]
    if names:
        told = ", ".join(names[:_TOLD])
        columns.record.append(f"Left out, not known as a channel: {told}{_more(len(names))}.")


def _more(count: int) -> str:
    return f" and {count - _TOLD} more" if count > _TOLD else ""


def _as_words(column: Column) -> list[str]:
    label = CHANNELS[column.channel].words
    words = [f"{column.label} is read as {label} in {column.unit.spelling}."]
    if column.sign < 0:
        words.append(f"{column.label} was turned in sign for its dead-centre reference.")
    if column.unit.kind in _PRESSURES:
        gauge = (CHANNELS[column.channel].kind is Kind.GAUGE_PRESSURE) == (column.ambient == 0.0)
        words.append(f"{column.label} is taken as {'gauge' if gauge else 'absolute'} pressure.")
    return words


def _implied(columns: Columns) -> None:
    """Facts that the headings of torque and power tell; power of another place is left out."""
    torque, power = columns.used.get("torque"), columns.used.get("power")
    if torque is not None and power is not None:
        said = (_said(torque.heading), _said(power.heading))
        for fact in said[0].keys() & said[1].keys():
            one, other = said[0][fact], said[1][fact]
            if one != other and not ("corrected" in (one, other) and "none" not in (one, other)):
                columns.doubts.append(
                    f"{power.label} was left out: it says {other} where {torque.label} says {one}."
                )
                del columns.used["power"]
                power = None
                break
    for column in (torque, power):
        for fact, value in _said(column.heading).items() if column is not None else ():
            if columns.implied.get(fact, "corrected") == "corrected":
                columns.implied[fact] = value


def _said(heading: Heading) -> dict[str, str]:
    """Facts about the test that one heading tells."""
    said = {"measured_at": heading.place, "correction": heading.correction}
    return {fact: value for fact, value in said.items() if value is not None}


__all__ = ["CORE", "Column", "Columns", "match_columns"]
