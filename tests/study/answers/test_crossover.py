"""Where inertia overtakes gas force on a run's own peak pressures."""

import numpy as np
import pytest

from torquerisk.case import Engine
from torquerisk.physics.running_gear.forces import running_gear_forces
from torquerisk.quantities import RPM
from torquerisk.study.answers.crossover import Crossover, crossover, equal_extremes, gas_relief
from torquerisk.study.strengths.running_gear import CRANKCASE_PRESSURE

SPEED = np.array([2000.0, 4000.0, 6000.0, 8000.0, 11000.0]) * RPM
PRESSURE = np.array([70e5, 90e5, 80e5, 55e5, 30e5])
ANGLE = np.radians([16.0, 15.0, 13.0, 12.0, 11.0])


@pytest.fixture
def heavy(plain_engine: Engine) -> Engine:
    """The plain engine with a heavy piston of given mass and a rod of given mass."""
    return plain_engine.with_values(
        {
            "running_gear.piston_mass": 0.6,
            "running_gear.rod_mass": 0.7,
            "running_gear.rod_big_end_share": 0.7,
        }
    )


def _rod_forces(engine: Engine, speed: float) -> tuple[float, float]:
    """Force along the rod at peak pressure and at overlap, by the full force calculation."""
    pressure = float(np.interp(speed, SPEED, PRESSURE))
    angle = float(np.interp(speed, SPEED, ANGLE))
    forces = running_gear_forces(
        angle=np.array([angle, 2 * np.pi]),
        pressure=np.array([pressure, CRANKCASE_PRESSURE]),
        angular_speed=speed,
        bore=engine.bore,
        crank_radius=engine.stroke / 2,
        rod_length=engine.rod_length,
        piston_mass=0.6,
        rod_mass=0.7,
        big_end_share=0.7,
        crankcase_pressure=CRANKCASE_PRESSURE,
    )
    return float(forces.rod_link[0]), float(forces.rod_link[1])


def test_pull_equals_push_at_the_speed_found(heavy: Engine) -> None:
    """identity: both forces along the rod, evaluated at the speed found, are of equal size."""
    found = crossover(equal_extremes(heavy), SPEED, PRESSURE, ANGLE)
    assert len(found.speeds) == 1
    push, pull = _rod_forces(heavy, found.speeds[0])
    assert push > 0
    assert -pull == pytest.approx(push, rel=1e-6)
    assert not found.from_the_start
    below, above = (_rod_forces(heavy, v * found.speeds[0]) for v in (0.95, 1.05))
    assert below[0] > -below[1]
    assert above[0] < -above[1]


def test_no_push_is_left_at_the_speed_found(heavy: Engine) -> None:
    """identity: force along the rod at peak pressure is nothing at the speed of relief."""
    found = crossover(gas_relief(heavy), SPEED, PRESSURE, ANGLE)
    assert len(found.speeds) == 1
    push, _ = _rod_forces(heavy, found.speeds[0])
    assert abs(push) < 1e-6 * _rod_forces(heavy, SPEED[0])[0]
    assert found.speeds[0] > crossover(equal_extremes(heavy), SPEED, PRESSURE, ANGLE).speeds[0]


def _simple(pressure: list[float]) -> Crossover:
    """A balance whose speed is the pressure itself, over speeds 1, 2, 3, 4."""
    speed = np.array([1.0, 2.0, 3.0, 4.0])
    return crossover(lambda p, _: p, speed, np.array(pressure), np.zeros(4))


def test_a_curve_that_is_never_met_tells_the_balance_at_its_ends() -> None:
    """identity: without a crossing, the balance at first and last row and which side it is on."""
    above = _simple([9.0, 9.0, 8.0, 7.0])
    assert above.speeds == ()
    assert not above.from_the_start
    assert (above.at_first, above.at_last) == pytest.approx((9, 7))
    below = _simple([0.5, 0.5, 0.5, 0.4])
    assert below.speeds == ()
    assert below.from_the_start
    assert (below.at_first, below.at_last) == pytest.approx((0.5, 0.4))


def test_every_crossing_counts_and_only_upwards() -> None:
    """identity: speed v against 4 - 2(v - 1), then up again, then down: 2 rising crossings."""
    found = _simple([2.0, 1.0, 5.0, 3.0])
    # 2 - (v - 1) = v at 1.5; then 1 + 4 (v - 2) = v falls at 7/3; then 5 - 2 (v - 3) = v at 11/3.
    assert found.speeds == pytest.approx((1.5, 11 / 3))
