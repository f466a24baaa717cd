"""How many cycles one pull spends about each speed."""

import numpy as np

from torquerisk.case import Engine
from torquerisk.physics.cylinder import spread
from torquerisk.quantities import RPM, Array

DEFAULT_SWEEP = 300 * RPM
"""Sweep rate where none is stated [rad/s^2] (common practice, no source)."""
STEADY_HOLD = 10.0
"""Time that a steady point is held for [s] (common practice, no source)."""
SPEED_BAND = 250 * RPM
"""Width of the band of speeds whose cycles count for a speed [rad/s]."""
HELD_CYCLES = 20.0
"""Least number of cycles that any speed of a pull is held for."""


def cycles_per_speed(engine: Engine, speed: Array) -> Array:
    """Cycles of one cylinder within SPEED_BAND of each speed in one sweep (S,), >= HELD_CYCLES.

    The band is the same for every run, so that a finer grid does not change the answer. Steady
    points, a sweep rate of 0, are held for STEADY_HOLD.
    """
    return np.maximum(cycles_unheld(engine, speed), HELD_CYCLES)


def cycles_unheld(engine: Engine, speed: Array) -> Array:
    """Cycles about each speed (S,) before HELD_CYCLES of them are taken at least."""
    rate = engine.given("test.sweep_rate")
    if rate is None:
        rate = DEFAULT_SWEEP
    elif rate == 0:
        rate = SPEED_BAND / STEADY_HOLD
    return np.asarray(spread.cycles_in_band(speed, SPEED_BAND, rate))
