"""One direct cycle of the median engine at a speed: pressure and forces over the whole cycle."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.physics.cylinder.closed_cycle import ClosedCycle, closed_cycle_at_imep
from torquerisk.physics.running_gear.cycle import cycle_pressure
from torquerisk.physics.running_gear.forces import RunningGearForces, running_gear_forces
from torquerisk.study import cylinder, manifold
from torquerisk.study.assessment import Assessment
from torquerisk.study.demand import cylinder_spec
from torquerisk.study.gear_capacity import CAP_SHARE, CRANKCASE_PRESSURE

Array = npt.NDArray[np.float64]

FALL_WITH_CA50 = 0.02 / cylinder.DEG
"""Relative fall of peak pressure at equal torque by CA50 [1/rad], to step along."""
PHASING_STEPS = 2


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


def median_cycle(assessment: Assessment, speed_index: int) -> MedianCycle:
    """Direct cycle and forces of the median engine at one speed of the grid.

    Peak pressure bends with what varies, so its median is not quite that of the median inputs: CA50
    is moved, by about a degree at most, until both agree.
    The band scales the part of the trace that burning adds over motored compression, so that the
    peaks reach the 5 and 95 % points of peak pressure; it is drawn, not computed cycle by cycle.
    """
    engine, state = assessment.engine, assessment.model.operating
    k = speed_index
    spec = cylinder_spec(engine, state.ethanol_share, float(state.speed.max()))
    speed, imep = float(assessment.speed[k]), float(assessment.imep_gross[k])
    ca50, lambda_ = float(assessment.ca50.p50[k]), float(state.lambda_[k])
    lambda_ = float(np.clip(lambda_, *spec.lambda_range))
    one = np.ones(1)
    at_intake, at_exhaust = manifold.pressures(engine, state, assessment.bmep[k : k + 1])
    intake, exhaust = float(at_intake[k, 0]), float(at_exhaust[k, 0])

    def direct(phasing: float) -> ClosedCycle:
        at, lam = phasing * one, lambda_ * one
        inputs = cylinder.cycle_inputs(
            spec,
            speed=speed,
            ca50=at,
            duration=cylinder.burn_duration(spec, np.asarray(speed), imep * one, lam, at),
            lambda_=lam,
            trapped_temperature=float(state.intake_temperature[k])
            + engine.value("charge.trapped_heating").value,
            heat_loss_scale=engine.value("charge.heat_loss_scale").value,
            exhaust_pressure=exhaust,
        )
        return closed_cycle_at_imep(inputs, imep)

    closed = direct(ca50)
    for _ in range(PHASING_STEPS):
        miss = np.log(assessment.peak_pressure.p50[k] / float(closed.peak_pressure[0]))
        ca50 = float(np.clip(ca50 - miss / FALL_WITH_CA50, *spec.ca50_range))
        closed = direct(ca50)
    whole = cycle_pressure(
        closed_angle=closed.angle,
        closed_pressure=closed.pressure[:, 0],
        intake_pressure=intake,
        exhaust_pressure=exhaust,
    )
    gear = {
        name: engine.value(f"running_gear.{name}").value
        for name in ("piston_mass", "rod_mass", "rod_big_end_share")
    }
    forces = running_gear_forces(
        angle=whole.angle,
        pressure=whole.pressure,
        angular_speed=speed,
        bore=engine.bore,
        crank_radius=engine.stroke / 2,
        rod_length=engine.rod_length,
        pin_offset=engine.value("pin_offset").value,
        piston_mass=gear["piston_mass"],
        rod_mass=gear["rod_mass"],
        big_end_share=gear["rod_big_end_share"],
        rod_inertia=engine.given("running_gear.rod_inertia"),
        cap_mass=CAP_SHARE * gear["rod_mass"],
        crankcase_pressure=CRANKCASE_PRESSURE,
    )
    low, high = _scaled(whole.angle, whole.pressure, assessment, k)
    return MedianCycle(
        speed=speed,
        angle=whole.angle,
        pressure=whole.pressure,
        pressure_low=low,
        pressure_high=high,
        forces=forces,
        closed=closed,
    )


def _scaled(angle: Array, pressure: Array, assessment: Assessment, k: int) -> tuple[Array, Array]:
    """The trace with the part above its mirrored compression scaled to the band of the peak."""
    before = np.interp(-np.abs(angle), angle, pressure)
    burning = np.where((angle > 0) & (angle < np.pi), np.maximum(pressure - before, 0.0), 0.0)
    top = int(np.argmax(pressure))
    base, added = pressure[top] - burning[top], max(float(burning[top]), 1.0)
    result = []
    for edge in (assessment.peak_pressure.p05[k], assessment.peak_pressure.p95[k]):
        result.append(pressure - burning + burning * max((float(edge) - base) / added, 0.0))
    return result[0], result[1]
