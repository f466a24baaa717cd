"""What goes into a closed cycle, what comes out, and how lanes are taken apart and joined."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np

from torquerisk.errors import InputError
from torquerisk.physics.arrays import Array, Floats, require, require_between, require_positive
from torquerisk.physics.cylinder.burn import BurnCurve
from torquerisk.physics.cylinder.gas import Fuel, WorkingGas
from torquerisk.physics.cylinder.geometry import CylinderGeometry
from torquerisk.physics.cylinder.species import FIT_RANGE, energy_slope_basis

COMPLETENESS = {"spark": 0.975, "compression": 0.985}
"""Default share of the charge that burns [-]; rich mixtures leave CO and H2 on top of that.

Common practice, no source: 0.96-0.98 spark, 0.98-0.99 compression ignition.
"""


@dataclass(frozen=True, kw_only=True, eq=False)
class CycleInputs:
    """Everything about a cycle but its trapped pressure; floats or (n,) lanes.

    geometry: of the cylinder. fuel: one fuel for all lanes.
    compression_ignition: fuel enters as it burns; otherwise it is premixed.
    speed: omega, of the crank [rad/s]. trapped_temperature: at intake closing [K].
    lambda_: air-fuel equivalence ratio of the fresh charge [-].
    residual_fraction: burned share of the trapped mass [-].
    burn: burned fraction against crank angle.
    intake_closing, exhaust_opening: from firing top dead centre [rad], negative and positive.
    exhaust_pressure: [Pa]. wall_temperature: mean of head, piston and liner [K].
    heat_loss_scale: factor on the heat-transfer coefficient [-].
    completeness: share that burns [-].
    dissociation: correct the burned gas to chemical equilibrium; otherwise it is frozen.
    gas: replaces the gas that fuel, lambda and residual would give, for textbook cycles.
    """

    geometry: CylinderGeometry
    fuel: Fuel
    compression_ignition: bool
    speed: Floats
    trapped_temperature: Floats
    lambda_: Floats
    residual_fraction: Floats
    burn: BurnCurve
    intake_closing: Floats
    exhaust_opening: Floats
    exhaust_pressure: Floats
    wall_temperature: Floats = 450.0
    heat_loss_scale: Floats = 1.0
    completeness: Floats = COMPLETENESS["spark"]
    dissociation: bool = True
    gas: WorkingGas | None = None

    def __post_init__(self) -> None:
        require_positive("speed", self.speed, "rad/s")
        low = FIT_RANGE[0]
        for name in ("trapped_temperature", "wall_temperature"):
            value = getattr(self, name)
            require(name, value, f"{low:g} to 1000 K", lambda x: (x >= low) & (x <= 1000))
        require_between("heat_loss_scale", self.heat_loss_scale, 0, 5)
        require_between("completeness", self.completeness, 0, 1)
        require(
            "intake_closing",
            self.intake_closing,
            "-pi to below 0 rad (before firing top dead centre)",
            lambda x: (x >= -np.pi) & (x < 0),
        )
        require(
            "exhaust_opening",
            self.exhaust_opening,
            "above 0 to pi rad (after firing top dead centre)",
            lambda x: (x > 0) & (x <= np.pi),
        )
        require_positive("exhaust_pressure", self.exhaust_pressure, "Pa")
        require(
            "start of burning less intake closing",
            self.burn.start - self.intake_closing,
            "at least 0 rad (burn later or shorter, or close the intake earlier)",
            lambda x: x >= 0,
        )

    @property
    def lanes(self) -> int:
        """Number of lanes."""
        shapes = [np.shape(getattr(self, name)) for name in _LANED]
        shapes += [np.shape(getattr(self.geometry, name)) for name in _GEOMETRY]
        shapes.append(() if self.burn.lanes == 1 else (self.burn.lanes,))
        shape = np.broadcast_shapes(*shapes)
        if len(shape) > 1:
            raise InputError(f"cycle inputs have shape {shape}, but lanes must be one-dimensional.")
        return int(np.prod(shape, dtype=int))


_GEOMETRY = ("bore", "stroke", "rod_length", "compression_ratio", "pin_offset")
_LANED = (
    "speed",
    "trapped_temperature",
    "lambda_",
    "residual_fraction",
    "intake_closing",
    "exhaust_opening",
    "exhaust_pressure",
    "wall_temperature",
    "heat_loss_scale",
    "completeness",
)


@dataclass(frozen=True, kw_only=True, eq=False)
class Trace:
    """A cycle's state at every node of crank angle, from -pi to pi.

    angle: (k,) [rad]. pressure: (k, n) [Pa]. temperature: mass mean (k, n) [K]. burned_fraction:
    share of the charge burned (k, n) [-], ends at the completeness. volume: (k, n) [m3].
    inputs: of these lanes. gas: of these lanes.
    """

    angle: Array
    pressure: Array
    temperature: Array
    burned_fraction: Array
    volume: Array
    inputs: CycleInputs
    gas: WorkingGas

    @cached_property
    def unburned_temperature(self) -> Array:
        """Temperature of gas not yet burned, compressed without heat loss from intake closing.

        (k, n) [K]: dT/T = (R/cp(T)) dp/p of the unburned composition. This is the end gas that
        knocks. Source: [HEYWOOD] section 9.6.2.
        """
        result = np.empty_like(self.pressure)
        result[0] = self.inputs.trapped_temperature
        rise = np.diff(np.log(self.pressure), axis=0)
        energy, constant = self.gas.unburned_energy, self.gas.unburned_gas_constant
        exponent = expansion_exponent(energy, constant, result[0])
        for row, step in enumerate(rise):
            middle = result[row] * (1 + 0.5 * exponent * step)
            exponent = expansion_exponent(energy, constant, middle)
            result[row + 1] = result[row] * np.exp(exponent * step)
        return result


@dataclass(frozen=True, kw_only=True, eq=False)
class ClosedCycle:
    """Result of a closed cycle; arrays of lanes (n,) unless the trace says otherwise.

    imep_gross: trapezium sum of p dV over -pi..pi per swept volume [Pa].
    peak_pressure: refined by a parabola through three nodes [Pa]; peak_angle: its angle [rad].
    max_pressure_rise_rate: steepest rise between two nodes [Pa/rad].
    trapped_pressure: at intake closing [Pa]. trapped_mass: then [kg]. fuel_mass: burned or not
    [kg]. heat_lost: to the walls while the valves are closed [J].
    energy_residual: mismatch of the energy account over the fuel's heating value [-].
    indicated_efficiency: gross work over the fuel's heating value [-].
    functionals: what the caller's functions of the trace returned.
    trace: None unless kept.
    """

    imep_gross: Array
    peak_pressure: Array
    peak_angle: Array
    max_pressure_rise_rate: Array
    trapped_pressure: Array
    trapped_mass: Array
    fuel_mass: Array
    heat_lost: Array
    energy_residual: Array
    indicated_efficiency: Array
    functionals: Mapping[str, Array] = field(default_factory=dict)
    trace: Trace | None = None

    @property
    def kept(self) -> Trace:
        """The trace, or an InputError if it was not kept."""
        if self.trace is None:
            raise InputError("the trace was not kept; run the cycle with keep_trace=True.")
        return self.trace


Functionals = Mapping[str, Callable[[Trace], Array]]
"""Named functions of a trace that return one number per lane."""


def expansion_exponent(energy: Array, constant: Array, temperature: Array) -> Array:
    """Return R/cp [-] of a gas of fixed composition."""
    capacity = np.sum(energy * energy_slope_basis(temperature), axis=0)
    return constant / (capacity + constant)


def select(inputs: CycleInputs, chunk: slice) -> CycleInputs:
    """Inputs of some lanes; scalars stay scalars."""

    def cut(value: Floats) -> Floats:
        array = np.asarray(value, dtype=float)
        return float(array.reshape(-1)[0]) if array.size == 1 else array[chunk]

    geometry = replace(
        inputs.geometry, **{name: cut(getattr(inputs.geometry, name)) for name in _GEOMETRY}
    )
    burn = inputs.burn if inputs.burn.lanes == 1 else inputs.burn.lane(chunk)
    laned: dict[str, Any] = {name: cut(getattr(inputs, name)) for name in _LANED}
    return replace(inputs, geometry=geometry, burn=burn, **laned)


def join(parts: list[ClosedCycle]) -> ClosedCycle:
    """One result from the chunks' results, which keep no trace where there are several."""
    if len(parts) == 1:
        return parts[0]
    numbers: dict[str, Any] = {
        name: np.concatenate([np.atleast_1d(getattr(part, name)) for part in parts])
        for name in ClosedCycle.__dataclass_fields__
        if name not in ("functionals", "trace")
    }
    functionals = {
        name: np.concatenate([part.functionals[name] for part in parts])
        for name in parts[0].functionals
    }
    return ClosedCycle(**numbers, functionals=functionals)
