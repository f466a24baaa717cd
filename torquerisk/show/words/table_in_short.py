"""A torque-limit table in a few sentences: what holds, its cost, what decides, what is left."""

import numpy as np

from torquerisk.quantities import RPM
from torquerisk.show.words import prose
from torquerisk.show.words.in_short import (
    BEYOND_MODEL,
    gives_way,
    limits_in_short,
    over_known_in_words,
    taken_as_in_words,
    urgent_in_short,
    verdicts,
)
from torquerisk.show.words.limit_columns import decimals_of, governor, row_limited_by, titles_of
from torquerisk.show.words.limit_table import ignition_conditions
from torquerisk.show.words.passing import passing
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    BINDING,
    EARLIER_BY_FUEL,
    FAR_BELOW_RATING,
    REPLACED_UNKNOWN,
    SUPPLY_CONTRADICTED,
    TIGHTENED_FAR_TOO_LOW,
    Assessment,
    JudgedTable,
    PhasingSource,
    Proposal,
    Sketch,
)

MUCH_LOST = 0.5
"""A greater share of the torque lost tells of knowing little."""


def too_little_known(
    assessment: Assessment, sketch: Sketch, units: Units = Units.SI
) -> tuple[str, ...]:
    """What comes before any number where the answer is implausible, and the two things to give."""
    codes = {n.code for n in assessment.notices}
    before = SUPPLY_CONTRADICTED, REPLACED_UNKNOWN, TIGHTENED_FAR_TOO_LOW
    told = tuple(prose.in_units(n.text, units) for n in assessment.notices if n.code in before)
    evidence = assessment.evidence
    first = ""
    if FAR_BELOW_RATING in codes:
        why, first = "the run makes less than half of the rated torque", "check what it is"
    elif BEYOND_MODEL in codes:
        why, first = "the torque is beyond what the model covers", "check its unit"
    elif "below-survived" in codes:
        why = "the limit is below what this engine has carried"
        first = "log ignition advance" if EARLIER_BY_FUEL in codes else ""
    elif evidence.contradicted:
        why = evidence.contradicted
        first = f"check {evidence.strained}" if evidence.strained else ""
    elif sketch.under.peak_torque < (1 - MUCH_LOST) * float(assessment.torque.max()):
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
    measured, stop = limits_in_short(proposal.measured)[0], urgent_in_short(a)
    return (
        *([stop] if stop else []),
        *too_little_known(a, proposal, units),
        answer_in_words(proposal, units),
        *taken_as_in_words(a, units),
        f"As measured, {measured[0].lower()}{measured[1:]}",
        *decides_in_words(proposal),
    )


def decides_in_words(proposal: Proposal) -> tuple[str, ...]:
    """How much more is asked than known, what decides a table and what it asks of ignition, what
    is left of risk under it."""
    gives = gives_way(proposal, proposal.finer.model.every.count)
    over = over_known_in_words(proposal.assessment)
    decides = " ".join([*_governs(proposal), *ignition_conditions(proposal)[:1]])
    return (*over, *filter(None, [decides]), gives + knocks_in_words(proposal))


ROOM_TOLD = 1.02
"""Times the run that all ceilings together allow, from which that is told."""


def answer_in_words(table: Sketch, units: Units = Units.SI) -> str:
    """The answer in one sentence: the peak that holds, what was made, what it costs.

    Of a table that is still being proved it says no more than that.
    """
    a, under, step = table.assessment, table.under, table.policy.step
    top = int(np.argmax(a.torque))
    size, decimals = prose.torque_unit(units).size, decimals_of(step)
    peak = (
        f"{prose.torque_in_words(under.peak_torque, units, decimals)} at "
        f"{prose.peak_speed_in_words(under.peak_speed)}"
    )
    made = f"{prose.plain(a.torque[top] / size, decimals)} at {prose.plain(a.speed[top] / RPM)}"
    if isinstance(table, Proposal) and not table.verified:
        return (
            f"The table of {peak} (it made {made}) is not proved and must not be used as it is: "
            f"{_unproved(table)}."
        )
    last = speed_limit_in_words(table)
    holds = "is estimated to hold" if isinstance(table, Proposal) else "would hold by a first count"
    if not _is_whole(table):
        return (
            f"{peak} {holds}{later_in_words(table)}; it made {made}: the table "
            f"{_area(table)}.{last}"
        )
    told = (
        f"It made {made}; up to {peak}"
        if under.peak_torque > a.torque[top] + step
        else f"All that it made, {prose.torque_in_words(float(a.torque[top]), units, decimals)} at "
        f"{prose.speed_in_words(float(a.speed[top]))},"
    )
    share = answers_of(a).ceilings.together
    beyond = share > ROOM_TOLD and not last and not urgent_in_short(a)
    by = "by the same count"
    if a.phasing_source is PhasingSource.ASSUMED:
        by += ", with phasing assumed and not logged,"
    room = f"; {by} up to {share:.2f} times as much would" if beyond else ""
    return f"{told} {holds}{later_in_words(table)}{room}.{last}"


def later_in_words(sketch: Sketch) -> str:
    """The later burn that the answer hangs on, where the run's own is likely to knock at what is
    made under the table; empty where it is not, or where nobody knows the run's."""
    late = sketch.knock_later > 0.0
    if not late.any() or sketch.assessment.phasing_source is PhasingSource.ASSUMED:
        return ""
    where = prose.where_in_words(sketch.finer.speed, late)
    return f" with ignition later than this run's {where}, which is likely to knock there"


def _is_whole(table: Sketch) -> bool:
    """True where the table takes nothing of what the run made."""
    a = table.assessment
    return bool((table.delivered(a.speed) >= a.torque - table.policy.step).all())


def _unproved(proposal: Proposal) -> str:
    """Why a table must not be used: too few engines to tell, or what breaks under it."""
    worst = next(v for v in verdicts(proposal.fresh) if v.item.limit.kind in BINDING)
    chance, evidence = float(worst.item.chance[worst.worst]), proposal.fresh.evidence
    if chance <= proposal.policy.chance:
        return (
            "the engines that agree with what is known are worth only "
            f"{prose.plain(evidence.kept)} independent ones, too few to tell"
        )
    fresh = proposal.fresh.model.every.count
    return (
        f"{passing(worst.item.limit).told} {prose.chance_in_words(chance, fresh)} "
        f"at {prose.speed_in_words(float(proposal.fresh.speed[worst.worst]))}"
    )


def speed_limit_in_words(under: Sketch | JudgedTable) -> str:
    """Where a table ends or ought to end before the run does; empty where it does not."""
    if under.speed_limit is None:
        return ""
    ends = "" if isinstance(under, JudgedTable) else ", where the table ends"
    engine = under.assessment.engine
    known = engine.has("rated.rev_limit") or engine.given("running_gear.original_rods") == "false"
    asked = (
        "" if known else " Is it sold with a higher rev limit? Then give it ([rated] rev_limit)."
    )
    return (
        f" Keep the engine below {prose.speed_in_words(under.speed_limit)}{ends}: above, speed "
        f"alone breaks more engines than accepted, and less torque does not help.{asked}"
    )


def knocks_in_words(proposal: Proposal) -> str:
    """What is left to say of knock where the table and its ignition do not keep it away."""
    worst = max(proposal.rows, key=lambda row: row.knock_chance or 0.0)
    knock = worst.knock_chance or 0.0
    known = proposal.assessment.phasing_source is not PhasingSource.ASSUMED
    if not known or knock <= proposal.policy.chance:
        return ""
    return (
        f" It may still knock with that ignition, in {prose.percent(knock)} at "
        f"{prose.speed_in_words(worst.speed)}: listen, and take ignition back where it does."
    )


def _area(table: Sketch) -> str:
    """What is given up or gained under power, over the band."""
    change = table.after.area / table.before.area - 1
    band = prose.speeds_in_words(*table.ask.band)
    if abs(change) < 0.005:
        return f"keeps the area under power {band} within half a per cent"
    verb = "gives up" if change < 0 else "gains"
    return f"{verb} {prose.percent(abs(change))} of the area under power {band}"


def _governs(proposal: Proposal) -> list[str]:
    """What governs where, in the table's rows: a limit, or an even curve; nothing where it takes
    nothing of the run."""
    if _is_whole(proposal):
        return []
    titles = titles_of(proposal.assessment)
    rows = [row for row in proposal.rows if row.assessed]
    speed = np.array([row.speed for row in rows])
    step = proposal.policy.step
    by = [row_limited_by(row, titles, step).lower() for row in rows]
    parts = [
        f"{name} {prose.where_in_words(speed, np.array([one == name for one in by]))}"
        for name in dict.fromkeys(by)
    ]
    return [f"What decides: {'; '.join(parts)}."]


def by_row(assessment: Assessment, sketch: Sketch) -> list[str]:
    """What decides each row of a table as sketched; what it makes, where that is no more."""
    titles, step = titles_of(assessment), sketch.policy.step
    shape = sketch.shape
    most = sketch.reach(shape.breakpoints)
    made = [None] * len(shape.limit) if most is None else most.tolist()
    each = zip(shape.binding, sketch.governing(), shape.limit, made, strict=True)
    return [
        governor(held, titles[name].lower(), spare, (float(limit), can), step)
        for held, (name, spare), limit, can in each
    ]
