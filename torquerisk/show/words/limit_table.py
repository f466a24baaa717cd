"""Sentences on a proposed table: why each row, what the trade-off gives up, what rules cost."""

import math

from torquerisk.quantities import DEGREE, RPM, Array
from torquerisk.show.words import prose
from torquerisk.show.words.in_short import WHOLE_TABLE
from torquerisk.show.words.limit_columns import OPEN, tenths_down
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    Axis,
    Binding,
    Frontier,
    FrontierPoint,
    IgnitionHole,
    JudgedTable,
    LimitRow,
    NoTable,
    Objective,
    Point,
    Proposal,
    RuleCost,
)

EXHAUST_HEAT = (
    "A later burn sends more heat into exhaust valves, manifold and turbine: measure exhaust "
    "temperature before you use it, and keep to what the maker allows."
)
"""Caution that goes with every advice to burn later."""
NOT_PROVED = (
    "The tables of the trade-off are shaped like the proposal but not assessed anew: propose the "
    "one you choose before you use it."
)
HELD = {
    Binding.NO_TORQUE: "no torque is acceptable there",
    Binding.CEILING: "the ceiling",
    Binding.REACH: "what the engine can make",
    Binding.RISE: "the steepest rise asked for",
    Binding.NOT_RISING: "the rule that the limit does not rise after its peak",
    Binding.PEAK: "the peak that must not come earlier",
    Binding.NO_DIP: "the rule of no dip before the peak",
    Binding.OPEN: OPEN,
    Binding.NOT_ASSESSED: "the nearest speed assessed, for the run does not reach this one",
    Binding.OBJECTIVE: "the objective, which more torque there would not serve",
}
LATER_THAN_JUDGED = (
    "Where the earliest CA50 is later than the one judged, weak engines burn later than the middle "
    "one, which is shown{}."
)
RULES = {
    "peak_from": "The peak not before {peak}",
    "rise_rate": "A rise of no more than {rise}",
    "no_dip_before_peak": "No dip before the peak",
    "limit_above_reach": "A limit not above what the engine makes",
}
LEAST_SHARE = 0.0005
"""Share below which a rule costs next to nothing."""


def held_in_words(row: LimitRow, titles: dict[str, str]) -> str:
    """What keeps a row from being a step higher."""
    kind = Binding(row.held_by)
    told = HELD[kind]
    if kind is Binding.CEILING:
        told = f"{told}: {titles[row.governing].lower()}"
        if abs(row.held_at - row.speed) > RPM:
            told += f" at {prose.speed_in_words(row.held_at)}"
    return told


def why_row(row: LimitRow, titles: dict[str, str], draws: int) -> str:
    """One row in a sentence: what holds it, what is to spare, the chance, what lifts it."""
    if row.chance is None or row.spare is None:
        return f"Held by {held_in_words(row, titles)}; nothing is judged there."
    if math.isfinite(row.spare):
        least = prose.torque_in_words(max(row.spare, 0.0))
        spare = f"{least} left to the accepted chance"
    else:
        spare = "no limit in reach" if row.spare > 0 else "no torque is acceptable"
    return (
        f"Held by {held_in_words(row, titles)}; {spare}; {titles[row.governing].lower()} comes "
        f"next, raised by {row.lifted_by}; passed "
        f"{prose.chance_in_words(row.chance, draws)}."
    )


def frontier_in_words(frontier: Frontier, units: Units = Units.SI) -> tuple[str, ...]:
    """What the next smaller and greater chance, and the next peaks, give up or gain."""
    told = []
    chosen = frontier.chosen
    at = _place(frontier.by_chance, chosen)
    for k in (at - 1, at + 1):
        if 0 <= k < len(frontier.by_chance):
            told.append(_chance_step(chosen, frontier.by_chance[k], units))
    for other in frontier.by_peak:
        if isinstance(other, NoTable):
            reason = prose.in_units(other.reason, units)
            told.append(f"At {prose.speed_in_words(other.peak_from)}: {reason}")
    later = [p for p in frontier.by_peak if isinstance(p, FrontierPoint) and p is not chosen]
    later = [p for p in later if p.peak_from > chosen.peak_from]
    dear = next((p for p in later if _share(chosen, p) <= -0.005), later[-1] if later else None)
    if dear is not None:
        told.append(
            f"Asking for the peak from {prose.speed_in_words(dear.peak_from)} instead of "
            f"{prose.plain(chosen.peak_from / RPM)} {_change(chosen, dear, units)}."
        )
    if any(isinstance(p, FrontierPoint) and p.coarse for p in frontier.by_chance):
        told.append(
            "The smallest chances are fewer than four of the simulated engines: more draws would "
            "settle them."
        )
    return (*told, NOT_PROVED)


def _place(points: tuple[Point, ...], chosen: FrontierPoint) -> int:
    return next(k for k, p in enumerate(points) if p is chosen)


def _share(one: FrontierPoint, other: FrontierPoint) -> float:
    return other.area / one.area - 1 if one.area > 0 else 0.0


def _chance_step(chosen: FrontierPoint, other: Point, units: Units) -> str:
    """'Halving the accepted chance from 1 % to 0.5 % gives up 3 kW and 1.2 % of the area.'"""
    ratio = other.chance / chosen.chance
    verb = "Lowering" if ratio < 1 else "Raising"
    if math.isclose(ratio, 0.5):
        verb = "Halving"
    elif math.isclose(ratio, 2.0):
        verb = "Doubling"
    step = (
        f"{verb} the accepted chance from {prose.percent(chosen.chance, 2)} to "
        f"{prose.percent(other.chance, 2)}"
    )
    if isinstance(other, NoTable):
        return f"{step} leaves no table: {prose.in_units(other.reason, units)}"
    return f"{step} {_change(chosen, other, units)}."


def _change(one: FrontierPoint, other: FrontierPoint, units: Units) -> str:
    power, area = other.peak_power - one.peak_power, _share(one, other)
    name, size = prose.power_unit(units)
    decimals = 1 if abs(power / size) < 10 else 0
    parts = {True: [], False: []}  # type: dict[bool, list[str]]
    if round(abs(power / size), decimals) > 0:
        parts[power > 0].append(f"{prose.plain(abs(power / size), decimals)} {name} of peak power")
    if abs(area) >= LEAST_SHARE:
        parts[area > 0].append(f"{prose.percent(abs(area), 2)} of the area under power")
    told = [
        f"{verb} {' and '.join(parts[gain])}"
        for gain, verb in ((False, "gives up"), (True, "gains"))
        if parts[gain]
    ]
    return " and ".join(told) or "changes peak power and area by next to nothing"


def costs_in_words(
    proposal: Proposal, costs: tuple[RuleCost, ...], units: Units = Units.SI
) -> tuple[str, ...]:
    """What each rule of shape costs, dearest first."""
    name, size = prose.torque_unit(units)
    ask = proposal.ask
    told = []
    for cost in costs:
        rule = RULES[cost.rule].format(
            peak=prose.speed_in_words(ask.peak_from),
            rise=f"{prose.plain(ask.rise_rate * 1000 * RPM / size)} {name} per 1,000 rpm",
        )
        told.append(f"{rule} {_cost(ask.objective, cost, units)}.")
    return tuple(told)


def _cost(objective: Objective, cost: RuleCost, units: Units) -> str:
    if cost.share < LEAST_SHARE:
        return "costs next to nothing"
    if objective is Objective.MOST_AREA:
        return f"costs {prose.percent(cost.share, 2)} of the area under power"
    if objective is Objective.SHORTEST_SWEEP:
        return f"makes the sweep {prose.percent(cost.share, 2)} longer"
    name, size = prose.torque_unit(units)
    return f"puts the table {prose.plain(cost.gain / size, 1)} {name} further from what it follows"


def phasing_in_words(proposal: Proposal, units: Units = Units.SI) -> tuple[str, ...]:
    """What a later burn would buy, and where it comes from, with its caution."""
    gains = [
        (row, step)
        for row in proposal.rows
        for step in row.later
        if step.gain is not None and step.ca50_later <= 2.5 * DEGREE
    ]
    told = []
    if gains:
        some = [step.gain for _, step in gains if step.gain is not None]
        degrees = gains[0][1].ca50_later / DEGREE
        name, size = prose.torque_unit(units)
        span = dict.fromkeys(prose.plain(gain / size) for gain in (min(some), max(some)))
        told.append(
            f"A burn {degrees:.0f} degrees later would let the rows carry {' to '.join(span)} "
            f"{name} more at the same chance, if charge enough is there to make it."
        )
        told.append(EXHAUST_HEAT)
    elif not proposal.assessment.engine.compression_ignition:
        told.append("No row has room to burn later at a phasing that tuners use.")
    return tuple(told)


def abnormal_in_words(table: Proposal | JudgedTable) -> str:
    """The chance of an abnormal cycle under a table, beside the normal one; empty for a diesel, and
    where hardly one would break anything.

    Of the limit as a run with the ignition that it asks for, by the proof's own engines.
    """
    of = table.fresh if isinstance(table, Proposal) else table.assessment
    found = table.fresh.abnormal if isinstance(table, Proposal) else table.abnormal
    if found.breaks_nothing:
        return ""
    counted = "counted in the chances" if of.policy.abnormal_in_chance else "not counted"
    return (
        f"In one pull {WHOLE_TABLE}, a heavy knock or pre-ignition comes with a chance of "
        f"{prose.percent(found.pull_event, 2)}, one that breaks something with "
        f"{prose.percent(found.pull_harm, 2)} (order of magnitude, {counted})."
    )


def carries_in_words(proposal: Proposal) -> str:
    """What the earliest CA50 and the most advance of a row stand for."""
    spark = not proposal.assessment.engine.compression_ignition
    quiet = " with half or more of the simulated engines quiet" if spark else ""
    return f"carries the row's torque, made or not,{quiet}".rstrip(",")


def window_in_words(proposal: Proposal) -> tuple[str, ...]:
    """Why the earliest CA50 may be later than the judged one; nothing where it nowhere is."""
    later = any(
        row.ca50 is not None and row.ca50_not_before is not None and row.ca50_not_before > row.ca50
        for row in proposal.rows
    )
    spark = not proposal.assessment.engine.compression_ignition
    return (LATER_THAN_JUDGED.format(", or that one knocks" if spark else ""),) if later else ()


NO_ROOM = 0.05 * DEGREE
"""Advance that is none when rounded."""


def ignition_conditions(proposal: Proposal, units: Units = Units.SI) -> tuple[str, ...]:
    """What the table asks of ignition beside torque, and a hole that a later one would fill."""
    rows = [row for row in proposal.rows if row.advance_not_above is not None]
    told = []
    if rows:
        advances = [row.advance_not_above for row in rows if row.advance_not_above is not None]
        least, most = tenths_down(min(advances)), tenths_down(max(advances))
        spare = min(
            row.advance_not_above - row.ignition_advance
            for row in rows
            if row.advance_not_above is not None and row.ignition_advance is not None
        )
        room = (
            f"{prose.plain(spare / DEGREE, 1)} or more before the run's own"
            if spare > NO_ROOM
            else "at some the run's own"
        )
        told.append(
            f"It holds with no more advance than 'advance at most' ({least} to {most} degrees by "
            f"speed, {room}): controllers advance as load falls.{_taken_back(proposal)}"
        )
    hole = answers_of(proposal.assessment).ignition_hole(proposal)
    if hole is not None:
        first, last = (proposal.rows[k].speed for k in (hole.rows[0], hole.rows[-1]))
        told.append(
            f"The dip of the table {prose.speeds_in_words(first, last)} is there for early "
            f"ignition alone: a burn {prose.plain(hole.later / DEGREE, 1)} degrees later"
            f"{_instead(hole)} at {prose.speed_in_words(proposal.rows[hole.deepest].speed)} would "
            f"carry {prose.torque_in_words(hole.fill, units)}, "
            f"{prose.torque_in_words(hole.depth, units)} more, at the same chance. Taken is the "
            "run's own ignition."
        )
    return tuple(told)


def _taken_back(proposal: Proposal) -> str:
    """What ignition rows stand on where knock control acted; empty without."""
    for sign in answers_of(proposal.assessment).log_signs:
        low, high = sign.first, sign.last
        if sign.code == "knock-retard" and any(low <= r.speed <= high for r in proposal.rows):
            return (
                f" {prose.speeds_in_words(low, high).capitalize()} that is what knock control "
                "took it back to: put it in the map; the parts carry these rows with the map's "
                "own too, if some day no knock is heard."
            )
    return ""


def _instead(hole: IgnitionHole) -> str:
    if hole.advance is None or hole.advance_less is None:
        return ""
    now, then = hole.advance / DEGREE, (hole.advance - hole.advance_less) / DEGREE
    return f" (ignition at {prose.plain(then, 1)} instead of {prose.plain(now, 1)} degrees)"


def controller_in_words(proposal: Proposal) -> tuple[str, ...]:
    """How far the pressure targets and the retard may be trusted."""
    told = []
    targets = [row for row in proposal.rows if row.pressure is not None]
    if targets:
        told.append(
            "Pressure: absolute, for the limit at the run's phasing, in proportion to the run; "
            "about 4 % either way (one standard deviation) within 30 % of the run's own pressure "
            "at that speed."
        )
        outside = [r for r in targets if r.pressure is not None and not r.pressure.trusted]
        if outside:
            speeds = ", ".join(prose.plain(r.speed / RPM) for r in outside)
            told.append(
                f"The pressures at {speeds} rpm lie outside the range in which the run lets them "
                "be trusted: log a run near them first."
            )
    diesel = proposal.assessment.engine.compression_ignition
    if diesel and targets:
        told.append(
            "The pressures suppose the run's lambda: compression ignition is held to a torque by "
            "its fuel, so limit the fuel and take the pressure from it."
        )
    if not diesel and any(r.retard is None or r.retard.ca50_later > 0 for r in proposal.rows):
        told.append(
            "Retard: how much later the burn must sit to bring the run's torque down to the limit "
            "at the run's own pressure; 'none' where that is later than 36 degrees after TDC. "
            + EXHAUST_HEAT
        )
    return tuple(told)


def axis_values(axis: Axis, values: Array) -> list[str]:
    """The axis' values with their units, as headings."""
    return [axis.in_words(round_shown(axis, float(v))) for v in values]


def round_shown(axis: Axis, value: float) -> float:
    """A value without the last digits of a conversion."""
    return axis.kind.from_shown(round(axis.kind.shown(value), 6))
