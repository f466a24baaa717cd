"""What a peak pressure that was measured in the cylinder says."""

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.evidence.piece import Asked, Piece, few_speeds

PEAK_SENSOR_SD = 0.03
"""Relative error of a measured peak pressure, common to a run (common practice, no source)."""
PEAK_LOCAL_SD = 0.05
"""Relative difference at one speed between the measured peak and the model's at the right inputs
(stated choice)."""


def _likelihood(asked: Asked) -> Array:
    """How well each draw's peak pressure fits the measured one.

    What is left at each speed by PEAK_LOCAL_SD, the mean over the n speeds by the sensor's own
    error and PEAK_LOCAL_SD/sqrt(n): one error common to all, one of each speed.
    """
    prepared = asked.prepared
    index = few_speeds(prepared.speed, prepared.torque)
    measured = prepared.state.peak_pressure
    assert measured is not None
    apart = np.log(asked.read(index, lambda loads: loads.peak) / measured[index][:, None])
    common = np.mean(apart, axis=0)
    left = np.sum((apart - common) ** 2, axis=0)
    of_mean = np.hypot(PEAK_SENSOR_SD, PEAK_LOCAL_SD / np.sqrt(len(index)))
    return np.asarray(np.exp(-0.5 * (common / of_mean) ** 2 - 0.5 * left / PEAK_LOCAL_SD**2))


PEAK = Piece(
    name="peak",
    applies=lambda prepared: prepared.state.peak_pressure is not None,
    likelihood=_likelihood,
    words=lambda prepared: "the measured peak cylinder pressure",
    check=lambda prepared: "unit and offset of the measured peak pressure",
)
