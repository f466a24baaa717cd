"""Pictures of the head joint: clamp against gas force, choices of fasteners, and a firing load."""

from collections.abc import Sequence

import numpy as np

from torquerisk.files.exports import TableColumn, speed_column
from torquerisk.quantities import BAR, KILO, RPM
from torquerisk.show.pictures.style import (
    Look,
    Picture,
    Stamp,
    band_traces,
    cells,
    drawn,
    faded,
    new_figure,
    plain,
    rpm,
    scatter,
    speed_axis,
    write_on,
)
from torquerisk.show.words.prose import Units, in_units, torque_unit
from torquerisk.study.answers.results import HeadCapacity, StudBench, StudChoice, band


def clamp_picture(bench: StudBench, choice: StudChoice, look: Look, stamp: Stamp) -> Picture:
    """Clamp per fastener that the curve needs, by speed, against what two fastenings give.

    Needed: at the accepted chance. Given: as the joint stands, and by the choice; 5 to 95 % of
    the simulated joints.
    """
    speed, x = bench.speed, rpm(bench.speed)
    needed = bench.required_by_speed / KILO
    count = bench.counts.least
    gas = bench.gas_force / count / KILO
    figure = new_figure(look, 380, stamp)
    ends = [float(x[0]), float(x[-1])]
    given = [("as it stands", bench.present, look.capacity, "dashdot")]
    if choice is not bench.present:
        given.append(("with the choice", choice, look.holds, "dot"))
    for name, one, colour, dash in given:
        low, middle, high = (v / KILO for v in (one.clamp.p05, one.clamp.p50, one.clamp.p95))
        for trace in band_traces(ends, [round(low, 1)] * 2, [round(high, 1)] * 2, colour, name):
            figure.add_trace(trace)
        figure.add_trace(
            scatter(
                x=x, y=[round(middle, 1)] * len(x), mode="lines",
                line={"color": colour, "width": 2, "dash": dash},
                hovertemplate=f"{name} %{{y:.0f}} kN ({low:.0f} to {high:.0f})<extra></extra>",
            )
        )  # fmt: skip
        write_on(figure, look, ends[1], middle, name, colour, yanchor="bottom", yshift=3)
    for name, values, colour, dash, width in (
        ("gas force, shared out", gas, look.soft, "dot", 1.6),
        ("clamp needed", needed, look.estimate, "solid", 2.6),
    ):
        figure.add_trace(
            scatter(
                x=x, y=drawn(values, 1), mode="lines",
                line={"color": colour, "width": width, "dash": dash},
                hovertemplate=f"{name} %{{y:.0f}} kN<extra></extra>",
            )
        )  # fmt: skip
        k = int(np.argmax(values))
        write_on(figure, look, float(x[k]), float(values[k]), name, colour, xanchor="center",
                 yanchor="bottom", yshift=5)  # fmt: skip
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    tallest = max(float(needed.max()), *(one.clamp.p95 / KILO for _, one, _, _ in given))
    figure.update_yaxes(
        range=[0, float(np.ceil(1.14 * tallest / 10) * 10)], title_text="force per fastener [kN]"
    )
    present = bench.present.clamp
    return Picture(
        name="clamp",
        title="Clamp needed against clamp given, per fastener",
        figure=figure.done(),
        alt=(
            f"The curve needs most clamp at {bench.worst_speed / RPM:.0f} rpm: "
            f"{bench.required_clamp_per_fastener / KILO:.0f} kN per fastener. As it stands a "
            f"fastener gives {present.p50 / KILO:.0f} kN, range {present.p05 / KILO:.0f} to "
            f"{present.p95 / KILO:.0f}; the choice gives {choice.clamp.p50 / KILO:.0f} kN, range "
            f"{choice.clamp.p05 / KILO:.0f} to {choice.clamp.p95 / KILO:.0f}."
        ),
        columns=(
            speed_column(speed),
            TableColumn(name="gas force per fastener", unit="kN", values=cells(gas), decimals=0),
            TableColumn(name="clamp needed", unit="kN", values=cells(needed), decimals=0),
            TableColumn(
                name="clamp as it stands, median", unit="kN", decimals=0,
                values=[present.p50 / KILO] * len(x),
            ),
            TableColumn(
                name="clamp with the choice, median", unit="kN", decimals=0,
                values=[choice.clamp.p50 / KILO] * len(x),
            ),
        ),
    )  # fmt: skip


def choices_picture(
    bench: StudBench, shown: Sequence[StudChoice], look: Look, stamp: Stamp
) -> Picture:
    """Clamp of each fastening with its range against the clamp needed, mildest change on top."""
    names = [choice_name(bench, c, look.units) for c in shown]
    figure = new_figure(look, 96 + 25 * len(shown), stamp, left=172)
    figure.update_layout(margin={"l": 172, "r": 14, "t": 26, "b": 62}, hovermode="closest")
    needed = bench.required_clamp_per_fastener / KILO
    figure.add_vline(x=needed, line={"color": look.estimate, "width": 2})
    for held, symbol, colour, word in (
        (True, "circle", look.holds, "holds"),
        (False, "diamond", look.exceeds, "does not hold"),
    ):
        chosen = [k for k, c in enumerate(shown) if c.holds == held]
        if not chosen:
            continue
        low, middle, high = (
            np.array([getattr(shown[k].clamp, p) for k in chosen]) / KILO
            for p in ("p05", "p50", "p95")
        )
        figure.add_trace(
            scatter(
                x=drawn(middle, 1), y=chosen, mode="markers",
                error_x={"type": "data", "symmetric": False, "array": drawn(high - middle, 1),
                         "arrayminus": drawn(middle - low, 1), "thickness": 3, "width": 0,
                         "color": faded(colour, 0.55)},
                marker={"symbol": symbol, "size": 10, "color": colour,
                        "line": {"width": 1, "color": look.paper}},
                text=[f"{plain(names[k])}: {word}; first to fail, "
                      f"{shown[k].first_to_fail.value}" for k in chosen],
                hovertemplate="%{text}, %{x:.0f} kN<extra></extra>",
            )
        )  # fmt: skip
    write_on(figure, look, needed, -0.9, f"needed {needed:.0f} kN", look.estimate,
             xanchor="center")  # fmt: skip
    figure.update_yaxes(
        range=[len(shown) - 0.4, -1.4], tickvals=list(range(len(shown))),
        ticktext=[plain(n) for n in names], showgrid=False, ticks="", showline=False,
        tickfont={"size": 12, "color": look.ink},
    )  # fmt: skip
    most = max(needed, *(c.clamp.p95 / KILO for c in shown))
    least = min(needed, *(c.clamp.p05 / KILO for c in shown))
    figure.update_xaxes(
        range=[max(0.0, least - 0.08 * (most - least)), most + 0.06 * (most - least)],
        title_text="clamp per fastener [kN]", showgrid=True, nticks=7,
    )  # fmt: skip
    return Picture(
        name="choices",
        title="Clamp of each choice, mildest change on top",
        figure=figure.done(),
        alt=(
            f"{len(shown)} fastenings with the range of clamp each gives, against "
            f"{needed:.0f} kN needed. "
            + "; ".join(f"{n} {'holds' if c.holds else 'does not hold'}"
                        for n, c in zip(names, shown, strict=True))
            + "."
        ),
        columns=choice_columns(bench, shown, look.units),
    )  # fmt: skip


def choice_name(bench: StudBench, choice: StudChoice, units: Units = Units.SI) -> str:
    """A fastening in a few words: thread, class, how it is tightened."""
    made = choice.fastening
    name = f"{made.thread.designation} {made.class_word}, {in_units(made.short, units)}"
    return f"now: {name}" if choice is bench.present else name


def choice_columns(
    bench: StudBench, shown: Sequence[StudChoice], units: Units = Units.SI
) -> tuple[TableColumn, ...]:
    """The table of choices."""
    unit, size = torque_unit(units)
    draws = len(bench.present.pressure_held)

    def of(chance: float) -> str:
        count = round(chance * draws)
        return "<1" if count <= 0 else f">{draws - 1:,}" if count >= draws else f"{count:,}"

    return (
        TableColumn(name="thread", unit="",
                    values=[c.fastening.thread.designation for c in shown]),
        TableColumn(name="class", unit="", values=[c.fastening.class_word for c in shown]),
        TableColumn(name="tightened", unit="",
                    values=[in_units(c.fastening.short, units) for c in shown]),
        TableColumn(name="holds new", unit="", values=["yes" if c.holds else "no" for c in shown]),
        TableColumn(name="holds aged", unit="",
                    values=["yes" if c.holds_aged else "no" for c in shown]),
        TableColumn(name="clamp", unit="kN", decimals=0,
                    values=[c.clamp.p50 / KILO for c in shown]),
        TableColumn(name=f"lifts, of {draws:,}", unit="",
                    values=[of(c.lift_chance) for c in shown]),
        TableColumn(name=f"lifts aged, of {draws:,}", unit="",
                    values=[of(c.lift_chance_aged) for c in shown]),
        TableColumn(name="yield, load over strength", unit="1", decimals=2,
                    values=[c.yield_utilisation for c in shown]),
        TableColumn(name="thread in the block, load over strength", unit="1", decimals=2,
                    values=[c.strip_utilisation for c in shown]),
        TableColumn(name="fatigue (VDI 2230, index), load over strength", unit="1", decimals=2,
                    values=[c.fatigue_utilisation for c in shown]),
        TableColumn(name="bearing under the head, load over strength", unit="1", decimals=2,
                    values=[c.bearing_utilisation for c in shown]),
        TableColumn(name="peak torque held", unit=unit, decimals=0,
                    values=[c.torque_held / size for c in shown]),
        TableColumn(name="first to fail", unit="",
                    values=[c.first_to_fail.value for c in shown]),
        TableColumn(name="what has to be done", unit="",
                    values=[c.fastening.change.words for c in shown]),
    )  # fmt: skip


def joint_picture(head: HeadCapacity, pressure: float, look: Look, stamp: Stamp) -> Picture:
    """Forces in fasteners and gasket as cylinder pressure rises, at a firing pressure [Pa].

    Per cylinder, at the medians: the fasteners gain the load factor's share of the gas force, the
    clamp loses the rest, until nothing is left on the ring: then the fasteners gain all of it, and
    what the other beads hold stays.
    """
    lift = band(head.lift_pressure()[None, :])
    count = float(np.median(head.counts.least))
    area, clamp = float(np.median(head.sealing_area)), float(np.median(head.clamp))
    factor = float(np.median(head.load_factor))
    gives = float(np.median(head.yield_load)) * count / KILO
    grid = np.linspace(0.0, 1.3 * float(lift.p95[0]), 60)
    others = (1 - float(np.median(head.ring_share))) * clamp
    fastener = np.maximum(clamp + factor * grid * area, grid * area + others) / KILO
    left = np.maximum(clamp - (1 - factor) * grid * area, others) / KILO
    x = np.round(grid / BAR, 1)
    figure = new_figure(look, 380, stamp)
    figure.add_vrect(
        x0=float(lift.p05[0]) / BAR,
        x1=float(lift.p95[0]) / BAR,
        fillcolor=faded(look.exceeds, 0.13),
    )
    figure.add_vline(
        x=float(lift.p50[0]) / BAR, line={"color": look.exceeds, "dash": "dot", "width": 1.6}
    )
    for name, values, colour, dash in (
        ("in the fasteners", fastener, look.capacity, "dash"),
        ("left on the gasket", left, look.estimate, "solid"),
    ):
        figure.add_trace(
            scatter(
                x=x, y=drawn(values, 1), mode="lines",
                line={"color": colour, "width": 2.4, "dash": dash},
                hovertemplate=f"{name} %{{y:.0f}} kN<extra></extra>",
            )
        )  # fmt: skip
    pull, rest = (float(np.interp(pressure, grid, v)) for v in (fastener, left))
    at = min(pressure / BAR, float(x[-1]))
    figure.add_vline(x=at, line={"color": look.ink, "width": 1.6})
    figure.add_trace(
        scatter(
            x=[at, at], y=[round(pull, 1), round(rest, 1)], mode="markers", hoverinfo="skip",
            marker={"size": 10, "color": [look.capacity, look.estimate],
                    "line": {"width": 1.5, "color": look.paper}},
        )
    )  # fmt: skip
    top = 1.16 * float(fastener.max())
    if gives < 1.5 * top:
        figure.add_hline(y=gives, line={"color": look.soft, "dash": "dashdot", "width": 1.4})
        write_on(figure, look, 0.0, gives, "fasteners yield", look.soft, xanchor="left",
                 yanchor="bottom", yshift=3, xshift=4)  # fmt: skip
        top = max(top, 1.12 * gives)
    for values, word, colour, below in (
        (fastener, "in the fasteners", look.capacity, False),
        (left, "left on the gasket", look.estimate, True),
    ):
        write_on(figure, look, float(x[14]), float(values[14]), word, colour, xanchor="center",
                 yanchor="top" if below else "bottom", yshift=-6 if below else 6)  # fmt: skip
    write_on(figure, look, float(lift.p50[0]) / BAR, 0.05 * top, "ring lets go", look.exceeds,
             xanchor="center")  # fmt: skip
    write_on(figure, look, at, 0.97 * top, f"firing at {pressure / BAR:.0f} bar", look.ink,
             xanchor="right" if at > 0.5 * x[-1] else "left", yanchor="top",
             xshift=-5 if at > 0.5 * x[-1] else 5)  # fmt: skip
    figure.update_xaxes(title_text="cylinder pressure [bar]", range=[0, float(x[-1])])
    figure.update_yaxes(title_text="force per cylinder [kN]", range=[0, top])
    return Picture(
        name="joint",
        title="What a firing does to the joint",
        figure=figure.done(),
        alt=(
            f"At {pressure / BAR:.0f} bar the fasteners of a cylinder carry {pull:.0f} kN and "
            f"{rest:.0f} kN are left on the gasket. The ring lets go at "
            f"{lift.p50[0] / BAR:.0f} bar, range {lift.p05[0] / BAR:.0f} to "
            f"{lift.p95[0] / BAR:.0f}. Once nothing is left on the ring, the fasteners carry all "
            "that is added."
        ),
        columns=(
            TableColumn(name="cylinder pressure", unit="bar", values=cells(grid, BAR), decimals=0),
            TableColumn(name="in the fasteners", unit="kN", values=cells(fastener), decimals=1),
            TableColumn(name="left on the gasket", unit="kN", values=cells(left), decimals=1),
        ),
    )
