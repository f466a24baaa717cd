"""What a joint loses after tightening, against the standard's table."""

import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.head_joint.preload_loss import Roughness, embedding


@pytest.mark.parametrize(
    ("roughness", "thread", "face", "inner"),
    [
        (Roughness.FINE, 3.0, 2.5, 1.5),
        (Roughness.MEDIUM, 3.0, 3.0, 2.0),
        (Roughness.ROUGH, 3.0, 4.0, 3.0),
    ],
)
def test_embedding_of_each_surface(roughness, thread, face, inner):
    """[VDI2230] table 5, axial load, from memory: thread, each face, each inner interface [um]."""
    count = {"threads": 0, "bearing_faces": 0}
    assert embedding(roughness, threads=1, bearing_faces=0) * 1e6 == pytest.approx(thread)
    assert embedding(roughness, threads=0, bearing_faces=1) * 1e6 == pytest.approx(face)
    assert embedding(roughness, inner_interfaces=1, **count) * 1e6 == pytest.approx(inner)
    whole = embedding(roughness, bearing_faces=2, inner_interfaces=3)
    assert whole * 1e6 == pytest.approx(thread + 2 * face + 3 * inner)


def test_less_than_no_surface_is_refused():
    """Edge: a count below 0 is named."""
    with pytest.raises(OutOfRangeError, match="inner_interfaces"):
        embedding(Roughness.FINE, inner_interfaces=-1)
