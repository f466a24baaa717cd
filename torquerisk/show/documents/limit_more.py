"""What the document of a proposal says beside the table itself: why, phasing, boost, trade-off."""

from torquerisk.quantities import RPM
from torquerisk.show.documents.json_numbers import Document, keyed
from torquerisk.show.words import limit_table
from torquerisk.show.words.trade_off import COLUMNS
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    Assessment,
    Frontier,
    NextRung,
    NoTable,
    Point,
    Proposal,
)


def _rung(assessment: Assessment, rung: NextRung) -> Document:
    return {
        "times": rung.times,
        "pulls": rung.pulls,
        "speed_rpm": float(assessment.speed[rung.peak]) / RPM,
        "torque_n_m": float(rung.torque[rung.peak]),
        "chance": rung.risk,
        "accepted_n_m": float(rung.accepted[rung.peak]),
        "likely_to_knock_rpm": (assessment.speed[rung.knocks] / RPM).tolist(),
    }


def proposal_more(proposal: Proposal, trade_off: Frontier | None) -> Document:
    """Keys of the document beyond the contract's."""
    answers = answers_of(proposal.assessment)
    costs = answers.rule_costs(proposal)
    told = limit_table.costs_in_words(proposal, costs)
    worst = proposal.fresh.abnormal
    more: Document = {
        "abnormal_at_limit": {
            "counted_in_chances": proposal.assessment.policy.abnormal_in_chance,
            "pull_chance_event": worst.pull_event,
            "pull_chance_harm": worst.pull_harm,
        },
        "abnormal_text": limit_table.abnormal_in_words(proposal),
        "own_breakpoints": proposal.wish.own_speeds is not None,
        "no_dip": proposal.policy.no_dip,
        "nearest": any(n.code == "nearest-table" for n in proposal.notices),
        "rule_costs": [
            {"rule": cost.rule, "share": cost.share, "text": text}
            for cost, text in zip(costs, told, strict=True)
        ],
        "phasing_text": [
            *limit_table.ignition_conditions(proposal),
            *limit_table.phasing_in_words(proposal),
            *limit_table.window_in_words(proposal),
        ],
        "next_rungs": [_rung(proposal.assessment, rung) for rung in answers.next_rungs],
        "controller_text": list(limit_table.controller_in_words(proposal)),
    }
    if trade_off is not None:
        more["frontier"] = frontier_document(trade_off)
    return more


def frontier_document(trade_off: Frontier) -> Document:
    """The trade-off: two lists of tables, the chosen one, and what they come to in words."""
    return {
        "chosen": _point(trade_off.chosen),
        "by_chance": [_point(p) for p in trade_off.by_chance],
        "by_peak_from": [_point(p) for p in trade_off.by_peak],
        "text": list(limit_table.frontier_in_words(trade_off)),
    }


def _point(p: Point) -> Document:
    made = keyed(COLUMNS, p)
    if isinstance(p, NoTable):
        asked = ("chance", "peak_from_rpm")
        return {**{k: made[k] for k in asked}, "reason": p.reason, "table": None}
    return made
