"""Pictures of chance and load: the map over speed and torque, and one small chart per limit."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from torquerisk.files.exports import TableColumn, speed_column
from torquerisk.quantities import RPM, Array
from torquerisk.show.pictures.curve import Limited, least_capacity, torque_top, weakest_parts
from torquerisk.show.pictures.drawing import Drawing, new_figure, speed_axis
from torquerisk.show.pictures.placing import apart, spans
from torquerisk.show.pictures.style import (
    STATE_SYMBOL,
    Look,
    Picture,
    Stamp,
    column,
    faded,
    plain,
    rpm,
    torque_column,
)
from torquerisk.study.answers.results import (
    Assessment,
    Band,
    Limit,
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
    assessment: Assessment,
    limited: Limited | None,
    look: Look,
    stamp: Stamp | None,
    accepted: float,
) -> Picture:
    """Bands of chance over speed and torque, with both curves and the borders by name.

    The borders come from the draws at hand: where a share of the simulated engines has its least
    strength capacity below a torque.
    """
    speed, (unit, size) = assessment.speed, look.torque
    x, top = rpm(speed), torque_top(assessment, size)
    bottom = float(np.floor(0.35 * float(assessment.torque.max()) / size / 20) * 20)
    figure = new_figure(look, 460, stamp)
    *contours, at_accepted = chance_contours(assessment, (*CHANCE_EDGES, accepted))
    _chance_bands(figure, look, x, contours, (bottom, top))
    figure.line(x, at_accepted / size, look.ink, dash="dot", width=1.8)
    _both_curves(figure, look, assessment, limited)
    _border_names(figure, look, assessment, contours, bottom, top)
    weakest = weakest_parts(assessment, accepted)
    _part_names(figure, look, speed, at_accepted / size, weakest, (bottom, top))
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    figure.update_yaxes(range=[bottom, top], title_text=f"crank torque [{unit}]", showgrid=False)
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
    )


def _chance_bands(
    figure: Drawing, look: Look, x: Array, contours: Sequence[Array], ends: tuple[float, float]
) -> None:
    """The bands from rare at the bottom to likely at the top, a thin edge of paper between."""
    (bottom, top), (unit, size) = ends, look.torque
    figure.line(x, np.full(len(x), bottom), "", width=0)
    for k, contour in enumerate([*contours, np.full(len(x), np.inf)]):
        edge = np.clip(contour / size, bottom, top)
        fill: dict[str, Any] = {"fill": "tonexty", "fillcolor": look.chance[k]}
        if k < len(contours):
            fill["text"] = [_limit_torque(float(v) / size, unit) for v in contour]
        told = f"{100 * CHANCE_EDGES[k]:g} % pass a limit at %{{text}}" if "text" in fill else ""
        figure.line(x, edge, look.paper, told, width=0.8 if told else 0, **fill)


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
        figure.line(x, y, look.paper, width=5.5)
        figure.line(x, y, colour, f"{name} %{{y:.0f}} {unit}", dash=dash, name=name)
        k, side = (int(np.argmax(y)), "above") if name == "measured" else (len(y) // 2, "below")
        figure.word(x[k], y[k], name, colour, side, 8, bgcolor=look.paper)


def _border_names(
    figure: Drawing, look: Look, assessment: Assessment, contours: Sequence[Array], bottom: float,
    top: float,
) -> None:  # fmt: skip
    """Chance on each border near the low end."""
    speed, borders = assessment.speed, [c / look.torque.size for c in contours]
    k = max(1, len(speed) // 16)
    shown = [j for j in range(len(borders)) if bottom < borders[j][k] < 0.98 * top]
    places = apart([float(borders[j][k]) for j in shown], 0.052 * (top - bottom))
    for place, j in zip(places, shown, strict=True):
        told = f"{100 * CHANCE_EDGES[j]:g} %"
        figure.word(float(rpm(speed[k])), place, told, look.ink, "right", **_small(look))


def _small(look: Look) -> dict[str, Any]:
    return {"font": {"size": 11, "color": look.ink}, "bgcolor": faded(look.paper, 0.8)}


def _part_names(
    figure: Drawing, look: Look, speed: Array, border: Array, weakest: Sequence[Limit],
    ends: tuple[float, float],
) -> None:  # fmt: skip
    """The weakest part along the border of the accepted chance."""
    for title, first, last in spans([limit.title for limit in weakest]):
        at = first + 3 * (last - first) // 4
        wide = float(speed[last] - speed[first]) >= 0.15 * float(speed[-1] - speed[0])
        if wide and ends[0] < border[at] < 0.98 * ends[1]:
            place = float(rpm(speed[at])), float(border[at])
            figure.word(*place, plain(title.lower()), look.ink, **_small(look))


PART_TOP = 1.7
"""Top of the small charts: load over strength [-]."""


def ratio_band(assessment: Assessment, item: LimitResult) -> Band:
    """Load over strength (S,): the assessment's utilisation between its 5 and 95 % points."""
    model = assessment.model
    place = place_of(model.demand.torque, assessment.torque)
    load = place.load(model.load(item.limit))
    strength = np.broadcast_to(item.limit.strength(model.demand, model.parts), load.shape)
    with np.errstate(divide="ignore", invalid="ignore"):
        spread = band(np.where(strength > 0, load / strength, np.inf))
    return Band(p05=spread.p05, p50=item.utilisation, p95=spread.p95)


def worst_first(assessment: Assessment) -> list[LimitResult]:
    """Limits by their greatest chance, then load over strength; those that count in it first."""

    def badness(item: LimitResult) -> tuple[bool, float, float]:
        guidance = item.limit.kind is LimitKind.INDEX
        return not guidance, float(np.max(item.chance)), float(np.max(item.utilisation))

    return sorted(assessment.limits.values(), key=badness, reverse=True)


def part_picture(assessment: Assessment, item: LimitResult, look: Look, accepted: float) -> Picture:
    """Load over strength of one limit by speed, on the shared ruler, with the line at 1."""
    ratio = ratio_band(assessment, item)
    speed, x = assessment.speed, rpm(assessment.speed)
    figure = new_figure(look, 168, None)
    figure.update_layout(margin={"l": 34, "r": 10, "t": 6, "b": 38})
    low, high = (np.clip(v, 0, 3 * PART_TOP) for v in (ratio.p05, ratio.p95))
    figure.band(x, low, high, look.estimate, 0.2, digits=3)
    figure.hline(1, look.ink)
    figure.line(
        x, ratio.p50, look.estimate,
        "load is %{y:.2f} of strength (%{customdata[0]:.2f} to %{customdata[1]:.2f})", width=2,
        digits=3, customdata=np.round(np.stack([low, high], axis=1), 2),
    )  # fmt: skip
    k = int(np.argmax(ratio.p50))
    most, state = float(ratio.p50[k]), worst_state(assessment, item, accepted)
    figure.signs(
        [x[k]], [round(min(most, PART_TOP - 0.08), 3)], STATE_SYMBOL[state], look.of_state(state),
        size=10, cliponaxis=False,
    )  # fmt: skip
    late = x[k] > x[0] + 0.6 * (x[-1] - x[0])
    figure.word(
        x[k], min(most, PART_TOP - 0.08) if np.isfinite(most) else PART_TOP,
        f"{most:.2f}" if np.isfinite(most) else "no strength left", look.ink,
        "left" if late else "right", 9, yanchor="middle" if most > PART_TOP - 0.2 else "bottom",
    )  # fmt: skip
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    figure.update_xaxes(nticks=5, title_text="engine speed [rpm]")
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


def worst_state(assessment: Assessment, item: LimitResult, accepted: float) -> State:
    """The worst state word at any speed; an index of guidance has none."""
    if item.limit.kind is LimitKind.INDEX:
        return State.NOT_ASSESSED
    order = [State.HOLDS, State.CLOSE, State.EXCEEDS]
    return max(item.state(accepted, assessment.evidence.kept), key=order.index)


def _part_columns(
    assessment: Assessment, item: LimitResult, ratio: Band
) -> tuple[TableColumn, ...]:
    limit, load = item.limit, "load over strength"
    return (
        speed_column(assessment.speed),
        column(f"{load}, 5 %", "1", ratio.p05, decimals=2),
        column(f"{load}, median", "1", ratio.p50, decimals=2),
        column(f"{load}, 95 %", "1", ratio.p95, decimals=2),
        column(f"{limit.quantity}, median", limit.unit, item.load.p50, limit.unit_size, 1),
        column("strength, median", limit.unit, item.strength.p50, limit.unit_size, 1),
        column("simulated engines that pass it", "%", item.chance, 0.01, 1),
    )
