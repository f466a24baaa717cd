"""Engines and runs that the study's tests share: invented, small, deterministic."""

import pytest
from plain_runs import run_of

from torquerisk.case import Engine, HeadJoint, Policy, Run, RunningGear, default_policy

OWN_PARTS = RunningGear(original_rods="false", original_rod_bolts="false")
"""Built of its owner's parts throughout, so that no margin of a maker weights its draws."""


@pytest.fixture(scope="session")
def plain_engine() -> Engine:
    """An invented two-litre petrol four with only what must be given."""
    return Engine(
        ignition="spark",
        cylinders=4,
        bore=0.086,
        stroke=0.086,
        rod_length=0.145,
        compression_ratio=9.5,
        head_joint=HeadJoint(
            fasteners=10, thread="M11x1.5", property_class="10.9", original="false"
        ),
        running_gear=OWN_PARTS,
    )


@pytest.fixture(scope="session")
def plain_diesel() -> Engine:
    """An invented three-litre diesel four with only what must be given."""
    return Engine(
        ignition="compression",
        cylinders=4,
        bore=0.096,
        stroke=0.103,
        rod_length=0.158,
        compression_ratio=16.5,
        head_joint=HeadJoint(
            fasteners=18, thread="M12x1.5", property_class="10.9", original="false"
        ),
        running_gear=OWN_PARTS,
    )


@pytest.fixture(scope="session")
def plain_run() -> Run:
    """Torque of an invented run with peak in the middle."""
    return run_of([2000, 3000, 4000, 5000, 6000, 6500], [180, 260, 300, 290, 250, 220])


@pytest.fixture(scope="session")
def few() -> Policy:
    """A policy with few draws, for speed."""
    return default_policy(draws=256)
