"""How an input is declared: once, with unit, label, range, default, spread and the reason for both.

The reader's checks, the error messages, the page's widgets and their limits, the list of assumed
values and the bad-input tests all follow from these declarations.
"""

import dataclasses
import enum
import math
import numbers
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from torquerisk.errors import InputError


class Kind(enum.Enum):
    """A physical kind of quantity, with the unit used inside and the unit shown."""

    LENGTH = ("m", "mm", 1e-3)
    AREA = ("m^2", "mm^2", 1e-6)
    MASS = ("kg", "kg", 1.0)
    INERTIA = ("kg*m^2", "kg*m^2", 1.0)
    FORCE = ("N", "kN", 1e3)
    STIFFNESS = ("N/m", "kN/mm", 1e6)
    TORQUE = ("N*m", "N*m", 1.0)
    POWER = ("W", "kW", 1e3)
    PRESSURE = ("Pa", "kPa", 1e3)
    GAUGE_PRESSURE = ("Pa", "kPa gauge", 1e3)
    STRESS = ("Pa", "MPa", 1e6)
    TEMPERATURE = ("K", "°C", 1.0)
    TEMPERATURE_RISE = ("K difference", "K", 1.0)
    ANGLE = ("rad", "deg", math.pi / 180)
    SPEED = ("rad/s", "rpm", math.pi / 30)
    SPEED_RATE = ("rad/s^2", "rpm/s", math.pi / 30)
    TORQUE_RISE = ("N*m*s/rad", "N*m/1000rpm", 0.03 / math.pi)
    LINE_LOAD = ("N/m", "N/mm", 1e3)
    MASS_FLOW = ("kg/s", "kg/h", 1 / 3600)
    VOLUME_FLOW = ("m^3/s", "L/h", 1e-3 / 3600)
    VOLUME = ("m^3", "cm^3", 1e-6)
    ROUGHNESS = ("m", "um", 1e-6)
    TIME = ("s", "s", 1.0)
    SHARE = ("1", "%", 1e-2)
    NUMBER = ("1", "", 1.0)
    COUNT = ("count", "", 1.0)

    def __init__(self, si_unit: str, shown_unit: str, shown_size: float) -> None:
        self.si_unit = si_unit
        self.shown_unit = shown_unit
        self.shown_size = shown_size

    def within(self, low: float, high: float) -> tuple["Kind", float, float]:
        """This kind with the least and the most that is allowed [SI], as `declared` takes it."""
        return self, low, high

    def shown(self, value: float) -> float:
        """The SI value in the unit that people are shown."""
        if self is Kind.TEMPERATURE:
            return value - 273.15
        return value / self.shown_size

    def from_shown(self, value: float) -> float:
        """The SI value of a number given in the shown unit."""
        if self is Kind.TEMPERATURE:
            return value + 273.15
        return value * self.shown_size


YES_NO = ("true", "false")
"""Options of an input that an engine file gives as a plain true or false."""
ROUNDING = 1e-12
"""Relative error of a converted unit: an input this near an end of its range is inside."""


@dataclass(frozen=True, kw_only=True)
class Declaration:
    """All that is known of one input before anybody gives it."""

    label: str
    kind: Kind | None
    """None for words (an option, a designation, a file name)."""
    low: float = -math.inf
    high: float = math.inf
    default: float | str | Callable[[Any], float | str] | None = None
    """A value, or a rule that makes one from the engine; None where absence means 'not there'."""
    required: bool = False
    spread_given: float = 0.0
    """Standard deviation when given: relative, or absolute in SI where `absolute`."""
    spread_assumed: float = 0.0
    widened: Callable[[Any], float] | None = None
    """By what an engine's other inputs widen the assumed spread."""
    absolute: bool = False
    options: tuple[str, ...] = ()
    reason: str = ""
    """Why this default and these spreads."""
    help: str = ""

    @property
    def words(self) -> str:
        """The label as it stands inside a sentence; names in capitals keep them."""
        return self.label[:1].lower() + self.label[1:]

    @property
    def edges(self) -> tuple[float, float]:
        """Least and most allowed, with what converting units may round off."""
        return self.low - ROUNDING * abs(self.low), self.high + ROUNDING * abs(self.high)

    def check(self, name: str, value: object) -> None:
        """Refuse a value outside the declared range or options, in one sentence."""
        if self.options and value not in self.options:
            raise InputError(f"{name} is {value!r}, but must be one of {', '.join(self.options)}.")
        if self.kind is None:
            return
        if isinstance(value, bool) or not isinstance(value, numbers.Real):
            raise InputError(f"{name} is {value!r}, but must be a number.")
        number = float(value)
        low, high = self.edges
        if not math.isfinite(number) or not low <= number <= high:
            raise InputError(
                f"{name} is {self.in_words(number)}, but must be from {self.in_words(self.low)} to "
                f"{self.in_words(self.high)}; {self._meant(number)}."
            )
        if self.kind is Kind.COUNT and not number.is_integer():
            raise InputError(f"{name} is {number:g}, but must be a whole number.")

    def _meant(self, number: float) -> str:
        """What to do about a number out of range: 1 given for a share is often 1 %."""
        if self.kind is Kind.SHARE and 1 <= number <= 100 * self.high:
            return f"if {number:g} % is meant, write {number:g} % or {number / 100:g}"
        return "check the number and its unit"

    def assumed(self, engine: Any) -> float | str | None:
        """What stands in where an engine does not give it; None: nothing."""
        return self.default(engine) if callable(self.default) else self.default

    def in_words(self, value: float | str) -> str:
        """The value with its unit, as people are shown it."""
        if self.kind is None or isinstance(value, str):
            return str(value)
        return f"{self.kind.shown(value):.6g} {self.kind.shown_unit}".rstrip()


def declared(
    label: str,
    number: tuple[Kind, float, float] | None = None,
    *,
    spread: tuple[float, float] = (0.0, 0.0),
    **more: Any,
) -> Any:
    """A dataclass field that carries its Declaration; its value is None until given.

    number: `Kind.within`, None for words; spread: when given and when assumed.
    """
    kind, low, high = number or (None, -math.inf, math.inf)
    declaration = Declaration(
        label=label, kind=kind, low=low, high=high, spread_given=spread[0],
        spread_assumed=spread[1], **more,
    )  # fmt: skip
    default = dataclasses.MISSING if declaration.required else None
    return dataclasses.field(default=default, metadata={"declaration": declaration})


def declarations(section: type) -> dict[str, Declaration]:
    """The declared inputs of a section, by field name, in order."""
    return {
        f.name: f.metadata["declaration"]
        for f in dataclasses.fields(section)
        if "declaration" in f.metadata
    }


def check_section(section: Any, prefix: str) -> None:
    """Check every given value of a section against its declaration."""
    for name, declaration in declarations(type(section)).items():
        value = getattr(section, name)
        full = f"{prefix}.{name}" if prefix else name
        if value is not None:
            declaration.check(full, value)
        elif declaration.required:
            raise InputError(f"{full} ({declaration.label}) is missing: add it to the engine file.")


@dataclass(frozen=True, kw_only=True)
class Value:
    """One input as used: given or assumed, with its spread and the reason for both."""

    name: str
    value: float
    sd: float
    """Standard deviation [same unit as value]."""
    given: bool
    declaration: Declaration

    @property
    def relative_sd(self) -> float:
        """Standard deviation over the value; 0 for a value of 0."""
        return abs(self.sd / self.value) if self.value else 0.0

    def in_words(self) -> str:
        """Label, value, unit and where it comes from."""
        origin = "given" if self.given else "assumed"
        return f"{self.declaration.label}: {self.declaration.in_words(self.value)} ({origin})"
