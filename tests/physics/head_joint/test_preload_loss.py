"""What a joint loses after tightening, against the standard's table."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.head_joint.preload_loss import (
    embedding,
    preload_cold_again,
    preload_in_service,
    preload_loss_embedding,
)


def test_what_embedding_costs():
    """[VDI2230] R4, from memory: Rz 10 to 40 um, thread 3, head 3, one interface 2: 8 um, 1 kN."""
    assert embedding(inner_interfaces=1) == pytest.approx(8e-6)
    assert embedding(threads=2, inner_interfaces=1) == pytest.approx(11e-6)
    loss = preload_loss_embedding(8e-6, fastener_compliance=7e-9, member_compliance=1e-9)
    assert loss == pytest.approx(1000.0)


def test_preload_in_service_by_hand():
    """[VDI2230] R4 and R5: 50 kN less 7 %, less 1.2 and 3 kN; never below 0 nor above yield."""
    losses = {"embedding_loss": 1.2e3, "gasket_relaxation": 0.07, "thermal_change": -3e3}
    assert preload_in_service(50e3, **losses) == pytest.approx(46.5e3 - 4.2e3)
    assert preload_in_service(50e3, gasket_relaxation=1.0) == 0
    assert preload_in_service(1e3, embedding_loss=2e3) == 0
    assert preload_in_service(50e3, thermal_change=10e3, most=55e3) == 55e3
    with pytest.raises(OutOfRangeError, match="gasket_relaxation"):
        preload_in_service(50e3, gasket_relaxation=1.1)


def test_warm_up_beyond_yield_is_lost_when_cold():
    """Limiting cases: an elastic cycle changes nothing; what yields hot is lost cold.

    A head that loses clamp hot (negative gain) gets it back.
    """
    again = preload_cold_again(
        np.array([40e3, 50e3, 50e3]), thermal_gain=np.array([8e3, 8e3, -8e3]), most=55e3
    )
    np.testing.assert_allclose(again, [40e3, 47e3, 50e3])


def test_a_head_that_loses_all_its_clamp_hot_is_loose_not_pushed():
    """Edge: hot preload ends at 0; cold again it has all, or nothing where it gained too much."""
    assert preload_in_service(5e3, thermal_change=-9e3) == 0.0
    assert float(preload_cold_again(5e3, thermal_gain=-9e3, most=55e3)) == 5e3
    assert float(preload_cold_again(5e3, thermal_gain=60e3, most=55e3)) == 0.0
