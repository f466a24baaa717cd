"""A measured run: speed, torque and whatever channels were logged, frozen and checked once."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from torquerisk.case.declare import Declaration, Kind
from torquerisk.case.notice import Notice
from torquerisk.errors import InputError
from torquerisk.quantities import Array


def _channel(label: str, kind: Kind, low: float, high: float) -> Declaration:
    return Declaration(label=label, kind=kind, low=low, high=high)


CHANNELS: dict[str, Declaration] = {
    "speed": _channel("Engine speed", Kind.SPEED, 200 * math.pi / 30, 20000 * math.pi / 30),
    "torque": _channel("Torque", Kind.TORQUE, -500.0, 10000.0),
    "power": _channel("Power", Kind.POWER, -2e5, 3e6),
    "manifold_pressure": _channel("Manifold pressure, absolute", Kind.PRESSURE, 1e4, 9e5),
    "exhaust_pressure": _channel("Exhaust manifold pressure, absolute", Kind.PRESSURE, 5e4, 1.2e6),
    "ignition_advance": _channel(
        "Ignition advance before TDC", Kind.ANGLE, -math.pi / 3, math.pi / 2
    ),
    "ca50": _channel("CA50 after TDC", Kind.ANGLE, math.radians(-20), math.radians(60)),
    "lambda_": _channel("Air-fuel equivalence", Kind.NUMBER, 0.5, 8.0),
    "afr": _channel("Air-fuel ratio", Kind.NUMBER, 3.0, 120.0),
    "intake_temperature": _channel("Charge temperature", Kind.TEMPERATURE, 223.15, 473.15),
    "coolant_temperature": _channel("Coolant temperature", Kind.TEMPERATURE, 223.15, 423.15),
    "coolant_pressure": _channel("Coolant pressure, gauge", Kind.GAUGE_PRESSURE, -1e5, 6e5),
    "fuel_pressure": _channel("Fuel pressure, gauge", Kind.GAUGE_PRESSURE, 0.0, 4e8),
    "oil_pressure": _channel("Oil pressure, gauge", Kind.GAUGE_PRESSURE, 0.0, 3e6),
    "oil_temperature": _channel("Oil temperature", Kind.TEMPERATURE, 223.15, 473.15),
    "peak_pressure": _channel("Peak cylinder pressure, absolute", Kind.PRESSURE, 1e5, 5e7),
    "ethanol_share": _channel("Ethanol share by volume", Kind.SHARE, 0.0, 1.0),
    "injector_duty": _channel("Injector duty", Kind.SHARE, 0.0, 1.5),
    "knock_count": _channel("Knocks counted", Kind.NUMBER, 0.0, 1e6),
    "knock_retard": _channel(
        "Ignition taken back by knock control", Kind.ANGLE, -math.pi / 6, math.pi / 6
    ),
    "ignition_cut": _channel("Ignition cut, count or mark", Kind.NUMBER, 0.0, 1e6),
    "fuel_cut": _channel("Fuel cut, count or mark", Kind.NUMBER, 0.0, 1e6),
    "time": _channel("Time", Kind.TIME, -1e6, 1e6),
}
"""Every channel a run may carry, with the range outside which it is refused."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Run:
    """A sweep in order of rising speed. Arrays (n,), read-only, SI; torque as it was read."""

    name: str = "run"
    speed: Array
    torque: Array
    """As read from the dyno, at the place named by the facts [N*m]."""
    channels: dict[str, Array] = field(default_factory=dict)
    """Optional channels by name, each (n,), every value finite."""
    facts: Mapping[str, float | str | None] = field(default_factory=dict)
    """Facts about the test that the file itself states, by TestFacts field name (SI); None says
    that the fact is not known."""
    record: tuple[str, ...] = ()
    """Every decision taken while reading, in plain words."""
    notices: tuple[Notice, ...] = ()
    """What of the record may change a result: words not known, rows left out, a pull chosen."""
    most_retard_in: str = ""
    """Heading with the greatest knock retard, where each cylinder or bank has one."""
    pressure_doubt: str = ""
    """What to ask of manifold pressure whose heading and rows do not tell what it is counted from,
    as "is 'boost' absolute?"; empty where they do."""
    digest: str = ""
    """SHA-256 of the bytes that were read."""

    def __post_init__(self) -> None:
        n = len(self.speed)
        if n < 3:
            raise InputError(
                f"{self.name} has {n} usable row{'s' * (n != 1)}, but a run needs at least 3 "
                "speeds with torque."
            )
        for name, values in {"speed": self.speed, "torque": self.torque, **self.channels}.items():
            if len(values) != n:
                raise InputError(f"{self.name}: {name} has {len(values)} values for {n} speeds.")
            self._check_channel(name, values)
        if not np.all(np.diff(self.speed) > 0):
            raise InputError(f"{self.name}: speed must rise from row to row.")
        for name in ("speed", "torque"):
            object.__setattr__(self, name, _frozen(getattr(self, name)))
        object.__setattr__(self, "channels", {k: _frozen(v) for k, v in self.channels.items()})

    def _check_channel(self, name: str, values: Array) -> None:
        declaration = CHANNELS[name]
        low, high = declaration.edges
        bad = ~np.isfinite(values) | (values < low) | (values > high)
        if bad.any():
            first = int(np.argmax(bad))
            raise InputError(
                f"{self.name}: {declaration.words} is "
                f"{declaration.in_words(float(values[first]))} in row {first + 1} of the data, but "
                f"must be from {declaration.in_words(declaration.low)} to "
                f"{declaration.in_words(declaration.high)}; check the unit in the heading."
            )

    def channel(self, name: str) -> Array | None:
        """A channel's values, or None when it was not logged."""
        return self.channels.get(name)

    def channel_at(self, name: str, speed: Array) -> Array | None:
        """A channel interpolated to other speeds (held at the ends), or None."""
        values = self.channels.get(name)
        return None if values is None else np.interp(speed, self.speed, values)


def _frozen(values: Array) -> Array:
    copy = np.array(values, dtype=float)
    copy.setflags(write=False)
    return copy
