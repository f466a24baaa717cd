"""What is offered to be measured next is what the run lacks."""

import dataclasses

import numpy as np
import pytest
from plain_runs import run_of

from torquerisk.case import Engine, Policy
from torquerisk.study.answers.measure_next import (
    _channels,
    _inputs,
    _phasing_channels,
    binding_capacity,
    worth_measuring,
)
from torquerisk.study.answers.variance_shares import normal_scores
from torquerisk.study.assessment.assess import assess

RPMS, TORQUE = [2000, 3500, 5000], [200.0, 280.0, 260.0]


@pytest.mark.parametrize(
    ("channel", "value"), [("peak_pressure", None), ("ca50", np.radians(12.0))]
)
def test_what_is_logged_is_not_offered(
    plain_engine: Engine, few: Policy, channel: str, value: float | None
) -> None:
    """Identity: a channel is weighed while it is missing, never once it is logged."""
    bare = assess(plain_engine, run_of(RPMS, TORQUE), few)
    values = bare.peak_pressure.p50 if value is None else np.full(3, value)
    logged = assess(plain_engine, run_of(RPMS, TORQUE, **{channel: values}), few)
    offered = []
    for result in (bare, logged):
        offered.append({name for name, *_ in (*_channels(result, 1), *_phasing_channels(result))})
    assert channel in offered[0]
    assert channel not in offered[1]


def test_what_is_not_in_the_way_is_not_offered(plain_engine: Engine, few: Policy) -> None:
    """Metamorphic: a tuner was offered thread engagement in the block in an answer that called that
    thread not in the way. An input that goes with the torque accepted by mere chance, perfectly so,
    moves no weak engine and is left out; one that the weak part hangs on stays."""
    bare = assess(plain_engine, run_of(RPMS, TORQUE), few)
    k, name = 1, "head_joint.engagement_length"
    least = binding_capacity(bare)[k]
    assert bare.limits["thread_strip"].chance.max() == 0
    assert np.isinf(bare.model.capacities["thread_strip"][k]).all()
    assert name in {one for one, *_ in _inputs(bare)}
    assert bare.governing[k] == "octane"
    offered = {}
    for planted in (name, "fuel.octane"):
        deviates = {**bare.model.draws.deviates, planted: normal_scores(least)}
        draws = dataclasses.replace(bare.model.draws, deviates=deviates)
        case = dataclasses.replace(bare, model=dataclasses.replace(bare.model, draws=draws))
        told = worth_measuring(case, k, least).measures
        offered[planted] = {one.name for one in told} & {planted}
    assert offered == {name: set(), "fuel.octane": {"fuel.octane"}}
