"""The report's part on the combustion ring: picture, both counts, and the numbers by speed."""

from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np

from torquerisk.quantities import KILO, RPM
from torquerisk.show.pictures import svg
from torquerisk.show.pictures.svg import Named, Panel
from torquerisk.show.report.parts import Table
from torquerisk.show.report.pictures import BELOW, EDGE, LEFT, SPEED, Still, still
from torquerisk.show.words.prose import chance_count
from torquerisk.show.words.sealing_ring import (
    LINE_LOAD,
    TITLE,
    counting_in_words,
    cylinders_in_words,
    fastener_sentences,
    left_in_words,
    name_of,
    ring_sentences,
    row_of,
    speed_of,
)
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import USED, HeldBy, RingClamp, StudBench

STYLE = {HeldBy.INNER: ("estimate", "solid"), HeldBy.END: ("capacity", "dash")}


def ring_part(bench: StudBench) -> dict[str, Any]:
    """Words, picture and tables of the ring as it stands, and rows for the mildest that holds."""
    present, best = bench.present, bench.mildest
    draws = bench.assessment.model.draws.count
    answers = answers_of(bench.assessment)
    ring, loads = answers.ring_with(bench, present), answers.fastener_with(bench, present)
    rows = list(_counts(ring, "now", draws))
    if best is not None and best is not present:
        made = f"{best.fastening.thread.designation} {best.fastening.class_word}"
        rows += _counts(answers.ring_with(bench, best), made, draws, USED)
    material = present.engine.word("head_joint.head_material")
    return {
        "told": " ".join(ring_sentences(ring, draws)),
        "still": ring_still(ring, draws),
        "counts": Table(
            title=f"{TITLE} {_at(ring)}" + ("" if ring.single else ", by both counts"),
            headings=[
                ("cylinder and count", ""), ("fastening", ""), ("fasteners", ""),
                ("at rest", "kN"), ("left", "kN"), ("left", "N/mm"), ("lift used", ""),
                ("lifts", f"of {draws:,}"),
            ],
            rows=rows,
            words_in=frozenset({1, 4, 5}),
            kind="numbers",
        ),
        "note": " ".join((counting_in_words(ring), *fastener_sentences(loads, material))),
        "by_speed": _by_speed(ring, draws),
    }  # fmt: skip


def _at(ring: RingClamp) -> str:
    return f"at {speed_of(ring, ring.worst)} rpm"


def _counts(
    ring: RingClamp, made: str, draws: int, kinds: Iterable[HeldBy] = tuple(HeldBy)
) -> Iterator[list[str]]:
    for kind in kinds:
        if kind in ring.shown:
            yield [name_of(ring, kind), made, *row_of(ring.holds[kind], ring.worst, draws)]


def _by_speed(ring: RingClamp, draws: int) -> Table:
    headings, columns = [("speed", "rpm")], [[speed_of(ring, k) for k in range(len(ring.speed))]]
    for kind in ring.shown:
        hold = ring.holds[kind]
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


def ring_still(ring: RingClamp, draws: int) -> Still:
    """Line load left on the ring by speed with its range, against the least that seals."""
    x = ring.speed / RPM
    least = ring.least_line_load
    kinds = [kind for kind in USED if kind in ring.holds]
    top = max(
        least.p95, *(float(ring.holds[kind].line_load.p95.max()) for kind in kinds)
    ) / LINE_LOAD  # fmt: skip
    named = [
        Named(text=cylinders_in_words(ring, kind), tone=STYLE[kind][0],
              dash=STYLE[kind][1])
        for kind in kinds
    ]  # fmt: skip
    named.append(Named(text="least that seals", tone="exceeds", dash="dot"))

    def draw(width: float) -> tuple[list[str], float]:
        drawn, tall = svg.key(0, 0, width, named)
        panel = Panel(
            left=LEFT, right=width - EDGE, top=28 + tall, bottom=156 + tall, x_low=float(x[0]),
            x_high=float(x[-1]), y_low=0.0, y_high=1.06 * top,
        )  # fmt: skip
        parts = [drawn, svg.axes(panel, SPEED, "line load left on the ring [N/mm]")]
        level = np.full_like(x, 1 / LINE_LOAD)
        parts.append(svg.band(panel, x, level * least.p05, level * least.p95, "exceeds"))
        parts.append(svg.line(panel, x, level * least.p50, "exceeds", "dot"))
        for kind in kinds:
            tone, dash = STYLE[kind]
            line = ring.holds[kind].line_load
            parts.append(svg.band(panel, x, line.p05 / LINE_LOAD, line.p95 / LINE_LOAD, tone))
            parts.append(svg.line(panel, x, line.p50 / LINE_LOAD, tone, dash))
        return parts, panel.bottom + BELOW

    alt = " ".join(ring_sentences(ring, draws))
    return still("ring", "Line load left on the sealing ring", alt, draw)
