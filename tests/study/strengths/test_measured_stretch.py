"""What a measured stretch of the head fasteners says of their preload."""

import math

import numpy as np
import pytest

from torquerisk.case import Engine
from torquerisk.study.draws.spreads import engine_draws
from torquerisk.study.strengths.head import HeadCapacity, head_capacity
from torquerisk.study.studs.judgement import preloads_by_state
from torquerisk.study.studs.results import JointState

JOINT = {
    "head_joint.tightening_torque": 80.0,
    "head_joint.clamped_length": 0.1,
    "head_joint.shank_diameter": 0.0105,
}
ANGLE = {
    "head_joint.tightening": "angle",
    "head_joint.tightening_torque": 40.0,
    "head_joint.tightening_angle": math.radians(180),
}
STRETCH = "head_joint.measured_stretch"


def joint(engine: Engine) -> HeadCapacity:
    return head_capacity(engine, engine_draws(compression_ignition=False, count=512, seed=7))


@pytest.mark.parametrize("share", [0.5, 0.85, 1.1])
@pytest.mark.parametrize("way", [{"head_joint.tightening": "torque"}, ANGLE, {
    "head_joint.tightening": "yield"}])  # fmt: skip
def test_a_measured_stretch_tells_the_preload(
    plain_engine: Engine, way: dict[str, float | str], share: float
) -> None:
    """Hooke's law: 85 % of the stretch is 85 % of the preload, however it was tightened.

    The median to 2 %, of 512 draws that scatter by 4 %; less scatter than torque leaves.
    """
    usual = joint(plain_engine.with_values(JOINT | {"head_joint.tightening": "torque"}))
    stretch = float(np.median(usual.preload_cold * usual.lengthens))
    told = joint(plain_engine.with_values(JOINT | way | {STRETCH: share * stretch}))
    cold = np.median(told.preload_cold)
    assert cold / np.median(usual.preload_cold) == pytest.approx(share, rel=0.02)
    assert np.std(np.log(told.preload_cold)) < 0.6 * np.std(np.log(usual.preload_cold))
    assert not told.to_yield
    (notice,) = (n for n in told.notices if n.code == "preload-measured")
    assert f"{cold / 1e3:.0f} kN each as they stand" in notice.text
    assert "bear without yielding" not in notice.text


def test_a_stretch_past_yield_is_told(plain_engine: Engine) -> None:
    """Refusals in words: twice what a fastener bears is held at its yield, and it is said."""
    told = joint(plain_engine.with_values(JOINT | {STRETCH: 1.2e-3}))
    (notice,) = (n for n in told.notices if n.code == "preload-measured")
    assert "In 100% of the simulated engines that is more than they bear" in notice.text
    assert (told.assembly_preload <= told.straight_yield).all()


def test_a_measured_joint_ages_from_where_it_stands(plain_engine: Engine) -> None:
    """Identity: what was measured is settled already; ageing takes the gasket's share once more."""
    engine = plain_engine.with_values(JOINT | {STRETCH: 0.25e-3})
    head = joint(engine)
    states = {k: np.median(v) for k, v in preloads_by_state(engine, head).items()}
    lost = states[JointState.COLD_NEW] - states[JointState.COLD_AGED]
    share = engine.value("head_joint.gasket_relaxation").value
    assert lost / np.median(head.assembly_preload) == pytest.approx(share, rel=0.05)


def test_without_one_nothing_is_said(plain_engine: Engine) -> None:
    """Identity: an engine whose stretch nobody measured has no such notice."""
    assert "preload-measured" not in {n.code for n in joint(plain_engine).notices}
