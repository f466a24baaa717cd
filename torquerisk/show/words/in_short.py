"""The answer in at most five sentences, worst first: number, unit, place, cause."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.quantities import RPM
from torquerisk.show.words import prose
from torquerisk.show.words.drivers import cause_in_words
from torquerisk.show.words.limit_columns import BEYOND_RUN, titles_of
from torquerisk.show.words.limit_table import HELD, ignition_conditions
from torquerisk.show.words.passing import passing
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    BINDING,
    HEADS_ASSUMED,
    JUDGED,
    REPLACED_UNKNOWN,
    Assessment,
    Binding,
    LimitKind,
    LimitResult,
    OverKnown,
    PhasingSource,
    Proposal,
    Sketch,
    State,
)

MOST_SENTENCES = 5
MOST_LIMITS = 2
"""Limits that get a sentence of their own; the table tells of the rest."""
SEVERITY = {State.EXCEEDS: 3, State.CLOSE: 2, State.NOT_ASSESSED: 1, State.HOLDS: 0}
"""Order of the state words, worst first."""
GAS_IN_COOLANT = "coolant-pressure"
BEYOND_MODEL = "load-range"
FIRST = (BEYOND_MODEL, HEADS_ASSUMED, REPLACED_UNKNOWN, "below-survived", "evidence-strains")
"""Notices that come before any verdict: no engine makes as much, heads are not known, less is
allowed than was carried, or evidence strains."""


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
    bad = [v for v in verdicts(assessment) if v.state is not State.HOLDS]
    told = [stop] if (stop := urgent_in_short(assessment)) else []
    told += [prose.in_units(n.text, units) for n in assessment.notices if n.code in FIRST]
    told += over_known_in_words(assessment)
    told += limits_in_short(assessment)
    told = [*told[: MOST_SENTENCES - 1], gives_way(assessment, assessment.model.every.count)]
    if len(bad) > MOST_LIMITS:
        told.append(_others(bad[MOST_LIMITS:]))
    return tuple([*told, *phasing_in_words(assessment)][:MOST_SENTENCES])


def _others(bad: list[Verdict]) -> str:
    """The limits that get no sentence of their own."""
    told = {
        words: ", ".join(v.item.limit.title for v in bad if v.state is state)
        for state, words in ((State.EXCEEDS, "Past too"), (State.CLOSE, "Close too"))
    }
    return " ".join(f"{words}: {titles}." for words, titles in told.items() if titles)


def limits_in_short(assessment: Assessment) -> list[str]:
    """The limits that are not clearly held, worst first, two at most; or that all hold."""
    ranked = verdicts(assessment)
    bad = [v for v in ranked if v.state is not State.HOLDS]
    if not bad:
        return [_all_hold(assessment, _least_to_spare(ranked))]
    return [limit_sentence(assessment, v) for v in bad[:MOST_LIMITS]]


def gives_way(under: Assessment | Proposal, draws: int) -> str:
    """Chance that any part gives way in one pull and in all, of a run or under a table."""
    pulls = (under if isinstance(under, Assessment) else under.assessment).policy.pulls
    told = prose.over_pulls(under.chance_pull, under.chance_pulls, pulls, draws)
    where = "" if isinstance(under, Assessment) else " under the table"
    return f"A part gives way{where} {told}."


def over_known_in_words(assessment: Assessment) -> list[str]:
    """How much more the run asks than the rated or known-good curve; nothing without either."""
    over = answers_of(assessment).over_known
    if over is None:
        return []
    k = over.worst
    middle, low, high = prose.with_range(over.peak_pressure, k)
    push, pull = (
        prose.plain(float(values.p50.max()), 2)
        for values in (over.rod_compression, over.rod_tension)
    )
    return [
        f"It makes {middle} times the peak pressure that {over.curve} makes ({low} to {high}, at "
        f"{prose.speed_in_words(float(assessment.speed[k]))}), {push} times its rod push and "
        f"{pull} times its rod pull."
    ]


def over_known_of(over: OverKnown | None, name: str, index: int) -> str:
    """How much more of a limit is used than on the known curve, as '1.68 ×'; empty without one."""
    values = None if over is None else over.limits.get(name)
    return "" if values is None else f"{prose.plain(float(values.p50[index]), 2)} ×"


def limit_sentence(assessment: Assessment, verdict: Verdict) -> str:
    """What a limit that is not clearly held comes to: state, place, chance, margin, cause."""
    item, k = verdict.item, verdict.worst
    draws, limit = assessment.model.every.count, item.limit
    part = passing(limit)
    where = [
        prose.where_in_words(assessment.speed, mask) for mask in (verdict.exceeds, verdict.close)
    ]
    told = [f"{part.is_are} likely to {part.verb} {where[0]}"] if verdict.exceeds.any() else []
    if verdict.close.any():
        told.append(f"may {where[1]}" if told else f"may {part.verb} {where[1]}")
    at = "" if sum(verdict.exceeds | verdict.close) == 1 else (
        f"at {prose.speed_in_words(float(assessment.speed[k]))} "
    )  # fmt: skip
    count = prose.chance_in_words(float(item.chance[k]), draws)
    spare = prose.spare_in_words(
        item.margin, k, prose.limit_unit(limit), _cause(assessment, verdict)
    )
    subject = part.subject[0].upper() + part.subject[1:]
    return f"{subject} {', and '.join(told)}: {at}{count}, {spare}."


def _cause(assessment: Assessment, verdict: Verdict) -> str:
    """The input that most of the range follows, where one stands out."""
    found = answers_of(assessment).drivers(verdict.name, verdict.worst)
    return cause_in_words(found[0] if found else None)


def _least_to_spare(ranked: tuple[Verdict, ...]) -> Verdict:
    strength = [v for v in ranked if v.item.limit.kind is LimitKind.STRENGTH]
    return max(strength or ranked, key=lambda v: float(v.item.utilisation[v.worst]))


def _all_hold(assessment: Assessment, verdict: Verdict) -> str:
    limit, k = verdict.item.limit, verdict.worst
    spare = prose.spare_in_words(verdict.item.margin, k, prose.limit_unit(limit))
    return (
        f"Every limit that was assessed is estimated to hold; least is left in "
        f"{limit.title.lower()}: {spare} at {prose.speed_in_words(float(assessment.speed[k]))}."
    )


def phasing_in_words(assessment: Assessment) -> list[str]:
    """How the phasing is known and what that does to peak pressure; nothing where measured."""
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
    below = assessment.speed <= (sketch.speed_limit or np.inf)
    if (sketch.delivered >= assessment.torque - assessment.policy.resolution)[below].all():
        if sketch.speed_limit is None:
            return f"It made {made}, and all of it is likely to hold."
        return (
            f"It made {made}; all of it up to {prose.speed_in_words(sketch.speed_limit)} is likely "
            f"to hold.{speed_limit_in_words(sketch)}"
        )
    lost = 1 - sketch.after.area / sketch.before.area
    cost = (
        f"{prose.percent(lost)} less area under power" if lost > 0.005
        else "with no less area under power"
    )  # fmt: skip
    return (
        f"It made {made}; at most {prose.torque_in_words(sketch.peak_torque, units)} at "
        f"{prose.speed_in_words(sketch.peak_speed)} is likely to hold, {cost}."
        f"{speed_limit_in_words(sketch)}"
    )


FEW_AGREE, MUCH_LOST = 0.003, 0.5
"""A smaller share of engines agreeing, or a greater one of the torque lost, tells of knowing
little."""


def too_little_known(assessment: Assessment, sketch: Sketch | Proposal) -> tuple[str, ...]:
    """What comes before any number where the answer is implausible, and the two things to give."""
    codes = {n.code for n in assessment.notices}
    told = tuple(str(n.text) for n in assessment.notices if n.code == REPLACED_UNKNOWN)
    evidence = assessment.evidence
    first = ""
    if BEYOND_MODEL in codes:
        why, first = "the torque is beyond what the model covers", "check its unit"
    elif "below-survived" in codes:
        why = "the limit is below what this engine has carried"
    elif evidence.used and evidence.agreed < FEW_AGREE * evidence.tried:
        agreed, tried = prose.plain(evidence.agreed), prose.plain(evidence.tried)
        why = f"only {agreed} of {tried} simulated engines agree with all that is known"
        first = f"check {evidence.strained}" if evidence.strained else ""
    elif sketch.peak_torque < (1 - MUCH_LOST) * float(assessment.torque.max()):
        why = "more than half of the torque would be given up"
    else:
        return told
    wanted = _most_telling(assessment)
    first = first or (f"give {' and '.join(wanted)}" if wanted else "check what went in")
    return (*told, f"Too little is known for a limit to act on: {why}. First {first}.")


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
    """At most seven sentences on a proposed table: what comes before it, what holds, what it costs,
    why, what is left."""
    a = proposal.assessment
    measured, stop = limits_in_short(a)[0], urgent_in_short(a)
    return (
        *([stop] if stop else []),
        *too_little_known(a, proposal),
        answer_in_words(proposal, units),
        f"As measured, {measured[0].lower()}{measured[1:]}",
        *decides_in_words(proposal),
    )


def decides_in_words(proposal: Proposal) -> tuple[str, ...]:
    """How much more is asked than known, what decides a table and what it asks of ignition, what
    is left of risk under it."""
    gives = gives_way(proposal, proposal.finer.model.every.count)
    over = over_known_in_words(proposal.assessment)
    decides = " ".join([_governs(proposal), *ignition_conditions(proposal)[:1]])
    return (*over, decides, gives + knocks_in_words(proposal))


def answer_in_words(proposal: Proposal, units: Units = Units.SI) -> str:
    """The answer in one sentence: the peak that holds, what was made, what it costs."""
    a = proposal.assessment
    top = int(np.argmax(a.torque))
    size = prose.torque_unit(units).size
    peak = (
        f"{prose.torque_in_words(proposal.peak_torque, units)} at "
        f"{prose.speed_in_words(proposal.peak_speed)}"
    )
    made = f"{prose.plain(a.torque[top] / size)} at {prose.plain(a.speed[top] / RPM)}"
    whole = (proposal.delivered >= a.torque - proposal.policy.resolution).all()
    if proposal.verified and whole:
        more = proposal.peak_torque > a.torque[top] + proposal.policy.resolution
        told = f"It made {made}; up to {peak}" if more else f"All that it made, {peak},"
        return f"{told} is estimated to hold.{speed_limit_in_words(proposal)}"
    if proposal.verified:
        return (
            f"{peak} is estimated to hold; it made {made}: the table {_area(proposal)}."
            f"{speed_limit_in_words(proposal)}"
        )
    return (
        f"The table of {peak} (it made {made}) is not proved and must not be used as it is: "
        f"{_unproved(proposal)}."
    )


def _unproved(proposal: Proposal) -> str:
    """Why a table must not be used: too few engines to tell, or what breaks under it."""
    worst = next(v for v in verdicts(proposal.fresh) if v.item.limit.kind in BINDING)
    chance, evidence = float(worst.item.chance[worst.worst]), proposal.fresh.evidence
    if chance <= proposal.policy.chance:
        return (
            "the engines that agree with what is known are worth only "
            f"{prose.plain(evidence.kept)} independent ones, too few to tell"
        )
    return (
        f"{passing(worst.item.limit).told} {prose.chance_in_words(chance, _fresh_draws(proposal))} "
        f"at {prose.speed_in_words(float(proposal.fresh.speed[worst.worst]))}"
    )


def speed_limit_in_words(proposal: Proposal | Sketch) -> str:
    """Where a table ends before the run does; empty where it does not."""
    if proposal.speed_limit is None:
        return ""
    return (
        f" Keep the engine below {prose.speed_in_words(proposal.speed_limit)}, where the table "
        "ends: above, speed alone breaks more engines than accepted, and less torque does not help."
    )


def _fresh_draws(proposal: Proposal) -> int:
    return int(proposal.fresh.model.every.count)


def knocks_in_words(proposal: Proposal) -> str:
    """What is left to say of knock where the table alone does not keep it away."""
    for verdict in verdicts(proposal.fresh):
        if verdict.item.limit.kind is LimitKind.KNOCK and verdict.state is not State.HOLDS:
            share = float(verdict.item.chance[verdict.worst])
            return (
                f" At the phasing judged at {prose.percent(share)} knock at "
                f"{prose.speed_in_words(float(proposal.fresh.speed[verdict.worst]))}: a later burn "
                "cures that."
            )
    return ""


def _area(proposal: Proposal) -> str:
    """What is given up or gained under power, over the band."""
    change = proposal.after.area / proposal.before.area - 1
    band = prose.speeds_in_words(*proposal.ask.band)
    if abs(change) < 0.005:
        return f"keeps the area under power {band} within half a per cent"
    verb = "gives up" if change < 0 else "gains"
    return f"{verb} {prose.percent(abs(change))} of the area under power {band}"


def _governs(proposal: Proposal) -> str:
    """What governs where, in the table's rows: a limit, the engine, or the shape asked for."""
    titles = titles_of(proposal.assessment)
    rows = [row for row in proposal.rows if row.assessed]
    speed = np.array([row.speed for row in rows])
    step = proposal.policy.resolution
    by = [governor(Binding(r.held_by), r.governing, r.spare, titles, step) for r in rows]
    parts = [
        f"{name} {prose.where_in_words(speed, np.array([one == name for one in by]))}"
        for name in dict.fromkeys(by)
    ]
    return f"What decides: {'; '.join(parts)}."


def governor(
    held_by: Binding, governing: str, spare: float | None, titles: dict[str, str], step: float
) -> str:
    """What decides one row: the governing limit's title, or what holds the row below it.

    spare: left to the ceiling [N*m]; step: of the table's torques [N*m].
    """
    if held_by is Binding.NOT_ASSESSED:
        return BEYOND_RUN
    if held_by in (Binding.REACH, Binding.OPEN):
        return "what it makes" if held_by is Binding.REACH else HELD[held_by]
    strength = held_by in (Binding.CEILING, Binding.NO_TORQUE)
    if strength or (spare is not None and spare < step):
        return titles[governing].lower()
    return "the shape asked for"


def by_row(assessment: Assessment, sketch: Sketch) -> list[str]:
    """What decides each row of a table as sketched; what it makes, where that is no more."""
    titles, step = titles_of(assessment), assessment.policy.resolution
    told = []
    each = zip(sketch.held_by, sketch.governing, sketch.spare, sketch.made - sketch.limit,
               strict=True)  # fmt: skip
    for held, name, spare, more in each:
        kind = held
        if spare >= step and more < step and held is not Binding.NOT_ASSESSED:
            kind = Binding.REACH
        elif held is Binding.REACH:  # at another speed, which the rules of shape join to this row
            kind = Binding.OBJECTIVE
        told.append(governor(kind, name, float(spare), titles, step))
    return told
