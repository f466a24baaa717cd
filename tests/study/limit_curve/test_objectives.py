"""What a table is worth, against integrals done by hand."""

import numpy as np
import pytest

from torquerisk.study.limit_curve.objectives import ShortestSweep

SPEED = np.linspace(200.0, 600.0, 41)
BAND = (215.0, 555.0)


def sweep(reach: float = np.inf) -> ShortestSweep:
    return ShortestSweep.over(SPEED, np.full(41, reach), BAND, floor=1.0)


def test_sweep_time_at_one_torque() -> None:
    """Identity: one unit of inertia takes (change of speed)/torque; more than reach helps none."""
    level = np.full(41, 250.0)
    assert sweep().cost(level) == pytest.approx(340.0 / 250.0, rel=1e-12)
    assert sweep(reach=200.0).cost(level) == pytest.approx(340.0 / 200.0, rel=1e-12)
    assert sweep().by_speed(level).sum() == pytest.approx(340.0 / 250.0, rel=1e-12)


def test_sweep_time_of_a_straight_line() -> None:
    """Identity: the integral of 1/(a + b w) is ln(T2/T1)/b."""
    torque = 100.0 + 0.5 * SPEED
    first, last = 100.0 + 0.5 * np.array(BAND)
    assert sweep().cost(torque) == pytest.approx(np.log(last / first) / 0.5, rel=1e-9)


def test_below_the_floor_the_tangent_goes_on() -> None:
    """Identity: 1/T at the floor f, continued with slope -1/f^2: 2/f at 0, 1.5/f at half."""
    for torque, inverse in ((0.0, 2.0), (0.5, 1.5), (1.0, 1.0)):
        assert sweep().cost(np.full(41, torque)) == pytest.approx(340.0 * inverse, rel=1e-12)
