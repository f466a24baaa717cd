"""One engine assessed under torque that passes its limits, and under little."""

import pytest
from cli_case import METRIC, TORQUES, run_text

from torquerisk import assess, default_policy, propose_limit
from torquerisk.files.engine_file import engine_from_text
from torquerisk.files.run_file import run_from_bytes

LOW = (30.0, 32.0, 35.0, 36.0, 36.0, 35.0, 33.0, 31.0, 28.0)


def assessed(text):
    """The case's engine with a run."""
    engine = engine_from_text(METRIC, "engine.toml")
    return assess(engine, run_from_bytes(text.encode(), "run.csv"), default_policy(draws=256))


@pytest.fixture(scope="session")
def loaded():
    return assessed(run_text())


@pytest.fixture(scope="session")
def light():
    return assessed(run_text(LOW))


@pytest.fixture(scope="session")
def four_times():
    return assessed(run_text([3.9 * t for t in TORQUES]))


@pytest.fixture(scope="session")
def proposal(loaded):
    return propose_limit(loaded, default_policy(draws=256, chance=0.05))
