import pytest

from torquerisk.physics.cylinder import heat_loss


def test_woschni_check_value():
    """Woschni as printed by Heywood eq. 12.19 (recomputed): B 0.1 m, 5 MPa, 2000 K, w 20 m/s."""
    assert heat_loss.woschni_coefficient(0.1, 5e6, 2000.0, 20.0) == pytest.approx(790.0, abs=0.05)


def test_hohenberg_check_value():
    """Hohenberg SAE 790825 (recomputed): V 1e-4 m3, 50 bar, 2000 K, S_p 10 m/s."""
    assert heat_loss.hohenberg_coefficient(1e-4, 5e6, 2000.0, 10.0) == pytest.approx(
        1730.7, abs=0.05
    )


def test_woschni_velocity():
    """Identity: 2.28 S_p when motored; the combustion term is linear in the pressure excess."""
    assert heat_loss.woschni_velocity(10.0, 1e-3, 4e6, 4e6) == pytest.approx(22.8)
    assert heat_loss.woschni_velocity(10.0, 1e-3, 5e6, 4e6) == pytest.approx(22.8 + 3.24)
