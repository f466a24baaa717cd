"""Rows chosen and put in order of rising speed: a table's rows, or one pull of a log, smoothed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from torquerisk.case import CHANNELS
from torquerisk.errors import InputError
from torquerisk.files import pulls as find
from torquerisk.files.channel_names import TOGETHER
from torquerisk.files.pull_choice import choose_pull
from torquerisk.files.pulls import JITTER
from torquerisk.files.text import count_of
from torquerisk.quantities import RPM, Array

if TYPE_CHECKING:
    from torquerisk.files.run_columns import Columns
    from torquerisk.files.run_data import Data
    from torquerisk.files.table import Table

SHORT_GAP = 3
"""The longest gap in an optional channel that is bridged [rows]."""
FEW_SPIKES, FEW_DROPOUTS = 0.05, 1 / 16
"""Share of rows that may be left out for a speed off its neighbours, or for torque of 0 or less
[1]."""
COUNTED = {"knock_count", "ignition_cut", "fuel_cut"}
"""Channels of which rows that are made into one keep the greatest, for a mean would lose a mark."""
_SAME_SPEED = 1e-9
STOPPED = 200 * RPM
"""Speed below which no engine runs [rad/s]."""

RATES = frozenset((1, 2, 4, 5, 8, 10, 16, 20, 25, 32, 40, 50, 64, 80, 100, 125, 128, 200, 250, 256,
                   400, 500, 512, 800, 1000, 2000, 5000, 10000))  # fmt: skip
"""Sample rates of loggers [Hz]."""


def choose_rows(data: Data, name: str, pull: int) -> None:
    """Keep the rows of one rising sweep, without lifts of the throttle.

    A list that falls without a time is taken for a printed one and turned. Raises InputError where
    a table of speeds steps back, or falls with time, or a log has no such pull.
    """
    speed = data.channels["speed"]
    back = np.maximum.accumulate(speed) - speed
    if len(speed) >= find.LOG_ROWS and np.any(back > JITTER):
        choose_pull(data, name, pull)
        return
    if pull != 1:
        raise InputError(f"{name} holds one pull, but pull {pull} is asked for; leave that out.")
    _refuse_steps_back(data, back, name)
    _drop_lifts(data)


def _refuse_steps_back(data: Data, back: Array, name: str) -> None:
    speed = data.channels["speed"]
    if len(speed) < 2:
        return
    if np.all(np.diff(speed) <= 0) and speed[-1] < speed[0] - JITTER:
        falls = f"peed falls from {speed[0] / RPM:.0f} to {speed[-1] / RPM:.0f} rpm"
        if "time" in data.channels:
            raise InputError(
                f"{name}: s{falls}; give the rising pull, because torque read while the engine "
                "slows down is not what it made."
            )
        data.doubts.append(
            f"S{falls} without a time: it is taken for a list from high to low and turned. If it "
            "was read while the engine slowed down, give the rising pull."
        )
        data.keep(np.arange(len(speed))[::-1])
        return
    if np.any(back > JITTER):
        row = int(np.argmax(back > JITTER))
        raise InputError(
            f"{name}: speed must rise from row to row, but line {int(data.lines[row])} goes back "
            f"from {(speed[row] + back[row]) / RPM:.0f} to {speed[row] / RPM:.0f} rpm; cut the "
            "file to one rising pull."
        )


def drop_rates(data: Data, table: Table) -> None:
    """Leave out a first row of sample rates: only such numbers, and a speed far off the next."""
    first = [c.values[0] for c in table.columns if np.isfinite(c.values[0])]
    speed = data.channels["speed"]
    steps = np.abs(np.diff(speed[np.isfinite(speed)]))
    if len(steps) < 3 or not set(first) <= RATES:
        return
    if steps[0] > 3 * np.median(steps[1:]):
        data.leave_out(np.arange(len(data.lines)) == 0, ": it holds sample rates, not a reading")


def drop_stopped(data: Data) -> None:
    """Leave out rows in which the engine does not run, unless that is nearly all of them."""
    speed = data.channels["speed"]
    stopped = np.abs(speed) < STOPPED
    if stopped.mean() < 0.9:
        low = f"{STOPPED / RPM:.0f} rpm"
        data.leave_out(stopped, f": below {low} the engine does not run")


def drop_maxima(data: Data) -> None:
    """Leave out a last row without a word that only repeats the highest speed and torque."""
    speed, torque = data.channels["speed"], data.channels["torque"]
    if len(speed) < 5:
        return
    highest = all(abs(v[-1] / v[:-1].max() - 1) < 1e-3 for v in (speed, torque) if v[:-1].max() > 0)
    if highest and speed[-1] <= speed[-2] * (1 + 1e-9) and torque[-2] < 0.98 * torque[-1]:
        data.leave_out(
            np.arange(len(speed)) == len(speed) - 1,
            ": it repeats the highest speed and torque of the rows above and so holds their "
            "maxima, not a reading",
        )


def bridge_speed(data: Data) -> None:
    """Speed by straight lines at rows of torque in a log that writes each channel in rows of its
    own."""
    speed, torque = np.isfinite(data.channels["speed"]), np.isfinite(data.channels["torque"])
    wanted = torque & ~speed
    if wanted.sum() < 0.5 * torque.sum() or speed.sum() < find.LOG_ROWS:
        return
    at = np.flatnonzero(speed)
    apart = int(np.percentile(np.diff(at), 99)) + 1
    after = np.clip(np.searchsorted(at, np.arange(len(speed))), 1, len(at) - 1)
    wanted &= at[after] - at[after - 1] <= apart
    values = np.interp(np.arange(len(speed)), at, data.channels["speed"][at])
    data.channels["speed"] = np.where(wanted, values, data.channels["speed"])
    data.doubts.append(
        f"Speed and torque stand in rows of their own: at {count_of(int(wanted.sum()), 'row')} of "
        f"torque speed was bridged by straight lines over at most {apart} rows."
    )


def drop_speed_spikes(data: Data) -> None:
    """Leave out the few rows in which speed stands far off that before and after."""
    spike = find.speed_spikes(data.channels["speed"])
    if spike.sum() <= FEW_SPIKES * len(spike):
        data.leave_out(
            spike,
            f", in which speed stands more than {find.SPEED_SPIKE / RPM:.0f} rpm off the rows "
            "before and after: taken for a sensor that dropped out",
        )


def take_greatest(data: Data, columns: Columns) -> str:
    """Make columns that stand for one channel into it, see `TOGETHER`; the label of the one that
    holds the greatest knock retard, empty where there are not several."""
    most, which = 0.0, ""
    for other in columns.beside:
        channel, values = other.channel, data.channels.pop(other.label, None)
        first = data.channels.get(channel)
        if values is None or first is None:
            continue
        if channel == "knock_retard" and not which:
            which, most = columns.used[channel].label, _size(first)
        if channel == "knock_retard" and _size(values) > most:
            which, most = other.label, _size(values)
        greater = np.isnan(first) | (np.abs(values) > np.abs(first))
        data.channels[channel] = (
            np.nansum((first, values), axis=0)
            if TOGETHER[channel] == "the sum"
            else np.where(greater, values, first)
        )
    return which if most > 0 else ""


def _size(values: Array) -> float:
    """Greatest size of what is there."""
    return float(np.nanmax(np.abs(values), initial=0.0))


def _drop_lifts(data: Data) -> None:
    """Leave out rows with hardly any torque where speed steps back, tell of others."""
    lift = find.lifted(data.channels["torque"])
    none = lift & (data.channels["torque"] <= 0)
    if 0 < none.sum() <= FEW_DROPOUTS * len(none):
        data.leave_out(
            none,
            ", in which torque is 0 or less between rows under load: taken for a sensor that "
            "dropped out or a cut",
        )
        lift = lift[~none]
    if not lift.any():
        return
    line = int(data.lines[int(np.argmax(lift))])
    back = np.diff(data.channels["speed"]) < 0
    steps = np.concatenate([back, [False]]) | np.concatenate([[False], back])
    why = f", in which torque falls below {find.LIFTED:.0%} of what it is before and after"
    if np.any(lift & steps):
        data.leave_out(lift, f"{why} while speed steps back: taken for a lift of the throttle")
    else:
        kept = f"{count_of(int(lift.sum()), 'row')} kept, the first in line {line}"
        data.doubts.append(f"{kept}{why}: look at it there.")


def put_in_order(data: Data) -> None:
    """Rows by rising speed: steady points and long pulls made into one curve, gaps bridged."""
    speed = data.channels["speed"]
    if data.pulls or len(speed) > find.SMOOTH_ROWS or np.any(np.diff(speed) <= 0):
        _run_on(data)
    if data.pulls or len(speed) > find.SMOOTH_ROWS:
        _drop_spikes(data)
        steady = find.holds(data.channels["speed"])
        if steady:
            _average_holds(data, steady)
    speed = data.channels["speed"]
    if np.any(np.diff(speed) < 0):
        back = np.maximum.accumulate(speed) - speed
        count = int((np.diff(speed) < 0).sum())
        data.doubts.append(
            f"Speed steps back {count_of(count, 'time')} by {back.max() / RPM:.1f} rpm or less, "
            "taken for jitter: rows were put in order of speed."
        )
        data.keep(np.argsort(speed, kind="stable"))
    if "knock_count" in data.channels and np.any(np.diff(speed) < 0):
        counts = np.nan_to_num(data.channels["knock_count"])
        data.channels["knock_count"] = np.maximum.accumulate(counts)
    if len(speed) > (find.SMOOTH_PULL if data.pulls else find.SMOOTH_ROWS):
        _smooth(data)
    _average_equal_speeds(data)
    _bridge_gaps(data)


def _run_on(data: Data) -> None:
    """Knocks as one count that runs on, so that rows may be dropped, sorted and merged."""
    counts = data.channels.get("knock_count", np.zeros(0))
    there = counts[np.isfinite(counts)]
    if len(there):
        runs_on = there[-1] > 0 and bool(np.all(np.diff(there) >= 0))
        count = np.maximum.accumulate if runs_on else np.cumsum
        data.channels["knock_count"] = count(np.nan_to_num(counts))


def _most(values: Array, group: find.Rows, groups: int) -> Array:
    """Greatest value of each group (groups,), NaN where it has none."""
    most = np.full(groups, -np.inf)
    there = np.isfinite(values)
    np.maximum.at(most, group[there], values[there])
    return np.where(np.isfinite(most), most, np.nan)


def _drop_spikes(data: Data) -> None:
    spike = find.spikes(data.channels["torque"])
    data.leave_out(spike, ", in which torque stands far off the median of its 11 neighbours")


def _average_holds(data: Data, steady: list[find.Rows]) -> None:
    kept = sum(map(len, steady))
    left = len(data.lines) - kept
    data.doubts.append(
        f"The log holds {len(steady)} steady points of {find.HOLD_ROWS} rows or more: each is "
        f"averaged, and {count_of(left, 'row')} between them left aside."
    )
    data.channels = {
        channel: np.array([_mean(values[rows], channel in COUNTED) for rows in steady])
        for channel, values in data.channels.items()
    }
    data.lines = np.array([data.lines[rows[0]] for rows in steady])


def _mean(values: Array, most: bool) -> float:
    there = values[np.isfinite(values)]
    return float(there.max() if most else there.mean()) if len(there) else float("nan")


def _smooth(data: Data) -> None:
    """The rows made into one curve over a grid of speeds."""
    speed = data.channels["speed"]
    first, last = np.ceil(speed[0] / RPM / find.GRID), np.floor(speed[-1] / RPM / find.GRID)
    at = np.arange(first, last + 1) * find.GRID * RPM
    channels = {c: find.smoothed(speed, v, at) for c, v in data.channels.items() if c != "speed"}
    nearest = np.clip(np.rint(speed / RPM / find.GRID - first).astype(int), 0, len(at) - 1)
    for channel in COUNTED & channels.keys():
        channels[channel] = _most(data.channels[channel], nearest, len(at))
    there = np.isfinite(channels["torque"])
    data.doubts.append(
        f"{len(speed)} rows were smoothed onto {count_of(int(there.sum()), 'speed')}, "
        f"{find.GRID} rpm apart: at each, a straight line by least squares through the "
        f"rows within {find.WINDOW / RPM:.0f} rpm."
    )
    rows = np.searchsorted(speed, at)
    lines = data.lines[np.minimum(rows, len(speed) - 1)]
    data.channels = {"speed": at, **channels}
    data.lines = lines
    data.keep(there)


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
        if channel in COUNTED:
            merged[channel] = _most(values, group, len(count))
    high, low = (_most(sign * data.channels["torque"], group, int(new.sum())) for sign in (1, -1))
    apart = float((high + low).max() / max(np.abs(high).max(), 1e-9))
    data.doubts.append(
        f"{count_of(int((~new).sum()), 'row')} of equal speed averaged with another: their torque "
        f"differs by up to {apart:.1%} of the highest."
    )
    merged["speed"] = speed[new]
    data.channels = merged
    data.lines = data.lines[new]


def _bridge_gaps(data: Data) -> None:
    """Short gaps in optional channels bridged by straight lines over speed, others left out."""
    speed = data.channels["speed"]
    for channel in [c for c in data.channels if c not in ("speed", "torque")]:
        values = data.channels[channel]
        there = np.isfinite(values)
        if there.all():
            continue
        label = CHANNELS[channel].label
        indices = np.flatnonzero(there)
        longest = int(np.max(np.diff(indices), initial=1)) - 1
        if not there[0] or not there[-1] or longest > SHORT_GAP:
            data.doubts.append(
                f"{label} was left out: it has gaps of more than {SHORT_GAP} rows or "
                "at an end of the run."
            )
            del data.channels[channel]
            continue
        data.channels[channel] = np.interp(speed, speed[there], values[there])
        data.doubts.append(
            f"{label}: {count_of(int((~there).sum()), 'missing value')} bridged by straight lines."
        )
