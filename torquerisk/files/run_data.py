"""Cells made into SI arrays of rising speed: gaps, ranges, torque from power, order, averages."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from torquerisk.case import CHANNELS
from torquerisk.errors import InputError
from torquerisk.files.run_columns import Column, Columns
from torquerisk.files.run_table import Table, is_gap
from torquerisk.files.text import count_of, quoted
from torquerisk.quantities import RPM, Array

JITTER = 25 * RPM
"""The largest step back in speed that is taken for a logger's jitter [rad/s]."""

SHORT_GAP = 3
"""The longest gap in an optional channel that is bridged [rows]."""

AGREEMENT = 0.03
"""How closely power must agree with torque times speed [1]."""

CORE = ("speed", "torque", "power")

_SAME_SPEED = 1e-9
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

    def keep(self, rows: npt.NDArray[Any]) -> None:
        """Keep only these rows, in this order (indices or a mask)."""
        self.channels = {name: values[rows] for name, values in self.channels.items()}
        self.lines = self.lines[rows]


def read_data(table: Table, columns: Columns, ambient: float, name: str) -> Data:
    """Speed, torque and the other channels of a table, row by row of rising speed."""
    _need_core(columns, name)
    channels: dict[str, Array] = {}
    record: list[str] = []
    for channel, column in columns.used.items():
        values = _column(table, column, ambient, name, record)
        if values is not None:
            channels[channel] = values
    data = Data(
        channels=channels, lines=np.array([r.number for r in table.rows], float), record=record
    )
    _torque(data, name)
    _drop_gaps(data, name)
    _check_ranges(data, name)
    _order(data, name)
    _average_equal_speeds(data)
    _bridge_gaps(data)
    return data


def _need_core(columns: Columns, name: str) -> None:
    if "speed" not in columns.used:
        raise InputError(f"{name} has no column of engine speed; head one 'engine speed [rpm]'.")
    if not {"torque", "power"} & set(columns.used):
        raise InputError(
            f"{name} has no column of torque or power; head one 'torque [N·m]' or 'power [kW]'."
        )


def _column(
    table: Table, column: Column, ambient: float, name: str, record: list[str]
) -> Array | None:
    """One column in SI with NaN for gaps; None where an optional column cannot be used."""
    values = np.full(len(table.rows), np.nan)
    for row, line in enumerate(table.rows):
        cell = line.cells[column.index]
        number = table.style.number(cell)
        if number is not None:
            values[row] = column.unit.to_si(number)
        elif not is_gap(cell):
            found = f"{quoted(column.heading)} is {quoted(cell)} in line {line.number}"
            if column.channel in CORE:
                raise InputError(
                    f"{name}: {found}, which is no number; correct the cell or leave it empty."
                )
            record.append(f"The whole column was left out: {found}, which is no number.")
            return None
    if not np.isfinite(values).any():
        if column.channel in CORE:
            raise InputError(f"{name}: {quoted(column.heading)} holds no numbers at all.")
        record.append(f"{quoted(column.heading)} was left out: it holds no numbers.")
        return None
    if column.gauge_to_absolute:
        record.append(
            f"{quoted(column.heading)} is gauge pressure; {ambient / 1e3:g} kPa of ambient "
            "pressure was added."
        )
        values = values + ambient
    if column.absolute_to_gauge:
        record.append(
            f"{quoted(column.heading)} is absolute pressure; {ambient / 1e3:g} kPa of ambient "
            "pressure was taken off."
        )
        values = values - ambient
    return column.sign * values


def _torque(data: Data, name: str) -> None:
    """Torque from power where it is missing; else the two compared."""
    power = data.channels.pop("power", None)
    if power is None:
        return
    speed = data.channels["speed"]
    with np.errstate(divide="ignore", invalid="ignore"):
        from_power = np.where(speed > 0, power / speed, np.nan)
    torque = data.channels.get("torque")
    if torque is None:
        data.channels["torque"] = from_power
        data.record.append("Torque was worked out from power and speed.")
        return
    both = np.isfinite(torque) & np.isfinite(from_power)
    if not both.any():
        return
    _compare(torque, from_power, both, data, name)
    missing = ~np.isfinite(torque) & np.isfinite(from_power)
    if missing.any():
        data.channels["torque"] = np.where(missing, from_power, torque)
        data.record.append(
            f"In {count_of(int(missing.sum()), 'row')} without torque it was worked out from "
            "power and speed."
        )


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
        reason = "; or ".join(likely) or "check the units of torque, power and speed"
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
    dropped = int((~good).sum())
    if dropped:
        first = int(data.lines[int(np.argmax(~good))])
        data.record.append(
            f"{count_of(dropped, 'row')} without speed or torque left out, the first in line "
            f"{first}."
        )
        data.keep(good)
    if not good.any():
        raise InputError(f"{name} has no row with both speed and torque or power.")


def _check_ranges(data: Data, name: str) -> None:
    """Refuse a value outside its channel's range, with the line it stands in."""
    for channel, values in list(data.channels.items()):
        declaration = CHANNELS[channel]
        bad = (values < declaration.low) | (values > declaration.high)
        if bad.any() and channel == "time":
            data.record.append("Time was left out: it does not count from the start of the log.")
            del data.channels[channel]
        elif bad.any():
            row = int(np.argmax(bad))
            raise InputError(
                f"{name}: {declaration.words} is "
                f"{declaration.in_words(float(values[row]))} in line {int(data.lines[row])}, but "
                f"must be from {declaration.in_words(declaration.low)} to "
                f"{declaration.in_words(declaration.high)}; check the number and the unit in the "
                "heading."
            )


def _order(data: Data, name: str) -> None:
    """Rows by rising speed; a logger's jitter is sorted, a real step back is refused."""
    speed = data.channels["speed"]
    if len(speed) < 2:
        return
    if np.all(np.diff(speed) <= 0) and speed[-1] < speed[0] - JITTER:
        raise InputError(
            f"{name}: speed falls from {speed[0] / RPM:.0f} to {speed[-1] / RPM:.0f} rpm; give the "
            "rising pull, because torque read while the engine slows down is not what it made."
        )
    reached = np.maximum.accumulate(speed)
    back = reached - speed
    if np.any(back > JITTER):
        row = int(np.argmax(back > JITTER))
        raise InputError(
            f"{name}: speed must rise from row to row, but line {int(data.lines[row])} goes back "
            f"from {reached[row] / RPM:.0f} to {speed[row] / RPM:.0f} rpm; cut the file to one "
            "rising pull."
        )
    if np.any(np.diff(speed) < 0):
        count = int((np.diff(speed) < 0).sum())
        data.record.append(
            f"Speed steps back {count_of(count, 'time')} by {back.max() / RPM:.1f} rpm or less, "
            "taken for jitter: rows were put in order of speed."
        )
        data.keep(np.argsort(speed, kind="stable"))


def _average_equal_speeds(data: Data) -> None:
    speed = data.channels["speed"]
    if len(speed) < 2:
        return
    new = np.concatenate([[True], np.diff(speed) > _SAME_SPEED * speed[1:]])
    if new.all():
        return
    group = np.cumsum(new) - 1
    merged: dict[str, Array] = {}
    for channel, values in data.channels.items():
        there = np.isfinite(values)
        count = np.bincount(group, weights=there)
        total = np.bincount(group, weights=np.where(there, values, 0.0))
        merged[channel] = np.where(count > 0, total / np.maximum(count, 1), np.nan)
    data.record.append(
        f"{count_of(int((~new).sum()), 'row')} of equal speed averaged with another."
    )
    merged["speed"] = speed[new]
    data.channels = merged
    data.lines = data.lines[new]


def _bridge_gaps(data: Data) -> None:
    """Short gaps in optional channels bridged by straight lines over speed, others left out."""
    speed = data.channels["speed"]
    for channel in [c for c in data.channels if c not in CORE]:
        values = data.channels[channel]
        there = np.isfinite(values)
        if there.all():
            continue
        label = CHANNELS[channel].label
        indices = np.flatnonzero(there)
        longest = int(np.max(np.diff(indices), initial=1)) - 1
        if not there[0] or not there[-1] or longest > SHORT_GAP:
            data.record.append(
                f"{label} was left out: it has gaps of more than {SHORT_GAP} rows or "
                "at an end of the run."
            )
            del data.channels[channel]
            continue
        data.channels[channel] = np.interp(speed, speed[there], values[there])
        data.record.append(
            f"{label}: {count_of(int((~there).sum()), 'missing value')} bridged by straight lines."
        )


def ambient_of(facts: Mapping[str, float | str], record: list[str], columns: Columns) -> float:
    """Ambient pressure [Pa] for gauge readings: stated, else the standard atmosphere, recorded."""
    stated = facts.get("ambient_pressure")
    if isinstance(stated, float):
        return stated
    if any(c.gauge_to_absolute or c.absolute_to_gauge for c in columns.used.values()):
        record.append(
            "The ambient pressure is not stated: 101.325 kPa is assumed to change between gauge "
            "and absolute pressure."
        )
    return 101325.0


__all__ = ["Data", "ambient_of", "read_data"]
