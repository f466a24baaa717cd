"""Rod bolts: balance of forces, limits fed back, the textbook's unpreloaded bolt."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.running_gear import rod_bolt

BOLT = {
    "preload": 40e3,
    "bolts": 2,
    "load_factor": 0.2,
    "stress_area": 50e-6,
    "proof_strength": 970e6,
}


def test_bolt_and_clamp_balance_the_opening_force():
    """Identity: tension - clamp = outside force per bolt, shut or open."""
    force = np.array([-20e3, 0.0, 50e3, 99e3, 100e3, 130e3])
    state = rod_bolt.rod_bolt_state(opening_force=force, **BOLT)
    assert state.bolt_load - state.clamp == pytest.approx(force / 2)
    assert state.clamp[-2:] == pytest.approx([0, 0], abs=1e-9)
    assert state.bolt_load[-1] == pytest.approx(65e3)


def test_separation_force_fed_back_is_one():
    """Round trip: 2 x 40 kN / (1 - 0.2) = 100 kN uses the joint up and leaves no clamp."""
    lift = rod_bolt.separation_force(preload=40e3, bolts=2, load_factor=0.2)
    assert lift == pytest.approx(100e3)
    state = rod_bolt.rod_bolt_state(opening_force=lift, **BOLT)
    assert state.opening_utilisation == pytest.approx(1)
    assert state.clamp == pytest.approx(0, abs=1e-9)


def test_strength_limit_fed_back_is_one():
    """Round trip: preload at proof load and no opening force uses the strength up."""
    state = rod_bolt.rod_bolt_state(opening_force=0.0, **(BOLT | {"preload": 970e6 * 50e-6}))
    assert state.strength_utilisation == pytest.approx(1)
    assert state.stress_amplitude == 0


def test_r3_textbook_bolt_without_preload():
    """[KMD] example 32.3 (numbers from memory): 9,490 N on two bolts at 60 MPa: core 10.04 mm.

    Digits: 10.04 ± 0.005 mm is ±0.1 % of area, 9,490 ± 5 N is ±0.05 %.
    """
    state = rod_bolt.rod_bolt_state(
        opening_force=9490.0,
        preload=1e-6,
        bolts=2,
        load_factor=0.0,
        stress_area=np.pi / 4 * 0.01004**2,
        proof_strength=60e6,
    )
    assert state.strength_utilisation == pytest.approx(1, abs=0.0015)


def test_amplitude_is_relieved_by_preload():
    """Identity: shut, only the load factor's share swings: 0.2 x 50 kN / 2 / 50 mm² / 2."""
    state = rod_bolt.rod_bolt_state(opening_force=50e3, **BOLT)
    assert state.stress_amplitude == pytest.approx(50e6)


def test_bad_bolts_are_refused():
    with pytest.raises(OutOfRangeError, match="load factor is 1, but must be 0 to below 1"):
        rod_bolt.separation_force(preload=40e3, bolts=2, load_factor=1.0)
    with pytest.raises(OutOfRangeError, match="preload is 0"):
        rod_bolt.separation_force(preload=0.0, bolts=2, load_factor=0.2)
