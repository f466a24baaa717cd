"""The second axis of a table: what changes with its value, and what stays as the run had it.

An axis is one `Axis` record, listed in `AXES`: the page's choices, the command's words, the order
of the columns and every sentence about it follow from the record.
"""

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from torquerisk.case import Engine, Notice
from torquerisk.case.declare import Kind
from torquerisk.errors import InputError
from torquerisk.physics.cylinder.knock import (
    ETHANOL_OCTANE_RESEARCH,
    blend_octane,
    ethanol_mole_fraction,
)
from torquerisk.quantities import RPM
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.run.operating_state import Operating, PhasingSource
from torquerisk.study.run.run_on_grid import BASE_OCTANE, Prepared

BLEND_OCTANE_SD = 1.5
"""Spread of the molar blending rule, see `blend_octane` [-]."""
RICHEST_INVERTED = 0.9
"""Ethanol mole fraction above which the petrol's octane can no longer be told from the blend's."""
PETROL_OCTANES = (80.0, 110.0)
"""Research octane that a petrol may have [-]."""
USUAL_COOLANT = 363.15
"""Coolant temperature of a run that logged none [K] (common practice, no source: 90 °C)."""
FOLLOWS_SD = 0.2
"""Spread of how far the joint follows the coolant, kelvin for kelvin (practice, no source)."""
LEAST_HEATING_SHARE = 0.2
"""Least share of the usual heating: residual gas heats the charge with a cold coolant too."""


@dataclass(frozen=True, kw_only=True, eq=False)
class AxisValue:
    """The inputs at one value of an axis."""

    value: float
    prepared: Prepared
    widened: dict[str, float] = field(default_factory=dict)
    """Factors on deviates, so that an input that was moved keeps its spread."""
    notices: tuple[Notice, ...] = ()

    def draws(self, base: Draws) -> Draws:
        """The same simulated engines, with the spread of what was moved."""
        if not self.widened:
            return base
        deviates = dict(base.deviates)
        for name, factor in self.widened.items():
            deviates[name] = deviates[name] * factor
        return Draws(deviates=deviates, count=base.count)


def phasing_held(assessment: Assessment) -> bool:
    """True where phasing stays as logged: it does not move with fuel or charge."""
    logged = (PhasingSource.GIVEN, PhasingSource.IGNITION_ADVANCE)
    return assessment.engine.compression_ignition or assessment.phasing_source in logged


@dataclass(frozen=True, kw_only=True, eq=False)
class Axis:
    """One second axis; values in SI."""

    name: str
    """As it is written at the command and in documents."""
    title: str
    kind: Kind
    range: tuple[float, float]
    first_values: str
    """Values that are offered until others are written."""
    variant: Callable[[Prepared, float], AxisValue]
    """The inputs (on the finer grid) at a value; torque and evidence stay."""
    order: int
    """1 where a greater value never lowers the limit, -1 where it never raises it, 0 for no order.
    """
    rule: str
    """The order that physics gives the columns, as a clause."""
    no_order: str
    """What is said where the columns have no order."""
    moves: str
    """What moves with the axis, as a sentence."""
    knock_moves: bool = True
    """Whether knock follows the axis, and with it phasing that was not logged."""
    spark_only: bool = False
    charge_held: bool = True
    """Whether charge temperature stays as in the run."""

    def in_words(self, value: float) -> str:
        """The value with its unit."""
        return f"{self.kind.shown(value):.6g} {self.kind.shown_unit}".rstrip()

    def check(self, value: float, assessment: Assessment) -> None:
        """Refuse a value that the axis does not take, in one sentence."""
        low, high = self.range
        if not (np.isfinite(value) and low <= value <= high):
            raise InputError(
                f"{self.title} is {self.in_words(value)}, but must be from {self.in_words(low)} to "
                f"{self.in_words(high)}; check the number and its unit."
            )
        if self.spark_only and assessment.engine.compression_ignition:
            raise InputError(
                f"the axis {self.name} is of spark ignition only, but the engine has compression "
                "ignition; choose another axis."
            )

    def direction(self, assessment: Assessment) -> int:
        """`order`, or 0 where it is lost: fuel and charge order columns only at held phasing.

        Where phasing is knock-limited an easier fuel burns earlier and loads the parts more.
        """
        return 0 if self.knock_moves and not phasing_held(assessment) else self.order

    def held_in_words(self, assessment: Assessment) -> tuple[str, ...]:
        """What stays as it was in the run, and what moves with the axis."""
        held = ["lambda", "exhaust pressure", *["charge temperature"] * self.charge_held]
        phasing = "Phasing is held as logged."
        if assessment.phasing_source is PhasingSource.IGNITION_ADVANCE:
            phasing = "Ignition is held as logged, later past this run's torque."
        if not phasing_held(assessment):
            phasing = "Phasing is knock-limited, so it moves with the axis."
        return (f"Held as in the run: {', '.join(held)}.", phasing, self.moves)


def _with_state(inputs: Prepared, state: Operating) -> Prepared:
    return dataclasses.replace(inputs, state=state)


def _ethanol(inputs: Prepared, share: float) -> AxisValue:
    """Another blend of the same petrol. Source: [BLEND_OCTANE] for molar-linear octane."""
    state = inputs.state
    if abs(share - state.ethanol_share) < 1e-9:
        return AxisValue(value=share, prepared=inputs)
    petrol, notices = petrol_octane(state)
    octane = float(blend_octane(petrol, float(ethanol_mole_fraction(share))))
    changed = dataclasses.replace(
        state,
        ethanol_share=share,
        octane=octane,
        octane_sd=float(np.hypot(state.octane_sd, BLEND_OCTANE_SD)),
    )
    return AxisValue(value=share, prepared=_with_state(inputs, changed), notices=notices)


def petrol_octane(state: Operating) -> tuple[float, tuple[Notice, ...]]:
    """Research octane of the petrol in a blend, from the blend's own, and what must be said."""
    mole = float(ethanol_mole_fraction(state.ethanol_share))
    if mole <= RICHEST_INVERTED:
        petrol = (state.octane - mole * ETHANOL_OCTANE_RESEARCH) / (1 - mole)
        low, high = PETROL_OCTANES
        if low <= petrol <= high:
            told = Notice(
                "axis-petrol",
                f"The petrol in the run's fuel comes to an octane of {petrol:.0f} by molar "
                "blending; another petrol in the tank shifts the table.",
            )
            return petrol, (told,) if mole > 0 else ()
    return BASE_OCTANE, (
        Notice(
            "axis-petrol",
            f"The octane of the petrol cannot be told from the run's fuel (octane "
            f"{state.octane:.0f} at {100 * state.ethanol_share:.0f} % ethanol), so "
            f"{BASE_OCTANE:.0f} is taken.",
        ),
    )


def _charge(inputs: Prepared, temperature: float) -> AxisValue:
    """Another charge temperature; the pressure for the run's torque goes with it."""
    state = inputs.state
    pressure = state.manifold_pressure
    changed = dataclasses.replace(
        state,
        intake_temperature=np.full(len(state.speed), temperature),
        manifold_pressure=None
        if pressure is None
        else pressure * temperature / state.intake_temperature,
    )
    return AxisValue(value=temperature, prepared=_with_state(inputs, changed))


def _coolant(inputs: Prepared, coolant: float) -> AxisValue:
    """Another coolant temperature: joint and charge heating follow it."""
    logged = inputs.run.channel("coolant_temperature")
    usual = USUAL_COOLANT if logged is None else float(np.median(logged))
    rise = coolant - usual
    charge = float(np.median(inputs.state.intake_temperature))
    share = max((coolant - charge) / max(usual - charge, 10.0), LEAST_HEATING_SHARE)
    names = ("head_joint.running_temperature", "charge.trapped_heating")
    joint, heating = (inputs.engine.value(name) for name in names)
    moved = {
        names[0]: _within(inputs.engine, names[0], joint.value + rise),
        names[1]: _within(inputs.engine, names[1], heating.value * share),
    }
    wanted = {
        names[0]: float(np.hypot(joint.sd, FOLLOWS_SD * rise)),
        names[1]: heating.sd * max(share, 1.0),
    }
    engine = inputs.engine.with_values(moved)
    notices = () if logged is not None else (
        Notice(
            "axis-coolant",
            f"The run logged no coolant temperature, so {usual - 273.15:.0f} °C is taken for it "
            "(common practice).",
        ),
    )  # fmt: skip
    return AxisValue(
        value=coolant,
        prepared=dataclasses.replace(inputs, engine=engine),
        widened={name: wanted[name] / engine.value(name).sd for name in names},
        notices=notices,
    )


def _gear(inputs: Prepared, rate: float) -> AxisValue:
    """Another sweep rate."""
    engine = inputs.engine.with_values({"test.sweep_rate": rate})
    return AxisValue(value=rate, prepared=dataclasses.replace(inputs, engine=engine))


def _within(engine: Engine, name: str, value: float) -> float:
    """The value, refused outside its declared range."""
    declaration = engine.declaration(name)
    if not declaration.low <= value <= declaration.high:
        raise InputError(
            f"{declaration.label} would come to {declaration.in_words(value)}, but must be from "
            f"{declaration.in_words(declaration.low)} to {declaration.in_words(declaration.high)}; "
            "choose a coolant temperature nearer to the run's."
        )
    return value


_MOVES = (
    "Phasing was not logged, so it is taken knock-limited and moves with {what}: an earlier burn "
    "loads the head and rods more, so the limit need not rise where knock eases. Log ignition "
    "advance to have the phasing held."
)
ETHANOL = Axis(
    name="ethanol",
    title="ethanol by volume",
    kind=Kind.SHARE,
    range=(0.0, 1.0),
    first_values="0, 30, 60, 85 %",
    variant=_ethanol,
    order=1,
    rule="more ethanol never lowers the limit",
    no_order=_MOVES.format(what="the fuel"),
    moves="Blend and octane move: octane is molar-linear between the run's petrol and ethanol. "
    "The charge gives 40 % of the heat that more ethanol takes to evaporate: 20 to 40 % with port "
    "injection, 60 to 80 % with injection into the cylinder.",
    spark_only=True,
)
CHARGE_TEMPERATURE = Axis(
    name="charge temperature",
    title="charge temperature",
    kind=Kind.TEMPERATURE,
    range=(243.15, 423.0),
    first_values="20, 40, 60 °C",
    variant=_charge,
    order=-1,
    rule="hotter charge never raises the limit",
    no_order=_MOVES.format(what="charge temperature"),
    moves="Charge temperature moves, and with it the manifold pressure that a torque takes.",
    charge_held=False,
)
COOLANT_TEMPERATURE = Axis(
    name="coolant temperature",
    title="coolant temperature",
    kind=Kind.TEMPERATURE,
    range=(243.15, 403.15),
    first_values="70, 90, 105 °C",
    variant=_coolant,
    order=0,
    rule="",
    no_order="Columns over coolant temperature have no order: a hotter joint of aluminium clamps "
    "harder, while a hotter charge knocks sooner.",
    moves="The joint's temperature moves with the coolant, and the heat that the charge picks up "
    "moves with the difference of coolant and charge.",
)
GEAR = Axis(
    name="gear",
    title="sweep rate in gear",
    kind=Kind.SPEED_RATE,
    range=(5 * RPM, 400.0),
    first_values="150, 300, 600, 1000 rpm/s",
    variant=_gear,
    order=1,
    rule="a slower sweep never raises the limit",
    no_order="",
    moves="The sweep rate moves, and with it the cycles spent near each speed.",
    knock_moves=False,
)
AXES = (ETHANOL, CHARGE_TEMPERATURE, COOLANT_TEMPERATURE, GEAR)
"""Every axis, in the order shown."""


def axis_named(name: str) -> Axis:
    """The axis that is written so; KeyError for another."""
    return {axis.name: axis for axis in AXES}[name]
