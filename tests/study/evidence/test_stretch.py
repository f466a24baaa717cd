"""What a measured stretch says of the preload."""

import dataclasses

import numpy as np
import pytest
from plain_runs import run_of

from torquerisk.case import Engine, Policy
from torquerisk.study.draws.spreads import engine_draws
from torquerisk.study.evidence.piece import Asked
from torquerisk.study.evidence.stretch import STRETCH
from torquerisk.study.run.run_on_grid import prepare

RUN = run_of([2000, 4000, 6000], [180.0, 300.0, 250.0])
JOINT = {
    "head_joint.tightening": "torque",
    "head_joint.tightening_torque": 80.0,
    "head_joint.clamped_length": 0.1,
    "head_joint.shank_diameter": 0.0105,
}


@pytest.mark.parametrize("share", [0.85, 1.15])
def test_a_measured_stretch_tells_the_preload(
    plain_engine: Engine, few: Policy, share: float
) -> None:
    """Hooke's law by hand: 85 % of the stretch is 85 % of the preload, whatever the torque was.

    To 3 %, of a spread by torque of 10 %.
    """
    engine = plain_engine.with_values(JOINT)
    draws = engine_draws(compression_ignition=False, count=few.draws, seed=few.seed)
    head = Asked(prepared=prepare(engine, RUN, None), draws=draws).parts.head
    usual = float(np.median(head.preload_cold * head.fastener_compliance))
    told = engine.with_values({"head_joint.measured_stretch": share * usual})
    asked = Asked(prepared=prepare(told, RUN, None), draws=draws)
    assert STRETCH.applies(asked.prepared)
    weights = STRETCH.likelihood(asked)
    mean = float(np.average(head.preload_cold, weights=weights))
    assert mean / np.median(head.preload_cold) == pytest.approx(share, rel=0.03)
    width = np.sqrt(np.average((head.preload_cold - mean) ** 2, weights=weights)) / mean
    assert width < 0.6 * np.std(np.log(head.preload_cold))


def test_without_one_nothing_is_said(plain_engine: Engine) -> None:
    """Identity: an engine whose stretch nobody measured has no such evidence."""
    assert not STRETCH.applies(prepare(dataclasses.replace(plain_engine), RUN, None))
