import numpy as np
import pytest
from oracles.kinematics import volume_rate

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.cylinder.geometry import (
    CylinderGeometry,
    clearance_volume,
    cylinder_volume,
    swept_volume,
    wall_area,
)

SQUARE = CylinderGeometry(bore=0.086, stroke=0.086, rod_length=0.143, compression_ratio=9.5)
OFFSET = CylinderGeometry(
    bore=0.086, stroke=0.086, rod_length=0.143, compression_ratio=9.5, pin_offset=0.008
)


def test_swept_volume_of_a_published_cylinder():
    """Worked problem, cylinder.md 1a (bore 85, stroke 97 mm): 0.5504 dm3 as printed."""
    geometry = CylinderGeometry(bore=0.085, stroke=0.097, rod_length=0.15, compression_ratio=10.0)
    assert swept_volume(geometry) * 1e3 == pytest.approx(0.5504, abs=5e-5)


def test_piston_travel_at_a_right_angle():
    """Check value recomputed from the exact formula, S 86 mm, L 143 mm: 49.618 mm."""
    area = np.pi / 4 * 0.086**2
    travel = (cylinder_volume(np.pi / 2, SQUARE) - clearance_volume(SQUARE)) / area
    assert travel == pytest.approx(49.618e-3, abs=5e-7)


@pytest.mark.parametrize("geometry", [SQUARE, OFFSET])
def test_ratio_of_extreme_volumes_is_the_compression_ratio(geometry):
    """Identity: largest over smallest volume is r_c, also with an offset cylinder axis."""
    volume = cylinder_volume(np.linspace(-np.pi, np.pi, 200_001), geometry)
    assert volume.max() / volume.min() == pytest.approx(9.5, rel=1e-8)
    assert volume.max() - volume.min() == pytest.approx(swept_volume(geometry), rel=1e-8)


def test_offset_piston_position_from_plane_geometry():
    """Identity: with an offset the rod still spans crank pin and piston pin."""
    theta, half, offset = 0.7, 0.043, 0.008
    top = np.arcsin(offset / (0.143 + half))
    pin = half * np.array([np.sin(theta + top), np.cos(theta + top)])
    highest = np.sqrt((0.143 + half) ** 2 - offset**2)
    area = np.pi / 4 * 0.086**2
    travel = (cylinder_volume(theta, OFFSET) - clearance_volume(OFFSET)) / area
    assert np.hypot(pin[0] - offset, highest - travel - pin[1]) == pytest.approx(0.143, rel=1e-12)


@pytest.mark.parametrize("geometry", [SQUARE, OFFSET])
def test_volume_rate_is_the_derivative(geometry):
    """Identity: central difference of the volume."""
    angle = np.linspace(-3, 3, 41)
    slope = (
        cylinder_volume(angle + 1e-5, geometry) - cylinder_volume(angle - 1e-5, geometry)
    ) / 2e-5
    assert np.allclose(
        volume_rate(angle, geometry), slope, rtol=0, atol=1e-9 * swept_volume(geometry) * 10
    )


def test_long_rod_gives_harmonic_motion():
    """Limiting case: an endless rod gives V/V1 = [1 + (r - 1)(1 - cos)/2]/r."""
    geometry = CylinderGeometry(bore=0.1, stroke=0.1, rod_length=1e7, compression_ratio=10.0)
    angle = np.linspace(-np.pi, np.pi, 73)
    expected = (1 + 9 * (1 - np.cos(angle)) / 2) / 10 * cylinder_volume(np.pi, geometry)
    assert np.allclose(cylinder_volume(angle, geometry), expected, rtol=1e-7)


def test_wall_area_of_a_plain_cylinder():
    """Identity: two discs and the shell of height 4V/(pi B2)."""
    volume = 3e-4
    height = volume / (np.pi / 4 * 0.086**2)
    expected = 2 * np.pi / 4 * 0.086**2 + np.pi * 0.086 * height
    assert wall_area(volume, SQUARE) == pytest.approx(expected, rel=1e-12)


def test_lanes_of_compression_ratio():
    """Identity: an array of ratios gives the same numbers as each alone."""
    ratios = np.array([8.0, 12.0, 20.0])
    together = cylinder_volume(
        np.array([[0.0], [1.0]]),
        CylinderGeometry(bore=0.08, stroke=0.09, rod_length=0.15, compression_ratio=ratios),
    )
    for lane, ratio in enumerate(ratios):
        alone = CylinderGeometry(bore=0.08, stroke=0.09, rod_length=0.15, compression_ratio=ratio)
        assert together[1, lane] == pytest.approx(cylinder_volume(1.0, alone), rel=1e-14)


@pytest.mark.parametrize(
    ("name", "value"),
    [("bore", 0.0), ("stroke", -1.0), ("compression_ratio", 1.0), ("rod_length", 0.03)],
)
def test_impossible_sizes_are_refused(name, value):
    """Identity: an error names what is wrong."""
    sizes = {"bore": 0.086, "stroke": 0.086, "rod_length": 0.143, "compression_ratio": 9.5}
    with pytest.raises(OutOfRangeError, match=name):
        CylinderGeometry(**{**sizes, name: value})
