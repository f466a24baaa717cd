"""How widely preload scatters by tool and hand alone, friction apart, by tightening method."""

import enum

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_between


class TighteningMethod(enum.Enum):
    """How the fasteners were brought to their preload."""

    TORQUE = "torque"
    ANGLE = "angle"
    YIELD = "yield"
    STRETCH = "stretch"


CONTROL_SD = {
    TighteningMethod.TORQUE: 0.03,
    TighteningMethod.ANGLE: 0.02,
    TighteningMethod.YIELD: 0.02,
    TighteningMethod.STRETCH: 0.02,
}
"""Relative standard deviation of preload left when friction is known exactly [-] (common practice,
no source: a torque wrench is good to 4 %). With friction nearly all fasteners lie within 25 % of
the mean by torque, 10 by angle, 8 to yield, 5 by stretch. Source: [MACHINERY]; angle
[GASKET-NOTE]."""


def relative_sd_of_mean(
    relative_sd: Floats, *, effective_count: Floats, common_share: Floats = 0.5
) -> Array:
    """Return the relative standard deviation of the mean preload of several fasteners [-].

    relative_sd: of one fastener [-]; effective_count: fasteners that act together [-];
    common_share: share of the variance that all of them have in common (same lubricant, same
    wrench, same hand), 0 to 1; the default of one half is common practice, no source.
    sd sqrt(c + (1 - c)/N). Exact. Source: identity (variance of a mean).
    """
    require("effective_count", effective_count, "1 or more", lambda x: x >= 1)
    require_between("common_share", common_share, 0, 1)
    common = np.asarray(common_share, dtype=float)
    return np.asarray(relative_sd) * np.sqrt(common + (1 - common) / np.asarray(effective_count))
