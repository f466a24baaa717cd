"""Piston pin: the textbook pin, beam and ring solutions worked independently."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.running_gear import piston_pin


def test_bending_is_the_textbook_moment():
    """[KMD] ch. 32: with the bosses' middles (D + l)/2 apart the moment is F D / 8."""
    piston, bush = 0.1, 0.045
    stress = piston_pin.pin_bending_stress(
        force=39270.0,
        pin_diameter=0.035,
        pin_bore=0.6 * 0.035,
        boss_span=(piston + bush) / 2,
        bush_length=bush,
    )
    second_moment = np.pi / 64 * 0.035**4 * (1 - 0.6**4)
    assert stress == pytest.approx(39270 * piston / 8 * 0.0175 / second_moment, rel=1e-12)


def test_bending_by_summing_the_beam():
    """Identity: moment at the middle from support force and even load, summed numerically."""
    force, span, bush = 40e3, 0.042, 0.024
    x = np.linspace(0, bush / 2, 10_001)
    moment = force / 2 * span / 2 - np.trapezoid(force / bush * x, x)
    stress = piston_pin.pin_bending_stress(
        force=force, pin_diameter=0.022, pin_bore=0.0, boss_span=span, bush_length=bush
    )
    assert stress == pytest.approx(32 * moment / (np.pi * 0.022**3), rel=1e-6)


def test_ovalisation_is_half_as_much_again_as_a_thin_ring():
    """Identity: thin ring under |cos| loads by Fourier series, against [KOLCHIN]'s 0.09 x 1.5.

    Radial load p_n cos nψ moves a thin ring by p_n R⁴ / (E I (n² - 1)²) cos nψ. The ring's
    constant, 0.0909, is 0.09 as printed; the empirical factor at α = 0.4 is 1.5.
    """
    outer, ratio, length, modulus, force = 0.022, 0.4, 0.06, 206e9, 40e3
    radius, wall = outer * (1 + ratio) / 4, outer * (1 - ratio) / 2
    stiffness = modulus * wall**3 / 12
    peak = 2 * force / (np.pi * radius * length)
    growth = 0.0
    for n in range(2, 40, 2):
        load = peak * 4 / np.pi * (-1) ** (n // 2 + 1) / (n**2 - 1)
        inward = load * radius**4 / (stiffness * (n**2 - 1) ** 2) * np.cos(n * np.pi / 2)
        growth -= 2 * inward
    slimness = ((1 + ratio) / (1 - ratio)) ** 3 * force / (modulus * length)
    assert growth / slimness == pytest.approx(0.09, abs=0.005)
    got = piston_pin.pin_ovalisation(
        force=force,
        pin_diameter=outer,
        pin_bore=ratio * outer,
        pin_length=length,
        elastic_modulus=modulus,
    )
    assert got == pytest.approx(1.5 * 0.09 * slimness, rel=1e-9)


def test_ovalisation_outside_its_range_is_refused():
    pin = {"force": 1e4, "pin_diameter": 0.02, "pin_length": 0.06, "elastic_modulus": 206e9}
    with pytest.raises(OutOfRangeError, match=r"pin bore / pin diameter is 0\.3"):
        piston_pin.pin_ovalisation(pin_bore=0.006, **pin)
