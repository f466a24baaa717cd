"""Pictures for the owner: the dips of a curve, and twenty dots along load = strength."""

from collections.abc import Sequence

import numpy as np

from torquerisk.files.exports import TableColumn
from torquerisk.quantities import RPM, Array
from torquerisk.show.pictures.style import (
    Look,
    Picture,
    Stamp,
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
from torquerisk.show.words.dips import shown_depth
from torquerisk.study.answers.results import Assessment, Dip


def dips_picture(assessment: Assessment, dips: Sequence[Dip], look: Look, stamp: Stamp) -> Picture:
    """The torque curve with every dip shaded and a straight line over it."""
    unit, size = look.torque
    speed, torque, x = assessment.speed, assessment.torque / size, rpm(assessment.speed)
    figure = new_figure(look, 380, stamp)
    top = float(np.ceil(1.15 * torque.max() / 20) * 20)
    bottom = float(np.floor(0.5 * torque.max() / 20) * 20)
    for number, dip in enumerate(dips, start=1):
        inside = (speed > dip.from_speed) & (speed < dip.to_speed)
        at = np.concatenate([[dip.from_speed], speed[inside], [dip.to_speed]])
        under = np.interp(at, speed, torque)
        ends = [dip.from_torque / size, dip.to_torque / size]
        over = np.interp(at, [dip.from_speed, dip.to_speed], ends)
        figure.add_trace(
            scatter(x=rpm(at), y=drawn(under, 1), mode="lines", line={"width": 0}, hoverinfo="skip")
        )
        figure.add_trace(
            scatter(
                x=rpm(at), y=drawn(np.maximum(over, under), 1), mode="lines", fill="tonexty",
                fillcolor=faded(look.limit, 0.22),
                line={"color": look.limit, "width": 2, "dash": "dash"},
                hovertemplate=f"straight across %{{y:.0f}} {unit}<extra></extra>",
            )
        )  # fmt: skip
        deep = f"{shown_depth(dip, look.units)} {unit}"
        write_on(
            figure, look, float(rpm(dip.speed)), dip.would_be_torque / size,
            deep if len(dips) == 1 else f"dip {number}: {deep}",
            look.limit, xanchor="center", yanchor="bottom", yshift=6,
        )  # fmt: skip
    figure.add_trace(
        scatter(
            x=x, y=drawn(torque, 1), mode="lines", line={"color": look.measured, "width": 2.6},
            hovertemplate=f"measured %{{y:.0f}} {unit}<extra></extra>",
        )
    )  # fmt: skip
    k = int(np.argmin(np.abs(torque - 0.72 * torque.max())))
    write_on(figure, look, float(x[k]), float(torque[k]), "measured", look.measured,
             xanchor="left", xshift=12)  # fmt: skip
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    figure.update_yaxes(range=[bottom, top], title_text=f"torque at the crank [{unit}]")
    told = "; ".join(
        f"from {d.from_speed / RPM:.0f} to {d.to_speed / RPM:.0f} rpm by "
        f"{shown_depth(d, look.units)} {unit} at "
        f"{d.speed / RPM:.0f} rpm"
        for d in dips
    )
    return Picture(
        name="dips",
        title="The dips, and a straight line over them",
        figure=figure.done(),
        alt=f"Torque over engine speed. It dips {told}." if dips else "The curve has no dip.",
        columns=(
            TableColumn(name="from", unit="rpm", decimals=0,
                        values=cells(np.array([d.from_speed for d in dips]), RPM)),
            TableColumn(name="to", unit="rpm", decimals=0,
                        values=cells(np.array([d.to_speed for d in dips]), RPM)),
            TableColumn(name="deepest at", unit="rpm", decimals=0,
                        values=cells(np.array([d.speed for d in dips]), RPM)),
            torque_column("torque there", np.array([d.torque for d in dips]), look),
            torque_column("straight across", np.array([d.would_be_torque for d in dips]), look),
        ),
    )  # fmt: skip


def dots_picture(dip: Dip, number: int, look: Look) -> Picture:
    """Twenty dots along load = strength, with the dip and with it filled in.

    Each dot is 5 % of the simulated engines; beyond the line the part is past its limit.
    """
    change = dip.shown
    if change is None:
        raise ValueError("a dip without any limit that binds has no dots")
    lanes = (
        ("with the dip", change.dots_with, 1.0),
        ("filled in", change.dots_without, 0.0),
    )
    every = np.concatenate([change.dots_with, change.dots_without])
    finite = every[np.isfinite(every)]
    low = min(0.75, float(np.floor(10 * finite.min()) / 10)) if len(finite) else 0.7
    high = max(1.25, float(np.ceil(10 * finite.max()) / 10)) if len(finite) else 1.3
    figure = new_figure(look, 250, None)
    figure.update_layout(margin={"l": 96, "r": 20, "t": 26, "b": 46}, hovermode="closest")
    figure.add_vrect(x0=1, x1=high + 0.05, fillcolor=faded(look.exceeds, 0.08))
    figure.add_vline(x=1, line={"color": look.ink, "width": 2})
    counts = []
    for name, values, lane in lanes:
        past = values >= 1
        counts.append((name, int(past.sum())))
        for over, symbol, colour in (
            (False, "circle", look.holds),
            (True, "diamond", look.exceeds),
        ):
            chosen = np.minimum(values[past == over], high)
            figure.add_trace(
                scatter(
                    x=np.round(chosen, 3), y=lane + _stacked(chosen, (high - low) / 42),
                    mode="markers", cliponaxis=False,
                    marker={"symbol": symbol, "size": 11, "color": colour,
                            "line": {"width": 1, "color": look.paper}},
                    hovertemplate=f"{name}: load is %{{x:.2f}} of strength<extra></extra>",
                )
            )  # fmt: skip
    write_on(figure, look, 1.0, 1.6, "load = strength", look.ink, xanchor="center",
             yanchor="bottom")  # fmt: skip
    figure.update_xaxes(range=[low, high + 0.03], title_text="load over strength", tickformat=".1f")
    figure.update_yaxes(
        range=[-0.35, 1.6], tickvals=[1.0, 0.0],
        ticktext=[f"{n}<br>{c} of 20 past" for n, c in counts], showgrid=False, ticks="",
        tickfont={"size": 12, "color": look.ink}, showline=False,
    )  # fmt: skip
    title = change.limit.title
    return Picture(
        name=f"dots_{number}",
        title=f"{plain(title)} at {dip.speed / RPM:,.0f} rpm",
        figure=figure.done(),
        alt=(
            f"Twenty dots, each 5 % of the simulated engines, by load over strength of "
            f"{title.lower()} at {dip.speed / RPM:.0f} rpm. With the dip {counts[0][1]} of 20 lie "
            f"past the line, with it filled in {counts[1][1]} of 20."
        ),
        columns=(
            TableColumn(name="dot", unit="", values=list(range(1, len(change.dots_with) + 1))),
            TableColumn(name="with the dip", unit="1", values=cells(change.dots_with), decimals=2),
            TableColumn(name="filled in", unit="1", values=cells(change.dots_without), decimals=2),
        ),
    )


def _stacked(values: Array, width: float) -> Array:
    """Heights that keep dots of nearly equal place from covering each other."""
    heights = np.zeros(len(values))
    for k in range(len(values)):
        taken = {round(heights[j] / 0.13) for j in range(k) if abs(values[j] - values[k]) < width}
        level = 0
        while level in taken:
            level += 1
        heights[k] = 0.13 * level
    return heights
