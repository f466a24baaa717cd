"""The answer in at most five sentences, worst first: number, unit, place, cause."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.quantities import RPM
from torquerisk.show.words import prose
from torquerisk.show.words.drivers import cause_in_words
from torquerisk.show.words.limit_columns import titles_of
from torquerisk.show.words.limit_table import HELD
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    BINDING,
    JUDGED,
    Assessment,
    Binding,
    LimitKind,
    LimitResult,
    LimitRow,
    PhasingSource,
    Proposal,
    Sketch,
    State,
    wants_inputs,
)

MOST_SENTENCES = 5
MOST_LIMITS = 2
"""Limits that get a sentence of their own; the table tells of the rest."""
SEVERITY = {State.EXCEEDS: 3, State.CLOSE: 2, State.NOT_ASSESSED: 1, State.HOLDS: 0}
"""Order of the state words, worst first."""
PLURAL = ("Rod bolts", "Injectors")
GAS_IN_COOLANT = "coolant-pressure"
FIRST = ("below-survived", "evidence-strains")
"""Notices that come before any verdict: less is allowed than was carried, or evidence strains."""


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """What can be said of one limit over the whole run."""

    name: str
    item: LimitResult
    state: State
    """The worst at any speed."""
    close: npt.NDArray[np.bool_]
    exceeds: npt.NDArray[np.bool_]
    worst: int
    """Index of the speed where its chance is greatest, else where least is to spare."""


def verdicts(assessment: Assessment) -> tuple[Verdict, ...]:
    """The limits that are judged, worst first. Indices are left out: guidance, no verdict."""
    found = []
    for name, item in assessment.limits.items():
        if item.limit.kind not in JUDGED:
            continue
        states = item.state(assessment.policy.chance)
        found.append(
            Verdict(
                name=name,
                item=item,
                state=max(states, key=SEVERITY.__getitem__),
                close=np.array([s is State.CLOSE for s in states]),
                exceeds=np.array([s is State.EXCEEDS for s in states]),
                worst=worst_speed(item),
            )
        )
    return tuple(sorted(found, key=_badness, reverse=True))


def worst_speed(item: LimitResult) -> int:
    """Index of the speed with the greatest chance; among equals, with the greatest utilisation."""
    return int(np.lexsort((item.utilisation, item.chance))[-1])


def _badness(verdict: Verdict) -> tuple[int, bool, float, float]:
    item, k = verdict.item, verdict.worst
    strength = item.limit.kind is LimitKind.STRENGTH
    return SEVERITY[verdict.state], strength, float(item.chance[k]), float(item.utilisation[k])


def assessment_in_short(assessment: Assessment, units: Units = Units.SI) -> tuple[str, ...]:
    """At most five sentences on an assessed run, worst first."""
    ranked = verdicts(assessment)
    bad = [v for v in ranked if v.state is not State.HOLDS]
    told = [n.text for n in assessment.notices if n.code in FIRST]
    told += over_known_in_words(assessment)
    told += [limit_sentence(assessment, v) for v in bad[:MOST_LIMITS]]
    if not bad:
        told.append(_all_hold(assessment, _least_to_spare(ranked)))
    elif len(bad) > MOST_LIMITS:
        others = ", ".join(v.item.limit.title.lower() for v in bad[MOST_LIMITS:])
        told.append(f"Also not clearly held: {others}.")
    if any(n.code == GAS_IN_COOLANT for n in assessment.notices):
        told.append(
            "Coolant pressure rose during the run, a sign of a head that lifts: see the notices "
            "before you run it again."
        )
    missing = [n for n, m in assessment.not_assessed.items() if wants_inputs(m)]
    if missing:
        names = ", ".join(n.replace("_", " ") for n in missing)
        told.append(f"Not assessed, for want of inputs: {names}.")
    told += _phasing(assessment)
    told.append(
        "Some limit of strength is exceeded somewhere "
        + prose.over_pulls(
            assessment.chance_pull,
            assessment.chance_pulls,
            assessment.policy.pulls,
            assessment.model.every.count,
        )
        + "."
    )
    return tuple(told[:MOST_SENTENCES])


def over_known_in_words(assessment: Assessment) -> list[str]:
    """How much more the run asks than the rated or known-good curve; nothing without either."""
    over = answers_of(assessment).over_known
    if over is None:
        return []
    k = over.worst
    middle, low, high = prose.with_range(over.peak_pressure, k)
    push, pull = (
        prose.plain(float(values.p50[int(np.argmax(values.p50))]), 2)
        for values in (over.rod_compression, over.rod_tension)
    )
    return [
        f"At {prose.speed_in_words(float(assessment.speed[k]))} peak pressure is {middle} times "
        f"the most that {over.curve} makes ({low} to {high}); rod push is at most {push} times, "
        f"rod pull {pull} times its most."
    ]


def limit_sentence(assessment: Assessment, verdict: Verdict) -> str:
    """What a limit that is not clearly held comes to: state, place, margin, cause."""
    item, k = verdict.item, verdict.worst
    speed = assessment.speed
    states = [
        f"{state.value} {prose.where_in_words(speed, mask)}"
        for state, mask in ((State.EXCEEDS, verdict.exceeds), (State.CLOSE, verdict.close))
        if mask.any()
    ]
    limit = item.limit
    spare = prose.spare_in_words(item.margin, k, limit.unit, limit.unit_size)
    at = "" if sum(verdict.exceeds | verdict.close) == 1 else (
        f" at {prose.speed_in_words(float(speed[k]))}"
    )  # fmt: skip
    told = f"{limit.title} {is_or_are(limit.title)} {', '.join(states)}"
    return f"{told}: {spare}{at}{_cause(assessment, verdict)}."


def is_or_are(title: str) -> str:
    """The verb that a limit's title takes: 'Rod bolts are', 'Head clamping is'."""
    return "are" if title in PLURAL else "is"


def _cause(assessment: Assessment, verdict: Verdict) -> str:
    """The input that most of the range follows, where one stands out."""
    found = answers_of(assessment).drivers(verdict.name, verdict.worst)
    return cause_in_words(found[0] if found else None)


def _least_to_spare(ranked: tuple[Verdict, ...]) -> Verdict:
    strength = [v for v in ranked if v.item.limit.kind is LimitKind.STRENGTH]
    return max(strength or ranked, key=lambda v: float(v.item.utilisation[v.worst]))


def _all_hold(assessment: Assessment, verdict: Verdict) -> str:
    limit, k = verdict.item.limit, verdict.worst
    spare = prose.spare_in_words(verdict.item.margin, k, limit.unit, limit.unit_size)
    return (
        f"Every limit that was assessed is estimated to hold; the least is left in "
        f"{limit.title.lower()}: {spare} at {prose.speed_in_words(float(assessment.speed[k]))}."
    )


def _phasing(assessment: Assessment) -> list[str]:
    source = assessment.phasing_source
    if source is PhasingSource.GIVEN:
        return []
    top = int(np.argmax(assessment.torque))
    middle, low, high = prose.with_range(assessment.peak_pressure, top, 1e5)
    how = "assumed" if source is PhasingSource.ASSUMED else f"judged from {source.value}"
    return [
        f"Phasing is {how}, not measured: peak pressure at peak torque is {middle} bar "
        f"({low} to {high})."
    ]


def urgent_in_short(assessment: Assessment) -> str:
    """The one warning that comes before everything else; empty where there is none."""
    told = next((n.text for n in assessment.notices if n.code == GAS_IN_COOLANT), "")
    return f"{told.partition('. ')[0].rstrip('.')}." if told else ""


def limit_in_a_sentence(assessment: Assessment, sketch: Sketch, units: Units = Units.SI) -> str:
    """What the run made, and what is likely to hold: number, unit, place, cost."""
    top = int(np.argmax(assessment.torque))
    made = prose.torque_in_words(float(assessment.torque[top]), units)
    if (sketch.delivered >= assessment.torque - assessment.policy.resolution).all():
        return f"It made {made}, and all of it is likely to hold."
    lost = 1 - sketch.after.area / sketch.before.area
    cost = (
        f"{prose.percent(lost)} less area under power" if lost > 0.005
        else "with no less area under power"
    )  # fmt: skip
    return (
        f"It made {made}; at most {prose.torque_in_words(sketch.peak_torque, units)} at "
        f"{prose.speed_in_words(sketch.peak_speed)} is likely to hold, {cost}."
    )


FEW_AGREE, MUCH_LOST = 100, 0.5
"""Fewer engines agreeing, or a greater share of the torque given up, tells that little is known."""


def too_little_known(assessment: Assessment, sketch: Sketch) -> tuple[str, ...]:
    """What comes before any number where the answer is implausible, and the two things to give."""
    codes = {n.code for n in assessment.notices}
    if "below-survived" in codes:
        why = "the limit is below what this engine has carried"
    elif assessment.evidence.used and assessment.evidence.agreed < FEW_AGREE:
        agreed = prose.plain(assessment.evidence.agreed)
        why = f"only {agreed} simulated engines agree with all that is known"
    elif sketch.peak_torque < (1 - MUCH_LOST) * float(assessment.torque.max()):
        why = "more than half of the torque would be given up"
    else:
        return ()
    wanted = _most_telling(assessment)
    give = f"give {' and '.join(wanted)}" if wanted else "check what went in"
    return (f"Too little is known for a limit to act on: {why}. First {give}.",)


def _most_telling(assessment: Assessment) -> list[str]:
    """The two things that would tell most of those that are not given."""
    engine, run = assessment.engine, assessment.run
    wanted = (
        (engine.known_good.curve is None, "a run that it survived many times"),
        (engine.rated.points is None, "the data sheet's torque and power"),
        (run.channel("ca50") is None and run.channel("ignition_advance") is None,
         "logged ignition advance" if not engine.compression_ignition else "measured phasing"),
        (run.channel("manifold_pressure") is None, "logged manifold pressure"),
        (run.channel("peak_pressure") is None, "a measured peak pressure"),
        (engine.given("head_joint.tightening_torque") is None, "how the head was tightened"),
        (engine.given("running_gear.rod_section_area") is None, "the rods' smallest cross-section"),
    )  # fmt: skip
    return [words for absent, words in wanted if absent][:2]


def proposal_in_short(proposal: Proposal, units: Units = Units.SI) -> tuple[str, ...]:
    """At most five sentences on a proposed table: what is wrong, what holds, what it costs."""
    a = proposal.assessment
    bad = [v for v in verdicts(a) if v.state is not State.HOLDS]
    told = [limit_sentence(a, bad[0])] if bad else [_all_hold(a, _least_to_spare(verdicts(a)))]
    told.append(_with_table(proposal))
    told.append(_peak_moves(proposal, units) + f"; {_area(proposal)}.")
    told.append(_governs(proposal))
    told.append(
        "With the table, some limit of strength is exceeded somewhere "
        + prose.over_pulls(
            proposal.chance_pull,
            proposal.chance_pulls,
            a.policy.pulls,
            proposal.finer.model.every.count,
        )
        + "."
    )
    return tuple(told[:MOST_SENTENCES])


def _with_table(proposal: Proposal) -> str:
    """What the independent re-assessment of the table leaves to spare."""
    fresh = proposal.fresh
    ranked = verdicts(fresh)
    worst = next(v for v in ranked if v.item.limit.kind in BINDING)
    limit, k = worst.item.limit, worst.worst
    spare = prose.spare_in_words(worst.item.margin, k, limit.unit, limit.unit_size)
    where = f"{spare} at {prose.speed_in_words(float(fresh.speed[k]))}"
    if proposal.verified:
        verb = is_or_are(limit.title)
        told = f"With the table below {limit.title.lower()} {verb} estimated to hold: {where}."
        return told + _knocks(ranked)
    return (
        "The table below did not pass its own check and must not be used as it is; worst is "
        f"{limit.title.lower()}: {where}."
    )


def _knocks(ranked: tuple[Verdict, ...]) -> str:
    """What is left to say of knock where the table alone does not keep it away."""
    for verdict in ranked:
        if verdict.item.limit.kind is LimitKind.KNOCK and verdict.state is not State.HOLDS:
            share = float(verdict.item.chance[verdict.worst])
            return f" Knock is not: {share:.0%} of the simulated engines knock at its phasing."
    return ""


def _peak_moves(proposal: Proposal, units: Units) -> str:
    a = proposal.assessment
    top = int(np.argmax(a.torque))
    before, after = float(a.speed[top]), proposal.peak_speed
    torque = (
        f"{prose.torque_in_words(float(a.torque[top]), units)} to "
        f"{prose.torque_in_words(proposal.peak_torque, units)}"
    )
    if round(before / RPM) == round(after / RPM):
        return f"Peak torque goes from {torque} and stays at {prose.speed_in_words(after)}"
    return (
        f"Peak torque moves from {prose.plain(before / RPM)} to "
        f"{prose.speed_in_words(after)} and goes from {torque}"
    )


def _area(proposal: Proposal) -> str:
    """What is given up or gained under power, over the band."""
    change = proposal.after.area / proposal.before.area - 1
    low, high = proposal.ask.band
    verb = "it gives up" if change < 0 else "it gains"
    band = prose.speeds_in_words(low, high)
    if abs(change) < 0.005:
        return f"the area under power {band} stays within half a per cent"
    return f"{verb} {prose.percent(abs(change))} of the area under power {band}"


def _governs(proposal: Proposal) -> str:
    """What governs where, in the table's rows: a limit, the engine, or the shape asked for."""
    titles = titles_of(proposal.assessment)
    rows = [row for row in proposal.rows if row.assessed]
    speed = np.array([row.speed for row in rows])
    by = [_governor(row, titles, proposal.policy.resolution) for row in rows]
    parts = [
        f"{name} {prose.where_in_words(speed, np.array([one == name for one in by]))}"
        for name in dict.fromkeys(by)
    ]
    return f"What governs the table: {'; '.join(parts)}."


def _governor(row: LimitRow, titles: dict[str, str], step: float) -> str:
    kind = Binding(row.held_by)
    if kind in (Binding.REACH, Binding.OPEN):
        return HELD[kind]
    if kind in (Binding.CEILING, Binding.NO_TORQUE) or (row.spare is not None and row.spare < step):
        return titles[row.governing].lower()
    return "the shape asked for"
