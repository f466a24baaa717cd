"""Text with a unit made into SI floats, by a closed table of spellings.

No user text ever reaches pint: it only verifies the sizes in the table (`size_by_pint`), which are
written from exact definitions, so that reading a file does not wait for a unit registry.
"""

import functools
import math
import re
from dataclasses import dataclass
from typing import Any

from torquerisk.case.declare import Kind
from torquerisk.errors import InputError
from torquerisk.files.text import brief, quoted, split_number
from torquerisk.files.unit_table import ROWS, TEMPERATURES

MAX_UNIT_LENGTH = 24

UNITLESS = (Kind.NUMBER, Kind.COUNT, Kind.SHARE)
"""Kinds that a plain number may stand for."""
ZERO_NEEDS_UNIT = (Kind.TEMPERATURE, Kind.PRESSURE, Kind.GAUGE_PRESSURE)
"""Kinds whose zero is another in another unit, or against another reference."""
NO_SHARE = 2.0
"""Plain number from which a share was meant in per cent: no input goes that far [-]."""


@dataclass(frozen=True)
class Unit:
    """One unit of one kind: SI value = number x size + offset."""

    kind: Kind
    spelling: str
    """How messages spell it."""
    size: float
    pint: str
    """The same unit as a pint expression; empty where it has none."""
    offset: float = 0.0

    def to_si(self, number: float) -> float:
        """The SI value of a number in this unit."""
        return number * self.size + self.offset


_ABSOLUTE = ("{}*abs", "{}*absolute", "{}(abs)", "{}(a)", "{}a", "{}*a", "{}abs")
_GAUGE = ("{}*gauge", "{}*gage", "{}(gauge)", "{}(g)", "{}g", "{}*g", "{}*rel", "{}*relative")

_TRANSLATE = str.maketrans(
    {
        **dict.fromkeys("·⋅∙•×∗", "*"),
        **dict.fromkeys("µμ", "u"),
        **dict.fromkeys("º˚", "°"),
        **dict.fromkeys("\u00a0\u2009\u202f\u2007_", " "),
        **dict.fromkeys("”“″", '"'),
        **dict.fromkeys("−–‐‑⁻", "-"),
        **dict.fromkeys("∕⁄÷", "/"),
        "²": "^2",
        "³": "^3",
        "¹": "1",
        "℃": "°C",
        "℉": "°F",
    }
)
_NEVER_FOLDED = ("mPa", "k", "km", "grad")
"""Spellings that differ from an accepted one by case only, and mean something else."""


@functools.lru_cache(maxsize=4096)
def unit_key(text: str) -> str:
    """The spelling of a unit with its separators, powers and signs made uniform."""
    key = text.strip().translate(_TRANSLATE).replace("**", "^").strip().rstrip(".")
    key = re.sub(r"\s+per\s+", "/", key)
    key = re.sub(r"\s*([*/^()])\s*", r"\1", key)
    key = re.sub(r"(?<=[\w°%\")])[\s.\-]+(?=[A-Za-z°%(])", "*", key)
    return key.replace("°*", "°").replace("*(", "(")


@functools.cache
def _table(kind: Kind) -> dict[str, Unit]:
    """Every accepted key of a kind, exact spellings first and then those with case folded."""
    table: dict[str, Unit] = {}
    for spelling, size, pint, more in ROWS.get(kind, ()):
        unit = Unit(kind, spelling, size, pint)
        for name in (spelling, *more):
            table.setdefault(unit_key(name), unit)
            if kind in (Kind.PRESSURE, Kind.GAUGE_PRESSURE):
                marks = _ABSOLUTE if kind is Kind.PRESSURE else _GAUGE
                table.update({mark.format(unit_key(name)): unit for mark in marks})
    if kind is Kind.TEMPERATURE:
        for spelling, size, offset, pint, more in TEMPERATURES:
            unit = Unit(kind, spelling, size, pint, offset)
            table.update({unit_key(name): unit for name in (spelling, *more)})
    return table


@functools.cache
def _folded(kind: Kind) -> dict[str, Unit]:
    folded: dict[str, Unit] = {}
    clashes: set[str] = set()
    for key, unit in _table(kind).items():
        lower = key.casefold()
        if folded.setdefault(lower, unit) is not unit:
            clashes.add(lower)
    return {key: unit for key, unit in folded.items() if key not in clashes}


def unit_of(text: str, kind: Kind) -> Unit | None:
    """The unit of a kind that the text spells, or None."""
    if len(text) > MAX_UNIT_LENGTH:
        return None
    key = unit_key(text)
    exact = _table(kind).get(key)
    if exact is not None or key.startswith(_NEVER_FOLDED[0]) or key in _NEVER_FOLDED:
        return exact
    return _folded(kind).get(key.casefold())


def kind_of_unit(text: str) -> Kind | None:
    """The kind of quantity that a unit measures, or None when the spelling is not known.

    Where a spelling serves several kinds (kPa: pressure, gauge pressure, stress) the first in the
    order of `Kind` is given; ask `unit_of(text, kind)` whether it serves a certain one.
    """
    if not unit_key(text):
        return None
    return next((kind for kind in Kind if unit_of(text, kind) is not None), None)


def says_absolute(text: str) -> bool:
    """True where a pressure unit itself says that it is absolute."""
    return unit_of(text, Kind.PRESSURE) is not None and unit_of(text, Kind.GAUGE_PRESSURE) is None


def says_gauge(text: str) -> bool:
    """True where a pressure unit itself says that it is gauge pressure."""
    return unit_of(text, Kind.GAUGE_PRESSURE) is not None and unit_of(text, Kind.PRESSURE) is None


@functools.cache
def accepted_units(kind: Kind) -> str:
    """The units of a kind as messages list them."""
    names = list(dict.fromkeys(unit.spelling for unit in _table(kind).values()))
    if kind is Kind.PRESSURE:
        names = [*names[:4], "kPa abs", *names[4:]]
    if kind is Kind.GAUGE_PRESSURE:
        names = [*names[:4], "kPa gauge", *names[4:]]
    if kind is Kind.TORQUE_RISE:
        names = [n for n in names if "1,000" not in n and "/k" not in n]
    return ", ".join(names)


def kind_in_words(kind: Kind) -> str:
    """The kind as messages name it."""
    return kind.name.lower().replace("_", " ")


def parse_quantity(
    text: str | float | int, kind: Kind, name: str, *, ambient: float | None = None
) -> float:
    """The SI value of a text such as '86 mm', or of a plain number for kinds without a unit.

    text: number with a decimal point, then a unit of the closed table.
    name: the input's name for messages.
    ambient: ambient pressure [Pa]; only with it does a gauge pressure become absolute or the
    other way round.

    Raises InputError with one sentence: what was given, what is accepted.
    """
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise InputError(f"{name} is {quoted(text)}, but must be {_wanted(kind)}.")
    if not isinstance(text, str):
        return _plain(math.inf if abs(text) >= 1e300 else float(text), kind, name)
    parts = split_number(text) if len(text) <= 4 * MAX_UNIT_LENGTH else None
    if parts is None:
        raise InputError(f"{name} is {quoted(text)}, but must be {_wanted(kind)}.")
    number, rest = parts
    if not rest:
        return _plain(number, kind, name)
    unit = unit_of(rest, kind)
    if unit is not None:
        return unit.to_si(number)
    if re.match(r"[0-9.,_]", rest):
        raise InputError(
            f"{name} is {quoted(text)}, which is no plain number; write it with a decimal point "
            "and without separators between thousands."
        )
    if re.match(r"[A-Za-z/ ]*(-|–|to |\.\.)\s*[0-9]", rest):
        raise InputError(
            f"{name} is {quoted(text)}, a range; give one number: the highest of a data sheet's "
            "range, and where it is that of rated torque the lowest as torque_from."
        )
    if kind is Kind.ANGLE and (more := re.findall(r"\+ *([0-9]+)", rest)):
        whole = number + sum(map(float, more))
        raise InputError(f"{name} is {quoted(text)}; write the whole turn, {whole:g} deg.")
    return _other_reference(number, rest, kind, name, ambient)


def _plain(number: float, kind: Kind, name: str) -> float:
    if kind not in UNITLESS and (number != 0 or kind in ZERO_NEEDS_UNIT):
        raise InputError(
            f"{name} is {number:g} without a unit; write one of {accepted_units(kind)} after the "
            "number."
        )
    if not math.isfinite(number):
        raise InputError(f"{name} is {number}, but must be a finite number.")
    if kind is Kind.SHARE and number >= NO_SHARE:
        raise InputError(
            f"{name} is {number:g} without a unit, {100 * number:,.0f} %; if {number:g} % is "
            f"meant, write {number:g} % or {number / 100:g}."
        )
    return number


def _wanted(kind: Kind) -> str:
    if kind in (Kind.NUMBER, Kind.COUNT):
        return "a plain number"
    if kind is Kind.SHARE:
        return "a share such as 0.15 or '15 %'"
    return f"a number with a unit, one of {accepted_units(kind)}"


def _other_reference(
    number: float, rest: str, kind: Kind, name: str, ambient: float | None
) -> float:
    """A pressure given against the other reference, or the refusal of an unknown unit."""
    other = {Kind.PRESSURE: Kind.GAUGE_PRESSURE, Kind.GAUGE_PRESSURE: Kind.PRESSURE}.get(kind)
    unit = unit_of(rest, other) if other is not None else None
    if unit is None:
        if kind is Kind.VOLUME_FLOW and (mass := unit_of(rest, Kind.MASS_FLOW)) is not None:
            raise InputError(
                f"{name} is a flow of mass, {number:g} {brief(rest, 24)}, but a flow of volume is "
                "needed: divide it by the density of the fluid that it was rated with; at 0.72 "
                f"kg/L, near n-heptane and petrol, it is {mass.to_si(number) * 5000:.4g} L/h."
            )
        raise InputError(
            f"{name} has the unit {quoted(rest, 24)}, which is no known unit of "
            f"{kind_in_words(kind)}; use one of {accepted_units(kind)}."
        )
    given = f"{number:g} {brief(rest, 24)}"
    wanted = "absolute" if kind is Kind.PRESSURE else "gauge"
    if ambient is None:
        raise InputError(
            f"{name} is {given}, but {wanted} pressure is needed; give it as {wanted} pressure, or "
            "state the ambient pressure of the test."
        )
    return unit.to_si(number) + (ambient if kind is Kind.PRESSURE else -ambient)


def quantity_in_words(value: float, kind: Kind) -> str:
    """The value as text that `parse_quantity` reads back to the very same float."""
    if kind in (Kind.NUMBER, Kind.SHARE):
        return repr(float(value))
    if kind is Kind.COUNT:
        return repr(int(value)) if float(value).is_integer() else repr(float(value))
    for digits in (6, 10, 12, 15, 16, 17):
        text = f"{kind.shown(value):.{digits}g}"
        if "e" not in text and parse_quantity(f"{text} {kind.shown_unit}", kind, "") == value:
            return f"{text} {kind.shown_unit}"
    si = {Kind.TEMPERATURE_RISE: "K"}.get(kind, kind.si_unit)
    return f"{float(value)!r} {si}{' gauge' if kind is Kind.GAUGE_PRESSURE else ''}"


def all_units() -> tuple[Unit, ...]:
    """Every unit of the table, once."""
    return tuple(dict.fromkeys(unit for kind in Kind for unit in _table(kind).values()))


def size_by_pint(unit: Unit) -> tuple[float, float]:
    """Size and offset of a unit as pint knows them, to verify the table."""
    registry = _registry()
    si = {"K difference": "kelvin", "1": "dimensionless", "count": "dimensionless"}.get(
        unit.kind.si_unit, unit.kind.si_unit
    )
    zero = registry.Quantity(0.0, unit.pint).to(si).magnitude
    one = registry.Quantity(1.0, unit.pint).to(si).magnitude
    return float(one - zero), float(zero)


@functools.cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry()
