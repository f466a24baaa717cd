"""Pieces of still pictures: scales and ticks, paths, marks, words."""

import base64
import html
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from torquerisk.quantities import Array
from torquerisk.show.pictures.style import STROKES
from torquerisk.show.words import prose

SYMBOLS = {
    "circle": "M-1 0A1 1 0 1 1 1 0A1 1 0 1 1-1 0Z",
    "square": "M-1-1H1V1H-1Z",
    "diamond": "M0-1.3L1.3 0L0 1.3L-1.3 0Z",
    "x-thin": "M-1-1L1 1M-1 1L1-1",
    "cross-thin": "M-1.4 0H1.4M0-1.4V1.4",
    "line-ns": "M0-1.4V1.4",
}
"""Marks as paths of half-size 1; the last three are strokes."""
DASHES = {"solid": (), "dot": (1, 1), "dash": (3, 3), "dashdot": (3, 1, 1, 1)}
LINE = 1.3
"""Height of a line of words over their size."""


def number(value: float) -> str:
    """A coordinate with a tenth of a pixel."""
    if not math.isfinite(value):
        raise ValueError(f"a coordinate is {value}")
    shown = f"{value:.1f}".removesuffix(".0")
    return "0" if shown == "-0" else shown


def numbers(values: Any) -> Array:
    """A trace's numbers (n,), gaps as NaN."""
    if values is None:
        return np.empty(0)
    if isinstance(values, dict):
        return np.frombuffer(base64.b64decode(values["bdata"]), values["dtype"]).astype(float)
    return np.array([math.nan if v is None else v for v in values], dtype=float)


def percent(value: float) -> str:
    """A share of the frame."""
    return f"{100 * value:.2f}".rstrip("0").rstrip(".") + "%"


def unbroken(good: npt.NDArray[np.bool_]) -> list[slice]:
    """Unbroken stretches of what can be drawn."""
    return [slice(first, last + 1) for first, last in prose.stretches(good)]


def paint(what: str, colour: str) -> str:
    """A colour for fill or stroke; an opacity of its own, as style sheets may name the rest."""
    rgba = re.fullmatch(r"rgba\((\d+),(\d+),(\d+),([\d.]+)\)", colour)
    if rgba is None:
        return f'{what}="{colour}"'
    red, green, blue = (int(v) for v in rgba.groups()[:3])
    return f'{what}="#{red:02X}{green:02X}{blue:02X}" {what}-opacity="{rgba[4]}"'


def through(x: Array, y: Array) -> str:
    """Straight pieces through places; x: shares (n,), y: pixels (n,), all finite."""
    return "M" + "L".join(f"{number(1000 * a)} {number(b)}" for a, b in zip(x, y, strict=True))


def path(drawn: str, line: dict[str, Any], fill: str = "") -> str:
    """A path in the stretched frame, its line as wide as it is on any width of the frame."""
    width = float(line.get("width", 2))
    if not drawn or not (width or fill):
        return ""
    stroke = ""
    if width:
        dash = " ".join(number(max(width, 3) * v) for v in DASHES[line.get("dash", "solid")])
        stroke = f' {paint("stroke", line["color"])} stroke-width="{width:g}"'
        stroke += f' stroke-dasharray="{dash}"' if dash else ""
    inside = paint("fill", fill) if fill else 'fill="none"'
    return f'<path d="{drawn}" {inside}{stroke} vector-effect="non-scaling-stroke"/>'


def shade(x: Array, y: Array, x_low: Array, y_low: Array, colour: str) -> list[str]:
    """The ground between two lines, one piece for each stretch without gaps."""
    upper, lower = (unbroken(np.isfinite(a) & np.isfinite(b)) for a, b in ((x, y), (x_low, y_low)))
    return [
        path(
            through(
                np.concatenate([x[over], x_low[under][::-1]]),
                np.concatenate([y[over], y_low[under][::-1]]),
            ) + "Z", {"width": 0}, colour,
        )
        for over, under in zip(upper, lower, strict=True)
    ]  # fmt: skip


def clipped(parts: Sequence[str], across: tuple[float, float], down: tuple[float, float]) -> str:
    """Parts cut at the edge of their panel. across: shares; down: upper and lower end [px]."""
    left, wide = number(1000 * across[0]), number(1000 * (across[1] - across[0]))
    top, deep = number(down[0]), number(down[1] - down[0])
    drawn = "".join(parts)
    if not drawn:
        return ""
    return (
        f'<svg x="{left}" y="{top}" width="{wide}" height="{deep}" '
        f'viewBox="{left} {top} {wide} {deep}" '
        f'preserveAspectRatio="none">{drawn}</svg>'
    )


def symbol(name: str, colour: str, size: float, edge: dict[str, Any]) -> str:
    """A mark about its middle. edge: colour and width of its rim, or of its strokes."""
    shape = name.removesuffix("-open")
    if shape not in SYMBOLS:
        raise ValueError(f"a still cannot show a mark called {name}")
    scale, width = size / 2, float(edge.get("width", 0))
    bare = name in STROKES
    rim = paint("stroke", colour if bare else edge.get("color", colour)) if width or bare else ""
    inside = 'fill="none"' if bare else paint("fill", colour)
    wide = f' {rim} stroke-width="{(width or 1) / scale:.3g}"' if rim else ""
    return f'<path transform="scale({scale:g})" d="{SYMBOLS[shape]}" {inside}{wide}/>'


def mark(
    name: str, colour: str, size: float, edge: dict[str, Any], place: tuple[float, float]
) -> str:
    """A mark at a place: share across, pixels down."""
    return (
        f'<svg x="{percent(place[0])}" y="{number(place[1])}" overflow="visible">'
        f"{symbol(name, colour, size, edge)}</svg>"
    )


def word(
    told: str, place: tuple[float, float], font: dict[str, Any], anchor: str = "middle",
    upright: str = "middle", shift: tuple[float, float] = (0.0, 0.0), paper: str = "",
) -> str:  # fmt: skip
    """Words at a place (share across, pixels down), on a thin edge of paper where one is given.

    told: escaped for the plot library already. anchor, upright: which edge of the words lies there.
    shift: pixels to the right and down.
    """
    if not told:
        return ""
    lines, size = told.split("<br>"), float(font["size"])
    over = {"top": 0.95, "middle": 0.35 - LINE / 2 * (len(lines) - 1),
            "bottom": -0.35 - LINE * (len(lines) - 1)}[upright]  # fmt: skip
    how = f'font-size="{size:g}" text-anchor="{anchor}" {paint("fill", font["color"])}'
    if paper and not paper.endswith(",0)"):
        edge = paint("stroke", paper)
        how += f' paint-order="stroke" {edge} stroke-width="4" stroke-linejoin="round"'
    at = f'x="{percent(place[0])}"' + (f' dx="{number(shift[0])}"' if shift[0] else "")
    first, *more = (safe(one) for one in lines)
    rows = first + "".join(f'<tspan {at} dy="{LINE:g}em">{one}</tspan>' for one in more)
    return f'<text {at} y="{number(place[1] + shift[1] + over * size)}" {how}>{rows}</text>'


def upright_word(told: str, place: tuple[float, float], font: dict[str, Any], left: float) -> str:
    """Words read upwards, their middle so many pixels left of a place."""
    if not told:
        return ""
    # A turn about a place that is a share of the width: a picture of its own stands there.
    return (
        f'<svg x="{percent(place[0])}" y="{number(place[1])}" overflow="visible"><text dy="0.35em" '
        f'font-size="{float(font["size"]):g}" text-anchor="middle" {paint("fill", font["color"])} '
        f'transform="translate({number(-left)} 0) rotate(-90)">{safe(told)}</text></svg>'
    )


def safe(words: str) -> str:
    """Words that were escaped for the plot library already, once more made sure of."""
    return html.escape(html.unescape(words), quote=False)


@dataclass(frozen=True, kw_only=True)
class Scale:
    """A scale and where it lies: from start to end as a share of the frame, or in pixels down."""

    low: float
    high: float
    start: float
    end: float
    layout: dict[str, Any]

    def place(self, value: Any, *, scaled: bool = False) -> Array:
        """Place of values. scaled: they are logarithms already where the axis is logarithmic."""
        at = np.asarray(value, dtype=float)
        if self.layout.get("type") == "log" and not scaled:
            at = np.log10(at)
        share = (at - self.low) / (self.high - self.low)
        return np.asarray(self.start + share * (self.end - self.start))

    def ticks(self, most: int) -> Iterator[tuple[float, str]]:
        """Places and words of the ticks within the range."""
        at, words = self.layout.get("tickvals"), self.layout.get("ticktext")
        if at is None:
            step = self.layout.get("dtick") or step_of(self.high - self.low, most)
            first = math.ceil(self.low / step - 1e-9)
            at = [step * k for k in range(first, math.floor(self.high / step + 1e-9) + 1)]
        if words is None:
            words = [tick_words(float(v), self.layout.get("tickformat", "")) for v in at]
        for value, told in zip(at, words, strict=True):
            place = float(self.place(value))
            if min(self.start, self.end) - 1e-6 <= place <= max(self.start, self.end) + 1e-6:
                yield place, told


def step_of(span: float, most: int) -> float:
    """A step of 1, 2 or 5 times a power of ten that cuts a span into so many parts at most."""
    raw = span / max(most, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    return next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= raw * (1 - 1e-9))


def tick_words(value: float, form: str) -> str:
    """A tick's number as the plot library writes it: without idle zeros where it has no form."""
    if form:
        return format(value if form.endswith("f") else round(value), form).replace("-", "−")
    return f"{value:.6g}".replace("-", "−")
