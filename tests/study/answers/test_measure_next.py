"""What is offered to be measured next is what the run lacks."""

import numpy as np
import pytest
from plain_runs import run_of

from torquerisk.case import Engine, Policy
from torquerisk.study.answers.measure_next import _channels, _phasing_channels
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
