"""Pictures of chance and load: the map over speed and torque, and one small chart per limit."""

from collections.abc import Sequence

import numpy as np

from torquerisk.files.exports import TableColumn, speed_column
from torquerisk.quantities import RPM, Array
from torquerisk.show.pictures.curve import Limited, least_band, least_capacity, torque_top
from torquerisk.show.pictures.placing import apart, spans
from torquerisk.show.pictures.style import (
    STATE_SYMBOL,
    Drawing,
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
from torquerisk.study.answers.results import (
    Assessment,
    Band,
    LimitKind,
    LimitResult,
    State,
    band,
    place_of,
)

CHANCE_EDGES = (0.001, 0.01, 0.05, 0.2, 0.5, 0.9)
"""Borders between bands of chance."""
CHANCE_NAMES = ("under 0.1 %", "0.1 to 1 %", "1 to 5 %", "5 to 20 %", "20 to 50 %", "50 to 90 %",
                "over 90 %")  # fmt: skip


def chance_contours(assessment: Assessment, chances: Sequence[float]) -> Array:
    """Torque (C, S) [N*m] at which shares (C,) of the simulated engines give; +-inf happens."""
    return np.quantile(least_capacity(assessment), chances, axis=1, method="lower")


def map_picture(
    assessment: Assessment, limited: Limited | None, look: Look, stamp: Stamp, accepted: float
) -> Picture:
    """Bands of chance over speed and torque, with both curves and the borders by name.

    The borders come from the draws at hand: where a share of the simulated engines has its least
    strength capacity below a torque.
    """
    speed, x = assessment.speed, rpm(assessment.speed)
    unit, size = look.torque
    top = torque_top(assessment, size)
    bottom = float(np.floor(0.35 * float(assessment.torque.max()) / size / 20) * 20)
    figure = new_figure(look, 460, stamp)
    *contours, at_accepted = chance_contours(assessment, (*CHANCE_EDGES, accepted))
    borders = [np.clip(c / size, 0.0, top) for c in contours]
    levels = [np.full(len(speed), bottom), *borders, np.full(len(speed), top)]
    for k in range(len(levels)):
        hover: dict[str, object] = {"hoverinfo": "skip"}
        if 0 < k < len(levels) - 1:
            hover = {
                "text": [_limit_torque(float(v) / size, unit) for v in contours[k - 1]],
                "hovertemplate": f"{100 * CHANCE_EDGES[k - 1]:g} % pass a limit at %{{text}}"
                "<extra></extra>",
            }
        figure.add_trace(
            scatter(
                x=x, y=drawn(np.clip(levels[k], bottom, top), 1), mode="lines",
                line={"width": 0.8 if 0 < k < len(levels) - 1 else 0, "color": look.paper},
                fill=None if k == 0 else "tonexty",
                fillcolor=None if k == 0 else look.chance[k - 1], **hover,
            )
        )  # fmt: skip
    figure.add_trace(
        scatter(
            x=x, y=drawn(at_accepted / size, 1), mode="lines", hoverinfo="skip",
            line={"color": look.ink, "width": 1.8, "dash": "dot"},
        )
    )  # fmt: skip
    _both_curves(figure, look, assessment, limited)
    _border_names(figure, look, assessment, borders, bottom, top)
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    figure.update_yaxes(
        range=[bottom, top], title_text=f"torque at the crank [{unit}]", showgrid=False
    )
    return Picture(
        name="map",
        title="Chance of passing a limit, by speed and torque",
        figure=figure.done(),
        alt=(
            "Map of chance over engine speed and torque in seven bands from under 0.1 % to over "
            f"90 %. A dotted line marks the accepted chance of {100 * accepted:g} %; the measured "
            "curve and the proposed limit lie on top."
        ),
        columns=(
            speed_column(speed),
            *(
                torque_column(f"torque at {100 * edge:g} %", contour, look)
                for edge, contour in zip(CHANCE_EDGES, contours, strict=True)
            ),
        ),
    )  # fmt: skip


def _limit_torque(value: float, unit: str) -> str:
    if np.isposinf(value):
        return "more than the model reaches"
    return "any torque: speed alone is too much" if np.isneginf(value) else f"{value:.0f} {unit}"


def _both_curves(
    figure: Drawing, look: Look, assessment: Assessment, limited: Limited | None
) -> None:
    """Measured and limited torque, each on an edge of paper so that it stands on any band."""
    unit, size = look.torque
    torque = assessment.torque / size
    curves = [("measured", rpm(assessment.speed), torque, look.measured, "solid")]
    if limited is not None:
        curves.append(
            ("proposed limit", rpm(limited.breakpoints), limited.limit / size, look.limit, "dash")
        )
    for name, x, y, colour, dash in curves:
        figure.add_trace(
            scatter(
                x=x, y=drawn(y, 1), mode="lines", hoverinfo="skip",
                line={"color": look.paper, "width": 5.5},
            )
        )  # fmt: skip
        figure.add_trace(
            scatter(
                x=x, y=drawn(y, 1), mode="lines", name=name,
                line={"color": colour, "width": 2.4, "dash": dash},
                hovertemplate=f"{name} %{{y:.0f}} {unit}<extra></extra>",
            )
        )  # fmt: skip
    peak = int(np.argmax(torque))
    write_on(
        figure, look, float(rpm(assessment.speed[peak])), float(torque[peak]),
        "measured", look.measured, xanchor="center", yanchor="bottom", yshift=7,
        bgcolor=look.paper,
    )  # fmt: skip
    if limited is not None:
        k = len(limited.limit) // 2
        write_on(
            figure, look, float(rpm(limited.breakpoints[k])), float(limited.limit[k] / size),
            "proposed limit", look.limit, xanchor="center", yanchor="top", yshift=-9,
            bgcolor=look.paper,
        )  # fmt: skip


def _border_names(
    figure: Drawing,
    look: Look,
    assessment: Assessment,
    borders: Sequence[Array],
    bottom: float,
    top: float,
) -> None:
    """Chance on each border near the low end; the weakest part along the middle border."""
    k = max(1, len(assessment.speed) // 16)
    small = {"font": {"size": 11, "color": look.ink}, "bgcolor": faded(look.paper, 0.8)}
    shown = [j for j in range(len(borders)) if bottom < borders[j][k] < 0.98 * top]
    places = apart([float(borders[j][k]) for j in shown], 0.052 * (top - bottom))
    for place, j in zip(places, shown, strict=True):
        write_on(
            figure, look, float(rpm(assessment.speed[k])), place,
            f"{100 * CHANCE_EDGES[j]:g} %", look.ink, xanchor="left", **small,
        )  # fmt: skip
    middle = borders[CHANCE_EDGES.index(0.5)]
    whole = float(assessment.speed[-1] - assessment.speed[0])
    for name, first, last in spans(least_band(assessment)[1]):
        wide = float(assessment.speed[last] - assessment.speed[first])
        at = first + 3 * (last - first) // 4
        if wide < 0.15 * whole or not bottom < middle[at] < 0.98 * top:
            continue
        write_on(
            figure, look, float(rpm(assessment.speed[at])), float(middle[at]),
            plain(assessment.limits[name].limit.title.lower()), look.ink, xanchor="center", **small,
        )  # fmt: skip


PART_TOP = 1.7
"""Top of the small charts: load over strength [-]."""


def ratio_band(assessment: Assessment, item: LimitResult) -> Band:
    """Load over strength (S,): the assessment's utilisation between its 5 and 95 % points."""
    model = assessment.model
    place = place_of(model.demand.torque, assessment.torque)
    load = place.load(model.loads[item.limit.name])
    strength = np.broadcast_to(item.limit.strength(model.demand, model.parts), load.shape)
    with np.errstate(divide="ignore", invalid="ignore"):
        spread = band(np.where(strength > 0, load / strength, np.inf))
    return Band(p05=spread.p05, p50=item.utilisation, p95=spread.p95)


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
    figure = new_figure(look, 168, None)
    figure.update_layout(margin={"l": 34, "r": 10, "t": 6, "b": 38})
    low, high = (np.clip(v, 0, 3 * PART_TOP) for v in (ratio.p05, ratio.p95))
    for trace in band_traces(x, drawn(low, 3), drawn(high, 3), look.estimate, "range", 0.2):
        figure.add_trace(trace)
    figure.add_hline(y=1, line={"color": look.ink, "width": 1.4})
    figure.add_trace(
        scatter(
            x=x, y=drawn(ratio.p50, 3), mode="lines", line={"color": look.estimate, "width": 2},
            customdata=np.round(np.stack([low, high], axis=1), 2),
            hovertemplate="load is %{y:.2f} of strength (%{customdata[0]:.2f} to "
            "%{customdata[1]:.2f})<extra></extra>",
        )
    )  # fmt: skip
    k = int(np.argmax(ratio.p50))
    most = float(ratio.p50[k])
    state = worst_state(item, accepted)
    figure.add_trace(
        scatter(
            x=[x[k]], y=[round(min(most, PART_TOP - 0.08), 3)], mode="markers", hoverinfo="skip",
            cliponaxis=False,
            marker={"symbol": STATE_SYMBOL[state], "size": 10, "color": look.of_state(state),
                    "line": {"width": 1.5, "color": look.paper}},
        )
    )  # fmt: skip
    late = x[k] > x[0] + 0.6 * (x[-1] - x[0])
    words = f"{most:.2f}" if np.isfinite(most) else "no strength left"
    write_on(
        figure, look, float(x[k]), min(most, PART_TOP - 0.08) if np.isfinite(most) else PART_TOP,
        words, look.ink, xanchor="right" if late else "left", xshift=-9 if late else 9,
        yanchor="middle" if most > PART_TOP - 0.2 else "bottom",
    )  # fmt: skip
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    figure.update_xaxes(
        nticks=5,
        title_text="engine speed [rpm]",
    )
    figure.update_yaxes(range=[0, PART_TOP], tickvals=[0, 0.5, 1, 1.5])
    title = item.limit.title
    return Picture(
        name=f"part_{item.limit.name}",
        title=title,
        figure=figure.done(),
        alt=(
            f"{title}: {item.limit.quantity} over its strength by engine speed. Greatest at "
            f"{speed[k] / RPM:.0f} rpm: {ratio.p50[k]:.2f} ({ratio.p05[k]:.2f} to "
            f"{ratio.p95[k]:.2f}); 1 means that it is reached."
        ),
        columns=_part_columns(assessment, item, ratio),
    )


def worst_state(item: LimitResult, accepted: float) -> State:
    """The worst state word at any speed; an index of guidance has none."""
    if item.limit.kind is LimitKind.INDEX:
        return State.NOT_ASSESSED
    order = [State.HOLDS, State.CLOSE, State.EXCEEDS]
    return max(item.state(accepted), key=order.index)


def _part_columns(
    assessment: Assessment, item: LimitResult, ratio: Band
) -> tuple[TableColumn, ...]:
    limit = item.limit
    share: Sequence[float | None] = [100 * float(v) for v in item.chance]
    return (
        speed_column(assessment.speed),
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
