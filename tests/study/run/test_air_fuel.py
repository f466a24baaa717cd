"""Lambda of a logged air-fuel ratio, by the fuel that the engine burns."""

import dataclasses

import numpy as np
import pytest

from torquerisk.case import LEFT_OUT, Engine, Policy, Run
from torquerisk.quantities import RPM
from torquerisk.study.assessment.assess import assess
from torquerisk.study.run.air_fuel import with_lambda

STOICHIOMETRIC = {"E0": 14.6, "E10": 14.0, "E85": 9.8, "diesel": 14.5}
"""[HEYWOOD] table D.4: petrol 14.6, ethanol 9.0, light diesel 14.5; blends by mass, worked by
hand: 1/(w_e + w_p) of 9.0 and 14.6 with 0.105 and 0.857 by mass of ethanol in E10 and E85."""


def run_of(ratio: float, **more: float) -> Run:
    speed = np.array([2000.0, 3000.0, 4000.0, 5000.0, 6000.0]) * RPM
    channels = {"afr": np.full(5, ratio), **{n: np.full(5, v) for n, v in more.items()}}
    return Run(speed=speed, torque=np.array([150.0, 200, 220, 215, 190]), channels=channels)


@pytest.mark.parametrize("blend", STOICHIOMETRIC)
def test_a_ratio_is_divided_by_that_of_the_blend(blend):
    """Source: [HEYWOOD] table D.4 and the mass balance of a blend, to the digits printed."""
    ratio = (1.3 if blend == "diesel" else 0.85) * STOICHIOMETRIC[blend]
    found = with_lambda(run_of(ratio), blend)
    assert "afr" not in found.channels
    expected = ratio / STOICHIOMETRIC[blend]
    assert found.channel("lambda_") == pytest.approx([expected] * 5, rel=0.01)
    assert blend in found.notices[-1].text


def test_a_gauge_on_petrols_scale_is_known_by_a_lambda_that_no_engine_runs_at():
    """Common practice, no source: 11.8 over the 9.8 of E85 would be far too lean under load."""
    found = with_lambda(run_of(11.8), "E85")
    assert found.channel("lambda_") == pytest.approx([11.8 / 14.7] * 5)
    assert "by 9.8 it would be 1.2" in found.notices[-1].text


def test_of_two_scales_that_may_be_meant_the_leaner_is_taken_and_the_other_told():
    """Identity: 11.8 of E30 is lambda 0.92, or 0.80 on petrol's scale."""
    found = with_lambda(run_of(11.8), "E30")
    assert found.channel("lambda_")[0] > 0.9
    assert "by 14.7 it would be 0.80" in found.notices[-1].text
    assert "'AFR (petrol)'" in found.notices[-1].text


def test_a_ratio_that_is_no_lambda_is_left_out_and_told_first():
    """Identity: 7.9 of petrol is no mixture that burns; beside lambda a ratio is not asked."""
    found = with_lambda(run_of(7.9), "E5")
    assert found.channel("lambda_") is None
    assert [n.code for n in found.notices] == [LEFT_OUT]
    both = run_of(7.9, lambda_=0.9)
    assert with_lambda(both, "E5") is both


def test_an_assessment_by_a_ratio_is_that_by_its_lambda(plain_engine: Engine, few: Policy) -> None:
    """Metamorphic: a log of the ratio gives the very answer of a log of lambda."""
    engine = plain_engine.with_values({"fuel.blend": "E10"})
    by_ratio = with_lambda(run_of(11.8, manifold_pressure=1.9e5), "E10")
    plain = dataclasses.replace(by_ratio, notices=())
    one = assess(engine, run_of(11.8, manifold_pressure=1.9e5), few)
    other = assess(engine, plain, few)
    assert one.chance_any.tolist() == other.chance_any.tolist()
    assert one.run.channel("lambda_") is not None
    assert any(n.code == "air-fuel-ratio" for n in one.notices)
