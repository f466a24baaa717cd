"""The trade-off: what a smaller chance, or a later peak, costs in torque, power and area."""

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from torquerisk.errors import InputError
from torquerisk.quantities import RPM, Array
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limit_curve.advice import RuleCost, rule_costs
from torquerisk.study.limit_curve.ask import Shape, ShapeAsk, ShapeInfeasibleError
from torquerisk.study.limit_curve.in_rpm import in_rpm, rpm, shaped_to_peak
from torquerisk.study.table.delivered import delivered_under
from torquerisk.study.table.finer_grid import ceiling_at
from torquerisk.study.table.propose import Proposal, table_breakpoints

CHANCES = (0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2)
"""Accepted chances of the trade-off where none are asked for."""
PEAK_STEP = 250 * RPM
"""Earliest peaks lie on multiples of this speed [rad/s]."""
PEAKS = 6
"""Earliest peaks of the trade-off where none are asked for."""
LEAST_PASSED = 4.0
"""Draws that must pass a limit for a chance to be told from none; else the point is coarse."""


@dataclass(frozen=True, kw_only=True, eq=False)
class FrontierPoint:
    """One table of the trade-off, shaped as the proposal's but not assessed anew. SI."""

    chance: float
    """Accepted at each speed."""
    peak_from: float
    breakpoints: Array
    limit: Array
    area: float
    """Under delivered power over the band [W*rad/s]."""
    peak_speed: float
    """Where delivered torque is greatest [rad/s]."""
    peak_torque: float
    peak_power: float
    """Greatest delivered power [W]."""
    chance_any_max: float
    chance_pull: float
    chance_pulls: float
    coarse: bool
    """True where the accepted chance is fewer than four of the simulated engines."""


@dataclass(frozen=True, kw_only=True)
class NoTable:
    """A point of the trade-off that no table meets, and why."""

    chance: float
    peak_from: float
    reason: str


Point = FrontierPoint | NoTable


@dataclass(frozen=True, kw_only=True, eq=False)
class Frontier:
    """The trade-off about a proposal."""

    chosen: FrontierPoint
    """The proposal's own ask, made the same way as the other points."""
    by_chance: tuple[Point, ...]
    """Rising in accepted chance, the chosen among them."""
    by_peak: tuple[Point, ...]
    """Rising in earliest peak speed, the chosen among them."""


def frontier(
    proposal: Proposal,
    chances: Sequence[float] | None = None,
    peaks: Sequence[float] | None = None,
) -> Frontier:
    """Tables for a list of accepted chances and for a list of earliest peak speeds.

    proposal: whose engines, reach and rules are used. chances: accepted at each speed [-], within
    0 to 0.5; peaks: earliest speeds of the peak [rad/s], within the run. Only shaped, not assessed
    anew, so the whole takes well under a second. Raises InputError on a list out of range.
    """
    chances = CHANCES if chances is None else chances
    peaks = peaks_of(proposal) if peaks is None else peaks
    _check(proposal, chances, peaks)
    own_chance, own_peak = proposal.policy.chance, proposal.ask.peak_from
    chosen = point(proposal, own_chance, own_peak)
    if isinstance(chosen, NoTable):
        raise ArithmeticError(f"the proposal's own ask has no table: {chosen.reason}")
    return Frontier(
        chosen=chosen,
        by_chance=tuple(
            chosen if c == own_chance else point(proposal, c, own_peak)
            for c in sorted({*chances, own_chance})
        ),
        by_peak=tuple(
            chosen if p == own_peak else point(proposal, own_chance, p)
            for p in sorted({*peaks, own_peak})
        ),
    )


def _check(proposal: Proposal, chances: Sequence[float], peaks: Sequence[float]) -> None:
    low, high = proposal.ask.band
    for chance in chances:
        if not 0.0 < chance <= 0.5:
            raise InputError(f"a chance is {chance:.4g}, but must be above 0 and at most 0.5.")
    for peak in peaks:
        if not low <= peak <= high:
            raise InputError(
                f"an earliest peak is {peak / RPM:.0f} rpm, but must be within the run, "
                f"{low / RPM:.0f} to {high / RPM:.0f} rpm."
            )


def peaks_of(proposal: Proposal) -> tuple[float, ...]:
    """Earliest peaks to ask for: round speeds over the middle of the run [rad/s]."""
    low, high = proposal.ask.band
    wanted = low + (high - low) * np.linspace(0.3, 0.95, PEAKS)
    round_ones = np.unique(np.round(wanted / PEAK_STEP)) * PEAK_STEP
    return tuple(float(p) for p in round_ones if low <= p <= high)


def point(proposal: Proposal, chance: float, peak_from: float) -> Point:
    """The table for one accepted chance and one earliest peak [rad/s], or why there is none."""
    fine = proposal.finer
    ask = _asked(proposal, peak_from)
    reach = _reach(proposal)
    try:
        shape = shaped_to_peak(fine.speed, ceiling_at(fine, chance), reach, ask)
    except ShapeInfeasibleError as error:
        return NoTable(chance=chance, peak_from=peak_from, reason=error.sentence)
    return _point(fine, shape, ask, reach, chance)


def _asked(proposal: Proposal, peak_from: float) -> ShapeAsk:
    """The proposal's ask with another earliest peak; even breakpoints move with it."""
    ask = proposal.ask
    if peak_from == ask.peak_from:
        return ask
    points = ask.breakpoints
    if proposal.wish.own_speeds is None:
        low, high = ask.band
        points = table_breakpoints(low, high, len(points), peak_from)
    return dataclasses.replace(ask, peak_from=peak_from, breakpoints=points)


def _reach(proposal: Proposal) -> Array | None:
    """What the engine can make on the finer grid: linear between the run's own speeds [N*m]."""
    own = proposal.assessment.speed
    reach = proposal.reach(own)
    return None if reach is None else np.interp(proposal.finer.speed, own, reach)


def _point(
    fine: Assessment, shape: Shape, ask: ShapeAsk, reach: Array | None, chance: float
) -> FrontierPoint:
    delivered = delivered_under(fine, shape.breakpoints, shape.limit, reach)
    tally = delivered.tally(ask.band)
    return FrontierPoint(
        chance=chance,
        peak_from=ask.peak_from,
        breakpoints=shape.breakpoints,
        limit=shape.limit,
        area=tally.area,
        peak_speed=delivered.peak_speed,
        peak_torque=delivered.peak_torque,
        peak_power=float((delivered.torque * fine.speed).max()),
        chance_any_max=tally.chance_any_max,
        chance_pull=delivered.chance_pull,
        chance_pulls=delivered.chance_pulls,
        coarse=chance * fine.model.every.count < LEAST_PASSED,
    )


def costs_of(proposal: Proposal) -> tuple[RuleCost, ...]:
    """What each rule of shape that the proposal keeps costs, dearest first; see `rule_costs`.

    Made with speeds in rpm, as the proposal was.
    """
    fine = proposal.finer
    ceiling = ceiling_at(fine, proposal.policy.chance)
    return rule_costs(rpm(fine.speed), ceiling, _reach(proposal), in_rpm(proposal.ask))
