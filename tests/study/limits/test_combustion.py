"""Knock that no ignition cures: what it bounds, where it is heard in time."""

import numpy as np
import pytest
from small_case import assessed_alone, hump

from torquerisk.study.assessment.assess import BINDING, at_accepted
from torquerisk.study.limits import LimitKind, accepted_of, bounding
from torquerisk.study.limits.combustion import HEARD_IN_TIME


def test_knock_bounds_where_it_is_not_heard_in_time() -> None:
    """Identity: nine engines of ten carry what they carry without it; strength bounds all."""
    a = assessed_alone(hump(400.0))
    model, octane = a.model, a.limits["octane"].limit
    raw, bound = (
        model.capacities["octane"],
        bounding(octane, model.capacities["octane"], model.draws),
    )
    heard = np.isposinf(bound).all(axis=0)
    assert heard.mean() == pytest.approx(HEARD_IN_TIME, abs=0.01)
    assert np.array_equal(bound[:, ~heard], raw[:, ~heard])
    rod = a.limits["rod_compression"].limit
    assert model.bounding(rod) is model.capacities["rod_compression"]
    every = [model.bounding(i.limit) for i in a.limits.values() if i.limit.kind in BINDING]
    assert np.array_equal(np.min(every, axis=0), model.least.binding)
    # What is accepted of knock is the tenfold chance, to the sampling of a tenth of the engines.
    assert accepted_of(LimitKind.COMBUSTION, 0.03) == pytest.approx(0.3)
    assert accepted_of(LimitKind.STRENGTH, 0.03) == 0.03
    k = len(a.speed) // 2
    low, high = np.quantile(raw[k], [0.10, 0.50])
    assert low <= at_accepted(bound[k], 0.03) <= high


def test_what_is_accepted_of_knock_never_passes_half() -> None:
    """Identity: likelier than not is never accepted."""
    assert accepted_of(LimitKind.COMBUSTION, 0.2) == 0.5
