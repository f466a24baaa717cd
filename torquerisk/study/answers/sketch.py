"""A table as it is wished for, shaped at once from the draws at hand, before its proof."""

import dataclasses
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Notice, Policy, Run
from torquerisk.quantities import Array
from torquerisk.study.assessment.assess import governed
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limit_curve.ask import Binding, ShapeInfeasibleError
from torquerisk.study.limit_curve.in_rpm import shaped
from torquerisk.study.table.attainable import Reach, reach_curve, reach_notices, under_reach
from torquerisk.study.table.delivered import Tally, delivered_under, measured_tally
from torquerisk.study.table.finer_grid import SAME, ceiling_at
from torquerisk.study.table.propose import (
    Proposal,
    ask_of,
    nearest_ask,
    nearest_notice,
    reference_notices,
    with_reference,
)
from torquerisk.study.table.rows import step_notices
from torquerisk.study.table.speed_limit import speed_limit, up_to


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


def at_chance(assessment: Assessment, chance: float) -> Assessment:
    """The same draws judged at another accepted chance: ceiling and governing limit."""
    policy = dataclasses.replace(assessment.policy, chance=chance)
    used = [item.limit for item in assessment.limits.values()]
    ceiling, governing = governed(used, assessment.model, chance)
    return dataclasses.replace(assessment, policy=policy, ceiling=ceiling, governing=governing)


@dataclass(frozen=True, kw_only=True, eq=False)
class Sketch:
    """A shaped table, at first before its proof. SI."""

    breakpoints: Array
    limit: Array
    governing: tuple[str, ...]
    """Limit that governs at each breakpoint."""
    held_by: tuple[Binding, ...]
    """What keeps each breakpoint from being a step higher."""
    made: Array
    """What the engine can make at each breakpoint [N*m]; +inf where anything."""
    spare: Array
    """Torque left to the ceiling at each breakpoint [N*m]; +inf happens."""
    speed_limit: float | None
    """Where the table ends before the run does [rad/s]; see `Proposal`."""
    delivered: Array
    """The lesser of limit and what the engine can make, on the assessment's grid; 0 past the speed
    limit."""
    ceiling: Array
    before: Tally
    after: Tally
    chance_pull: float
    chance_pulls: float
    peak_speed: float
    peak_torque: float
    notices: tuple[Notice, ...]
    proved: bool


def breakpoints_of(assessment: Assessment, wish: Wish) -> tuple[float, ...]:
    """Speeds of the table that is asked for [rad/s]."""
    return tuple(ask_of(assessment, wish.policy, wish.breakpoints).breakpoints)


def sketched(assessment: Assessment, wish: Wish, finer: Assessment | None) -> Sketch:
    """Shape a table from the draws at hand, without the independent proof.

    finer: the assessment on the grid that holds the table's breakpoints, where it is at hand; the
    run's own grid is near enough until the proof brings it.
    Raises InputError or InfeasibleError with one sentence.
    """
    run, grid, policy = assessment, finer or assessment, wish.policy
    highest = speed_limit(grid, policy.chance)
    if highest is not None:
        grid = assessment = up_to(assessment, highest)
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
    governing = governed(used, grid.model, policy.chance)[1]
    near = [int(np.argmin(np.abs(speed - v))) for v in shape.breakpoints]
    return Sketch(
        breakpoints=shape.breakpoints,
        limit=shape.limit,
        governing=tuple(governing[k] for k in near),
        held_by=shape.binding,
        made=_made_at(shape.breakpoints, speed, can),
        spare=ceiling[near] - shape.limit,
        speed_limit=highest,
        delivered=np.interp(run.speed, speed, delivered.torque, right=0.0),
        ceiling=ceiling_at(run, policy.chance),
        before=measured_tally(assessment, ask.band),
        after=delivered.tally(ask.band),
        chance_pull=delivered.chance_pull,
        chance_pulls=delivered.chance_pulls,
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


def sketch_of(run: Assessment, proposal: Proposal) -> Sketch:
    """The proved table of an assessed run in the same form."""
    return Sketch(
        breakpoints=proposal.shape.breakpoints,
        limit=proposal.shape.limit,
        governing=tuple(row.governing for row in proposal.rows),
        held_by=proposal.shape.binding,
        made=_made_at(proposal.shape.breakpoints, proposal.assessment.speed, proposal.reach),
        spare=np.array([np.inf if row.spare is None else row.spare for row in proposal.rows]),
        speed_limit=proposal.speed_limit,
        delivered=_of_whole_run(run, proposal, proposal.delivered, 0.0),
        ceiling=_of_whole_run(run, proposal, proposal.ceiling, -np.inf),
        before=proposal.before,
        after=proposal.after,
        chance_pull=proposal.chance_pull,
        chance_pulls=proposal.chance_pulls,
        peak_speed=proposal.peak_speed,
        peak_torque=proposal.peak_torque,
        notices=proposal.notices,
        proved=True,
    )


def _made_at(points: Array, speed: Array, can: Array | None) -> Array:
    """What the engine can make at breakpoints [N*m], from what it can on a grid."""
    return np.full(len(points), np.inf) if can is None else np.interp(points, speed, can)


def _of_whole_run(run: Assessment, proposal: Proposal, values: Array, past: float) -> Array:
    """Values by speed of a table, and another past its speed limit."""
    if proposal.speed_limit is None:
        return values
    below = run.speed <= proposal.speed_limit + SAME
    whole = np.full(len(run.speed), past)
    whole[below] = values[: below.sum()]
    return whole
