"""Cells made into SI arrays of rising speed: gaps, ranges, torque from power, order, averages."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from torquerisk.case import CHANNELS
from torquerisk.errors import InputError
from torquerisk.files.headings import meant_by, words_of
from torquerisk.files.pressure_zero import THROTTLED
from torquerisk.files.pulls import Pull
from torquerisk.files.run_columns import CORE, Column, Columns
from torquerisk.files.run_rows import (
    bridge_speed,
    choose_rows,
    drop_maxima,
    drop_rates,
    drop_speed_spikes,
    drop_stopped,
    put_in_order,
    take_greatest,
)
from torquerisk.files.table import Table
from torquerisk.files.text import brief, count_of, quoted
from torquerisk.quantities import Array

FEW_CELLS = 0.05
"""Share of a column's cells that may be faulty, each then a gap [1]."""

AGREEMENT = 0.03
"""How closely power must agree with torque times speed [1]."""

NAMELESS = frozenset(
    ("spare", "unused", "reserve", "reserved", "free", "blank", "empty", "x", "col", "column")
) | {"unnamed", *(str(i) for i in range(100))}
"""Words of a heading that name nothing."""
_MIX_UPS = (
    (1.35582, "torque looks like lb·ft headed N·m, or power like PS headed kW"),
    (1 / 1.35582, "torque looks like N·m headed lb·ft, or power like kW headed PS"),
    (1.34102, "power looks like hp headed kW"),
    (1 / 1.34102, "power looks like kW headed hp"),
    (9.80665, "torque looks like kgf·m headed N·m"),
    (1 / 9.80665, "torque looks like N·m headed kgf·m"),
    (1000.0, "power looks like W headed kW"),
    (0.001, "power looks like kW headed W"),
    (np.pi / 30, "speed looks like rad/s headed rpm"),
    (30 / np.pi, "speed looks like rpm headed rad/s"),
)
"""Power read over torque times speed, and what lies behind such a factor."""


@dataclass(kw_only=True)
class Data:
    """Columns in SI by channel, NaN where a cell is a gap, with the line of each row."""

    channels: dict[str, Array]
    lines: Array
    record: list[str]
    doubts: list[str]
    """What was left out, made up or chosen, which may change a result."""
    pulls: tuple[Pull, ...] = ()
    """The pulls of a log, the one that is read first; none for a table of speeds."""
    lines_of_pulls: tuple[tuple[int, int], ...] = ()
    """First and last line of each pull."""
    lifts: list[str] = field(default_factory=list)
    """Where torque fell away within the pull that is read, which the curve does not show."""
    gas_elsewhere: list[str] = field(default_factory=list)
    """That coolant pressure rose in a pull that is not read."""
    most_in: str = ""
    """Of columns of which the greatest is read, the one that holds it."""
    at_engine_speed: bool = False
    """Whether power shows that torque goes with engine speed."""

    def leave_out(self, rows: npt.NDArray[np.bool_], why: str) -> None:
        """Leave out these rows, if there are any, and tell of them and why."""
        if rows.any():
            count, line = int(rows.sum()), int(self.lines[int(np.argmax(rows))])
            first = f"{count_of(count, 'row')} left out, the first in line {line}"
            self.doubts.append(f"{first if count > 1 else f'Line {line} was left out'}{why}.")
            self.keep(~rows)

    def keep(self, rows: npt.NDArray[Any]) -> None:
        """Keep only these rows, in this order (indices or a mask)."""
        self.channels = {name: values[rows] for name, values in self.channels.items()}
        self.lines = self.lines[rows]


@dataclass(frozen=True, kw_only=True)
class Told:
    """What is told beside the columns."""

    ambient: float = 101325.0
    """[Pa]"""
    divided: float = 1.0
    """What torque in the file is to be divided by to go with engine speed [1]."""
    pull: int = 1
    """Which pull of a log, from 1 for the best."""


def read_data(table: Table, columns: Columns, told: Told, name: str) -> Data:
    """Speed, torque and the other channels of a table, row by row of rising speed."""
    ambient = told.ambient
    _need_core(columns, name)
    _refuse_hidden_decimals(table, columns, name)
    channels: dict[str, Array] = {}
    record: list[str] = []
    doubts: list[str] = []
    for channel, column in columns.used.items():
        if column.ambient:
            record.append(_ambient_in_words(column, ambient))
        values = _column(table, column, ambient, name, doubts)
        if values is not None:
            channels[channel] = values
    for other in columns.beside:
        values = _column(table, other, ambient, name, doubts)
        if values is not None:
            channels[other.label] = values
    for one, other in columns.twins:
        if one.channel not in channels:
            continue
        values = _column(table, other, ambient, name, [])
        if values is not None and _differ(channels[one.channel], values):
            which = f"{one.label} and {other.label} stand for the same but differ"
            if one.channel in CORE:
                raise InputError(
                    f"{name}: {which}; say which one to use with --column "
                    f'"{other.heading.text}={other.channel}", or on the page under As read.'
                )
            doubts.append(f"{which}; none is used.")
            del channels[one.channel]
    data = Data(
        channels=channels, lines=np.asarray(table.lines, float), record=record, doubts=doubts
    )
    drop_rates(data, table)
    drop_stopped(data)
    _torque_from_power(data, told.divided)
    for channel in ("speed", "torque"):
        _check_range(data, channel, name)
    bridge_speed(data)
    _drop_gaps(data, name)
    drop_speed_spikes(data)
    drop_maxima(data)
    _refuse_negative(data, name)
    choose_rows(data, name, told.pull)
    data.most_in = take_greatest(data, columns)
    _compare_power(data, name, told.divided)
    _channel_ranges(data, name)
    _check_low_pressure(data, columns, ambient, name)
    put_in_order(data)
    return data


def _need_core(columns: Columns, name: str) -> None:
    if "speed" not in columns.used:
        raise InputError(
            f"{name} has no column of engine speed; {_near(columns, ('speed',))}head one 'engine "
            "speed [rpm]', or say which it "
            'is with --column "HEADING=speed [rpm]" or on the page under As read.'
        )
    if not {"torque", "power"} & set(columns.used):
        raise InputError(
            f"{name} has no column of torque or power; {_near(columns, CORE[1:])}head one 'torque "
            "[N·m]' or 'power [kW]', or "
            'say which it is with --column "HEADING=torque [N*m]" or on the page under As read.'
        )


def _near(columns: Columns, channels: Iterable[str]) -> str:
    """What a heading that is not known may have been meant for, as a question."""
    for text in columns.not_known.values():
        for word in words_of(text):
            if meant := meant_by(word, channels):
                return f"did you mean {meant} by {quoted(text)}? Else "
    return ""


def _refuse_hidden_decimals(table: Table, columns: Columns, name: str) -> None:
    """Refuse a comma file that may have decimal commas: a column without name beside a used one."""
    if not table.decimals_hidden:
        return
    used = {c.index for c in columns.used.values()}
    for index, texts in enumerate(table.headings):
        right = index - 1 in used and index not in used
        if not right or not np.isfinite(table.columns[index].values).any():
            continue
        told = " ".join(t for t in texts if t)
        words = set(words_of(told))
        if not words - NAMELESS or len(told) < 2:
            raise InputError(
                f"{name}: column {index + 1} has no name but holds numbers, and no number has a "
                "decimal point, so that it may hold decimals after a comma; export with a decimal "
                "point or with semicolons between columns."
            )
        columns.doubts.append(
            f"No number has a decimal point: {quoted(told)} is taken for a column of its own, not "
            "for decimals after a comma."
        )


def _ambient_in_words(column: Column, ambient: float) -> str:
    is_now, done = ("gauge", "added") if column.ambient > 0 else ("absolute", "taken off")
    added = f"{ambient / 1e3:g} kPa of ambient pressure was {done}"
    return f"{column.label} is {is_now} pressure; {added}."


def _column(
    table: Table, column: Column, ambient: float, name: str, doubts: list[str]
) -> Array | None:
    """One column in SI with NaN for gaps; None where an optional column cannot be used."""
    cells = table.columns[column.index]
    if cells.bad.any():
        line = int(table.lines[int(np.argmax(cells.bad))])
        found = f"{column.label} is {quoted(cells.first_bad)} in line {line}"
        few = cells.bad.sum() <= FEW_CELLS * len(cells.bad) and not cells.foreign
        if not few and column.channel in CORE:
            raise InputError(
                f"{name}: {found}, which is no number"
                f"{' as the others are written' if cells.foreign else ''}; correct the cell or "
                "leave it empty."
            )
        if not few:
            doubts.append(f"The whole column was left out: {found}, which is no number.")
            return None
        doubts.append(
            f"{found}, which is no number: {count_of(int(cells.bad.sum()), 'cell')} of the column "
            "taken as empty."
        )
    values = cells.values * column.unit.size + column.unit.offset
    if not np.isfinite(values).any():
        if column.channel in CORE:
            raise InputError(f"{name}: {column.label} holds no numbers at all.")
        doubts.append(f"{column.label} was left out: it holds no numbers.")
        return None
    return column.sign * (values + column.ambient * ambient)


def _differ(values: Array, twin: Array) -> bool:
    """True where two columns of one quantity say another in more than a few rows."""
    off = np.abs(values - twin) > AGREEMENT * np.nanmax(np.abs(values))
    return bool(off.mean() > FEW_CELLS)


def _refuse_negative(data: Data, name: str) -> None:
    """Refuse torque that is negative throughout, as some absorbers count it."""
    if data.channels["torque"].max() < 0:
        raise InputError(
            f"{name}: torque is negative in every row; turn its sign, because here torque that the "
            "engine gives is positive."
        )


def _torque_from_power(data: Data, divided: float) -> None:
    """Torque from power where it is missing."""
    power = data.channels.get("power")
    if power is None:
        return
    from_power = power / data.channels["speed"] * divided
    torque = data.channels.get("torque")
    if torque is None:
        data.channels["torque"] = from_power / divided
        data.at_engine_speed = True
        del data.channels["power"]
        data.doubts.append("Torque was worked out from power and speed.")
        return
    missing = ~np.isfinite(torque) & np.isfinite(from_power)
    if missing.any():
        data.channels["torque"] = np.where(missing, from_power, torque)
        data.doubts.append(
            f"In {count_of(int(missing.sum()), 'row')} without torque it was worked out from "
            "power and speed."
        )


def _compare_power(data: Data, name: str, divided: float) -> None:
    """Power, where both are there, against torque times speed."""
    power = data.channels.pop("power", None)
    if power is None:
        return
    torque, from_power = data.channels["torque"], power / data.channels["speed"] * divided
    both = np.isfinite(torque) & np.isfinite(from_power)
    if both.any():
        _compare(torque, from_power, both, data, name)
        data.at_engine_speed = divided == 1.0


def _compare(
    torque: Array, from_power: Array, both: npt.NDArray[np.bool_], data: Data, name: str
) -> None:
    off = np.abs(from_power - torque)
    rounding = 0.01 * np.max(np.abs(torque[both]))
    bad = both & (off > AGREEMENT * np.abs(torque)) & (off > rounding)
    if not bad.any():
        data.record.append("Power agrees with torque times speed within 3 %.")
        return
    row = int(np.argmax(bad))
    large = both & (np.abs(torque) > rounding)
    ratios = from_power[large] / torque[large]
    middle = float(np.median(ratios))
    first = (
        f"line {int(data.lines[row])} reads {torque[row]:.4g} N·m, but power and speed there give "
        f"{from_power[row]:.4g} N·m"
    )
    if np.all(np.abs(ratios / middle - 1) < AGREEMENT):
        near = sorted((abs(middle / factor - 1), words) for factor, words in _MIX_UPS)
        likely = [words for off_by, words in near if off_by < 0.02][:2]
        reason = "; or ".join(likely) or (
            "check the units of torque, power and speed, and whether torque goes with wheel speed "
            "(referred_to: wheel, gear_ratio, final_drive)"
        )
        raise InputError(
            f"{name}: power is {middle:.4g} times torque times speed ({first}), but they must "
            f"agree within 3 %; {reason}."
        )
    raise InputError(
        f"{name}: {first}, and they must agree within 3 % ({count_of(int(bad.sum()), 'row')} of "
        f"{int(both.sum())} disagree); correct them, or leave one of the two columns out."
    )


def _drop_gaps(data: Data, name: str) -> None:
    good = np.isfinite(data.channels["speed"]) & np.isfinite(data.channels["torque"])
    data.leave_out(~good, ": without speed or torque")
    if not good.any():
        raise InputError(f"{name} has no row with both speed and torque or power.")


def _channel_ranges(data: Data, name: str) -> None:
    """Make gaps of the few values of a channel outside its range, in the rows that are read."""
    for channel in [c for c in data.channels if c not in CORE]:
        if channel == "time":
            declaration, values = CHANNELS[channel], data.channels[channel]
            if np.any((values < declaration.low) | (values > declaration.high)):
                data.doubts.append(
                    "Time was left out: it does not count from the start of the log."
                )
                del data.channels[channel]
            continue
        _check_range(data, channel, name)


def _check_low_pressure(data: Data, columns: Columns, ambient: float, name: str) -> None:
    """Manifold pressure that reads like gauge pressure as absolute: refused where the heading says
    neither, told where it says absolute."""
    values = data.channels.get("manifold_pressure")
    if values is None:
        return
    torque, column = data.channels["torque"], columns.used["manifold_pressure"]
    loaded = np.isfinite(values) & (torque > 0.5 * torque.max())
    low = loaded & (values < THROTTLED * ambient)
    if low.sum() <= FEW_CELLS * loaded.sum():
        return
    row = int(np.argmax(low))
    told = (
        f"{column.label} is {values[row] / 1e3:.0f} kPa in line {int(data.lines[row])} at "
        f"{torque[row] / torque.max():.0%} of the highest torque, far below the atmosphere"
    )
    if not column.unsaid:
        data.doubts.append(
            f"{told}, in {column.unit_in_words}: if it is gauge pressure, head it so."
        )
        return
    unit = column.unit.spelling
    raise InputError(
        f"{name}: {told} for absolute pressure, and its heading says neither gauge nor absolute; "
        f'give --column "{brief(column.heading.text)}=manifold pressure [{unit} gauge]" or '
        f'"[{unit} abs]", or say so on the page under As read.'
    )


def _check_range(data: Data, channel: str, name: str) -> None:
    declaration, values = CHANNELS[channel], data.channels[channel]
    bad = (values < declaration.low) | (values > declaration.high)
    if not bad.any():
        return
    row = int(np.argmax(bad))
    told = (
        f"{declaration.words} is {declaration.in_words(float(values[row]))} in line "
        f"{int(data.lines[row])}, but must be from {declaration.in_words(declaration.low)} to "
        f"{declaration.in_words(declaration.high)}"
    )
    if bad.sum() > FEW_CELLS * len(values):
        raise InputError(f"{name}: {told}; check the number and the unit in the heading.")
    data.doubts.append(f"{told}: {count_of(int(bad.sum()), 'value')} taken as missing.")
    data.channels[channel] = np.where(bad, np.nan, values)


def ambient_of(facts: Mapping[str, float | str], doubts: list[str], columns: Columns) -> float:
    """Ambient pressure [Pa] for gauge readings: stated, else the standard atmosphere, recorded."""
    stated = facts.get("ambient_pressure")
    if isinstance(stated, float):
        return stated
    if any(c.ambient != 0 for c in columns.used.values()):
        doubts.append(
            "The ambient pressure is not stated: 101.325 kPa is assumed to change between gauge "
            "and absolute pressure."
        )
    return 101325.0
