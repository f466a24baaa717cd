"""The report's pictures, each drawn for paper and for a phone, from one assessment."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from torquerisk.quantities import BAR, KILO, RPM, Array
from torquerisk.show.pictures import svg
from torquerisk.show.pictures.curve import least_band, overall_states, torque_top
from torquerisk.show.pictures.placing import spans
from torquerisk.show.pictures.risk import CHANCE_EDGES, chance_contours
from torquerisk.show.pictures.style import STATE_SYMBOL
from torquerisk.show.pictures.svg import Named, Panel
from torquerisk.show.words import prose
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.results import Assessment, Band, Comparison, Proposal, State

SPEED = "engine speed [rpm]"
LEFT, BELOW, EDGE = 44.0, 40.0, 18.0
TONE = {
    State.HOLDS: "holds",
    State.CLOSE: "close",
    State.EXCEEDS: "exceeds",
    State.NOT_ASSESSED: "soft",
}
SHAPE = {state: symbol.replace("circle-open", "ring") for state, symbol in STATE_SYMBOL.items()}


@dataclass(frozen=True, kw_only=True)
class Still:
    """A picture in both widths with its title and words."""

    name: str
    title: str
    alt: str
    pictures: Markup


Draw = Callable[[float], tuple[list[str], float]]
"""From a width to the parts of a picture and its height."""


def still(name: str, title: str, alt: str, draw: Draw) -> Still:
    """The picture for paper and the one for a phone; the style sheet shows one of them."""
    made = []
    for width in (svg.WIDE, svg.NARROW):
        parts, height = draw(width)
        made.append(svg.svg(name, width, height, alt, parts))
    # Every text inside has been escaped by the writer of the pictures.
    return Still(name=name, title=title, alt=alt, pictures=Markup("".join(made)))


def _frame(
    width: float, height: float, named: Sequence[Named], x: tuple[float, float],
    y: tuple[float, float], below: float = BELOW, margin: float = 128.0,
) -> tuple[Panel, list[str]]:  # fmt: skip
    """A panel with names at the line ends where it is wide, in a key above it on a phone."""
    narrow = width < svg.WIDE
    parts, top = [], 24.0
    if narrow:
        drawn, tall = svg.key(0, 0, width, named)
        parts.append(drawn)
        top += tall + 4
    panel = Panel(
        left=LEFT if y[1] < 1e4 else LEFT + 10, right=width - (EDGE if narrow else margin),
        top=top, bottom=top + height, x_low=x[0], x_high=x[1], y_low=y[0], y_high=y[1],
    )  # fmt: skip
    if not narrow:
        parts.append(svg.names_at_end(panel, named))
    return panel, parts


def _rpm(assessment: Assessment) -> tuple[Array, tuple[float, float]]:
    x = assessment.speed / RPM
    return x, (float(x[0]), float(x[-1]))


def _id(name: str, width: float, more: str = "") -> str:
    return f"{name}-{int(width)}{more}"


def curve(proposal: Proposal, units: Units) -> Still:
    """Torque as measured, its limit and what the weakest part carries; power below."""
    a = proposal.assessment
    unit, size = prose.torque_unit(units)
    power_unit, power_size = prose.power_unit(units)
    x, ends = _rpm(a)
    points, limit = proposal.shape.breakpoints / RPM, proposal.shape.limit / size
    parts_carry, governs = least_band(a)
    torque = a.torque / size
    as_read = np.interp(a.speed, a.run.speed, a.run.torque) / size
    top = torque_top(a) / size
    differs = float(np.max(np.abs(as_read - torque))) > 0.002 * top
    powers = [v * a.speed / power_size for v in (a.torque, proposal.delivered)]
    low, high = (np.clip(v / size, 0, 2 * top) for v in (parts_carry.p05, parts_carry.p95))
    middle = np.where(np.isneginf(parts_carry.p50), 0.0, parts_carry.p50) / size
    middle = np.where(np.isposinf(middle), np.nan, middle)
    named = [
        Named(text="measured", tone="measured", end=float(torque[-1])),
        Named(text="proposed limit", tone="limit", dash="dash", end=float(limit[-1])),
        Named(text="parts carry", tone="capacity", dash="dashdot",
              end=float(middle[-1]) if np.isfinite(middle[-1]) else top),
    ]  # fmt: skip
    if differs:
        named.append(Named(text="as read", tone="soft", dash="dot", end=float(as_read[-1])))

    def draw(width: float) -> tuple[list[str], float]:
        panel, parts = _frame(width, 215, named, ends, (0.0, top))
        parts.append(svg.axes(panel, SPEED, f"torque at the crank [{unit}]", across=False))
        inside = [
            svg.band(panel, x, low, high, "capacity"),
            svg.line(panel, x, middle, "capacity", "dashdot", "thin"),
        ]
        if differs:
            inside.append(svg.line(panel, x, as_read, "soft", "dot", "thin"))
        inside.append(svg.line(panel, x, torque, "measured"))
        inside.append(svg.line(panel, points, limit, "limit", "dash"))
        inside += [
            svg.mark(panel.x(float(p)), panel.y(float(q)), "limit", "circle", 3.2)
            for p, q in zip(points, limit, strict=True)
        ]
        parts.append(svg.clipped(panel, _id("curve", width), inside))
        parts += _strip(panel, x, [a.limits[g].limit.title for g in governs])
        lower = Panel(
            left=panel.left, right=panel.right, top=panel.bottom + 58, bottom=panel.bottom + 138,
            x_low=ends[0], x_high=ends[1], y_low=0.0, y_high=1.08 * float(np.max(powers)),
        )  # fmt: skip
        parts.append(svg.axes(lower, SPEED, f"power [{power_unit}]"))
        parts.append(svg.line(lower, x, powers[0], "measured"))
        parts.append(svg.line(lower, x, powers[1], "limit", "dash"))
        return parts, lower.bottom + BELOW

    k, p = int(np.argmax(a.torque)), int(np.argmax(proposal.delivered))
    alt = (
        f"Line chart over engine speed. Measured crank torque peaks at "
        f"{prose.torque_in_words(float(a.torque[k]), units)} at "
        f"{prose.speed_in_words(float(a.speed[k]))}; under the proposed limit it peaks at "
        f"{prose.torque_in_words(float(proposal.delivered[p]), units)} at "
        f"{prose.speed_in_words(float(a.speed[p]))}. A band shows what the weakest part carries."
    )
    return still("curve", "Torque, its limit and what the weakest part carries", alt, draw)


def _strip(panel: Panel, x: Array, titles: Sequence[str]) -> list[str]:
    """Below a panel: which part is the weakest over which speeds."""
    parts, at = [], panel.bottom + 16
    for title, first, last in spans(list(titles)):
        low = panel.left if first == 0 else panel.x(float(x[first] + x[first - 1]) / 2)
        high = panel.right if last == len(x) - 1 else panel.x(float(x[last] + x[last + 1]) / 2)
        parts.append(svg.straight(low, at - 7, low, at + 7, "axis"))
        told = f"weakest: {title.lower()}"
        for text in (told, title.lower()):
            if svg.LETTER * len(text) < high - low - 8:
                parts.append(svg.word((low + high) / 2, at + 4, text, "capacity", "middle", "tick"))
                break
    parts.append(svg.straight(panel.right, at - 7, panel.right, at + 7, "axis"))
    return parts


def room(assessment: Assessment, accepted: float, units: Units) -> Still:
    """Torque to spare before the weakest part, by speed, with range and state."""
    a = assessment
    unit, size = prose.torque_unit(units)
    x, ends = _rpm(a)
    carried, governs = least_band(a)
    room_ = [(v - a.torque) / size for v in (carried.p05, carried.p50, carried.p95)]
    states = overall_states(a, accepted)
    finite = np.concatenate([v[np.isfinite(v)] for v in room_])
    most = float(a.torque.max()) / size
    edge = 1.1 * min(max(0.1 * most, float(np.abs(finite).max(initial=0.0))), 0.6 * most)
    pad = 0.02 * (ends[1] - ends[0])
    named = [
        Named(text=s.value, tone=TONE[s], shape=SHAPE[s]) for s in State if s in states
    ]  # fmt: skip

    def draw(width: float) -> tuple[list[str], float]:
        drawn, tall = svg.key(0, 0, width, named)
        panel = Panel(
            left=LEFT, right=width - EDGE, top=28 + tall, bottom=218 + tall, x_low=ends[0] - pad,
            x_high=ends[1] + pad, y_low=-edge, y_high=edge,
        )  # fmt: skip
        parts = [drawn, svg.axes(panel, SPEED, f"torque to spare [{unit}]; below 0: too much")]
        inside = [svg.straight(panel.left, panel.y(0), panel.right, panel.y(0), "zero")]
        for k, state in enumerate(states):
            low, middle, high = (float(np.clip(v[k], -1.2 * edge, 1.2 * edge)) for v in room_)
            at = panel.x(float(x[k]))
            kind = f"range t-{TONE[state]}"
            inside.append(svg.straight(at, panel.y(low), at, panel.y(high), kind))
            held = min(max(panel.y(middle), panel.top + 5), panel.bottom - 5)
            inside.append(svg.mark(at, held, TONE[state], SHAPE[state], 3.2))
        parts.append(svg.clipped(panel, _id("room", width), inside))
        return parts, panel.bottom + BELOW

    k = int(np.argmin(room_[1]))
    counts = ", ".join(f"{states.count(s)} {s.value}" for s in State if s in states)
    alt = (
        f"Marks with ranges over engine speed. There is least room at "
        f"{prose.speed_in_words(float(a.speed[k]))}, {a.limits[governs[k]].limit.title.lower()}. "
        f"Speeds by state: {counts}."
    )
    return still("room", "Torque to spare before the weakest part", alt, draw)


def risk_map(proposal: Proposal, units: Units) -> Still:
    """Bands of chance over speed and torque with both curves on them."""
    a, accepted = proposal.assessment, proposal.policy.chance
    unit, size = prose.torque_unit(units)
    x, ends = _rpm(a)
    top, low = torque_top(a) / size, 0.25 * float(a.torque.max()) / size
    *edges, at_accepted = chance_contours(a, (*CHANCE_EDGES, accepted)) / size
    points, limit = proposal.shape.breakpoints / RPM, proposal.shape.limit / size
    torque = a.torque / size
    named = [
        Named(text="measured", tone="measured", end=float(torque[-1])),
        Named(text="proposed limit", tone="limit", dash="dash", end=float(limit[-1])),
        Named(text=f"accepted: {prose.percent(accepted, 2)}", tone="ink", dash="dashdot",
              end=float(np.clip(at_accepted[-1], low, top))),
    ]  # fmt: skip

    def draw(width: float) -> tuple[list[str], float]:
        panel, parts = _frame(width, 260, named, ends, (low, top))
        inside = [svg.band(panel, x, np.full_like(x, low), np.full_like(x, top), "q0", "chance")]
        for k, edge in enumerate(edges):
            above = np.full_like(x, np.inf)
            inside.append(svg.band(panel, x, edge, above, f"q{k + 1}", "chance"))
        held = np.where(np.isfinite(at_accepted), at_accepted, np.nan)
        inside.append(svg.line(panel, x, held, "ink", "solid", "under"))
        inside.append(svg.line(panel, x, held, "ink", "dashdot", "thin"))
        for kind in ("under", "line"):
            inside.append(svg.line(panel, x, torque, "measured", "solid", kind))
            dash = "solid" if kind == "under" else "dash"
            inside.append(svg.line(panel, points, limit, "limit", dash, kind))
        parts.append(svg.clipped(panel, _id("map", width), inside))
        parts.append(svg.axes(panel, SPEED, f"torque at the crank [{unit}]", grid=False))
        return parts, panel.bottom + BELOW

    alt = (
        "Map over engine speed and torque of the share of simulated engines that pass a limit of "
        f"strength, in seven bands from under 0.1 % to over 90 %; a line marks the accepted "
        f"{prose.percent(accepted, 2)}. The measured curve and the proposed limit lie on it."
    )
    return still("map", "Chance of passing a limit of strength, by speed and torque", alt, draw)


def pressure(assessment: Assessment) -> Still:
    """Peak cylinder pressure by speed with its range, and the worst normal cycle."""
    a = assessment
    x, ends = _rpm(a)
    peak, worst = a.peak_pressure, a.worst_pressure.p50 / BAR
    top = 1.08 * float(max(worst.max(), peak.p95.max() / BAR))
    named = [
        Named(text="worst cycle", tone="estimate", dash="dot", end=float(worst[-1])),
        Named(text="mean cycle, range", tone="estimate", end=float(peak.p50[-1]) / BAR),
    ]

    def draw(width: float) -> tuple[list[str], float]:
        panel, parts = _frame(width, 180, named, ends, (0.0, top))
        parts.append(svg.axes(panel, SPEED, "peak cylinder pressure [bar absolute]"))
        parts += [
            svg.band(panel, x, peak.p05 / BAR, peak.p95 / BAR, "estimate"),
            svg.line(panel, x, worst, "estimate", "dot"),
            svg.line(panel, x, peak.p50 / BAR, "estimate"),
        ]
        return parts, panel.bottom + BELOW

    k = int(np.argmax(peak.p50))
    middle, low, high = prose.with_range(peak, k, BAR)
    alt = (
        f"Peak pressure of the mean cycle is greatest at {prose.speed_in_words(float(a.speed[k]))}:"
        f" {middle} bar, range {low} to {high}. The worst normal cycle of a pull lies above it."
    )
    return still("pressure", "Peak cylinder pressure, as measured", alt, draw)


def clamp(assessment: Assessment) -> Still | None:
    """Gas force of the worst normal cycle against the force that lifts the head; one cylinder."""
    a = assessment
    if "head_lift" not in a.limits:
        return None
    x, ends = _rpm(a)
    head, load = a.model.parts.head, a.limits["head_lift"].load
    area = float(np.median(head.sealing_area)) / KILO
    gas = Band(p05=load.p05 * area, p50=load.p50 * area, p95=load.p95 * area)
    lift = np.quantile(head.lift_pressure() * head.sealing_area, [0.05, 0.5, 0.95]) / KILO
    rest = float(np.median(head.clamp)) / KILO
    top = 1.08 * max(float(gas.p95.max()), float(lift[2]), rest)
    named = [
        Named(text="clamp at rest", tone="soft", dash="dot", end=rest),
        Named(text="head lifts", tone="capacity", dash="dashdot", end=float(lift[1])),
        Named(text="gas force", tone="estimate", end=float(gas.p50[-1])),
    ]

    def level(value: float) -> Array:
        return np.full_like(x, value)

    def draw(width: float) -> tuple[list[str], float]:
        panel, parts = _frame(width, 180, named, ends, (0.0, top))
        parts.append(svg.axes(panel, SPEED, "force per cylinder [kN]"))
        parts += [
            svg.band(panel, x, level(float(lift[0])), level(float(lift[2])), "capacity"),
            svg.line(panel, x, level(float(lift[1])), "capacity", "dashdot"),
            svg.line(panel, x, level(rest), "soft", "dot", "thin"),
            svg.band(panel, x, gas.p05, gas.p95, "estimate"),
            svg.line(panel, x, gas.p50, "estimate"),
        ]
        return parts, panel.bottom + BELOW

    k = int(np.argmax(gas.p50))
    middle, low, high = prose.with_range(gas, k)
    texts = prose.middle_low_high(float(lift[0]), float(lift[1]), float(lift[2]))
    alt = (
        f"Gas force of the worst normal cycle is greatest at "
        f"{prose.speed_in_words(float(a.speed[k]))}: {middle} kN, range {low} to {high}. The head "
        f"lifts off its ring at {texts[0]} kN, range {texts[1]} to {texts[2]}; the clamp at rest "
        f"is {prose.plain(rest)} kN."
    )
    return still("clamp", "Gas force against head clamp, one cylinder, as measured", alt, draw)


def compared(comparison: Comparison, units: Units) -> Still:
    """Torque of two runs, the first with the band that is too close to call."""
    c = comparison
    unit, size = prose.torque_unit(units)
    x = c.speed / RPM
    one, two, near = c.first.torque / size, c.second.torque / size, c.too_close / size
    top = 1.08 * float(max((one + near).max(), two.max()))
    named = [
        Named(text="first run", tone="measured", end=float(one[-1])),
        Named(text="second run", tone="limit", dash="dash", end=float(two[-1])),
    ]

    def draw(width: float) -> tuple[list[str], float]:
        panel, parts = _frame(width, 200, named, (float(x[0]), float(x[-1])), (0.0, top))
        parts.append(svg.axes(panel, SPEED, f"torque at the crank [{unit}]"))
        parts += [
            svg.band(panel, x, one - near, one + near, "measured"),
            svg.line(panel, x, one, "measured"),
            svg.line(panel, x, two, "limit", "dash"),
        ]
        return parts, panel.bottom + BELOW

    alt = (
        "Crank torque of both runs over engine speed. Within the band around the first run the "
        "difference is too close to call."
    )
    return still("compared", "Two runs, both at the crank and uncorrected", alt, draw)
