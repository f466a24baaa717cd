"""Text with a unit made into SI floats, by a closed table of spellings.

The table owns every accepted spelling with its kind, its size in SI and the same unit as a pint
expression. No user text ever reaches pint: it is used to verify the sizes (`size_by_pint`), which
are written from the exact definitions (inch 0.0254 m, pound 0.45359237 kg, standard gravity
9.80665 m/s^2), so that reading a file does not wait for a unit registry.
"""

import functools
import math
import re
from dataclasses import dataclass

from torquerisk.case.declare import Kind
from torquerisk.errors import InputError
from torquerisk.files.text import brief, quoted, split_number, strict_number

MAX_UNIT_LENGTH = 24

INCH = 0.0254
FOOT = 12 * INCH
POUND = 0.45359237
GRAVITY = 9.80665
POUND_FORCE = POUND * GRAVITY
PSI = POUND_FORCE / INCH**2
HORSEPOWER = 550 * FOOT * POUND_FORCE
METRIC_HORSEPOWER = 75 * GRAVITY
RPM = math.pi / 30
MMHG = 133.322387415
GALLON_US = 231 * INCH**3

UNITLESS = (Kind.NUMBER, Kind.COUNT, Kind.SHARE)
"""Kinds that a plain number may stand for."""


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


def _torque_spellings(force: tuple[str, ...], length: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(
        s for f in force for m in length for s in (f"{f}*{m}", f"{m}*{f}", f"{f}{m}", f"{m}{f}")
    )


_POUND_NAMES = ("lbf", "lb", "lbs", "pound", "pounds")
_LB_FT = _torque_spellings(_POUND_NAMES, ("ft", "foot", "feet"))
_LB_IN = _torque_spellings(_POUND_NAMES, ("in", "inch"))
_RPM = ("rpm", "r/min", "1/min", "min^-1", "min-1", "/min", "rev/min", "revs/min", "U/min")

_Row = tuple[str, float, str, tuple[str, ...]]

_PRESSURES: tuple[_Row, ...] = (
    ("kPa", 1e3, "kilopascal", ()),
    ("bar", 1e5, "bar", ()),
    ("psi", PSI, "psi", ("lbf/in^2", "lb/in^2")),
    ("MPa", 1e6, "megapascal", ("N/mm^2", "N/mm2")),
    ("mbar", 1e2, "millibar", ()),
    ("hPa", 1e2, "hectopascal", ()),
    ("Pa", 1.0, "pascal", ()),
    ("atm", 101325.0, "atm", ()),
    ("inHg", 25.4 * MMHG, "inch_Hg", ("in*Hg",)),
    ("mmHg", MMHG, "mmHg", ("mm*Hg",)),
    ("kgf/cm^2", GRAVITY * 1e4, "kilogram_force / centimeter ** 2", ("kg/cm^2", "kg/cm2")),
)

_ROWS: dict[Kind, tuple[_Row, ...]] = {
    Kind.LENGTH: (
        ("mm", 1e-3, "millimeter", ("millimetre", "millimeter")),
        ("cm", 1e-2, "centimeter", ()),
        ("m", 1.0, "meter", ("metre", "meter")),
        ("um", 1e-6, "micrometer", ("micron", "microns")),
        ("in", INCH, "inch", ("inch", "inches", '"')),
        ("thou", 1e-3 * INCH, "thou", ("mil",)),
        ("ft", FOOT, "foot", ()),
    ),
    Kind.ROUGHNESS: (
        ("um", 1e-6, "micrometer", ("micron", "microns")),
        ("mm", 1e-3, "millimeter", ()),
        ("m", 1.0, "meter", ()),
        ("uin", 1e-6 * INCH, "microinch", ()),
    ),
    Kind.AREA: (
        ("mm^2", 1e-6, "millimeter ** 2", ("mm2", "sq*mm")),
        ("cm^2", 1e-4, "centimeter ** 2", ("cm2",)),
        ("m^2", 1.0, "meter ** 2", ("m2",)),
        ("in^2", INCH**2, "inch ** 2", ("in2", "sq*in")),
    ),
    Kind.VOLUME: (
        ("cm^3", 1e-6, "centimeter ** 3", ("cm3", "cc", "ccm", "mL", "ml")),
        ("L", 1e-3, "liter", ("l", "litre", "liter", "dm^3", "dm3")),
        ("m^3", 1.0, "meter ** 3", ("m3",)),
        ("in^3", INCH**3, "inch ** 3", ("in3", "cu*in", "cuin", "ci", "cid")),
    ),
    Kind.MASS: (
        ("kg", 1.0, "kilogram", ()),
        ("g", 1e-3, "gram", ("gram", "grams")),
        ("lb", POUND, "pound", ("lbs", "lbm")),
        ("oz", POUND / 16, "ounce", ()),
    ),
    Kind.INERTIA: (
        ("kg*m^2", 1.0, "kilogram * meter ** 2", ("kg*m2", "kgm^2", "kgm2")),
        ("kg*cm^2", 1e-4, "kilogram * centimeter ** 2", ("kg*cm2",)),
        ("kg*mm^2", 1e-6, "kilogram * millimeter ** 2", ("kg*mm2",)),
        ("g*m^2", 1e-3, "gram * meter ** 2", ("g*m2",)),
        ("lb*ft^2", POUND * FOOT**2, "pound * foot ** 2", ("lbm*ft^2", "lb*ft2")),
        ("lb*in^2", POUND * INCH**2, "pound * inch ** 2", ("lbm*in^2", "lb*in2")),
    ),
    Kind.FORCE: (
        ("kN", 1e3, "kilonewton", ()),
        ("N", 1.0, "newton", ()),
        ("lbf", POUND_FORCE, "pound_force", ("lb", "lbs")),
        ("kgf", GRAVITY, "kilogram_force", ("kp",)),
    ),
    Kind.STIFFNESS: (
        ("kN/mm", 1e6, "kilonewton / millimeter", ()),
        ("N/mm", 1e3, "newton / millimeter", ()),
        ("N/m", 1.0, "newton / meter", ()),
        ("lbf/in", POUND_FORCE / INCH, "pound_force / inch", ("lb/in",)),
    ),
    Kind.LINE_LOAD: (
        ("N/mm", 1e3, "newton / millimeter", ()),
        ("kN/m", 1e3, "kilonewton / meter", ()),
        ("N/m", 1.0, "newton / meter", ()),
        ("lbf/in", POUND_FORCE / INCH, "pound_force / inch", ("lb/in",)),
    ),
    Kind.TORQUE: (
        ("N*m", 1.0, "newton * meter", ("Nm", "J", "m*N")),
        ("kN*m", 1e3, "kilonewton * meter", ("kNm",)),
        ("lb*ft", FOOT * POUND_FORCE, "foot * pound_force", _LB_FT),
        ("lb*in", INCH * POUND_FORCE, "inch * pound_force", _LB_IN),
        ("kgf*m", GRAVITY, "kilogram_force * meter", ("kgfm", "kg*m", "kgm", "m*kg", "mkp", "kpm")),
    ),
    Kind.POWER: (
        ("kW", 1e3, "kilowatt", ()),
        ("W", 1.0, "watt", ("watt", "watts")),
        ("PS", METRIC_HORSEPOWER, "metric_horsepower", ("CV", "ch", "pk", "metric*hp", "hp(M)")),
        ("hp", HORSEPOWER, "horsepower", ("bhp", "HP", "BHP", "hp(I)", "mechanical*hp")),
    ),
    Kind.PRESSURE: _PRESSURES,
    Kind.GAUGE_PRESSURE: _PRESSURES,
    Kind.STRESS: (
        ("MPa", 1e6, "megapascal", ("N/mm^2", "N/mm2")),
        ("GPa", 1e9, "gigapascal", ()),
        ("Pa", 1.0, "pascal", ()),
        ("kPa", 1e3, "kilopascal", ()),
        ("ksi", 1e3 * PSI, "kip / inch ** 2", ()),
        ("psi", PSI, "psi", ()),
        ("bar", 1e5, "bar", ()),
    ),
    Kind.TEMPERATURE_RISE: (
        ("K", 1.0, "kelvin", ("kelvin", "K*difference")),
        ("°C difference", 1.0, "delta_degC", ("degC*difference", "deg*C*difference")),
        ("°F difference", 5 / 9, "delta_degF", ("degF*difference", "deg*F*difference")),
    ),
    Kind.ANGLE: (
        (
            "deg",
            math.pi / 180,
            "degree",
            ("°", "degree", "degrees", "degs", "deg*CA", "°CA", "CAD"),
        ),
        ("rad", 1.0, "radian", ("radian", "radians")),
    ),
    Kind.SPEED: (
        ("rpm", RPM, "revolution / minute", _RPM),
        ("rad/s", 1.0, "radian / second", ()),
        ("rev/s", 2 * math.pi, "revolution / second", ("r/s", "rps")),
    ),
    Kind.SPEED_RATE: (
        (
            "rpm/s",
            RPM,
            "revolution / minute / second",
            (*(f"{r}/s" for r in _RPM), "(r/min)/s", "(1/min)/s"),
        ),
        ("rad/s^2", 1.0, "radian / second ** 2", ("rad/s2", "rad/s/s")),
    ),
    Kind.TORQUE_RISE: (
        *(
            (
                f"{shown}/{per}rpm" if per != "k" else f"{shown}/krpm",
                torque / (count * RPM),
                f"{pint} / ({prefix}revolution / minute)",
                tuple(
                    f"{name}/{per}{gap}{rpm}"
                    for name in names
                    for rpm in (*_RPM, "(r/min)", "(1/min)")
                    for gap in ("", "*")
                ),
            )
            for shown, torque, pint, names in (
                ("N*m", 1.0, "newton * meter", ("N*m", "Nm")),
                ("lb*ft", FOOT * POUND_FORCE, "foot * pound_force", _LB_FT),
            )
            for per, count, prefix in (
                ("1000", 1000, "kilo"),
                ("1,000", 1000, "kilo"),
                ("k", 1000, "kilo"),
                ("100", 100, "hecto"),
                ("", 1, ""),
            )
        ),
        ("N*m*s/rad", 1.0, "newton * meter * second / radian", ("Nm*s/rad", "N*m/(rad/s)")),
    ),
    Kind.MASS_FLOW: (
        ("kg/h", 1 / 3600, "kilogram / hour", ()),
        ("kg/s", 1.0, "kilogram / second", ()),
        ("kg/min", 1 / 60, "kilogram / minute", ()),
        ("g/s", 1e-3, "gram / second", ()),
        ("g/min", 1e-3 / 60, "gram / minute", ()),
        ("lb/h", POUND / 3600, "pound / hour", ("lb/hr", "lbs/hr", "lbs/h")),
        ("lb/min", POUND / 60, "pound / minute", ("lbs/min",)),
    ),
    Kind.VOLUME_FLOW: (
        ("L/h", 1e-3 / 3600, "liter / hour", ("l/h", "L/hr", "l/hr", "lph")),
        ("L/min", 1e-3 / 60, "liter / minute", ("l/min", "lpm")),
        ("cc/min", 1e-6 / 60, "centimeter ** 3 / minute", ("cm^3/min", "cm3/min", "mL/min")),
        ("m^3/s", 1.0, "meter ** 3 / second", ("m3/s",)),
        ("US gal/h", GALLON_US / 3600, "gallon / hour", ("US*gal/hr",)),
    ),
    Kind.TIME: (
        ("s", 1.0, "second", ("sec", "secs", "second", "seconds")),
        ("ms", 1e-3, "millisecond", ()),
        ("min", 60.0, "minute", ("minute", "minutes")),
    ),
    Kind.SHARE: (
        ("%", 1e-2, "percent", ("percent", "pct", "%RH", "%*RH", "vol%", "%*vol", "vol*%")),
        ("1", 1.0, "dimensionless", ("-", "")),
    ),
    Kind.NUMBER: (("1", 1.0, "dimensionless", ("-", "", ":1", "λ", "lambda", "ratio")),),
    Kind.COUNT: (("1", 1.0, "dimensionless", ("-", "")),),
}

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
_NEVER_FOLDED = ("mPa", "k")
"""Spellings that differ from an accepted one by case only, and mean something else."""


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
    for spelling, size, pint, more in _ROWS.get(kind, ()):
        unit = Unit(kind, spelling, size, pint)
        for name in (spelling, *more):
            table.setdefault(unit_key(name), unit)
            if kind in (Kind.PRESSURE, Kind.GAUGE_PRESSURE):
                marks = _ABSOLUTE if kind is Kind.PRESSURE else _GAUGE
                table.update({mark.format(unit_key(name)): unit for mark in marks})
    if kind is Kind.TEMPERATURE:
        for unit, names in _TEMPERATURES:
            table.update({unit_key(name): unit for name in names})
    return table


_TEMPERATURES = (
    (Unit(Kind.TEMPERATURE, "°C", 1.0, "degC", 273.15), ("°C", "degC", "deg C", "C", "celsius")),
    (Unit(Kind.TEMPERATURE, "K", 1.0, "kelvin"), ("K", "kelvin")),
    (
        Unit(Kind.TEMPERATURE, "°F", 5 / 9, "degF", 459.67 * 5 / 9),
        ("°F", "degF", "deg F", "F", "fahrenheit"),
    ),
)


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
    if exact is not None or key.startswith(_NEVER_FOLDED[0]) or key == _NEVER_FOLDED[1]:
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
    return ", ".join("none" if n == "1" else n for n in names)


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
        return _plain(float(text), kind, name)
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
    return _other_reference(number, rest, kind, name, ambient)


def _plain(number: float, kind: Kind, name: str) -> float:
    if kind not in UNITLESS:
        raise InputError(
            f"{name} is {number:g} without a unit; write one of {accepted_units(kind)} after the "
            "number."
        )
    if not math.isfinite(number):
        raise InputError(f"{name} is {number}, but must be a finite number.")
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
def _registry():  # type: ignore[no-untyped-def]
    import pint

    return pint.UnitRegistry()


__all__ = [
    "Unit",
    "accepted_units",
    "all_units",
    "kind_of_unit",
    "parse_quantity",
    "quantity_in_words",
    "says_absolute",
    "says_gauge",
    "size_by_pint",
    "strict_number",
    "unit_of",
]
