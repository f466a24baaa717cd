"""Which pull of a log is read, and what is told of it and of the others."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from torquerisk.case import CHANNELS
from torquerisk.errors import InputError
from torquerisk.files import pulls as find
from torquerisk.files.text import count_of
from torquerisk.quantities import RPM

if TYPE_CHECKING:
    from torquerisk.files.run_data import Data


def choose_pull(data: Data, name: str, pull: int) -> None:
    """Keep one pull of a log, and tell of it and of the others."""
    speed, torque = data.channels["speed"], data.channels["torque"]
    found = find.find_pulls(speed, torque)
    if not found:
        raise InputError(
            f"{name} is a log without a pull: speed nowhere rises by "
            f"{find.LEAST_SPAN / RPM:.0f} rpm under load; give a log of a rising pull."
        )
    if not 1 <= pull <= len(found):
        raise InputError(
            f"{name} holds {count_of(len(found), 'pull')}, but pull {pull} is asked for; give a "
            f"number from 1 to {len(found)}."
        )
    gas = [one for one in found if find.shows_gas(one, data.channels)]
    found = [*gas, *(one for one in found if one not in gas)]
    data.pulls = tuple(found)
    ends = ((p.rows.min(), p.rows.max()) for p in found)
    data.lines_of_pulls = tuple((int(data.lines[a]), int(data.lines[b])) for a, b in ends)
    told = list(map(in_words, found, data.lines_of_pulls))
    others = [f"{i}: {t}" for i, t in enumerate(told, 1) if i != pull]
    best = "in which coolant pressure rose" if gas else "of the most torque over speed"
    which = f"the one {best}" if pull == 1 else f"number {pull}"
    if pull > len(gas) > 0:
        data.gas_elsewhere.append(
            f"Coolant pressure rose in another pull of this log ({told[0]}): stop running at that "
            "torque and test for gas in the coolant; leave --pull out to have it judged."
        )
    data.doubts.append(
        f"The log holds {count_of(len(found), 'pull')}; {which} is read: {told[pull - 1]}."
    )
    if others:
        more = f" and {len(others) - 12} more" if len(others) > 12 else ""
        data.doubts.append(f"Other pulls, not read: {'; '.join(others[:12])}{more}.")
    falls = find.falls_under_load(speed, torque, found[pull - 1].peak)
    if falls:
        data.doubts.append(
            f"{count_of(falls, 'sweep')} of falling speed under load left aside: torque read while "
            "the engine slows down is not what it made."
        )
    chosen = found[pull - 1].rows
    data.doubts.append(
        f"{count_of(len(speed) - len(chosen), 'row')} of the log outside that pull left aside: "
        "idle, coasting, shifts, lifts, falling speed and other pulls."
    )
    _tell_lifts(data, chosen)
    data.keep(chosen)


def _tell_lifts(data: Data, chosen: find.Rows) -> None:
    """Tell of rows within a pull that are no part of it, and whether a cut was logged there."""
    inside = np.setdiff1d(np.arange(chosen.min(), chosen.max() + 1), chosen)
    if len(inside) == 0:
        return
    speed = data.channels["speed"][inside] / RPM
    cuts = [CHANNELS[c].words.partition(",")[0].lower() for c in ("ignition_cut", "fuel_cut")
            if np.any(data.channels.get(c, np.zeros(len(data.lines)))[inside] > 0)]  # fmt: skip
    logged = f"; {' and '.join(cuts)} was logged there" if cuts else ""
    data.lifts.append(
        f"From {speed.min():,.0f} to {speed.max():,.0f} rpm torque fell below "
        f"{100 * find.LIFTED:.0f} % of what it is beside it: a cut, a lift or a shift, which the "
        f"curve leaves out ({count_of(len(inside), 'row')}{logged})."
    )


def in_words(pull: find.Pull, lines: tuple[int, int]) -> str:
    """A pull as the record tells it."""
    return (
        f"lines {lines[0]} to {lines[1]}, {pull.low / RPM:.0f} to {pull.high / RPM:.0f} rpm, up to "
        f"{pull.peak:.0f} N·m"
    )
