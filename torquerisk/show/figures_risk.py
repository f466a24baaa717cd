"""Pictures of chance and load: the map over speed and torque, and one small chart per limit."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import plotly.graph_objects as go

from torquerisk.files.exports import TableColumn
from torquerisk.show.figure_style import (
    RPM,
    STATE_SYMBOL,
    Look,
    Picture,
    Stamp,
    band_traces,
    cells,
    drawn,
    new_figure,
    plain,
    rpm,
    speed_axis,
    write_on,
)
from torquerisk.show.figures_curve import Limited, least_capacity, torque_top
from torquerisk.study.assessment import Assessment, Band, LimitResult, band
from torquerisk.study.limits import LimitKind, place_of

Array = npt.NDArray[np.float64]
CHANCE_EDGES = (0.001, 0.01, 0.05, 0.2, 0.5, 0.9)
"""Borders between bands of chance."""
CHANCE_NAMES = ("under 0.1 %", "0.1 to 1 %", "1 to 5 %", "5 to 20 %", "20 to 50 %", "50 to 90 %",
                "over 90 %")  # fmt: skip
MAP_ROWS = 56


def chance_map(assessment: Assessment, torque: Array) -> Array:
    """Chance (T, S) that any strength limit is passed at torques (T,), from the draws at hand."""
    least = np.sort(least_capacity(assessment), axis=1)
    count = least.shape[1]
    return np.stack([np.searchsorted(row, torque, side="left") / count for row in least], axis=1)


def chance_contour(assessment: Assessment, chance: float) -> Array:
    """Torque (S,) [N*m] at which a share of the simulated engines gives; +-inf happens."""
    return np.quantile(least_capacity(assessment), chance, axis=1, method="lower")


def map_picture(
    assessment: Assessment, limited: Limited | None, look: Look, stamp: Stamp, accepted: float
) -> Picture:
    """Bands of chance over speed and torque, with both curves and the borders by name."""
    speed, x = assessment.speed, rpm(assessment.speed)
    top = torque_top(assessment)
    torque = np.linspace(0.25 * float(assessment.torque.max()), 1.0 * top, MAP_ROWS)
    chance = chance_map(assessment, torque)
    level = np.digitize(chance, CHANCE_EDGES)
    figure = new_figure(look, 440, stamp)
    figure.update_layout(hovermode="closest")
    steps = len(look.chance)
    scale = [[(k + edge) / steps, look.chance[k]] for k in range(steps) for edge in (0.0, 1.0)]
    figure.add_trace(
        go.Heatmap(
            x=x.astype(np.float32), y=np.round(torque, 1).astype(np.float32),
            z=level.astype(np.uint8), zmin=-0.5, zmax=steps - 0.5, colorscale=scale,
            showscale=False, customdata=np.round(100 * chance, 1).astype(np.float32),
            hovertemplate="%{x:,.0f} rpm, %{y:.0f} N·m: %{customdata:.1f} % of simulated engines "
            "pass a limit<extra></extra>",
        )
    )  # fmt: skip
    shared = {"x": x, "mode": "lines", "hoverinfo": "skip"}
    at_accepted = chance_contour(assessment, accepted)
    for width, colour in ((4.5, look.paper), (1.8, look.ink)):
        figure.add_trace(
            go.Scatter(
                y=drawn(at_accepted, 1), line={"color": colour, "width": width, "dash": "solid"},
                **shared,
            )
        )  # fmt: skip
    _both_curves(figure, look, assessment, limited)
    _borders(figure, look, assessment, at_accepted, accepted, top)
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    figure.update_yaxes(
        range=[float(torque[0]), float(torque[-1])], title_text="torque at the crank [N·m]",
        showgrid=False,
    )  # fmt: skip
    return Picture(
        name="map",
        title="Chance of passing a limit, by speed and torque",
        figure=figure,
        alt=(
            "Map of chance over engine speed and torque in seven bands from under 0.1 % to over "
            f"90 %. A line marks the accepted chance of {100 * accepted:g} %; the measured curve "
            "and the proposed limit lie on top."
        ),
        columns=tuple(
            [TableColumn(name="engine speed", unit="rpm", values=cells(speed, RPM), decimals=0)]
            + [
                TableColumn(
                    name=f"torque at {100 * edge:g} %", unit="N·m", decimals=0,
                    values=cells(chance_contour(assessment, edge)),
                )
                for edge in CHANCE_EDGES
            ]
        ),
    )  # fmt: skip


def _both_curves(
    figure: go.Figure, look: Look, assessment: Assessment, limited: Limited | None
) -> None:
    """Measured and limited torque, each on a thin edge of paper so that it stands on any band."""
    curves = [("measured", rpm(assessment.speed), assessment.torque, look.measured, "solid")]
    if limited is not None:
        curves.append(("limit", rpm(limited.breakpoints), limited.limit, look.limit, "dash"))
    for name, x, y, colour, dash in curves:
        figure.add_trace(
            go.Scatter(
                x=x, y=drawn(y, 1), mode="lines", hoverinfo="skip",
                line={"color": look.paper, "width": 5},
            )
        )  # fmt: skip
        figure.add_trace(
            go.Scatter(
                x=x, y=drawn(y, 1), mode="lines", name=name,
                line={"color": colour, "width": 2.4, "dash": dash},
                hovertemplate=f"{name} %{{y:.0f}} N·m at %{{x:,.0f}} rpm<extra></extra>",
            )
        )  # fmt: skip
        k = int(np.argmax(y)) if name == "measured" else len(y) - 2
        write_on(
            figure, look, float(x[k]), float(y[k]),
            "measured" if name == "measured" else "proposed limit", colour, xanchor="center",
            yanchor="bottom" if name == "measured" else "top",
            yshift=6 if name == "measured" else -6,
        )  # fmt: skip


def _borders(
    figure: go.Figure,
    look: Look,
    assessment: Assessment,
    at_accepted: Array,
    accepted: float,
    top: float,
) -> None:
    """Names on the line of accepted chance: how much, and which limit it belongs to."""
    usable = np.isfinite(at_accepted) & (at_accepted < 0.95 * top)
    if not usable.any():
        return
    inside = np.flatnonzero(usable)
    k = int(inside[len(inside) // 4])
    title = assessment.limits[assessment.governing[k]].limit.title.lower()
    write_on(
        figure, look, float(rpm(assessment.speed[k])), float(at_accepted[k]),
        f"{100 * accepted:g} %: {plain(title)}", look.ink, xanchor="center", yanchor="middle",
    )  # fmt: skip


def ratio_band(assessment: Assessment, item: LimitResult) -> Band:
    """Load over strength (S,) by its 5, 50 and 95 % points over the simulated engines."""
    model = assessment.model
    place = place_of(model.demand.torque, assessment.torque)
    load = place.load(model.loads[item.limit.name])
    strength = np.broadcast_to(item.limit.strength(model.demand, model.parts), load.shape)
    with np.errstate(divide="ignore", invalid="ignore"):
        return band(np.where(strength > 0, load / strength, np.inf))


def worst_first(assessment: Assessment) -> list[LimitResult]:
    """Limits by their greatest median load over strength; those that count in the chance first."""
    items = list(assessment.limits.values())
    return sorted(
        items,
        key=lambda i: (i.limit.kind is LimitKind.INDEX, -float(np.max(i.utilisation))),
    )


def part_picture(assessment: Assessment, item: LimitResult, look: Look, accepted: float) -> Picture:
    """Load over strength of one limit by speed, on the shared ruler, with the line at 1."""
    ratio = ratio_band(assessment, item)
    speed, x = assessment.speed, rpm(assessment.speed)
    figure = new_figure(look, 176, None)
    figure.update_layout(margin={"l": 34, "r": 8, "t": 8, "b": 40})
    top = 1.6
    low, high = (np.clip(v, 0, 3 * top) for v in (ratio.p05, ratio.p95))
    for trace in band_traces(x, drawn(low, 3), drawn(high, 3), look.estimate, "range", 0.2):
        figure.add_trace(trace)
    figure.add_hline(y=1, line={"color": look.ink, "width": 1.4})
    figure.add_trace(
        go.Scatter(
            x=x, y=drawn(ratio.p50, 3), mode="lines", line={"color": look.estimate, "width": 2},
            customdata=[[round(float(a), 2), round(float(b), 2)] for a, b in zip(low, high, strict=True)],
            hovertemplate="load is %{y:.2f} of strength (%{customdata[0]:.2f} to "
            "%{customdata[1]:.2f})<extra></extra>",
        )
    )  # fmt: skip
    k = int(np.argmax(ratio.p50))
    state = item.state(accepted)[int(np.argmax(item.chance))]
    figure.add_trace(
        go.Scatter(
            x=[x[k]], y=drawn(ratio.p50[k : k + 1], 3), mode="markers", hoverinfo="skip",
            marker={"symbol": STATE_SYMBOL[state], "size": 10, "color": look.of_state(state),
                    "line": {"width": 1.5, "color": look.paper}},
        )
    )  # fmt: skip
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    figure.update_xaxes(nticks=5, title_text="rpm", title_standoff=2)
    figure.update_yaxes(range=[0, top], tickvals=[0, 0.5, 1, 1.5])
    title = item.limit.title
    return Picture(
        name=f"part_{item.limit.name}",
        title=title,
        figure=figure,
        alt=(
            f"{title}: {item.limit.quantity} over its strength by engine speed. Greatest at "
            f"{speed[k] / RPM:.0f} rpm: {ratio.p50[k]:.2f} ({ratio.p05[k]:.2f} to "
            f"{ratio.p95[k]:.2f}); 1 means that it is reached."
        ),
        columns=_part_columns(assessment, item, ratio),
    )


def _part_columns(
    assessment: Assessment, item: LimitResult, ratio: Band
) -> tuple[TableColumn, ...]:
    limit = item.limit
    share: Sequence[float | None] = [100 * float(v) for v in item.chance]
    return (
        TableColumn(
            name="engine speed", unit="rpm", values=cells(assessment.speed, RPM), decimals=0
        ),
        TableColumn(name="load over strength, 5 %", unit="1", values=cells(ratio.p05), decimals=2),
        TableColumn(
            name="load over strength, median", unit="1", values=cells(ratio.p50), decimals=2
        ),
        TableColumn(name="load over strength, 95 %", unit="1", values=cells(ratio.p95), decimals=2),
        TableColumn(
            name=f"{limit.quantity}, median", unit=limit.unit,
            values=cells(item.load.p50, limit.unit_size), decimals=1,
        ),
        TableColumn(
            name="strength, median", unit=limit.unit,
            values=cells(item.strength.p50, limit.unit_size), decimals=1,
        ),
        TableColumn(name="simulated engines that pass it", unit="%", values=share, decimals=1),
    )  # fmt: skip
