"""Ordinary engines at their own full-load curve: the verdict agrees with the trade."""

import numpy as np
import pytest
from ordinary import CAR_DIESEL, RPM, TRUCK_DIESEL, Ordinary, ordinary_engines

from torquerisk import assess, default_policy

PEAK_AT_RATED = {CAR_DIESEL: (130.0, 190.0), TRUCK_DIESEL: (170.0, 230.0)}
"""Median peak at rated torque [bar]: makers hold car diesels to about 180, trucks to 230 (from
memory)."""
DIESELS = [one for one in ordinary_engines() if one.kind in PEAK_AT_RATED]


@pytest.mark.slow
@pytest.mark.parametrize("one", DIESELS, ids=lambda one: one.name)
def test_peak_of_a_diesel_at_rated_torque(one: Ordinary) -> None:
    """From memory: makers hold a diesel's peak pressure (see PEAK_AT_RATED)."""
    found = assess(*one.case(), default_policy(draws=64))
    at = int(np.argmin(np.abs(found.speed - one.rated["torque_speed"] * RPM)))
    low, high = PEAK_AT_RATED[one.kind]
    assert low <= found.peak_pressure.p50[at] / 1e5 <= high
