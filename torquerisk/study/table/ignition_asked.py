"""The ignition that a table asks for: the run's, later where that is likely to knock."""

import dataclasses

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.limits import place_of, quiet_later
from torquerisk.study.loads.demand import Demand
from torquerisk.study.run.operating_state import Operating


def later_asked(loads: Demand, torque: Array) -> Array:
    """How much later (S,) [rad] than judged a table of torques (S,) asks ignition to be: as the
    middle engine takes it to burn without audible knock."""
    return np.maximum(quiet_later(loads, place_of(loads.torque, torque)), 0.0)


def as_asked(state: Operating, later: Array) -> Operating:
    """The state with ignition later by so much (S,) [rad]."""
    return dataclasses.replace(state, later=state.later + later)
