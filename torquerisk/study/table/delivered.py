"""What an engine delivers under a torque limit, and what that comes to."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.quantities import Array
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limit_curve.curve import area_under_power, interpolated_limit
from torquerisk.study.table.finer_grid import failing_at


@dataclass(frozen=True, kw_only=True)
class Tally:
    """A curve in two numbers."""

    area: float
    """Area under power over the band [W*rad/s]."""
    chance_any_max: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Delivered:
    """A limit on a grid of S speeds and what is made under it by N simulated engines. SI."""

    speed: Array
    limit: Array
    """Linear between the table's breakpoints (S,) [N*m]."""
    torque: Array
    """The lesser of limit and reach (S,) [N*m]."""
    failed: npt.NDArray[np.bool_]
    """Where a limit of strength is passed in all pulls (S, N)."""
    failed_once: npt.NDArray[np.bool_]
    """The same in one pull."""

    @property
    def peak_speed(self) -> float:
        """Where the torque is greatest [rad/s]."""
        return float(self.speed[int(np.argmax(self.torque))])

    @property
    def peak_torque(self) -> float:
        """The greatest torque [N*m]."""
        return float(self.torque.max())

    @property
    def chance_pull(self) -> float:
        """Chance that a limit of strength is passed anywhere in one pull [-]."""
        return float(self.failed_once.any(axis=0).mean())

    @property
    def chance_pulls(self) -> float:
        """The same in all pulls [-]."""
        return float(self.failed.any(axis=0).mean())

    def tally(self, band: tuple[float, float]) -> Tally:
        """The curve in two numbers. band: lowest and highest speed [rad/s]."""
        return Tally(
            area=area_under_power(self.speed, self.torque, band),
            chance_any_max=float(self.failed.mean(axis=1).max()),
        )


def delivered_under(
    assessment: Assessment, breakpoints: Array, limit: Array, reach: Array | None
) -> Delivered:
    """What the assessed engine delivers under a table, at the assessment's speeds.

    breakpoints: rising (R,) [rad/s]; limit: (R,) [N*m]; reach: what the engine can make at the
    assessment's speeds (S,) [N*m], or None where it is left open.
    """
    between = interpolated_limit(breakpoints, limit, assessment.speed)
    torque = between if reach is None else np.minimum(between, reach)
    return Delivered(
        speed=assessment.speed,
        limit=between,
        torque=torque,
        failed=failing_at(assessment, torque),
        failed_once=assessment.model.least.once < torque[:, None],
    )


def measured_tally(assessment: Assessment, band: tuple[float, float]) -> Tally:
    """The measured run in the same two numbers. band: lowest and highest speed [rad/s]."""
    return Tally(
        area=area_under_power(assessment.speed, assessment.torque, band),
        chance_any_max=float(assessment.chance_any.max()),
    )
