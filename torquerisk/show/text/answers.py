"""Text of the answers to three questions: which studs, why the dips, which run."""

import dataclasses
from collections.abc import Sequence

from torquerisk.case import LIFTS, Notice
from torquerisk.quantities import RPM
from torquerisk.show.text.studs import stud_text
from torquerisk.show.text.tables import (
    bullets,
    closing,
    columns,
    joined,
    made_with,
    read_lines,
    section,
)
from torquerisk.show.words import prose
from torquerisk.show.words.columns import At, Shown, chosen, in_words
from torquerisk.show.words.comparison import OF_PAIR, OF_RUN, compare_in_words, sides_of
from torquerisk.show.words.dips import dip_in_short, dips_in_words, left_aside, to_ask
from torquerisk.show.words.in_short import urgent_in_short
from torquerisk.show.words.notices import by_run, notices_in_short
from torquerisk.show.words.prose import Units
from torquerisk.show.words.word_list import words_used
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import ORDINALS, Assessment, Comparison, StudBench

MORE = "More with --full: every count, how sure it is, what would raise it, notices."


def explain_text(
    assessment: Assessment,
    extra: Sequence[Notice] = (),
    units: Units = Units.SI,
    full: bool = False,
) -> str:
    """Why the curve has its dips: what an owner says back to a friend, and what to ask the tuner.

    full: of each dip all that stands behind, and every notice, not only those of how it was read.
    """
    dips = answers_of(assessment).dips
    told = dips_in_words(assessment, dips, units)
    asked: tuple[str, ...] = ()
    if dips and not full:
        every = (" ".join(dip_in_short(dip, units)) for dip in dips)
        told = (*every, *left_aside(assessment))
        asked = to_ask(max(dips, key=lambda dip: dip.depth), units)
    of_run = (notice for notice in assessment.run.notices if notice.code != LIFTS)
    notices = (*extra, *(notices_in_short(assessment) if full else of_run))
    used = [f"{word}: {meaning}" for word, meaning in words_used((*told, *asked))]
    return joined(
        section("Read", read_lines(assessment, units)),
        section("First", bullets(filter(None, [urgent_in_short(assessment)]))),
        section("Dips", bullets(told)),
        section("Ask the tuner", bullets(asked)),
        section("Words", bullets(used if dips else ())),
        "" if full else MORE,
        closing(notices, assessment.policy, units),
    )


def studs_text(bench: StudBench, extra: Sequence[Notice] = (), units: Units = Units.SI) -> str:
    """What was read, then the bench: what is needed, choices, target sheet, all notices."""
    a = bench.assessment
    told = [*extra, *bench.notices, *notices_in_short(a)]
    whole = dataclasses.replace(bench, notices=tuple(dict.fromkeys(told)))
    read = section("Read", read_lines(a, units))
    return joined(read, stud_text(whole, units=units), made_with(a.policy))


def compare_text(
    runs: Sequence[Assessment],
    compared: Sequence[Comparison],
    extra: Sequence[Notice] = (),
    units: Units = Units.SI,
) -> str:
    """Runs side by side: in short, by speed, what differs beside the tune."""
    named = list(zip(ORDINALS, runs, strict=False))
    other = [
        f"{d.label}: {d.first} and {d.second}{_which(c, compared)}."
        for c in compared
        for d in c.differences
    ]
    notices = by_run([notices_in_short(a) for a in runs])
    return joined(
        *(section(f"Read, {which}", read_lines(a, units)) for which, a in named),
        section("In short", bullets(compare_in_words(compared, units))),
        section("Side by side", [_side_by_side(compared, units)]),
        section("What differs beside the curves", bullets(other)),
        closing((*extra, *notices), runs[0].policy, units),
    )


def _which(c: Comparison, compared: Sequence[Comparison]) -> str:
    return "" if len(compared) == 1 else f" ({c.first.ordinal} and {c.second.ordinal} run)"


def _side_by_side(compared: Sequence[Comparison], units: Units) -> str:
    c, sides = compared[0], sides_of(compared)
    step = -(-len(c.speed) // 20)
    index = sorted({*range(0, len(c.speed), step), len(c.speed) - 1})
    two = len(sides) == 2
    heads, parts = ["rpm"], [[[prose.plain(c.speed[k] / RPM)] for k in index]]
    of_run = chosen(OF_RUN, ("torque_n_m", "peak_pressure_bar", "chance_any") if two
                    else ("torque_n_m",))  # fmt: skip
    for side in sides:
        shown = Shown(units=units, draws=side.draws, of=side.ordinal)
        heads += [column.headed(shown) for column in of_run]
        parts.append(in_words(of_run, [At(side, k) for k in index], shown))
    if two:
        of_pair = chosen(OF_PAIR, ("torque_difference_n_m", "more_torque"))
        shown = Shown(units=units)
        heads += [column.headed(shown) for column in of_pair]
        parts.append(in_words(of_pair, [At(c, k) for k in index], shown))
    rows = [[cell for part in row for cell in part] for row in zip(*parts, strict=True)]
    return columns(heads, rows, left=(8,) if two else ())
