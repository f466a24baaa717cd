"""What a survived curve says against an answer."""

import dataclasses

import numpy as np
import pytest
from small_case import assessed, engine, hump

from torquerisk.study.assessment.known_notices import below_survived
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limits.combustion import KNOCK


@pytest.fixture(scope="module")
def run() -> Assessment:
    """A run above its known-good curve, of which too little would be accepted."""
    a = assessed(hump(300.0), {"ca50": np.full(19, np.radians(16.0))})
    curve = engine().known_good.curve
    assert curve is not None
    return dataclasses.replace(a, ceiling=0.8 * curve.torque)


def test_less_accepted_than_was_carried_is_told_where_the_run_is_like_it(run: Assessment) -> None:
    """common practice, no source: ignition while boost rises, or that knocks, is not what a torque
    was carried with."""
    (told,) = below_survived(run)
    assert told.code == "below-survived"
    assert "less than the" in str(told.text)
    rising = dataclasses.replace(run, torque=0.5 * run.torque)
    assert not list(below_survived(rising))
    item = run.limits[KNOCK.name]
    knocks = {**run.limits, KNOCK.name: dataclasses.replace(item, chance=np.ones(19))}
    assert not list(below_survived(dataclasses.replace(run, limits=knocks)))
