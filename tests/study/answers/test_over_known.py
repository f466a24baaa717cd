"""How much more is used than on a known curve, where a part has nothing left in either."""

import dataclasses

import numpy as np
import pytest
from plain_runs import run_of

from torquerisk.case import Engine, Policy, Rated
from torquerisk.quantities import RPM
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.over_known import _over, _used
from torquerisk.study.assessment.assess import assess


def test_a_part_without_strength_is_used_as_much_as_before() -> None:
    """Limiting case: what has no strength left is wholly used, here and on the known curve alike;
    the others are compared as ever, and nothing is left without a number."""
    strength = np.array([100.0, 0.0, 50.0])
    here, known = _used(np.array([[50.0, 60.0, 50.0]]), strength), _used(
        np.array([25.0, 30.0, 50.0]), strength
    )  # fmt: skip
    assert here.tolist() == [[0.5, np.inf, 1.0]]
    assert _over(here, known).tolist() == [[2.0, 1.0, 1.0]]


@pytest.mark.parametrize(("limit", "times"), [(None, (6500 / 6000) ** 2), (6500 * RPM, 1.0)])
def test_a_rod_is_pulled_as_hard_as_the_rev_limit_as_sold_allows(
    plain_engine: Engine, few: Policy, limit: float | None, times: float
) -> None:
    """Identity: piston acceleration, which pulls a rod, goes with speed squared (from memory).
    A run to the rev limit that the engine is sold with pulls no harder than that."""
    sheet = Rated(torque=200.0, torque_speed=4000 * RPM, power=105e3, power_speed=6000 * RPM,
                  rev_limit=limit)  # fmt: skip
    engine = dataclasses.replace(plain_engine, rated=sheet)
    over = answers_of(assess(engine, run_of([2500, 4000, 6500], [150.0, 170, 140]), few)).over_known
    assert over is not None
    assert over.rod_tension.p50.max() == pytest.approx(times, rel=0.01)
