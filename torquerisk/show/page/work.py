"""What the page computes: frozen results, kept by what went in, and proofs in the background."""

import dataclasses
import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from torquerisk.case import Engine, Notice, Policy, Run
from torquerisk.show.figures_curve import Limited
from torquerisk.show.page.case_in import Case
from torquerisk.study.assess import assess, governed
from torquerisk.study.assessment import Assessment
from torquerisk.study.propose import (
    OBJECTIVES,
    Proposal,
    Tally,
    ceiling_at,
    failing_at,
    propose_limit,
    reach_curve,
    table_breakpoints,
)
from torquerisk.study.reading import crank_reading, with_run_facts
from torquerisk.study.shape import (
    Objective,
    Shape,
    ShapeAsk,
    area_under_power,
    interpolated_limit,
    shape_limit,
)

Array = npt.NDArray[np.float64]
T = TypeVar("T")
Edits = tuple[tuple[str, float | int | str | None], ...]
"""Changed inputs by name, sorted; None takes a given value back to the assumed one."""
DELAY = 0.6
"""Slow work waits this long, so that one slider's way does not start a dozen of it [s]."""


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
    """A shaped table before its proof. SI."""

    assessment: Assessment
    policy: Policy
    shape: Shape
    limited: Limited
    governing: tuple[str, ...]
    """Limit that governs at each breakpoint."""
    chance: Array
    """Chance at each breakpoint, at the nearest speed of the grid."""
    before: Tally
    after: Tally
    chance_pull: float
    peak_speed: float
    peak_torque: float
    notices: tuple[Notice, ...]


def sketched(assessment: Assessment, policy: Policy, reach: str) -> Sketch:
    """Shape a table from the draws at hand, without the independent proof.

    Raises InputError or InfeasibleError with one sentence.
    """
    speed = assessment.speed
    ceiling, can = ceiling_at(assessment, policy.chance), reach_curve(assessment, reach)
    ask = _ask(assessment, policy)
    shape = shape_limit(speed, ceiling, can, ask)
    limit = interpolated_limit(shape.breakpoints, shape.limit, speed)
    delivered = limit if can is None else np.minimum(limit, can)
    failed = failing_at(assessment, delivered)
    at_limit = failing_at(assessment, limit).mean(axis=1)
    near = [int(np.argmin(np.abs(speed - v))) for v in shape.breakpoints]
    peak = int(np.argmax(delivered))
    return Sketch(
        assessment=assessment,
        policy=policy,
        shape=shape,
        limited=Limited(
            breakpoints=shape.breakpoints, limit=shape.limit, delivered=delivered, ceiling=ceiling
        ),
        governing=tuple(assessment.governing[k] for k in near),
        chance=at_limit[near],
        before=Tally(
            area=area_under_power(speed, assessment.torque, ask.band),
            chance_any_max=float(assessment.chance_any.max()),
        ),
        after=Tally(
            area=area_under_power(speed, delivered, ask.band),
            chance_any_max=float(failed.mean(axis=1).max()),
        ),
        chance_pull=float(failed.any(axis=0).mean()),
        peak_speed=float(speed[peak]),
        peak_torque=float(delivered[peak]),
        notices=tuple(Notice("shape", text) for text in shape.notices),
    )


def _ask(assessment: Assessment, policy: Policy) -> ShapeAsk:
    """The ask that `propose_limit` makes of the same policy."""
    speed = assessment.speed
    low, high = float(speed[0]), float(speed[-1])
    peak_from = policy.peak_from
    if peak_from is None:
        peak_from = float(speed[int(np.argmax(assessment.torque))])
    objective, curve = OBJECTIVES[policy.objective], assessment.engine.known_good.curve
    reference = None
    if curve is not None and objective is not Objective.MOST_AREA:
        reading = crank_reading(assessment.engine, curve)
        reference = np.interp(speed, reading.speed, reading.torque)
    return ShapeAsk(
        objective=objective,
        breakpoints=table_breakpoints(low, high, policy.points, peak_from),
        band=(low, high),
        peak_from=peak_from,
        rise_rate=policy.rise,
        torque_resolution=policy.resolution,
        reference=reference,
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
                found = self._pool.submit(self._after_a_while, who, what, key, make)
                self._kept[key] = found
            self._kept.move_to_end(key)
            while len(self._kept) > 48:
                self._kept.popitem(last=False)
            return found

    def _after_a_while(self, who: str, what: str, key: Hashable, make: Callable[[], T]) -> T:
        end = time.monotonic() + DELAY
        while time.monotonic() < end:
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


def proved(assessment: Assessment, policy: Policy, reach: str) -> Proposal:
    """The table with its independent proof."""
    return propose_limit(assessment, policy, reach)
