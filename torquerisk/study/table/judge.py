"""An existing torque-limit table judged: where it is too high, how likely, and what it wastes."""

import dataclasses
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Notice, Policy
from torquerisk.errors import InputError
from torquerisk.quantities import RPM, Array
from torquerisk.study.assessment.abnormal_cycles import abnormal_cycles
from torquerisk.study.assessment.assess import BINDING, noticed
from torquerisk.study.assessment.result import Abnormal, Assessment, State, state_of
from torquerisk.study.limit_curve.check import TableJudgement, judge_table, rise_excess
from torquerisk.study.limit_curve.curve import area_under_power
from torquerisk.study.limits import knocking, place_of
from torquerisk.study.loads.demand import demand
from torquerisk.study.table.attainable import Reach, reach_curve, reach_notices
from torquerisk.study.table.delivered import delivered_under
from torquerisk.study.table.engines_enough import judged_on
from torquerisk.study.table.finer_grid import failing_at, governed_at
from torquerisk.study.table.ignition_asked import as_asked, later_asked
from torquerisk.study.table.speed_limit import speed_limit


@dataclass(frozen=True, kw_only=True, eq=False)
class JudgedTable:
    """A table against what the engine carries. Arrays (S,) on the finer grid, SI."""

    assessment: Assessment
    """Of the measured run, on a grid that holds the table's breakpoints."""
    policy: Policy
    breakpoints: Array
    """As given (R,) [rad/s]."""
    limit: Array
    """As given (R,) [N*m]."""
    judgement: TableJudgement
    """Its worst is up to the speed limit."""
    speed_limit: float | None
    """Where a table ought to end, since speed alone breaks too many engines above [rad/s]."""
    ceiling: Array
    """Torque at the accepted chance [N*m]; +-inf happens."""
    reach: Array | None
    delivered: Array
    """The lesser of limit and reach [N*m]."""
    chance: Array
    """Chance that a limit of strength is passed if the engine makes the limit [-]."""
    chance_delivered: Array
    """The same at what the engine makes [-]."""
    knock_chance: Array
    """Share of simulated engines that knock at the limit and the phasing judged at [-]."""
    abnormal: Abnormal
    """Heavy knock and pre-ignition at the limit, with the ignition that it asks for."""
    governing: tuple[str, ...]
    """Limit with the least torque at the accepted chance."""
    state: tuple[State, ...]
    chance_pull: float
    """Chance that a limit of strength is passed anywhere in one pull at what is delivered [-]."""
    chance_pulls: float
    """The same in all pulls."""
    chance_pulls_at_limit: float
    area: float
    """Under delivered power over the run's band [W*rad/s]."""
    area_unused: float
    """Area that the accepted chance would allow more, at what the engine can make [W*rad/s];
    infinite where neither is limited."""
    rise_excess: Array
    """By how much each segment up to the peak rises more than the policy asks (R - 1,) [N*m]."""
    outside: Array
    """Breakpoints outside the run [rad/s], where the table is not judged."""
    notices: tuple[Notice, ...]

    @property
    def holds(self) -> bool:
        """True where the table nowhere passes the torque of the accepted chance, in the run."""
        return self.judgement.worst_excess <= 0.0 and self.speed_limit is None


def judge_existing(
    assessment: Assessment,
    breakpoints: Array,
    limit: Array,
    policy: Policy | None = None,
    reach: Reach = "measured",
) -> JudgedTable:
    """Judge a table that somebody already has.

    assessment: of the measured run; breakpoints: rising (R,) [rad/s]; limit: crank torque (R,)
    [N*m]; policy: whose accepted chance counts, the assessment's when left out; reach: what the
    engine can make. Linear between breakpoints, end values held. Outside the run nothing is judged.
    """
    policy = (policy or assessment.policy).of(float(assessment.torque.max()))
    points, torque = (np.asarray(part, dtype=float) for part in (breakpoints, limit))
    low, high = float(assessment.speed[0]), float(assessment.speed[-1])
    _require_speeds_in_common(points, low, high)
    fine = noticed(judged_on(assessment, points, policy.chance))
    ceiling, governing = governed_at(fine, policy.chance)
    can, ends = reach_curve(fine, reach), speed_limit(fine, policy.chance)
    judgement = judge_table(points, torque, fine.speed, ceiling, can)
    if ends is not None:
        below = fine.speed <= ends
        worst = judge_table(points, torque, fine.speed[below], ceiling[below])
        judgement = dataclasses.replace(
            judgement, worst_excess=worst.worst_excess, worst_speed=worst.worst_speed
        )
    delivered = delivered_under(fine, points, torque, can)
    at_limit = failing_at(fine, delivered.limit)
    place = place_of(fine.model.demand.torque, delivered.limit)
    outside = points[(points < low) | (points > high)]
    used = [item.limit for item in fine.limits.values() if item.limit.kind in BINDING]
    least = np.min([fine.model.bounding(x) for x in used], axis=0)
    least = np.minimum(least, fine.model.operating.heard_at[:, None])
    chance = (least < delivered.limit[:, None]).mean(axis=1)
    state = tuple(
        State.HOLDS if excess <= 0.0 else past_ceiling(float(c), fine)
        for excess, c in zip(judgement.unsafe_excess, chance, strict=True)
    )
    under_power = np.maximum(delivered.torque, 0.0)
    return JudgedTable(
        assessment=fine, policy=policy, breakpoints=points, limit=torque, judgement=judgement,
        speed_limit=ends, ceiling=ceiling, reach=can, delivered=delivered.torque,
        chance=at_limit.mean(axis=1), chance_delivered=delivered.failed.mean(axis=1),
        knock_chance=knocking(fine.model.demand, place),
        abnormal=_abnormal(fine, delivered.limit),
        governing=tuple(limit.name for limit in governing), state=state,
        chance_pull=delivered.chance_pull, chance_pulls=delivered.chance_pulls,
        chance_pulls_at_limit=float(at_limit.any(axis=0).mean()),
        area=area_under_power(fine.speed, under_power, (low, high)),
        area_unused=_unused(fine.speed, judgement.unused, (low, high)),
        rise_excess=rise_excess((points, torque), policy.rise or np.inf, policy.peak_from or 0.0),
        outside=outside,
        notices=(
            *reach_notices(assessment, reach), *_notices(outside, torque, points, low, high)
        ),
    )  # fmt: skip


def past_ceiling(chance: float, fine: Assessment) -> State:
    """The state of torque above the ceiling, which is a little under the accepted chance."""
    state = state_of(chance, fine.policy.chance, fine.evidence.kept)
    return State.CLOSE if state is State.HOLDS else state


def _abnormal(fine: Assessment, limit: Array) -> Abnormal:
    """Abnormal cycles of a pull that makes limits (S,) [N*m], with the ignition they ask for."""
    model = fine.model
    later = later_asked(model.demand, limit)
    state = as_asked(model.operating, later)
    loads = (
        demand(fine.engine, state, model.draws, model.reading_sd, pulls=fine.policy.pulls)
        if later.any()
        else model.demand
    )
    return abnormal_cycles(loads, model.parts, place_of(loads.torque, limit))


def _require_speeds_in_common(points: Array, low: float, high: float) -> None:
    if points[-1] < low or points[0] > high:
        raise InputError(
            f"the table runs from {points[0] / RPM:.0f} to {points[-1] / RPM:.0f} rpm and the run "
            f"from {low / RPM:.0f} to {high / RPM:.0f} rpm: they have no speed in common."
        )


def _unused(speed: Array, unused: Array, band: tuple[float, float]) -> float:
    if not np.isfinite(unused).all():
        return float("inf")
    return area_under_power(speed, unused, band)


def _notices(
    outside: Array, limit: Array, points: Array, low: float, high: float
) -> tuple[Notice, ...]:
    told = []
    if len(outside):
        listed = ", ".join(f"{s / RPM:,.0f}" for s in outside)
        told.append(
            Notice(
                "table-outside-run",
                f"The table's breakpoints at {listed} rpm lie outside the run, which covers "
                f"{low / RPM:,.0f} to {high / RPM:,.0f} rpm: there nothing is known of the engine "
                "and the table is not judged.",
            )
        )
    if points[0] > low or points[-1] < high:
        told.append(
            Notice(
                "table-held-at-ends",
                f"The table covers {points[0] / RPM:,.0f} to {points[-1] / RPM:,.0f} rpm, less "
                "than the run: its end values are taken to hold beyond it.",
            )
        )
    if (limit < 0).any():
        told.append(
            Notice("table-negative", "The table holds negative torques, which ask for no torque.")
        )
    return tuple(told)
