"""Small-end eye and cap: Kolchin's coefficients, Shigley's crane hook, rings of known moments."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.running_gear import rod_ends

DEGREE = np.pi / 180


@pytest.mark.parametrize("degrees", [90, 100, 110, 120, 130])
def test_eye_under_even_pressure_is_kolchins(degrees):
    """[KOLCHIN] ch. 13 (from memory): crown N = P (0.572 - 0.0008 φ), M = P r (0.00033 φ - 0.0297).

    His lines through a curve: within 0.012 of P and 0.005 of P r.
    """
    arc = rod_ends.fixed_arc(fixed_at=degrees * DEGREE, is_even=True)
    assert arc.hoop[0] == pytest.approx(0.572 - 0.0008 * degrees, abs=0.012)
    assert arc.moment[0] == pytest.approx(0.00033 * degrees - 0.0297, abs=0.005)


@pytest.mark.parametrize("is_even", [True, False])
def test_pressure_pulls_with_the_pull(is_even):
    """Identity: both legs carry half the pull at 90 degrees, however the pin presses."""
    arc = rod_ends.fixed_arc(fixed_at=120 * DEGREE, is_even=is_even)
    assert np.interp(90 * DEGREE, arc.angle, arc.hoop) == pytest.approx(0.5, abs=1e-5)


def test_pressure_on_a_section_by_quadrature():
    """Identity: the outside moment is the sum of the pressure above times its lever."""
    theta = 105 * DEGREE
    above = np.linspace(0.0, np.pi / 2, 4001)
    for is_even, pressure in ((True, 0.5 + 0 * above), (False, 2 / np.pi * np.cos(above))):
        wanted = np.trapezoid(pressure * np.sin(theta - above), above)
        found = rod_ends.outside_moment(np.array([theta]), is_even=is_even)
        assert found == pytest.approx(wanted, abs=1e-6)


def test_ends_of_an_arc_neither_turn_nor_move():
    """Castigliano: ∫M and ∫M cos θ vanish where it is fixed; drawing in freely, no side force."""
    fixed = rod_ends.fixed_arc(fixed_at=110 * DEGREE)
    for weight in (1.0, np.cos(fixed.angle)):
        assert np.trapezoid(fixed.moment * weight, fixed.angle) == pytest.approx(0, abs=1e-5)
    free = rod_ends.free_arc()
    assert np.trapezoid(free.moment, free.angle) == pytest.approx(0, abs=1e-5)
    side = free.hoop[0] - np.trapezoid(np.sin(2 * free.angle) / np.pi, free.angle)
    assert side == pytest.approx(0, abs=1e-5)


def test_crane_hook():
    """[SHIGLEY] example 3-15 (from memory): hook 0.75 in x 4 in, inner radius 2 in, 5,000 lbf on
    its centre line: 16.9 kpsi inside, -5.63 kpsi outside."""
    inner, outer = rod_ends.curved_bar_stress(
        force=5000.0, moment=-20000.0, inner_radius=2.0, thickness=4.0, width=0.75
    )
    assert inner == pytest.approx(16.9e3, abs=50)
    assert outer == pytest.approx(-5.63e3, abs=10)


def test_a_thin_bar_is_a_straight_one():
    """Limiting case: at a large radius the curved bar has σ = F/A ± 6 M / (b h²)."""
    inner, outer = rod_ends.curved_bar_stress(
        force=1000.0, moment=5.0, inner_radius=10.0, thickness=0.004, width=0.02
    )
    assert inner == pytest.approx(1000 / 8e-5 - 6 * 5 / (0.02 * 0.004**2), rel=1e-3)
    assert outer == pytest.approx(1000 / 8e-5 + 6 * 5 / (0.02 * 0.004**2), rel=1e-3)


def test_a_thicker_eye_bears_more():
    """Metamorphic: stress falls with wall and width, in proportion to the width."""
    arc = rod_ends.fixed_arc(fixed_at=rod_ends.EYE_FIXED_AT)
    wall = np.array([0.003, 0.004, 0.006])
    size = {"inner_radius": np.full(3, 0.0115), "width": np.full(3, 0.02)}
    stress = rod_ends.greatest_stress(arc, thickness=wall, **size)
    assert np.all(np.diff(stress) < 0)
    wide = rod_ends.greatest_stress(arc, thickness=wall, **(size | {"width": np.full(3, 0.04)}))
    assert wide == pytest.approx(stress / 2, rel=1e-12)


def test_bad_ends_are_refused():
    """Edge: an eye fixed above its sides and a bar of no thickness are refused."""
    with pytest.raises(OutOfRangeError, match="fixed at"):
        rod_ends.fixed_arc(fixed_at=1.0)
    with pytest.raises(OutOfRangeError, match="thickness is 0"):
        rod_ends.curved_bar_stress(
            force=1.0, moment=0.0, inner_radius=0.01, thickness=0.0, width=0.02
        )
