"""Pictures of the cylinder and the rod: peak pressure, rod forces, and one cycle in detail."""

from collections.abc import Sequence

import numpy as np

from torquerisk.files.exports import TableColumn, speed_column
from torquerisk.quantities import BAR, KILO, RPM, Array
from torquerisk.show.pictures.drawing import Drawing, new_figure, speed_axis
from torquerisk.show.pictures.style import Look, Picture, Stamp, column, faded, rpm
from torquerisk.show.words.prose import about_speed
from torquerisk.study.answers.results import Assessment, MedianCycle


def _round_up(value: float, step: float) -> float:
    return float(np.ceil(value / step) * step)


def pressure_picture(assessment: Assessment, look: Look, stamp: Stamp | None) -> Picture:
    """Peak cylinder pressure by speed with its range, and the worst normal cycle."""
    speed, x = assessment.speed, rpm(assessment.speed)
    peak, worst = assessment.peak_pressure, assessment.worst_pressure
    figure = new_figure(look, 320, stamp)
    figure.band(x, peak.p05 / BAR, peak.p95 / BAR, look.estimate)
    figure.line(x, worst.p50 / BAR, look.estimate, "worst normal cycle %{y:.0f} bar", dash="dot",
                width=1.6)  # fmt: skip
    figure.line(
        x, peak.p50 / BAR, look.estimate,
        "mean cycle %{y:.0f} bar (%{customdata[0]:.0f} to %{customdata[1]:.0f})",
        customdata=np.round(np.stack([peak.p05, peak.p95], axis=1) / BAR, 1),
    )  # fmt: skip
    k = len(x) // 2
    figure.word(x[k], worst.p50[k] / BAR, "worst normal cycle", look.estimate, "above", 4)
    figure.word(x[k], peak.p50[k] / BAR, "mean cycle", look.estimate, "below", 4)
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    top = _round_up(1.08 * float(max(worst.p50.max(), peak.p95.max())) / BAR, 10)
    figure.update_yaxes(range=[0, top], title_text="peak pressure [bar abs]")
    p = int(np.argmax(peak.p50))
    return Picture(
        name="pressure",
        title="Peak cylinder pressure by engine speed",
        figure=figure.done(),
        alt=(
            f"Peak cylinder pressure of the mean cycle is greatest at {speed[p] / RPM:.0f} rpm: "
            f"{peak.p50[p] / BAR:.0f} bar, range {peak.p05[p] / BAR:.0f} to "
            f"{peak.p95[p] / BAR:.0f}. The worst normal cycle lies above it."
        ),
        columns=(
            speed_column(speed),
            column("mean cycle, 5 %", "bar", peak.p05, BAR),
            column("mean cycle, median", "bar", peak.p50, BAR),
            column("mean cycle, 95 %", "bar", peak.p95, BAR),
            column("worst normal cycle, median", "bar", worst.p50, BAR),
            column("worst normal cycle, 95 %", "bar", worst.p95, BAR),
        ),
    )


def rod_picture(
    assessment: Assessment,
    look: Look,
    stamp: Stamp | None,
    crossings: Sequence[tuple[float, str]] = (),
) -> Picture:
    """Rod compression (gas) above the line and rod tension (inertia) below it, by speed.

    crossings: speeds [rad/s] within the run at which inertia overtakes gas force, with their words.
    """
    speed, x = assessment.speed, rpm(assessment.speed)
    push, pull = assessment.rod_compression / KILO, assessment.rod_tension / KILO
    figure = new_figure(look, 300, stamp)
    figure.hline(0, look.soft, 1)
    for values, colour, dash, word in (
        (push, look.estimate, "solid", "pushed"),
        (-pull, look.capacity, "dash", "pulled"),
    ):
        figure.line(
            x, values, colour, f"{word} with %{{customdata:.0f}} kN", dash=dash, width=2.2,
            digits=2, fill="tozeroy", fillcolor=faded(colour, 0.1),
            customdata=np.round(np.abs(values), 1),
        )  # fmt: skip
    ends = [-_round_up(1.15 * float(pull.max()), 5), _round_up(1.1 * float(push.max()), 5)]
    for row, (at, words) in enumerate(crossings):
        figure.vline(at / RPM, look.ink, 1, "dot")
        figure.word(
            at / RPM, ends[1], f"{about_speed(at)}:<br>{words}", look.ink,
            "left" if at > speed.mean() else "right", 4, yanchor="top", yshift=-34 * row,
        )  # fmt: skip
    k = len(x) // 2
    figure.word(x[k], 0.5 * push[k], "pushed by gas near firing", look.estimate)
    figure.word(x[-1], -0.5 * pull[-1], "pulled by its own mass", look.capacity, "left")
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    figure.update_yaxes(range=ends, title_text="force along the rod [kN]")
    marked = "".join(f" At {about_speed(at)} {words}." for at, words in crossings)
    a, b = int(np.argmax(push)), int(np.argmax(pull))
    return Picture(
        name="rod",
        title="Rod compression and tension by engine speed",
        figure=figure.done(),
        alt=(
            f"Rod compression is greatest at {speed[a] / RPM:.0f} rpm, {push[a]:.0f} kN; rod "
            f"tension at {speed[b] / RPM:.0f} rpm, {pull[b]:.0f} kN.{marked}"
        ),
        columns=(
            speed_column(speed),
            column("rod compression", "kN", push, decimals=1),
            column("rod tension", "kN", pull, decimals=1),
        ),
    )


def _angle_axis(figure: Drawing, low: float, high: float, step: float) -> None:
    figure.update_xaxes(
        title_text="crank angle after firing dead centre [deg]",
        range=[low, high], dtick=step, tickformat="d",
    )  # fmt: skip


def _angle_column(degrees: Array) -> TableColumn:
    return column("crank angle", "deg", degrees)


def cycle_picture(
    cycle: MedianCycle, speed: float, look: Look, stamp: Stamp | None, pressure_top: float
) -> Picture:
    """Cylinder pressure around firing at one speed with its range. pressure_top: [Pa]."""
    degrees = np.degrees(cycle.angle)
    near = np.flatnonzero((degrees >= -120) & (degrees <= 140))
    near = near[:: max(1, len(near) // 260)]
    x = np.asarray(np.round(degrees[near], 1), dtype=float)
    low, high = cycle.pressure_low[near] / BAR, cycle.pressure_high[near] / BAR
    pressure = cycle.pressure[near] / BAR
    figure = new_figure(look, 330, stamp)
    figure.band(x, low, high, look.estimate)
    figure.line(
        x, pressure, look.estimate,
        "%{x:.0f}°: %{y:.0f} bar (%{customdata[0]:.0f} to %{customdata[1]:.0f})",
        customdata=np.round(np.stack([low, high], axis=1), 1),
    )  # fmt: skip
    figure.update_layout(hovermode="x")
    figure.vline(0, look.grid, 1)
    top = int(np.argmax(pressure))
    told = f"{pressure[top]:.0f} bar at {x[top]:.0f}°"
    figure.word(x[top], pressure[top], told, look.estimate, "right", 10)
    _angle_axis(figure, -120, 140, 40)
    figure.update_yaxes(
        range=[0, _round_up(1.05 * pressure_top / BAR, 10)],
        title_text="cylinder pressure [bar abs]",
    )
    return Picture(
        name="cycle",
        title=f"Cylinder pressure at {speed / RPM:,.0f} rpm",
        figure=figure.done(),
        alt=(
            f"Cylinder pressure over crank angle at {speed / RPM:.0f} rpm: it peaks at "
            f"{pressure[top]:.0f} bar, {x[top]:.0f} degrees after firing dead centre."
        ),
        columns=(
            _angle_column(x),
            column("pressure, low", "bar", low, decimals=1),
            column("pressure, median", "bar", pressure, decimals=1),
            column("pressure, high", "bar", high, decimals=1),
        ),
    )


def forces_picture(
    cycle: MedianCycle, speed: float, look: Look, stamp: Stamp | None, force_top: float
) -> Picture:
    """Rod force, side thrust and big-end force over the whole cycle. force_top: [N]."""
    step = max(1, len(cycle.angle) // 360)
    x = np.asarray(np.round(np.degrees(cycle.angle[::step]), 1), dtype=float)
    rod, big, wall = (v[::step] / KILO for v in (cycle.rod_force, cycle.big_end, cycle.side_thrust))
    figure = new_figure(look, 330, stamp)
    figure.hline(0, look.soft, 1)
    for name, values, colour, dash in (
        ("along the rod", rod, look.estimate, "solid"),
        ("on the big end", big, look.capacity, "dash"),
        ("on the cylinder wall", wall, look.ink, "dot"),
    ):
        hover = f"{name} %{{y:.1f}} kN"
        figure.line(x, values, colour, hover, dash=dash, width=2, digits=2)
    first, late, side = (int(np.argmin(np.abs(x - at))) for at in (x[np.argmax(rod)], 270, 45))
    figure.word(x[first], rod[first], "along the rod", look.estimate, "left", 10)
    figure.word(x[late], big[late], "on the big end", look.capacity, "above", 5)
    figure.word(x[side], min(float(wall[side]), 0.0), "on the cylinder wall", look.ink, "below", 4,
                xanchor="left")  # fmt: skip
    _angle_axis(figure, -360, 360, 90)
    bottom = min(-0.35 * force_top / KILO, 1.1 * float(rod.min()))
    figure.update_yaxes(
        range=[-_round_up(-bottom, 5), _round_up(1.05 * force_top / KILO, 5)],
        title_text="force [kN]",
    )
    return Picture(
        name="forces",
        title=f"Forces over one cycle at {speed / RPM:,.0f} rpm",
        figure=figure.done(),
        alt=(
            f"Forces over two crank turns at {speed / RPM:.0f} rpm. Along the rod up to "
            f"{rod.max():.0f} kN pushed and {-rod.min():.0f} kN pulled; on the big end up to "
            f"{big.max():.0f} kN; on the wall up to {np.abs(wall).max():.1f} kN."
        ),
        columns=(
            _angle_column(x),
            column("along the rod", "kN", rod, decimals=2),
            column("on the cylinder wall", "kN", wall, decimals=2),
            column("on the big end", "kN", big, decimals=2),
        ),
    )
