"""The result of an assessment: frozen numbers with their methods, sources and notices."""

import enum
import math
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Engine, Notice, Policy, Run
from torquerisk.quantities import Array
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.evidence.agreement import Evidence
from torquerisk.study.limits import Limit, accepted_of, bounding, running_maximum
from torquerisk.study.loads.demand import Demand
from torquerisk.study.run.crank_reading import Reading
from torquerisk.study.run.operating_state import Operating, PhasingSource
from torquerisk.study.strengths.parts import Parts


@dataclass(frozen=True, kw_only=True, eq=False)
class Band:
    """5, 50 and 95 % points over the simulated engines, (S,) each [SI]."""

    p05: Array
    p50: Array
    p95: Array


def band(values: Array) -> Band:
    """Band (S,) of draws (S, N). Infinite values keep their order; a midpoint is never invented.

    The smallest value that at least that share of the draws do not exceed.
    """
    if len(values) > 1 and values.strides[0] == 0:
        one = band(np.ascontiguousarray(values[:1]))
        return Band(**{k: np.repeat(getattr(one, k), len(values)) for k in ("p05", "p50", "p95")})
    count = values.shape[-1]
    ranks = [max(int(np.ceil(share * count - 1e-9)) - 1, 0) for share in (0.05, 0.5, 0.95)]
    ordered = np.partition(values, ranks, axis=-1)
    low, middle, high = (ordered[..., rank].copy() for rank in ranks)
    return Band(p05=low, p50=middle, p95=high)


class State(enum.Enum):
    """What can be said of a limit at a speed, from its whole range and not from its middle."""

    HOLDS = "estimated to hold"
    CLOSE = "too close to call"
    EXCEEDS = "more than is accepted"
    NOT_ASSESSED = "not assessed"


SURE = 3.0
"""Standard errors of sampling above the accepted chance from which it is passed (stated choice)."""
FAR = 10.0
"""Times the accepted chance beyond which it is, however few the engines (stated choice)."""


PLATEAU = 0.01
"""Share of peak torque by which two pulls of one engine differ: so much less is the peak as well
(common practice, no source)."""


def state_of(chance: float, accepted: float, engines: int) -> State:
    """What a chance says of so many independent simulated engines, beside the accepted one."""
    if chance <= accepted:
        return State.HOLDS
    told_apart = accepted + SURE * math.sqrt(accepted * (1 - accepted) / engines)
    return State.EXCEEDS if chance > min(told_apart, FAR * accepted) else State.CLOSE


@dataclass(frozen=True, kw_only=True, eq=False)
class LimitResult:
    """One limit at every speed of the grid."""

    limit: Limit
    utilisation: Array
    """Median of load over strength (S,) [-]."""
    chance: Array
    """Share of simulated engines that pass it (S,) [-]."""
    load: Band
    strength: Band
    margin: Band
    """Strength less load [SI]."""
    capacity_torque: Band
    """-inf: no torque is acceptable; inf: not reached within the rows of the model [N*m]."""
    speed_limited: Array
    """Share of simulated engines in which it fails on speed alone (S,) [-]."""
    of_speed: bool = False
    """True where torque does not change its load."""

    def state(self, accepted: float, engines: int) -> list[State]:
        """State word at each speed for an accepted chance and so many independent engines."""
        most = accepted_of(self.limit.kind, accepted)
        return [state_of(float(c), most, engines) for c in self.chance]


@dataclass(frozen=True, kw_only=True, eq=False)
class Abnormal:
    """Abnormal cycles, apart from the normal ones: chance in one pull by speed (S,).

    A speed stands for the same band about it whatever the grid, so bands overlap on a fine grid;
    the chances of a whole pull count every cycle once.
    """

    knock_rate: Band
    """Heavy knocks per cycle."""
    preignition_rate: Band
    """Pre-ignitions per cycle."""
    chance_event: Array
    """Chance that one happens near this speed in one pull."""
    chance_harm: Array
    """Chance that one happens near this speed whose peak passes a strength limit, in one pull."""
    pull_event: float
    """Chance that one happens anywhere in one pull over these speeds."""
    pull_harm: float
    """Chance that one happens anywhere in one pull whose peak passes a strength limit."""

    @property
    def breaks_nothing(self) -> bool:
        """True where that rounds to nothing: it is an order of magnitude, and counted nowhere."""
        return self.pull_harm < 1e-4


@dataclass(frozen=True, kw_only=True, eq=False)
class Least:
    """Least capacity torques of engines (S, M) [N*m]."""

    binding: Array
    """Of any limit that binds."""
    strength: Array
    """Of any limit of strength, in all pulls."""
    once: Array
    """Of any limit of strength, in one pull."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Model:
    """What the numbers came from, kept to ask more of the same simulated engines."""

    demand: Demand
    parts: Parts
    operating: Operating
    draws: Draws
    """The first of all, whose loads and parts are kept (N,)."""
    every: Draws
    """All simulated engines, whose chances are told (M,)."""
    reading_sd: Array
    """Relative standard deviation of the torque scale (S,) [-]."""
    capacities: dict[str, Array]
    """Capacity torque (S, N) by limit name [N*m]."""
    least: Least
    """Of all engines."""

    def bounding(self, limit: Limit) -> Array:
        """Capacity torque of a limit (S, N) [N*m] as it bounds a table: see `limits.bounding`."""
        return bounding(limit, self.capacities[limit.name], self.draws)

    def load(self, limit: Limit) -> Array:
        """Load of a limit up to each row (S, N, I)."""
        return running_maximum(limit.load(self.demand, self.parts))


@dataclass(frozen=True, kw_only=True, eq=False)
class Assessment:
    """Every load and margin by speed. Arrays (S,), SI."""

    engine: Engine
    run: Run
    policy: Policy
    reading: Reading
    speed: Array
    torque: Array
    """At the crank, uncorrected [N*m]."""
    bmep: Array
    imep_gross: Array
    peak_pressure: Band
    """Peak of the mean cycle."""
    worst_pressure: Band
    """Peak of the worst normal cycle in all pulls."""
    gas_force: Array
    """Median peak pressure on the sealing area of one cylinder [N]."""
    clamp: Array
    """Median clamp of the most lightly clamped cylinder, after losses [N]."""
    clamp_ratio: Array
    """Clamp over gas force [-], without the atmosphere's help outside the head (about 1 %)."""
    rod_compression: Array
    rod_tension: Array
    phasing_source: PhasingSource
    ca50: Band
    limits: dict[str, LimitResult]
    not_assessed: dict[str, tuple[str, ...]]
    """Limits without the inputs they need, and those inputs."""
    chance_any: Array
    """Chance that any strength limit is passed at that speed in all pulls [-]."""
    chance_pull: float
    """Chance that any strength limit is passed anywhere in one pull [-]."""
    chance_pulls: float
    """The same in all pulls of the policy, by one engine and its clamp [-]."""
    governing: list[str]
    """Limit with the least capacity torque at the accepted chance, by speed."""
    ceiling: Array
    """Torque at which the chance of any binding limit is the accepted one [N*m]; +-inf happens."""
    evidence: Evidence
    abnormal: Abnormal
    notices: tuple[Notice, ...]
    model: Model

    @property
    def power(self) -> Array:
        """Crank power (S,) [W]."""
        return self.torque * self.speed

    @property
    def peak_begins(self) -> float:
        """Speed from which torque is at its peak, on a plateau its start [rad/s]."""
        at_peak = self.torque >= (1 - PLATEAU) * self.torque.max()
        return float(self.speed[int(np.argmax(at_peak))])
