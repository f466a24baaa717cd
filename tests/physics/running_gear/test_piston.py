"""Ring land: the book's constants against the plate that they stand for."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.running_gear.piston import RING_LAND_STRESS, ring_land_stress


def test_ring_land_by_hand():
    """[KOLCHIN] ch. 11 (from memory), example 78 mm bore, 3.5 mm land, 6.2 MPa: bending 13.9 and
    shear 4.34 MPa, together 16.4 MPa, half of what is allowed."""
    found = ring_land_stress(peak_pressure=6.195e6, bore=0.078, land_height=0.0035)
    assert found == pytest.approx(np.hypot(13.85e6, 2 * 4.335e6), rel=2e-3)
    assert found < RING_LAND_STRESS[0]


def test_ring_land_is_a_plate_on_its_root():
    """Identity: 0.9 - 0.22 of the pressure on a ledge a twentieth of the bore deep, as a cantilever
    of unit width, 3 p l²/h², and in shear p l / h: the book's constants within a fifth."""
    share, depth = 0.9 - 0.22, 0.05
    assert 3 * share * depth**2 == pytest.approx(0.0045, rel=0.2)
    assert share * depth == pytest.approx(0.0314, rel=0.2)


def test_bad_lands_are_refused():
    """Edge: a land of no height is none."""
    with pytest.raises(OutOfRangeError, match="land height is 0"):
        ring_land_stress(peak_pressure=6e6, bore=0.08, land_height=0.0)
