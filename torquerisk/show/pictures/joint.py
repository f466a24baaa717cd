"""Pictures of the head joint: what lifts it, clamp given and needed, choices, a firing's load."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from torquerisk.files.exports import TableColumn, speed_column
from torquerisk.quantities import BAR, KILO, RPM, Array
from torquerisk.show.pictures.drawing import Drawing, bars, new_figure, speed_axis
from torquerisk.show.pictures.style import (
    READING,
    STATE_SYMBOL,
    Look,
    Picture,
    Stamp,
    column,
    drawn,
    faded,
    plain,
    rpm,
)
from torquerisk.show.words.prose import (
    Units,
    force_in_words,
    force_unit,
    torque_unit,
    where_in_words,
)
from torquerisk.show.words.target_sheet import (
    STATE_WORDS,
    forces,
    state_in_words,
    state_of,
    tightened,
)
from torquerisk.study.answers.results import (
    Assessment,
    FiringCurve,
    LimitResult,
    Spread,
    StudBench,
    StudChoice,
)

Mask = npt.NDArray[np.bool_]
NAMES = 192
"""Room for a fastening's name beside its row, in two lines [px]."""


def lift_picture(assessment: Assessment, look: Look, stamp: Stamp | None) -> Picture:
    """Pressure of the worst normal cycle by speed, against the pressure at which the ring lets go:
    no more than where coolant pressure showed it to.

    The assessment has the limit on head lift.
    """
    a, x, item = assessment, rpm(assessment.speed), assessment.limits["head_lift"]
    gas, hold, head = item.load, item.strength, a.model.parts.head
    area, seen = float(np.median(head.sealing_area)), _seen_to_lift(a)
    rest = float(np.median(head.clamp)) / area / BAR
    low, middle, high = (v / BAR for v in (gas.p05, gas.p50, gas.p95))
    figure = new_figure(look, 320, stamp)
    figure.hline(rest, look.soft, 1.4, "dashdot")
    figure.band(x, low, high, look.estimate)
    _let_go(figure, look, x, item, seen)
    figure.line(x, middle, look.estimate, "worst normal cycle %{y:.0f} bar")
    away = middle - hold.p50 / BAR
    end = max([e for e in (0, -1) if not seen[e]] or [0, -1], key=lambda e: abs(away[e]))
    near = len(x) // 6 if end == 0 else -1 - len(x) // 6
    over, under = ("above", "below") if away[end] < 0 else ("below", "above")
    anchor = "left" if end == 0 else "right"
    if not seen[end]:
        let_go = f"ring lets go, {hold.p50[end] / BAR:.0f} bar"
        figure.word(x[end], hold.p50[end] / BAR, let_go, look.exceeds, over, 3, xanchor=anchor)
    figure.word(x[near], middle[near], "worst normal cycle", look.estimate, under, 10,
                xanchor=anchor)  # fmt: skip
    figure.word(x[-1], rest, "clamp at rest", look.soft, "above", 3, xanchor="right")
    k = int(np.argmax(middle))
    speed_axis(figure, float(a.speed[0]), float(a.speed[-1]))
    top = 1.12 * max(float(high.max()), float(hold.p95.max()) / BAR, rest)
    figure.update_yaxes(range=[0, top], title_text="cylinder pressure [bar]")
    return Picture(
        name="lift",
        title="Cylinder pressure against what lifts the head",
        figure=figure.done(),
        alt=(
            f"The worst normal cycle presses most at {a.speed[k] / RPM:.0f} rpm: "
            f"{middle[k]:.0f} bar, range {low[k]:.0f} to {high[k]:.0f}.{_let_go_words(a, seen)} "
            f"The clamp at rest, {rest * BAR * area / KILO:.0f} kN, would balance {rest:.0f} bar."
        ),
        columns=(
            speed_column(a.speed),
            column("worst normal cycle, 5 %", "bar", gas.p05, BAR),
            column("worst normal cycle, median", "bar", gas.p50, BAR),
            column("worst normal cycle, 95 %", "bar", gas.p95, BAR),
            column("ring lets go, median", "bar", hold.p50, BAR),
        ),
    )


def _seen_to_lift(assessment: Assessment) -> Mask:
    """Where coolant pressure was seen to rise, so that the ring holds no more than it did there."""
    seen = assessment.model.operating.lift_seen
    return np.isfinite(np.full(len(assessment.speed), np.inf) if seen is None else seen)


def _let_go(figure: Drawing, look: Look, x: Array, item: LimitResult, seen: Mask) -> None:
    """Pressure at which the ring lets go: by its clamp, and apart from that where it was seen.

    What was seen goes with the cycle that it was seen under, engine by engine: a range of its own
    would seem to lie within that one's.
    """
    hold = item.strength
    low, middle, high = (np.where(seen, np.nan, v / BAR) for v in (hold.p05, hold.p50, hold.p95))
    if not seen.all():
        figure.band(x, low, high, look.exceeds, 0.13)
        figure.line(x, middle, look.exceeds, "ring lets go %{y:.0f} bar", dash="dot", width=1.6)
    if seen.any():
        at = np.where(seen, hold.p50 / BAR, np.nan)
        figure.line(x, at, look.exceeds, "seen to lift %{y:.0f} bar", dash="dash", width=2)
        k = int(np.flatnonzero(seen)[3 * seen.sum() // 4])
        figure.word(x[k], item.load.p05[k] / BAR, "seen to lift", look.exceeds, "below", 3)


def _let_go_words(assessment: Assessment, seen: Mask) -> str:
    """The same in words."""
    hold = assessment.limits["head_lift"].strength
    told = ""
    if not seen.all():
        k = int(np.flatnonzero(~seen)[0])
        low, middle, high = (v[k] / BAR for v in (hold.p05, hold.p50, hold.p95))
        told = f" The ring lets go at {middle:.0f} bar, range {low:.0f} to {high:.0f}."
    if seen.any():
        least, most = hold.p50[seen].min() / BAR, hold.p50[seen].max() / BAR
        told += (
            f" {where_in_words(assessment.speed, seen).capitalize()} it was seen to lift, and is "
            f"taken to hold {least:.0f} to {most:.0f} bar."
        )
    return told


def clamp_picture(bench: StudBench, choice: StudChoice, look: Look, stamp: Stamp | None) -> Picture:
    """Clamp per fastener that the curve needs, by speed, against what two fastenings give.

    Needed: at the accepted chance. Given: as the joint stands, and by the choice; 5 to 95 % of
    the simulated joints.
    """
    speed, x = bench.assessment.speed, rpm(bench.assessment.speed)
    unit, size = look.force
    needed, gas = bench.ask.needed / size, bench.gas_force / bench.fasteners / size
    figure = new_figure(look, 380, stamp)
    given = [("as it stands", bench.present, look.capacity, "dashdot")]
    if choice is not bench.present:
        given.append(("with the choice", choice, look.limit, "dash"))
    # Words of what is given stand away from the peak of what is needed, and from each other.
    far, anchor = (0, "left") if 2 * int(np.argmax(needed)) > len(x) else (-1, "right")
    highest = max(one.clamp.p50 for _, one, _, _ in given)
    for name, one, colour, dash in given:
        low, middle, high = (np.full(len(x), v / size)
                             for v in (one.clamp.p05, one.clamp.p50, one.clamp.p95))  # fmt: skip
        figure.band(x[[0, -1]], low[:2], high[:2], colour)
        told = f"{name} %{{y:,.0f}} {unit} ({low[0]:,.0f} to {high[0]:,.0f})"
        figure.line(x, middle, colour, told, dash=dash, width=2)
        side = "below" if one.clamp.p50 < highest else "above"
        figure.word(x[far], middle[0], name, colour, side, 3, xanchor=anchor)
    for name, values, colour, dash, width in (
        ("gas force, shared out", gas, look.soft, "dot", 1.6),
        ("clamp needed", needed, look.estimate, "solid", 2.6),
    ):
        figure.line(x, values, colour, f"{name} %{{y:,.0f}} {unit}", dash=dash, width=width)
        k = int(np.argmax(values))
        figure.word(x[k], values[k], name, colour, "above", 5)
    speed_axis(figure, float(speed[0]), float(speed[-1]))
    tallest = max(float(needed.max()), *(one.clamp.p95 / size for _, one, _, _ in given))
    figure.update_yaxes(range=[0, 1.14 * tallest], title_text=f"force per fastener [{unit}]")
    level = np.ones(len(x))
    present, chosen = (forces(one.clamp, look.units) for one in (bench.present, choice))
    return Picture(
        name="clamp",
        title="Clamp needed against clamp given, per fastener",
        figure=figure.done(),
        alt=(
            f"The curve needs most clamp at {bench.worst_speed / RPM:.0f} rpm: "
            f"{force_in_words(bench.required_clamp_per_fastener, look.units)} per fastener. As it "
            f"stands a fastener gives {present}; the choice gives {chosen}."
        ),
        columns=(
            speed_column(speed),
            column("gas force per fastener", unit, gas),
            column("clamp needed", unit, needed),
            column("clamp as it stands, median", unit, level * bench.present.clamp.p50, size),
            column("clamp with the choice, median", unit, level * choice.clamp.p50, size),
        ),
    )


def choices_picture(
    bench: StudBench, shown: Sequence[StudChoice], look: Look, stamp: Stamp | None
) -> Picture:
    """Clamp of each fastening with its range against the clamp needed, mildest change on top."""
    names = [choice_name(bench, c, look.units) for c in shown]
    figure = new_figure(look, 96 + 34 * len(shown), stamp, left=NAMES)
    figure.update_layout(margin={"l": NAMES, "r": 14, "t": 26, "b": 62}, hovermode="closest")
    unit, size = look.force
    needed = bench.required_clamp_per_fastener / size
    told_needed = force_in_words(bench.required_clamp_per_fastener, look.units)
    figure.vline(needed, look.estimate, 2)
    for state, word in STATE_WORDS.items():
        chosen = [k for k, c in enumerate(shown) if state_of(c) is state]
        low, middle, high = (
            np.array([getattr(shown[k].clamp, p) for k in chosen]) / size
            for p in ("p05", "p50", "p95")
        )
        colour = look.of_state(state)
        figure.signs(
            drawn(middle, 1), chosen, STATE_SYMBOL[state], colour,
            f"%{{text}}, %{{x:,.0f}} {unit}", size=10,
            error_x=bars(drawn(high - middle, 1), drawn(middle - low, 1), colour),
            text=[f"{plain(names[k])}: {word}; first to fail, "
                  f"{shown[k].first_to_fail.value}" for k in chosen],
        )  # fmt: skip
    figure.update_yaxes(
        range=[len(shown) - 0.4, -1.4], tickvals=list(range(len(shown))),
        ticktext=[_in_two_lines(bench, c, look.units) for c in shown], showgrid=False, ticks="",
        showline=False,
        tickfont={"size": 12, "color": look.ink},
    )  # fmt: skip
    most = max(needed, *(c.clamp.p95 / size for c in shown))
    least = min(needed, *(c.clamp.p05 / size for c in shown))
    side = "left" if 2 * needed > least + most else "right"
    figure.word(needed, -0.9, f"needed {told_needed}", look.estimate, side, 5)
    figure.update_xaxes(
        range=[max(0.0, least - 0.08 * (most - least)), most + 0.06 * (most - least)],
        title_text=f"clamp per fastener [{unit}]", showgrid=True, nticks=7,
    )  # fmt: skip
    told = "; ".join(f"{n}: {state_in_words(c)}" for n, c in zip(names, shown, strict=True))
    return Picture(
        name="choices",
        title="Clamp of each choice, mildest change on top",
        figure=figure.done(),
        alt=(
            f"{len(shown)} fastenings with the range of clamp each gives, against "
            f"{told_needed} needed. {told}."
        ),
        columns=choice_columns(bench, shown, look.units),
    )


def choice_name(bench: StudBench, choice: StudChoice, units: Units = Units.SI) -> str:
    """A fastening in a few words: thread, class, how it is tightened and on what."""
    made = choice.fastening
    name = f"{made.name}, {tightened(made, units)}"
    return f"now: {name}" if choice is bench.present else name


def _in_two_lines(bench: StudBench, choice: StudChoice, units: Units) -> str:
    """The same beside a row, less the thread under the nut."""
    made = choice.fastening
    now = "now: " if choice is bench.present else ""
    fitted = plain(f"{now}{made.thread.designation} {made.kind_and_strength}")
    return f"{fitted}<br>{plain(tightened(made, units))}"


def choice_columns(
    bench: StudBench, shown: Sequence[StudChoice], units: Units = Units.SI
) -> tuple[TableColumn, ...]:
    """The table of choices."""
    (unit, size), force = torque_unit(units), force_unit(units)
    draws = len(bench.present.pressure_held)

    def of(chance: float) -> str:
        count = round(chance * draws)
        return "<1" if count <= 0 else f">{draws - 1:,}" if count >= draws else f"{count:,}"

    return (
        TableColumn(name="thread", unit="",
                    values=[c.fastening.thread.designation for c in shown]),
        TableColumn(name="fastener", unit="",
                    values=[c.fastening.kind_and_strength for c in shown]),
        TableColumn(name="tightened", unit="",
                    values=[tightened(c.fastening, units) for c in shown]),
        TableColumn(name="estimated to hold", unit="", values=[c.held for c in shown]),
        TableColumn(name="clamp", unit=force.name, decimals=0,
                    values=[c.clamp.p50 / force.size for c in shown]),
        TableColumn(name=f"lifts, of {draws:,}", unit="",
                    values=[of(c.lift_chance) for c in shown]),
        TableColumn(name=f"lifts aged, of {draws:,}", unit="",
                    values=[of(c.lift_chance_aged) for c in shown]),
        TableColumn(name="yield, force over strength", unit="1", decimals=2,
                    values=[c.yield_utilisation for c in shown]),
        TableColumn(name="thread in the block, force over strength", unit="1", decimals=2,
                    values=[c.strip_utilisation for c in shown]),
        TableColumn(name="fatigue (VDI 2230, index), pressure over allowed", unit="1", decimals=2,
                    values=[c.fatigue_utilisation for c in shown]),
        TableColumn(name="bearing under the head, pressure over allowed", unit="1", decimals=2,
                    values=[c.bearing_utilisation for c in shown]),
        TableColumn(name="peak torque held", unit=unit, decimals=0,
                    values=[c.torque_held / size for c in shown]),
        TableColumn(name="peak torque held after 1,000 heat cycles", unit=unit, decimals=0,
                    values=[c.torque_held_aged / size for c in shown]),
        TableColumn(name="first to fail", unit="",
                    values=[c.first_to_fail.value for c in shown]),
        TableColumn(name="what has to be done", unit="",
                    values=[c.fastening.change.words for c in shown]),
        *(TableColumn(name=f"to {what}" if what != "use" else "fasteners serve", unit="",
                      values=[c.cost[what] for c in shown]) for what in ("machine", "buy", "use")),
    )  # fmt: skip


def joint_picture(curve: FiringCurve, look: Look, stamp: Stamp | None) -> Picture:
    """Forces in a fastener and on its ring as pressure rises, at the pressure asked about."""
    lift = Spread(p05=curve.lift.p05 / BAR, p50=curve.lift.p50 / BAR, p95=curve.lift.p95 / BAR)
    pressure, grid = float(curve.pressure[-1]), curve.pressure[:-1]
    x = np.round(grid / BAR, 1)
    (unit, size), digits = look.force, 1 if look.units is Units.SI else 0
    fastener, left = curve.fastener[:-1] / size, curve.left[:-1] / size
    there = [float(curve.fastener[-1]), float(curve.left[-1])]
    told = [force_in_words(force, look.units) for force in there]
    figure = new_figure(look, 380, stamp)
    figure.vrect(lift.p05, lift.p95, faded(look.exceeds, 0.13))
    figure.vline(lift.p50, look.exceeds, 1.6, "dot")
    at = min(pressure / BAR, float(x[-1]))
    figure.vline(at, look.ink, 1.6)
    top = _yield_line(figure, look, curve.yield_load / size, 1.16 * float(fastener.max()))
    for values, word, colour, dash, side, force in (
        (fastener, "in a fastener", look.capacity, "dash", "above", there[0]),
        (left, "left on the ring", look.estimate, "solid", "below", there[1]),
    ):
        figure.line(x, values, colour, f"{word} %{{y:,.0f}} {unit}", dash=dash)
        figure.signs([at], [round(force / size, 1)], READING, colour, size=11)
        figure.word(x[14], values[14], word, colour, side, 6)
    bare = x[np.argmin(left)]
    figure.word(bare, left.min(), "whole ring open", look.estimate, "above", 5,
                xanchor="right" if bare > 0.6 * x[-1] else "center")  # fmt: skip
    let_go = f"ring lets go, {lift.p50:.0f} bar"
    figure.word(lift.p50, 0.88 * top, let_go, look.exceeds)
    figure.word(at, 0.97 * top, f"firing at {pressure / BAR:.0f} bar", look.ink,
                "left" if at > 0.5 * x[-1] else "right", 5, yanchor="top")  # fmt: skip
    figure.update_xaxes(title_text="cylinder pressure [bar]", range=[0, float(x[-1])])
    figure.update_yaxes(title_text=f"force per fastener [{unit}]", range=[0, top])
    return Picture(
        name="joint",
        title="What a firing does to the joint",
        figure=figure.done(),
        alt=(
            f"At {pressure / BAR:.0f} bar the most loaded fastener carries {told[0]} and "
            f"{told[1]} by fastener are left on the ring, warm. It lifts at {lift.p50:.0f} bar, "
            f"range {lift.p05:.0f} to {lift.p95:.0f}. Once it is open, fasteners and "
            "neighbours bear all that is added."
        ),
        columns=(
            column("cylinder pressure", "bar", grid, BAR),
            column("in a fastener", unit, fastener, decimals=digits),
            column("left on the ring", unit, left, decimals=digits),
        ),
    )


def _yield_line(figure: Drawing, look: Look, gives: float, top: float) -> float:
    """Where a fastener yields, if near; top of the axis with it, in the shown unit."""
    if gives >= 1.5 * top:
        return top
    figure.hline(gives, look.soft, 1.4, "dashdot")
    figure.word(0.0, gives, "it yields", look.soft, "right", 4, yanchor="bottom", yshift=3)
    return max(top, 1.12 * gives)
