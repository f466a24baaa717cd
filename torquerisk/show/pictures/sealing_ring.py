"""Picture and table of what firing leaves on the combustion ring, inner and end cylinders apart."""

from torquerisk.files.exports import TableColumn, speed_column
from torquerisk.quantities import BAR, KILO
from torquerisk.show.pictures.drawing import Drawing, new_figure, speed_axis
from torquerisk.show.pictures.style import Look, Picture, Stamp, column, faded, plain, rpm
from torquerisk.show.words.sealing_ring import (
    LINE_LOAD,
    cylinders_in_words,
    name_of,
    ring_sentences,
)
from torquerisk.study.answers.results import HeldBy, RingClamp

DASH = {HeldBy.INNER: "solid", HeldBy.END: "dash"}


def ring_picture(
    ring: RingClamp, what: str, draws: int, look: Look, stamp: Stamp | None
) -> Picture:
    """Line load left on the ring by speed, 5 to 95 %, against the least that seals.

    what: the fastening, in a few words.
    """
    x = rpm(ring.speed)
    figure = new_figure(look, 380, stamp)
    least = ring.lift_line_load
    tight = ring.least_line_load.p50 / LINE_LOAD
    low, middle, high = (v / LINE_LOAD for v in (least.p05, least.p50, least.p95))
    figure.hrect(low, high, faded(look.exceeds, 0.13))
    figure.hline(middle, look.exceeds, 1.6, "dot")
    figure.hline(tight, look.soft, 1.4, "dot")
    top, tones = max(high, tight), {HeldBy.INNER: look.estimate, HeldBy.END: look.capacity}
    for kind in ring.holds:
        top = max(top, _hold(figure, ring, kind, tones[kind]))
    at = len(x) * 3 // 4
    for kind in ring.holds:  # over every range
        height = float(ring.holds[kind].line_load.p50[at]) / LINE_LOAD
        figure.word(x[at], height, cylinders_in_words(ring, kind), tones[kind], "above", 7)
    for level, word, colour in ((middle, "lifts", look.exceeds), (tight, "fully tight", look.soft)):
        told = f"{word}, {level:.0f} N/mm"
        figure.word(x[0], level, told, colour, "right", 4, yanchor="bottom", yshift=3)
    speed_axis(figure, float(ring.speed[0]), float(ring.speed[-1]))
    figure.update_yaxes(range=[0, 1.08 * top], title_text="line load left [N/mm]")
    return Picture(
        name="ring",
        title=f"What firing leaves on the sealing ring, {plain(what)}",
        figure=figure.done(),
        alt=" ".join(ring_sentences(ring, draws)),
        columns=ring_columns(ring),
    )


def _hold(figure: Drawing, ring: RingClamp, kind: HeldBy, colour: str) -> float:
    """One kind of cylinder, its line and range; the greatest of it [N/mm]."""
    x, hold = rpm(ring.speed), ring.holds[kind]
    low, middle, high = (
        v / LINE_LOAD for v in (hold.line_load.p05, hold.line_load.p50, hold.line_load.p95)
    )
    figure.band(x, low, high, colour)
    told = [
        f"{left:,.0f} N/mm ({a:,.0f} to {b:,.0f}), {force:,.1f} kN"
        for left, a, b, force in zip(middle, low, high, hold.left.p50 / KILO, strict=True)
    ]
    name = name_of(ring, kind, marked=False)
    figure.line(x, middle, colour, f"{name}: %{{text}}", dash=DASH[kind], text=told)
    return float(high.max())


def ring_columns(ring: RingClamp) -> tuple[TableColumn, ...]:
    """By speed: pressure, then force, line load and utilisation for every kind."""
    out = [speed_column(ring.speed), column("highest pressure", "bar", ring.pressure.p50, BAR)]
    for kind in ring.holds:
        hold, name = ring.holds[kind], name_of(ring, kind, marked=False)
        line = hold.line_load
        out += [
            column(f"{name}, left", "kN", hold.left.p50, KILO, 1),
            column(f"{name}, 5 %", "N/mm", line.p05, LINE_LOAD),
            column(f"{name}, median", "N/mm", line.p50, LINE_LOAD),
            column(f"{name}, 95 %", "N/mm", line.p95, LINE_LOAD),
            column(f"{name}, lift used", "1", hold.lift_utilisation, decimals=2),
        ]
    return tuple(out)
