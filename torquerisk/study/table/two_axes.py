"""Torque-limit tables over speed and one thing more: fuel, charge, coolant or gear."""

import dataclasses
import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Notice, Policy
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.errors import InfeasibleError, InputError
from torquerisk.quantities import Array
from torquerisk.study.assessment.assess import at_accepted, evaluate
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.evidence.agreement import select_draws
from torquerisk.study.limit_curve.ask import Shape, ShapeAsk
from torquerisk.study.limit_curve.curve import interpolated_limit
from torquerisk.study.limit_curve.in_rpm import shaped_to_peak
from torquerisk.study.limits import knocking, place_of
from torquerisk.study.loads.demand import Demand, demand
from torquerisk.study.loads.load_rows import rows_about
from torquerisk.study.run.operating_state import PhasingSource
from torquerisk.study.table.attainable import reach_curve, reach_notices, under_reach
from torquerisk.study.table.engines_enough import policy_of_proof, proves
from torquerisk.study.table.finer_grid import (
    binding_capacity,
    finer_inputs,
    governed_at,
    index_of,
    prepared_of,
)
from torquerisk.study.table.ignition_asked import as_asked, later_asked
from torquerisk.study.table.proof import ATTEMPTS, SAMPLING_SIGMAS, sampling_error
from torquerisk.study.table.propose import Wish, ask_of, reference_notices, with_reference
from torquerisk.study.table.rows import step_notices
from torquerisk.study.table.second_axis import Axis, AxisValue
from torquerisk.study.table.speed_limit import speed_limit, up_to

MOST_VALUES = 16
LEAST_KNOCK_CHANCE = 0.1
"""Share of engines that knock at the phasing judged at, from which on it is told [-]."""
LEAST_LATER = 0.5
"""A burn that must be later by less than this is not told [degrees]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Column:
    """The table at one value of the axis. SI."""

    value: float
    shape: Shape
    governing: tuple[str, ...]
    """Limit with the least capacity torque at each breakpoint."""
    chance: Array
    """Chance that a limit of strength is passed at each breakpoint's limit (R,) [-]."""
    spare: Array
    """Torque at the accepted chance less the limit (R,) [N*m]; may be infinite."""
    ceiling: Array
    """Torque at the accepted chance on the finer grid (S,) [N*m]."""
    knock_later: Array
    """How much later than judged the limit asks ignition to be, and was proved with (R,) [rad]:
    see `later_asked`."""
    knock_chance: Array
    """Share of simulated engines that knock at the limit and the phasing judged at (R,) [-]."""
    verified: bool
    worst_chance: float
    """Highest chance that fresh draws found at any speed of the grid [-]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Table2D:
    """A torque-limit table over speed and one axis."""

    assessment: Assessment
    """Of the measured run."""
    policy: Policy
    axis: Axis
    values: Array
    """Rising (V,) [SI of the axis]."""
    breakpoints: Array
    """(R,) [rad/s]."""
    columns: tuple[Column, ...]
    held: tuple[str, ...]
    """What stays as it was in the run, in words."""
    lowered: float
    """Most that a cell was lowered so that the table keeps its order along the axis [N*m]."""
    notices: tuple[Notice, ...]

    @property
    def limit(self) -> Array:
        """Limits (R, V) [N*m]."""
        return np.stack([c.shape.limit for c in self.columns], axis=1)

    @property
    def verified(self) -> bool:
        """True where every column passed."""
        return all(c.verified for c in self.columns)


def propose_table_2d(
    assessment: Assessment, axis: Axis, values: Sequence[float], wish: Wish
) -> Table2D:
    """Propose and verify a table of limits over speed and an axis.

    assessment: of the measured run, whose draws (that agree with the evidence) are used for every
    value. axis, values: see `Axis`; at most 16 values, in SI. wish: of the table; each column is
    shaped under its own ceiling and assessed anew with fresh draws. Where physics orders the
    columns (see `direction`) a column never lies above a more capable one: it is shaped under it,
    so cells are only ever lowered. That is more than sampling past the run's torque, where what
    knocks sooner is judged with later ignition, which loads less: a table shows none, so none of it
    is given for that.
    Raises InfeasibleError where a column cannot meet the ask, InputError on bad input.
    """
    policy, reach, reference = (
        wish.policy.of(float(assessment.torque.max())), wish.reach, wish.reference
    )  # fmt: skip
    wish = dataclasses.replace(wish, policy=policy)
    if (highest := speed_limit(assessment, policy.chance)) is not None:
        assessment = up_to(assessment, highest)
    wanted = checked_values(assessment, axis, values)
    ask = ask_of(assessment, policy, wish.breakpoints)
    work = _Work(assessment, axis, ask, wish)
    columns = [work.carried(v) for v in wanted]
    order = axis.direction(assessment)
    shapes, lowered, proven = work.proved(columns, order)
    made = tuple(work.column(c, s, p) for c, s, p in zip(columns, shapes, proven, strict=True))
    return Table2D(
        assessment=assessment,
        policy=policy,
        axis=axis,
        values=np.array(wanted),
        breakpoints=ask.breakpoints,
        columns=made,
        held=axis.held_in_words(assessment),
        lowered=lowered,
        notices=(
            *step_notices(assessment, policy),
            *reach_notices(assessment, reach),
            *reference_notices(assessment, policy, reference),
            *work.notices(columns, lowered, order),
            *_knock(axis, made, assessment.model.every.count),
        ),
    )


def checked_values(assessment: Assessment, axis: Axis, values: Sequence[float]) -> list[float]:
    """The axis' values, rising; refused where doubled, out of range, or too many."""
    if not 2 <= len(values) <= MOST_VALUES:
        raise InputError(
            f"{axis.title} has {len(values)} values, but a table over it needs 2 to {MOST_VALUES}."
        )
    rising = sorted(float(v) for v in values)
    if any(b - a < 1e-9 for a, b in itertools.pairwise(rising)):
        raise InputError(f"{axis.title} has the same value twice: give each value once.")
    for value in rising:
        axis.check(value, assessment)
    return rising


@dataclass(frozen=True, kw_only=True, eq=False)
class _Carried:
    """What the engine carries at one value of the axis, on the finer grid."""

    there: AxisValue
    governing: tuple[str, ...]
    """Limit that sets the ceiling (S,)."""
    ceiling: Array
    """Torque that a table may ask for (S,) [N*m]."""
    strength: Array
    """Least capacity torque of a limit of strength (S, N) [N*m]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class _Proof:
    """What fresh draws say of a column."""

    holds: bool
    """True where the accepted chance is kept."""
    verified: bool
    """True where there were engines enough to tell, too."""
    worst: float
    """Highest chance at any speed [-]."""
    ceiling: Array
    """Torque at the accepted chance by the fresh draws (S,) [N*m]."""
    later: Array
    """How much later ignition is asked to be, and was proved with (S,) [rad]."""
    knocks: Array
    """Share of the assessment's own draws that knock at the phasing judged at (S,) [-]."""


class _Work:
    """One axis of one assessment."""

    def __init__(self, assessment: Assessment, axis: Axis, ask: ShapeAsk, wish: Wish) -> None:
        self.assessment, self.axis, self.policy = assessment, axis, wish.policy
        self.inputs = finer_inputs(assessment, ask.breakpoints)
        self.speed = self.inputs.speed
        base = reach_curve(assessment, wish.reach)
        self.reach = None if base is None else np.interp(self.speed, assessment.speed, base)
        ask = with_reference(ask, assessment, self.speed, wish.policy, wish.reference)
        self.ask = under_reach(ask, wish.reach)

    def carried(self, value: float) -> _Carried:
        """What is carried at a value of the axis, by the assessment's own draws."""
        a, chance = self.assessment, self.policy.chance
        there = self.axis.variant(self.inputs, value)
        fine = evaluate(there.prepared, a.policy, there.draws(a.model.every), a.evidence)
        ceiling, governing = governed_at(fine, chance)
        return _Carried(
            there=there,
            governing=tuple(limit.name for limit in governing),
            ceiling=ceiling,
            strength=fine.model.least.strength,
        )

    def shapes(
        self, columns: list[_Carried], ceilings: list[Array], order: int
    ) -> tuple[list[Shape], float]:
        """A table for every value, the most capable first, and by how much cells were lowered."""
        count = len(columns)
        made: dict[int, Shape] = {}
        lowered = 0.0
        above: Array | None = None
        for k in range(count - 1, -1, -1) if order > 0 else range(count):
            shape = self._shape(columns[k], ceilings[k])
            if order and above is not None and (shape.limit > above + 1e-9).any():
                lowered = max(lowered, float((shape.limit - above).max()))
                roof = interpolated_limit(self.ask.breakpoints, above, self.speed)
                shape = self._shape(columns[k], np.minimum(ceilings[k], roof))
            made[k], above = shape, shape.limit
        return [made[k] for k in range(count)], lowered

    def proved(
        self, columns: list[_Carried], order: int
    ) -> tuple[list[Shape], float, list[_Proof]]:
        """Tables with their proofs on fresh draws; each that fails is lowered and tried again."""
        ceilings = [c.ceiling for c in columns]
        shapes, lowered = self.shapes(columns, ceilings, order)
        if not proves(self.policy.chance, self.assessment.evidence.kept):
            more = self.fresh_draws(ATTEMPTS + 1)
            found = [self.proof(c, s, more).ceiling for c, s in zip(columns, shapes, strict=True)]
            ceilings = [np.minimum(c, f) for c, f in zip(ceilings, found, strict=True)]
            shapes, lowered = self.shapes(columns, ceilings, order)
        proofs: list[_Proof | None] = [None] * len(columns)
        for attempt in range(1, ATTEMPTS + 1):
            draws = self.fresh_draws(attempt)
            proven = [
                p if p is not None and p.holds else self.proof(c, s, draws)
                for p, c, s in zip(proofs, columns, shapes, strict=True)
            ]
            if all(p.holds for p in proven) or attempt == ATTEMPTS:
                break
            ceilings = [
                c if p.holds else np.minimum(c, p.ceiling)
                for c, p in zip(ceilings, proven, strict=True)
            ]
            before = shapes
            shapes, lowered = self.shapes(columns, ceilings, order)
            proofs = [
                p if np.array_equal(old.limit, new.limit) else None
                for p, old, new in zip(proven, before, shapes, strict=True)
            ]
        return shapes, lowered, proven

    def _shape(self, column: _Carried, ceiling: Array) -> Shape:
        try:
            return shaped_to_peak(self.speed, ceiling, self.reach, self.ask)
        except InfeasibleError as error:
            told = self.axis.in_words(column.there.value)
            raise InfeasibleError(
                Sentence(f"at {self.axis.title} {told}: ", error.sentence)
            ) from None

    def fresh_draws(self, attempt: int) -> tuple[Draws, int]:
        """Other draws that agree with the same evidence, and how many they are worth."""
        policy = policy_of_proof(self.assessment, self.policy.chance, attempt)
        draws, evidence = select_draws(prepared_of(self.assessment), policy)
        return draws, evidence.kept

    def proof(self, column: _Carried, shape: Shape, fresh: tuple[Draws, int]) -> _Proof:
        """Assess a column's limit as a run at its value of the axis, with the ignition that it asks
        for and `fresh_draws`."""
        draws, worth = fresh
        a, there = self.assessment, column.there
        limit = interpolated_limit(shape.breakpoints, shape.limit, self.speed)
        loads = self.loads_about(there, limit)
        later, state = later_asked(loads, limit), there.prepared.state
        inputs = dataclasses.replace(there.prepared, torque=limit, state=as_asked(state, later))
        least = binding_capacity(evaluate(inputs, a.policy, there.draws(draws), a.evidence))
        worst = float((least < limit[:, None]).mean(axis=1).max())
        allowed = self.policy.chance + SAMPLING_SIGMAS * sampling_error(self.policy.chance, worth)
        return _Proof(
            holds=worst <= allowed,
            verified=worst <= allowed and proves(self.policy.chance, worth),
            worst=worst,
            ceiling=at_accepted(least, self.policy.chance),
            later=later,
            knocks=knocking(loads, place_of(loads.torque, limit)),
        )

    def loads_about(self, there: AxisValue, limit: Array) -> Demand:
        """What torques (S,) [N*m] ask of the assessment's own engines at a value of the axis."""
        made, base = there.prepared, self.assessment.model.demand
        least, most = (float(f(np.append(limit, self.inputs.torque))) for f in (np.min, np.max))
        return demand(
            made.engine, made.state, there.draws(self.assessment.model.draws), made.reading_sd,
            pulls=base.pulls, rows=rows_about(made.engine, least, most),
        )  # fmt: skip

    def column(self, carried: _Carried, shape: Shape, proof: _Proof) -> Column:
        """The column with what governs it."""
        points = np.clip(shape.breakpoints, self.speed[0], self.speed[-1])
        index = index_of(self.speed, points)
        index = np.minimum(index, len(self.speed) - 1)
        on_grid = interpolated_limit(shape.breakpoints, shape.limit, self.speed)
        return Column(
            value=carried.there.value,
            shape=shape,
            governing=tuple(carried.governing[k] for k in index),
            chance=(carried.strength < on_grid[:, None]).mean(axis=1)[index],
            spare=carried.ceiling[index] - shape.limit,
            ceiling=carried.ceiling,
            knock_later=proof.later[index],
            knock_chance=proof.knocks[index],
            verified=proof.verified,
            worst_chance=proof.worst,
        )

    def notices(self, columns: list[_Carried], lowered: float, order: int) -> tuple[Notice, ...]:
        """What a reader of the table must be told."""
        told = [n for c in columns for n in c.there.notices]
        logged = self.assessment.phasing_source is PhasingSource.IGNITION_ADVANCE
        past = (
            ", and past the run's torque because what knocks sooner is judged with later ignition"
            if logged and self.axis.knock_moves
            else ""
        )
        if lowered > 0.0:
            told.append(
                Notice(
                    "axis-order",
                    Sentence(
                        "Cells were lowered by up to ",
                        Torque(lowered),
                        f" so that {self.axis.rule}; by their own ceilings they would have been "
                        "out of order, by sampling or by rounding where the difference is small"
                        f"{past}.",
                    ),
                )
            )
        if not order:
            told.append(Notice("axis-no-order", self.axis.no_order))
        return tuple(dict.fromkeys(told))


def _knock(axis: Axis, columns: tuple[Column, ...], draws: int) -> tuple[Notice, ...]:
    """How many engines knock at the phasing judged at: the limit alone does not keep it away."""
    worst = [float(c.knock_chance.max()) for c in columns]
    if not axis.knock_moves or max(worst) < LEAST_KNOCK_CHANCE:
        return ()
    told = ", ".join(
        f"{round(share * draws):,} at {axis.in_words(c.value)}"
        for share, c in zip(worst, columns, strict=True)
    )
    later = [
        f"{degrees:.0f} at {axis.in_words(c.value)}"
        for c in columns
        if (degrees := float(np.degrees(c.knock_later.max()))) >= LEAST_LATER
    ]
    middle = f" (the engine in the middle by up to {', '.join(later)}, in degrees)" if later else ""
    return (
        Notice(
            "axis-knock",
            f"Of {draws:,} simulated engines so many knock at the limit of their worst speed and "
            f"the phasing judged at: {told}. There the ignition must burn later{middle}, as it was "
            "checked with: a torque limit alone does not keep knock away.",
        ),
    )
