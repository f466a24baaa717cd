"""Pictures of the trade-off about a table, and of a table that somebody already has."""

from collections.abc import Sequence

import numpy as np

from torquerisk.files.exports import TableColumn, speed_column
from torquerisk.quantities import Array
from torquerisk.show.pictures.curve import axis_top
from torquerisk.show.pictures.drawing import Drawing, new_figure, speed_axis
from torquerisk.show.pictures.style import (
    NONE,
    READING,
    STATE_SYMBOL,
    UNKNOWN,
    Look,
    Picture,
    Stamp,
    drawn,
    rpm,
)
from torquerisk.show.words import prose, trade_off
from torquerisk.show.words.by_speed import shown_of
from torquerisk.show.words.columns import Shown, chosen, numbers
from torquerisk.show.words.judged import COLUMNS, own_rows, shown_rows
from torquerisk.study.answers.results import Frontier, FrontierPoint, JudgedTable, Point, State

LEAST_RANGE = 0.02
"""Share of the area that the axis spans at least, so that a flat trade-off looks flat."""


def by_chance_picture(found: Frontier, draws: int, look: Look, stamp: Stamp | None) -> Picture:
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


def by_peak_picture(found: Frontier, draws: int, look: Look, stamp: Stamp | None) -> Picture:
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
    stamp: Stamp | None,
) -> Drawing:
    """The line of tables, each with its sign: a reading, open where coarse, none; one is chosen."""
    figure = new_figure(look, 310, stamp, left=62)
    figure.update_layout(hovermode="closest")
    unit, size = look.area
    low, high = area_range(found, size)
    areas = [p.area / size if isinstance(p, FrontierPoint) else np.nan for p in points]
    figure.line(x, np.array(areas), look.limit, dash="dash", width=2, digits=3, connectgaps=False)
    for sign, colour, those in (
        (READING, look.limit, [p for p in points if isinstance(p, FrontierPoint) and not p.coarse]),
        (UNKNOWN, look.limit, [p for p in points if isinstance(p, FrontierPoint) and p.coarse]),
        (NONE, look.exceeds, [p for p in points if not isinstance(p, FrontierPoint)]),
        (READING, look.ink, [found.chosen]),
    ):
        at = [k for k, p in enumerate(points) if p in those]
        if colour == look.limit:
            at = [k for k in at if points[k] is not found.chosen]
        heights = np.where(np.isnan(areas), low + 0.06 * (high - low), areas)[at]
        if at:
            figure.signs(
                [x[k] for k in at], drawn(heights, 3), sign, colour, "%{text}",
                size=15 if colour == look.ink else 9,
                text=[_hover(points[k], told[k], found, look) for k in at],
            )  # fmt: skip
    k = next(i for i, p in enumerate(points) if p is found.chosen)
    side = "left" if k > 0.7 * (len(points) - 1) else "right"
    at_k = float(np.log10(x[k])) if told[k].endswith("%") else x[k]
    figure.word(at_k, areas[k], "chosen", look.ink, side, yanchor="top", yshift=-10)
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
    def remark(p: Point) -> str:
        if not isinstance(p, FrontierPoint):
            return "no table meets it"
        return "chosen" if p is found.chosen else "fewer than four engines" if p.coarse else ""

    keys = ("peak_torque", "peak_speed", "peak_power_kw", "area_shown", "chance_pulls")
    shown = Shown(units=look.units, draws=draws)
    return (
        first,
        *numbers(chosen(trade_off.COLUMNS, keys), points, shown),
        TableColumn(name="remark", unit="", values=[remark(p) for p in points]),
    )


def judged_picture(judged: JudgedTable, look: Look, stamp: Stamp | None) -> Picture:
    """A table of one's own against the torque of the accepted chance and what the engine makes."""
    a, j = judged.assessment, judged.judgement
    speed, x, (unit, size) = a.speed, rpm(a.speed), look.torque
    torque, limit, carried = (v / size for v in (a.torque, j.limit, judged.ceiling))
    most = max(float(a.torque.max()), float(np.max(j.limit)))
    top = axis_top(most, judged.ceiling, size)
    figure = new_figure(look, 400, stamp)
    ceiling = np.clip(carried, 0.0, 1.5 * top)
    figure.band(x, ceiling, np.maximum(limit, ceiling), look.exceeds, 0.25)
    figure.line(x, torque, look.measured, f"measured %{{y:.0f}} {unit}", width=1.8)
    figure.line(
        x, ceiling, look.capacity, "carries at the accepted chance %{text}", dash="dashdot",
        width=2, text=[_carried(float(c), unit) for c in carried],
    )  # fmt: skip
    figure.line(x, limit, look.limit, f"table %{{y:.0f}} {unit}, %{{text}}", dash="dash",
                text=[s.value for s in judged.state])  # fmt: skip
    _own_rows(figure, judged, look)
    _own_names(figure, judged, look, ceiling, top)
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    figure.update_yaxes(range=[min(0.0, float(np.min(limit))), top],
                        title_text=f"crank torque [{unit}]")  # fmt: skip
    return Picture(
        name="judged",
        title="Your table against what the engine carries",
        figure=figure.done(),
        alt=_judged_words(judged),
        columns=_judged_columns(judged, look),
    )


def _own_rows(figure: Drawing, judged: JudgedTable, look: Look) -> None:
    """The table's own rows, each with the shape of its state."""
    speed, limit = judged.assessment.speed, judged.judgement.limit / look.torque.size
    for state in State:
        chosen = [k for k in own_rows(judged) if judged.state[k] is state]
        if chosen:
            figure.signs(
                rpm(speed[chosen]), drawn(limit[chosen], 1), STATE_SYMBOL[state],
                look.of_state(state), name=state.value, cliponaxis=False,
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
    side = "above" if limit[k] >= ceiling[k] else "below"
    figure.word(x[k], limit[k], "your table", look.limit, side, 16)
    k = at(0.72)
    side = "above" if ceiling[k] > limit[k] else "below"
    figure.word(x[k], min(float(ceiling[k]), 0.97 * top), "engine carries", look.capacity, side, 6)
    k = int(np.argmax(a.torque))
    figure.word(x[k], a.torque[k] / look.torque.size, "measured", look.measured, "above", 5)


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
    rows = shown_rows(judged)
    keys = ("torque_limit_n_m", "ceiling_torque_n_m", "excess_n_m", "unused_n_m", "state",
            "chance", "governing")  # fmt: skip
    shown = shown_of(judged.assessment, look.units)
    return (
        speed_column(judged.assessment.speed[[row.k for row in rows]]),
        *numbers(chosen(COLUMNS, keys), rows, shown),
    )
