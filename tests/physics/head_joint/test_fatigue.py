import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.head_joint.fatigue import amplitude_limit_vdi2230


@pytest.mark.parametrize(("diameter_mm", "printed"), [(10, 51.0), (12, 48.9)])
def test_amplitude_limit_vdi2230(diameter_mm, printed):
    """VDI 2230, 0.85 (150/d + 45), printed in secondary excerpts: M10 51.0, M12 48.9 MPa."""
    assert amplitude_limit_vdi2230(diameter_mm * 1e-3) / 1e6 == pytest.approx(printed, abs=0.06)


def test_amplitude_limit_falls_with_size():
    """VDI 2230 5.5.3, from memory: M8 54.2, M11 49.8, M14 47.4 MPa."""
    limits = amplitude_limit_vdi2230(np.array([8e-3, 11e-3, 14e-3]))
    np.testing.assert_allclose(limits / 1e6, [54.2, 49.8, 47.4], atol=0.06)


def test_the_two_philosophies_differ_by_about_three():
    """Shigley Table 8-17 over VDI 2230: 2.5 to 4 times; hence they are never mixed."""
    limit = amplitude_limit_vdi2230(0.010)
    for endurance in (129e6, 140e6, 162e6, 190e6):
        assert 2.5 <= endurance / limit <= 4.0


def test_bad_input_is_refused_by_name():
    """Edge: a diameter in mm."""
    with pytest.raises(OutOfRangeError, match="nominal_diameter"):
        amplitude_limit_vdi2230(10.0)
