"""The torque-limit table of an assessed engine: shaped, rounded down, assessed anew."""

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from torquerisk.case import Notice, Policy, Run
from torquerisk.case.policy import RISE
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.errors import InputError
from torquerisk.quantities import RPM, Array
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limit_curve.ask import Objective, Shape, ShapeAsk, ShapeInfeasibleError
from torquerisk.study.limit_curve.curve import even_breakpoints
from torquerisk.study.limit_curve.in_rpm import shaped_to_peak
from torquerisk.study.run.crank_reading import crank_reading
from torquerisk.study.table.attainable import Reach, covers, reach_curve, reach_notices, under_reach
from torquerisk.study.table.delivered import Delivered, Tally, delivered_under, measured_tally
from torquerisk.study.table.engines_enough import judged_on
from torquerisk.study.table.finer_grid import ceiling_at, governed_at
from torquerisk.study.table.ignition_asked import later_asked
from torquerisk.study.table.phasing_window import advance_notices
from torquerisk.study.table.proof import Proof, shaped_and_proved
from torquerisk.study.table.rows import LimitRow, limit_rows, step_notices
from torquerisk.study.table.speed_limit import speed_limit, up_to

OBJECTIVES = {
    "most area": Objective.MOST_AREA,
    "shortest sweep": Objective.SHORTEST_SWEEP,
    "least change": Objective.LEAST_CHANGE,
    "same shape later": Objective.SAME_SHAPE_LATER,
}
NEED_REFERENCE = ("least change", "same shape later")
"""Objectives that keep to a given curve."""
BREAKPOINT_STEP = 50 * RPM
"""Breakpoints lie on multiples of this speed [rad/s]."""
USUAL_RISE = 60 * RISE
"""Steepest rise of a table where none is asked for (common practice, no source)."""


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


@dataclass(frozen=True, kw_only=True, eq=False)
class Sketch:
    """A shaped torque-limit table, before its proof."""

    wish: Wish
    measured: Assessment
    """Of the whole run."""
    assessment: Assessment
    """The same up to the speed limit."""
    finer: Assessment
    """The same on the grid that the table was judged on, which holds a proved one's breakpoints."""
    ask: ShapeAsk
    shape: Shape
    under: Delivered
    """What is made under it on the finer grid."""
    can: Array | None
    """What the engine can make there [N*m]; None for open."""
    speed_limit: float | None
    """Where the table ends, since speed alone breaks too many engines above [rad/s]; None where
    nothing of the run is above."""
    notices: tuple[Notice, ...]

    @property
    def policy(self) -> Policy:
        """Chance, shape and table that were asked for."""
        return self.wish.policy

    @cached_property
    def before(self) -> Tally:
        """The whole measured run in two numbers, its area over the table's speeds."""
        return measured_tally(self.measured, self.ask.band)

    @cached_property
    def after(self) -> Tally:
        """What is made under the table in the same two."""
        return self.under.tally(self.ask.band)

    @cached_property
    def knock_later(self) -> Array:
        """How much later than judged (S,) [rad] ignition is asked to be at what is made under the
        table, on the finer grid: see `later_asked`."""
        return later_asked(self.finer.model.demand, self.under.torque)

    def delivered(self, speed: Array) -> Array:
        """The lesser of limit and reach at speeds of the run [N*m]; 0 past the speed limit."""
        return np.interp(speed, self.finer.speed, self.under.torque, right=0.0)

    def ceiling(self, speed: Array) -> Array:
        """The accepted torque at speeds of the run [N*m]; none past the speed limit."""
        ceiling = ceiling_at(self.finer, self.policy.chance)
        return np.interp(speed, self.finer.speed, ceiling, right=-np.inf)

    def reach(self, speed: Array) -> Array | None:
        """What the engine can make at speeds of the run [N*m]; None for open."""
        return None if self.can is None else np.interp(speed, self.finer.speed, self.can)

    def governing(self) -> list[tuple[str, float]]:
        """The limit that governs each breakpoint, and what is left to its ceiling [N*m]."""
        fine, points = self.finer, self.shape.breakpoints
        ceiling, limits = governed_at(fine, self.policy.chance)
        near = [int(np.argmin(np.abs(fine.speed - point))) for point in points]
        spare = ceiling[near] - self.shape.limit
        return [(limits[k].name, left) for k, left in zip(near, spare.tolist(), strict=True)]


@dataclass(frozen=True, kw_only=True, eq=False)
class Proposal(Sketch):
    """A torque-limit table with its proof."""

    rows: tuple[LimitRow, ...]
    proof: Proof

    @property
    def verified(self) -> bool:
        """True where the table is proved."""
        return self.proof.verified

    @property
    def fresh(self) -> Assessment:
        """The independent re-assessment, of the limit as a run."""
        return self.proof.fresh

    def governing(self) -> list[tuple[str, float]]:
        """The same, by row; nothing holds a row that is not judged."""
        return [(row.governing, np.inf if row.spare is None else row.spare) for row in self.rows]


def propose_limit(
    assessment: Assessment,
    policy: Policy | None = None,
    reach: Reach = "measured",
    reference: Run | None = None,
    breakpoints: Array | None = None,
    nearest: bool = False,
) -> Proposal:
    """Propose and verify a torque-limit table.

    assessment: of the measured run. policy: chance, shape and table; the assessment's when left
    out (its draws are used in any case). reach: what the engine can make. reference: a curve to
    stay near, or whose shape is moved, for the objectives that need one; the known-good curve when
    left out. breakpoints: own speeds of the table, rising (R,) [rad/s], instead of the policy's
    number of even ones. nearest: where no table meets the ask, give the nearest that keeps all but
    one rule, and say so in a notice.
    Raises InfeasibleError where no table meets the ask, InputError on bad input.
    """
    own = None if breakpoints is None else tuple(np.asarray(breakpoints, dtype=float).tolist())
    policy = policy or assessment.policy
    wish = Wish(policy=policy, reach=reach, own_speeds=own, reference=reference, nearest=nearest)
    return proposed(assessment, wish)


def proposed(assessment: Assessment, wish: Wish) -> Proposal:
    """The table wished for, with its proof; as `propose_limit`."""
    policy, own, measured = (
        wish.policy.of(float(assessment.torque.max())), wish.breakpoints, assessment
    )  # fmt: skip
    wish = dataclasses.replace(wish, policy=policy)
    fine = judged_on(assessment, ask_of(assessment, policy, own).breakpoints, policy.chance)
    highest = speed_limit(fine, policy.chance)
    if highest is not None:
        assessment = up_to(assessment, highest)
        fine = judged_on(assessment, ask_of(assessment, policy, own).breakpoints, policy.chance)
    found: list[Proof] = []

    def shape_by(ceiling: Array, can: Array | None, ask: ShapeAsk) -> Shape:
        shape, proof = shaped_and_proved(fine, policy, ask, ceiling, can)
        found.append(proof)
        return shape

    table = _shaped(wish, measured, assessment, fine, highest, shape_by)
    made = table.reach(table.shape.breakpoints)
    rows = limit_rows(fine, policy, table.shape, found[-1], made)
    return Proposal(**vars(table), rows=rows, proof=found[-1])


def sketched(assessment: Assessment, wish: Wish, finer: Assessment | None) -> Sketch:
    """Shape a table from the draws at hand, without the independent proof.

    finer: the assessment on the grid that holds the table's breakpoints, where it is at hand; the
    run's own grid is near enough until the proof brings it.
    Raises InputError or InfeasibleError with one sentence.
    """
    wish = dataclasses.replace(wish, policy=wish.policy.of(float(assessment.torque.max())))
    fine, measured = finer or assessment, assessment
    highest = speed_limit(fine, wish.policy.chance)
    if highest is not None:
        assessment = fine = up_to(fine, highest)
    return _shaped(
        wish, measured, assessment, fine, highest, lambda *asked: shaped_to_peak(fine.speed, *asked)
    )


def _shaped(
    wish: Wish,
    measured: Assessment,
    assessment: Assessment,
    fine: Assessment,
    highest: float | None,
    shape_by: Callable[[Array, Array | None, ShapeAsk], Shape],
) -> Sketch:
    """The table wished for, or where it cannot be met and it is wanted, the nearest one."""
    policy, reach = wish.policy, wish.reach
    ask = ask_of(assessment, policy, wish.breakpoints)
    ask = under_reach(with_reference(ask, assessment, fine.speed, policy, wish.reference), reach)
    ceiling, can = ceiling_at(fine, policy.chance), reach_curve(fine, reach)
    relaxed: tuple[Notice, ...] = ()
    try:
        shape = shape_by(ceiling, can, ask)
    except ShapeInfeasibleError as error:
        if not wish.nearest or error.kept is None:
            raise
        ask, relaxed = error.kept, (_nearest_notice(error),)
        shape = shape_by(ceiling, can, ask)
    under = delivered_under(fine, shape.breakpoints, shape.limit, can)
    return Sketch(
        wish=wish, measured=measured, assessment=assessment, finer=fine, ask=ask, shape=shape,
        under=under, can=can, speed_limit=highest,
        notices=(
            *relaxed,
            *step_notices(assessment, policy),
            *advance_notices(assessment, shape.breakpoints, shape.limit),
            *reach_notices(assessment, reach),
            *reference_notices(assessment, policy, wish.reference),
            *_notices(shape, under.limit, fine.torque, policy.step),
        ),
    )  # fmt: skip


def _notices(shape: Shape, limit: Array, measured: Array, step: float) -> tuple[Notice, ...]:
    """What a reader of the table must be told."""
    notices = [Notice("shape", text) for text in shape.notices]
    beyond = limit > measured + step
    if beyond.any():
        most = float((limit - measured).max())
        notices.append(
            Notice(
                "above-measured",
                Sentence(
                    f"The limit lies above what this run made at {int(beyond.sum())} of "
                    f"{len(beyond)} speeds, by up to ",
                    Torque(most),
                    ": there the model reaches beyond the measurement.",
                ),
            )
        )
    return tuple(notices)


def ask_of(assessment: Assessment, policy: Policy, breakpoints: Array | None = None) -> ShapeAsk:
    """What a policy asks of the table, without a reference curve yet."""
    policy = policy.of(float(assessment.torque.max()))
    speed = assessment.speed
    low, high = float(speed[0]), float(speed[-1])
    peak_from = policy.peak_from
    if peak_from is None:
        peak_from = assessment.peak_begins
        if breakpoints is not None:
            # No peak was asked for, so the last own breakpoint up to the measured one will do.
            earlier = breakpoints[breakpoints <= peak_from]
            peak_from = float(earlier[-1]) if len(earlier) else peak_from
    if peak_from > high:
        raise InputError(
            f"peak_from is {peak_from / RPM:.0f} rpm, but must be within the speeds of the table, "
            f"which end at {high / RPM:.0f} rpm."
        )
    if breakpoints is None:
        breakpoints = table_breakpoints(low, high, policy.points, peak_from)
    elif not ((breakpoints >= low) & (breakpoints <= high)).any():
        raise InputError(
            f"the table's own breakpoints run from {breakpoints[0] / RPM:.0f} to "
            f"{breakpoints[-1] / RPM:.0f} rpm, but none lies within the run's {low / RPM:.0f} to "
            f"{high / RPM:.0f} rpm."
        )
    return ShapeAsk(
        objective=Objective.MOST_AREA,
        breakpoints=breakpoints,
        band=(low, high),
        peak_from=peak_from,
        rise_rate=policy.rise or usual_rise(assessment, policy, breakpoints),
        torque_resolution=policy.step,
        no_dip_before_peak=policy.no_dip,
    )


def usual_rise(assessment: Assessment, policy: Policy, breakpoints: Array) -> float:
    """Steepest rise where none is asked for [N*m*s/rad].

    USUAL_RISE, or what the known-good curve rises by between breakpoints and one step of the table
    more: no default may take away what was survived. So with this run from where knock holds a
    table to it.
    """
    curve = assessment.engine.known_good.curve
    if len(breakpoints) < 2:
        return USUAL_RISE
    rises = [USUAL_RISE]
    if curve is not None:
        reading = crank_reading(assessment.reading.as_given, curve)
        known = np.interp(breakpoints, reading.speed, reading.torque)
        rises.append(float(((np.diff(known) + policy.step) / np.diff(breakpoints)).max()))
    heard = assessment.model.operating.knock_heard
    if heard is not None:
        made = np.interp(breakpoints, assessment.speed, assessment.torque)
        steps = (np.diff(made) + policy.step) / np.diff(breakpoints)
        held = (breakpoints[:-1] >= heard[0]) & (breakpoints[:-1] <= heard[1])
        rises += steps[held].tolist()
    return max(rises)


def with_reference(
    ask: ShapeAsk,
    assessment: Assessment,
    speed: Array,
    policy: Policy,
    reference: Run | None,
) -> ShapeAsk:
    """The ask with the policy's objective, and its reference curve at the speeds shaped on."""
    objective = OBJECTIVES[policy.objective]
    if policy.objective not in NEED_REFERENCE:
        return dataclasses.replace(ask, objective=objective)
    curve = reference or assessment.engine.known_good.curve
    if curve is None:
        raise InputError(
            f"objective is {policy.objective!r}, which needs a reference curve: give a run to keep "
            "to, or a known-good run in the engine file."
        )
    reading = crank_reading(assessment.reading.as_given, curve)
    on_grid = np.interp(speed, reading.speed, reading.torque).clip(0.0)
    return dataclasses.replace(ask, objective=objective, reference=on_grid)


def reference_notices(
    assessment: Assessment, policy: Policy, reference: Run | None
) -> tuple[Notice, ...]:
    """Which curve the table keeps to, and where that curve does not reach."""
    curve = reference or assessment.engine.known_good.curve
    if curve is None or policy.objective not in NEED_REFERENCE:
        return ()
    told = f"The table keeps to the curve {curve.name}."
    first, last = float(curve.speed[0]), float(curve.speed[-1])
    low, high = float(assessment.speed[0]), float(assessment.speed[-1])
    if not covers(curve.speed, assessment.speed):
        told += (
            f" It runs from {first / RPM:.0f} to {last / RPM:.0f} rpm, the measured run from "
            f"{low / RPM:.0f} to {high / RPM:.0f}: beyond its ends its end torque stands for it."
        )
    return (Notice("reference", told),)


def table_breakpoints(low: float, high: float, count: int, peak_from: float) -> Array:
    """Breakpoints (count,) [rad/s] on round speeds within the run, one at the earliest peak."""
    through = peak_from if low < peak_from < high else None
    return even_breakpoints(low, high, count, BREAKPOINT_STEP, through)


def _nearest_notice(error: ShapeInfeasibleError) -> Notice:
    """What must stand beside a table that is not what was asked for."""
    return Notice(
        "nearest-table",
        Sentence(
            "The ask cannot be met: ",
            error.sentence,
            " What follows is that nearest table, not what was asked for.",
        ),
    )
