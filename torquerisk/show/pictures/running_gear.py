"""Pictures of the running gear: the crankpin's polar load diagram, and how the piston moves."""

from dataclasses import dataclass

import numpy as np

from torquerisk.files.exports import speed_column
from torquerisk.quantities import KILO, RPM, Array
from torquerisk.show.pictures.drawing import Drawing, new_figure, speed_axis
from torquerisk.show.pictures.style import (
    READING,
    Look,
    Picture,
    Stamp,
    column,
    faded,
    rpm,
)
from torquerisk.show.words.running_gear import FRAME, INDICATOR, guide_in_words
from torquerisk.study.answers.results import (
    STANDARD_GRAVITY,
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
        Mark(index=firing, text="firing TDC 0°", before=True),
        Mark(
            index=top if at_overlap else overlap,
            text=f"overlap TDC 360°{f', {size[top]:.0f} kN' if at_overlap else ''}",
            before=False,
        ),
        Mark(index=bottom, text="BDC 180°", before=True),
    ]  # fmt: skip
    if not at_overlap:
        # Towards the middle and above: there the loop is open.
        before = bool(across[top] > 0)
        marks.append(Mark(index=top, text=most, before=before, above=True))
    return marks


def crank_degrees(degrees: float) -> float:
    """An angle of the cycle [deg] with both ends, the overlap, told as 360."""
    return 360.0 if degrees <= -360 else degrees


def polar_picture(
    cycle: MedianCycle, speed: float, look: Look, stamp: Stamp | None, reach: PinReach
) -> Picture:
    """Big-end load over one cycle, in the frame of the turning throw. speed: [rad/s]."""
    degrees, across, along = polar_points(cycle)
    size = np.hypot(across, along)
    half, low, high = frame_of(reach)
    figure = new_figure(look, POLAR_HEIGHT, stamp)
    figure.update_layout(hovermode="closest")
    _rings(figure, look, reach, half, low, high)
    figure.line(
        np.round(across, 2), along, look.capacity,
        "%{customdata[0]:.0f}°: %{customdata[1]:.1f} kN, %{y:.1f} outwards, %{x:.1f} with the "
        "rotation", width=2.2, digits=2, name="load",
        customdata=np.round(np.stack([degrees, size], axis=1), 1),
    )  # fmt: skip
    for mark in polar_marks(degrees, across, along):
        x, y = float(across[mark.index]), float(along[mark.index])
        figure.signs([round(x, 2)], [round(y, 2)], READING, look.ink, size=11, name=mark.text)
        figure.word(x, y, mark.text, look.ink, "left" if mark.before else "right", 9,
                    yshift=14 if mark.above else 0)  # fmt: skip
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
            column("crank angle", "deg", degrees),
            column("outwards on the throw", "kN", along, decimals=2),
            column("across it, with the rotation", "kN", across, decimals=2),
            column("size", "kN", size, decimals=2),
        ),
    )


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
    figure.word(
        -half, low, f"rings {step:g} kN apart", look.soft, "right", 4, yanchor="bottom", yshift=2,
        font={"size": 12, "color": look.soft},
    )  # fmt: skip
    axis = {"color": look.soft, "width": 1}
    figure.add_shape(type="line", x0=-half, x1=half, y0=0, y1=0, line=axis, layer="below")
    figure.add_shape(type="line", x0=0, x1=0, y0=low, y1=high, line=axis, layer="below")


def piston_picture(gear: GearLoads, look: Look, stamp: Stamp | None) -> Picture:
    """Mean piston speed with published guidance, and acceleration at top dead centre, by speed."""
    x, mean, acceleration = rpm(gear.speed), gear.mean_piston_speed, gear.acceleration
    shown, top = shown_guides(gear)
    figure = new_figure(look, 400, stamp, two=True, left=66)
    for guide in shown:
        _guide(figure, look, guide, float(x[0]))
    figure.line(x, mean, look.estimate, "mean piston speed %{y:.1f} m/s", digits=2,
                name="mean piston speed")  # fmt: skip
    figure.line(
        x, acceleration, look.capacity,
        "at TDC %{y:,.0f} m/s², %{customdata[0]:,.0f} g; %{customdata[1]:.1f} kN from the piston",
        dash="dash", digits=0, name="acceleration", yaxis="y2",
        customdata=np.round(
            np.stack([acceleration / STANDARD_GRAVITY, gear.piston_inertia / KILO], axis=1), 1
        ),
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
            column("mean piston speed", "m/s", mean, decimals=1),
            column("acceleration at TDC", "m/s²", acceleration),
            column("acceleration at TDC", "g", acceleration, STANDARD_GRAVITY),
            column("inertia force of the piston at TDC", "kN", gear.piston_inertia, KILO, 1),
            column("gas load on the crown, mean cycle", "kN", gear.crown.p50, KILO),
            column("gas load on the crown, worst cycle", "kN", gear.crown_worst.p50, KILO),
        ),
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
        figure.hline(guide.low, look.soft, 1, "dot")
    else:
        figure.hrect(guide.low, guide.high, faded(look.soft, 0.14))
    figure.word(
        left, guide.low, guide_in_words(guide), look.soft, "right", 6, yanchor="bottom",
        font={"size": 12, "color": look.soft}, bgcolor="rgba(0,0,0,0)",
    )  # fmt: skip
