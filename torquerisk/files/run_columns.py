"""Headings made into the columns of a run: which channel, in which unit, and what they imply."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from torquerisk.case import CHANNELS
from torquerisk.case.declare import Kind
from torquerisk.case.gearing import Given, turns_of_crank
from torquerisk.errors import InputError
from torquerisk.files.by_hand import as_said
from torquerisk.files.channel_names import TARGETS, TOGETHER
from torquerisk.files.headings import Heading, angle_reference, meant_by, read_heading
from torquerisk.files.references import angle_sign, counted_from, pressure_unit
from torquerisk.files.text import brief, quoted
from torquerisk.files.units import Unit, accepted_units, unit_of

CORE = ("speed", "torque", "power")
_PRESSURES = (Kind.PRESSURE, Kind.GAUGE_PRESSURE)
_TOLD = 40
_BY_CYLINDER = ("ignition_advance", "ca50")
"""Channels of which one cylinder's stands for all."""
_ENDS = (("front", "rear"), ("left", "right"))
_SUM = "give one column of their sum, headed 'total torque [N·m]' or 'total power [kW]'"
"""What to do where two hubs or axles were measured apart."""
ROAD_SPEEDS = {"km h": 1 / 3.6, "kph": 1 / 3.6, "kmh": 1 / 3.6, "mph": 0.44704, "m s": 1.0}
"""Units of road speed [m/s], by their words: NIST SP 811."""
OF_ROAD = frozenset(("vehicle", "road", "car", "ground", "gps", "bike"))
OF_WHEEL = frozenset(("wheel", "axle", "hub", "rear", "front", "driven"))
"""Words beside speed that say whose it is."""


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
    of: str = "engine"
    """Whose speed it is: 'engine', or 'wheel' or 'road' which gear and tyre make one."""

    @property
    def label(self) -> str:
        """The heading in quotation marks."""
        return quoted(self.heading.text)

    @property
    def unsaid(self) -> bool:
        """True for a pressure of which the heading says neither gauge nor absolute."""
        return self.unit.kind in _PRESSURES and not counted_from(self.heading)

    @property
    def turned(self) -> bool:
        """True for ignition that is counted after dead centre."""
        return self.sign < 0 and self.channel == "ignition_advance"

    @property
    def unit_in_words(self) -> str:
        """The unit, of a pressure and an angle with what it is counted from."""
        if self.unit.kind not in _PRESSURES:
            return f"{self.unit.spelling} ATDC" if self.turned else self.unit.spelling
        gauge = (CHANNELS[self.channel].kind is Kind.GAUGE_PRESSURE) == (self.ambient == 0.0)
        return f"{self.unit.spelling} {'gauge' if gauge else 'abs'}"


@dataclass(kw_only=True)
class Columns:
    """The columns that are used, what the headings imply, and the record of every decision."""

    used: dict[str, Column] = field(default_factory=dict)
    implied: dict[str, str] = field(default_factory=dict)
    record: list[str] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    """What of the headings may change a result."""
    twins: list[tuple[Column, Column]] = field(default_factory=list)
    """Columns that are used, each with another of the same in another unit, which must agree."""
    beside: list[Column] = field(default_factory=list)
    """Columns of other cylinders: of those of one channel the greatest size is read."""
    notes: dict[int, str] = field(default_factory=dict)
    """What becomes of columns that are no channel alone, by their place."""
    not_known: dict[int, str] = field(default_factory=dict)
    """Columns that name no channel, with their heading."""


def match_columns(
    headings: list[tuple[str, ...]], by_hand: Mapping[str, str], *, limit_table: bool = False
) -> Columns:
    """Columns by channel.

    headings: for each column the texts that stand over it, names and units alike.
    by_hand: what some are to be read as, see `as_said`.
    """
    columns = Columns()
    read = as_said([read_heading(texts) for texts in headings], by_hand)
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
    if "speed" not in found and (driven := _driven(read)) is not None:
        found["speed"], name = [driven], quoted(driven.heading.text)
        misfits["speed"] = [why for why in misfits.get("speed", ()) if name not in why]
        doubtful["speed"] = [h for h in doubtful.get("speed", ()) if h is not driven.heading]
    for channel, candidates in found.items():
        needed = channel in CORE and not (channel == "power" and "torque" in found)
        chosen = _one(channel, candidates, columns, needed)
        if chosen is not None:
            columns.used[channel] = chosen
    _refuse(columns, {c: reasons for c, reasons in misfits.items() if reasons}, doubtful)
    _implied(columns)
    for column in columns.used.values():
        columns.record += as_words(column)
    _tell_left_out(columns, doubtful)
    ratio = columns.used.get("afr")
    if ratio is not None and "lambda_" not in columns.used:
        columns.doubts.append(_without_fuel(ratio.heading))
    return columns


def _wanted(read: list[Heading], limit_table: bool) -> dict[str, str]:
    """What headings may name, and as which channel it is read."""
    if not limit_table:
        return {name: name for name in CHANNELS}
    if any(h.channel == "limit" for h in read):
        return {"speed": "speed", "limit": "torque"}
    return {name: name for name in CORE}


def _column(index: int, heading: Heading, channel: str, columns: Columns) -> Column | None:
    """The column, None where it is left out with a record, or InputError where it misfits."""
    if channel == "afr" and "petrol" in heading.words:
        return _air_fuel_ratio(index, heading, columns)
    if not heading.unit and channel == "time":
        columns.doubts.append(
            f"{quoted(heading.text)} was left out: its heading has no unit; write "
            f"'{brief(heading.text)} [s]'."
        )
        return None
    kind = CHANNELS[channel].kind
    if kind is None:
        raise KeyError(channel)
    if bare := kind is Kind.ANGLE and not heading.unit:
        columns.doubts.append(f"{quoted(heading.text)} has no unit: it is taken in degrees.")
    text, after = angle_reference("deg" if bare else heading.unit)
    sign = 1.0
    if kind is Kind.ANGLE:
        sign = angle_sign(heading, after, channel)
    unit, ambient = unit_of(text, kind), 0.0
    if kind in _PRESSURES:
        unit, ambient = pressure_unit(heading, kind, columns.doubts)
    if unit is None or (not heading.unit and kind is Kind.SHARE):
        raise InputError(_no_unit(heading, channel, kind))
    if channel == "power" and unit.spelling == "hp" and "din" in heading.words:
        columns.doubts.append(
            f"{quoted(heading.text)} is taken in mechanical hp (745.7 W); write PS if DIN stands "
            "for metric horsepower (735.5 W)."
        )
    if heading.unit.casefold() == "hz" and kind is Kind.SPEED:
        columns.doubts.append(
            f"{quoted(heading.text)} is taken as turns of the crank in a second, 1 Hz being 60 rpm."
        )
    if heading.scale != 1.0:
        words = f"{unit.spelling} x {heading.scale:g}"
        unit = Unit(kind, words, heading.scale * unit.size, "", unit.offset)
    return Column(
        index=index, heading=heading, channel=channel, unit=unit, sign=sign, ambient=ambient
    )


def _driven(read: list[Heading]) -> Column | None:
    """The one column of wheel or road speed, which stands in where there is none of the engine."""
    found = []
    for index, heading in enumerate(read):
        words = " ".join(w for w in (*heading.unknown, heading.unit.casefold()) if w not in OF_ROAD)
        road, turning = ROAD_SPEEDS.get(words.strip()), unit_of(heading.unit, Kind.SPEED)
        if heading.channel != "speed":
            continue
        if road is not None:
            unit, of = Unit(Kind.SPEED, words.strip().replace(" ", "/"), road, ""), "road"
        elif turning is not None and heading.unknown and set(heading.unknown) <= OF_WHEEL:
            unit, of = turning, "wheel"
        else:
            continue
        found.append(Column(index=index, heading=heading, channel="speed", unit=unit, of=of))
    return found[0] if len(found) == 1 else None


def geared(columns: Columns, given: Given) -> None:
    """Make engine speed of wheel or road speed, by the facts about gear and tyre.

    Raises InputError where one of them is not given.
    """
    column = columns.used.get("speed")
    if column is None or column.of == "engine":
        return
    turns, radius = turns_of_crank(given), given("tyre_radius")
    needed = [] if turns is not None else ["gear_ratio", "final_drive"]
    needed += ["tyre_radius"] if column.of == "road" and radius is None else []
    if turns is None or needed:
        raise InputError(
            f"{column.label} is {column.of} speed and there is no engine speed: give "
            f"{' and '.join(needed)} to have it worked out, or log engine speed"
        )
    size = turns / float(str(radius)) if column.of == "road" else turns
    unit = replace(column.unit, size=column.unit.size * size)
    columns.used["speed"] = replace(column, unit=unit)
    columns.doubts.append(
        f"Engine speed was worked out from {column.label} by {turns:.4g} turns of the crank for "
        f"one of the wheel{f' of {radius:g} m' if column.of == 'road' else ''}: slip and growth of "
        "the tyre make it a few percent uncertain."
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


def _without_fuel(heading: Heading) -> str:
    return (
        f"{quoted(heading.text)} is an air-fuel ratio, which tells lambda only with its fuel: it "
        "is divided by that of the engine's. If it is shown on petrol's scale, 14.7 to 1, whatever "
        "is burned, write 'AFR (petrol)' for the heading, or --column "
        f"'{brief(heading.text)}=AFR (petrol)'."
    )


def _air_fuel_ratio(index: int, heading: Heading, columns: Columns) -> Column:
    columns.record.append(
        f"{quoted(heading.text)} was divided by 14.7 to give lambda (petrol scale)."
    )
    afr = Unit(Kind.NUMBER, "petrol air-fuel ratio", 1 / 14.7, "")
    return Column(index=index, heading=heading, channel="lambda_", unit=afr)


def _one(channel: str, candidates: list[Column], columns: Columns, needed: bool) -> Column | None:
    """The column that stands for a channel; if unclear left out, or refused where it is needed.

    Chosen by hand; a total before its parts; an engine's before that of the cylinder named first;
    of torque or power of which each says where, the one
    at the crank; of those of which each says how corrected, the uncorrected one. What is left in
    two units must agree.
    """
    left = [c for c in candidates if c.heading.by_hand] or candidates
    left = [c for c in left if "total" in c.heading.words] or left
    if channel in CORE and all(c.heading.place for c in left):
        left = [c for c in left if c.heading.place == "crank"] or left
    if channel in CORE and all(c.heading.correction for c in left):
        left = [c for c in left if c.heading.correction == "none"] or left
    if channel in _BY_CYLINDER:
        of = min((c.heading.part for c in left), key=bool)
        others = [c for c in left if c.heading.part != of]
        whose = f"{of}'s" if of else "the engine's"
        columns.notes |= {c.index: f"{c.heading.part}, not used; {whose} is" for c in others}
        left = [c for c in left if c.heading.part == of]
    column = left[0]
    if channel in TOGETHER and len(left) > 1 and len({c.heading.number for c in left}) == len(left):
        columns.beside += left[1:]
        columns.notes |= {
            c.index: f"{TOGETHER[channel]} of {len(left)} columns in each row" for c in left
        }
        columns.doubts.append(
            f"{' and '.join(c.label for c in left)}: of these {TOGETHER[channel]} in each row is "
            "used."
        )
        return column
    alike = [c for c in left[1:] if _said(c) == _said(column) and _twins(column, c)]
    if len(alike) == len(left) - 1:
        columns.twins += [(column, other) for other in alike]
        left = [column]
    if len(left) == 1:
        for other in candidates:
            if other is not column:
                columns.doubts.append(
                    f"{other.label} was left out: {column.label} is used instead."
                )
        return column
    names = " and ".join(c.label for c in left[:4])
    told = f"{len(left)} columns stand for {CHANNELS[channel].words}: {names}"
    if not needed:
        columns.doubts.append(f"{told}; none is used, because it is not known which one is meant.")
        return None
    if any(all(any(w in c.heading.words for c in left) for w in ends) for ends in _ENDS):
        raise InputError(f"{told}, each of them a part; {_SUM}")
    raise InputError(
        f'{told}; say which one to use with --column "{brief(column.heading.text)}={channel}", '
        "or on the page under As read"
    )


def _twins(one: Column, other: Column) -> bool:
    """True where two columns may be one written twice: in another unit, or under one heading."""
    units = [(c.unit, c.ambient) for c in (one, other)]
    return units[0] != units[1] or one.heading.text == other.heading.text


def _refuse(
    columns: Columns, misfits: dict[str, list[str]], doubtful: dict[str, list[Heading]]
) -> None:
    """Refuse a needed channel that misfits; tell of the others."""
    has_torque = bool({"torque", "power"} & set(columns.used))
    for channel, reasons in misfits.items():
        needed = channel not in columns.used and not (channel in CORE[1:] and has_torque)
        if needed and channel in CORE:
            raise InputError(reasons[0])
        columns.doubts.append(f"One column was left out: {reasons[0]}.")
    missing = [c for c in CORE if c in doubtful and c not in columns.used]
    if "speed" in missing or (missing and not has_torque):
        first = doubtful[missing[0]][0]
        if {"left", "right"} & set(first.unknown):
            raise InputError(f"the heading {quoted(first.text)} names one side only; {_SUM}")
        if meant := meant_by(first.unknown[0], missing[:1]):
            raise InputError(
                f"{quoted(first.unknown[0])} in the heading {quoted(first.text)} is no known word; "
                f"did you mean {meant}? Head it so, or give --column "
                f'"{brief(first.text)}={missing[0]}"'
            )
        raise InputError(
            f"the heading {quoted(first.text)} speaks of {CHANNELS[missing[0]].words}, but "
            f"{quoted(first.unknown[0])} beside it is not known and may make it another quantity; "
            "name the column without that word if it is the engine's own"
        )


def _tell_left_out(columns: Columns, doubtful: dict[str, list[Heading]]) -> None:
    every = [h for headings in doubtful.values() for h in headings]
    if asked := [quoted(h.text) for h in every if h.words & TARGETS]:
        columns.record.append(
            f"Left out, for they hold what is asked for or allowed: {', '.join(asked[:_TOLD])}."
        )
    near = [h for h in every if not h.words & TARGETS]
    if near:
        told = "; ".join(f"{quoted(h.text)} for {quoted(h.unknown[0])}" for h in near[:_TOLD])
        more = f" and {len(near) - _TOLD} more" if len(near) > _TOLD else ""
        columns.doubts.append(
            "Left out, because a word beside the quantity is not known and may make it another "
            f"one: {told}{more}."
        )


def as_words(column: Column) -> list[str]:
    """What a column is read as, for the record."""
    label = CHANNELS[column.channel].words
    if column.unit.kind in _PRESSURES:
        label = label.partition(",")[0]
    by_hand = ", as was said by hand" if column.heading.by_hand else ""
    words = [f"{column.label} is read as {label} in {column.unit_in_words}{by_hand}."]
    if column.sign < 0:
        words.append(f"{column.label} was turned in sign for its dead-centre reference.")
    return words


def _implied(columns: Columns) -> None:
    """Facts that the headings of torque and power tell; power of another place is left out."""
    torque, power = columns.used.get("torque"), columns.used.get("power")
    if torque is not None and power is not None:
        said = (_said(torque), _said(power))
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
        for fact, value in _said(column).items() if column is not None else ():
            if columns.implied.get(fact, "corrected") == "corrected":
                columns.implied[fact] = value


def _said(column: Column) -> dict[str, str]:
    """Facts about the test that the heading of one column tells."""
    said = {"measured_at": column.heading.place, "correction": column.heading.correction}
    return {fact: value for fact, value in said.items() if value is not None}
