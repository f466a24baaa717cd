"""The report's part on the combustion ring: picture, inner and end cylinders, numbers by speed."""

from typing import Any

from torquerisk.quantities import KILO
from torquerisk.show.pictures.joint import choice_name
from torquerisk.show.report import pictures
from torquerisk.show.report.tables import Table, table_of
from torquerisk.show.words.columns import Shown, chosen
from torquerisk.show.words.prose import Units, chance_count
from torquerisk.show.words.sealing_ring import (
    KIND,
    KIND_COLUMNS,
    LINE_LOAD,
    TITLE,
    bending_in_words,
    fastener_sentences,
    kinds,
    left_in_words,
    name_of,
    ring_sentences,
    speed_of,
)
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import RingClamp, StudBench


def ring_part(bench: StudBench, units: Units = Units.SI) -> dict[str, Any]:
    """Words, picture and tables of the ring as it stands, and rows for the mildest that holds.

    units: of a fastener's force.
    """
    present, best = bench.present, bench.mildest
    draws = bench.assessment.model.draws.count
    answers = answers_of(bench.assessment)
    ring, loads = answers.ring_with(bench, present), answers.fastener_with(bench, present)
    rows = kinds(ring, "now")
    if best is not None and best is not present:
        rows += kinds(answers.ring_with(bench, best), best.fastening.name)
    material = present.engine.word("head_joint.head_material")
    return {
        "told": " ".join(ring_sentences(ring, draws)),
        "still": pictures.ring(ring, choice_name(bench, present), draws),
        "kinds": table_of(
            f"{TITLE} {_at(ring)}" + ("" if ring.single else ", inner and end"),
            chosen(KIND_COLUMNS, ("marked", "made", *KIND)), rows, Shown(draws=draws),
            words_in=frozenset({1, 4, 5}), kind="numbers",
        ),
        "note": " ".join((bending_in_words(ring), *fastener_sentences(loads, material, units))),
        "by_speed": _by_speed(ring, draws),
    }  # fmt: skip


def _at(ring: RingClamp) -> str:
    return f"at {speed_of(ring, ring.worst)} rpm"


def _by_speed(ring: RingClamp, draws: int) -> Table:
    headings, columns = [("speed", "rpm")], [[speed_of(ring, k) for k in range(len(ring.speed))]]
    for kind, hold in ring.holds.items():
        name = name_of(ring, kind, marked=False)
        every = range(len(ring.speed))
        headings += [(name, "kN"), (name, "N/mm"), (f"{name} lifts", f"of {draws:,}")]
        columns += [
            [left_in_words(hold.left, k, KILO) for k in every],
            [left_in_words(hold.line_load, k, LINE_LOAD) for k in every],
            [chance_count(float(hold.lift_chance[k]), draws) for k in every],
        ]
    return Table(
        title=f"{TITLE}, as it stands, speed by speed",
        headings=headings,
        rows=list(zip(*columns, strict=True)),
        words_in=frozenset(k for k, (_, unit) in enumerate(headings) if unit in ("kN", "N/mm")),
        kind="numbers",
    )
