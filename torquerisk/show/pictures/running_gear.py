"""Pictures of the running gear: the crankpin's polar load diagram, and how the piston moves."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from torquerisk.files.exports import TableColumn, speed_column
from torquerisk.quantities import KILO, RPM, Array
from torquerisk.show.pictures.style import (
    Drawing,
    Look,
    Picture,
    Stamp,
    cells,
    drawn,
    faded,
    new_figure,
    rpm,
    scatter,
    speed_axis,
    write_on,
)
from torquerisk.show.words.running_gear import FRAME, INDICATOR, guide_in_words
from torquerisk.study.answers.results import (
    FORCES,
    STANDARD_GRAVITY,
    Extreme,
    GearLoads,
    MedianCycle,
    PinReach,
    PistonSpeedGuide,
    guides,
)

FINE, COARSE = 1, 4
"""Every so many degrees of the cycle are drawn, about firing and elsewhere."""
ABOUT_FIRING = 100.0
"""[deg]"""
NEAR = 8.0
"""A greatest load this near to the overlap shares its mark [deg]."""
POLAR_HEIGHT = 460
ROOM = 1.12
"""Frame over the greatest load in it."""


def frame_of(reach: PinReach) -> tuple[float, float, float]:
    """Half width, lower and upper end of the polar diagram [kN]: the same at every speed."""
    least = 0.12 * max(reach.inwards, reach.outwards)
    low, high = max(reach.inwards, least), max(reach.outwards, least)
    aside = max(reach.aside, 0.45 * (low + high))
    return ROOM * aside / KILO, -ROOM * low / KILO, ROOM * high / KILO


def ring_step(reach: PinReach) -> float:
    """Distance of the rings [kN]: 1, 2 or 5 times a power of ten, four to nine of them."""
    most = max(reach.inwards, reach.outwards, reach.aside) / KILO
    power = 10.0 ** np.floor(np.log10(max(most, 1e-6) / 4))
    return float(max(m * power for m in (1.0, 2.0, 5.0) if m * power <= most / 4 * (1 + 1e-9)))


def rings_in_words(reach: PinReach) -> str:
    """How far apart the rings are."""
    return f"rings {ring_step(reach):g} kN apart"


def polar_points(cycle: MedianCycle) -> tuple[Array, Array, Array]:
    """Crank angle [deg], force across the throw with the rotation and outwards along it [kN]."""
    degrees = np.asarray(np.round(np.degrees(cycle.angle), 1), dtype=float)
    step = np.where(np.abs(degrees) < ABOUT_FIRING, FINE, COARSE)
    kept = np.isclose(degrees % step, 0)
    f = cycle.forces
    return degrees[kept], f.big_end_tangential[kept] / KILO, f.big_end_radial[kept] / KILO


@dataclass(frozen=True, kw_only=True)
class Mark:
    """A crank angle marked on the polar diagram."""

    index: int
    """Among the points drawn."""
    text: str
    symbol: str
    before: bool
    """The words stand before it, else after."""
    above: bool = False


def polar_marks(degrees: Array, across: Array, along: Array) -> list[Mark]:
    """Dead centres and the greatest load of the points drawn, as marked on the diagram."""
    size = np.hypot(across, along)
    top = int(np.argmax(size))
    firing, overlap, bottom = (int(np.argmin(np.abs(degrees - at))) for at in (0, 360, 180))
    at_overlap = abs(degrees[top]) > 360 - NEAR
    most = f"{size[top]:.0f} kN at {degrees[top]:.0f}°"
    marks = [
        Mark(index=firing, text="firing TDC 0°", symbol="circle", before=True),
        Mark(
            index=top if at_overlap else overlap,
            text=f"overlap TDC 360°{f', {size[top]:.0f} kN' if at_overlap else ''}",
            symbol="square", before=False,
        ),
        Mark(index=bottom, text="BDC 180°", symbol="ring", before=True),
    ]  # fmt: skip
    if not at_overlap:
        # Towards the middle and above: there the loop is open.
        before = bool(across[top] > 0)
        marks.append(Mark(index=top, text=most, symbol="diamond", before=before, above=True))
    return marks


def crank_degrees(degrees: float) -> float:
    """An angle of the cycle [deg] with both ends, the overlap, told as 360."""
    return 360.0 if degrees <= -360 else degrees


def polar_picture(
    cycle: MedianCycle, speed: float, look: Look, stamp: Stamp, reach: PinReach
) -> Picture:
    """Big-end load over one cycle, in the frame of the turning throw. speed: [rad/s]."""
    degrees, across, along = polar_points(cycle)
    size = np.hypot(across, along)
    half, low, high = frame_of(reach)
    figure = new_figure(look, POLAR_HEIGHT, stamp)
    figure.update_layout(hovermode="closest")
    _rings(figure, look, reach, half, low, high)
    figure.add_trace(
        scatter(
            x=drawn(across, 2), y=drawn(along, 2), mode="lines", name="load",
            line={"color": look.capacity, "width": 2.2},
            customdata=np.round(np.stack([degrees, size], axis=1), 1),
            hovertemplate="%{customdata[0]:.0f}°: %{customdata[1]:.1f} kN, %{y:.1f} outwards, "
            "%{x:.1f} with the rotation<extra></extra>",
        )
    )  # fmt: skip
    for mark in polar_marks(degrees, across, along):
        x, y = float(across[mark.index]), float(along[mark.index])
        symbol = mark.symbol.replace("ring", "circle-open")
        figure.add_trace(
            scatter(
                x=[round(x, 2)], y=[round(y, 2)], mode="markers", hoverinfo="skip", name=mark.text,
                marker={"size": 9, "symbol": symbol, "color": look.ink, "line": {"width": 1.5}},
            )
        )  # fmt: skip
        write_on(
            figure, look, x, y, mark.text, look.ink, xanchor="right" if mark.before else "left",
            xshift=-9 if mark.before else 9, yshift=14 if mark.above else 0,
        )  # fmt: skip
    figure.update_xaxes(
        title_text="across the throw, with the rotation [kN]", range=[-half, half],
        constrain="domain", showgrid=False, nticks=7,
    )  # fmt: skip
    figure.update_yaxes(
        title_text="along the throw, outwards [kN]", range=[low, high], scaleanchor="x",
        constrain="domain", showgrid=False,
    )  # fmt: skip
    top = int(np.argmax(size))
    firing, overlap = (int(np.argmin(np.abs(degrees - at))) for at in (0, 360))
    return Picture(
        name="polar",
        title=f"Big-end load at {speed / RPM:,.0f} rpm, as a polar diagram",
        figure=figure.done(),
        alt=(
            f"Polar diagram of the big-end load at {speed / RPM:.0f} rpm. {FRAME} It is "
            f"greatest {crank_degrees(degrees[top]):.0f} degrees after firing dead centre, "
            f"{size[top]:.1f} kN; at firing dead centre it is {size[firing]:.1f} kN, at overlap "
            f"dead centre {size[overlap]:.1f} kN."
        ),
        columns=(
            TableColumn(name="crank angle", unit="deg", values=cells(degrees), decimals=0),
            TableColumn(name="outwards on the throw", unit="kN", values=cells(along), decimals=2),
            TableColumn(
                name="across it, with the rotation", unit="kN", values=cells(across), decimals=2
            ),
            TableColumn(name="size", unit="kN", values=cells(size), decimals=2),
        ),
    )  # fmt: skip


def _rings(
    figure: Drawing, look: Look, reach: PinReach, half: float, low: float, high: float
) -> None:
    """Rings of equal load about the middle, with their size, and the two lines through it."""
    step = ring_step(reach)
    furthest = float(np.hypot(half, max(-low, high)))
    line = {"color": look.grid, "width": 1}
    for k in range(1, int(furthest / step) + 1):
        r = k * step
        figure.add_shape(type="circle", x0=-r, x1=r, y0=-r, y1=r, line=line, layer="below")
    write_on(
        figure, look, -half, low, rings_in_words(reach), look.soft, xanchor="left",
        yanchor="bottom", xshift=4, yshift=2, font={"size": 12, "color": look.soft},
    )  # fmt: skip
    axis = {"color": look.soft, "width": 1}
    figure.add_shape(type="line", x0=-half, x1=half, y0=0, y1=0, line=axis, layer="below")
    figure.add_shape(type="line", x0=0, x1=0, y0=low, y1=high, line=axis, layer="below")


def piston_picture(gear: GearLoads, look: Look, stamp: Stamp) -> Picture:
    """Mean piston speed with published guidance, and acceleration at top dead centre, by speed."""
    x, mean, acceleration = rpm(gear.speed), gear.mean_piston_speed, gear.acceleration
    shown, top = shown_guides(gear)
    figure = new_figure(look, 400, stamp, two=True, left=66)
    for guide in shown:
        _guide(figure, look, guide, float(x[0]))
    figure.add_trace(
        scatter(
            x=x, y=drawn(mean, 2), mode="lines", name="mean piston speed",
            line={"color": look.estimate, "width": 2.4},
            hovertemplate="mean piston speed %{y:.1f} m/s<extra></extra>",
        )
    )  # fmt: skip
    figure.add_trace(
        scatter(
            x=x, y=drawn(acceleration, 0), mode="lines", name="acceleration", yaxis="y2",
            line={"color": look.capacity, "width": 2.4, "dash": "dash"},
            customdata=np.round(
                np.stack([acceleration / STANDARD_GRAVITY, gear.piston_inertia / KILO], axis=1), 1
            ),
            hovertemplate="at TDC %{y:,.0f} m/s², %{customdata[0]:,.0f} g; %{customdata[1]:.1f} "
            "kN from the piston<extra></extra>",
        )
    )  # fmt: skip
    speed_axis(figure, float(gear.speed[0]), float(gear.speed[-1]))
    figure.update_yaxes(range=[0, top], title_text="mean piston speed [m/s]")
    figure.update_lower(
        range=[0, 1.12 * float(acceleration.max())], title_text="at TDC [m/s²]", tickformat=",d",
        nticks=4,
    )  # fmt: skip
    published = ", ".join(guide_in_words(g) for g in guides(gear.engine.compression_ignition))
    last = float(gear.speed[-1]) / RPM
    return Picture(
        name="piston",
        title="How fast the piston moves: mean speed, and acceleration at TDC",
        figure=figure.done(),
        alt=(
            f"Mean piston speed rises with engine speed to {mean[-1]:.1f} m/s at {last:.0f} rpm; "
            f"published for {published}: {INDICATOR}. Acceleration at top dead centre rises with "
            f"its square to {acceleration[-1]:,.0f} m/s², "
            f"{acceleration[-1] / STANDARD_GRAVITY:,.0f} g, which takes "
            f"{gear.piston_inertia[-1] / KILO:.1f} kN for the piston alone."
        ),
        columns=(
            speed_column(gear.speed),
            TableColumn(name="mean piston speed", unit="m/s", values=cells(mean), decimals=1),
            TableColumn(
                name="acceleration at TDC", unit="m/s²", values=cells(acceleration), decimals=0
            ),
            TableColumn(
                name="acceleration at TDC", unit="g",
                values=cells(acceleration, STANDARD_GRAVITY), decimals=0,
            ),
            TableColumn(
                name="inertia force of the piston at TDC", unit="kN",
                values=cells(gear.piston_inertia, KILO), decimals=1,
            ),
            TableColumn(
                name="gas load on the crown, mean cycle", unit="kN",
                values=cells(gear.crown.p50, KILO), decimals=0,
            ),
            TableColumn(
                name="gas load on the crown, worst cycle", unit="kN",
                values=cells(gear.crown_worst.p50, KILO), decimals=0,
            ),
        ),
    )  # fmt: skip


def extreme_columns(gear: GearLoads, index: int) -> tuple[TableColumn, ...]:
    """Extremes of every force at one speed of the grid; no columns without a cycle."""
    at = gear.ranges[index]
    if at is None:
        return ()

    def column(name: str, unit: str, decimals: int, of: Callable[[Extreme], float | None],
               found: Sequence[Extreme | None]) -> TableColumn:  # fmt: skip
        values = [None if one is None else of(one) for one in found]
        return TableColumn(name=name, unit=unit, values=values, decimals=decimals)

    def size(one: Extreme) -> float:
        return one.size / KILO

    def angle(one: Extreme) -> float | None:
        return None if one.angle is None else float(np.degrees(one.angle))

    push, pull = [at[f.name].push for f in FORCES], [at[f.name].pull for f in FORCES]
    return (
        TableColumn(name="force", unit="", values=[f.title for f in FORCES]),
        column("push or size", "kN", 1, size, push),
        column("at", "deg", 0, angle, push),
        column("pull", "kN", 1, size, pull),
        column("at", "deg", 0, angle, pull),
    )


def shown_guides(gear: GearLoads) -> tuple[list[PistonSpeedGuide], float]:
    """Guides within reach of a run, the next one above it included, and the axis' end [m/s]."""
    known, most = guides(gear.engine.compression_ignition), float(gear.mean_piston_speed.max())
    above = [g.high for g in known if g.high > most]
    top = 1.1 * max(most, above[0] if above and above[0] < 1.8 * most else 0.0)
    return [g for g in known if g.low < top], top


def _guide(figure: Drawing, look: Look, guide: PistonSpeedGuide, left: float) -> None:
    """A published value as a thin line, or a published range as a shade, with its name."""
    if guide.low == guide.high:
        figure.add_hline(guide.low, line={"color": look.soft, "width": 1, "dash": "dot"})
    else:
        figure.add_shape(
            type="rect", xref="paper", x0=0, x1=1, y0=guide.low, y1=guide.high,
            line={"width": 0}, fillcolor=faded(look.soft, 0.14), layer="below",
        )  # fmt: skip
    write_on(
        figure, look, left, guide.low, guide_in_words(guide), look.soft, xanchor="left",
        yanchor="bottom", xshift=6, font={"size": 12, "color": look.soft},
        bgcolor="rgba(0,0,0,0)",
    )  # fmt: skip
