"""Pictures for the owner: the dips of a curve, and twenty dots along load = strength."""

from collections.abc import Sequence

import numpy as np

from torquerisk.files.exports import TableColumn
from torquerisk.quantities import RPM, Array
from torquerisk.show.pictures.drawing import Drawing, new_figure, speed_axis
from torquerisk.show.pictures.style import (
    STATE_SYMBOL,
    Look,
    Picture,
    Stamp,
    column,
    faded,
    plain,
    rpm,
)
from torquerisk.show.words.columns import Shown, chosen, numbers
from torquerisk.show.words.dips import CELL_WORDS, COLUMNS, SHOWN, shown_depth
from torquerisk.study.answers.results import DOTS, Assessment, Dip, LimitChange, State

ROOM = 0.6
"""Share of the ruler within which the curve's name begins: a phone's picture holds it beyond."""
APART = 0.13
"""Height of one dot over another, of the distance of both rows."""


def dips_picture(
    assessment: Assessment, dips: Sequence[Dip], look: Look, stamp: Stamp | None
) -> Picture:
    """The torque curve with every dip shaded and a straight line over it."""
    unit, size = look.torque
    speed, torque, x = assessment.speed, assessment.torque / size, rpm(assessment.speed)
    figure = new_figure(look, 380, stamp)
    for number, dip in enumerate(dips, start=1):
        _dip(figure, look, assessment, dip, f"dip {number}: " if len(dips) > 1 else "")
    figure.line(x, torque, look.measured, f"measured %{{y:.0f}} {unit}", width=2.6)
    room = x <= x[0] + ROOM * (x[-1] - x[0])
    k = int(np.argmin(np.abs(torque[room] - 0.72 * torque.max())))
    figure.word(x[k], torque[k], "measured", look.measured, "right", 12)
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    top = float(np.ceil(1.15 * torque.max() / 20) * 20)
    bottom = float(np.floor(min(0.5 * torque.max(), torque.min()) / 20) * 20)
    figure.update_yaxes(range=[bottom, top], title_text=f"crank torque [{unit}]")
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
        columns=tuple(numbers(chosen(COLUMNS, SHOWN), dips, Shown(units=look.units))),
    )


def _dip(figure: Drawing, look: Look, assessment: Assessment, dip: Dip, name: str) -> None:
    """The ground between the curve and the line over a dip, with its depth."""
    (unit, size), speed = look.torque, assessment.speed
    inside = (speed > dip.from_speed) & (speed < dip.to_speed)
    at = np.concatenate([[dip.from_speed], speed[inside], [dip.to_speed]])
    under = np.interp(at, speed, assessment.torque) / size
    over = np.interp(at, [dip.from_speed, dip.to_speed], [dip.from_torque, dip.to_torque]) / size
    figure.line(rpm(at), under, "", width=0)
    figure.line(
        rpm(at), np.maximum(over, under), look.estimate, f"straight across %{{y:.0f}} {unit}",
        dash="dash", width=2, fill="tonexty", fillcolor=faded(look.estimate, 0.22),
    )  # fmt: skip
    deep = f"{name}{shown_depth(dip, look.units)} {unit}"
    figure.word(float(rpm(dip.speed)), dip.would_be_torque / size, deep, look.estimate, "above", 6)


def dots_picture(dip: Dip, number: int, look: Look) -> Picture:
    """Twenty dots along load = strength, with the dip, with it filled in, and with ignition moved.

    Each dot is 5 % of the simulated engines; beyond the line the part is past its limit.
    """
    change = dip.shown
    if change is None:
        raise ValueError("a dip without any limit that binds has no dots")
    low, high = _dots_range(change)
    last = len(change.cells) - 1
    figure = new_figure(look, 130 + 60 * (last + 1), None)
    figure.update_layout(margin={"l": 96, "r": 20, "t": 26, "b": 46}, hovermode="closest")
    figure.vrect(1, high + 0.05, faded(look.exceeds, 0.08))
    figure.vline(1, look.ink, 2)
    counts = []
    for place, (cell, side) in enumerate(change.cells.items()):
        name, row, values = CELL_WORDS[cell], float(last - place), side.dots
        past = values >= 1
        counts.append((name, int(past.sum())))
        for state, those in ((State.HOLDS, ~past), (State.EXCEEDS, past)):
            at = np.minimum(values[those], high)
            figure.signs(
                np.round(at, 3), row + _stacked(at, (high - low) / 26), STATE_SYMBOL[state],
                look.of_state(state), f"{name}: load is %{{x:.2f}} of strength", size=11,
                cliponaxis=False,
            )  # fmt: skip
    figure.word(1.0, last + 0.6, "load = strength", look.ink, "above")
    figure.update_xaxes(range=[low, high + 0.03], title_text="load over strength", tickformat=".1f")
    figure.update_yaxes(
        range=[-0.35, last + 0.6], tickvals=[float(last - k) for k in range(last + 1)],
        ticktext=[f"{n.replace(', ', ',<br>')}<br>{c} of 20 past" for n, c in counts],
        showgrid=False, ticks="", tickfont={"size": 12, "color": look.ink}, showline=False,
    )  # fmt: skip
    title = change.limit.title
    told = ", ".join(f"{name} {count} of 20" for name, count in counts)
    return Picture(
        name=f"dots_{number}",
        title=f"{plain(title)} at {dip.speed / RPM:,.0f} rpm",
        figure=figure.done(),
        alt=(
            f"Twenty dots, each 5 % of the simulated engines, by load over strength of "
            f"{title.lower()} at {dip.speed / RPM:.0f} rpm. Past the line lie {told}."
        ),
        columns=(
            TableColumn(name="dot", unit="", values=list(range(1, DOTS + 1))),
            *(
                column(CELL_WORDS[cell].replace(", ", " with "), "1", side.dots, decimals=2)
                for cell, side in change.cells.items()
            ),
        ),
    )


def _dots_range(change: LimitChange) -> tuple[float, float]:
    """Load over strength at both ends of the ruler."""
    every = np.concatenate([side.dots for side in change.cells.values()])
    finite = every[np.isfinite(every)]
    if not len(finite):
        return 0.7, 1.3
    low, high = np.floor(10 * finite.min()) / 10, np.ceil(10 * finite.max()) / 10
    return min(0.75, float(low)), max(1.25, float(high))


def _stacked(values: Array, width: float) -> Array:
    """Heights that keep dots of nearly equal place from covering each other."""
    heights = np.zeros(len(values))
    for k in range(len(values)):
        near = [j for j in range(k) if abs(values[j] - values[k]) < width]
        taken = {round(heights[j] / APART) for j in near}
        heights[k] = APART * next(n for n in range(len(values)) if n not in taken)
    return heights
