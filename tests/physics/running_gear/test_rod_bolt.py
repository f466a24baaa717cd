"""Rod bolts: balance of forces, limits fed back, the textbook's unpreloaded bolt."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.running_gear import rod_bolt

JOINT = {"bolts": 2, "load_factor": 0.2, "prying": 1.0}


def test_bolt_and_clamp_balance_the_opening_force():
    """Identity: pulled in its middle, tension less clamp is the outside force, shut or open."""
    force = np.array([-20e3, 0.0, 50e3, 99e3, 100e3, 130e3])
    tension = rod_bolt.bolt_load(opening_force=force, preload=40e3, **JOINT)
    clamp = np.maximum(40e3 - 0.8 * force / 2, 0.0)
    assert tension - clamp == pytest.approx(force / 2)
    assert tension[-1] == pytest.approx(65e3)


@pytest.mark.parametrize("prying", [1.0, 1.4])
def test_separation_force_fed_back_opens(prying):
    """Round trip: at n F_V / (k (1 - Φ)) the bolt's load shut is its load open."""
    joint = JOINT | {"prying": prying}
    lift = rod_bolt.separation_force(clamp=40e3, **joint)
    assert lift == pytest.approx(100e3 / prying)
    at_lift = rod_bolt.bolt_load(opening_force=lift, preload=40e3, **joint)
    assert at_lift == pytest.approx(40e3 / 0.8)
    beyond = rod_bolt.bolt_load(opening_force=2 * lift, preload=40e3, **joint)
    assert beyond == pytest.approx(2 * at_lift)


def test_r3_textbook_bolt_without_preload():
    """[KMD] example 32.3 (numbers from memory): 9,490 N on two bolts at 60 MPa: core 10.04 mm.

    Digits: 10.04 ± 0.005 mm is ±0.1 % of area, 9,490 ± 5 N is ±0.05 %.
    """
    tension = rod_bolt.bolt_load(
        opening_force=9490.0, preload=1e-6, bolts=2, load_factor=0.0, prying=1.0
    )
    assert tension / (np.pi / 4 * 0.01004**2) == pytest.approx(60e6, rel=0.0015)


def test_crush_is_the_hoop_of_a_thin_ring():
    """Identity: contact pressure over half the bore, by quadrature of its share along the axis."""
    angle = np.linspace(0.0, np.pi, 2001)
    both = np.trapezoid(8e6 * np.sin(angle) * 0.025 * 0.02, angle)
    found = rod_bolt.crush_force(contact_pressure=8e6, diameter=0.05, width=0.02)
    assert 2 * found == pytest.approx(both, rel=1e-6)


def test_stretch_tells_preload():
    """Identity (Hooke): 207 GPa, 39.2 mm² over 40 mm, 0.15 mm longer: 30.4 kN; half for twice the
    length."""
    bolt = {"stretch": 0.15e-3, "area": 39.2e-6, "elastic_modulus": 207e9}
    found = rod_bolt.preload_from_stretch(length=np.array([0.04, 0.08]), **bolt)
    assert found == pytest.approx([30429, 15214.5])


def test_bad_bolts_are_refused():
    """Edge: a load factor of 1, a preload of 0 and prying below 1 are no joint."""
    with pytest.raises(OutOfRangeError, match="load factor is 1, but must be 0 to below 1"):
        rod_bolt.separation_force(clamp=40e3, bolts=2, load_factor=1.0, prying=1.0)
    with pytest.raises(OutOfRangeError, match="preload is 0"):
        rod_bolt.bolt_load(opening_force=1.0, preload=0.0, **JOINT)
    with pytest.raises(OutOfRangeError, match=r"prying is 0\.5"):
        rod_bolt.separation_force(clamp=40e3, bolts=2, load_factor=0.2, prying=0.5)
