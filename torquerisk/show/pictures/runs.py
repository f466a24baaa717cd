"""Pictures of what drives the answer, of two runs side by side, and of the same torque later."""

from collections.abc import Sequence

import numpy as np

from torquerisk.files.exports import TableColumn, speed_column
from torquerisk.quantities import RPM
from torquerisk.show.pictures.drawing import new_figure, speed_axis
from torquerisk.show.pictures.placing import apart
from torquerisk.show.pictures.style import (
    UNKNOWN,
    Look,
    Picture,
    Stamp,
    column,
    faded,
    plain,
    rpm,
    torque_column,
)
from torquerisk.show.words.comparison import sides_of
from torquerisk.study.answers.results import ORDINALS, Comparison, Later, Share


def drivers_picture(found: Sequence[Share], about: str, look: Look, stamp: Stamp | None) -> Picture:
    """Share of the spread that follows each uncertain input, greatest on top.

    Assumed inputs end in an open ring: those are the cheapest to narrow.
    """
    figure = new_figure(look, 92 + 27 * len(found), stamp, left=196)
    figure.update_layout(margin={"l": 196, "r": 44, "t": 10, "b": 62}, hovermode="closest")
    share = [round(100 * d.share, 1) for d in found]
    for k, value in enumerate(share):
        line = {"color": look.estimate, "width": 5}
        figure.add_shape(type="line", x0=0, x1=value, y0=k, y1=k, line=line)
    for given, word in ((True, "given"), (False, "assumed")):
        chosen = [k for k, d in enumerate(found) if d.given == given]
        figure.signs(
            [share[k] for k in chosen], chosen, UNKNOWN, look.estimate,
            f"%{{x:.1f}} % of the spread, {word}", size=11, cliponaxis=False,
            mode="text" if given else "markers+text",
            text=[f"{share[k]:.0f} %" if share[k] >= 0.5 else "<1 %" for k in chosen],
            textposition="middle right", textfont={"color": look.ink, "size": 12},
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
    told = (f"{d.label} {100 * d.share:.0f} %{'' if d.given else ', assumed'}" for d in found)
    return Picture(
        name="drivers",
        title=f"What makes {plain(about)} uncertain",
        figure=figure.done(),
        alt=f"Share of the spread by input: {'; '.join(told)}.",
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
    compared: Sequence[Comparison], names: Sequence[str], look: Look, stamp: Stamp | None
) -> Picture:
    """Torque of runs; below, each further one less the first over what is too close to call.

    Speeds at which how a run began decides are shaded.
    """
    c, sides = compared[0], sides_of(compared)
    speed, x, (unit, size) = c.speed, rpm(c.speed), look.torque
    figure = new_figure(look, 460, stamp, two=True)
    told = [plain(name, 30) for name in names]
    most = int(np.argmax(np.max([np.abs(p.difference) for p in compared], axis=0)))
    if not c.comparable.all():
        end = float(rpm(min(c.comparable_from, float(speed[-1]))))
        figure.vrect(float(x[0]), end, faded(look.close, 0.12))
        figure.word(float(x[0]), 0.0, "not comparable", look.close, "right", 6)
    curves = [side.torque / size for side in sides]
    middle = float(np.mean([curve[most] for curve in curves]))
    for curve, name, (colour, dash) in zip(curves, told, _styles(look), strict=False):
        figure.line(x, curve, colour, f"{name} %{{y:.0f}} {unit}", dash=dash)
        place = "above" if curve[most] >= middle else "below"
        figure.word(x[most], curve[most], name, colour, place, 6)
    near = max((p.too_close for p in compared), key=lambda v: float(v.max())) / size
    differences = [p.difference / size for p in compared]
    edge = 1.15 * float(max(np.abs(differences).max(), near.max(), 5.0))
    figure.band(x, -near, near, look.close, 0.2, yaxis="y2")
    styles = [(look.measured, "solid")] if len(compared) == 1 else _styles(look)[1:]
    for p, difference, (colour, dash) in zip(compared, differences, styles, strict=False):
        figure.line(
            x, difference, colour,
            f"%{{y:+.0f}} {unit}; within %{{customdata:.0f}} it is too close to call", yaxis="y2",
            customdata=np.round(p.too_close / size, 1), dash=dash,
        )  # fmt: skip
    k = len(x) // 2
    figure.word(x[k], -near[k], "too close to call", look.close, "above", yref="y2")
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    top = 1.14 * float(max(curve.max() for curve in curves))
    figure.update_yaxes(range=[0, top], title_text=f"crank torque [{unit}]")
    figure.update_lower(range=[-edge, edge], title_text=f"difference in torque [{unit}]", nticks=4)
    count = "two" if len(sides) == 2 else str(len(sides))
    return Picture(
        name="compare",
        title=f"Crank torque of {count} runs, and each further one less the first",
        figure=figure.done(),
        alt=(
            f"Crank torque of {count} runs. Greatest difference: {_apart_most(compared, look)}; up "
            f"to {near.max():.0f} {unit} would be too close to call."
        ),
        columns=_compare_columns(compared, look),
    )


def _compare_columns(compared: Sequence[Comparison], look: Look) -> tuple[TableColumn, ...]:
    """The columns drawn: each torque, then each difference and what it must exceed."""
    drawn = [speed_column(compared[0].speed)]
    drawn += [torque_column(f"{s.ordinal} run", s.torque, look) for s in sides_of(compared)]
    for p in compared:
        name = p.second.ordinal
        drawn.append(torque_column(f"{name} less first", p.difference, look))
        drawn.append(torque_column(f"too close within, {name}", p.too_close, look))
    return tuple(drawn)


def _apart_most(compared: Sequence[Comparison], look: Look) -> str:
    """The greatest difference of each further run from the first, and where it lies."""
    unit, size = look.torque
    told = []
    for p in compared:
        k = int(np.argmax(np.abs(p.difference)))
        told.append(
            f"{p.second.ordinal} less first {p.difference[k] / size:+.0f} {unit} at "
            f"{p.speed[k] / RPM:.0f} rpm"
        )
    return "; ".join(told)


def _styles(look: Look) -> list[tuple[str, str]]:
    """Colour and dash of each run in turn; the first is the measured one."""
    colours = (look.estimate, look.capacity, look.soft)
    dashes = ("dash", "dot", "dashdot")
    more = [(colours[k % 3], dashes[(k + k // 3) % 3]) for k in range(len(ORDINALS) - 1)]
    return [(look.measured, "solid"), *more]


def later_picture(later: Later, names: Sequence[str], look: Look, stamp: Stamp | None) -> Picture:
    """One torque made at every speed: load over strength of some limits, fuel-allowed phasing."""
    x = rpm(later.speed)
    made = f"{later.torque / look.torque.size:.0f} {look.torque.name}"
    figure = new_figure(look, 340, stamp)
    figure.hline(1, look.ink)
    styles = ((look.estimate, "solid"), (look.capacity, "dash"), (look.ink, "dot"),
              (look.soft, "dashdot"))  # fmt: skip
    top, ends = 1.2, []
    for name, (colour, dash) in zip(names, styles, strict=False):
        trend = later.trends[name]
        values = np.minimum(trend.allowed_phasing.p50, 3.0)
        top = max(top, 1.1 * float(values.max()))
        ends.append((name, float(values[-1]), colour))
        hover = f"{plain(trend.title)} %{{y:.2f}}"
        figure.line(x, values, colour, hover, dash=dash, width=2.2, digits=3)
    top = min(top, 2.2)
    places = apart([min(value, 0.97 * top) for _, value, _ in ends], 0.075 * top)
    below = min(*places, 0.0)
    for (name, _, colour), place in zip(ends, places, strict=True):
        title = plain(later.trends[name].title.lower())
        figure.word(x[-1], place - below, title, colour, "left", yanchor="bottom", yshift=3,
                    bgcolor=faded(look.paper, 0.9))  # fmt: skip
    speed_axis(figure, float(later.speed[0]), float(later.speed[-1]))
    figure.update_yaxes(range=[0, top], title_text="load over strength")
    trends = [later.trends[n] for n in names]
    told = "; ".join(f"{t.title.lower()} {t.at_allowed_phasing.value}" for t in trends)
    return Picture(
        name="later",
        title=f"Load over strength with {made} made at every speed",
        figure=figure.done(),
        alt=f"Load over strength by engine speed if {made} were made there: {told}.",
        columns=(
            speed_column(later.speed),
            *(column(t.title, "1", t.allowed_phasing.p50, decimals=2) for t in trends),
        ),
    )
