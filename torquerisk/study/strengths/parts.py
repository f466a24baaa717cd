"""Strength of all parts of an engine, by draw: what the limits read beside the demand."""

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

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

    def take(self, index: npt.NDArray[np.intp]) -> "Parts":
        """The parts of some of the draws."""
        head, gear = (_taken(part, index, self.draws.count) for part in (self.head, self.gear))
        return Parts(engine=self.engine, draws=self.draws.take(index), head=head, gear=gear)

    def given(self, name: str) -> Array:
        """Draws (N,) of an optional input that was given."""
        return self.draws.of_value(self.engine.value(name))


def _taken(value: Any, index: npt.NDArray[np.intp], count: int) -> Any:
    """A record with some of `count` draws: of each array whose last axis is theirs."""
    if isinstance(value, np.ndarray):
        return value[..., index] if value.shape[-1:] == (count,) else value
    if isinstance(value, Mapping):
        return {key: _taken(item, index, count) for key, item in value.items()}
    if not dataclasses.is_dataclass(value) or isinstance(value, type):
        return value
    each = {f.name: getattr(value, f.name) for f in dataclasses.fields(value)}
    return dataclasses.replace(value, **_taken(each, index, count))


def parts_of(engine: Engine, draws: Draws) -> Parts:
    """Strength of an engine's parts for every draw."""
    return Parts(
        engine=engine,
        draws=draws,
        head=head_capacity(engine, draws),
        gear=gear_capacity(engine, draws),
    )
