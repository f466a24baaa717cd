import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.head_joint.compliance import FastenerEnd
from torquerisk.physics.head_joint.head_fastener import head_fastener_compliances
from torquerisk.physics.head_joint.screw_thread import screw_thread

M11 = {
    "thread": screw_thread("M11x1.5"),
    "clamped_length": 0.100,
    "shank_diameter": 0.010,
    "fastener_modulus": 205e9,
    "head_modulus": 72e9,
    "block_modulus": 72e9,
}


def test_stud_is_near_a_plain_rod():
    """Derived: an M11 rod of 110 mm on its stress area is 7.42e-9 m/N, within 10 %."""
    fastener, members = head_fastener_compliances(**M11)
    assert fastener == pytest.approx(0.110 / (72.3e-6 * 205e9), rel=0.1)
    assert members < fastener


def test_broadcasts_over_draws_and_moves_the_right_way():
    """Metamorphic: longer or thinner is softer; stiffer or wider parts give less."""
    length = np.linspace(0.06, 0.14, 5)
    fastener, members = head_fastener_compliances(**M11 | {"clamped_length": length})
    assert fastener.shape == members.shape == (5,)
    assert np.all(np.diff(fastener) > 0)
    thin, _ = head_fastener_compliances(**M11 | {"shank_diameter": np.array([0.011, 0.010, 0.009])})
    assert np.all(np.diff(thin) > 0)
    _, wide = head_fastener_compliances(
        **M11, surrounding_diameter=np.array([0.025, 0.0333, 0.050])
    )
    assert np.all(np.diff(wide) < 0)
    _, stiff = head_fastener_compliances(**M11 | {"head_modulus": np.array([72e9, 105e9])})
    assert stiff[0] / stiff[1] == pytest.approx(105 / 72)
    nut, _ = head_fastener_compliances(**M11, top=FastenerEnd.NUT)
    assert nut > head_fastener_compliances(**M11)[0]


def test_column_of_head_material_is_a_soft_assumption():
    """Regression: our own output: 1.5 or 3 faces for 2 move delta_P by about +70 or -40 %."""
    face = M11["thread"].bearing_outer_diameter
    _, members = head_fastener_compliances(**M11, surrounding_diameter=face * np.array([1.5, 2, 3]))
    np.testing.assert_allclose(members / members[1], [1.72, 1.0, 0.60], atol=0.01)


def test_too_short_a_grip_is_refused():
    """Edge: a grip shorter than the free thread and a little shank makes no head joint."""
    with pytest.raises(OutOfRangeError, match="clamped_length"):
        head_fastener_compliances(**M11 | {"clamped_length": 0.012})
