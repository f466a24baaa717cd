"""How widely preload scatters by tightening method, and torque for preload by surface."""

import enum
from dataclasses import dataclass

import numpy as np

from torquerisk.errors import InputError
from torquerisk.physics.arrays import Array, Floats, require, require_between


class TighteningMethod(enum.Enum):
    """How the fasteners were brought to their preload."""

    TORQUE = "torque"
    STEPPED_TORQUE = "stepped torque"
    ANGLE = "angle"
    YIELD = "yield"
    STRETCH = "stretch"
    ULTRASONIC = "ultrasonic"
    HYDRAULIC = "hydraulic"
    POWER_DRIVER = "power driver"
    IMPACT = "impact"
    FEEL = "feel"


@dataclass(frozen=True, kw_only=True)
class PreloadScatter:
    """Band of preload over its mean for a tightening method, friction included."""

    method: TighteningMethod
    half_width: float
    """x: nearly all fasteners lie within 1 - x to 1 + x of the mean [-]."""
    control_sd: float
    """Relative standard deviation left when friction is known exactly: tool and reading [-]."""
    source: str
    """Key of SOURCES for the band."""
    note: str
    """What the band covers, in words."""

    @property
    def low(self) -> float:
        """Least preload over the mean [-]."""
        return 1 - self.half_width

    @property
    def high(self) -> float:
        """Most preload over the mean [-]."""
        return 1 + self.half_width

    @property
    def relative_sd(self) -> float:
        """Relative standard deviation [-]: the band read as two standard deviations each way."""
        return self.half_width / 2


def _scatter(
    method: TighteningMethod, half_width: float, control_sd: float, source: str, note: str
) -> PreloadScatter:
    return PreloadScatter(
        method=method, half_width=half_width, control_sd=control_sd, source=source, note=note
    )


_METHOD = TighteningMethod

PRELOAD_SCATTER: dict[TighteningMethod, PreloadScatter] = {
    row.method: row
    for row in (
        _scatter(_METHOD.TORQUE, 0.25, 0.03, "MACHINERY", "torque wrench, one pull, oiled"),
        _scatter(_METHOD.STEPPED_TORQUE, 0.30, 0.03, "GASKET-NOTE", "head bolts, torque in steps"),
        _scatter(_METHOD.ANGLE, 0.10, 0.02, "GASKET-NOTE", "head bolts, snug torque and angle"),
        _scatter(_METHOD.YIELD, 0.08, 0.02, "MACHINERY", "yield sensed by torque gradient"),
        _scatter(_METHOD.STRETCH, 0.05, 0.02, "MACHINERY", "stretch measured over both ends"),
        _scatter(_METHOD.ULTRASONIC, 0.10, 0.04, "NSTS-08307", "stretch measured by ultrasound"),
        _scatter(_METHOD.HYDRAULIC, 0.15, 0.06, "NSTS-08307", "hydraulic tensioner"),
        _scatter(_METHOD.POWER_DRIVER, 0.35, 0.10, "VDI2230", "precision power driver"),
        _scatter(_METHOD.IMPACT, 0.60, 0.25, "VDI2230", "impact driver"),
        _scatter(_METHOD.FEEL, 0.35, 0.15, "MACHINERY", "by feel"),
    )
}
"""Bands by method. `control_sd` is common practice, no source (a torque wrench is good to 4 %)."""


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


def tightening_method(text: str) -> TighteningMethod:
    """Return the tightening method that a word names.

    Raises InputError listing the methods.
    """
    wanted = text.strip().lower().replace("_", " ").replace("-", " ")
    for method in TighteningMethod:
        if method.value == wanted:
            return method
    allowed = ", ".join(method.value for method in TighteningMethod)
    raise InputError(f"tightening is {text!r}, but must be one of: {allowed}.")
