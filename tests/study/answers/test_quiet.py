"""What keeps a run that knocks quiet."""

import dataclasses

import numpy as np
import pytest
from plain_runs import run_of
from small_case import SPEED, assessed_alone, hump

from torquerisk.study.answers.quiet import quiet_of
from torquerisk.study.assessment.assess import assess, evaluate
from torquerisk.study.limits import place_of
from torquerisk.study.table.finer_grid import prepared_of


def test_at_what_it_asks_half_of_the_engines_are_quiet() -> None:
    """Identity: burned that much later, or on that octane, half knock, to what is read between
    rows and columns. [DOUAUD_EYZAT] for how far octane delays the end gas."""
    advance = {"ignition_advance": np.full(len(SPEED), np.radians(30.0))}
    a = assessed_alone(hump(300.0), advance)
    quiet = quiet_of(a)
    assert quiet is not None
    assert (quiet.later > 0).sum() > 5
    inputs = prepared_of(a)
    for change in ({"later": quiet.later}, {"octane": float(quiet.octane[0])}):
        state = dataclasses.replace(inputs.state, **change)
        again = evaluate(
            dataclasses.replace(inputs, state=state), a.policy, a.model.draws, a.evidence
        ).model.demand
        excess = place_of(again.torque, a.torque).read(again.knock_excess)
        shares = (excess > 0).mean(axis=1)
        asked = shares[quiet.later > 0] if "later" in change else shares[:1]
        assert asked == pytest.approx(0.5, abs=0.05)


def test_a_diesel_has_no_knock_to_quieten(plain_diesel, few) -> None:
    """Contract: nothing is offered where nothing knocks."""
    assert quiet_of(assess(plain_diesel, run_of([1500, 2000, 3000], [170.0] * 3), few)) is None
