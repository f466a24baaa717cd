"""Picture and table of what firing leaves on the combustion ring, inner and end cylinders apart."""

from torquerisk.files.exports import TableColumn, speed_column
from torquerisk.quantities import BAR, KILO
from torquerisk.show.pictures.style import (
    Look,
    Picture,
    Stamp,
    band_traces,
    cells,
    drawn,
    faded,
    new_figure,
    plain,
    rpm,
    scatter,
    speed_axis,
    write_on,
)
from torquerisk.show.words.sealing_ring import (
    LINE_LOAD,
    cylinders_in_words,
    name_of,
    ring_sentences,
    row_of,
)
from torquerisk.study.answers.results import USED, HeldBy, RingClamp

DASH = {HeldBy.INNER: "solid", HeldBy.END: "dash"}


def ring_picture(ring: RingClamp, what: str, draws: int, look: Look, stamp: Stamp) -> Picture:
    """Line load left on the ring by speed, 5 to 95 %, against the least that seals.

    what: the fastening, in a few words.
    """
    x = rpm(ring.speed)
    figure = new_figure(look, 380, stamp)
    least = ring.least_line_load
    low, middle, high = (v / LINE_LOAD for v in (least.p05, least.p50, least.p95))
    figure.add_shape(
        type="rect", xref="paper", x0=0, x1=1, y0=low, y1=high, line={"width": 0},
        fillcolor=faded(look.exceeds, 0.13), layer="below",
    )  # fmt: skip
    figure.add_hline(y=middle, line={"color": look.exceeds, "dash": "dot", "width": 1.6})
    top = high
    tones = {HeldBy.INNER: look.estimate, HeldBy.END: look.capacity}
    labels = []
    for kind in (k for k in USED if k in ring.holds):
        hold, colour = ring.holds[kind], tones[kind]
        line = hold.line_load
        for trace in band_traces(
            x, drawn(line.p05 / LINE_LOAD, 1), drawn(line.p95 / LINE_LOAD, 1), colour, kind.value
        ):
            figure.add_trace(trace)
        told = [
            f"{left:,.0f} N/mm ({a:,.0f} to {b:,.0f}), {force:,.1f} kN"
            for left, a, b, force in zip(
                line.p50 / LINE_LOAD, line.p05 / LINE_LOAD, line.p95 / LINE_LOAD,
                hold.left.p50 / KILO, strict=True,
            )
        ]  # fmt: skip
        name = name_of(ring, kind, marked=False)
        figure.add_trace(
            scatter(
                x=x, y=drawn(line.p50 / LINE_LOAD, 1), mode="lines", text=told,
                line={"color": colour, "width": 2.4, "dash": DASH[kind]},
                hovertemplate=f"{name}: %{{text}}<extra></extra>",
            )
        )  # fmt: skip
        k = len(x) * 3 // 4
        labels.append(
            (float(x[k]), float(line.p50[k]) / LINE_LOAD, cylinders_in_words(ring, kind), colour)
        )
        top = max(top, float(line.p95.max()) / LINE_LOAD)
    for at, height, word, colour in labels:
        write_on(figure, look, at, height, word, colour, xanchor="center", yanchor="bottom",
                 yshift=7)  # fmt: skip
    write_on(figure, look, float(x[0]), middle, f"least that seals, {middle:.0f} N/mm",
             look.exceeds, xanchor="left", yanchor="bottom", xshift=4, yshift=3)  # fmt: skip
    speed_axis(figure, float(ring.speed[0]), float(ring.speed[-1]))
    figure.update_yaxes(range=[0, 1.08 * top], title_text="line load left on the ring [N/mm]")
    return Picture(
        name="ring",
        title=f"What firing leaves on the sealing ring, {plain(what)}",
        figure=figure.done(),
        alt=" ".join(ring_sentences(ring, draws)),
        columns=ring_columns(ring),
    )


def ring_columns(ring: RingClamp) -> tuple[TableColumn, ...]:
    """By speed: pressure, then force, line load and utilisation for every kind and count."""
    out = [
        speed_column(ring.speed),
        TableColumn(name="highest pressure", unit="bar", decimals=0,
                    values=cells(ring.pressure.p50, BAR)),
    ]  # fmt: skip
    for kind in ring.shown:
        hold = ring.holds[kind]
        name = name_of(ring, kind, marked=False)
        out.append(TableColumn(name=f"{name}, left", unit="kN", decimals=1,
                               values=cells(hold.left.p50, KILO)))  # fmt: skip
        for word, values in (
            ("5 %", hold.line_load.p05), ("median", hold.line_load.p50),
            ("95 %", hold.line_load.p95),
        ):  # fmt: skip
            out.append(TableColumn(name=f"{name}, {word}", unit="N/mm", decimals=0,
                                   values=cells(values, LINE_LOAD)))  # fmt: skip
        out.append(TableColumn(name=f"{name}, lift used", unit="1", decimals=2,
                               values=cells(hold.lift_utilisation)))  # fmt: skip
    return tuple(out)


def count_columns(ring: RingClamp, draws: int) -> tuple[TableColumn, ...]:
    """Kinds and counts at the worst speed: fasteners, at rest, left, line load, use, lifts."""
    rows = [
        [
            name_of(ring, kind),
            str(ring.holds[kind].cylinders),
            *row_of(ring.holds[kind], ring.worst, draws),
        ]
        for kind in ring.shown
    ]
    heads = (
        ("cylinder and count", ""), ("cylinders", ""), ("fasteners", ""), ("at rest", "kN"),
        ("left", "kN"), ("left", "N/mm"), ("lift, load over strength", ""),
        (f"lifts, of {draws:,}", ""),
    )  # fmt: skip
    return tuple(
        TableColumn(name=name, unit=unit, values=[row[k] for row in rows])
        for k, (name, unit) in enumerate(heads)
    )
