"""What an assessed run answers, each worked out once: all that stands between study and faces."""

import dataclasses
import threading
from collections.abc import Callable, Hashable, Sequence
from typing import TypeVar

import numpy as np

from torquerisk.case import Policy
from torquerisk.quantities import Array
from torquerisk.study.answers import dips as dip
from torquerisk.study.answers.ceilings import Ceilings, ceilings_of
from torquerisk.study.answers.compare import Comparison, Footing, overlay
from torquerisk.study.answers.cycle_traces import MedianCycle, median_cycle
from torquerisk.study.answers.gear_loads import GearLoads, gear_loads
from torquerisk.study.answers.next_rung import NextRung, next_rungs
from torquerisk.study.answers.over_known import OverKnown, over_known
from torquerisk.study.answers.quiet import Quiet, quiet_of
from torquerisk.study.answers.same_torque_later import Later, same_torque_by_speed
from torquerisk.study.answers.sensitivity import (
    Sensitivity,
    Share,
    by_share,
    drivers_of,
    sensitivity,
)
from torquerisk.study.answers.store import Store
from torquerisk.study.assessment.assess import governed
from torquerisk.study.assessment.ignition_delay import ignition_by_speed
from torquerisk.study.assessment.notices import assumed_and_used
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.cycle.cylinder import Ignition
from torquerisk.study.limit_curve.advice import RuleCost
from torquerisk.study.run.log_signs import LogSign, signs_of
from torquerisk.study.strengths.head_rings import HeldBy
from torquerisk.study.studs.bench import StudBench, stud_bench
from torquerisk.study.studs.fastener_loads import (
    FastenerLoads,
    FiringCurve,
    firing_curve,
    loads_of_ask,
    loads_of_run,
)
from torquerisk.study.studs.own_studs import OwnStuds, own_studs
from torquerisk.study.studs.results import StudChoice
from torquerisk.study.studs.ring_clamp import (
    RingClamp,
    ring_chances,
    ring_clamp,
    ring_of_ask,
    ring_of_run,
)
from torquerisk.study.table.attainable import Reach, reach_curve
from torquerisk.study.table.ignition_hole import IgnitionHole, ignition_hole_of
from torquerisk.study.table.judge import JudgedTable, judge_existing
from torquerisk.study.table.propose import Proposal, Sketch, Wish, ask_of, proposed, sketched
from torquerisk.study.table.second_axis import Axis
from torquerisk.study.table.trade_off import Frontier, costs_of, frontier
from torquerisk.study.table.two_axes import Table2D, checked_values, propose_table_2d

T = TypeVar("T")
_LOCK = threading.Lock()
_NAME = "_answers"
MOST = 60
"""Answers kept of one assessment; the least used is forgotten first."""


class Answers:
    """Lazy answers of one assessment, at its accepted chance; safe between threads.

    What follows from a table or a fastening takes that one, which must be of this assessment.
    """

    def __init__(self, assessment: Assessment, free: "Answers | None" = None) -> None:
        self.assessment = assessment
        self._kept = Store(MOST)
        self._free = free or self
        """Holds what no accepted chance moves."""

    def at(self, chance: float) -> "Answers":
        """The same draws judged at another accepted chance."""
        if chance == self.assessment.policy.chance:
            return self
        return self._of_run(_judged_at, chance)

    def _once(self, make: Callable[..., T], *of: Hashable) -> T:
        return self._kept.get((make, of), lambda: make(*of))

    def _of_run(self, make: Callable[..., T], *more: Hashable) -> T:
        return self._once(make, self.assessment, *more)

    @property
    def gear(self) -> GearLoads:
        """Motion and loads of the running gear."""
        return self._free._of_run(gear_loads)

    @property
    def over_known(self) -> OverKnown | None:
        """What the run asks over what the engine is known to carry."""
        return self._free._of_run(over_known)

    @property
    def quiet(self) -> Quiet | None:
        """What would keep the run from knocking."""
        return self._free._of_run(quiet_of)

    @property
    def next_rungs(self) -> tuple[NextRung, ...]:
        """What pulls above the accepted torque would be worth, and what they risk."""
        return self._of_run(next_rungs)

    @property
    def sensitivity(self) -> Sensitivity:
        """What drives the answer, and what to measure next."""
        return self._of_run(sensitivity)

    @property
    def log_signs(self) -> tuple[LogSign, ...]:
        """What the run's channels say went wrong in it."""
        return self._free._of_run(_signs)

    @property
    def lifted_at(self) -> float:
        """Least peak of this curve [N*m] at which coolant pressure was seen to rise; inf if none
        was."""
        return self._free._of_run(_lifted_at)

    @property
    def ceilings(self) -> Ceilings:
        """What stops the run first, and what next."""
        return self._of_run(ceilings_of)

    @property
    def dips(self) -> tuple[dip.Dip, ...]:
        """The dips of the measured curve."""
        return self._of_run(dip.find_dips)

    @property
    def least_depth(self) -> float:
        """Least depth that counts as a dip [N*m]."""
        return self._of_run(dip.default_least_depth)

    @property
    def ring(self) -> RingClamp:
        """What the run leaves on the combustion ring."""
        return self._free._of_run(ring_of_run)

    @property
    def fastener(self) -> FastenerLoads:
        """Loads of a fastener where the ring is nearest to lifting."""
        return self._free._of_run(loads_of_run, self.ring.worst)

    @property
    def ignition(self) -> Ignition | None:
        """How a diesel's charge lights, by speed."""
        return self._free._of_run(ignition_by_speed)

    @property
    def assumed(self) -> tuple[str, ...]:
        """Assumed inputs that the result rests on, in the order of the engine file."""
        return self._free._of_run(assumed_and_used)

    @property
    def assumed_by_share(self) -> tuple[str, ...]:
        """The same, first those that seem to drive the answer most."""
        return self._of_run(by_share, self.assumed)

    def drivers(self, limit: str, index: int) -> tuple[Share, ...]:
        """What makes the capacity of one limit uncertain at the index of a speed."""
        return self._of_run(drivers_of, limit, index)

    def cycle(self, index: int) -> MedianCycle:
        """One cycle of the median engine at the index of a speed."""
        return self._free._of_run(median_cycle, index)

    def same_torque(self, torque: float) -> Later:
        """One torque [N*m] made at every speed."""
        return self._free._of_run(same_torque_by_speed, torque)

    def against(
        self, *others: Assessment, footing: Footing | None = None
    ) -> tuple[Comparison, ...]:
        """Every other run of the same engine beside this one."""
        return self._of_run(_overlaid, others, footing)

    def bench(self, target_torque: float | None = None, oil: str | None = None) -> StudBench:
        """Clamp needed and the fastenings that give it. target_torque: peak to hold [N*m]; oil:
        lubricant of every choice."""
        return self._of_run(stud_bench, target_torque, oil)

    def own_studs(self, bench: StudBench, own: OwnStuds) -> StudChoice:
        """What studs that somebody has in mind do at the bench's curve."""
        return self._once(own_studs, bench, own)

    def ring_with(self, bench: StudBench, choice: StudChoice) -> RingClamp:
        """What the bench's curve leaves on the ring with one fastening, by speed."""
        return self._once(_ring_with, bench, choice)

    def ring_at_worst(self, bench: StudBench, choice: StudChoice) -> RingClamp:
        """The same at the bench's worst speed alone."""
        return self._once(_ring_at_worst, bench, choice)

    def ring_chances(
        self, bench: StudBench, choice: StudChoice
    ) -> dict[HeldBy, tuple[float, float]]:
        """Greatest chances of lifting and of weeping with one fastening, by kind of cylinder."""
        return self._once(ring_chances, bench.ask, choice.head)

    def fastener_with(self, bench: StudBench, choice: StudChoice) -> FastenerLoads:
        """Loads of a fastener of one fastening at the bench's worst speed."""
        return self._once(loads_of_ask, bench.ask, choice.engine, choice.head)

    def firing_with(self, choice: StudChoice, pressure: float) -> FiringCurve:
        """Forces of one fastening's joint as cylinder pressure rises, and at a pressure [Pa]."""
        return self._once(firing_curve, choice.head, pressure)

    def checked_speeds(self, policy: Policy, speeds: Array) -> None:
        """Raise InputError where no table can have these speeds [rad/s]."""
        ask_of(self.assessment, policy, speeds)

    def usual_rise(self, policy: Policy) -> float:
        """Steepest rise of a table for which a policy asks none [N*m*s/rad]."""
        return ask_of(self.assessment, policy).rise_rate

    def checked_reach(self, reach: Reach) -> None:
        """Raise InputError where this run cannot be held against a reach."""
        reach_curve(self.assessment, reach)

    def axis_values(self, axis: Axis, values: Sequence[float]) -> tuple[float, ...]:
        """Values of a second axis, rising. Raises InputError where one is out of range."""
        return tuple(checked_values(self.assessment, axis, values))

    def table_speeds(self, wish: Wish) -> tuple[float, ...]:
        """Speeds of the table wished for [rad/s]."""
        return tuple(ask_of(self.assessment, wish.policy, wish.breakpoints).breakpoints)

    def sketch(self, wish: Wish, finer: Assessment | None = None) -> Sketch:
        """The table wished for, not yet proved; see `sketched`."""
        return self._of_run(sketched, wish, finer)

    def proposal(self, wish: Wish) -> Proposal:
        """The table wished for, with its proof."""
        return self._of_run(proposed, wish)

    def trade_off(self, proposal: Proposal) -> Frontier:
        """What caution and a later peak cost about a table."""
        return self._once(frontier, proposal)

    def ignition_hole(self, proposal: Proposal) -> IgnitionHole | None:
        """A hole in a table that only early ignition explains."""
        return self._once(ignition_hole_of, proposal)

    def rule_costs(self, proposal: Proposal) -> tuple[RuleCost, ...]:
        """What each rule of a table costs, dearest first."""
        return self._once(costs_of, proposal)

    def judged(
        self, points: tuple[float, ...], limit: tuple[float, ...], wish: Wish
    ) -> JudgedTable:
        """The judgement of an own table: speeds [rad/s] and limits [N*m]."""
        return self._of_run(_judged, points, limit, wish)

    def table_2d(self, axis: Axis, values: tuple[float, ...], wish: Wish) -> Table2D:
        """The table wished for over a second axis."""
        return self._of_run(propose_table_2d, axis, values, wish)


def _signs(assessment: Assessment) -> tuple[LogSign, ...]:
    return signs_of(assessment.engine, assessment.run)


def _lifted_at(assessment: Assessment) -> float:
    seen, torque = assessment.model.operating.lift_seen, assessment.torque
    return np.inf if seen is None else float((seen / torque).min() * torque.max())


def _judged_at(assessment: Assessment, chance: float) -> Answers:
    policy = dataclasses.replace(assessment.policy, chance=chance)
    used = [item.limit for item in assessment.limits.values()]
    ceiling, governing = governed(used, assessment.model, chance)
    other = dataclasses.replace(assessment, policy=policy, ceiling=ceiling, governing=governing)
    made = other.__dict__[_NAME] = Answers(other, answers_of(assessment))
    return made


def _ring_with(bench: StudBench, choice: StudChoice) -> RingClamp:
    return ring_of_ask(bench.ask, choice.head)


def _ring_at_worst(bench: StudBench, choice: StudChoice) -> RingClamp:
    at = [bench.worst]
    return ring_clamp(choice.head, bench.ask.worst[at], bench.ask.speed[at])


def _overlaid(
    first: Assessment, others: tuple[Assessment, ...], footing: Footing | None
) -> tuple[Comparison, ...]:
    return overlay((first, *others), footing)


def _judged(
    assessment: Assessment, points: tuple[float, ...], limit: tuple[float, ...], wish: Wish
) -> JudgedTable:
    return judge_existing(assessment, np.array(points), np.array(limit), wish.policy, wish.reach)


def answers_of(assessment: Assessment) -> Answers:
    """The one set of answers of an assessment, which lives and goes with it."""
    with _LOCK:
        found = assessment.__dict__.get(_NAME)
        if not isinstance(found, Answers):
            found = Answers(assessment)
            assessment.__dict__[_NAME] = found
        return found
