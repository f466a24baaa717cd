"""The whole-cycle pressure trace, extremes over it and crossover speeds."""

import numpy as np
import pytest

from torquerisk.errors import InputError, OutOfRangeError
from torquerisk.physics.running_gear import cycle, forces

GEOMETRY = {"crank_radius": 0.043, "rod_length": 0.143}
GAS = GEOMETRY | {"bore": 0.086, "crankcase_pressure": 1e5}


def test_whole_trace_keeps_the_closed_part_and_fills_the_rest():
    """Identity: closed part unchanged at its own angles, manifold pressures elsewhere."""
    closed = np.radians(np.arange(-180, 181))
    p = 2e5 + 50e5 * np.exp(-((closed - 0.2) ** 2) / 0.1)
    whole = cycle.cycle_pressure(
        closed_angle=closed, closed_pressure=p, intake_pressure=1.5e5, exhaust_pressure=1.9e5
    )
    assert whole.angle[[0, -1]] == pytest.approx([-2 * np.pi, 2 * np.pi])
    assert whole.pressure[180:541] == pytest.approx(p, rel=1e-9)
    assert (whole.pressure[:180] == 1.5e5).all()
    assert (whole.pressure[541:] == 1.9e5).all()


def test_short_closed_part_runs_straight_to_the_manifold_pressures():
    """Identity: half way between exhaust opening and bottom dead centre, half the blowdown."""
    closed = np.radians(np.linspace(-140, 120, 261))
    p = np.stack([np.full(261, 4e5), np.full(261, 6e5)], axis=1)
    whole = cycle.cycle_pressure(
        closed_angle=closed,
        closed_pressure=p,
        intake_pressure=np.array([1e5, 2e5]),
        exhaust_pressure=2e5,
    )
    assert whole.pressure.shape == (721, 2)
    assert whole.pressure[360 + 150] == pytest.approx([3e5, 4e5])
    assert whole.pressure[360 - 160] == pytest.approx([2.5e5, 4e5])


def test_extremes_of_a_known_wave():
    """Identity: 3 cos θ + 1 is largest (4) at 0 and smallest (-2) at ±π."""
    angle = np.radians(np.arange(-360, 361))
    found = cycle.extremes(angle=angle, force=np.stack([3 * np.cos(angle) + 1, angle * 0 + 5]).T)
    assert found.compression == pytest.approx([4, 5])
    assert found.tension == pytest.approx([2, 0])
    assert np.abs(found.tension_angle[0]) == pytest.approx(np.pi)


def test_crossover_speeds_fed_back_give_equal_forces():
    """Round trip: at the returned speeds the full force calculation shows the balance."""
    common = GAS | {"peak_pressure": 90e5, "peak_angle": np.radians(14), "moving_mass": 0.60}
    relief = cycle.speed_of_gas_relief(**common)
    equal = cycle.speed_of_equal_extremes(overlap_pressure=1.8e5, **common)
    assert relief > equal
    engine = GAS | {"piston_mass": 0.42, "rod_mass": 0.6, "big_end_share": 0.7}
    at = {"angle": np.radians([14.0, 360.0]), "pressure": np.array([90e5, 1.8e5])}
    balanced = forces.running_gear_forces(angular_speed=relief, **at, **engine)
    assert balanced.rod_link[0] == pytest.approx(0, abs=1e-6)
    same = forces.running_gear_forces(angular_speed=equal, **at, **engine)
    assert same.rod_link[0] == pytest.approx(-same.rod_link[1], rel=1e-9)


def test_bad_traces_are_refused():
    good = {"intake_pressure": 1e5, "exhaust_pressure": 1e5}
    with pytest.raises(OutOfRangeError, match="closed angle is 4"):
        cycle.cycle_pressure(closed_angle=np.array([0.0, 4.0]), closed_pressure=np.ones(2), **good)
    with pytest.raises(OutOfRangeError, match="rising"):
        cycle.cycle_pressure(closed_angle=np.array([1.0, 0.0]), closed_pressure=np.ones(2), **good)
    with pytest.raises(InputError, match="closed pressure has shape"):
        cycle.cycle_pressure(closed_angle=np.array([0.0, 1.0]), closed_pressure=np.ones(3), **good)
    with pytest.raises(InputError, match="steps is 10"):
        cycle.cycle_pressure(
            closed_angle=np.array([0.0, 1.0]), closed_pressure=np.ones(2), steps=10, **good
        )
