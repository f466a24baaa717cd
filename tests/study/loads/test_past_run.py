"""Ignition past the torque that it was logged at, and the load row that it begins at."""

import dataclasses

import numpy as np
import pytest
from small_case import SPEED, engine, hump

from torquerisk.case import KnownGood, Run, default_policy
from torquerisk.study.assessment.assess import assess
from torquerisk.study.cycle.cylinder import imep_estimate
from torquerisk.study.limits import place_of
from torquerisk.study.loads.demand import Demand, demand
from torquerisk.study.loads.past_run import PAST_RUN, with_a_row


def test_the_row_put_in_reads_what_lay_between_its_neighbours() -> None:
    """Identity: a table linear in the logarithm of load is read alike with the row and without."""
    imep = np.geomspace(2e5, 64e5, 8)
    line = np.log(imep)[:, None] * np.array([1.0, -2.0])
    tables = np.broadcast_to(line, (2, 3, 4, *line.shape))
    bmep = np.array([9e5, 90e5])
    made, rows = with_a_row(tables, imep, bmep)
    assert made.shape == (2, 3, 4, 9, 2)
    for s in range(2):
        assert np.all(np.diff(rows[s]) >= 0)
        assert made[s, 0, 0] == pytest.approx(np.log(rows[s])[:, None] * np.array([1.0, -2.0]))
    assert np.isclose(rows[0], PAST_RUN * imep_estimate(9e5)).sum() == 1
    assert rows[1][-1] == imep[-1], "beyond the tables it stands at their end"


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
        # The row put in moves what is read between rows 28 % apart by as much; where a burn comes
        # near the latest that is modelled, 44 degrees, rows bend.
        plain = ca50(fixed, times) < np.radians(40)
        assert plain.mean() > 0.95
        assert np.allclose(
            ca50(loads, times)[plain], ca50(fixed, times)[plain], atol=np.radians(0.25)
        )
    later = np.degrees(ca50(loads, 1.9) - ca50(fixed, 1.9))
    assert later.min() >= 0.0
    # From 10 to 19 bar on 95 octane a map gives up several degrees (common practice, no source).
    assert 3.0 < np.median(later) < 20.0
    limited = [place_of(loads.torque, n * made.torque).read(loads.knock_limited_ca50)
               for n in (1.0, 1.9)]  # fmt: skip
    assert np.median(later) <= np.degrees(np.median(limited[1] - limited[0])) + 1.0
