"""Pictures of what drives the answer, of two runs side by side, and of the same torque later."""

from collections.abc import Sequence

import numpy as np

from torquerisk.files.exports import TableColumn, speed_column
from torquerisk.quantities import RPM
from torquerisk.show.pictures.placing import apart
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
    torque_column,
    write_on,
)
from torquerisk.study.answers.results import Comparison, Later, Share


def drivers_picture(found: Sequence[Share], about: str, look: Look, stamp: Stamp) -> Picture:
    """Share of the spread that follows each uncertain input, greatest on top.

    Given inputs are filled and round, assumed ones open: those are the cheapest to narrow.
    """
    figure = new_figure(look, 92 + 27 * len(found), stamp, left=196)
    figure.update_layout(margin={"l": 196, "r": 44, "t": 10, "b": 62}, hovermode="closest")
    share = [round(100 * d.share, 1) for d in found]
    for k, value in enumerate(share):
        figure.add_shape(
            type="line", x0=0, x1=value, y0=k, y1=k, line={"color": look.estimate, "width": 3}
        )
    for given, symbol, word in ((True, "circle", "given"), (False, "circle-open", "assumed")):
        chosen = [k for k, d in enumerate(found) if d.given == given]
        figure.add_trace(
            scatter(
                x=[share[k] for k in chosen], y=chosen, mode="markers+text", cliponaxis=False,
                marker={"symbol": symbol, "size": 11, "color": look.estimate,
                        "line": {"width": 2, "color": look.estimate}},
                text=[f"{share[k]:.0f} %" if share[k] >= 0.5 else "<1 %" for k in chosen],
                textposition="middle right", textfont={"color": look.ink, "size": 12},
                hovertemplate=f"%{{x:.1f}} % of the spread, {word}<extra></extra>",
            )
        )  # fmt: skip
    figure.update_yaxes(
        range=[len(found) - 0.4, -0.6], tickvals=list(range(len(found))),
        ticktext=[_two_lines(d.label + ("" if d.given else " (assumed)")) for d in found],
        showgrid=False, ticks="", showline=False, tickfont={"size": 11, "color": look.ink},
    )  # fmt: skip
    figure.update_xaxes(
        range=[0, max(10.0, 1.15 * max(share, default=10.0))], showgrid=True,
        title_text="share of the spread [%]",
    )  # fmt: skip
    return Picture(
        name="drivers",
        title=f"What makes {plain(about)} uncertain",
        figure=figure.done(),
        alt="Share of the spread by input: "
        + "; ".join(
            f"{d.label} {100 * d.share:.0f} %{'' if d.given else ', assumed'}" for d in found
        )
        + ".",
        columns=(
            TableColumn(name="input", unit="", values=[d.label for d in found]),
            TableColumn(name="share of the spread", unit="%", values=share, decimals=1),
            TableColumn(
                name="where from",
                unit="",
                values=["given" if d.given else "assumed" for d in found],
            ),
        ),
    )


def _two_lines(text: str, most: int = 28) -> str:
    """A label on one line, or on two that are as alike in length as its words allow."""
    words = plain(text, 68).split(" ")
    if len(" ".join(words)) <= most:
        return " ".join(words)
    halves = [(" ".join(words[:k]), " ".join(words[k:])) for k in range(1, len(words))]
    return "<br>".join(min(halves, key=lambda half: max(map(len, half)))) if halves else words[0]


def compare_picture(
    compared: Comparison, names: tuple[str, str], look: Look, stamp: Stamp
) -> Picture:
    """Second less first torque by speed, over the band that is too close to call."""
    speed, x = compared.speed, rpm(compared.speed)
    unit, size = look.torque
    figure = new_figure(look, 330, stamp)
    band, difference = compared.too_close / size, compared.difference / size
    for trace in band_traces(x, drawn(-band, 1), drawn(band, 1), look.close, "too close", 0.2):
        figure.add_trace(trace)
    figure.add_hline(y=0, line={"color": look.ink, "width": 1.4})
    figure.add_trace(
        scatter(
            x=x, y=drawn(difference, 1), mode="lines",
            line={"color": look.measured, "width": 2.4}, customdata=np.round(band, 1),
            hovertemplate=f"%{{y:+.0f}} {unit}; within %{{customdata:.0f}} it is too close to call"
            "<extra></extra>",
        )
    )  # fmt: skip
    edge = 1.15 * float(max(np.abs(difference).max(), band.max(), 5.0))
    write_on(figure, look, float(x[-1]), 0.97 * edge, f"more in {plain(names[1], 30)}", look.soft,
             yanchor="top")  # fmt: skip
    write_on(figure, look, float(x[-1]), -0.97 * edge, f"more in {plain(names[0], 30)}", look.soft,
             yanchor="bottom")  # fmt: skip
    write_on(figure, look, float(x[len(x) // 2]), -float(band[len(x) // 2]), "too close to call",
             look.close, xanchor="center", yanchor="bottom")  # fmt: skip
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    figure.update_yaxes(range=[-edge, edge], title_text=f"difference in torque [{unit}]")
    k = int(np.argmax(np.abs(difference)))
    return Picture(
        name="compare",
        title="Difference in crank torque between two runs",
        figure=figure.done(),
        alt=(
            f"The second run less the first. The greatest difference is "
            f"{difference[k]:+.0f} {unit} at {speed[k] / RPM:.0f} rpm; there "
            f"{band[k]:.0f} {unit} would be too close to call."
        ),
        columns=(
            speed_column(speed),
            torque_column("difference", compared.difference, look),
            torque_column("too close within", compared.too_close, look),
        ),
    )


def later_picture(later: Later, names: Sequence[str], look: Look, stamp: Stamp) -> Picture:
    """One torque made at every speed: load over strength of some limits, fuel-allowed phasing."""
    x = rpm(later.speed)
    made = f"{later.torque / look.torque.size:.0f} {look.torque.name}"
    figure = new_figure(look, 340, stamp)
    figure.add_hline(y=1, line={"color": look.ink, "width": 1.4})
    styles = (
        (look.estimate, "solid"),
        (look.capacity, "dash"),
        (look.holds, "dot"),
        (look.close, "dashdot"),
    )
    top, ends = 1.2, []
    for name, (colour, dash) in zip(names, styles, strict=False):
        trend = later.trends[name]
        values = np.minimum(trend.allowed_phasing.p50, 3.0)
        top = max(top, 1.1 * float(values.max()))
        ends.append((name, float(values[-1]), colour))
        figure.add_trace(
            scatter(
                x=x, y=drawn(values, 3), mode="lines+markers",
                line={"color": colour, "width": 2.2, "dash": dash}, marker={"size": 6},
                hovertemplate=f"{plain(trend.title)} %{{y:.2f}}<extra></extra>",
            )
        )  # fmt: skip
    top = min(top, 2.2)
    places = apart([min(value, 0.97 * top) for _, value, _ in ends], 0.075 * top)
    for (name, _, colour), place in zip(ends, places, strict=True):
        write_on(figure, look, float(x[-1]), place, plain(later.trends[name].title.lower()), colour,
                 yanchor="bottom", yshift=3, bgcolor=faded(look.paper, 0.9))  # fmt: skip
    speed_axis(figure, float(later.speed[0]), float(later.speed[-1]))
    figure.update_yaxes(range=[0, top], title_text="load over strength")
    return Picture(
        name="later",
        title=f"Load over strength with {made} made at every speed",
        figure=figure.done(),
        alt=(
            f"Load over strength by engine speed if {made} were made there: "
            + "; ".join(
                f"{later.trends[n].title.lower()} {later.trends[n].at_allowed_phasing.value}"
                for n in names
            )
            + "."
        ),
        columns=(
            speed_column(later.speed),
            *(
                TableColumn(
                    name=later.trends[n].title, unit="1", decimals=2,
                    values=cells(later.trends[n].allowed_phasing.p50),
                )
                for n in names
            ),
        ),
    )  # fmt: skip
