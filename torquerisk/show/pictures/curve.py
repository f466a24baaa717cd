"""Pictures on the speed ruler: the torque curve with its limit, and the least room by speed."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from torquerisk.files.exports import TableColumn, speed_column
from torquerisk.quantities import RPM, Array
from torquerisk.show.pictures.drawing import Drawing, bars, new_figure, speed_axis
from torquerisk.show.pictures.placing import spans
from torquerisk.show.pictures.style import (
    ROW,
    STATE_SYMBOL,
    Look,
    Picture,
    Stamp,
    drawn,
    faded,
    plain,
    rpm,
    torque_column,
)
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    Assessment,
    Band,
    Limit,
    LimitKind,
    State,
    band,
    state_of,
)

LEAST_SPAN_NAMED = 0.12
"""Share of the ruler that a governing limit must hold before its name is written."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Limited:
    """A limit table as drawn. SI; (S,) on the grid, (m,) at breakpoints."""

    breakpoints: Array
    limit: Array
    delivered: Array
    """The lesser of limit and what the engine can make, on the grid."""
    ceiling: Array
    """Torque at the accepted chance, on the grid; +-inf happens."""
    name: str = "proposed limit"


NAME_INSIDE = 0.8
"""Share of the speeds, about their middle, in which the limit's name fits the frame."""


def least_capacity(assessment: Assessment) -> Array:
    """Least capacity torque (S, N) [N*m] over the strength limits of every simulated engine."""
    return np.min(
        [
            assessment.model.capacities[name]
            for name, item in assessment.limits.items()
            if item.limit.kind is LimitKind.STRENGTH
        ],
        axis=0,
    )


def least_band(assessment: Assessment) -> Band:
    """Band of the least strength capacity torque by speed [N*m]."""
    return band(least_capacity(assessment))


def weakest_parts(assessment: Assessment, accepted: float) -> list[Limit]:
    """The strength limit that allows least by speed at an accepted chance, as tables name it.

    Not the one of the middle engine: the part that holds most of them down need not be the one
    that the few weakest pass.
    """
    found, none = (
        answers_of(assessment).at(accepted).ceilings,
        np.full_like(assessment.speed, np.inf),
    )
    every = [(c.limit, c.allowed) for c in found.in_order] + [(x, none) for x in found.beyond]
    strengths = [one for one in every if one[0].kind is LimitKind.STRENGTH]
    least = np.argmin([allowed for _, allowed in strengths], axis=0)
    return [strengths[k][0] for k in least]


def torque_top(assessment: Assessment, size: float = 1.0) -> float:
    """Top of the torque axis: fixed by the case, not by what is asked of the table.

    size: of the axis' unit [N*m].
    """
    weakest = float(least_band(assessment).p05.min())
    return axis_top(float(assessment.torque.max()), assessment.ceiling, size, weakest)


def shading_in_words(assessment: Assessment) -> str:
    """What the shade about the curve is, or why there is none."""
    if least_band(assessment).p05.min() < torque_top(assessment):
        return (
            "Shaded: the torque that the weakest part carries, in 90 of 100 engines as yours may "
            "be; named: the part that allows least at the accepted chance."
        )
    return "The weakest part carries more torque than this picture shows."


def axis_top(most: float, ceiling: Array, size: float, near: float = 0.0) -> float:
    """Top of a torque axis, in units of that size, over a torque and most of a ceiling [N*m].

    near: something that is shown too where it lies near enough [N*m].
    """
    capacity = ceiling[np.isfinite(ceiling)]
    if len(capacity):
        most = max(most, min(float(np.quantile(capacity, 0.9)), 1.35 * most))
    if most < 1.1 * near < 1.6 * most:
        most = 1.1 * near
    return float(np.ceil(1.14 * most / size / 20) * 20)


def curve_picture(
    assessment: Assessment, limited: Limited | None, look: Look, stamp: Stamp | None
) -> Picture:
    """Torque as read and at the crank, the limit, what the weakest part carries; power below."""
    speed, (unit, size) = assessment.speed, look.torque
    x, top, torque = rpm(speed), torque_top(assessment, size), assessment.torque / size
    figure = new_figure(look, 540, stamp, two=True)
    parts = least_band(assessment)

    _capacity(figure, look, x, parts, top)
    _name_governing(figure, look, assessment, parts)
    read = np.interp(speed, assessment.run.speed, assessment.run.torque)
    as_read = read / size
    differs = float(np.max(np.abs(as_read - torque))) > 0.002 * top
    if differs:
        figure.line(x, as_read, look.soft, f"as read %{{y:.0f}} {unit}", dash="dot", width=1.2,
                    name="as read")  # fmt: skip
    figure.line(x, torque, look.measured, f"measured, crank %{{y:.0f}} {unit}", name="measured")
    _power(figure, look, x, assessment.torque * speed, look.measured, "measured")
    if limited is not None:
        _limit(figure, look, x, speed, limited)
    _names(figure, look, assessment, as_read if differs else None, limited)
    _log_signs(figure, look, assessment, top)
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    figure.update_yaxes(range=[0, top], title_text=f"crank torque [{unit}]")
    most = float((assessment.torque * speed).max()) / look.power.size
    figure.update_lower(
        range=[0, float(np.ceil(1.12 * most / 10) * 10)], nticks=4,
        title_text=f"power [{look.power.name}]",
    )  # fmt: skip
    columns = [
        speed_column(speed),
        torque_column("torque as read", read, look),
        torque_column("torque at crank", assessment.torque, look),
        torque_column("parts carry, 5 %", parts.p05, look),
        torque_column("parts carry, median", parts.p50, look),
        torque_column("parts carry, 95 %", parts.p95, look),
    ]
    if limited is not None:
        on_grid = np.interp(speed, limited.breakpoints, limited.limit)
        on_grid[(limited.delivered == 0.0) & (on_grid > 0.0)] = np.nan  # past the table's end
        columns.append(torque_column(limited.name, on_grid, look))
    return Picture(
        name="curve",
        title="Torque and power by engine speed",
        figure=figure.done(),
        alt=_curve_words(assessment, limited, look),
        columns=tuple(columns),
    )


def _capacity(figure: Drawing, look: Look, x: Array, parts: Band, top: float) -> None:
    """The range of torque that the least part carries; open above where no part is reached."""
    shown = [v / look.torque.size for v in (parts.p05, parts.p50, parts.p95)]
    low, high = (np.clip(v, 0.0, 1.5 * top) for v in (shown[0], shown[2]))
    figure.band(x, low, high, look.capacity, name="parts carry")
    middle = np.where(np.isneginf(shown[1]), 0.0, shown[1])
    figure.line(
        x, middle, look.capacity, "parts carry %{text}", dash="dashdot", width=1.6,
        name="parts carry",
        text=[_carried(look.torque.name, *v) for v in zip(*shown, strict=True)],
    )  # fmt: skip


def _carried(unit: str, low: float, middle: float, high: float) -> str:
    if np.isneginf(middle):
        return "no torque: limited by speed alone"
    if np.isposinf(middle):
        return "more than the model reaches"
    words = [
        "none" if np.isneginf(v) else "beyond the model" if np.isposinf(v) else f"{v:.0f}"
        for v in (low, high)
    ]
    return f"{middle:.0f} {unit} ({words[0]} to {words[1]})"


def _name_governing(figure: Drawing, look: Look, assessment: Assessment, parts: Band) -> None:
    """The limit that holds each stretch of the band, written in it where its lines leave room."""
    speed, size = assessment.speed, look.torque.size
    top, whole = torque_top(assessment, size), float(speed[-1] - speed[0])
    low, middle, high = (np.clip(v / size, 0, top) for v in (parts.p05, parts.p50, parts.p95))
    lines = np.sort([middle, assessment.torque / size], axis=0)
    above = middle >= top  # there only the shade below its middle is in the picture
    under = np.where(above, [np.maximum(low, lines[0]), lines[1]], [low, lines[0]])
    rooms = np.array([under, [lines[1], high]])
    weakest = weakest_parts(assessment, assessment.policy.chance)
    for title, first, last in spans([limit.title for limit in weakest]):
        span, centre = speed[last] - speed[first], (speed[first] + speed[last]) / 2
        if span < LEAST_SPAN_NAMED * whole:
            continue
        inner = np.abs(speed - centre) < 0.2 * span
        wide = np.where(inner, rooms[:, 1] - rooms[:, 0], -np.inf)
        side, k = np.unravel_index(int(np.argmax(wide)), wide.shape)
        if not np.isfinite(parts.p50[k]):
            continue
        height = float(rooms[side, :, k].mean())
        figure.word(float(rpm(speed[k])), height, plain(title.lower()), look.capacity)


def _limit(figure: Drawing, look: Look, x: Array, speed: Array, limited: Limited) -> None:
    unit, size = look.torque
    at, limit = rpm(limited.breakpoints), limited.limit / size
    figure.line(at, limit, look.limit, f"limit %{{y:.0f}} {unit}", dash="dash", name="limit")
    figure.signs(at, drawn(limit, 1), ROW, look.limit, size=7)
    within = limited.delivered > 0.0  # nothing is made where a table has ended
    power = (limited.delivered * speed)[within]
    _power(figure, look, x[within], power, look.limit, "under the limit", "dash")


def _power(
    figure: Drawing, look: Look, x: Array, power: Array, colour: str, name: str, dash: str = "solid"
) -> None:
    """A line of power [W] in the lower panel."""
    unit, size = look.power
    hover = f"power {name} %{{y:.0f}} {unit}"
    figure.line(x, power / size, colour, hover, dash=dash, width=2, name=name, yaxis="y2")


def _names(
    figure: Drawing,
    look: Look,
    assessment: Assessment,
    as_read: Array | None,
    limited: Limited | None,
) -> None:
    """Names on the lines themselves, where they lie apart. as_read: in the units shown."""
    speed, torque = assessment.speed, assessment.torque / look.torque.size
    peak = int(np.argmax(torque))
    figure.word(float(rpm(speed[peak])), torque[peak], "measured", look.measured, "above", 5)
    if as_read is not None:
        k = int(np.argmin(np.abs(speed - (0.86 * speed[-1] + 0.14 * speed[0]))))
        side = "above" if as_read[k] > torque[k] else "below"
        figure.word(float(rpm(speed[k])), as_read[k], "as read", look.soft, side, 4)
    if limited is None:
        return
    limit = limited.limit / look.torque.size
    gap = np.interp(limited.breakpoints, speed, torque) - limit
    along = (limited.breakpoints - speed[0]) / (speed[-1] - speed[0])
    inside = np.abs(along - 0.5) < NAME_INSIDE / 2
    k = int(np.argmax(np.where(inside, np.abs(gap), -1.0)))
    side = "below" if gap[k] > 0 else "above"
    at = float(rpm(limited.breakpoints[k]))
    figure.word(at, limit[k], limited.name, look.limit, side, 9)


def _log_signs(figure: Drawing, look: Look, assessment: Assessment, top: float) -> None:
    """Where a sign in the log begins: an upright line with its name, low in the picture."""
    middle = float(assessment.speed[0] + assessment.speed[-1]) / 2
    for number, sign in enumerate(answers_of(assessment).log_signs):
        x = float(rpm(sign.first))
        figure.vline(x, look.exceeds, dash="dot")
        side = "right" if sign.first < middle else "left"
        figure.word(x, (0.04 + 0.075 * number) * top, plain(sign.title), look.exceeds, side, 4)


def _curve_words(assessment: Assessment, limited: Limited | None, look: Look) -> str:
    unit, size = look.torque
    peak = int(np.argmax(assessment.torque))
    words = (
        f"Line chart over engine speed. Measured crank torque peaks at "
        f"{assessment.torque[peak] / size:.0f} {unit} at {assessment.speed[peak] / RPM:.0f} rpm."
    )
    if limited is not None:
        top = int(np.argmax(limited.delivered))
        words += (
            f" With {limited.name} it peaks at {limited.delivered[top] / size:.0f} {unit} at "
            f"{assessment.speed[top] / RPM:.0f} rpm."
        )
    signs = answers_of(assessment).log_signs
    words += "".join(f" At {s.first / RPM:.0f} rpm {s.title}." for s in signs)
    return words + " A band shows what the weakest part carries. Power is below on the same axis."


def room_picture(
    assessment: Assessment, look: Look, stamp: Stamp | None, accepted: float
) -> Picture:
    """Torque to spare before the weakest part, by speed, with its range and its state."""
    speed, (unit, size) = assessment.speed, look.torque
    parts = least_band(assessment)
    least = Band(
        p05=parts.p05 - assessment.torque,
        p50=parts.p50 - assessment.torque,
        p95=parts.p95 - assessment.torque,
    )
    room = Band(p05=least.p05 / size, p50=least.p50 / size, p95=least.p95 / size)
    states = overall_states(assessment, accepted)
    finite = np.concatenate([v[np.isfinite(v)] for v in (room.p05, room.p50, room.p95)])
    most = float(assessment.torque.max()) / size
    edge = min(max(40.0, float(np.abs(finite).max()) if len(finite) else 40.0), 0.6 * most)
    titles = [limit.title for limit in weakest_parts(assessment, accepted)]
    figure = new_figure(look, 330, stamp)
    figure.hrect(0, -1.1 * edge, faded(look.exceeds, 0.06))
    figure.hrect(0, 1.1 * edge, faded(look.holds, 0.06))
    figure.hline(0, look.ink)
    told = [
        f"{_spare(room, k, unit)}, {s.value}; {plain(titles[k].lower())} allows least"
        for k, s in enumerate(states)
    ]
    _room_signs(figure, look, rpm(speed), room, states, told, 1.1 * edge)
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    pad = 0.02 * float(speed[-1] - speed[0]) / RPM
    figure.update_xaxes(range=[speed[0] / RPM - pad, speed[-1] / RPM + pad])
    figure.update_yaxes(range=[-1.1 * edge, 1.1 * edge], title_text=f"torque to spare [{unit}]")
    for words, level, colour, free in (
        ("to spare", 1.06 * edge, look.holds, room.p95[-1] < room.p95[0]),
        ("too much", -1.06 * edge, look.exceeds, room.p05[-1] > room.p05[0]),
    ):
        figure.word(
            float(rpm(speed[-1 if free else 0])), level, words, colour, "left" if free else "right",
            yanchor="top" if level > 0 else "bottom",
        )  # fmt: skip
    return Picture(
        name="room",
        title="Torque to spare before the weakest part",
        figure=figure.done(),
        alt=_room_words(assessment, room, titles, states, unit),
        columns=(
            speed_column(speed),
            TableColumn(name="allows least", unit="", values=titles),
            torque_column("to spare, 5 %", least.p05, look),
            torque_column("to spare, median", least.p50, look),
            torque_column("to spare, 95 %", least.p95, look),
            TableColumn(name="state", unit="", values=[s.value for s in states]),
        ),
    )


def _room_signs(
    figure: Drawing, look: Look, x: Array, room: Band, states: Sequence[State],
    told: Sequence[str], edge: float,
) -> None:  # fmt: skip
    """A sign with its range at every speed; ranges are cut at the frame, edge."""
    for state in State:
        chosen = [k for k, s in enumerate(states) if s is state]
        low, y, high = (np.clip(v[chosen], -edge, edge) for v in (room.p05, room.p50, room.p95))
        if chosen:
            figure.signs(
                x[chosen], drawn(y, 1), STATE_SYMBOL[state], look.of_state(state), "%{text}",
                size=8, name=state.value, text=[told[k] for k in chosen],
                error_y=bars(drawn(high - y, 1), drawn(y - low, 1), look.of_state(state)),
            )  # fmt: skip


def overall_states(assessment: Assessment, accepted: float) -> list[State]:
    """State word of all strength limits together, by speed."""
    kept = assessment.evidence.kept
    return [state_of(float(c), accepted, kept) for c in assessment.chance_any]


def _spare(room: Band, k: int, unit: str) -> str:
    """Torque to spare at a speed with its range. room: in the unit."""

    def one(value: float) -> str:
        if np.isposinf(value):
            return "beyond the model"
        if np.isneginf(value):
            return "limited by speed alone"
        return f"{value:+.0f}".replace("-", "−")

    return f"{one(room.p50[k])} {unit} ({one(room.p05[k])} to {one(room.p95[k])})"


def _room_words(
    assessment: Assessment,
    room: Band,
    titles: Sequence[str],
    states: Sequence[State],
    unit: str,
) -> str:
    k = int(np.argmin(room.p50))
    told = (
        f"Marks with ranges over engine speed. The least room is at "
        f"{assessment.speed[k] / RPM:.0f} rpm: {_spare(room, k, unit)} to spare; at the accepted "
        f"chance {titles[k].lower()} allows least there."
    )
    counts = ", ".join(f"{states.count(s)} {s.value}" for s in State if s in states)
    return f"{told} Speeds by state: {counts}."
