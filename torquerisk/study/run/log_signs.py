"""Signs in a log: what its channels say went wrong in the pull, and where that begins.

Each is looked for so that fewer than FALSE_ALARM of clean pulls show it: with sensor noise up to
2 % of the reading, slow drift of a few percent, readings rounded to 1 % of the range, and stray
counts of knock, 0.3 in a pull.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.case import Engine, Run
from torquerisk.physics.coolant import beginning, calm, coolant_sign
from torquerisk.quantities import RPM, Array

FALSE_ALARM = 0.01
"""Share of clean pulls that show a sign, at most, for each kind of sign [-]."""
OIL_FALL = (0.15, 40e3)
"""Fall of oil pressure from its highest while speed rises: share of it, and least [Pa]."""
FUEL_FALL = (0.10, 30e3)
"""Fall of fuel pressure from its highest that boost does not explain: share, and least [Pa]."""
NOISE = 6.0
"""Standard deviations of a channel's noise that a fall must be beside that [-]."""
FLAT_ROWS, FLAT_NOISE, FLAT_WITHIN = 5, 0.2, 5e-4
"""Neighbouring rows at the top of manifold pressure that move less than this share of its noise are
a sensor's end; that noise is of rows further than that share below the top."""
FINE_STEP = 2e-3
"""Smallest step between readings over the highest: coarser ones stand still by rounding [-]."""
AT_LIMIT, ROWS_AT_LIMIT = 0.995, 3
"""Share of the sensor's stated range, and rows there, that are its end."""
STRAY_COUNTS, KNOCK_BAND = 3.0, 500 * RPM
"""Counts of knock within a band of speed [rad/s] that are no stray ones."""
LIMITER_SHARE = 0.97
"""Share of the run's highest speed from where a cut is the speed limiter's."""


@dataclass(frozen=True, kw_only=True)
class LogSign:
    """One sign: what it is, where it begins and ends, and what to make of it."""

    code: str
    title: str
    first: float
    """Speed at which it begins [rad/s]."""
    last: float
    text: str


def coolant_sign_of(run: Run) -> tuple[float, float, float] | None:
    """The same of a run that logged coolant pressure; None without."""
    pressure = run.channel("coolant_pressure")
    if pressure is None:
        return None
    return coolant_sign(run.speed, pressure, run.channel("coolant_temperature"))


def signs_of(engine: Engine, run: Run) -> tuple[LogSign, ...]:
    """Every sign in a run of an engine, whose sensor's range may be known."""
    return log_signs(run, engine.given("supply.pressure_sensor_limit"))


def log_signs(run: Run, sensor_limit: float | None = None) -> tuple[LogSign, ...]:
    """Every sign in a run's channels, in order of the speed at which it begins.

    sensor_limit: highest manifold pressure that the sensor reads, absolute [Pa], where given.
    """
    found = (
        _coolant(run), _oil(run), _fuel(run), _flat(run, sensor_limit), knock_sign(run),
        _cut(run, "ignition"), _cut(run, "fuel"),
    )  # fmt: skip
    return tuple(sorted((sign for sign in found if sign is not None), key=lambda sign: sign.first))


def _noise(values: Array) -> float:
    """Standard deviation of what differs from row to row, from second differences."""
    second = np.diff(values, 2)
    return 0.0 if len(second) == 0 else float(1.4826 * np.median(np.abs(second)) / np.sqrt(6))


def _fall(values: Array, least: tuple[float, float]) -> tuple[float, int, int] | None:
    """Greatest fall below the highest value so far, and the rows where it begins and is most.

    least: share of that highest value and size which it must have.
    """
    steady = calm(values)
    highest = np.maximum.accumulate(steady)
    fall = highest - steady
    over = fall - np.maximum(least[0] * np.abs(highest), max(least[1], NOISE * _noise(values)))
    last = int(np.argmax(over))
    if over[last] <= 0:
        return None
    first = beginning(fall, last)
    return float(fall[last]), first, last


def _between(run: Run, first: int, last: int) -> tuple[float, float, str]:
    low, high = float(run.speed[first]), float(run.speed[last])
    return low, high, f"from {low / RPM:,.0f} to {high / RPM:,.0f} rpm"


def _coolant(run: Run) -> LogSign | None:
    sign = coolant_sign_of(run)
    if sign is None:
        return None
    rise, first, last = sign
    warm = run.channel("coolant_temperature") is not None
    told = "more than its warming explains" if warm else "coolant temperature was not logged"
    return LogSign(
        code="coolant-pressure", title="coolant pressure rises", first=first, last=last,
        text=f"Coolant pressure rose by {rise / 1e3:.0f} kPa between {first / RPM:,.0f} and "
        f"{last / RPM:,.0f} rpm ({told}): stop running at this torque and test for gas in the "
        "coolant. Such a rise is a sign of combustion gas there, that is, of a head that lifts.",
    )  # fmt: skip


def _oil(run: Run) -> LogSign | None:
    pressure = run.channel("oil_pressure")
    found = None if pressure is None else _fall(pressure, OIL_FALL)
    if found is None:
        return None
    first, last, where = _between(run, found[1], found[2])
    return LogSign(
        code="oil-pressure", title="oil pressure falls", first=first, last=last,
        text=f"Oil pressure fell by {found[0] / 1e3:.0f} kPa {where} while speed rose: the pump "
        "may draw air, the oil foam or a bearing pass too much. Stop until the cause is found.",
    )  # fmt: skip


def _fuel(run: Run) -> LogSign | None:
    """A fall that neither a rail over atmosphere nor one over the manifold would show."""
    pressure, boost = run.channel("fuel_pressure"), run.channel("manifold_pressure")
    if pressure is None:
        return None
    falls = [_fall(pressure, FUEL_FALL)]
    if boost is not None:
        falls.append(_fall(pressure - boost, FUEL_FALL))
    if any(fall is None for fall in falls):
        return None
    fall, begins, ends = min(one for one in falls if one is not None)
    first, last, where = _between(run, begins, ends)
    return LogSign(
        code="fuel-pressure", title="fuel pressure sags", first=first, last=last,
        text=f"Fuel pressure fell by {fall / 1e3:.0f} kPa {where}, which boost does not explain: "
        "the pump or its filter may be at the end of what it passes, so the mixture goes lean. "
        "Stop, unless the controller asked for less.",
    )  # fmt: skip


def _flat(run: Run, limit: float | None) -> LogSign | None:
    pressure = run.channel("manifold_pressure")
    if pressure is None:
        return None
    top = float(pressure.max())
    if limit is not None:
        rows = np.flatnonzero(pressure >= AT_LIMIT * limit)
        rows = rows if len(rows) >= ROWS_AT_LIMIT else rows[:0]
    else:
        rows = _standing(pressure, top)
    if len(rows) == 0:
        return None
    first, last, where = _between(run, int(rows[0]), int(rows[-1]))
    return LogSign(
        code="sensor-flat", title="pressure sensor at its end", first=first, last=last,
        text=f"Manifold pressure stands still at {top / 1e3:.0f} kPa {where}, as at the end of its "
        "sensor's range: real boost may be higher there, and the controller is blind to it.",
    )  # fmt: skip


def _standing(pressure: Array, top: float) -> npt.NDArray[np.intp]:
    """Rows of the longest stretch at the top that moves less than noise would; none if it moves.

    Where readings step coarsely a steady pressure stands still by rounding, and nothing is told.
    """
    none = np.flatnonzero(np.zeros(0))
    steps = np.abs(np.diff(np.unique(pressure)))
    if len(steps) == 0 or float(steps.min()) > FINE_STEP * top:
        return none
    below = pressure[pressure < top * (1 - FLAT_WITHIN)]
    loud = _noise(below) if len(below) > 4 else 0.0
    high = np.concatenate([[False], pressure >= top - FLAT_NOISE * loud, [False]])
    edges = np.flatnonzero(np.diff(high.astype(int)))
    starts, ends = edges[::2], edges[1::2]
    longest = int(np.argmax(ends - starts))
    rows = np.arange(starts[longest], ends[longest])
    return rows if len(rows) >= FLAT_ROWS and loud > 0 else none


LEAST_RETARD = np.radians(2.0)
"""Ignition taken back from which knock was heard, and not noise or one cycle [rad] (common
practice, no source)."""


def taken_back(run: Run, speed: Array) -> Array | None:
    """Ignition (S,) [rad] that knock control took back at speeds [rad/s]; None where nowhere, or
    where the log tells neither ignition nor phasing, which it would be earlier than."""
    retard = run.channel_at("knock_retard", speed)
    if retard is None or not {"ignition_advance", "ca50"} & run.channels.keys():
        return None
    back = np.where(np.abs(retard) >= LEAST_RETARD, np.abs(retard), 0.0)
    return back if back.any() else None


def knock_sign(run: Run) -> LogSign | None:
    """Ignition that knock control took back, or counts of its sensor beyond stray ones, or None."""
    retard = run.channel("knock_retard")
    if retard is not None:  # as a positive angle or a negative one, by the log
        rows = np.flatnonzero(np.abs(retard) >= LEAST_RETARD)
        if len(rows):
            first, end, where = _between(run, int(rows[0]), int(rows[-1]))
            most = f", most in {run.most_retard_in}," if run.most_retard_in else ""
            return LogSign(
                code="knock-retard", title="knock control acted", first=first, last=end,
                text="Knock control took ignition back by up to "
                f"{np.degrees(np.abs(retard).max()):.1f} degrees{most} {where}: it heard knock, or "
                "noise like it; take ignition back or fuel of more octane before another pull.",
            )  # fmt: skip
    counts = run.channel("knock_count")
    if counts is None:
        return None
    rising = bool(np.all(np.diff(counts) >= 0))
    new = np.diff(counts, prepend=counts[:1]) if rising and counts[-1] > 0 else counts
    last = np.searchsorted(run.speed, run.speed + KNOCK_BAND, side="right")
    total = np.concatenate([[0.0], np.cumsum(new)])
    within = total[last] - total[:-1]
    if within.max() < STRAY_COUNTS:
        return None
    heard = np.flatnonzero(new > 0)
    loud = np.flatnonzero(within >= STRAY_COUNTS)
    among = heard[(heard >= loud[0]) & (heard < last[loud[-1]])]  # no stray one far from others
    first, end, where = _between(run, int(among[0]), int(among[-1]))
    return LogSign(
        code="knock-counts", title="knock counted", first=first, last=end,
        text=f"The knock sensor counted {float(new[among].sum()):.0f} times {where}: take ignition "
        "back "
        "or fuel of more octane before another pull, unless the engine was listened to.",
    )  # fmt: skip


def _cut(run: Run, what: str) -> LogSign | None:
    cut = run.channel(f"{what}_cut")
    rows = np.flatnonzero(cut > 0) if cut is not None else np.empty(0, dtype=int)
    if len(rows) == 0:
        return None
    first, last, where = _between(run, int(rows[0]), int(rows[-1]))
    limiter = first >= LIMITER_SHARE * run.speed[-1]
    why = "most likely the speed limiter's" if limiter else "a protection or a torque limit acted"
    return LogSign(
        code=f"{what}-cut", title=f"{what} cut", first=first, last=last,
        text=f"{what.capitalize()} was cut {where}: {why}, so torque there is not what the "
        "engine makes.",
    )  # fmt: skip
