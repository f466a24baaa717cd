"""Pictures of the cylinder and the rod: peak pressure, rod forces, and one cycle in detail."""

from collections.abc import Sequence

import numpy as np

from torquerisk.files.exports import TableColumn, speed_column
from torquerisk.quantities import BAR, KILO, RPM
from torquerisk.show.pictures.style import (
    Drawing,
    Look,
    Picture,
    Stamp,
    band_traces,
    cells,
    drawn,
    new_figure,
    rpm,
    scatter,
    speed_axis,
    write_on,
)
from torquerisk.show.words.prose import about_speed
from torquerisk.study.answers.results import Assessment, MedianCycle


def _round_up(value: float, step: float) -> float:
    return float(np.ceil(value / step) * step)


def pressure_picture(assessment: Assessment, look: Look, stamp: Stamp) -> Picture:
    """Peak cylinder pressure by speed with its range, and the worst normal cycle of a pull."""
    speed, x = assessment.speed, rpm(assessment.speed)
    peak, worst = assessment.peak_pressure, assessment.worst_pressure
    figure = new_figure(look, 320, stamp)
    low, high = drawn(peak.p05 / BAR, 1), drawn(peak.p95 / BAR, 1)
    for trace in band_traces(x, low, high, look.estimate, "range"):
        figure.add_trace(trace)
    figure.add_trace(
        scatter(
            x=x, y=drawn(worst.p50 / BAR, 1), mode="lines",
            line={"color": look.estimate, "width": 1.6, "dash": "dot"},
            hovertemplate="worst normal cycle %{y:.0f} bar<extra></extra>",
        )
    )  # fmt: skip
    figure.add_trace(
        scatter(
            x=x, y=drawn(peak.p50 / BAR, 1), mode="lines",
            line={"color": look.estimate, "width": 2.4},
            customdata=np.round(np.stack([peak.p05, peak.p95], axis=1) / BAR, 1),
            hovertemplate="mean cycle %{y:.0f} bar (%{customdata[0]:.0f} to "
            "%{customdata[1]:.0f})<extra></extra>",
        )
    )  # fmt: skip
    k = len(x) // 2
    write_on(
        figure, look, float(x[k]), float(worst.p50[k] / BAR), "worst normal cycle", look.estimate,
        xanchor="center", yanchor="bottom", yshift=4,
    )  # fmt: skip
    write_on(
        figure, look, float(x[k]), float(peak.p50[k] / BAR), "mean cycle", look.estimate,
        xanchor="center", yanchor="top", yshift=-4,
    )  # fmt: skip
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    top = _round_up(1.08 * float(max(worst.p50.max(), peak.p95.max())) / BAR, 10)
    figure.update_yaxes(range=[0, top], title_text="peak cylinder pressure [bar abs]")
    p = int(np.argmax(peak.p50))
    return Picture(
        name="pressure",
        title="Peak cylinder pressure by engine speed",
        figure=figure.done(),
        alt=(
            f"Peak cylinder pressure of the mean cycle is greatest at {speed[p] / RPM:.0f} rpm: "
            f"{peak.p50[p] / BAR:.0f} bar, range {peak.p05[p] / BAR:.0f} to "
            f"{peak.p95[p] / BAR:.0f}. The worst normal cycle of a pull lies above it."
        ),
        columns=(
            speed_column(speed),
            TableColumn(
                name="mean cycle, 5 %", unit="bar", values=cells(peak.p05, BAR), decimals=0
            ),
            TableColumn(
                name="mean cycle, median", unit="bar", values=cells(peak.p50, BAR), decimals=0
            ),
            TableColumn(
                name="mean cycle, 95 %", unit="bar", values=cells(peak.p95, BAR), decimals=0
            ),
            TableColumn(
                name="worst normal cycle, median", unit="bar", values=cells(worst.p50, BAR),
                decimals=0,
            ),
            TableColumn(
                name="worst normal cycle, 95 %", unit="bar", values=cells(worst.p95, BAR),
                decimals=0,
            ),
        ),
    )  # fmt: skip


def rod_picture(
    assessment: Assessment,
    look: Look,
    stamp: Stamp,
    crossings: Sequence[tuple[float, str]] = (),
) -> Picture:
    """Rod compression (gas) above the line and rod tension (inertia) below it, by speed.

    crossings: speeds [rad/s] within the run at which inertia overtakes gas force, with their words.
    """
    speed, x = assessment.speed, rpm(assessment.speed)
    push, pull = assessment.rod_compression / KILO, assessment.rod_tension / KILO
    figure = new_figure(look, 300, stamp)
    figure.add_hline(y=0, line={"color": look.soft, "width": 1})
    for values, colour, dash, word in (
        (push, look.estimate, "solid", "pushed"),
        (-pull, look.capacity, "dash", "pulled"),
    ):
        figure.add_trace(
            scatter(
                x=x, y=drawn(values, 2), mode="lines", fill="tozeroy",
                fillcolor=f"rgba({_rgb(colour)},0.10)",
                line={"color": colour, "width": 2.2, "dash": dash},
                customdata=np.round(np.abs(values), 1),
                hovertemplate=f"{word} with %{{customdata:.0f}} kN<extra></extra>",
            )
        )  # fmt: skip
    ends = [-_round_up(1.15 * float(pull.max()), 5), _round_up(1.1 * float(push.max()), 5)]
    for row, (at, words) in enumerate(crossings):
        figure.add_vline(at / RPM, line={"color": look.ink, "width": 1, "dash": "dot"})
        write_on(
            figure, look, at / RPM, ends[1], f"{about_speed(at)}:<br>{words}", look.ink,
            yanchor="top", xanchor="right" if at > speed.mean() else "left",
            xshift=-4 if at > speed.mean() else 4, yshift=-34 * row,
        )  # fmt: skip
    k = len(x) // 2
    write_on(
        figure, look, float(x[k]), 0.5 * float(push[k]), "pushed by gas near firing", look.estimate,
        xanchor="center",
    )  # fmt: skip
    write_on(
        figure, look, float(x[-1]), -0.5 * float(pull[-1]), "pulled by its own mass", look.capacity,
    )  # fmt: skip
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
            TableColumn(name="rod compression", unit="kN", values=cells(push), decimals=1),
            TableColumn(name="rod tension", unit="kN", values=cells(pull), decimals=1),
        ),
    )


def _rgb(colour: str) -> str:
    return ",".join(str(int(colour[k : k + 2], 16)) for k in (1, 3, 5))


def _angle_axis(figure: Drawing, low: float, high: float, step: float) -> None:
    figure.update_xaxes(
        title_text="crank angle after firing dead centre [deg]",
        range=[low, high], dtick=step, tickformat="d",
    )  # fmt: skip


def cycle_picture(
    cycle: MedianCycle, speed: float, look: Look, stamp: Stamp, pressure_top: float
) -> Picture:
    """Cylinder pressure around firing at one speed with its range. pressure_top: [Pa]."""
    degrees = np.degrees(cycle.angle)
    near = np.flatnonzero((degrees >= -120) & (degrees <= 140))
    near = near[:: max(1, len(near) // 260)]
    x = np.asarray(np.round(degrees[near], 1), dtype=float)
    figure = new_figure(look, 330, stamp)
    low, high = cycle.pressure_low[near] / BAR, cycle.pressure_high[near] / BAR
    for trace in band_traces(x, drawn(low, 1), drawn(high, 1), look.estimate, "range"):
        figure.add_trace(trace)
    pressure = cycle.pressure[near] / BAR
    figure.add_trace(
        scatter(
            x=x, y=drawn(pressure, 1), mode="lines", line={"color": look.estimate, "width": 2.4},
            customdata=np.round(np.stack([low, high], axis=1), 1),
            hovertemplate="%{x:.0f}°: %{y:.0f} bar (%{customdata[0]:.0f} to "
            "%{customdata[1]:.0f})<extra></extra>",
        )
    )  # fmt: skip
    figure.update_layout(hovermode="x")
    figure.add_vline(x=0, line={"color": look.grid, "width": 1})
    top = int(np.argmax(pressure))
    write_on(
        figure, look, float(x[top]), float(pressure[top]),
        f"{pressure[top]:.0f} bar at {x[top]:.0f}°", look.estimate, xanchor="left", xshift=10,
    )  # fmt: skip
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
            TableColumn(name="crank angle", unit="deg", values=cells(x), decimals=0),
            TableColumn(name="pressure, low", unit="bar", values=cells(low), decimals=1),
            TableColumn(name="pressure, median", unit="bar", values=cells(pressure), decimals=1),
            TableColumn(name="pressure, high", unit="bar", values=cells(high), decimals=1),
        ),
    )


def forces_picture(
    cycle: MedianCycle, speed: float, look: Look, stamp: Stamp, force_top: float
) -> Picture:
    """Rod force, side thrust and big-end force over the whole cycle. force_top: [N]."""
    step = max(1, len(cycle.angle) // 360)
    x = np.asarray(np.round(np.degrees(cycle.angle[::step]), 1), dtype=float)
    figure = new_figure(look, 330, stamp)
    figure.update_layout(hovermode="x unified")
    figure.add_hline(y=0, line={"color": look.soft, "width": 1})
    lines = (
        ("along the rod", cycle.rod_force[::step] / KILO, look.estimate, "solid"),
        ("on the big end", cycle.big_end[::step] / KILO, look.capacity, "dash"),
        ("on the cylinder wall", cycle.side_thrust[::step] / KILO, look.holds, "dot"),
    )
    for name, values, colour, dash in lines:
        figure.add_trace(
            scatter(
                x=x, y=drawn(values, 2), mode="lines",
                line={"color": colour, "width": 2, "dash": dash},
                hovertemplate=f"{name} %{{y:.1f}} kN<extra></extra>",
            )
        )  # fmt: skip
    rod, big, wall = (values for _, values, _, _ in lines)
    first = int(np.argmax(rod))
    write_on(
        figure, look, float(x[first]), float(rod[first]), "along the rod", look.estimate,
        xanchor="right", xshift=-10,
    )  # fmt: skip
    late = int(np.argmin(np.abs(x - 270)))
    write_on(
        figure, look, float(x[late]), float(big[late]), "on the big end", look.capacity,
        xanchor="center", yanchor="bottom", yshift=5,
    )  # fmt: skip
    side = int(np.argmin(np.abs(x - 45)))
    write_on(
        figure, look, float(x[side]), min(float(wall[side]), 0.0), "on the cylinder wall",
        look.holds, xanchor="left", yanchor="top", yshift=-4,
    )  # fmt: skip
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
            TableColumn(name="crank angle", unit="deg", values=cells(x), decimals=0),
            TableColumn(name="along the rod", unit="kN", values=cells(rod), decimals=2),
            TableColumn(name="on the cylinder wall", unit="kN", values=cells(wall), decimals=2),
            TableColumn(name="on the big end", unit="kN", values=cells(big), decimals=2),
        ),
    )
