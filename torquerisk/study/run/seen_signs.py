"""Torques that the engine was driven at already: where a sign was seen, and where none was."""

from collections.abc import Iterator

import numpy as np

from torquerisk.case import Engine, Run
from torquerisk.quantities import RPM, Array
from torquerisk.study.run.crank_reading import crank_reading
from torquerisk.study.run.log_signs import coolant_sign_of

LIFT = "coolant pressure"
"""What a rung sees of a head that lifts."""
SHY_OF_SIGN = 0.95
"""Share of the torque at which a sign was seen that is kept to (stated choice: two readings differ
by 3 %, and what shows has begun a little below)."""
SEEN_BESIDE = 250 * RPM
"""Speed either side of a logged sign at which it is as near: it comes at another one in the next
pull [rad/s] (common practice, no source)."""


def driven_quietly(engine: Engine, speed: Array) -> Array:
    """Greatest crank torque at speeds (S,) [N*m] driven without a sign already; 0 where none.

    engine: as given, whose facts of the test turn what was read into crank torque; so below.
    """
    curves = [rung.curve for rung in engine.survived if rung.sign == "nothing"]
    most = np.zeros(len(speed))
    for curve in (engine.known_good.curve, *curves):
        if curve is not None:
            most = np.maximum(most, _at(engine, curve, speed, 0.0))
    return most


def seen_at(engine: Engine, sign: str, speed: Array) -> Array:
    """Least crank torque at speeds (S,) [N*m] of the rungs that saw a sign; inf where none did.

    Nobody says at which speed: it counts wherever less than a rung's torque was driven quietly.
    """
    least = np.full(len(speed), np.inf)
    for _, torque in _rungs(engine, sign, speed):
        least = np.minimum(least, torque)
    return least


def lift_seen(engine: Engine, run: Run, speed: Array, torque: Array) -> Array | None:
    """Least crank torque (S,) [N*m] at which coolant pressure was seen to rise, of rungs and of the
    run's own log; inf at speeds where it was not, None where it never was."""
    least, sign = seen_at(engine, LIFT, speed), coolant_sign_of(run)
    if sign is None:
        return least if any(rung.sign == LIFT for rung in engine.survived) else None
    there = (sign[1] - SEEN_BESIDE <= speed) & (speed <= sign[2] + SEEN_BESIDE)
    return np.where(there, np.minimum(least, torque), least)


def lift_reached(engine: Engine, speed: Array, torque: Array) -> tuple[str, ...]:
    """Names of the rungs with a sign of lift that torques (S,) [N*m] come up to."""
    return tuple(
        name for name, seen in _rungs(engine, LIFT, speed) if (torque > SHY_OF_SIGN * seen).any()
    )


def _rungs(engine: Engine, sign: str, speed: Array) -> Iterator[tuple[str, Array]]:
    quiet = driven_quietly(engine, speed)
    for rung in engine.survived:
        if rung.sign == sign and rung.curve is not None:
            torque = _at(engine, rung.curve, speed, np.inf)
            # A sign in the last pull of a curve counts, however often it was quiet before.
            yield rung.curve.name, np.where(torque > SHY_OF_SIGN * quiet, torque, np.inf)


def _at(engine: Engine, curve: Run, speed: Array, beyond: float) -> Array:
    read = crank_reading(engine, curve)
    return np.interp(speed, read.speed, read.torque, left=beyond, right=beyond)
