import dataclasses

import numpy as np
import pytest

from torquerisk.case.lubricants import LUBRICANTS
from torquerisk.errors import InputError
from torquerisk.physics.head_joint.scatter import (
    PRELOAD_SCATTER,
    TighteningMethod,
    relative_sd_of_mean,
    tightening_method,
)
from torquerisk.physics.head_joint.screw_thread import screw_thread
from torquerisk.physics.head_joint.tightening import torque_from_preload
from torquerisk.sources import SOURCES

SAMPLE_KN = np.array([30.3, 32.5, 32.5, 32.9, 32.9, 33.8, 34.3, 34.7, 37.4, 40.5])


def test_factor_of_head_bolt_methods():
    """Gasket maker's note: +-30 % stepped torque and +-10 % angle are factors 1.86 and 1.22."""
    stepped = PRELOAD_SCATTER[TighteningMethod.STEPPED_TORQUE]
    angle = PRELOAD_SCATTER[TighteningMethod.ANGLE]
    assert (stepped.low, stepped.high) == (0.7, 1.3)
    assert stepped.high / stepped.low == pytest.approx(1.86, abs=0.005)
    assert angle.high / angle.low == pytest.approx(1.22, abs=0.005)


@pytest.mark.parametrize(("half_width", "factor"), [(0.12, 1.27), (0.23, 1.6), (0.43, 2.5)])
def test_tightening_factor_of_a_band(half_width, factor):
    """VDI 2230:1986: factors 1.27, 1.6, 2.5 printed beside +-12, 23 and 43 %."""
    row = dataclasses.replace(PRELOAD_SCATTER[TighteningMethod.TORQUE], half_width=half_width)
    assert row.high / row.low == pytest.approx(factor, abs=0.01)


def test_shigley_sample_lies_within_the_torque_band():
    """Shigley 9th ed. Table 8-14: ten lubricated bolts at 90 N*m, mean 34.18, s 2.88 kN."""
    mean, sd = SAMPLE_KN.mean(), SAMPLE_KN.std(ddof=1)
    assert mean == pytest.approx(34.18, abs=0.005)
    assert sd == pytest.approx(2.88, abs=0.005)
    torque = PRELOAD_SCATTER[TighteningMethod.TORQUE]
    assert np.all((mean * torque.low < SAMPLE_KN) & (mean * torque.high > SAMPLE_KN))
    assert sd / mean < torque.relative_sd
    assert sd / mean > torque.control_sd


def test_bands_order_as_the_trade_orders_the_methods():
    """Machinery's Handbook: yield below angle below torque below feel; every source is listed."""
    order = ("YIELD", "ANGLE", "TORQUE", "STEPPED_TORQUE", "IMPACT")
    widths = [PRELOAD_SCATTER[TighteningMethod[name]].half_width for name in order]
    assert widths == sorted(widths)
    assert set(PRELOAD_SCATTER) == set(TighteningMethod)
    assert all(row.source in SOURCES for row in PRELOAD_SCATTER.values())
    assert all(row.control_sd < row.relative_sd for row in PRELOAD_SCATTER.values())


def test_friction_scatter_explains_the_torque_band():
    """Metamorphic: oil's friction alone, drawn in thread and head, gives sd within the band's."""
    draws = np.random.default_rng(1)
    friction = LUBRICANTS["engine oil"]
    mu = draws.normal(friction.middle, friction.sd, size=4000)
    thread = screw_thread("M11x1.5")
    arm = torque_from_preload(1.0, thread=thread, thread_friction=mu, head_friction=mu)
    relative = (1 / arm).std() / (1 / arm).mean()
    assert 0.08 < relative < 0.2


def test_mean_of_many_fasteners():
    """Identity: variance of a mean; nothing in common shrinks as 1/sqrt(N), all in common stays."""
    assert relative_sd_of_mean(0.1, effective_count=4, common_share=0.0) == pytest.approx(0.05)
    assert relative_sd_of_mean(0.1, effective_count=4, common_share=1.0) == pytest.approx(0.1)
    draws = np.random.default_rng(2)
    common, own = draws.normal(size=(20000, 1)), draws.normal(size=(20000, 4))
    mean = (0.1 * np.sqrt(0.5) * (common + own)).mean(axis=1)
    assert relative_sd_of_mean(0.1, effective_count=4) == pytest.approx(mean.std(), rel=0.03)


@pytest.mark.parametrize(
    ("kind", "printed"), [("engine oil", 0.18), ("molybdenum paste", 0.12), ("dry", 0.30)]
)
def test_lubricants_give_the_torque_coefficients_of_shigley(kind, printed):
    """Shigley 9th ed. Table 8-15: K 0.18 lubricated, 0.12 anti-seize, 0.30 black, to 6 %.

    Two digits printed; the long form of M12 at the middle friction.
    """
    friction, thread = LUBRICANTS[kind].middle, screw_thread("M12")
    arm = torque_from_preload(1.0, thread=thread, thread_friction=friction, head_friction=friction)
    assert float(arm) / 0.012 == pytest.approx(printed, rel=0.06)


def test_methods_by_word():
    """Refusals: an unknown word lists the methods."""
    assert tightening_method(" Stepped-torque ") is TighteningMethod.STEPPED_TORQUE
    with pytest.raises(InputError, match="torque, stepped torque, angle, yield"):
        tightening_method("gas wrench")
