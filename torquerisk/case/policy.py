"""How careful to be, and how to shape the table."""

from dataclasses import dataclass

from torquerisk.case.declare import Kind, check_section, declared
from torquerisk.quantities import RPM

RISE = Kind.TORQUE_RISE.shown_size
MANY_TIMES = 500
"""Pulls that 'survived many times' stands for, and so those that a tune is judged over (stated
choice)."""


@dataclass(frozen=True, kw_only=True)
class Policy:
    """Accepted chance, shape of the table and how many engines to simulate. SI inside."""

    chance: float = declared(
        label="Accepted chance at each speed", kind=Kind.SHARE, required=True, low=0.0005, high=0.5
    )
    peak_from: float | None = declared(
        label="Peak torque not before", kind=Kind.SPEED, low=200 * RPM, high=20000 * RPM
    )
    rise: float | None = declared(
        label="Steepest rise of the limit",
        kind=Kind.TORQUE_RISE,
        low=1 * RISE,
        high=20_000 * RISE,
        help="60 N*m/1000rpm when left out, or what the known-good curve rises by where that is "
        "more",
    )
    points: int = declared(label="Breakpoints", kind=Kind.COUNT, required=True, low=2, high=64)
    resolution: float = declared(
        label="Torque step of the table", kind=Kind.TORQUE, required=True, low=0.01, high=50.0
    )
    draws: int = declared(
        label="Simulated engines", kind=Kind.COUNT, required=True, low=64, high=65536
    )
    pulls: int = declared(
        label="Pulls that the tune must last",
        kind=Kind.COUNT,
        required=True,
        low=1,
        high=100_000,
        help="Each speed is met once in a pull. The chances are over all of these.",
    )
    seed: int = declared(label="Seed", kind=Kind.COUNT, required=True, low=0, high=2**31 - 1)
    abnormal_in_chance: bool = False
    """Count abnormal cycles (knock, pre-ignition) in the chance, not only beside it."""
    no_dip: bool = False
    """The limit may not fall before its peak."""
    objective: str = declared(
        label="What the table is to be best at",
        kind=None,
        required=True,
        options=("most area", "shortest sweep", "least change", "same shape later"),
    )

    def __post_init__(self) -> None:
        check_section(self, "")


def default_policy(**changes: float | int | str | bool | None) -> Policy:
    """The policy with stated defaults: 1 % chance, 16 points, 1,024 draws, 500 pulls, any rise."""
    values: dict[str, float | int | str | bool | None] = {
        "chance": 0.01,
        "peak_from": None,
        "rise": None,
        "points": 16,
        "resolution": 1.0,
        "draws": 1024,
        "pulls": MANY_TIMES,
        "seed": 20240229,
        "objective": "most area",
    }
    values.update(changes)
    return Policy(**values)  # type: ignore[arg-type]
