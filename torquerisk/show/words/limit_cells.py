"""The cells of a limit table's row that text, report, page and files write alike.

A row beyond the run is not assessed: what governs it reads so, and its other cells are empty.
"""

import math

import numpy as np

from torquerisk.quantities import DEGREE
from torquerisk.show.words import prose
from torquerisk.study.answers.results import Assessment, LimitRow

ROUNDING = 1e-6
"""Tenths of a degree that are no more than rounding."""
BEYOND_RUN = "not assessed"
"""What stands for the governing limit in a row beyond the run."""


def degrees(angle: float | None) -> float | None:
    """An angle [rad] in degrees, or None."""
    return None if angle is None else angle / DEGREE


def titles_of(assessment: Assessment) -> dict[str, str]:
    """The limits' titles by name."""
    return {name: item.limit.title for name, item in assessment.limits.items()}


def governed_by(row: LimitRow, titles: dict[str, str]) -> str:
    """The title of the limit that governs a row."""
    return titles[row.governing] if row.assessed else BEYOND_RUN


def exceed(row: LimitRow, draws: int) -> str:
    """In how many of so many simulated engines a row is exceeded."""
    return "" if row.chance is None else prose.chance_count(row.chance, draws)


def spare(row: LimitRow, size: float) -> str:
    """Torque left to the accepted chance, in a unit of that SI size.

    'open' where no limit is in reach, 'none' where no torque is acceptable.
    """
    if row.spare is None:
        return ""
    if math.isfinite(row.spare):
        return prose.plain(row.spare / size)
    return "open" if row.spare > 0 else "none"


def judged_at(row: LimitRow) -> str:
    """Phasing that a row was judged at [degrees after firing TDC]."""
    return "" if row.ca50 is None else prose.plain(row.ca50 / DEGREE, 1)


def not_before(row: LimitRow) -> str:
    """Earliest phasing that a row can carry [degrees after firing TDC], tenths rounded up.

    'none' where not even the latest judged holds.
    """
    if not row.assessed:
        return ""
    earliest = not_before_degrees(row)
    return "none" if earliest is None else prose.plain(earliest, 1)


def not_before_degrees(row: LimitRow) -> float | None:
    """The same as a number; None too where not even the latest judged holds."""
    earliest = row.ca50_not_before
    return None if earliest is None else float(np.ceil(10 * earliest / DEGREE - ROUNDING) / 10)


def tenths_down(angle: float) -> str:
    """An angle [rad] in tenths of a degree, rounded down."""
    return prose.plain(np.floor(10 * angle / DEGREE + ROUNDING) / 10, 1)


def advance_not_above(row: LimitRow) -> str:
    """Most ignition advance that a row can carry [degrees before TDC], tenths rounded down."""
    if not row.assessed:
        return ""
    most = row.advance_not_above
    return "none" if most is None else tenths_down(most)
