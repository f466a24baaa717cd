"""What the page computes: frozen results, kept by what went in, and proofs in the background."""

import dataclasses
import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np

from torquerisk.case import Engine, Notice, Policy, Run
from torquerisk.quantities import Array
from torquerisk.show.page.case_in import Case
from torquerisk.show.pictures.curve import Limited
from torquerisk.study.assessment.assess import assess, governed
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limit_curve.ask import ShapeInfeasibleError
from torquerisk.study.limit_curve.in_rpm import shaped
from torquerisk.study.run.crank_reading import with_run_facts
from torquerisk.study.table.attainable import Reach, reach_curve, reach_notices, under_reach
from torquerisk.study.table.delivered import Tally, delivered_under, measured_tally
from torquerisk.study.table.propose import (
    Proposal,
    ask_of,
    ceiling_at,
    nearest_ask,
    nearest_notice,
    propose_limit,
    reference_notices,
    with_reference,
)
from torquerisk.study.table.rows import step_notices

T = TypeVar("T")
Edits = tuple[tuple[str, float | int | str | None], ...]
"""Changed inputs by name, sorted; None takes a given value back to the assumed one."""
DELAY = 0.8
"""Slow work begins this long after it is asked for, so that one slider's way does not start a dozen
of it [s]."""


@dataclass(frozen=True, kw_only=True)
class Wish:
    """What is asked of the table."""

    policy: Policy
    reach: Reach
    own_speeds: tuple[float, ...] | None = None
    """The table's own speeds [rad/s], instead of even ones."""
    reference: Run | None = None
    """A curve to keep to, instead of the known-good run."""
    nearest: bool = False
    """Where no table meets the ask, give the nearest."""

    @property
    def breakpoints(self) -> Array | None:
        """The table's own speeds (R,) [rad/s], or None."""
        return None if self.own_speeds is None else np.array(self.own_speeds)


class Store:
    """A small memory of results by key, the least used forgotten first; safe between threads."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: OrderedDict[Hashable, Any] = OrderedDict()
        self._lock = threading.Lock()
        self._making: dict[Hashable, threading.Lock] = {}

    def has(self, key: Hashable) -> bool:
        """True where the result is at hand."""
        with self._lock:
            return key in self._kept

    def peek(self, key: Hashable) -> Any:
        """The result at hand, or None."""
        with self._lock:
            return self._kept.get(key)

    def get(self, key: Hashable, make: Callable[[], T]) -> T:
        """The result at hand, or made now, once for all who ask at once; errors are not kept."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
            making = self._making.setdefault(key, threading.Lock())
        with making:
            with self._lock:
                if key in self._kept:
                    return self._kept[key]
            try:
                made = make()
            finally:
                with self._lock:
                    self._making.pop(key, None)
            with self._lock:
                self._kept[key] = made
                while len(self._kept) > self._most:
                    self._kept.popitem(last=False)
            return made


@dataclass(frozen=True, kw_only=True)
class AssessKey:
    """What an assessment depends on."""

    digest: str
    edits: Edits
    draws: int
    seed: int
    abnormal: bool
    version: str


def as_loaded(case: Case) -> Engine:
    """The engine with the facts that the run file itself states, before any edit."""
    return with_run_facts(case.engine, case.run)


def edited(case: Case, edits: Edits) -> tuple[Engine, Run]:
    """Engine and run with the edits; checked anew. Raises InputError with one sentence.

    Facts about the test are changed in the run too, since a run's own facts win.
    """
    engine, run = as_loaded(case), case.run
    if not edits:
        return engine, run
    facts = dict(run.facts)
    for name, value in edits:
        section, _, key = name.partition(".")
        if section == "test":
            facts.pop(key, None)
            if value is not None:
                facts[key] = value
    return engine.with_values(dict(edits)), dataclasses.replace(run, facts=facts)


def assessed(case: Case, edits: Edits, policy: Policy) -> Assessment:
    """The assessment behind every view; at the policy's draws and seed."""
    engine, run = edited(case, edits)
    return assess(engine, run, policy)


def at_chance(assessment: Assessment, policy: Policy) -> Assessment:
    """The same draws judged at another accepted chance: ceiling, governing limit and notices."""
    if policy == assessment.policy:
        return assessment
    used = [item.limit for item in assessment.limits.values()]
    ceiling, governing = governed(used, assessment.model.capacities, policy.chance)
    return dataclasses.replace(assessment, policy=policy, ceiling=ceiling, governing=governing)


@dataclass(frozen=True, kw_only=True, eq=False)
class Sketch:
    """A shaped table, at first before its proof. SI."""

    breakpoints: Array
    limit: Array
    governing: tuple[str, ...]
    """Limit that governs at each breakpoint."""
    delivered: Array
    """The lesser of limit and what the engine can make, on the assessment's grid."""
    ceiling: Array
    before: Tally
    after: Tally
    chance_pull: float
    peak_speed: float
    peak_torque: float
    notices: tuple[Notice, ...]
    proved: bool

    @property
    def limited(self) -> Limited:
        """The table as pictures draw it."""
        return Limited(
            breakpoints=self.breakpoints, limit=self.limit, delivered=self.delivered,
            ceiling=self.ceiling,
        )  # fmt: skip


def breakpoints_of(assessment: Assessment, wish: Wish) -> tuple[float, ...]:
    """Speeds of the table that is asked for [rad/s]."""
    return tuple(ask_of(assessment, wish.policy, wish.breakpoints).breakpoints)


def sketched(assessment: Assessment, wish: Wish, finer: Assessment | None) -> Sketch:
    """Shape a table from the draws at hand, without the independent proof.

    finer: the assessment on the grid that holds the table's breakpoints, where it is at hand; the
    run's own grid is near enough until the proof brings it.
    Raises InputError or InfeasibleError with one sentence.
    """
    grid, policy = finer or assessment, wish.policy
    speed = grid.speed
    ceiling, can = ceiling_at(grid, policy.chance), reach_curve(grid, wish.reach)
    ask = ask_of(assessment, policy, wish.breakpoints)
    ask = with_reference(ask, assessment, speed, policy, wish.reference)
    ask = under_reach(ask, wish.reach)
    relaxed: tuple[Notice, ...] = ()
    try:
        shape = shaped(speed, ceiling, can, ask)
    except ShapeInfeasibleError as error:
        ask, relaxed = nearest_ask(error, wish.nearest), (nearest_notice(error),)
        shape = shaped(speed, ceiling, can, ask)
    delivered = delivered_under(grid, shape.breakpoints, shape.limit, can)
    used = [item.limit for item in grid.limits.values()]
    governing = governed(used, grid.model.capacities, policy.chance)[1]
    near = [int(np.argmin(np.abs(speed - v))) for v in shape.breakpoints]
    return Sketch(
        breakpoints=shape.breakpoints,
        limit=shape.limit,
        governing=tuple(governing[k] for k in near),
        delivered=np.interp(assessment.speed, speed, delivered.torque),
        ceiling=ceiling_at(assessment, policy.chance),
        before=measured_tally(grid, ask.band),
        after=delivered.tally(ask.band),
        chance_pull=delivered.chance_pull,
        peak_speed=delivered.peak_speed,
        peak_torque=delivered.peak_torque,
        notices=(
            *relaxed,
            *step_notices(assessment, policy),
            *reach_notices(assessment, wish.reach),
            *reference_notices(assessment, policy, wish.reference),
            *(Notice("shape", text) for text in shape.notices),
        ),
        proved=False,
    )


def sketch_of(proposal: Proposal) -> Sketch:
    """The proved table in the same form."""
    return Sketch(
        breakpoints=proposal.shape.breakpoints,
        limit=proposal.shape.limit,
        governing=tuple(row.governing for row in proposal.rows),
        delivered=proposal.delivered,
        ceiling=proposal.ceiling,
        before=proposal.before,
        after=proposal.after,
        chance_pull=proposal.chance_pull,
        peak_speed=proposal.peak_speed,
        peak_torque=proposal.peak_torque,
        notices=proposal.notices,
        proved=True,
    )


class Dropped(Exception):
    """Raised in place of a result that nobody waits for any more."""


class Background:
    """Slow results, made one at a time beside the page; a new wish drops the outdated ones."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="background")
        self._lock = threading.Lock()
        self._kept: OrderedDict[Hashable, Future[Any]] = OrderedDict()
        self._latest: OrderedDict[tuple[str, str], Hashable] = OrderedDict()

    def ask(self, who: str, what: str, key: Hashable, make: Callable[[], T]) -> Future[T]:
        """The result under a key, started if need be. who: the session; what: kind of result."""
        key = (what, key)
        with self._lock:
            self._latest[who, what] = key
            self._latest.move_to_end((who, what))
            while len(self._latest) > 400:
                self._latest.popitem(last=False)
            found = self._kept.get(key)
            if found is None or found.cancelled() or _dropped(found):
                due = time.monotonic() + DELAY
                found = self._pool.submit(self._after_a_while, due, key, make)
                self._kept[key] = found
            self._kept.move_to_end(key)
            while len(self._kept) > 48:
                self._kept.popitem(last=False)
            return found

    def settle(self) -> None:
        """Wait until all that was asked for is there, or could not be made."""
        with self._lock:
            under_way = list(self._kept.values())
        wait(under_way)

    def _after_a_while(self, due: float, key: Hashable, make: Callable[[], T]) -> T:
        while time.monotonic() < due:
            time.sleep(0.05)
            if self._unwanted(key):
                raise Dropped
        if self._unwanted(key):
            raise Dropped
        return make()

    def _unwanted(self, key: Hashable) -> bool:
        with self._lock:
            return key not in self._latest.values()


def _dropped(future: "Future[Any]") -> bool:
    return future.done() and isinstance(future.exception(), Dropped)


def proved(assessment: Assessment, wish: Wish) -> Proposal:
    """The table with its independent proof."""
    return propose_limit(
        assessment, wish.policy, wish.reach, wish.reference, wish.breakpoints, wish.nearest
    )
