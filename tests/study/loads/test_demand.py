"""Loads in one pull and in all of them: one clock for what is accepted and what was survived."""

import dataclasses

import numpy as np
import pytest
from small_case import SPEED, engine, hump

from torquerisk.case import KnownGood, Run, default_policy
from torquerisk.case.policy import MANY_TIMES
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.loads.demand import demand


@pytest.fixture(scope="module")
def lasting() -> Assessment:
    """A torque at which some engines fail, over the default number of pulls."""
    bare = dataclasses.replace(engine(), known_good=KnownGood())
    run = Run(name="test run", speed=SPEED, torque=hump(560.0))
    return assess(bare, run, default_policy(draws=256))


def test_one_pull_of_many_is_what_a_single_pull_asks(lasting):
    """Identity: a pull taken out of all of them is the pull that is worked out alone."""
    model = lasting.model
    alone = demand(lasting.engine, model.operating, model.draws, model.reading_sd)
    once = model.demand.in_one_pull()
    assert np.allclose(once.worst, alone.worst, rtol=1e-12)
    assert np.array_equal(once.cycles, alone.cycles)
    assert alone.in_one_pull() is alone


def test_more_pulls_never_fail_fewer_engines(lasting):
    """Metamorphic: the worst of more cycles is no milder; the same engine meets all pulls."""
    a = lasting
    assert a.policy.pulls == MANY_TIMES
    assert np.all(a.model.demand.worst >= a.model.demand.in_one_pull().worst)
    assert 0 < a.chance_pull < a.chance_pulls < 1
    # pulls of one engine are no independent tries: its clamp is the same in each
    assert a.chance_pulls < 1 - (1 - a.chance_pull) ** MANY_TIMES


def test_a_single_pull_has_one_chance(lasting):
    """Identity: with one pull both chances are the same number."""
    once = assess(lasting.engine, lasting.run, default_policy(draws=256, pulls=1))
    assert once.chance_pull == once.chance_pulls == lasting.chance_pull
