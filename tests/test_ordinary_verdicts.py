"""Ordinary engines at their own full-load curve: the verdict agrees with the trade.

A third of the reference set; `tests/bench/bench_ordinary.py` prints the whole of it.
"""

from functools import cache

import numpy as np
import pytest
from ordinary import RPM, Ordinary, ordinary_engines

from torquerisk import assess, default_policy
from torquerisk.case import Run
from torquerisk.study.assessment.result import Assessment

DRAWS = 128
WORST = {"required": 0.15, "rated": 0.03, "known good": 0.005}
"""Greatest chance at the worst speed of an engine at its own curve, by what is known of it."""
EVIDENCE: dict[str, dict[str, bool]] = {
    "required": {}, "rated": {"rated": True}, "known good": {"known_good": True},
}  # fmt: skip
TUNED = 2.2
"""Multiple of its curve at which an unopened boosted engine seldom holds."""
SOME = ordinary_engines()[::3]


@cache
def at_its_curve(name: str, known: str) -> Assessment:
    """An engine at its own curve."""
    one = next(one for one in SOME if one.name == name)
    return assess(*one.case(**EVIDENCE[known]), default_policy(draws=DRAWS))


@pytest.mark.slow
@pytest.mark.parametrize("known", EVIDENCE)
@pytest.mark.parametrize("one", SOME, ids=lambda one: one.name)
def test_an_engine_holds_its_own_curve(one: Ordinary, known: str) -> None:
    """Common practice, no source: an engine as sold holds its rated torque for years."""
    found = at_its_curve(one.name, known)
    assert found.chance_any.max() <= WORST[known]
    if known == "known good":
        assert np.all(found.ceiling >= 0.98 * found.torque)


@pytest.mark.slow
@pytest.mark.parametrize("one", SOME, ids=lambda one: one.name)
def test_knock_and_pre_ignition_break_no_engine_at_its_data_sheet(one: Ordinary) -> None:
    """Common practice, no source: not one in 10,000 pulls at the torque it is sold with breaks a
    part by an abnormal cycle, and then nothing is said of it."""
    found = at_its_curve(one.name, "rated")
    assert found.abnormal.pull_harm < 1e-4
    assert "abnormal" not in {notice.code for notice in found.notices}


@pytest.mark.slow
def test_half_of_the_engines_are_beyond_doubt() -> None:
    """Common practice, no source: with required inputs only, the median chance is small."""
    chances = [at_its_curve(one.name, "required").chance_any.max() for one in SOME]
    assert float(np.median(chances)) <= 0.05


@pytest.mark.slow
@pytest.mark.parametrize("one", [x for x in SOME if x.boosted], ids=lambda one: one.name)
def test_a_boosted_engine_seldom_holds_twice_its_torque(one: Ordinary) -> None:
    """Common practice, no source: unopened boosted engines give up at about twice their torque."""
    engine, run = one.case(rated=True, times=TUNED)
    assert assess(engine, run, default_policy(draws=DRAWS)).chance_any.max() >= 0.5


@pytest.mark.parametrize("blend", [None, "E50"])
def test_the_same_torque_is_no_kinder_at_low_speed(blend: str | None) -> None:
    """Common practice, no source: a torque far above stock is at least as dangerous at 2,000 rpm as
    at 5,500, on pump fuel and on an ethanol blend, with abnormal cycles counted."""
    one = next(x for x in ordinary_engines() if x.name == "turbo_1500_three")
    engine, _ = one.case()
    if blend is not None:
        engine = engine.with_values({"fuel.blend": blend, "fuel.octane": None})
    speed = np.array([2000.0, 3000.0, 4000.0, 5500.0]) * RPM
    run = Run(
        speed=speed, torque=np.full(4, 1.3 * max(one.torque)),
        facts={"correction": "none", "measured_at": "crank"},
    )  # fmt: skip
    found = assess(engine, run, default_policy(draws=512, abnormal_in_chance=True))
    low, high = (float(np.interp(x * RPM, found.speed, found.chance_any)) for x in (2000, 5500))
    assert low >= high
