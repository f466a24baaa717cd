"""The meaning of a table between its breakpoints, and areas and times of a torque curve."""

import numpy as np
import pytest
from scipy.integrate import quad

from torquerisk.errors import InputError
from torquerisk.study.limit_curve.curve import (
    LinearMap,
    area_under_power,
    even_breakpoints,
    interpolated_limit,
    sweep_time,
)


def test_limit_is_linear_between_breakpoints_and_held_outside() -> None:
    """Identity: thirds of a line, and the end values beyond it."""
    limit = interpolated_limit([1000.0, 4000.0], [150.0, 300.0], [0.0, 2000.0, 3000.0, 9000.0])
    assert limit.tolist() == [150.0, 200.0, 250.0, 300.0]


def test_area_of_constant_torque() -> None:
    """Identity: T * (w2^2 - w1^2) / 2, whatever the grid and the band's ends."""
    grid = np.array([90.0, 200.0, 350.0, 700.0])
    area = area_under_power(grid, np.full(4, 250.0), (123.0, 456.0))
    assert area == pytest.approx(250.0 * (456.0**2 - 123.0**2) / 2.0, rel=1e-12)


def test_area_against_adaptive_quadrature() -> None:
    """Reference: adaptive Gauss-Kronrod quadrature (scipy.integrate.quad) cell by cell."""
    grid = np.array([100.0, 180.0, 300.0, 520.0, 700.0])
    torque = np.array([120.0, 300.0, 260.0, 310.0, 90.0])
    expected = sum(
        quad(lambda w: np.interp(w, grid, torque) * w, a, b)[0]
        for a, b in ((150.0, 180.0), (180.0, 300.0), (300.0, 520.0), (520.0, 610.0))
    )
    assert area_under_power(grid, torque, (150.0, 610.0)) == pytest.approx(expected, rel=1e-10)


def test_sweep_at_constant_torque() -> None:
    """Identity: t = J * (w2 - w1) / T."""
    time = sweep_time([0.0, 100.0, 500.0], np.full(3, 200.0), 3.0, (50.0, 450.0))
    assert time == pytest.approx(3.0 * 400.0 / 200.0, rel=1e-12)


def test_sweep_at_linear_torque() -> None:
    """Identity: t = J * (w2 - w1) * ln(T2 / T1) / (T2 - T1); here both sides of the switch between
    series and logarithm."""
    for end in (200.0 * 1.019, 200.0 * 1.021, 400.0, 20.0):
        time = sweep_time([100.0, 300.0], [200.0, end], 1.0, (100.0, 300.0))
        expected = 200.0 * np.log(end / 200.0) / (end - 200.0)
        assert time == pytest.approx(expected, rel=1e-11)


def test_sweep_against_adaptive_quadrature() -> None:
    """Reference: adaptive Gauss-Kronrod quadrature (scipy.integrate.quad)."""
    grid = np.array([1000.0, 2500.0, 4000.0, 7000.0])
    torque = np.array([120.0, 300.0, 280.0, 180.0])
    expected = sum(
        quad(lambda n: 0.5 / np.interp(n, grid, torque), a, b)[0]
        for a, b in ((1500.0, 2500.0), (2500.0, 4000.0), (4000.0, 6500.0))
    )
    assert sweep_time(grid, torque, 0.5, (1500.0, 6500.0)) == pytest.approx(expected, rel=1e-9)


def test_sweep_scales() -> None:
    """Metamorphic: torque times k and inertia times k leave the time alone."""
    grid, torque = np.array([100.0, 250.0, 600.0]), np.array([150.0, 320.0, 240.0])
    one = sweep_time(grid, torque, 0.4, (120.0, 580.0))
    assert sweep_time(grid, torque * 7.0, 2.8, (120.0, 580.0)) == pytest.approx(one, rel=1e-12)


@pytest.mark.parametrize(
    ("torque", "inertia", "band", "words"),
    [
        ([100.0, 0.0], 1.0, (0.0, 10.0), "torque is 0 N"),
        ([100.0, 50.0], 0.0, (0.0, 10.0), "inertia is 0"),
        ([100.0, 50.0], 1.0, (5.0, 5.0), "must run from a lower"),
        ([100.0, 50.0], 1.0, (0.0, 11.0), "keep the band within"),
    ],
)
def test_bad_sweeps_are_refused(
    torque: list[float], inertia: float, band: tuple[float, float], words: str
) -> None:
    """Identity: one sentence that names the input."""
    with pytest.raises(InputError, match=words):
        sweep_time([0.0, 10.0], torque, inertia, band)


def test_even_breakpoints_are_round_even_and_inside() -> None:
    """Identity: multiples of the step, strictly increasing, ends within the range."""
    points = even_breakpoints(1480.0, 7010.0, 16, 50.0)
    assert len(points) == 16
    assert points[0] == 1500.0
    assert points[-1] == 7000.0
    assert (points % 50.0 == 0.0).all()
    steps = np.diff(points)
    assert steps.min() >= 350.0
    assert steps.max() <= 400.0


def test_even_breakpoints_can_pass_through_a_speed() -> None:
    """Identity: the first multiple at or above the speed asked for is among them."""
    points = even_breakpoints(1500.0, 7000.0, 16, 50.0, through=4530.0)
    assert 4550.0 in points
    assert len(points) == 16
    assert (np.diff(points) > 0.0).all()


def test_as_many_breakpoints_as_multiples() -> None:
    """Identity: the limiting case, every multiple is used."""
    assert even_breakpoints(0.0, 5.0, 6, 1.0).tolist() == [0.0, 1.0, 2.0, 3.0, 4.0, 5.0]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((0.0, 5.0, 7, 1.0), "only 6 multiples"),
        ((0.0, 5.0, 1, 1.0), "at least 2"),
        ((5.0, 0.0, 3, 1.0), "low below high"),
        ((0.0, 5.0, 3, 0.0), "step above 0"),
    ],
)
def test_bad_breakpoints_are_refused(
    arguments: tuple[float, float, int, float], words: str
) -> None:
    """Identity: one sentence that says what to change."""
    with pytest.raises(InputError, match=words):
        even_breakpoints(*arguments)


def test_linear_map_is_numpys_and_its_transpose_gathers() -> None:
    """Identity: numpy.interp at points within and beyond; y . (A x) is x . (A^T y)."""
    knots = np.array([100.0, 180.0, 300.0, 520.0])
    at = np.array([90.0, 100.0, 150.0, 300.0, 410.0, 520.0, 600.0])
    value, weight = np.array([120.0, 300.0, 260.0, 310.0]), np.arange(1.0, 8.0)
    found = LinearMap.between(knots, at)
    assert found(value) == pytest.approx(np.interp(at, knots, value))
    assert weight @ found(value) == pytest.approx(value @ found.gathered(weight))
