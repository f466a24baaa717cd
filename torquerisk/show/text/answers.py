"""Text of the answers to three questions: which studs, why the dips, which run."""

import dataclasses
from collections.abc import Sequence

from torquerisk.case import Notice
from torquerisk.case.sentence import Sentence
from torquerisk.quantities import RPM
from torquerisk.show.text.studs import stud_text
from torquerisk.show.text.tables import bullets, closing, columns, made_with, read_lines, section
from torquerisk.show.words import prose
from torquerisk.show.words.comparison import compare_in_words
from torquerisk.show.words.dips import WORD_LIST, dips_in_words
from torquerisk.show.words.notices import notices_in_short
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import Assessment, Comparison, Side, StudBench


def _joined(*blocks: str) -> str:
    return "\n".join(block for block in blocks if block)


def explain_text(
    assessment: Assessment, extra: Sequence[Notice] = (), units: Units = Units.SI
) -> str:
    """Why the curve has its dips, a paragraph each, with a short word list."""
    dips = answers_of(assessment).dips
    used = [f"{word}: {meaning}" for word, meaning in WORD_LIST] if dips else []
    return _joined(
        section("Read", read_lines(assessment, units)),
        section("Dips", bullets(dips_in_words(assessment, dips, units))),
        section("Words", bullets(used)),
        closing((*extra, *notices_in_short(assessment)), assessment.policy, units),
    )


def studs_text(bench: StudBench, extra: Sequence[Notice] = (), units: Units = Units.SI) -> str:
    """What was read, then the bench: what is needed, choices, target sheet, all notices."""
    a = bench.assessment
    told = [*extra, *bench.notices, *notices_in_short(a)]
    whole = dataclasses.replace(bench, notices=tuple(dict.fromkeys(told)))
    read = section("Read", read_lines(a, units))
    return _joined(read, stud_text(whole, units=units), made_with(a.policy))


def compare_text(
    first: Assessment,
    second: Assessment,
    comparison: Comparison,
    extra: Sequence[Notice] = (),
    units: Units = Units.SI,
) -> str:
    """Two runs side by side: in short, by speed, what differs beside the tune."""
    c = comparison
    other = [f"{d.label}: {d.first} and {d.second}." for d in c.differences]
    notices = [
        Notice(n.code, Sentence(f"{which} run: ", n.text))
        for which, a in (("First", first), ("Second", second))
        for n in notices_in_short(a)
    ]
    return _joined(
        section("Read, first", read_lines(first, units)),
        section("Read, second", read_lines(second, units)),
        section("In short", bullets(compare_in_words(c, units))),
        section("Side by side", [_side_by_side(c, units)]),
        section("What differs beside the curves", bullets(other)),
        closing((*extra, *notices), first.policy, units),
    )


def _side_by_side(c: Comparison, units: Units) -> str:
    torque_name, torque_size = prose.torque_unit(units)
    step = -(-len(c.speed) // 20)
    index = sorted({*range(0, len(c.speed), step), len(c.speed) - 1})

    def cells(side: Side, k: int) -> list[str]:
        return [
            prose.plain(side.torque[k] / torque_size),
            prose.with_range(side.peak_pressure, k, 1e5)[0],
            prose.chance_count(float(side.chance_any[k]), side.draws),
        ]

    rows = [
        [
            prose.plain(c.speed[k] / RPM),
            *cells(c.first, k),
            *cells(c.second, k),
            prose.plain(c.difference[k] / torque_size),
            "second" if c.more_second[k] else "first" if c.more_first[k] else "too close to call",
        ]
        for k in index
    ]
    one, two = c.first.draws, c.second.draws
    return columns(
        [
            "rpm", f"first\n{torque_name}", "peak\nbar", f"fail\n/{one:,}",
            f"second\n{torque_name}", "peak\nbar", f"fail\n/{two:,}", f"more\n{torque_name}",
            "more torque",
        ],
        rows,
        left=(8,),
    )  # fmt: skip
