"""What a logged coolant pressure says of the head: that it lifted, or that it did not."""

import numpy as np
import numpy.typing as npt

from torquerisk.case import GAS_ELSEWHERE
from torquerisk.quantities import Array
from torquerisk.study.evidence.piece import Asked, Index, Piece, few_speeds
from torquerisk.study.limits import Limit
from torquerisk.study.limits.head import HEAD_LIFT, HEAD_WEEP
from torquerisk.study.run.log_signs import coolant_sign_of
from torquerisk.study.run.run_on_grid import Prepared

LIFT_SPEEDS = 5
"""Speeds at which a sign of lift is looked for within the range where it showed."""
WEEP_LIKELIHOOD, TIGHT_LIKELIHOOD = 0.5, 0.03
"""Of a rise of coolant pressure in an engine whose ring only weeps, and in one whose ring stays
tight, over one whose head lifts (common practice, no source: nothing but gas raises it within
seconds, short of a boiling or cavitating pump, so few who see it find a gasket that is sound)."""
MISSED_LIFT = 0.3
"""Chance that a head lifts within a run and coolant pressure stays flat (common practice, no
source): a short lift lets little gas through, and that may vent."""


def sign_of(prepared: Prepared) -> tuple[float, float, float] | None:
    """Rise of coolant pressure in the run and where, or None."""
    return coolant_sign_of(prepared.run)


def _passes(asked: Asked, index: Index, limit: Limit) -> npt.NDArray[np.bool_]:
    """Which engines pass a limit of the head at one of these speeds of the run (N,)."""
    passed = np.zeros(asked.draws.count, dtype=bool)
    for speed in index.tolist():
        _, loads = asked.loads_at(speed)
        passed |= limit.capacity(loads, asked.parts)[0] < asked.prepared.torque[speed]
    return passed


def _rose(asked: Asked) -> Array:
    """How well each draw explains the rise of coolant pressure: by a head that lifts or weeps."""
    prepared = asked.prepared
    sign = sign_of(prepared)
    assert sign is not None
    wanted = np.linspace(sign[1], sign[2], LIFT_SPEEDS)
    index = np.searchsorted(prepared.speed, wanted - 1e-9)
    index = np.unique(np.minimum(index, len(prepared.speed) - 1))
    weeps = np.where(_passes(asked, index, HEAD_WEEP), WEEP_LIKELIHOOD, TIGHT_LIKELIHOOD)
    return np.where(_passes(asked, index, HEAD_LIFT), 1.0, weeps)


def _rose_words(prepared: Prepared) -> str:
    rise, _, _ = sign_of(prepared) or (0.0, 0.0, 0.0)
    return f"coolant pressure rose by {rise / 1e3:.0f} kPa, a sign that the head lifted there"


COOLANT_ROSE = Piece(
    name="coolant_rose",
    applies=lambda prepared: sign_of(prepared) is not None,
    likelihood=_rose,
    words=_rose_words,
    check=lambda prepared: "coolant pressure",
)


def _flat(asked: Asked) -> Array:
    """1 for engines whose head does not lift in the run, the chance of missing it for the rest."""
    prepared = asked.prepared
    return np.where(
        _passes(asked, few_speeds(prepared.speed, prepared.torque), HEAD_LIFT), MISSED_LIFT, 1.0
    )


COOLANT_FLAT = Piece(
    name="coolant_flat",
    applies=lambda prepared: (
        prepared.run.channel("coolant_pressure") is not None
        and sign_of(prepared) is None
        and all(notice.code != GAS_ELSEWHERE for notice in prepared.run.notices)
    ),
    likelihood=_flat,
    words=lambda prepared: (
        "coolant pressure stayed flat, so engines whose head would have lifted are held "
        f"{MISSED_LIFT:.0%} as likely"
    ),
    check=lambda prepared: "coolant pressure",
)
