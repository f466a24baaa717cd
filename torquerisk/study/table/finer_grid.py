"""The same engines and run on the grid that a table is judged on, and what they accept there."""

import dataclasses
from typing import Any

import numpy as np
import numpy.typing as npt

from torquerisk.quantities import RPM, Array
from torquerisk.study.assessment.assess import at_accepted, evaluate, governed
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limits import HEAD_LIFT, HEARD, LIFT_SEEN, Limit
from torquerisk.study.run.operating_state import Operating
from torquerisk.study.run.run_on_grid import Prepared, prepare
from torquerisk.study.run.seen_signs import SHY_OF_SIGN

WIDEST_GAP = 150 * RPM
"""Widest gap between speeds at which a table is judged [rad/s]."""
SIGN_BINDS = 1e-3
"""Share of the torque of a sign of lift within which a ceiling is that, and no clamp's [-]."""
SAME = 1e-6
"""Speeds nearer than this are one speed [rad/s]."""


def finer_speeds(assessment: Assessment, breakpoints: Array) -> Array:
    """Speeds (S,) [rad/s]: the run's own, the breakpoints within the run, and no wide gap."""
    own = assessment.speed
    inside = breakpoints[(breakpoints > own[0]) & (breakpoints < own[-1])]
    new = [point for point in inside if np.abs(own - point).min() > SAME]
    speed = np.union1d(own, new)
    parts = np.ceil(np.diff(speed) / WIDEST_GAP - 1e-9).astype(int)
    between = [
        np.linspace(low, high, n + 1)[1:-1]
        for low, high, n in zip(speed[:-1], speed[1:], parts, strict=True)
    ]
    return np.union1d(speed, np.concatenate(between))


def index_of(grid: Array, speed: Array) -> npt.NDArray[np.intp]:
    """Where speeds (n,) [rad/s] stand in a grid that holds them."""
    return np.searchsorted(grid, speed - SAME)


def finer_inputs(assessment: Assessment, breakpoints: Array) -> Prepared:
    """The assessment's inputs on `finer_speeds`: torque and channels linear between its own."""
    speed = finer_speeds(assessment, breakpoints)
    torque = np.interp(speed, assessment.speed, assessment.torque)
    return on_speeds(prepared_of(assessment), speed, torque)


def on_finer_grid(assessment: Assessment, breakpoints: Array) -> Assessment:
    """The same engines and run on a grid that holds the table's breakpoints and has no wide gaps.

    Torque and channels are linear between the run's own rows. So the ceiling is known where the
    table bends, and a run of few rows is still judged between them.
    """
    finer = finer_inputs(assessment, breakpoints)
    return evaluate(finer, assessment.policy, assessment.model.every, assessment.evidence)


def prepared_of(assessment: Assessment) -> Prepared:
    """The inputs of an assessment, as they were brought to its grid."""
    return prepare(assessment.reading.as_given, assessment.run, None)


def on_speeds(prepared: Prepared, speed: Array, torque: Array) -> Prepared:
    """The same engine and state at other speeds, with other torques there."""
    return dataclasses.replace(
        prepared,
        speed=speed,
        torque=torque,
        reading_sd=np.interp(speed, prepared.speed, prepared.reading_sd),
        state=state_at(prepared.state, speed),
    )


def state_at(state: Operating, speed: Array) -> Operating:
    """The state at other speeds: every channel linear between the known ones."""
    changed: dict[str, Any] = {}
    for f in dataclasses.fields(state):
        value = getattr(state, f.name)
        if isinstance(value, np.ndarray):
            changed[f.name] = speed if f.name == "speed" else np.interp(speed, state.speed, value)
    return dataclasses.replace(state, **changed)


def binding_capacity(assessment: Assessment) -> Array:
    """Least capacity torque (S, N) over the limits that bind."""
    return assessment.model.least.binding


def ceiling_at(assessment: Assessment, chance: float) -> Array:
    """Torque (S,) [N*m] that a table may ask for: at the accepted chance of any binding limit, no
    more than the run's where knock was heard in it."""
    carried = at_accepted(binding_capacity(assessment), chance)
    return np.minimum(carried, assessment.model.operating.heard_at)


def governed_at(assessment: Assessment, chance: float) -> tuple[Array, list[Limit]]:
    """The same with the limit that sets it."""
    used = {item.limit.name: item.limit for item in assessment.limits.values()}
    carried, names = governed(list(used.values()), assessment.model, chance)
    heard = assessment.model.operating.heard_at
    limits = [HEARD if h < c else used[n] for n, c, h in zip(names, carried, heard, strict=True)]
    seen = assessment.model.operating.lift_seen
    if seen is not None:
        kept = carried >= (1 - SIGN_BINDS) * SHY_OF_SIGN * seen
        limits = [
            LIFT_SEEN if k and limit is HEAD_LIFT else limit
            for limit, k in zip(limits, kept, strict=True)
        ]
    return np.minimum(carried, heard), limits


def failing_at(assessment: Assessment, torque: Array) -> npt.NDArray[np.bool_]:
    """Which draws pass a strength limit (S, N) at torques (S,)."""
    return np.asarray(assessment.model.least.strength < torque[:, None])
