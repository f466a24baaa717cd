"""Pictures of the trade-off about a table, and of a table that somebody already has."""

from collections.abc import Sequence

import numpy as np

from torquerisk.files.exports import TableColumn, speed_column
from torquerisk.quantities import RPM, Array
from torquerisk.show.pictures.style import (
    STATE_SYMBOL,
    Drawing,
    Look,
    Picture,
    Stamp,
    drawn,
    faded,
    new_figure,
    rpm,
    scatter,
    speed_axis,
    torque_column,
    write_on,
)
from torquerisk.show.words import prose
from torquerisk.study.answers.results import Frontier, FrontierPoint, JudgedTable, Point, State

LEAST_RANGE = 0.02
"""Share of the area that the axis spans at least, so that a flat trade-off looks flat."""


def by_chance_picture(found: Frontier, draws: int, look: Look, stamp: Stamp) -> Picture:
    """Area under power of the table against the accepted chance, the chosen one marked.

    draws: simulated engines, for counts.
    """
    x = [100 * p.chance for p in found.by_chance]
    figure = _area_figure(found.by_chance, x, [f"{v:g} %" for v in x], found, look, stamp)
    ends = np.log10(x)
    pad = 0.06 * float(ends[-1] - ends[0])
    figure.update_xaxes(
        type="log", range=[ends[0] - pad, ends[-1] + pad], tickvals=x,
        ticktext=[f"{v:g}" for v in x], title_text="accepted chance at each speed [%]",
    )  # fmt: skip
    return Picture(
        name="by_chance",
        title="Area under power by accepted chance",
        figure=figure.done(),
        alt=_area_words(found.by_chance, found, [prose.percent(p.chance, 2)
                        for p in found.by_chance], "the accepted chance", look),
        columns=_area_columns(
            found.by_chance, found, draws, look,
            TableColumn(name="accepted chance", unit="%", values=x, decimals=1),
        ),
    )  # fmt: skip


def by_peak_picture(found: Frontier, draws: int, look: Look, stamp: Stamp) -> Picture:
    """Area under power of the table against the earliest peak speed, the chosen one marked."""
    x = [float(rpm(p.peak_from)) for p in found.by_peak]
    figure = _area_figure(found.by_peak, x, [f"{v:,.0f} rpm" for v in x], found, look, stamp)
    pad = 0.06 * (x[-1] - x[0])
    figure.update_xaxes(
        range=[x[0] - pad, x[-1] + pad], tickformat=",d", nticks=7,
        title_text="peak torque not before [rpm]",
    )  # fmt: skip
    return Picture(
        name="by_peak",
        title="Area under power by earliest peak speed",
        figure=figure.done(),
        alt=_area_words(found.by_peak, found, [prose.speed_in_words(p.peak_from)
                        for p in found.by_peak], "the earliest peak", look),
        columns=_area_columns(
            found.by_peak, found, draws, look,
            TableColumn(name="peak not before", unit="rpm", values=x, decimals=0),
        ),
    )  # fmt: skip


def area_range(found: Frontier, size: float) -> tuple[float, float]:
    """Range of the area axis, the same in both pictures. size: of its unit [W*rad/s]."""
    areas = [p.area / size for p in (*found.by_chance, *found.by_peak)
             if isinstance(p, FrontierPoint)]  # fmt: skip
    low, high = min(areas), max(areas)
    short = LEAST_RANGE * found.chosen.area / size - (high - low)
    if short > 0:
        low, high = low - short / 2, high + short / 2
    pad = 0.16 * (high - low)
    return low - pad, high + pad


def _area_figure(
    points: Sequence[Point],
    x: Sequence[float],
    told: Sequence[str],
    found: Frontier,
    look: Look,
    stamp: Stamp,
) -> Drawing:
    """The line of tables, open where coarse, a cross where there is none, a diamond if chosen."""
    figure = new_figure(look, 310, stamp, left=62)
    figure.update_layout(hovermode="closest")
    unit, size = look.area
    low, high = area_range(found, size)
    areas = [p.area / size if isinstance(p, FrontierPoint) else np.nan for p in points]
    figure.add_trace(
        scatter(
            x=list(x), y=drawn(np.array(areas), 3), mode="lines", connectgaps=False,
            line={"color": look.limit, "width": 2, "dash": "dash"}, hoverinfo="skip",
        )
    )  # fmt: skip
    symbols = [
        "diamond" if p is found.chosen
        else "circle-open" if isinstance(p, FrontierPoint) and p.coarse else "circle"
        for p in points
    ]  # fmt: skip
    there = [k for k, p in enumerate(points) if isinstance(p, FrontierPoint)]
    figure.add_trace(
        scatter(
            x=[x[k] for k in there], y=drawn(np.array(areas)[there], 3), mode="markers",
            marker={"opacity": 1, "symbol": [symbols[k] for k in there],
                    "size": [15 if symbols[k] == "diamond" else 9 for k in there],
                    "color": [look.ink if symbols[k] == "diamond" else look.limit for k in there],
                    "line": {"width": 1.6, "color": look.limit}},
            text=[_hover(points[k], told[k], found, look) for k in there],
            hovertemplate="%{text}<extra></extra>",
        )
    )  # fmt: skip
    none = [k for k, p in enumerate(points) if not isinstance(p, FrontierPoint)]
    if none:
        figure.add_trace(
            scatter(
                x=[x[k] for k in none], y=[low + 0.06 * (high - low)] * len(none), mode="markers",
                marker={"symbol": "x", "size": 9, "color": look.exceeds},
                text=[f"{told[k]}: no table meets it" for k in none],
                hovertemplate="%{text}<extra></extra>",
            )
        )  # fmt: skip
    k = next(i for i, p in enumerate(points) if p is found.chosen)
    right = k > 0.7 * (len(points) - 1)
    figure.add_annotation(
        x=float(np.log10(x[k])) if told[k].endswith("%") else x[k], y=areas[k], text="chosen",
        showarrow=False, font={"size": 13, "color": look.ink}, yanchor="top", yshift=-10,
        xanchor="right" if right else "left", bgcolor=faded(look.paper, 0.82), borderpad=1,
    )  # fmt: skip
    figure.update_yaxes(range=[low, high], title_text=f"area under power [{unit}]", nticks=6)
    return figure


def _hover(p: Point, told: str, found: Frontier, look: Look) -> str:
    if not isinstance(p, FrontierPoint):
        return f"{told}: no table meets it"
    unit, size = look.power
    text = f"{told}: {p.area / look.area.size:.1f}, {p.peak_power / size:.0f} {unit} at most"
    if p is found.chosen:
        return text + ", chosen"
    share = p.area / found.chosen.area - 1 if found.chosen.area > 0 else 0.0
    text += f", {100 * share:+.1f} % of the chosen area".replace("-", "−")
    return text + (", coarse" if p.coarse else "")


def _area_words(
    points: Sequence[Point], found: Frontier, told: Sequence[str], about: str, look: Look
) -> str:
    unit, size = look.area
    parts = []
    for p, at in zip(points, told, strict=True):
        if not isinstance(p, FrontierPoint):
            parts.append(f"{at} no table")
            continue
        mark = ", chosen" if p is found.chosen else ", coarse" if p.coarse else ""
        parts.append(f"{at} {p.area / size:.1f}{mark}")
    return f"Area under power in {unit} by {about}: {'; '.join(parts)}."


def _area_columns(
    points: Sequence[Point], found: Frontier, draws: int, look: Look, first: TableColumn
) -> tuple[TableColumn, ...]:
    there = [p if isinstance(p, FrontierPoint) else None for p in points]
    remarks = [
        "no table meets it" if p is None else "chosen" if p is found.chosen
        else "fewer than four engines" if p.coarse else ""
        for p in there
    ]  # fmt: skip
    return (
        first,
        TableColumn(name="peak torque", unit=look.torque.name, decimals=0,
                    values=[None if p is None else p.peak_torque / look.torque.size
                            for p in there]),
        TableColumn(name="at", unit="rpm", decimals=0,
                    values=[None if p is None else p.peak_speed / RPM for p in there]),
        TableColumn(name="peak power", unit=look.power.name, decimals=0,
                    values=[None if p is None else p.peak_power / look.power.size for p in there]),
        TableColumn(name="area under power", unit=look.area.name, decimals=1,
                    values=[None if p is None else p.area / look.area.size for p in there]),
        TableColumn(name=f"pass a limit in a pull, of {draws:,}", unit="",
                    values=[None if p is None else prose.chance_count(p.chance_pull, draws)
                            for p in there]),
        TableColumn(name="remark", unit="", values=remarks),
    )  # fmt: skip


def judged_picture(judged: JudgedTable, look: Look, stamp: Stamp) -> Picture:
    """A table of one's own against the torque of the accepted chance and what the engine makes."""
    a, j = judged.assessment, judged.judgement
    speed, x, (unit, size) = a.speed, rpm(a.speed), look.torque
    torque, limit, carried = (v / size for v in (a.torque, j.limit, judged.ceiling))
    finite = carried[np.isfinite(carried)]
    most = max(float(torque.max()), float(np.max(limit)))
    if len(finite):
        most = max(most, min(float(np.quantile(finite, 0.9)), 1.35 * most))
    top = float(np.ceil(1.14 * most / 20) * 20)
    figure = new_figure(look, 400, stamp)
    ceiling = np.clip(carried, 0.0, 1.5 * top)
    for y, fill in ((ceiling, None), (np.maximum(limit, ceiling), "tonexty")):
        figure.add_trace(
            scatter(
                x=x, y=drawn(y, 1), mode="lines", line={"width": 0}, hoverinfo="skip",
                **({"fill": fill, "fillcolor": faded(look.exceeds, 0.25)} if fill else {}),
            )
        )  # fmt: skip
    figure.add_trace(
        scatter(
            x=x, y=drawn(torque, 1), mode="lines", line={"color": look.measured, "width": 1.8},
            hovertemplate=f"measured %{{y:.0f}} {unit}<extra></extra>",
        )
    )  # fmt: skip
    figure.add_trace(
        scatter(
            x=x, y=drawn(ceiling, 1), mode="lines",
            line={"color": look.capacity, "width": 2, "dash": "dashdot"},
            text=[_carried(float(c), unit) for c in carried],
            hovertemplate="carries at the accepted chance %{text}<extra></extra>",
        )
    )  # fmt: skip
    figure.add_trace(
        scatter(
            x=x, y=drawn(limit, 1), mode="lines",
            line={"color": look.limit, "width": 2.4, "dash": "dash"},
            text=[s.value for s in judged.state],
            hovertemplate=f"table %{{y:.0f}} {unit}, %{{text}}<extra></extra>",
        )
    )  # fmt: skip
    _own_rows(figure, judged, look)
    _own_names(figure, judged, look, ceiling, top)
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    figure.update_yaxes(range=[min(0.0, float(np.min(limit))), top],
                        title_text=f"torque at the crank [{unit}]")  # fmt: skip
    return Picture(
        name="judged",
        title="Your table against what the engine carries",
        figure=figure.done(),
        alt=_judged_words(judged),
        columns=_judged_columns(judged, look),
    )


def own_rows(judged: JudgedTable) -> list[int]:
    """Indices on the grid of the table's own speeds in the run."""
    speed = judged.assessment.speed
    inside = (judged.breakpoints >= speed[0]) & (judged.breakpoints <= speed[-1])
    return sorted({int(np.argmin(np.abs(speed - s))) for s in judged.breakpoints[inside]})


def _own_rows(figure: Drawing, judged: JudgedTable, look: Look) -> None:
    """The table's own rows, each with the shape of its state."""
    speed, limit = judged.assessment.speed, judged.judgement.limit / look.torque.size
    for state in State:
        chosen = [k for k in own_rows(judged) if judged.state[k] is state]
        if chosen:
            figure.add_trace(
                scatter(
                    x=rpm(speed[chosen]), y=drawn(limit[chosen], 1),
                    mode="markers", hoverinfo="skip", name=state.value, cliponaxis=False,
                    marker={"symbol": STATE_SYMBOL[state], "size": 9,
                            "color": look.of_state(state),
                            "line": {"width": 1.2, "color": look.paper}},
                )
            )  # fmt: skip


def _own_names(
    figure: Drawing, judged: JudgedTable, look: Look, ceiling: Array, top: float
) -> None:
    """Names on the lines, apart: the table's where it differs most, the others to its sides."""
    a, limit = judged.assessment, judged.judgement.limit / look.torque.size
    speed, x = a.speed, rpm(a.speed)

    def at(share: float) -> int:
        return int(np.argmin(np.abs(speed - (speed[0] + share * (speed[-1] - speed[0])))))

    k = at(0.3)
    above = limit[k] >= ceiling[k]
    write_on(figure, look, float(x[k]), float(limit[k]), "your table", look.limit,
             xanchor="center", yanchor="bottom" if above else "top",
             yshift=16 if above else -16)  # fmt: skip
    k = at(0.72)
    above = ceiling[k] > limit[k]
    shown = min(float(ceiling[k]), 0.97 * top)
    write_on(figure, look, float(x[k]), shown, "engine carries", look.capacity,
             xanchor="center", yanchor="bottom" if above else "top",
             yshift=6 if above else -6)  # fmt: skip
    k = int(np.argmax(a.torque))
    write_on(figure, look, float(x[k]), float(a.torque[k]) / look.torque.size, "measured",
             look.measured,
             xanchor="center", yanchor="bottom", yshift=5)  # fmt: skip


def _carried(torque: float, unit: str) -> str:
    if np.isfinite(torque):
        return f"{torque:.0f} {unit}"
    return "no torque" if torque < 0 else "more than the model reaches"


def _judged_words(judged: JudgedTable) -> str:
    speed = judged.assessment.speed
    parts = [
        f"{state.value} {prose.where_in_words(speed, np.array([s is state for s in judged.state]))}"
        for state in State
        if state in judged.state
    ]
    return (
        "Line chart over engine speed: your table, the torque carried at the accepted "
        f"chance, and the measured torque. The table is {'; '.join(parts)}."
    )


def _judged_columns(judged: JudgedTable, look: Look) -> tuple[TableColumn, ...]:
    a, j = judged.assessment, judged.judgement
    count = a.model.draws.count
    chosen = sorted({0, len(a.speed) - 1, int(np.argmin(np.abs(a.speed - j.worst_speed))),
                     *own_rows(judged)})  # fmt: skip
    return (
        speed_column(a.speed[chosen]),
        torque_column("your table", j.limit[chosen], look),
        torque_column("carries", judged.ceiling[chosen], look),
        torque_column("too high by", j.unsafe_excess[chosen], look),
        torque_column("left unused", j.unused[chosen], look),
        TableColumn(name="state", unit="", values=[judged.state[k].value for k in chosen]),
        TableColumn(name=f"pass a limit, of {count:,}", unit="",
                    values=[prose.chance_count(float(judged.chance[k]), count) for k in chosen]),
        TableColumn(name="governed by", unit="",
                    values=[a.limits[judged.governing[k]].limit.title for k in chosen]),
    )  # fmt: skip
