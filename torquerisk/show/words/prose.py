"""Numbers and sentences for people: one rounding, state words, chance words, units."""

import enum
import math
import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from torquerisk.case import sentence
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.quantities import INCH, KN, POUND_FORCE, PSI, RPM, Array
from torquerisk.study.answers.results import Band, Limit

FOOT_POUND = 12 * INCH * POUND_FORCE
"""One lb·ft [N*m], by the exact definitions of foot and pound-force."""
HORSEPOWER = 550 * FOOT_POUND
"""One mechanical horsepower [W]: 550 ft·lbf/s."""
SMALL_POWER = 20e3
"""Power below which a tenth is shown [W]."""
NO_WIDTH = 1e-9
"""Half width over the value at which a range is one number [-]."""
MINUS = "−"
SPEED_LIMITED = "speed-limited: no torque is acceptable"
NOT_LIMITED = "not limited within the model's range"
LIMITED = "limited"


class Units(enum.Enum):
    """Units that tables and sentences are written in; documents in JSON are SI always."""

    SI = "si"
    US = "us"


class ShownUnit(NamedTuple):
    """A unit that people are shown."""

    name: str
    size: float
    """In SI."""


def decimals_for(uncertainty: float) -> int:
    """Decimals that keep two significant digits of an uncertainty; negative above ten's place.

    Source: [GUM] 7.2.6.
    """
    if not math.isfinite(uncertainty) or uncertainty <= 0:
        raise ValueError(f"an uncertainty is {uncertainty}, but must be finite and above 0")
    place = math.floor(math.log10(uncertainty))
    if round(uncertainty / 10.0 ** (place - 1)) >= 100:
        place += 1
    return 1 - place


def plain(value: float, decimals: int = 0) -> str:
    """A number with thousands marked and a true minus sign; negative decimals round to tens."""
    if not math.isfinite(value):
        raise ValueError(f"a shown number is {value}; say in words what that means")
    number = round(float(value), decimals) + 0.0
    text = f"{abs(number):,.{max(decimals, 0)}f}"
    zero = not any(c in "123456789" for c in text)
    return text if zero or number >= 0 else MINUS + text


def rounded(value: float, uncertainty: float) -> str:
    """A value rounded to match its uncertainty, of which two significant digits count.

    Where nothing is uncertain, six significant digits of the value are kept, less idle zeros.
    """
    if uncertainty == 0:
        text = plain(value, max(0, 5 - (math.floor(math.log10(abs(value))) if value else 0)))
        return text.rstrip("0").removesuffix(".") if "." in text else text
    return plain(value, decimals_for(uncertainty))


def with_range(values: Band, index: int, size: float = 1.0) -> tuple[str, str, str]:
    """Median, 5 and 95 % points of a band at a speed, rounded alike. size: SI size of the unit."""
    low, middle, high = (float(v[index]) / size for v in (values.p05, values.p50, values.p95))
    return middle_low_high(low, middle, high)


def middle_low_high(low: float, middle: float, high: float) -> tuple[str, str, str]:
    """Middle, low and high rounded to two significant digits of half the width.

    Where there is no width to speak of, all are one number with one decimal, more if it is small.
    """
    half = (high - low) / 2
    if 0 <= half <= NO_WIDTH * abs(middle):
        told = plain(middle, max(1, decimals_for(abs(middle))) if middle else 1)
        return told, told, told
    return rounded(middle, half), rounded(low, half), rounded(high, half)


STEP = 50 * RPM


def speed_in_words(speed: float) -> str:
    """A speed [rad/s] as '3,600 rpm'."""
    return f"{plain(speed / RPM)} rpm"


def about_speed(speed: float) -> str:
    """A speed [rad/s] that is only roughly known, as 'about 3,600 rpm'."""
    return f"about {plain(speed / RPM, -2)} rpm"


def peak_speed_in_words(speed: float) -> str:
    """Where a curve peaks [rad/s], to the 50 rpm that a controller's table is set in."""
    return speed_in_words(STEP * round(speed / STEP))


def speeds_in_words(low: float, high: float) -> str:
    """A range of speeds [rad/s] as 'from 3,300 to 4,400 rpm', or 'at 3,300 rpm'."""
    if low == high:
        return f"at {speed_in_words(low)}"
    return f"from {plain(low / RPM)} to {speed_in_words(high)}"


def torque_unit(units: Units) -> ShownUnit:
    """Unit of torque and its size [N*m]."""
    return ShownUnit("N·m", 1.0) if units is Units.SI else ShownUnit("lb·ft", FOOT_POUND)


def force_unit(units: Units) -> ShownUnit:
    """Unit of a fastener's force and its size [N]."""
    return ShownUnit("kN", KN) if units is Units.SI else ShownUnit("lbf", POUND_FORCE)


def force_number(force: float, units: Units = Units.SI, more: int = 0) -> str:
    """A fastener's force [N] in whole kN or hundreds of lbf. more: digits beyond that."""
    decimals = 0 if units is Units.SI else -2
    return plain(force / force_unit(units).size, decimals + more)


def force_in_words(force: float, units: Units = Units.SI) -> str:
    """The same with its unit; one more digit below 10 kN."""
    return f"{force_number(force, units, 0 < force < 10 * KN)} {force_unit(units).name}"


def power_unit(units: Units) -> ShownUnit:
    """Unit of power and its size [W]."""
    return ShownUnit("kW", 1e3) if units is Units.SI else ShownUnit("hp", HORSEPOWER)


def boost_unit(units: Units) -> ShownUnit:
    """Unit of gauge pressure and its size [Pa]."""
    return ShownUnit("kPa gauge", 1e3) if units is Units.SI else ShownUnit("psi gauge", PSI)


def area_unit(units: Units) -> ShownUnit:
    """Unit of area under power over speed and its size [W*rad/s]."""
    power = power_unit(units)
    return ShownUnit(f"1,000 {power.name}·rpm", 1e3 * power.size * RPM)


def torque_in_words(torque: float, units: Units = Units.SI, decimals: int = 0) -> str:
    """A torque [N*m] in N·m or lb·ft."""
    name, size = torque_unit(units)
    return f"{plain(torque / size, decimals)} {name}"


def in_units(text: str, units: Units) -> str:
    """A sentence with every torque in it in the chosen units; plain words are as they are.

    Torques alone: temperatures, pressures and lengths stay in SI, as in tables and pictures;
    forces of fasteners are written in them at once, see `force_in_words`. A number has the decimals
    that it has in SI, and one more below ten. A percentage stands apart from its sign.
    """
    if units is not Units.SI and isinstance(text, Sentence):
        text = text.written(_in_pound_feet)
    return re.sub(r"(?<=\d)%", " %", text)


def _in_pound_feet(torque: Torque) -> str:
    value, number = torque.value / FOOT_POUND, torque.number
    if "e" in number:
        told = f"{value:.4g}"
    else:
        decimals = len(number.partition(".")[2])
        told = plain(value, 1 if not decimals and 0 < value < 9.5 else decimals)
    return f"{told}{' lb·ft' if torque.unit else ''}{torque.per}"


def torque_state(torque: float) -> str:
    """What an infinite capacity torque means, in words; 'limited' where it is finite."""
    if math.isfinite(torque):
        return LIMITED
    return SPEED_LIMITED if torque < 0 else NOT_LIMITED


def open_or_none(torque: float, size: float) -> str:
    """A torque in a unit of that size, 'open' where nothing limits it, 'none' where all does."""
    if math.isfinite(torque):
        return plain(torque / size)
    return "open" if torque > 0 else "none"


def power_in_words(power: float, units: Units = Units.SI) -> str:
    """A power [W] in whole kW or hp, with a tenth below SMALL_POWER."""
    name, size = power_unit(units)
    return f"{plain(power / size, int(abs(power) < SMALL_POWER))} {name}"


def percent(share: float, digits: int | None = None) -> str:
    """A share that is no result's chance in per cent: whole, or with so many significant digits."""
    if digits is not None:
        return sentence.percent(share, digits)
    return f"{plain(100 * share)} %"


def chance_count(chance: float, draws: int) -> str:
    """How many of the simulated engines: '37', '<1' or 'all'; never none."""
    count = round(chance * draws)
    if count <= 0:
        return "<1"
    return "all" if count >= draws else f"{count:,}"


def chance_in_words(chance: float, draws: int) -> str:
    """A chance as a count of simulated engines, never 0."""
    count = round(chance * draws)
    if count >= draws:
        return f"in all {draws:,} simulated engines"
    told = "fewer than 1" if count <= 0 else f"{count:,}"
    return f"in {told} of {draws:,} simulated engines"


def over_pulls(once: float, in_all: float, pulls: int, draws: int) -> str:
    """Chances of one pull and of all of them, as counts of simulated engines."""
    told, every = f"{chance_in_words(once, draws)} in one pull", chance_count(in_all, draws)
    if pulls == 1:
        return told
    if every == chance_count(once, draws):
        return f"{told} and over {pulls:,} alike"
    return f"{told}, in {every} over {pulls:,} pulls"


def limit_unit(limit: Limit) -> ShownUnit:
    """The unit that people are shown of a limit's load and margin; % where it has none."""
    return ShownUnit(limit.unit, limit.unit_size) if limit.unit else ShownUnit("%", 0.01)


def spare_in_words(margin: Band, index: int, unit: ShownUnit, why: str = "") -> str:
    """`points_in_words` of a margin at a speed."""
    low, middle, high = (float(v[index]) for v in (margin.p05, margin.p50, margin.p95))
    return points_in_words((low, middle, high), unit, why)


def points_in_words(points: tuple[float, float, float], unit: ShownUnit, why: str = "") -> str:
    """A margin as '6 bar to spare (2 to 9)', '6 bar short (4 to 8 short)' or, where its ends differ
    in kind, '6 bar to spare (9 short to 22 to spare)'.

    points: 5, 50 and 95 % [SI]. why: put after the range.
    """
    low, middle, high = (v / unit.size for v in points)
    told, least, most = middle_low_high(low, middle, high)
    if most.startswith(MINUS):
        between = f"{most[1:]} to {least[1:]} short"
    elif least.startswith(MINUS):
        between = f"{least[1:]} short to {most} to spare"
    else:
        between = f"{least} to {most}"
    if told.startswith(MINUS):
        return f"{told[1:]} {unit.name} short ({between}{why})"
    return f"{told} {unit.name} to spare ({between}{why})"


def stretches(mask: npt.NDArray[np.bool_] | Sequence[bool]) -> Iterator[tuple[int, int]]:
    """First and last index of every unbroken stretch of true values."""
    flags = np.concatenate([[False], np.asarray(mask, dtype=bool), [False]])
    edges = np.flatnonzero(flags[1:] != flags[:-1])
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        yield int(start), int(end) - 1


def where_in_words(speed: Array, mask: npt.NDArray[np.bool_]) -> str:
    """The speeds [rad/s] of true values: 'from 3,300 to 4,400 rpm and at 6,000 rpm'."""
    parts = [speeds_in_words(float(speed[a]), float(speed[b])) for a, b in stretches(mask)]
    if len(parts) > 2:
        inside = np.flatnonzero(mask)
        span = speeds_in_words(float(speed[inside[0]]), float(speed[inside[-1]]))
        return f"at {len(inside)} of the speeds {span}"
    return " and ".join(parts)
