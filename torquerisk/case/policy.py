"""How careful to be, and how to shape the table."""

import dataclasses
from dataclasses import dataclass

from torquerisk.case.declare import Kind, check_section, declared
from torquerisk.quantities import RPM

RISE = Kind.TORQUE_RISE.shown_size
MANY_TIMES = 500
"""Pulls that 'survived many times' stands for, and so those that a tune is judged over (stated
choice)."""
STEPS = (0.1, 0.2, 0.5, 1.0)
"""Round steps of a table [N*m]."""
FINE_STEP = 0.01
"""Share of the greatest torque that a step is no more than, where none is asked [-]."""


@dataclass(frozen=True, kw_only=True)
class Policy:
    """Accepted chance, shape of the table and how many engines to simulate. SI inside."""

    chance: float = declared(
        "Accepted chance at each speed", Kind.SHARE.within(0.0005, 0.5), required=True
    )
    peak_from: float | None = declared(
        "Peak torque not before", Kind.SPEED.within(200 * RPM, 20000 * RPM)
    )
    rise: float | None = declared(
        "Steepest rise of the limit",
        Kind.TORQUE_RISE.within(1 * RISE, 20_000 * RISE),
        help="60 N*m/1000rpm when left out, or what the known-good curve rises by where that is "
        "more",
    )
    points: int = declared("Breakpoints", Kind.COUNT.within(2, 64), required=True)
    resolution: float | None = declared(
        "Torque step of the table",
        Kind.TORQUE.within(0.01, 50.0),
        help="when left out the greatest of 0.1, 0.2, 0.5 and 1 N*m that is no more than 1 % of "
        "the run's greatest torque",
    )
    draws: int = declared("Simulated engines", Kind.COUNT.within(64, 65536), required=True)
    pulls: int = declared(
        "Pulls that the tune must last",
        Kind.COUNT.within(1, 100_000),
        required=True,
        help="Each speed is met once in a pull. The chances are over all of these.",
    )
    seed: int = declared("Seed", Kind.COUNT.within(0, 2**31 - 1), required=True)
    abnormal_in_chance: bool = False
    """Count abnormal cycles (knock, pre-ignition) in the chance, not only beside it."""
    no_dip: bool = False
    """The limit may not fall before its peak."""
    objective: str = declared(
        "What the table is to be best at",
        required=True,
        options=("most area", "shortest sweep", "least change", "same shape later"),
    )

    def __post_init__(self) -> None:
        check_section(self, "")

    def of(self, torque: float) -> "Policy":
        """The policy of a run: with the step for its greatest torque [N*m] where none is asked."""
        if self.resolution is not None:
            return self
        fine = [step for step in STEPS if step <= FINE_STEP * torque]
        return dataclasses.replace(self, resolution=max(fine, default=min(STEPS)))

    @property
    def step(self) -> float:
        """Torque step of a run's table [N*m]."""
        if self.resolution is None:
            raise ValueError("a policy has no step until it is that of a run: see Policy.of")
        return self.resolution


def default_policy(**changes: float | int | str | bool | None) -> Policy:
    """The policy with stated defaults: 1 % chance, 16 points, 1,024 draws, 500 pulls, any rise,
    a torque step by the run."""
    values: dict[str, float | int | str | bool | None] = {
        "chance": 0.01,
        "peak_from": None,
        "rise": None,
        "points": 16,
        "resolution": None,
        "draws": 1024,
        "pulls": MANY_TIMES,
        "seed": 20240229,
        "objective": "most area",
    }
    values.update(changes)
    return Policy(**values)  # type: ignore[arg-type]
