"""What a measured stretch of the head fasteners says of their preload."""

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.evidence.piece import Asked, Piece

READING_SD = 0.008e-3
"""Of the mean stretch of a set, measured with a micrometer [m] (common practice, no source)."""
LENGTH_SD = 0.03
"""Of the stretch by the model at the right preload: ends and run-outs [-] (stated choice)."""


def _likelihood(asked: Asked) -> Array:
    """How well each draw's stretch, cold and settled, fits the measured one."""
    measured = asked.prepared.engine.given("head_joint.measured_stretch")
    head = asked.parts.head
    stretch = head.preload_cold * head.fastener_compliance
    sd = np.hypot(READING_SD, LENGTH_SD * measured)
    return np.asarray(np.exp(-0.5 * ((stretch - measured) / sd) ** 2))


STRETCH = Piece(
    name="stretch",
    applies=lambda prepared: prepared.engine.has("head_joint.measured_stretch"),
    likelihood=_likelihood,
    words=lambda prepared: "the measured stretch of the head fasteners",
    check=lambda prepared: "the measured stretch, its unit, clamped length and shank diameter",
)
