import numpy as np
import pytest

from torquerisk.case.lubricants import LUBRICANTS
from torquerisk.physics.head_joint.scatter import (
    CONTROL_SD,
    TighteningMethod,
    relative_sd_of_mean,
)
from torquerisk.physics.head_joint.screw_thread import screw_thread
from torquerisk.physics.head_joint.tightening import torque_from_preload

SAMPLE_KN = np.array([30.3, 32.5, 32.5, 32.9, 32.9, 33.8, 34.3, 34.7, 37.4, 40.5])


def test_shigley_sample_scatters_by_more_than_the_tool():
    """Shigley 9th ed. Table 8-14: ten lubricated bolts at 90 N*m, mean 34.18, s 2.88 kN."""
    mean, sd = SAMPLE_KN.mean(), SAMPLE_KN.std(ddof=1)
    assert mean == pytest.approx(34.18, abs=0.005)
    assert sd == pytest.approx(2.88, abs=0.005)
    assert sd / mean > CONTROL_SD[TighteningMethod.TORQUE]


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


def _coefficient(friction: float) -> float:
    """T/(F d) of M12 by the long form [-]."""
    thread = screw_thread("M12")
    arm = torque_from_preload(1.0, thread=thread, thread_friction=friction, head_friction=friction)
    return float(arm) / 0.012


@pytest.mark.parametrize(("kind", "printed"), [("engine oil", 0.18), ("dry", 0.30)])
def test_lubricants_give_the_torque_coefficients_of_shigley(kind, printed):
    """Shigley 9th ed. Table 8-15: K 0.18 lubricated, 0.30 black, to 6 %.

    Two digits printed; the long form of M12 at the middle friction.
    """
    assert _coefficient(LUBRICANTS[kind].middle) == pytest.approx(printed, rel=0.06)


@pytest.mark.parametrize("known", [0.12, 0.13])
def test_paste_lies_between_two_torque_coefficients(known):
    """Shigley 9th ed. Table 8-15, anti-seize 0.12; Bickford, paste 0.13, from memory: to 6 %."""
    assert _coefficient(LUBRICANTS["molybdenum paste"].middle) == pytest.approx(known, rel=0.06)
