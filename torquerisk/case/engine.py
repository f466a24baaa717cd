"""The engine as given: geometry, fuel, charge, running gear, head joint, supply, known good."""

import dataclasses
import math
from dataclasses import dataclass, field
from typing import Any

from torquerisk.case.declare import (
    ROUNDING,
    Declaration,
    Kind,
    Value,
    check_section,
    declarations,
    declared,
)
from torquerisk.case.joint_defaults import (
    NUT_OVER_BLOCK,
    SHANK_OVER_THREAD,
    STUD,
    check_makers_fasteners,
    thread_nominal,
    usual_heads,
)
from torquerisk.case.sections import (
    Charge,
    Fuel,
    HeadJoint,
    KnownGood,
    Rated,
    Rung,
    RunningGear,
    Supply,
    TestFacts,
    Valvetrain,
)
from torquerisk.errors import InputError
from torquerisk.quantities import RPM

SPARK = "spark"
COMPRESSION = "compression"
COMPRESSION_ONLY = ("fuel.cetane", "charge.peak_pressure_limit")
"""Inputs that mean nothing to a spark engine."""


@dataclass(frozen=True, kw_only=True)
class Engine:
    """A four-stroke piston engine, checked once when built. All values SI, angles in radians."""

    name: str = "unnamed engine"
    ignition: str = declared("Ignition", required=True, options=(SPARK, COMPRESSION))
    cylinders: int = declared("Cylinders", Kind.COUNT.within(1, 16), required=True)
    bore: float = declared("Bore", Kind.LENGTH.within(0.030, 0.200), required=True)
    stroke: float = declared("Stroke", Kind.LENGTH.within(0.025, 0.250), required=True)
    rod_length: float = declared(
        "Rod length, centre to centre", Kind.LENGTH.within(0.050, 0.450), required=True
    )
    compression_ratio: float = declared(
        "Compression ratio",
        Kind.NUMBER.within(5.0, 25.0),
        required=True,
        spread=(0.01, 0.0),
        reason="chamber volumes of a type vary by about 1 % (common practice, no source)",
    )
    pin_offset: float | None = declared(
        "Pin offset",
        Kind.LENGTH.within(-0.005, 0.005),
        default=0.0,
        reason="most makers keep it below 1 mm; 0 unless given",
    )
    displacement: float | None = declared(
        "Stated displacement, whole engine",
        Kind.VOLUME.within(2e-5, 3e-2),
        help="only used to check bore, stroke and cylinders",
    )
    heads: int | None = declared(
        "Cylinder heads",
        Kind.COUNT.within(1, 8),
        default=usual_heads,
        reason="one; two from eight cylinders on, and for six whose fasteners do not stand alike "
        "around six bores in a row, as far as they suffice for two",
    )
    fuel: Fuel = field(default_factory=Fuel)
    charge: Charge = field(default_factory=Charge)
    running_gear: RunningGear = field(default_factory=RunningGear)
    head_joint: HeadJoint
    valvetrain: Valvetrain = field(default_factory=Valvetrain)
    supply: Supply = field(default_factory=Supply)
    test: TestFacts = field(default_factory=TestFacts)
    rated: Rated = field(default_factory=Rated)
    known_good: KnownGood = field(default_factory=KnownGood)
    survived: tuple[Rung, ...] = ()
    """Rungs of the ladder of what was survived, in order."""

    def __post_init__(self) -> None:
        check_section(self, "")
        for name in SECTIONS:
            check_section(getattr(self, name), name)
        for number, rung in enumerate(self.survived, 1):
            self._check_rung(rung, f"survived {number}")
        self._check_geometry()
        self._check_heads()
        for smaller, larger in _ORDERED_PAIRS:
            self._check_order(smaller, larger)
        self._check_fastener()
        check_makers_fasteners(self)
        self._check_rated()
        if self.rated.blend is not None and (self.ignition == COMPRESSION) != (
            self.rated.blend == "diesel"
        ):
            raise InputError(
                f"rated.blend is {self.rated.blend!r} with ignition {self.ignition!r}; the model "
                "knows petrol blends for spark and 'diesel' for compression ignition."
            )
        if self.ignition == COMPRESSION and self.fuel.blend not in (None, "diesel"):
            raise InputError(
                f"fuel.blend is {self.fuel.blend!r} with ignition 'compression'; the model knows "
                "'diesel' for compression ignition."
            )
        if self.ignition == SPARK and self.fuel.blend == "diesel":
            raise InputError(
                "fuel.blend is 'diesel' with ignition 'spark'; set ignition = \"compression\" or "
                "a petrol blend such as E10."
            )
        if self.ignition == SPARK and self.fuel.cetane is not None:
            raise InputError(
                f"fuel.cetane is {self.fuel.cetane:g} with ignition 'spark'; a cetane number is of "
                'diesel: leave it out, or set ignition = "compression".'
            )
        if self.ignition == SPARK and self.charge.peak_pressure_limit is not None:
            raise InputError(
                "charge.peak_pressure_limit is given with ignition 'spark'; it is what a diesel's "
                'injection timing holds: leave it out, or set ignition = "compression".'
            )
        if self.ignition == COMPRESSION and self.fuel.octane is not None:
            raise InputError(
                f"fuel.octane is {self.fuel.octane:g} with ignition 'compression'; an octane "
                'number is of petrol: leave it out, or set ignition = "spark".'
            )

    def _check_geometry(self) -> None:
        if self.rod_length <= 0.62 * self.stroke:
            raise InputError(
                f"rod_length is {self.rod_length * 1e3:.4g} mm with a stroke of "
                f"{self.stroke * 1e3:.4g} mm; a rod must be longer than 0.62 of the stroke: check "
                "both, and that stroke was not given as crank radius."
            )
        ratio = self.bore / self.stroke
        if not 0.55 <= ratio <= 1.9:
            raise InputError(
                f"bore over stroke is {ratio:.2f} ({self.bore * 1e3:.4g} mm over "
                f"{self.stroke * 1e3:.4g} mm), but must be from 0.55 to 1.9; check both units."
            )
        if self.displacement is None:
            return
        computed = self.swept_volume_total
        swapped = math.pi / 4 * self.stroke**2 * self.bore * self.cylinders
        off = abs(computed / self.displacement - 1)
        if off > 0.10:
            hint = (
                "bore and stroke look swapped"
                if abs(swapped / self.displacement - 1) < 0.02
                else "check bore, stroke, cylinders and the displacement of the whole engine"
            )
            raise InputError(
                f"displacement is {self.displacement * 1e6:.0f} cm^3, but bore, stroke and "
                f"cylinders give {computed * 1e6:.0f} cm^3; {hint}."
            )

    @property
    def swept_volume(self) -> float:
        """Swept volume of one cylinder [m^3]."""
        return math.pi / 4 * self.bore**2 * self.stroke

    @property
    def swept_volume_total(self) -> float:
        """Swept volume of the whole engine [m^3]."""
        return self.swept_volume * self.cylinders

    @property
    def bore_area(self) -> float:
        """Area of one bore [m^2]."""
        return math.pi / 4 * self.bore**2

    @property
    def crank(self) -> dict[str, float]:
        """Crank radius, rod length and pin offset [m], as `slider_crank` takes them."""
        return {
            "crank_radius": self.stroke / 2,
            "rod_length": self.rod_length,
            "pin_offset": self.value("pin_offset").value,
        }

    def _check_order(self, smaller: str, larger: str) -> None:
        """Refuse two given inputs whose order cannot be."""
        if not (self.has(smaller) and self.has(larger)):
            return
        low, high = self.given(smaller), self.given(larger)
        if low > high:
            raise InputError(
                f"{smaller} is {self.declaration(smaller).in_words(low)} and {larger} is "
                f"{self.declaration(larger).in_words(high)}, but the first cannot exceed the "
                "second; look for swapped values or a wrong unit."
            )

    def _check_fastener(self) -> None:
        """Refuse a nut's thread, an angle or a shank that the rest of the fastening contradicts."""
        joint = self.head_joint
        if joint.nut_thread is not None:
            if joint.fastener not in (None, STUD):
                raise InputError(
                    f"head_joint.nut_thread is {joint.nut_thread} with head_joint.fastener "
                    f"{joint.fastener!r}, but only a stud has a nut: leave one out."
                )
            ratio = thread_nominal(self, "nut_thread") / thread_nominal(self)
            if not NUT_OVER_BLOCK[0] <= ratio <= NUT_OVER_BLOCK[1]:
                raise InputError(
                    f"head_joint.nut_thread is {joint.nut_thread} on a stud of {joint.thread}, "
                    f"but its diameter must be {NUT_OVER_BLOCK[0]:g} to {NUT_OVER_BLOCK[1]:g} of "
                    "the block's thread; check both."
                )
        angle = joint.tightening_angle
        if angle is not None and joint.tightening not in (None, "angle"):
            raise InputError(
                f"head_joint.tightening_angle is {math.degrees(angle):.4g} deg with "
                f"head_joint.tightening {joint.tightening!r}, but an angle is turned only where "
                "that is 'angle': leave one out."
            )
        shank = joint.shank_diameter
        if shank is None:
            return
        most = SHANK_OVER_THREAD * thread_nominal(self)
        if shank > most * (1 + ROUNDING):
            raise InputError(
                f"head_joint.shank_diameter is {shank * 1e3:.4g} mm with the thread "
                f"{self.head_joint.thread}, but must be at most {most * 1e3:.4g} mm, "
                f"{SHANK_OVER_THREAD:g} of the thread's diameter, to pass its hole; check both and "
                "their units."
            )

    def _check_rated(self) -> None:
        """Refuse a rating that is not whole, or whose two points cannot be of one curve."""
        rated = self.rated
        points = {k: getattr(rated, k) for k in ("torque", "torque_speed", "power", "power_speed")}
        missing = [f"rated.{key}" for key, value in points.items() if value is None]
        if not missing:
            at_power, most = points["power"] / points["power_speed"], points["torque"]
            if points["torque_speed"] > points["power_speed"] or at_power > 1.02 * most:
                raise InputError(
                    f"rated.power stands for {at_power:.0f} N·m at rated.power_speed, but must "
                    f"stand for no more than rated.torque, {most:.0f} N·m, at a speed no lower "
                    "than rated.torque_speed; check the four numbers and their units."
                )
            order = (rated.torque_from, rated.torque_speed, rated.power_speed, rated.rev_limit)
            given = [speed for speed in order if speed is not None]
            if given != sorted(given):
                raise InputError(
                    "[rated] torque_from, torque_speed, power_speed and rev_limit are "
                    f"{', '.join(f'{x / RPM:.0f}' for x in given)} rpm as far as given, but must "
                    "rise in that order; check them."
                )
        elif len(missing) < len(points) or not (
            rated.blend is rated.octane is rated.torque_from is None
        ):
            raise InputError(
                f"{', '.join(missing)} missing: [rated] needs torque, torque_speed, power and "
                "power_speed, as a data sheet gives them."
            )

    def _check_rung(self, rung: Rung, name: str) -> None:
        check_section(rung, name)
        if rung.run is None:
            raise InputError(f"{name}.run is missing: name the run file of what was survived.")
        if rung.pulls is not None and rung.years is not None:
            raise InputError(
                f"{name} gives pulls ({rung.pulls}) and years ({rung.years:g}), but must give one "
                "of them."
            )
        if rung.blend is not None and self.compression_ignition != (rung.blend == "diesel"):
            raise InputError(
                f"{name}.blend is {rung.blend!r} with ignition {self.ignition!r}; leave it out or "
                "name the fuel of those pulls."
            )

    def _check_heads(self) -> None:
        heads = int(self.value("heads").value)
        if self.cylinders % heads:
            raise InputError(
                f"heads is {heads}, but must divide cylinders, which is {self.cylinders}."
            )

    @property
    def cylinders_per_head(self) -> int:
        """Cylinders under one head."""
        return self.cylinders // int(self.value("heads").value)

    @property
    def compression_ignition(self) -> bool:
        """True where fuel ignites by compression."""
        return self.ignition == COMPRESSION

    def declaration(self, name: str) -> Declaration:
        """The declaration of an input named 'field' or 'section.field'."""
        section, _, key = name.rpartition(".")
        owner = type(getattr(self, section)) if section else Engine
        return declarations(owner)[key]

    def given(self, name: str) -> Any:
        """The value as given, or None."""
        section, _, key = name.rpartition(".")
        return getattr(getattr(self, section) if section else self, key)

    def value(self, name: str) -> Value:
        """An input as used: the given value, else the declared default, with its spread.

        Raises InputError when there is neither.
        """
        declaration = self.declaration(name)
        raw = self.given(name)
        given = raw is not None
        raw = raw if given else declaration.assumed(self)
        if raw is None:
            raise InputError(
                f"{name} ({declaration.label}) is needed here; add it to the engine file."
            )
        number = float(raw)
        spread = declaration.spread_given if given else declaration.spread_assumed
        if not given and declaration.widened is not None:
            spread *= declaration.widened(self)
        sd = spread if declaration.absolute else spread * abs(number)
        return Value(name=name, value=number, sd=sd, given=given, declaration=declaration)

    def word(self, name: str) -> str:
        """An input in words (an option or a designation): given, else the declared default."""
        raw = self.given(name)
        raw = self.declaration(name).assumed(self) if raw is None else raw
        if raw is None:
            raise InputError(f"{name} is needed here; add it to the engine file.")
        return str(raw)

    def has(self, name: str) -> bool:
        """True when the input was given."""
        return self.given(name) is not None

    def assumed(self) -> tuple[str, ...]:
        """Names of the inputs that have a default and were not given, in order of declaration."""
        names: list[str] = []
        for prefix, owner in (("", Engine), *((s, type(getattr(self, s))) for s in SECTIONS)):
            for key, declaration in declarations(owner).items():
                name = f"{prefix}.{key}" if prefix else key
                if prefix == "rated" and self.rated.points is None:
                    continue
                if name in COMPRESSION_ONLY and not self.compression_ignition:
                    continue
                if declaration.default is not None and not self.has(name):
                    names.append(name)
        return tuple(names)

    def with_values(self, changes: dict[str, Any]) -> "Engine":
        """A copy with the inputs named 'field' or 'section.field' replaced (SI); checked again."""
        top: dict[str, Any] = {}
        inner: dict[str, dict[str, Any]] = {}
        for name, value in changes.items():
            section, _, key = name.rpartition(".")
            if section:
                inner.setdefault(section, {})[key] = value
            else:
                top[key] = value
        for section, values in inner.items():
            top[section] = dataclasses.replace(getattr(self, section), **values)
        return dataclasses.replace(self, **top)


_ORDERED_PAIRS = (
    ("bore", "head_joint.sealing_diameter"),
    ("head_joint.sealing_diameter", "head_joint.bore_pitch"),
    ("head_joint.counterbore_depth", "head_joint.clamped_length"),
    ("running_gear.pin_bore_diameter", "running_gear.pin_diameter"),
    ("running_gear.rod_yield_strength", "running_gear.rod_tensile_strength"),
    ("head_joint.yield_strength", "head_joint.tensile_strength"),
    ("valvetrain.spring_force_on_seat", "valvetrain.spring_force_at_nose"),
    ("supply.compressor_top_flow", "supply.compressor_flow"),
    ("supply.compressor_surge_flow", "supply.compressor_top_flow"),
    ("supply.compressor_flow_ratio", "supply.compressor_top_ratio"),
)
"""Inputs of which the first cannot exceed the second, where both are given."""

SECTIONS: tuple[str, ...] = (
    "fuel",
    "charge",
    "running_gear",
    "head_joint",
    "valvetrain",
    "supply",
    "test",
    "rated",
    "known_good",
)
