"""The report's part on the running gear: what is said, extremes with angles, polar diagrams."""

from typing import Any

import numpy as np
from markupsafe import Markup

from torquerisk.show.pictures import svg
from torquerisk.show.pictures.running_gear import (
    crank_degrees,
    frame_of,
    polar_marks,
    polar_points,
    ring_step,
    rings_in_words,
)
from torquerisk.show.pictures.svg import Panel
from torquerisk.show.report.parts import Table
from torquerisk.show.report.pictures import Still
from torquerisk.show.words import prose, running_gear
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import Assessment, GearLoads, MedianCycle, PinReach

LEFT, TOP, BELOW, TALL = 40.0, 24.0, 40.0, 235.0
EDGE = 6.0


def gear_part(a: Assessment) -> dict[str, Any]:
    """Everything that the template asks of the running gear."""
    answers = answers_of(a)
    gear = answers.gear
    stills = []
    if gear.reach is not None:
        stills = [
            polar(answers.cycle(k), name, number, gear.reach)
            for number, (name, k) in enumerate(running_gear.told_speeds(a))
            if gear.ranges[k] is not None
        ]
    return {
        "told": [
            running_gear.guidance_in_words(gear),
            " ".join(running_gear.crossover_sentences(gear)),
            running_gear.crown_in_words(gear),
            *running_gear.missing_in_words(gear),
        ],
        "table": extremes_table(a, gear),
        "signs": f"{running_gear.SIGNS} {running_gear.basis_in_words(a.engine)}",
        "frame": running_gear.FRAME,
        "by_speed": speed_table(a, gear),
        "stills": stills,
    }


def extremes_table(a: Assessment, gear: GearLoads) -> Table:
    """Every force at the told speeds, push and pull with their angles."""
    told, rows = running_gear.told_cells(a, gear)
    headings = [("force", "")]
    for k in told:
        at = prose.speed_in_words(float(a.speed[k]))
        headings += [(f"{at}: push or size", "kN"), ("at", "°"), ("pull", "kN"), ("at", "°")]
    return Table(
        title="Greatest forces over 720 degrees, with their crank angle", headings=headings,
        rows=rows, whole=True,
    )  # fmt: skip


def speed_table(a: Assessment, gear: GearLoads) -> Table:
    """Motion and loads by speed, thinned."""
    return Table(
        title="How the piston moves and what it is loaded with, by speed",
        headings=running_gear.SPEED_HEADINGS,
        rows=running_gear.speed_rows(gear, running_gear.key_speeds(a)),
        kind="numbers",
        whole=True,
    )


def polar(cycle: MedianCycle, name: str, number: int, reach: PinReach) -> Still:
    """Big-end load over one cycle in the frame of the turning throw, at equal scales."""
    degrees, across, along = polar_points(cycle)
    size = np.hypot(across, along)
    half, low, high = frame_of(reach)
    scale = min((svg.NARROW - LEFT - EDGE) / (2 * half), TALL / (high - low))
    middle = LEFT + (svg.NARROW - LEFT - EDGE) / 2
    panel = Panel(
        left=middle - half * scale, right=middle + half * scale, top=TOP,
        bottom=TOP + (high - low) * scale, x_low=-half, x_high=half, y_low=low, y_high=high,
    )  # fmt: skip
    step, zero = ring_step(reach), (panel.x(0.0), panel.y(0.0))
    furthest = float(np.hypot(half, max(-low, high)))
    inside = [_ring(*zero, k * step * scale) for k in range(1, int(furthest / step) + 1)]
    inside += [
        svg.straight(panel.left, zero[1], panel.right, zero[1], "axis"),
        svg.straight(zero[0], panel.top, zero[0], panel.bottom, "axis"),
        svg.line(panel, across, along, "capacity"),
    ]
    ticks = svg.ticks(-half, half, 5)
    parts = [
        svg.axes(panel, "", "along the throw, outwards [kN]", across=False, grid=False),
        *(
            svg.word(panel.x(v), panel.bottom + 17, told, anchor="middle", kind="tick")
            for v, told in zip(ticks, svg.tick_words(ticks), strict=True)
        ),
        svg.word(panel.right, panel.bottom + 33, "across the throw, with the rotation [kN]",
                 anchor="end", kind="title"),
        svg.clipped(panel, f"polar-{number}", inside),
        svg.word(panel.left + 4, panel.bottom - 6, rings_in_words(reach), kind="tick"),
    ]  # fmt: skip
    for mark in polar_marks(degrees, across, along):
        x, y = panel.x(float(across[mark.index])), panel.y(float(along[mark.index]))
        parts.append(svg.mark(x, y, "ink", mark.symbol))
        aside, up = (-8 if mark.before else 8), (14 if mark.above else 0)
        anchor = "end" if mark.before else "start"
        parts.append(svg.word(x + aside, y + 4 - up, mark.text, "ink", anchor))
    top = int(np.argmax(size))
    firing, overlap = (int(np.argmin(np.abs(degrees - at))) for at in (0, 360))
    at = prose.speed_in_words(cycle.speed)
    alt = (
        f"Polar diagram of the big-end load at {at}. {running_gear.FRAME} Greatest "
        f"{size[top]:.0f} kN at {crank_degrees(degrees[top]):.0f} degrees; "
        f"{size[firing]:.0f} kN at firing dead centre, {size[overlap]:.0f} kN at overlap."
    )
    drawn = svg.svg(f"polar{number}", svg.NARROW, panel.bottom + BELOW, alt, parts)
    # Every text inside has been escaped by the writer of the pictures; pairs show narrow ones only.
    return Still(
        name=f"polar{number}", title=f"Big-end load at {name}, {at}", alt=alt,
        pictures=Markup(drawn),
    )  # fmt: skip


def _ring(x: float, y: float, radius: float) -> str:
    """A ring of equal load, in pixels."""
    return (
        f'<circle class="grid hollow" cx="{svg.number(x)}" cy="{svg.number(y)}" '
        f'r="{svg.number(radius)}"/>'
    )
