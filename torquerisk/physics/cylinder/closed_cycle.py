"""Single-zone closed cycle: cylinder pressure over crank angle from charge, burning and heat loss.

Between intake closing and exhaust opening the charge keeps an exact energy account (see `march`).
Outside, two plain models make the trace run from bottom to bottom dead centre: the pressure stays
at the trapped one from bottom dead centre to intake closing, and falls to the exhaust pressure
along half a cosine from exhaust opening to bottom dead centre. The gross indicated mean effective
pressure is the trapezium sum of p dV over that very trace.
"""

import numpy as np

from torquerisk.errors import InputError, OutOfRangeError
from torquerisk.physics.arrays import Array, Floats, require, require_positive
from torquerisk.physics.cylinder import heat_loss
from torquerisk.physics.cylinder.cycle_data import (
    ClosedCycle,
    CycleInputs,
    Functionals,
    Trace,
    expansion_exponent,
    join,
    select,
)
from torquerisk.physics.cylinder.gas import working_gas
from torquerisk.physics.cylinder.geometry import (
    clearance_volume,
    cylinder_volume,
    swept_volume,
    wall_area,
)
from torquerisk.physics.cylinder.march import Charge, Grid, march
from torquerisk.physics.running_gear.slider_crank import mean_piston_speed

STEP = float(np.radians(1.0))
"""Default step of crank angle [rad]."""
TRAPPED_RANGE = (0.1e5, 15e5)
"""Trapped pressures that are searched for a given mean effective pressure [Pa]."""
_CHUNK = 4096
_COARSE = float(np.radians(4.0))
_TOLERANCE = 1e-6
_GUESSED_EFFICIENCY = 0.38


def closed_cycle(
    inputs: CycleInputs,
    trapped_pressure: Floats,
    step: float = STEP,
    keep_trace: bool = True,
    functionals: Functionals | None = None,
) -> ClosedCycle:
    """Closed cycle of every lane at a given trapped pressure.

    inputs: see `CycleInputs`. trapped_pressure: at intake closing [Pa], (n,).
    step: of crank angle [rad], rounded so that a whole number fills -pi..pi.
    keep_trace: keep the whole trace, of up to 4,096 lanes; otherwise only numbers per lane and
    `functionals`.
    functionals: named functions of a `Trace` of some lanes, each returning (lanes,).
    Raises OutOfRangeError for a trapped pressure that is not positive, or if the gas leaves the
    200-3500 K in which its fitted energy is used.
    Source: [HEYWOOD] section 14.4 (single-zone model); heat loss [WOSCHNI].
    """
    require_positive("trapped_pressure", trapped_pressure, "Pa")
    lanes = max(inputs.lanes, np.size(trapped_pressure))
    pressure = np.broadcast_to(np.asarray(trapped_pressure, dtype=float), (lanes,))
    parts = []
    for chunk in _chunks(lanes, keep_trace):
        solver = _Solver(select(inputs, chunk), pressure[chunk].size, step)
        parts.append(solver.result(pressure[chunk], functionals or {}, keep_trace))
    return join(parts)


def closed_cycle_at_imep(
    inputs: CycleInputs,
    imep_gross: Floats,
    step: float = STEP,
    keep_trace: bool = True,
    functionals: Functionals | None = None,
) -> ClosedCycle:
    """Closed cycle whose gross indicated mean effective pressure is the one given.

    imep_gross: [Pa], (n,). The trapped pressure is found by secant to 1e-6 of it; the other
    arguments are those of `closed_cycle`.
    Raises OutOfRangeError if no trapped pressure from 0.1 to 15 bar gives it.
    """
    require_positive("imep_gross", imep_gross, "Pa")
    lanes = max(inputs.lanes, np.size(imep_gross))
    target = np.broadcast_to(np.asarray(imep_gross, dtype=float), (lanes,))
    parts = []
    for chunk in _chunks(lanes, keep_trace):
        selected, size = select(inputs, chunk), target[chunk].size
        coarse, fine = (_Solver(selected, size, max(step, h)) for h in (_COARSE, step))
        trapped = _solve(coarse, fine, target[chunk])
        parts.append(fine.result(trapped, functionals or {}, keep_trace))
    return join(parts)


class _Solver:
    """Marches one chunk of lanes; everything that does not depend on trapped pressure is kept."""

    def __init__(self, inputs: CycleInputs, lanes: int, step: float) -> None:
        self.inputs, self.lanes = inputs, lanes
        self.gas = inputs.gas or working_gas(
            inputs.fuel,
            inputs.lambda_,
            inputs.residual_fraction,
            inputs.compression_ignition,
            inputs.dissociation,
        )
        count = max(round(2 * np.pi / step), 8)
        self.angle = np.linspace(-np.pi, np.pi, count + 1)
        self.volume = cylinder_volume(self.angle[:, None], inputs.geometry)
        self.swept = swept_volume(inputs.geometry)
        self.closing_volume = cylinder_volume(inputs.intake_closing, inputs.geometry)
        self.grid = self._grid()
        self.last: tuple[Array, tuple[Array, Array, Array]] | None = None
        self.pressure = np.empty((count + 1, lanes))
        self.temperature = np.empty((count + 1, lanes))

    def _grid(self) -> Grid:
        inputs, angle = self.inputs, self.angle
        closing, opening = inputs.intake_closing, inputs.exhaust_opening
        held = np.clip(angle[:, None], closing, opening)
        volume = np.asarray(cylinder_volume(held, inputs.geometry))
        burned = np.zeros((angle.size, self.lanes))
        start, end = inputs.burn.start, inputs.burn.end
        ignite = max(int(np.searchsorted(angle, np.min(start))) - 1, 0)
        alight = min(int(np.searchsorted(angle, np.max(start))), angle.size - 1)
        burnt = min(int(np.searchsorted(angle, np.max(end))), angle.size - 1)
        burning = slice(ignite, burnt + 1)
        at = held[burning] if held.shape[1] > 1 else held[burning, 0]
        burned[burning] = inputs.burn.burned_fraction(at)
        burned[burnt + 1 :] = burned[burnt]
        burned *= inputs.completeness
        return Grid(
            volume=volume,
            change=np.diff(volume, axis=0),
            duration=np.diff(held, axis=0) / inputs.speed,
            area=np.asarray(wall_area(volume, inputs.geometry)),
            motored=(volume / self.closing_volume) ** -heat_loss.MOTORED_EXPONENT,
            closeness=(clearance_volume(inputs.geometry) / volume) ** 2,
            burned=burned,
            first=max(int(np.searchsorted(angle, np.min(closing), side="right")) - 1, 0),
            last=min(int(np.searchsorted(angle, np.max(opening))), angle.size - 1),
            ignite=ignite,
            alight=alight,
            burnt=burnt,
        )

    def run(self, trapped: Array) -> tuple[Array, Array, Array]:
        """Fill the trace; return gross mean effective pressure, heat lost and energy mismatch."""
        if self.last is not None and self.last[0] is trapped:
            return self.last[1]
        heat, mismatch = march(self.grid, self._charge(trapped), self.pressure, self.temperature)
        self._blow_down()
        mean = 0.5 * (self.pressure[1:] + self.pressure[:-1])
        work = np.einsum(
            "kn,kn->n", mean, np.broadcast_to(np.diff(self.volume, axis=0), mean.shape)
        )
        self.last = (trapped, (work / self.swept, heat, mismatch))
        return self.last[1]

    def mass(self, trapped: Array) -> Array:
        """Mass trapped at intake closing [kg]."""
        constant = self.gas.unburned_gas_constant * self.inputs.trapped_temperature
        return trapped * self.closing_volume / constant

    def _charge(self, trapped: Array) -> Charge:
        inputs, gas, ones = self.inputs, self.gas, np.ones(self.lanes)
        mass = self.mass(trapped)
        split = gas.dissociation
        if split is not None:
            split = split + np.zeros(self.lanes)
            split[0] += np.log(mass)
        piston = mean_piston_speed(stroke=inputs.geometry.stroke, angular_speed=inputs.speed)
        loss = heat_loss.woschni_coefficient(inputs.geometry.bore, 1.0, 1.0, 1.0)
        speed = heat_loss.WOSCHNI_COMPRESSION * piston
        warm = heat_loss.WOSCHNI_COMBUSTION * self.swept * inputs.trapped_temperature
        return Charge(
            unburned=mass * gas.unburned_energy,
            burning=mass * (gas.burned_energy - gas.unburned_energy),
            constant=mass * gas.unburned_gas_constant,
            constant_change=mass * (gas.burned_gas_constant - gas.unburned_gas_constant),
            dissociation=split,
            pressure=trapped,
            temperature=ones * inputs.trapped_temperature,
            wall=ones * inputs.wall_temperature,
            loss=ones * inputs.heat_loss_scale * loss,
            speed=ones * speed,
            swirl=warm / (trapped * self.closing_volume),
            squeeze=ones * speed * heat_loss.squeeze_factor(1.0, self._rough_imep(mass)),
        )

    def _rough_imep(self, mass: Array) -> Array:
        """Gross mean effective pressure by a usual efficiency [Pa]; heat loss hardly feels it."""
        fuel = mass * self.gas.fuel_mass_fraction * np.minimum(self.inputs.lambda_, 1.0)
        burned = fuel * self.gas.lower_heating_value * self.inputs.completeness
        return np.asarray(_GUESSED_EFFICIENCY * burned / self.swept)

    def _blow_down(self) -> None:
        """Let the pressure fall to the exhaust's after exhaust opening, lane by lane."""
        inputs, last = self.inputs, self.grid.last
        self.pressure[last:] = self.pressure[last]
        self.temperature[last:] = self.temperature[last]
        opening = np.broadcast_to(np.asarray(inputs.exhaust_opening, dtype=float), (self.lanes,))
        row = max(int(np.searchsorted(self.angle, np.min(opening))), 1)
        left = np.maximum(np.pi - opening, 1e-9)
        share = np.clip((self.angle[row:, None] - opening) / left, 0.0, 1.0)
        opened = self.pressure[row:].copy()
        fall = 0.5 * (1 + np.cos(np.pi * share))
        self.pressure[row:] = inputs.exhaust_pressure + (opened - inputs.exhaust_pressure) * fall
        exponent = expansion_exponent(
            self.gas.burned_energy, self.gas.burned_gas_constant, self.temperature[-1]
        )
        self.temperature[row:] *= (self.pressure[row:] / opened) ** exponent

    def result(self, trapped: Array, functionals: Functionals, keep_trace: bool) -> ClosedCycle:
        """Run, unless this trapped pressure was the last one run, and gather the numbers."""
        imep, heat, mismatch = self.run(trapped)
        low, high = self.gas.temperature_range
        require(
            "gas temperature",
            np.stack([self.temperature.min(axis=0), self.temperature.max(axis=0)]),
            f"{low:g} to {high:g} K",
            lambda x: (x >= low) & (x <= high),
        )
        mass = self.mass(trapped)
        fuel = mass * self.gas.fuel_mass_fraction
        heating = fuel * self.gas.lower_heating_value
        peak, angle = peak_and_angle(self.angle, self.pressure)
        trace = Trace(
            angle=self.angle,
            pressure=self.pressure,
            temperature=self.temperature,
            burned_fraction=self.grid.burned,
            volume=np.broadcast_to(self.volume, self.pressure.shape),
            inputs=self.inputs,
            gas=self.gas,
        )
        return ClosedCycle(
            imep_gross=imep,
            peak_pressure=peak,
            peak_angle=angle,
            max_pressure_rise_rate=np.max(np.diff(self.pressure, axis=0), axis=0)
            / (self.angle[1] - self.angle[0]),
            trapped_pressure=np.array(trapped),
            trapped_mass=mass,
            fuel_mass=fuel,
            heat_lost=heat,
            energy_residual=mismatch / heating,
            indicated_efficiency=imep * self.swept / heating,
            functionals={name: function(trace) for name, function in functionals.items()},
            trace=trace if keep_trace else None,
        )


def _solve(coarse: _Solver, fine: _Solver, target: Array) -> Array:
    """Trapped pressure [Pa] that gives the target mean effective pressure [Pa]."""
    inputs = fine.inputs
    low, high = 0.5 * TRAPPED_RANGE[0], 2 * TRAPPED_RANGE[1]
    fuel = fine.gas.fuel_mass_fraction * np.minimum(inputs.lambda_, 1.0)
    heat = fine.mass(np.ones_like(target)) * fuel * fine.gas.lower_heating_value
    old = np.clip(target * fine.swept / (_GUESSED_EFFICIENCY * heat), low, high)
    old_imep = coarse.run(old)[0]
    pressure = np.clip(old * target / np.maximum(old_imep, 0.1 * target), low, high)
    slope = old_imep / old
    for _ in range(2):
        imep = coarse.run(pressure)[0]
        slope = _chord(pressure - old, imep - old_imep, pressure, slope)
        old, old_imep = pressure, imep
        pressure = np.clip(pressure - (imep - target) / slope, low, high)
    old = pressure
    for turn in range(12):
        imep = fine.run(pressure)[0]
        if np.all(np.abs(imep - target) <= _TOLERANCE * target):
            break
        if turn == 0:
            slope = slope * imep / target
        else:
            slope = _chord(pressure - old, imep - old_imep, pressure, slope)
        old, old_imep = pressure, imep
        pressure = np.clip(pressure - (imep - target) / slope, low, high)
    _refuse_outside(pressure, imep, target)
    return pressure


def _chord(moved: Array, gained: Array, pressure: Array, slope: Array) -> Array:
    """Slope of the secant, or the old slope where a lane has hardly moved."""
    chord = gained / np.where(moved == 0, 1.0, moved)
    return np.where((np.abs(moved) > 1e-6 * pressure) & (chord > 0), chord, slope)


def _refuse_outside(pressure: Array, imep: Array, target: Array) -> None:
    low, high = TRAPPED_RANGE
    bad = (np.abs(imep - target) > _TOLERANCE * target) | (pressure < low) | (pressure > high)
    if bad.any():
        raise OutOfRangeError(
            "imep_gross",
            f"{target[bad][0] / 1e5:.4g} bar",
            f"one that a trapped pressure of {low / 1e5:g} to {high / 1e5:g} bar can give",
            "Check the torque's unit and swept volume, then lambda and the burn.",
        )


def peak_and_angle(angle: Array, pressure: Array) -> tuple[Array, Array]:
    """Peak pressure and its angle by the parabola through the highest node and its neighbours."""
    row = np.clip(np.argmax(pressure, axis=0), 1, angle.size - 2)
    lane = np.arange(pressure.shape[1])
    peak, shift = parabola_top(*(pressure[row + k, lane] for k in (-1, 0, 1)))
    return peak, angle[row] + shift * (angle[1] - angle[0])


def parabola_top(before: Array, top: Array, after: Array) -> tuple[Array, Array]:
    """Top of the parabola through three nodes, and its place about the middle one in steps."""
    bend = np.minimum(before - 2 * top + after, -1e-300)
    shift = np.clip(0.5 * (before - after) / bend, -0.5, 0.5)
    return top - 0.25 * (before - after) * shift, shift


def _chunks(lanes: int, keep_trace: bool) -> list[slice]:
    if keep_trace and lanes > _CHUNK:
        raise InputError(f"a trace is kept of up to {_CHUNK:,} lanes, but {lanes:,} are run.")
    return [slice(start, min(start + _CHUNK, lanes)) for start in range(0, lanes, _CHUNK)]
