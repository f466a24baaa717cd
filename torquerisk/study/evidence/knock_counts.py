"""What logged knock counts say of the knock limit: that the engine knocked, or that it did not."""

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.evidence.piece import Asked, Piece
from torquerisk.study.run.log_signs import LogSign, knock_sign
from torquerisk.study.run.operating_state import PhasingSource
from torquerisk.study.run.run_on_grid import Prepared

QUIET_LIKELIHOOD = 0.3
"""Of counts in an engine that does not knock at the logged phasing, over one that does (common
practice, no source: valves and pistons make noise that a sensor counts)."""
MISSED_KNOCK = 0.3
"""Chance that an engine knocks throughout a speed and its sensor counts nothing (common practice,
no source: a sensor may be set deaf)."""
LASTING_EXCESS = 0.10
"""Logarithm of knock integral over threshold beyond which knock lasts, not now and then [-]."""


def _logged(prepared: Prepared) -> bool:
    """True where a spark engine logged knock, and the phasing that it knocked or did not at."""
    source = prepared.state.phasing_source
    known = source in (PhasingSource.GIVEN, PhasingSource.IGNITION_ADVANCE)
    spark = not prepared.engine.compression_ignition
    logged = (prepared.run.channel(name) for name in ("knock_count", "knock_retard"))
    return spark and known and any(channel is not None for channel in logged)


def _sign(prepared: Prepared) -> LogSign | None:
    return knock_sign(prepared.run)


def _excess(asked: Asked, low: float, high: float) -> Array:
    """Greatest excess over the knock threshold between two speeds of the run (N,)."""
    prepared = asked.prepared
    inside = (prepared.speed >= low - 1e-9) & (prepared.speed <= high + 1e-9)
    at = np.flatnonzero(inside)
    if len(at):
        index = np.unique(at[np.linspace(0, len(at) - 1, min(len(at), 5)).astype(int)])
    else:
        index = np.array([int(np.argmin(np.abs(prepared.speed - 0.5 * (low + high))))])
    return np.asarray(asked.read(index, lambda loads: loads.knock_excess).max(axis=0))


def _counted(asked: Asked) -> Array:
    sign = _sign(asked.prepared)
    assert sign is not None
    return np.where(_excess(asked, sign.first, sign.last) > 0, 1.0, QUIET_LIKELIHOOD)


def _quiet(asked: Asked) -> Array:
    speed = asked.prepared.speed
    lasts = _excess(asked, float(speed[0]), float(speed[-1])) > LASTING_EXCESS
    return np.where(lasts, MISSED_KNOCK, 1.0)


KNOCK_COUNTED = Piece(
    name="knock_counted",
    applies=lambda prepared: _logged(prepared) and _sign(prepared) is not None,
    likelihood=_counted,
    words=lambda prepared: (
        "the knock sensor counted, so engines that would not have knocked there are held "
        f"{QUIET_LIKELIHOOD:.0%} as likely"
    ),
    check=lambda prepared: "knock counts",
)
KNOCK_QUIET = Piece(
    name="knock_quiet",
    applies=lambda prepared: _logged(prepared) and _sign(prepared) is None,
    likelihood=_quiet,
    words=lambda prepared: (
        "the knock sensor counted next to nothing, so engines that would have knocked throughout "
        f"are held {MISSED_KNOCK:.0%} as likely"
    ),
    check=lambda prepared: "knock counts",
)
