"""How early the burn of a row may sit, and how much torque a later burn would buy."""

import dataclasses
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.case import Notice
from torquerisk.physics.cylinder import phasing
from torquerisk.physics.cylinder.mean_pressure import bmep_from_torque
from torquerisk.quantities import Array
from torquerisk.study.assessment.assess import BINDING, accepted_rank, at_accepted
from torquerisk.study.assessment.cycle_ranges import Held
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.cycle import cylinder
from torquerisk.study.limits import Limit, LimitKind, bounding, place_of
from torquerisk.study.loads.demand import LATEST_SANE_CA50, demand
from torquerisk.study.loads.load_rows import rows_about
from torquerisk.study.loads.modelled_cylinder import cylinder_spec
from torquerisk.study.run.operating_state import Operating, PhasingSource
from torquerisk.study.table.finer_grid import state_at

PHASING_CANDIDATES = np.radians([-2.0, 2.0, 6.0, 10.0, 14.0, 18.0, 23.0, 28.0, 34.0])
PHASING_STEP = np.radians(0.25)
"""Step in which the earliest phasing is found [rad]."""
NEXT_TO_NOTHING = 1e-9
"""Torque by which rounding may part a row from its own ceiling [N*m]."""
LATER = np.radians([2.0, 4.0, 6.0])
"""Later phasings that are asked for what they would buy [rad]."""
MUCH_LATER = np.radians([9.0, 12.0, 16.0, 20.0])
"""Those asked besides where a hole in the table takes more than LATER to fill [rad]."""
EARLIER = np.radians([2.0, 4.0, 8.0])
"""Earlier phasings that are asked whether they still hold, where advance is logged [rad]."""
MOST_GAIN = 1.5
"""Multiple of the highest row up to which a later burn is asked what it would buy."""
LEAST_ADVANCE, MOST_ADVANCE = -0.69, 1.22
"""Within the range of `ca50_from_ignition_advance` [rad]."""


@dataclass(frozen=True, kw_only=True)
class LaterPhasing:
    """What a burn that much later would do for a row."""

    ca50_later: float
    """[rad]."""
    advance_less: float | None
    """Ignition advance that it takes away [rad]; None where none is logged."""
    gain: float | None
    """Torque that the accepted chance then allows more [N*m]; None where phasing would be later
    than anybody tunes, or where nothing limits any more."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Quiet:
    """Where the middle engine burns without audible knock at rows (R,); no earlier than it was run
    where knock was heard in the run, without bound with compression ignition."""

    later: Array
    """Than judged at [rad]; below 0 where it may be earlier."""
    ca50: Array
    """Earliest [rad]."""


@dataclass(frozen=True, kw_only=True)
class Window:
    """Phasing of one row; empty where nothing is judged."""

    ca50_not_before: float | None = None
    """Earliest phasing at which the row keeps the accepted chance and the middle engine does not
    knock [rad]; where every judged phasing holds the earliest of them, None where even the latest
    is too early."""
    later: tuple[LaterPhasing, ...] = ()
    """What phasing 2, 4 and 6 degrees later would buy."""
    ignition_advance: float | None = None
    """Advance that the row was judged at [rad]: as logged, less past the run's torque; None where
    phasing came from elsewhere."""
    advance_not_above: float | None = None
    """Most advance at which the row keeps the accepted chance, the spread from advance to phasing
    counted, and the middle engine does not knock [rad]; 8 degrees of phasing above the judged is
    the most that is asked for."""

    @property
    def advance_asked(self) -> float | None:
        """Advance that the row is proved with [rad]: as judged, no more than its most; None where
        none is logged."""
        known = [x for x in (self.ignition_advance, self.advance_not_above) if x is not None]
        return min(known, default=None)


def windows(
    assessment: Assessment,
    index: npt.NDArray[np.intp],
    state: Operating,
    torque: Array,
    ca50: Array,
    quiet: Quiet,
    chance: float,
) -> tuple[Window, ...]:
    """Phasing windows of rows at speeds `index` of the grid with limits torque (S,) [N*m].

    state: at the rows' speeds; ca50: judged at, median (S,) [rad]; chance: accepted.
    """
    sd = assessment.model.reading_sd[index]
    some = _Carried(assessment, torque)
    earliest = np.maximum(_earliest(some, state, sd, torque, chance), quiet.ca50)
    earliest = np.where(earliest > PHASING_CANDIDATES[-1], np.nan, earliest)
    strength, binding = some.as_judged(index)
    shifted = {float(d): some.capacities(_later(state, d), sd) for d in LATER}
    advances = least = None
    if assessment.phasing_source is PhasingSource.IGNITION_ADVANCE:
        advances = _Advance(assessment, state, torque, some.gone_later(state, sd, ca50))
        carried = {float(-d): some.strength_of(_later(state, -d), sd) for d in EARLIER[::-1]}
        carried[0.0] = strength
        carried |= {d: moved for d, (moved, _) in shifted.items()}
        least = _least_kept(np.array(list(carried)), list(carried.values()), torque, chance)
        least = np.where(np.isnan(least), np.nan, np.maximum(least, quiet.later))
    bought = {d: _allowed(moved, chance, state) for d, (_, moved) in shifted.items()}
    later = _bought(_allowed(binding, chance, state), bought, ca50, advances)
    return tuple(
        Window(
            ca50_not_before=None if np.isnan(earliest[k]) else float(earliest[k]),
            later=later[k],
            ignition_advance=None if advances is None else float(advances.judged[k]),
            advance_not_above=None
            if advances is None or least is None or np.isnan(least[k])
            else float(advances.judged[k] - advances.less(k, float(least[k]))),
        )
        for k in range(len(torque))
    )


def much_later(
    assessment: Assessment, index: npt.NDArray[np.intp], torque: Array, ca50: Array, chance: float
) -> tuple[tuple[LaterPhasing, ...], ...]:
    """What burns by MUCH_LATER would buy rows at speeds `index` of the grid: see `windows`."""
    state = state_at(assessment.model.operating, assessment.speed[index])
    sd = assessment.model.reading_sd[index]
    some = _Carried(assessment, torque)
    moved = {
        float(d): _allowed(some.capacities(_later(state, d), sd)[1], chance, state)
        for d in MUCH_LATER
    }
    logged = assessment.phasing_source is PhasingSource.IGNITION_ADVANCE
    gone = some.gone_later(state, sd, ca50) if logged else None
    advances = None if gone is None else _Advance(assessment, state, torque, gone)
    return _bought(_allowed(some.as_judged(index)[1], chance, state), moved, ca50, advances)


def _allowed(capacity: Array, chance: float, state: Operating) -> Array:
    """What a table may ask for (R,) of capacities (R, N) [N*m]; no later burn adds to it where
    knock was heard, until a run with that burn is quiet."""
    return np.minimum(at_accepted(capacity, chance), state.heard_at)


def _bought(
    now: Array, moved: dict[float, Array], ca50: Array, advances: "_Advance | None"
) -> tuple[tuple[LaterPhasing, ...], ...]:
    """Rows' torque (R,) at later burns [rad] against that of now [N*m]; ca50: judged at (R,)."""
    return tuple(
        tuple(
            LaterPhasing(
                ca50_later=d,
                advance_less=None if advances is None else advances.less(k, d),
                gain=_gain(float(now[k]), float(then[k]))
                if ca50[k] + d <= LATEST_SANE_CA50
                else None,
            )
            for d, then in moved.items()
        )
        for k in range(len(now))
    )


def advance_notices(assessment: Assessment, speed: Array, torque: Array) -> tuple[Notice, ...]:
    """Rows (R,) of a table whose load lies outside what advance and phasing are told apart at."""
    if assessment.phasing_source is not PhasingSource.IGNITION_ADVANCE:
        return ()
    low, high = cylinder.BRAKE_ESTIMATES
    held = Held(
        code="advance-load-range", what="The load of the limit", unit="bar BMEP", size=1e5,
        values=_brake_load(assessment, torque), low=low, high=high,
        then="what a later burn takes of ignition advance is that of the nearer end",
    )  # fmt: skip
    return tuple(held.told(speed))


def _brake_load(assessment: Assessment, torque: Array) -> Array:
    return bmep_from_torque(torque, assessment.engine.swept_volume_total)


def _later(state: Operating, by: float) -> Operating:
    return dataclasses.replace(state, later=state.later + float(by))


def _gain(now: float, then: float) -> float | None:
    if np.isfinite([now, then]).all():
        return max(then - now, 0.0)
    return 0.0 if now == then else None


class _Carried:
    """What the assessment's own simulated engines carry in another state, about some torques."""

    def __init__(self, assessment: Assessment, torque: Array) -> None:
        self.engine = assessment.engine
        self.draws, self.pulls = assessment.model.draws, assessment.policy.pulls
        self.model, self.parts = assessment.model, assessment.model.parts
        self.torque = torque
        self.rows = rows_about(self.engine, float(torque.min()), MOST_GAIN * float(torque.max()))
        used = [item.limit for item in assessment.limits.values()]
        self.strength = [x for x in used if x.kind is LimitKind.STRENGTH]
        self.binding = [x for x in used if x.kind in BINDING]

    def capacities(self, state: Operating, sd: Array) -> tuple[Array, Array]:
        """Least capacity torque (S, N) of strength limits, and of all that bind [N*m]."""
        return self._both(self._each(self.binding, state, sd))

    def as_judged(self, index: npt.NDArray[np.intp]) -> tuple[Array, Array]:
        """The same at speeds of the assessment's own state."""
        return self._both({x.name: self.model.bounding(x)[index] for x in self.binding})

    def strength_of(self, state: Operating, sd: Array) -> Array:
        """Least capacity torque (S, N) of strength limits [N*m]."""
        return self._least(self.strength, self._each(self.strength, state, sd))

    def gone_later(self, state: Operating, sd: Array, ca50: Array) -> Array:
        """How much later (R,) [rad] than by the logged advance rows past the run's torque burn.

        ca50: judged at, median (R,) [rad].
        """
        if state.phased_to is None or not (self.torque > state.phased_to).any():
            return np.zeros(len(ca50))
        held = dataclasses.replace(state, phased_to=None)
        loads = demand(self.engine, held, self.draws, sd, pulls=self.pulls, rows=self.rows)
        logged = np.median(place_of(loads.torque, self.torque).read(loads.ca50), axis=1)
        return np.maximum(ca50 - logged, 0.0)

    def _each(self, of: list[Limit], state: Operating, sd: Array) -> dict[str, Array]:
        loads = demand(self.engine, state, self.draws, sd, pulls=self.pulls, rows=self.rows)
        return {x.name: bounding(x, x.capacity(loads, self.parts), self.draws) for x in of}

    def _both(self, found: dict[str, Array]) -> tuple[Array, Array]:
        return self._least(self.strength, found), self._least(self.binding, found)

    def _least(self, of: list[Limit], found: dict[str, Array]) -> Array:
        return np.asarray(np.min([found[x.name] for x in of], axis=0))


def _earliest(some: _Carried, state: Operating, sd: Array, torque: Array, chance: float) -> Array:
    """Earliest CA50 (S,) [rad] at which torques (S,) keep the accepted chance of strength limits.

    The torque is judged at a row of phasings, each taken as known to a degree. NaN: none of them.
    """
    low, high = (-5, 34) if some.engine.compression_ignition else (-2, 44)
    candidates = PHASING_CANDIDATES[
        (np.radians(low) <= PHASING_CANDIDATES) & (np.radians(high) >= PHASING_CANDIDATES)
    ]
    carried = [
        some.strength_of(
            dataclasses.replace(state, ca50=np.full(len(torque), c), phased_to=None), sd
        )
        for c in candidates
    ]
    return _least_kept(candidates, carried, torque, chance)


def _least_kept(asked: Array, carried: list[Array], torque: Array, accepted: float) -> Array:
    """Least phasing (S,) from which on torques (S,) keep the accepted chance; NaN if none.

    asked: phasings (K,) [rad]; carried: capacity torque (S, N) at each. Each draw's capacity is
    linear between them, in steps of a quarter of a degree; of an infinite one the lesser holds.
    The chance is kept as a table keeps it: with a standard error of sampling to spare.
    """
    fine = np.arange(asked[0], asked[-1] + PHASING_STEP / 2, PHASING_STEP)
    kept = np.empty((len(fine), len(torque)), dtype=bool)
    most = accepted_rank(carried[0].shape[-1], accepted)
    for n, phase in enumerate(fine):
        k = int(np.clip(np.searchsorted(asked, phase, side="right") - 1, 0, len(asked) - 2))
        share = float(np.clip((phase - asked[k]) / (asked[k + 1] - asked[k]), 0.0, 1.0))
        low, high = carried[k], carried[k + 1]
        both = np.isfinite(low) & np.isfinite(high)
        line = np.where(both, low, 0.0) * (1 - share) + np.where(both, high, 0.0) * share
        least = np.where(both, line, np.minimum(low, high))
        kept[n] = np.count_nonzero(least < torque[:, None] - NEXT_TO_NOTHING, axis=1) <= most
    from_here = np.logical_and.accumulate(kept[::-1], axis=0)[::-1]
    first = np.argmax(from_here, axis=0)
    return np.where(from_here.any(axis=0), fine[first], np.nan)


class _Advance:
    """Ignition advance against CA50 at the rows' speeds and limits, by the median burn."""

    def __init__(
        self, assessment: Assessment, state: Operating, torque: Array, gone: Array
    ) -> None:
        assert state.ignition_advance is not None
        engine = assessment.engine
        self.judged = state.ignition_advance
        spec = cylinder_spec(engine, state.ethanol_share, float(state.speed.max()))
        self._start, self._length = cylinder.burn_timing(
            spec, state.speed, _brake_load(assessment, torque), state.lambda_
        )
        less = [self.less(k, by) for k, by in enumerate(gone.tolist())]
        self.judged = self.judged - np.array(less)

    def less(self, k: int, later: float) -> float:
        """Advance [rad] to take away for row k to burn `later` [rad]; held at the model's ends."""
        if abs(later) < PHASING_STEP / 100:
            return 0.0
        burn = self._start[k], self._length[k]
        now = phasing.ca50_from_ignition_advance(float(self.judged[k]), *burn)
        wanted = phasing.ignition_advance_from_ca50(now + later, *burn)
        return float(self.judged[k] - np.clip(wanted, LEAST_ADVANCE, MOST_ADVANCE))
