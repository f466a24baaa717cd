"""What is left on the combustion ring, as text of 80 columns."""

from torquerisk.show.text.blocks import columns, paragraph, shown_rows, table
from torquerisk.show.words.columns import Shown, chosen
from torquerisk.show.words.prose import Units, chance_count, in_units
from torquerisk.show.words.sealing_ring import (
    KIND,
    KIND_COLUMNS,
    LINE_LOAD,
    bending_in_words,
    fastener_sentences,
    kinds,
    left_in_words,
    name_of,
    ring_sentences,
    speed_of,
)
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import Assessment, RingClamp, StudBench

MOST_SPEEDS = 8


def run_ring_lines(assessment: Assessment) -> list[str]:
    """Of the measured run: the worst speed, kinds of cylinder, speeds in between, the fastener."""
    a, ring = assessment, answers_of(assessment).ring
    draws = a.model.draws.count
    loads = fastener_sentences(answers_of(a).fastener, a.engine.word("head_joint.head_material"))
    return [
        *(paragraph(text) for text in ring_sentences(ring, draws)),
        _kinds(ring, draws),
        _speeds(ring, draws),
        *(paragraph(text) for text in (bending_in_words(ring), *loads)),
    ]


def bench_ring_lines(bench: StudBench, units: Units = Units.SI) -> list[str]:
    """Of the stud bench: as it stands, and with the mildest that is estimated to hold.

    units: of torque and of a fastener's force.
    """
    answers = answers_of(bench.assessment)
    ring = answers.ring_with(bench, bench.present)
    draws = bench.assessment.model.draws.count
    best = bench.mildest
    loads = fastener_sentences(
        answers.fastener_with(bench, bench.present),
        bench.assessment.engine.word("head_joint.head_material"),
        units,
    )
    lines = [*(paragraph(text) for text in ring_sentences(ring, draws)), _kinds(ring, draws)]
    if best is not None and best is not bench.present:
        made = best.fastening
        short = in_units(made.how, units)
        lines.append(f"With {made.name}, {short}:")
        lines.append(_kinds(answers.ring_with(bench, best), draws))
    return [*lines, *(paragraph(text) for text in (bending_in_words(ring), *loads))]


def _kinds(ring: RingClamp, draws: int) -> str:
    """A row for each kind of cylinder."""
    return table(chosen(KIND_COLUMNS, ("kind", *KIND)), kinds(ring), Shown(draws=draws), "kind")


def _speeds(ring: RingClamp, draws: int) -> str:
    """Line load left by speed, inner and end cylinders apart."""
    kinds = list(ring.holds)
    rows = [
        [
            speed_of(ring, k),
            *(
                cell
                for kind in kinds
                for cell in (
                    left_in_words(ring.holds[kind].line_load, k, LINE_LOAD),
                    chance_count(float(ring.holds[kind].lift_chance[k]), draws),
                )
            ),
        ]
        for k in shown_rows(len(ring.speed), [ring.worst], MOST_SPEEDS)
    ]
    heads = [
        head
        for kind in kinds
        for head in (f"{name_of(ring, kind, marked=False)}\nN/mm", f"lifts/\n{draws:,}")
    ]  # fmt: skip
    return columns(["\nrpm", *heads], rows, left=())
