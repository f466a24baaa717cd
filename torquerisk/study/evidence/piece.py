"""What a piece of evidence is: when there is one, how well each engine agrees, and its words."""

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from torquerisk.quantities import Array
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.limits.limit import place_of
from torquerisk.study.loads.demand import Demand, demand
from torquerisk.study.loads.load_rows import rows_about
from torquerisk.study.run.operating_state import Operating
from torquerisk.study.run.run_on_grid import Prepared
from torquerisk.study.strengths.parts import Parts, parts_of

Index = npt.NDArray[np.intp]

EVIDENCE_SPEEDS = 5
"""Speeds at which a curve is judged: its peaks, its ends and evenly between."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Asked:
    """A run on its grid and simulated engines that are asked whether they agree with it."""

    prepared: Prepared
    draws: Draws
    _loads: dict[int, tuple[Operating, Demand]] = field(default_factory=dict)
    _parts: Parts | None = None

    @cached_property
    def parts(self) -> Parts:
        """Strength of the parts of each engine."""
        return self._parts or parts_of(self.prepared.engine, self.draws)

    def loads_at(self, speed: int) -> tuple[Operating, Demand]:
        """State and loads at a speed of the run's grid, about its torque; worked out once."""
        if speed not in self._loads:
            engine, torque = self.prepared.engine, float(self.prepared.torque[speed])
            at = np.array([speed])
            # Read at the run's torque alone, and what was seen there is what engines are asked of.
            state = dataclasses.replace(self.prepared.state, phased_to=None, lift_seen=None)
            some, sd = state_at_index(state, at), self.prepared.reading_sd[at]
            rows, fastest = rows_about(engine, torque, torque), float(self.prepared.speed.max())
            loads = demand(engine, some, self.draws, sd, rows=rows, fastest=fastest)
            self._loads[speed] = some, loads
        return self._loads[speed]

    def read(self, index: Index, values: Callable[[Demand], Array]) -> Array:
        """Values of the loads (S, N) at some speeds of the run and its torque there."""
        return np.concatenate([self._read(speed, values) for speed in index.tolist()])

    def _read(self, speed: int, values: Callable[[Demand], Array]) -> Array:
        _, loads = self.loads_at(speed)
        return place_of(loads.torque, self.prepared.torque[[speed]]).read(values(loads))

    def take(self, index: Index) -> "Asked":
        """Some of the engines, with what is worked out already."""
        loads = {key: (state, found.take(index)) for key, (state, found) in self._loads.items()}
        parts = self.parts.take(index) if "parts" in vars(self) else None
        return Asked(
            prepared=self.prepared, draws=self.draws.take(index), _loads=loads, _parts=parts
        )


def _nothing(prepared: Prepared) -> str:
    return ""


@dataclass(frozen=True, kw_only=True)
class Piece:
    """One piece of evidence. A new channel that tells something is one of these in its module."""

    name: str
    applies: Callable[[Prepared], bool]
    """Whether the case has it."""
    likelihood: Callable[[Asked], Array]
    """Of the evidence given each engine (N,), 0 to 1, over its highest."""
    words: Callable[[Prepared], str]
    """What it is, inside a sentence; '' where it goes without saying."""
    check: Callable[[Prepared], str] = _nothing
    """What to check where next to no engine agrees, as items of a list; '' for nothing."""
    mismatch: Callable[[Prepared], str] = _nothing
    """A sentence on inputs that contradict each other on their own; '' where none do."""


def few_speeds(speed: Array, torque: Array, count: int = EVIDENCE_SPEEDS) -> Index:
    """Indices of about `count` speeds of a curve: even, with peak torque and peak power.

    All of them where there are no more.
    """
    if len(speed) <= count:
        return np.arange(len(speed))
    wanted = np.linspace(speed[0], speed[-1], count)
    index = np.searchsorted(speed, wanted).clip(0, len(speed) - 1)
    extra = [int(np.argmax(torque)), int(np.argmax(torque * speed))]
    return np.unique(np.concatenate([index, extra]))


def state_at_index(state: Operating, index: Index) -> Operating:
    """The state at some of its speeds."""
    changed = {
        f.name: getattr(state, f.name)[index]
        for f in dataclasses.fields(state)
        if isinstance(getattr(state, f.name), np.ndarray)
    }
    return dataclasses.replace(state, **changed)
