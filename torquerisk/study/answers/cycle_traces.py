"""Direct cycles of the median engine: pressure and forces over the whole cycle, at any speeds."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields

import numpy as np

from torquerisk.physics.cylinder.closed_cycle import STEP, closed_cycle_at_imep
from torquerisk.physics.cylinder.cycle_data import ClosedCycle
from torquerisk.physics.running_gear.cycle import cycle_pressure
from torquerisk.physics.running_gear.forces import RunningGearForces, running_gear_forces
from torquerisk.quantities import DEGREE, Array
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.cycle import cylinder
from torquerisk.study.loads import manifold
from torquerisk.study.loads.modelled_cylinder import cylinder_spec
from torquerisk.study.loads.part_load import held_temperature, lambda_wanted
from torquerisk.study.strengths.running_gear import CAP_SHARE, crank_geometry, middle_masses

FALL_WITH_CA50 = 0.02 / DEGREE
"""Relative fall of peak pressure at equal torque by CA50 [1/rad], to step along."""
STEPS = (2 * DEGREE, STEP)
"""Steps of crank angle while the phasing is sought [rad]: the first guess may be coarser."""
MORE_STEPS, PEAK_MISS = 3, 0.003
"""Steps of phasing taken at most while a peak still misses by more than this share."""
BAND_STEPS, BAND_MISS = 4, 0.01
"""The drawn band is scaled again where a scaled trace tops elsewhere than the median one and so
misses the end of the band by more than this share."""


@dataclass(frozen=True, kw_only=True, eq=False)
class MedianCycle:
    """A direct cycle at the medians of the simulated engines. SI."""

    speed: float
    angle: Array
    """-2 pi..2 pi, 0 at firing TDC (T,) [rad]."""
    pressure: Array
    """(T,) [Pa]."""
    pressure_low: Array
    """The same scaled to the 5 % point of peak pressure where it burns (T,) [Pa]."""
    pressure_high: Array
    """The same scaled to the 95 % point of peak pressure where it burns (T,) [Pa]."""
    forces: RunningGearForces
    closed: ClosedCycle

    @property
    def rod_force(self) -> Array:
        """Along the rod, compression positive (T,) [N]."""
        return self.forces.rod_link

    @property
    def side_thrust(self) -> Array:
        """Piston on cylinder wall (T,) [N]."""
        return self.forces.side_thrust

    @property
    def big_end(self) -> Array:
        """Size of the force on the crankpin (T,) [N]."""
        return self.forces.big_end


@dataclass(frozen=True, kw_only=True, eq=False)
class MedianCycles:
    """Direct cycles at the medians of the simulated engines, one to a speed (n,). SI."""

    speed: Array
    """(n,) [rad/s]."""
    angle: Array
    """-2 pi..2 pi, 0 at firing TDC (T,) [rad]."""
    pressure: Array
    """(T, n) [Pa]."""
    forces: RunningGearForces
    """(T, n)."""
    closed: ClosedCycle
    """Of n lanes."""


def median_cycle(assessment: Assessment, speed_index: int) -> MedianCycle:
    """Direct cycle and forces of the median engine at one speed of the grid.

    The band scales the part of the trace that burning adds over motored compression, so that the
    peaks reach the 5 and 95 % points of peak pressure; it is drawn, not computed cycle by cycle.
    """
    cycles = median_cycles(assessment, [speed_index])
    angle, pressure = cycles.angle, cycles.pressure[:, 0]
    low, high = _scaled(angle, pressure, assessment, speed_index)
    return MedianCycle(
        speed=float(cycles.speed[0]),
        angle=angle,
        pressure=pressure,
        pressure_low=low,
        pressure_high=high,
        forces=one_lane(cycles.forces, 0),
        closed=cycles.closed,
    )


def median_cycles(assessment: Assessment, index: Sequence[int] | None = None) -> MedianCycles:
    """Direct cycles and forces of the median engine at some speeds of the grid, all by default.

    Peak pressure bends with what varies, so its median is not quite that of the median inputs: CA50
    is moved, by about a degree at most, until both agree.
    """
    engine, state = assessment.engine, assessment.model.operating
    k = np.arange(len(assessment.speed)) if index is None else np.asarray(index, dtype=int)
    spec = cylinder_spec(engine, state.ethanol_share, float(state.speed.max()))
    speed, imep, ca50 = assessment.speed[k], assessment.imep_gross[k], assessment.ca50.p50[k]
    lambda_ = np.clip(lambda_wanted(engine, spec, state, k, imep), *spec.lambda_range)
    trapped = held_temperature(engine, state)[k]
    at_intake, at_exhaust = manifold.pressures(engine, state, assessment.bmep[k])
    # Rows of loads by speed: each speed's own load is on the diagonal.
    own = np.arange(len(k))
    intake, exhaust = at_intake[k, own], at_exhaust[k, own]

    def direct(phasing: Array, step: float) -> ClosedCycle:
        inputs = cylinder.cycle_inputs(
            spec,
            speed=speed,
            imep=imep,
            ca50=phasing,
            duration=cylinder.burn_duration(spec, speed, imep, lambda_, phasing),
            lambda_=lambda_,
            trapped_temperature=trapped,
            heat_loss_scale=engine.value("charge.heat_loss_scale").value,
            exhaust_pressure=exhaust,
        )
        return closed_cycle_at_imep(inputs, imep, step)

    closed = _of_peak(assessment.peak_pressure.p50[k], direct, ca50, spec.ca50_range)
    whole = cycle_pressure(
        closed_angle=closed.kept.angle,
        closed_pressure=closed.kept.pressure,
        intake_pressure=intake,
        exhaust_pressure=exhaust,
    )
    masses = middle_masses(engine)
    forces = running_gear_forces(
        angle=whole.angle,
        pressure=whole.pressure,
        angular_speed=speed,
        piston_mass=masses.piston,
        rod_mass=masses.rod,
        big_end_share=masses.big_end_share,
        rod_inertia=engine.given("running_gear.rod_inertia"),
        cap_mass=CAP_SHARE * masses.rod,
        **crank_geometry(engine),
    )
    return MedianCycles(
        speed=speed, angle=whole.angle, pressure=whole.pressure, forces=forces, closed=closed
    )


def _of_peak(
    peak: Array,
    direct: Callable[[Array, float], ClosedCycle],
    ca50: Array,
    ca50_range: tuple[float, float],
) -> ClosedCycle:
    """The cycles that reach peak pressures (S,) [Pa], sought from CA50 (S,) [rad].

    direct: cycles of phasings and a step of crank angle.
    """
    for step in STEPS:
        miss = np.log(peak / direct(ca50, step).peak_pressure)
        ca50 = np.clip(ca50 - miss / FALL_WITH_CA50, *ca50_range)
    closed = direct(ca50, STEP)
    for _ in range(MORE_STEPS):
        miss = np.log(peak / closed.peak_pressure)
        far = np.abs(miss) > PEAK_MISS
        if not far.any():
            break
        ca50 = np.where(far, np.clip(ca50 - miss / FALL_WITH_CA50, *ca50_range), ca50)
        closed = direct(ca50, STEP)
    return closed


def one_lane(forces: RunningGearForces, lane: int) -> RunningGearForces:
    """The forces (T,) of one lane of forces (T, n)."""
    taken = {f.name: getattr(forces, f.name) for f in fields(forces)}
    return RunningGearForces(
        **{name: v if v.ndim == 1 else v[:, lane].copy() for name, v in taken.items()}
    )


def _scaled(angle: Array, pressure: Array, assessment: Assessment, k: int) -> tuple[Array, Array]:
    """The trace with the part above its mirrored compression scaled to the band of the peak."""
    before = np.interp(-np.abs(angle), angle, pressure)
    burning = np.where((angle > 0) & (angle < np.pi), np.maximum(pressure - before, 0.0), 0.0)
    top = int(np.argmax(pressure))
    base, added = pressure[top] - burning[top], max(float(burning[top]), 1.0)
    result = []
    for edge in (assessment.peak_pressure.p05[k], assessment.peak_pressure.p95[k]):
        factor = max((float(edge) - base) / added, 0.0)
        for _ in range(BAND_STEPS):
            trace = pressure - burning + burning * factor
            at = int(np.argmax(trace))
            if burning[at] <= 0 or abs(trace[at] / float(edge) - 1) <= BAND_MISS:
                break
            factor = max(factor + (float(edge) - trace[at]) / burning[at], 0.0)
        result.append(pressure - burning + burning * factor)
    return result[0], result[1]
