"""Runs for the plain engines of conftest: at the crank, uncorrected, at steady points."""

from pathlib import Path

import numpy as np

from torquerisk.case import Run
from torquerisk.quantities import RPM

SAMPLES = Path(__file__).parents[2] / "sample_runs"
FACTS = {"correction": "none", "measured_at": "crank"}


def run_of(
    rpm: list[float] | np.ndarray,
    torque: list[float] | np.ndarray,
    facts: dict[str, float | str] | None = None,
    **channels: list[float] | np.ndarray,
) -> Run:
    """A run by engine speed [rpm] and torque [N*m], with channels in SI."""
    return Run(
        name="test run",
        speed=np.array(rpm) * RPM,
        torque=np.array(torque, dtype=float),
        channels={k: np.array(v, dtype=float) for k, v in channels.items()},
        facts={**FACTS, **(facts or {})},
    )
