"""Pieces of still pictures: numbers of a trace, SVG paths, strokes, marks, images, safe words."""

import base64
import html
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

import numpy as np

from torquerisk.quantities import Array
from torquerisk.show.pictures.svg import number, step_of

ACROSS = 1000.0
"""Units of a frame's width: lines are drawn in them and stretched to the page's width."""
BESIDE = 12.0
"""How far marks may reach beyond the frame [px]."""
MARKS = {
    "circle": None,
    "square": "M-1-1H1V1H-1Z",
    "diamond": "M0-1.3 1.3 0 0 1.3-1.3 0Z",
    "triangle-up": "M-1.15.6H1.15L0-1.3Z",
    "triangle-down": "M-1.15-.6H1.15L0 1.3Z",
    "cross": "M-.4-1.2H.4V-.4H1.2V.4H.4V1.2H-.4V.4H-1.2V-.4H-.4Z",
    "x": "M0-.57-.57-1.13-1.13-.57-.57 0-1.13.57-.57 1.13 0 .57.57 1.13 1.13.57.57 0 1.13-.57"
    ".57-1.13Z",
}
"""Marks as paths of half-size 1; a circle is one by itself."""


def numbers(values: Any) -> Array:
    """A trace's numbers (n,), gaps as NaN."""
    if values is None:
        return np.empty(0)
    if isinstance(values, dict):
        return np.frombuffer(base64.b64decode(values["bdata"]), values["dtype"]).astype(float)
    return np.array([math.nan if v is None else v for v in values], dtype=float)


def percent(value: float) -> str:
    """A share as CSS."""
    return f"{100 * value:.2f}".rstrip("0").rstrip(".") + "%"


def path_through(x: Array, y: Array) -> str:
    """Straight pieces through places; x: shares (n,), y: pixels (n,), all finite."""
    points = [f"{number(ACROSS * a)} {number(b)}" for a, b in zip(x, y, strict=True)]
    return "M" + "L".join(points)


def stroke(line: dict[str, Any], colour: str) -> str:
    """Colour, width and dash of a line, dashes as the plot library makes them."""
    width = float(line.get("width", 2))
    unit = max(width, 3.0)
    parts = {"dot": (1, 1), "dash": (3, 3), "dashdot": (3, 1, 1, 1), "solid": ()}
    dash = " ".join(number(unit * part) for part in parts[line.get("dash", "solid")])
    more = f' stroke-dasharray="{dash}"' if dash else ""
    return f'fill="none" stroke="{line.get("color", colour)}" stroke-width="{width:g}"{more}'


def image(head: str, parts: Sequence[str], style: str) -> str:
    """Parts as an SVG image in a place; nothing where there are none."""
    if not parts:
        return ""
    drawn = (
        f'<svg xmlns="http://www.w3.org/2000/svg" {head}><style>path{{vector-effect:'
        f"non-scaling-stroke}}svg{{overflow:visible}}</style>{''.join(parts)}</svg>"
    )
    source = quote(drawn.replace('"', "'"), safe=" /:;,=()'{}-.")
    return f'<img alt="" style="{style}" src="data:image/svg+xml,{source}">'


def sized(path: str, half: float) -> str:
    """A path of half-size 1 at another size."""
    return re.sub(r"-?\d*\.?\d+", lambda found: f" {float(found[0]) * half:.2f}", path)


def safe_words(words: str) -> str:
    """Words that were escaped for the plot library already, once more made sure of."""
    return html.escape(html.unescape(words), quote=False)


def marks_at(x: Array, y: Array, marker: dict[str, Any], usual: str) -> list[str]:
    """A trace's marks, BESIDE the frame's corner. x: shares, y: pixels; usual: colour if none."""
    made = []
    count = len(x)
    used = {"symbol": "circle", "color": usual, **marker}
    each = {
        name: used[name] if isinstance(used[name], list | tuple) else [used[name]] * count
        for name in ("symbol", "size", "color")
    }
    edge = marker.get("line", {})
    rims = edge.get("color")
    for k in range(count):
        if not (math.isfinite(x[k]) and math.isfinite(y[k])):
            continue
        symbol, colour = each["symbol"][k], each["color"][k]
        rim = rims[k] if isinstance(rims, list | tuple) else rims
        width, half = float(edge.get("width", 0)), float(each["size"][k]) / 2
        shape, hollow = symbol.removesuffix("-open"), symbol.endswith("-open")
        paint = (
            f'fill="none" stroke="{colour}" stroke-width="{width or 1:g}"' if hollow
            else f'fill="{colour}"' + (f' stroke="{rim or colour}" stroke-width="{width:g}"'
                                       if width else "")
        )  # fmt: skip
        path = MARKS[shape]
        drawn = (
            f'<circle r="{half:g}" {paint}/>' if path is None
            else f'<path d="{sized(path, half)}" {paint}/>'
        )  # fmt: skip
        made.append(
            f'<svg x="{percent(x[k])}"><g transform="translate('
            f'{number(BESIDE * (1 - 2 * x[k]))} {number(BESIDE + y[k])})">{drawn}</g></svg>'
        )
    return made


@dataclass(frozen=True, kw_only=True)
class StillAxis:
    """A scale and where it lies: from start to end as a share of the frame, or in pixels down."""

    low: float
    high: float
    start: float
    end: float
    log: bool
    layout: dict[str, Any]

    def place(self, value: Array | float, *, scaled: bool = False) -> Array:
        """Place of values. scaled: they are logarithms already where the axis is logarithmic."""
        at = np.asarray(value, dtype=float)
        if self.log and not scaled:
            at = np.log10(at)
        return np.asarray(
            self.start + (at - self.low) / (self.high - self.low) * (self.end - self.start)
        )

    def ticks(self, most: int) -> Iterator[tuple[float, str]]:
        """Places and words of the ticks within the range."""
        at, words = self.layout.get("tickvals"), self.layout.get("ticktext")
        if at is None:
            step = self.layout.get("dtick") or step_of(self.high - self.low, most)
            first = math.ceil(self.low / step - 1e-9)
            at = [step * k for k in range(first, math.floor(self.high / step + 1e-9) + 1)]
        if words is None:
            words = [tick_words(float(v), self.layout.get("tickformat", "")) for v in at]
        for value, word in zip(at, words, strict=True):
            place = float(self.place(value))
            if min(self.start, self.end) - 1e-6 <= place <= max(self.start, self.end) + 1e-6:
                yield place, word


def tick_words(value: float, form: str) -> str:
    """A tick's number as the plot library writes it: without idle zeros where it has no form."""
    if form:
        return format(value if form.endswith("f") else round(value), form).replace("-", "−")
    return f"{value:.6g}".replace("-", "−")
