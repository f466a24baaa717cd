"""The closed table of unit spellings: each with its kind, its size in SI and a pint expression.

The sizes follow from exact definitions: inch 0.0254 m, pound 0.45359237 kg, standard gravity
9.80665 m/s^2, conventional millimetre of mercury 133.322387415 Pa. A test compares every one with
pint.
"""

import math

from torquerisk.case.declare import Kind
from torquerisk.quantities import INCH, POUND, POUND_FORCE, PSI, RPM

FOOT = 12 * INCH
GRAVITY = 9.80665
HORSEPOWER = 550 * FOOT * POUND_FORCE
METRIC_HORSEPOWER = 75 * GRAVITY
MMHG = 133.322387415
GALLON_US = 231 * INCH**3


def _torque_spellings(force: tuple[str, ...], length: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(
        s for f in force for m in length for s in (f"{f}*{m}", f"{m}*{f}", f"{f}{m}", f"{m}{f}")
    )


_POUND_NAMES = ("lbf", "lb", "lbs", "pound", "pounds")
_LB_FT = _torque_spellings(_POUND_NAMES, ("ft", "foot", "feet"))
_LB_IN = _torque_spellings(_POUND_NAMES, ("in", "inch"))
_GERMAN_DEGREES = ("°KW", "Grad*KW", "Grad")
_RPM = ("rpm", "r/min", "1/min", "min^-1", "min-1", "/min", "rev/min", "revs/min", "U/min",
        "tr/min", "t/min", "giri/min", "omw/min", "varv/min", "obr/min")  # fmt: skip

Row = tuple[str, float, str, tuple[str, ...]]
"""Spelling that messages show, size in SI, pint expression, more spellings."""

_PRESSURES: tuple[Row, ...] = (
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

ROWS: dict[Kind, tuple[Row, ...]] = {
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
        (
            "N*m",
            1.0,
            "newton * meter",
            ("Nm", "m*N", "newton*metre", "newton*metres", "newton*meters"),
        ),
        ("kN*m", 1e3, "kilonewton * meter", ("kNm",)),
        ("daN*m", 10.0, "dekanewton * meter", ("daNm",)),
        ("lb*ft", FOOT * POUND_FORCE, "foot * pound_force", _LB_FT),
        ("lb*in", INCH * POUND_FORCE, "inch * pound_force", _LB_IN),
        (
            "kgf*m",
            GRAVITY,
            "kilogram_force * meter",
            ("kgfm", "kg*m", "kgm", "m*kg", "mkg", "mkp", "kpm"),
        ),
    ),
    Kind.POWER: (
        ("kW", 1e3, "kilowatt", ()),
        ("W", 1.0, "watt", ("watt", "watts")),
        (
            "PS",
            METRIC_HORSEPOWER,
            "metric_horsepower",
            ("CV", "ch", "pk", "hk", "KM", "metric*hp", "hp(M)"),
        ),
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
            ("°", "degree", "degrees", "degs", "deg*CA", "degCA", "°CA", "CAD", *_GERMAN_DEGREES),
        ),
        ("rad", 1.0, "radian", ("radian", "radians")),
    ),
    Kind.SPEED: (
        ("rpm", RPM, "revolution / minute", _RPM),
        ("rad/s", 1.0, "radian / second", ()),
        ("rev/s", 2 * math.pi, "revolution / second", ("r/s", "rps", "Hz", "hertz")),
        (
            "krpm",
            1000 * RPM,
            "kilorevolution / minute",
            ("1000*rpm", "1000/min", "rpm*1000", "x1000*rpm", "x1000rpm", "krev/min"),
        ),
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

TEMPERATURES: tuple[tuple[str, float, float, str, tuple[str, ...]], ...] = (
    ("°C", 1.0, 273.15, "degC", ("degC", "deg C", "Grad C", "C", "celsius")),
    ("K", 1.0, 0.0, "kelvin", ("kelvin",)),
    ("°F", 5 / 9, 459.67 * 5 / 9, "degF", ("degF", "deg F", "F", "fahrenheit")),
)
"""Spelling, size, offset, pint expression and more spellings of the temperature units."""
