"""Pictures of the head joint: clamp against gas force, and the joint under a firing load."""

import numpy as np
import numpy.typing as npt
import plotly.graph_objects as go

from torquerisk.files.exports import TableColumn
from torquerisk.show.figure_style import (
    RPM,
    Look,
    Picture,
    Stamp,
    band_traces,
    cells,
    drawn,
    new_figure,
    rpm,
    speed_axis,
    write_on,
)
from torquerisk.study.assessment import Assessment, Band, band

Array = npt.NDArray[np.float64]
KILO = 1e3


def clamp_picture(assessment: Assessment, look: Look, stamp: Stamp) -> Picture:
    """Gas force of the worst normal cycle against the force at which the head lifts, by speed."""
    speed, x = assessment.speed, rpm(assessment.speed)
    head = assessment.model.parts.head
    area = float(np.median(head.sealing_area))
    load = assessment.limits["head_lift"].load
    gas = Band(p05=load.p05 * area, p50=load.p50 * area, p95=load.p95 * area)
    lift = np.quantile(head.lift_pressure() * head.sealing_area, [0.05, 0.5, 0.95]) / KILO
    clamp = np.quantile(head.clamp, [0.05, 0.5, 0.95]) / KILO
    figure = new_figure(look, 360, stamp)
    ends = x[[0, -1]]
    for values, colour in ((lift, look.capacity),):
        for trace in band_traces(
            ends, [round(float(values[0]), 1)] * 2, [round(float(values[2]), 1)] * 2, colour, "lift"
        ):
            figure.add_trace(trace)
        figure.add_trace(
            go.Scatter(
                x=x, y=[round(float(values[1]), 1)] * len(x), mode="lines",
                line={"color": colour, "width": 2, "dash": "dashdot"},
                hovertemplate="head lifts at %{y:.0f} kN<extra></extra>",
            )
        )  # fmt: skip
    low, high = drawn(gas.p05 / KILO, 1), drawn(gas.p95 / KILO, 1)
    for trace in band_traces(x, low, high, look.estimate, "gas force"):
        figure.add_trace(trace)
    figure.add_trace(
        go.Scatter(
            x=x, y=drawn(gas.p50 / KILO, 1), mode="lines", line={"color": look.estimate, "width": 2.4},
            hovertemplate="gas force, worst normal cycle %{y:.0f} kN<extra></extra>",
        )
    )  # fmt: skip
    figure.add_trace(
        go.Scatter(
            x=x, y=[round(float(clamp[1]), 1)] * len(x), mode="lines",
            line={"color": look.soft, "width": 1.4, "dash": "dot"},
            hovertemplate="clamp at rest %{y:.0f} kN<extra></extra>",
        )
    )  # fmt: skip
    at = float(x[-1])
    write_on(
        figure, look, at, float(lift[1]), "head lifts", look.capacity, yanchor="bottom", yshift=3
    )
    write_on(
        figure, look, at, float(clamp[1]), "clamp at rest", look.soft, yanchor="bottom", yshift=3
    )
    k = int(np.argmax(gas.p50))
    write_on(
        figure, look, float(x[k]), float(gas.p50[k]) / KILO, "gas force", look.estimate,
        xanchor="center",
    )  # fmt: skip
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    top = 1.1 * max(float(gas.p95.max()) / KILO, float(lift[2]), float(clamp[1]))
    figure.update_yaxes(
        range=[0, float(np.ceil(top / 10) * 10)], title_text="force per cylinder [kN]"
    )
    return Picture(
        name="clamp",
        title="Head clamp against gas force, one cylinder",
        figure=figure,
        alt=(
            f"Gas force of the worst normal cycle is greatest at {speed[k] / RPM:.0f} rpm: "
            f"{gas.p50[k] / KILO:.0f} kN, range {gas.p05[k] / KILO:.0f} to "
            f"{gas.p95[k] / KILO:.0f}. The head lifts off its ring at {lift[1]:.0f} kN, range "
            f"{lift[0]:.0f} to {lift[2]:.0f}; clamp at rest is {clamp[1]:.0f} kN."
        ),
        columns=(
            TableColumn(name="engine speed", unit="rpm", values=cells(speed, RPM), decimals=0),
            TableColumn(name="gas force, 5 %", unit="kN", values=cells(gas.p05, KILO), decimals=0),
            TableColumn(
                name="gas force, median", unit="kN", values=cells(gas.p50, KILO), decimals=0
            ),
            TableColumn(name="gas force, 95 %", unit="kN", values=cells(gas.p95, KILO), decimals=0),
            TableColumn(
                name="head lifts, median", unit="kN", values=[float(lift[1])] * len(x), decimals=0
            ),
            TableColumn(
                name="clamp at rest, median", unit="kN", values=[float(clamp[1])] * len(x),
                decimals=0,
            ),
        ),
    )  # fmt: skip


def joint_picture(assessment: Assessment, pressure: float, look: Look, stamp: Stamp) -> Picture:
    """Forces in fastener and ring as cylinder pressure rises, with the pressure asked for [Pa].

    Per cylinder: the fasteners gain the load factor's share of the gas force, the clamp loses the
    rest; the ring carries its share of what is left.
    """
    head = assessment.model.parts.head
    lift = band(head.lift_pressure()[None, :])
    count = float(np.median(head.counts.least))
    area, clamp = float(np.median(head.sealing_area)), float(np.median(head.clamp))
    factor = float(np.median(head.load_factor))
    bolt_yield = float(np.median(head.yield_load)) * count / KILO
    highest = 1.35 * max(float(lift.p95[0]), pressure)
    grid = np.linspace(0.0, highest, 60)
    fastener = (clamp + factor * grid * area) / KILO
    left = np.maximum(clamp - (1 - factor) * grid * area, 0.0) / KILO
    x = np.round(grid / 1e5, 1)
    figure = new_figure(look, 360, stamp)
    for name, values, colour, dash in (
        ("in the fasteners", fastener, look.capacity, "dash"),
        ("left on the gasket", left, look.estimate, "solid"),
    ):
        figure.add_trace(
            go.Scatter(
                x=x, y=drawn(values, 1), mode="lines",
                line={"color": colour, "width": 2.4, "dash": dash},
                hovertemplate=f"{name} %{{y:.0f}} kN<extra></extra>",
            )
        )  # fmt: skip
    figure.add_vrect(
        x0=float(lift.p05[0]) / 1e5, x1=float(lift.p95[0]) / 1e5, line={"width": 0},
        fillcolor=f"rgba({int(look.exceeds[1:3], 16)},{int(look.exceeds[3:5], 16)},"
        f"{int(look.exceeds[5:7], 16)},0.12)",
    )  # fmt: skip
    figure.add_vline(x=float(lift.p50[0]) / 1e5, line={"color": look.exceeds, "dash": "dot"})
    figure.add_vline(x=pressure / 1e5, line={"color": look.ink, "width": 2})
    top = 1.15 * max(float(fastener.max()), clamp / KILO)
    if bolt_yield < 1.4 * top:
        figure.add_hline(y=bolt_yield, line={"color": look.soft, "dash": "dashdot"})
        write_on(figure, look, 0.0, bolt_yield, "fasteners yield", look.soft, xanchor="left",
                 yanchor="bottom", yshift=3)  # fmt: skip
        top = max(top, 1.1 * bolt_yield)
    write_on(figure, look, float(x[12]), float(fastener[12]), "in the fasteners", look.capacity,
             xanchor="center", yanchor="bottom", yshift=5)  # fmt: skip
    write_on(figure, look, float(x[12]), float(left[12]), "left on the gasket", look.estimate,
             xanchor="center", yanchor="top", yshift=-5)  # fmt: skip
    write_on(figure, look, float(lift.p50[0]) / 1e5, 0.06 * top, "ring lets go", look.exceeds,
             xanchor="center")  # fmt: skip
    write_on(figure, look, pressure / 1e5, 0.5 * top, "firing", look.ink, xanchor="center")
    figure.update_xaxes(title_text="cylinder pressure [bar]", range=[0, float(x[-1])])
    figure.update_yaxes(title_text="force per cylinder [kN]", range=[0, top])
    return Picture(
        name="joint",
        title="What a firing does to the joint",
        figure=figure,
        alt=(
            f"At {pressure / 1e5:.0f} bar the fasteners of a cylinder carry "
            f"{(clamp + factor * pressure * area) / KILO:.0f} kN and "
            f"{max(clamp - (1 - factor) * pressure * area, 0.0) / KILO:.0f} kN are left on the "
            f"gasket. The ring lets go at {lift.p50[0] / 1e5:.0f} bar, range "
            f"{lift.p05[0] / 1e5:.0f} to {lift.p95[0] / 1e5:.0f}."
        ),
        columns=(
            TableColumn(name="cylinder pressure", unit="bar", values=cells(grid, 1e5), decimals=0),
            TableColumn(name="in the fasteners", unit="kN", values=cells(fastener), decimals=1),
            TableColumn(name="left on the gasket", unit="kN", values=cells(left), decimals=1),
        ),
    )
