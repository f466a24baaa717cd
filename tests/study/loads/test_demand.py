"""Loads in one pull and in all of them: one clock for what is accepted and what was survived."""

import dataclasses

import numpy as np
import pytest
from small_case import SPEED, engine, hump

from torquerisk.case import KnownGood, Run, default_policy
from torquerisk.case.policy import MANY_TIMES
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limits import place_of
from torquerisk.study.loads.demand import Demand, demand


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


def test_past_the_torque_that_its_ignition_was_logged_at_a_row_burns_later():
    """[PRACTICE] the shift is what calibrators hold from the one torque to the other; identity: at
    the run's own torque and below it, what was logged."""
    advance = np.full(len(SPEED), np.radians(20.0))
    run = Run(name="r", speed=SPEED, torque=hump(200.0), channels={"ignition_advance": advance})
    made = assess(dataclasses.replace(engine(), known_good=KnownGood()), run,
                  default_policy(draws=256))  # fmt: skip
    model = made.model
    logged = dataclasses.replace(model.operating, phased_to=None)
    loads = model.demand
    fixed = demand(made.engine, logged, model.draws, model.reading_sd, pulls=loads.pulls)

    def ca50(of: Demand, times: float) -> np.ndarray:
        return place_of(of.torque, times * made.torque).read(of.ca50)

    for times in (0.6, 0.85, 1.0):
        # The row put in moves what is read between rows 28 % apart by as much.
        assert np.allclose(ca50(loads, times), ca50(fixed, times), atol=np.radians(0.25))
    later = np.degrees(ca50(loads, 1.9) - ca50(fixed, 1.9))
    assert later.min() >= 0.0
    # From 10 to 19 bar on 95 octane a map gives up several degrees (common practice, no source).
    assert 3.0 < np.median(later) < 20.0
    limited = [place_of(loads.torque, n * made.torque).read(loads.knock_limited_ca50)
               for n in (1.0, 1.9)]  # fmt: skip
    assert np.median(later) <= np.degrees(np.median(limited[1] - limited[0])) + 1.0
