"""Strength of all parts of an engine, by draw: what the limits read beside the demand."""

from dataclasses import dataclass

from torquerisk.case import Engine
from torquerisk.quantities import Array
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.strengths.head import HeadCapacity, head_capacity
from torquerisk.study.strengths.running_gear import GearCapacity, gear_capacity


@dataclass(frozen=True, kw_only=True, eq=False)
class Parts:
    """Head joint, running gear and the engine itself, for the same draws."""

    engine: Engine
    draws: Draws
    head: HeadCapacity
    gear: GearCapacity

    def given(self, name: str) -> Array:
        """Draws (N,) of an optional input that was given."""
        return self.draws.of_value(self.engine.value(name))


def parts_of(engine: Engine, draws: Draws) -> Parts:
    """Strength of an engine's parts for every draw."""
    return Parts(
        engine=engine,
        draws=draws,
        head=head_capacity(engine, draws),
        gear=gear_capacity(engine, draws),
    )
