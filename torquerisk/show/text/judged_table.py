"""The judgement of an existing table: as text and as document."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from torquerisk.case import Notice
from torquerisk.quantities import RPM, Array
from torquerisk.show.documents import assessed
from torquerisk.show.documents.json_numbers import Document, keyed
from torquerisk.show.text import tables
from torquerisk.show.words import prose
from torquerisk.show.words.by_speed import shown_of
from torquerisk.show.words.columns import At, chosen
from torquerisk.show.words.in_short import urgent_in_short
from torquerisk.show.words.judged import COLUMNS, columns_in_words, shown_rows
from torquerisk.show.words.limit_columns import titles_of
from torquerisk.show.words.limit_table import abnormal_in_words
from torquerisk.show.words.notices import notices_in_short
from torquerisk.show.words.passing import passing
from torquerisk.show.words.prose import Units
from torquerisk.show.words.table_in_short import speed_limit_in_words
from torquerisk.study.answers.results import (
    HEARD,
    JudgedTable,
    LimitKind,
    PhasingSource,
    State,
    accepted_rank,
)

LEAST_TORQUE = 0.5
"""Torque below which nothing is told of, in the unit that people are shown: it rounds to none."""


def judge_text(judged: JudgedTable, extra: Sequence[Notice] = (), units: Units = Units.SI) -> str:
    """The verdict in short, then the table against what the engine carries."""
    a = judged.assessment
    told = filter(None, (urgent_in_short(a), *judged_in_short(judged, units)))
    return tables.joined(
        tables.section("Read", tables.read_lines(a, units)),
        tables.section("In short", tables.bullets(told)),
        tables.section(
            "The table by speed", [_rows(judged, units), tables.paragraph(columns_in_words(judged))]
        ),
        tables.closing((*extra, *judged.notices, *notices_in_short(a)), judged.policy, units),
    )


def judged_in_short(judged: JudgedTable, units: Units = Units.SI) -> tuple[str, ...]:
    """A few sentences: where it is too high, how likely, where it wastes torque."""
    speed, j = judged.assessment.speed, judged.judgement
    count = judged.assessment.model.every.count
    accepted = prose.percent(judged.policy.chance, 2)
    told, least = [], LEAST_TORQUE * prose.torque_unit(units).size
    if judged.holds:
        told.append(
            f"The table is {State.HOLDS.value} at every speed of the run at an accepted chance of "
            f"{accepted}{_later(judged)}."
        )
    else:
        told += [*_too_high(judged, units), *_too_fast(judged)]
        real = j.unsafe_delivered > least
        if not real.any():
            told.append(
                "The engine as measured makes less torque there, so the table is only too high "
                "on paper: it would not hold more boost or cold air back."
            )
    told.append(
        "At what the engine makes under this table a part gives way "
        + prose.over_pulls(
            judged.chance_pull, judged.chance_pulls, judged.assessment.policy.pulls, count
        )
        + "."
    )
    told += [*_shape(judged, units), *filter(None, [abnormal_in_words(judged)])]
    unused = np.isfinite(j.unused) & (j.unused > least)
    if unused.any():
        k = int(np.argmax(np.where(np.isfinite(j.unused), j.unused, 0.0)))
        share = judged.area_unused / judged.area if judged.area > 0 else 0.0
        told.append(
            f"It leaves torque unused {prose.where_in_words(speed, unused)}, at most "
            f"{prose.torque_in_words(float(j.unused[k]), units)} at "
            f"{prose.speed_in_words(float(speed[k]))}: {prose.percent(share, 2)} of the area under "
            "power."
        )
    return tuple(told)


def _later(judged: JudgedTable) -> str:
    """The later ignition that a table which holds still needs; empty where it needs none."""
    late = judged.knock_chance > 0.5
    if not late.any() or judged.assessment.phasing_source is PhasingSource.ASSUMED:
        return ""
    where = prose.where_in_words(judged.assessment.speed, late)
    return f", with ignition later than this run's {where}, which is likely to knock there"


def _too_fast(judged: JudgedTable) -> list[str]:
    """Where the run goes on beyond what any table can mend."""
    if judged.speed_limit is None:
        return []
    low = judged.judgement.worst_excess <= 0.0
    below = f" Up to there the table is {State.HOLDS.value}." if low else ""
    return [f"{speed_limit_in_words(judged).strip()}{below}"]


def _too_high(judged: JudgedTable, units: Units) -> list[str]:
    speed, j = judged.assessment.speed, judged.judgement
    if j.worst_excess <= 0.0:
        return []
    titles = titles_of(judged.assessment)
    over = (j.unsafe_excess > 0.0) & (speed <= (judged.speed_limit or np.inf))
    heard = over & (np.array(judged.governing) == HEARD.name)
    over &= ~heard
    found = []
    state = np.array([one.value for one in judged.state])
    for word, verb in ((State.EXCEEDS.value, "asks"), (State.CLOSE.value, "is")):
        here = over & (state == word)
        if not here.any():
            continue
        k = int(np.lexsort((j.unsafe_excess, np.where(here, judged.chance, -1.0)))[-1])
        less = _excess(float(j.unsafe_excess[k]), units)
        found.append(
            f"The table {verb} {word} {prose.where_in_words(speed, here)}, if the engine makes "
            f"what it allows: {_counts(judged, k)}. {less} less holds there, limited by "
            f"{titles[judged.governing[k]].lower()}."
        )
    if heard.any():
        most = float(np.where(heard, j.unsafe_excess, 0.0).max())
        found.append(
            f"The table asks for up to {_excess(most, units)} more than this run made "
            f"{prose.where_in_words(speed, heard)}, at or beside knock that was heard in it: add "
            "none there until a run is quiet."
        )
    return found


def _counts(judged: JudgedTable, k: int) -> str:
    """In how many engines a part gives way, or else the governing limit is passed, at a speed."""
    model, accepted = judged.assessment.model, judged.policy.chance
    name, chance, happens = judged.governing[k], float(judged.chance[k]), "a part gives way"
    item, count = judged.assessment.limits.get(name), model.every.count

    def within(share: float) -> bool:
        return round(share * count) <= round(accepted * count)

    if within(chance) and item is not None and item.limit.kind is not LimitKind.STRENGTH:
        limit = item.limit
        chance = float((model.bounding(limit)[k] < judged.judgement.limit[k]).mean())
        unheard = ", unheard in time," if limit.kind is LimitKind.COMBUSTION else ""
        happens = f"{passing(limit).told}{unheard}"
    most, less = accepted, ""
    if within(chance):
        most, less = accepted_rank(count, accepted) / count, " less its sampling error"
    return (
        f"at {prose.speed_in_words(float(judged.assessment.speed[k]))} {happens} "
        f"{prose.chance_in_words(chance, count)}, where {prose.chance_count(most, count)} "
        f"({prose.percent(accepted, 2)}{less}) are accepted"
    )


def _shape(judged: JudgedTable, units: Units) -> list[str]:
    """Every rule of shape that the table breaks."""
    points, limit, first = judged.breakpoints, judged.limit, judged.policy.peak_from or 0.0
    told, asked = [], f"the {prose.speed_in_words(first)} asked for"
    least = LEAST_TORQUE * prose.torque_unit(units).size
    steep = judged.rise_excess > least
    if steep.any():
        most = prose.torque_in_words(float(judged.rise_excess.max()), units)
        told.append(f"It rises {most} more than is asked for {_along(points, steep)}.")
    late = points >= first
    if not late.any():
        return [*told, f"It ends before {asked}, where its peak may begin."]
    early = np.where(late, -np.inf, limit)
    if early.max() > limit[late].max():
        at = prose.speed_in_words(float(points[int(np.argmax(early))]))
        told.append(f"It peaks at {at}, before {asked}.")
    peak = int(np.argmax(np.where(late, limit, -np.inf)))
    change, after = np.diff(limit), np.arange(len(limit) - 1) >= peak
    again, dip = after & (change > least), ~after & (change < -least)
    if again.any():
        told.append(f"It rises again after its peak {_along(points, again)}.")
    if judged.policy.no_dip and dip.any():
        told.append(f"It falls before its peak {_along(points, dip)}.")
    return told


def _along(points: Array, segments: npt.NDArray[np.bool_]) -> str:
    """The speeds of segments between breakpoints."""
    return prose.where_in_words(points, np.append(segments, False) | np.append(False, segments))


def _excess(torque: float, units: Units) -> str:
    return prose.torque_in_words(max(torque, 1.0), units)


def _rows(judged: JudgedTable, units: Units) -> str:
    keys = (
        "speed_rpm", "torque_limit_n_m", "ceiling_torque_n_m", "excess_n_m", "unused_n_m", "state",
        "chance", *(() if judged.assessment.engine.compression_ignition else ("knock_chance",)),
        "governing",
    )  # fmt: skip
    shown = shown_of(judged.assessment, units)
    return tables.table(chosen(COLUMNS, keys), shown_rows(judged), shown, "governing")


def judge_document(judged: JudgedTable, extra: Sequence[Notice] = ()) -> Document:
    """The document of a judged table."""
    a, j = judged.assessment, judged.judgement
    return {
        **assessed.envelope((*extra, *judged.notices, *a.notices)),
        **assessed.judged_on(a, judged.policy),
        "table": [
            {"speed_rpm": float(s) / RPM, "torque_limit_n_m": float(t)}
            for s, t in zip(judged.breakpoints, judged.limit, strict=True)
        ],
        "holds": judged.holds,
        "worst": {"speed_rpm": j.worst_speed / RPM, "excess_n_m": assessed.finite(j.worst_excess)},
        "chance_any_max": float(judged.chance_delivered.max()),
        "chance_any_max_at_limit": float(judged.chance.max()),
        "chance_pull": judged.chance_pull,
        "chance_pulls": judged.chance_pulls,
        "chance_pulls_at_limit": judged.chance_pulls_at_limit,
        "area_kw_rpm": judged.area / assessed.KILOWATT_RPM,
        "area_unused_kw_rpm": assessed.finite(judged.area_unused / assessed.KILOWATT_RPM),
        "outside_run_rpm": [float(s) / RPM for s in judged.outside],
        "abnormal_at_limit": {
            "counted_in_chances": a.policy.abnormal_in_chance,
            "pull_chance_event": judged.abnormal.pull_event,
            "pull_chance_harm": judged.abnormal.pull_harm,
        },
        "text": list(judged_in_short(judged)),
        "by_speed": [keyed(COLUMNS, At(judged, k)) for k in range(len(a.speed))],
    }
