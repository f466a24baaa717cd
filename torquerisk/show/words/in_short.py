"""A run in at most five sentences, worst first: number, unit, place, cause."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.case import GAS_ELSEWHERE, LEFT_OUT
from torquerisk.quantities import DEGREE
from torquerisk.show.words import prose
from torquerisk.show.words.drivers import cause_in_words
from torquerisk.show.words.passing import passing
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    BELOW_RUNG,
    BOOST_ADDED,
    EARLIER_BY_FUEL,
    FAR_BELOW_RATING,
    HEADS_ASSUMED,
    JUDGED,
    REPLACED_UNKNOWN,
    SOLD_BOOSTED_ASSUMED,
    SUPPLY_CONTRADICTED,
    TIGHTENED_FAR_TOO_LOW,
    Assessment,
    LimitKind,
    LimitResult,
    OverKnown,
    PhasingSource,
    Proposal,
    State,
    contradicted_supplies,
)

MOST_SENTENCES = 5
NO_MORE = 1.03
"""Multiple of what is known up to which a run asks no more: two readings differ by that [-]."""
MOST_LIMITS = 2
"""Limits that get a sentence of their own; the table tells of the rest."""
LIKELY = 0.5
"""Chance from which it is said to be likely [-]."""
SEVERITY = {State.EXCEEDS: 3, State.CLOSE: 2, State.NOT_ASSESSED: 1, State.HOLDS: 0}
"""Order of the state words, worst first."""
GAS_IN_COOLANT = "coolant-pressure"
URGENT = (GAS_IN_COOLANT, GAS_ELSEWHERE, "coolant-seen", "knock-retard", "knock-counts")
BEYOND_MODEL = "load-range"
FIRST = (
    BEYOND_MODEL,
    FAR_BELOW_RATING,
    HEADS_ASSUMED,
    SUPPLY_CONTRADICTED,
    REPLACED_UNKNOWN,
    TIGHTENED_FAR_TOO_LOW,
    "below-survived",
    "evidence-strains",
)
"""Notices that come before any verdict: no engine makes as much, heads are not known, a supply
cannot have fed the run, less is allowed than was carried, or evidence strains."""

WHOLE_TABLE = "to all that the table allows"
"""Which pull the figures of abnormal cycles under a table are of."""


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """What can be said of one limit over the whole run."""

    name: str
    item: LimitResult
    state: State
    """The worst at any speed."""
    may: npt.NDArray[np.bool_]
    """Where it is not held, in fewer than half of the simulated engines."""
    likely: npt.NDArray[np.bool_]
    """Where in more."""
    worst: int
    """Index of the speed where its chance is greatest, else where least is to spare."""


def verdicts(assessment: Assessment) -> tuple[Verdict, ...]:
    """The limits that are judged, worst first. Indices are left out: guidance, no verdict.

    So is knock where nobody knows the ignition: the octane of the fuel says what ignition can do;
    and a supply that the run contradicts, of which a notice asks.
    """
    found, misread = [], contradicted_supplies(assessment)
    assumed = assessment.phasing_source is PhasingSource.ASSUMED
    for name, item in assessment.limits.items():
        kind = item.limit.kind
        if kind not in JUDGED or name in misread or (kind is LimitKind.KNOCK and assumed):
            continue
        states = item.state(assessment.policy.chance, assessment.evidence.kept)
        likely, held = item.chance >= LIKELY, np.array([s is State.HOLDS for s in states])
        found.append(
            Verdict(
                name=name,
                item=item,
                state=max(states, key=SEVERITY.__getitem__),
                may=~held & ~likely,
                likely=likely,
                worst=worst_speed(item),
            )
        )
    return tuple(sorted(found, key=_badness, reverse=True))


def worst_speed(item: LimitResult) -> int:
    """Index of the speed with the greatest chance; among equals, with the greatest utilisation."""
    return int(np.lexsort((item.utilisation, item.chance))[-1])


def _badness(verdict: Verdict) -> tuple[int, bool, bool, float, float]:
    """What is likely comes before what may be; of two alike a part's strength before knock."""
    item, k = verdict.item, verdict.worst
    strength, likely = item.limit.kind is LimitKind.STRENGTH, bool(verdict.likely.any())
    chance, used = float(item.chance[k]), float(item.utilisation[k])
    return SEVERITY[verdict.state], likely, strength, chance, used


def assessment_in_short(assessment: Assessment, units: Units = Units.SI) -> tuple[str, ...]:
    """At most five sentences on an assessed run, worst first, and what they take for granted."""
    bad = [v for v in verdicts(assessment) if v.state is not State.HOLDS]
    told = [stop] if (stop := urgent_in_short(assessment)) else []
    told += [prose.in_units(n.text, units) for n in assessment.notices if n.code in FIRST]
    told += [*limits_in_short(assessment), *over_known_in_words(assessment)]
    told = [*told[: MOST_SENTENCES - 1], gives_way(assessment, assessment.model.every.count)]
    told += phasing_in_words(assessment)
    if len(bad) > MOST_LIMITS:
        told.append(_others(bad[MOST_LIMITS:]))
    taken = taken_as_in_words(assessment, units)
    return (*told[: MOST_SENTENCES - len(taken)], *taken)


def taken_as_in_words(assessment: Assessment, units: Units) -> list[str]:
    """What the verdict takes for granted that its reader knows at once, or leaves out."""
    codes = (LEFT_OUT, SOLD_BOOSTED_ASSUMED, BOOST_ADDED, EARLIER_BY_FUEL, BELOW_RUNG)
    return [prose.in_units(n.text, units) for n in assessment.notices if n.code in codes]


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
        return [_all_hold(assessment, *_least_to_spare(assessment, ranked))]
    return [limit_sentence(assessment, v) for v in bad[:MOST_LIMITS]]


def gives_way(under: Assessment | Proposal, draws: int) -> str:
    """Chance that any part gives way in one pull and in all, of a run or under a table."""
    found = under if isinstance(under, Assessment) else under.under
    told = prose.over_pulls(found.chance_pull, found.chance_pulls, under.policy.pulls, draws)
    where = "" if under is found else " under the table"
    run = under if isinstance(under, Assessment) else under.fresh
    harm, known = run.abnormal.pull_harm, run.phasing_source is not PhasingSource.ASSUMED
    counted = run.policy.abnormal_in_chance
    whose = "as measured" if under is found else WHOLE_TABLE
    heavy = (
        "; heavy knock that nobody hears would break something in "
        f"{prose.percent(harm, 2)} of pulls {whose} (order of magnitude, not counted)"
        if known and not counted and harm > under.policy.chance else ""
    )  # fmt: skip
    return f"A part gives way{where} {told}{heavy}."


def asks_more(assessment: Assessment) -> bool:
    """True where gas loads the parts more than on the rated or known-good curve."""
    over = answers_of(assessment).over_known
    return over is not None and float(over.peak_pressure.p50.max()) > NO_MORE


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
    told = (
        f"It makes {middle} times the peak pressure that {over.curve} makes ({low} to {high}, at "
        f"{prose.speed_in_words(float(assessment.speed[k]))}), {push} times its rod push and "
        f"{pull} times its rod pull."
    )
    if not asks_more(assessment):
        told = (
            f"Gas loads its parts no more than on {over.curve}; its rods are pushed {push} and "
            f"pulled {pull} times as hard."
        )
    return [told]


def over_known_of(over: OverKnown | None, name: str, index: int) -> str:
    """How much more of a limit is used than on the known curve, as '1.68 ×'; empty without one."""
    values = None if over is None else over.limits.get(name)
    return "" if values is None else f"{prose.plain(float(values.p50[index]), 2)} ×"


def limit_sentence(assessment: Assessment, verdict: Verdict) -> str:
    """What a limit that is not clearly held comes to: state, place, chance, margin, cause."""
    item, k = verdict.item, verdict.worst
    draws, limit = assessment.model.every.count, item.limit
    part = passing(limit)
    where = [prose.where_in_words(assessment.speed, mask) for mask in (verdict.likely, verdict.may)]
    told = [f"{part.is_are} likely to {part.verb} {where[0]}"] if verdict.likely.any() else []
    if verdict.may.any():
        told.append(f"may {where[1]}" if told else f"may {part.verb} {where[1]}")
    at = "" if sum(verdict.likely | verdict.may) == 1 else (
        f"at {prose.speed_in_words(float(assessment.speed[k]))} "
    )  # fmt: skip
    count = prose.chance_in_words(float(item.chance[k]), draws)
    if verdict.state is State.CLOSE:
        count += f", {State.CLOSE.value}"
    if limit.kind is LimitKind.KNOCK:
        spare = _quiet(assessment, k)
    else:
        cause = _cause(assessment, verdict)
        spare = prose.spare_in_words(item.margin, k, prose.limit_unit(limit), cause)
    subject = part.subject[0].upper() + part.subject[1:]
    told += ["torque does not change that"] if item.of_speed else []
    return f"{subject} {', and '.join(told)}: {at}{count}, {spare}."


MOST_OCTANE = 115
"""RON above which no fuel for a road is named."""


def _quiet(assessment: Assessment, k: int) -> str:
    """What would leave half of the engines quiet at a speed, or keeps no more than half so."""
    quiet = answers_of(assessment).quiet
    assert quiet is not None
    later = float(quiet.later[k]) / DEGREE
    if later <= 0.0:
        earlier = {0: "less than 1 degree", 1: "1 degree"}.get(
            round(-later), f"{-later:.0f} degrees"
        )
        return f"a burn {earlier} earlier would make it half of them"
    degrees = "1 degree" if later <= 1.0 else f"{np.ceil(later):.0f} degrees"
    ways = [f"a burn {degrees} later"] * bool(quiet.tuned[k])
    octane = float(np.ceil(quiet.octane[k]))
    ways += [f"{octane:.0f} octane"] * (octane <= MOST_OCTANE)
    if not ways:
        return "at any ignition and on any pump fuel"
    return f"{' or '.join(ways)} would leave half of them quiet"


def likely_in_words(assessment: Assessment) -> list[str]:
    """What the run as measured is likely to do, worst first, in a line; nothing where nothing."""
    likely = [v for v in verdicts(assessment) if v.likely.any()][:MOST_LIMITS]
    told = [
        f"{(part := passing(v.item.limit)).subject} {part.is_are} likely to {part.verb} "
        f"{prose.where_in_words(assessment.speed, v.likely)}"
        for v in likely
    ]
    return [f"As measured, {' and '.join(told)}."] if told else []


def _cause(assessment: Assessment, verdict: Verdict) -> str:
    """The input that most of the range follows, where one stands out."""
    found = answers_of(assessment).drivers(verdict.name, verdict.worst)
    return cause_in_words(found[0] if found else None)


def _least_to_spare(assessment: Assessment, ranked: tuple[Verdict, ...]) -> tuple[LimitResult, int]:
    """The part that more torque breaks first and where, as the ceilings have it; where none is
    reached, the one that is used most."""
    for one in answers_of(assessment).ceilings.in_order:
        item = assessment.limits[one.limit.name]
        if one.limit.kind is LimitKind.STRENGTH and not item.of_speed:
            return item, one.index
    strength = [v for v in ranked if v.item.limit.kind is LimitKind.STRENGTH]
    most = max(strength or ranked, key=lambda v: float(v.item.utilisation[v.worst]))
    return most.item, most.worst


def _all_hold(assessment: Assessment, item: LimitResult, k: int) -> str:
    limit = item.limit
    spare = prose.spare_in_words(item.margin, k, prose.limit_unit(limit))
    told, most = "It is estimated to hold", int(np.argmax(assessment.chance_any))
    if (chance := float(assessment.chance_any[most])) > assessment.policy.chance:
        count = prose.chance_in_words(chance, assessment.model.every.count)
        told = (
            f"Each part alone is estimated to hold, but one or another gives way {count} at "
            f"{prose.speed_in_words(float(assessment.speed[most]))}, more than accepted"
        )
    elif (over := assessment.torque - assessment.ceiling).max() > 0:
        at = int(np.argmax(over))
        by = assessment.limits[assessment.governing[at]].limit.title.lower()
        told = (
            f"It is at the limit, within the sampling error, by {by} at "
            f"{prose.speed_in_words(float(assessment.speed[at]))}"
        )
    return (
        f"{told}; of what torque loads least is left in "
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
    told = next((n.text for code in URGENT for n in assessment.notices if n.code == code), "")
    return f"{told.partition('. ')[0].rstrip('.')}." if told else ""
