"""The readable answer to `limit`: the proposal's own tables, and those of the trade-off."""

import dataclasses
from collections.abc import Sequence

from torquerisk.case import Notice
from torquerisk.quantities import DEGREE, RPM
from torquerisk.show.text import tables
from torquerisk.show.text.blocks import table
from torquerisk.show.words import (
    by_speed,
    limit_columns,
    limit_table,
    next_rung,
    prose,
    trade_off,
)
from torquerisk.show.words.columns import Column, chosen, in_words
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    Frontier,
    LaterPhasing,
    Point,
    Proposal,
)

MORE = tables.paragraph(
    "More with --full: why each row, what later phasing would buy, pressures and retard for the "
    "controller, what the rules cost."
)


def limit_text(
    proposal: Proposal,
    extra: Sequence[Notice] = (),
    units: Units = Units.SI,
    with_frontier: bool = False,
    full: bool = False,
) -> str:
    """The proposal in words and tables, with the trade-off where it is wanted.

    full: also why, phasing, controller and costs, which MORE names where they are left out.
    """
    answers = answers_of(proposal.assessment)
    rungs = next_rung.in_words(proposal.assessment, answers.next_rungs, units)
    blocks = [tables.section("The next rung", tables.bullets(rungs))]
    if full:
        costs = limit_table.costs_in_words(proposal, answers.rule_costs(proposal), units)
        blocks = [
            tables.section("Why each row", [_why(proposal)]),
            tables.section("Phasing by row", _phasing(proposal, units)),
            tables.section("For the controller", _controller(proposal, units)),
            *blocks,
            tables.section("What the rules cost", tables.bullets(costs)),
        ]
    else:
        blocks.append(MORE)
    if with_frontier:
        blocks.append(_frontier(answers.trade_off(proposal), proposal, units))
    return tables.proposal_text(proposal, extra, units, [b for b in blocks if b])


def _why(p: Proposal) -> str:
    titles = limit_columns.titles_of(p.assessment)
    rows = [[prose.plain(r.speed / RPM), limit_table.held_in_words(r, titles)] for r in p.rows]
    return tables.columns(["rpm", "kept from more by"], rows, left=(1,), wrap=1)


def _phasing(p: Proposal, units: Units) -> list[str]:
    name, size = prose.torque_unit(units)
    judged = [r for r in p.rows if r.assessed]
    logged = any(r.ignition_advance is not None for r in judged)
    keys = ["speed_rpm", "ca50_deg", "ca50_not_before_deg"]
    keys += ["ignition_advance_deg", "advance_not_above_deg"] if logged else []
    shown, picked = limit_columns.shown_of(p, units), chosen(limit_columns.COLUMNS, keys)
    cells = in_words(picked, judged, shown)
    rows = [
        [*row, *(_gain(step, size) for step in r.later)]
        for row, r in zip(cells, judged, strict=True)
    ]
    headings = [c.headed(shown) for c in picked]
    headings += [
        f"{step.ca50_later / DEGREE:.0f} deg later\n{name} more" for step in judged[0].later
    ]
    return [
        tables.columns(headings, rows, left=()),
        *(tables.paragraph(text) for text in limit_table.ignition_conditions(p, units)),
        *(tables.paragraph(text) for text in limit_table.phasing_in_words(p, units)),
    ]


def _gain(step: LaterPhasing, size: float) -> str:
    return "too late" if step.gain is None else prose.plain(step.gain / size)


def _controller(p: Proposal, units: Units) -> list[str]:
    if all(r.pressure is None and r.retard is None for r in p.rows):
        return []
    keys = [
        "speed_rpm", "torque_limit_n_m", "target", "boost", "manifold_pressure_sd_kpa",
        "manifold_pressure_trusted_kpa", "manifold_pressure_trusted",
    ]  # fmt: skip
    keys += [] if p.assessment.engine.compression_ignition else ["retard_later", "retard_to"]
    shown = dataclasses.replace(limit_columns.shown_of(p, units), decimals=0)
    return [
        table(chosen(limit_columns.COLUMNS, keys), p.rows, shown),
        *(tables.paragraph(text) for text in limit_table.controller_in_words(p)),
    ]


def _frontier(f: Frontier, p: Proposal, units: Units) -> str:
    blocks = [
        _points("chance", f.by_chance, f, p, units),
        "",
        _points("peak_from_rpm", f.by_peak, f, p, units),
        *tables.bullets(limit_table.frontier_in_words(f, units)),
    ]
    return "\n".join(["Trade-off", *blocks]) + "\n"


def _points(first: str, points: Sequence[Point], f: Frontier, p: Proposal, units: Units) -> str:
    remark = Column[Point](
        key="remark", value=lambda x: "chosen" if x is f.chosen else "", words=True
    )
    keys = (first, "peak_torque", "peak_speed", "peak_power_kw", "area", "chance_pulls", "remark")
    shown = by_speed.shown_of(p.finer, units)
    return table(chosen((*trade_off.COLUMNS, remark), keys), points, shown)
