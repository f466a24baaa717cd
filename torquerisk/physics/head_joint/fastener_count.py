"""How many fasteners hold down one cylinder of an inline head that shares them between bores.

Fasteners are counted by tributary: one between two bores is half each bore's. Inner and end
cylinders are judged apart and the worse one governs: with equal rows always an inner one, as an end
cylinder has its outer row to itself. The other count (all around a bore) is shown beside it, never
used.
"""

from dataclasses import dataclass

import numpy as np

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.arrays import Array, Floats, require


@dataclass(frozen=True, kw_only=True)
class FastenerCounts:
    """Fasteners per cylinder by the two defensible counts; a count need not be whole.

    Tributary: a fastener between two bores counts half for each (all bores loaded alike).
    Adjacent: every fastener around the bore counts wholly (the neighbours are not firing).
    """

    tributary_inner: float
    """An inner cylinder; the end cylinder's where there are fewer than three."""
    tributary_end: float
    adjacent: float
    inner_cylinders: int
    """With another cylinder on both sides, in one head."""
    end_cylinders: int
    """At an end of the head, a single cylinder included."""

    @property
    def least(self) -> float:
        """Tributary count of the most lightly clamped cylinder."""
        return min(self.tributary_inner, self.tributary_end)


def _row(fasteners: int, cylinders_per_head: int) -> float:
    """Return the mean number of fasteners in one row across the head."""
    if cylinders_per_head < 1:
        raise OutOfRangeError("cylinders_per_head", cylinders_per_head, "1 or more")
    least = 2 * (cylinders_per_head + 1) if cylinders_per_head > 1 else 3
    if fasteners < least:
        raise OutOfRangeError(
            "fasteners",
            fasteners,
            f"at least {least} in a head of {cylinders_per_head}",
            "Give all fasteners of one head, not those of one cylinder.",
        )
    return fasteners / (cylinders_per_head + 1)


def effective_fasteners(
    fasteners: int, cylinders_per_head: int, *, shared_weight: Floats, end: bool
) -> Array:
    """Return the fasteners that hold one cylinder, with a weight for shared ones [-].

    fasteners: in one head (not in the whole of a vee engine); cylinders_per_head: n;
    shared_weight: what a fastener between two bores counts for either, 0.5 tributary to 1 adjacent
    [-]; end: True for an end cylinder.
    With r = fasteners/(n + 1) a row: inner 2 r w, end r + r w, a single cylinder 2 r.
    Exact for equal rows. Source: [PRACTICE] for any weight between 0.5 and 1.
    """
    row = _row(fasteners, cylinders_per_head)
    require("shared_weight", shared_weight, "from 0.5 to 1", lambda x: (x >= 0.5) & (x <= 1))
    weight = np.asarray(shared_weight, dtype=float)
    if cylinders_per_head == 1:
        return np.full_like(weight, 2 * row)
    if end or cylinders_per_head == 2:
        return row * (1 + weight)
    return 2 * row * weight


def fastener_counts(fasteners: int, cylinders_per_head: int) -> FastenerCounts:
    """Return the fasteners per cylinder of an inline head by both counts.

    fasteners: in one head; cylinders_per_head: n. Rows across the head at both ends and between
    bores, r = fasteners/(n + 1) each: inner tributary r, end 1.5 r, adjacent 2 r.
    Exact for equal rows. Source: derived. Raises OutOfRangeError on too few fasteners.
    """

    def count(weight: float, *, end: bool) -> float:
        row_count = effective_fasteners(
            fasteners, cylinders_per_head, shared_weight=weight, end=end
        )
        return float(row_count)

    return FastenerCounts(
        tributary_inner=count(0.5, end=False),
        tributary_end=count(0.5, end=True),
        adjacent=count(1.0, end=True),
        inner_cylinders=max(cylinders_per_head - 2, 0),
        end_cylinders=min(cylinders_per_head, 2),
    )
