"""Still pictures for paper: a small writer of SVG panels, lines, ranges, marks and words.

Colour comes from classes (`t-measured` and so on) that the style sheet gives a value for light,
dark and paper; dash, shape and words say the same without colour.
"""

import html
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.quantities import Array
from torquerisk.show.pictures.placing import apart
from torquerisk.show.words import prose

WIDE, NARROW = 720.0, 360.0
"""Widths a picture is drawn for: paper and wide screens, and a phone."""
TEXT = 12.0
LETTER = 6.3
"""Usual width of a letter at the text size, rather too large than too small."""
LINE = 16.0
"""Height of a line of text."""
DASH = {"solid": "", "dash": "8 5", "dot": "1.5 4.5", "dashdot": "10 4 2 4"}


@dataclass(frozen=True, kw_only=True)
class Named:
    """A line or mark with its name, for the words at its end or the key above it."""

    text: str
    tone: str
    dash: str = "solid"
    shape: str = ""
    end: float = math.nan
    """Height of its end in the panel's unit."""


@dataclass(frozen=True, kw_only=True)
class Panel:
    """A rectangle of the picture with its two scales. Pixels of the picture, shown units."""

    left: float
    right: float
    top: float
    bottom: float
    x_low: float
    x_high: float
    y_low: float
    y_high: float

    def x(self, value: float) -> float:
        """Place of a value across."""
        share = (value - self.x_low) / (self.x_high - self.x_low)
        return self.left + share * (self.right - self.left)

    def y(self, value: float) -> float:
        """Place of a value upwards, held a little outside the panel at most."""
        share = (value - self.y_low) / (self.y_high - self.y_low)
        return self.bottom - min(max(share, -0.5), 1.5) * (self.bottom - self.top)


def text(value: object) -> str:
    """Foreign text as safe SVG text, on one line."""
    return html.escape(" ".join(str(value).split()), quote=True)


def number(value: float) -> str:
    """A coordinate with a tenth of a pixel."""
    if not math.isfinite(value):
        raise ValueError(f"a coordinate is {value}")
    shown = f"{value:.1f}".removesuffix(".0")
    return "0" if shown == "-0" else shown


def step_of(span: float, most: int) -> float:
    """A step of 1, 2 or 5 times a power of ten that cuts a span into so many parts at most."""
    raw = span / max(most, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    return next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= raw * (1 - 1e-9))


def ticks(low: float, high: float, most: int) -> list[float]:
    """Round values within a range."""
    step = step_of(high - low, most)
    first = math.ceil(low / step - 1e-9)
    return [k * step for k in range(first, math.floor(high / step + 1e-9) + 1)]


def tick_words(values: Sequence[float]) -> list[str]:
    """Ticks as people read them, all with the decimals that their step needs."""
    step = values[1] - values[0] if len(values) > 1 else 1.0
    return [prose.plain(v, max(0, -math.floor(math.log10(step) + 1e-9))) for v in values]


def svg(name: str, width: float, height: float, alt: str, parts: Sequence[str]) -> str:
    """One picture with its words for those who do not see it. name: unique in the document."""
    kind = "wide" if width >= WIDE else "narrow"
    return (
        f'<svg class="{kind}" viewBox="0 0 {number(width)} {number(height)}" role="img" '
        f'aria-labelledby="{name}-{kind}"><desc id="{name}-{kind}">{text(alt)}</desc>'
        f"{''.join(parts)}</svg>"
    )


def word(x: float, y: float, value: str, tone: str = "soft", anchor: str = "start",
         kind: str = "word") -> str:  # fmt: skip
    """A word with a thin edge of paper, so that lines do not run through it."""
    return (
        f'<text class="{kind} t-{tone}" x="{number(x)}" y="{number(y)}" '
        f'text-anchor="{anchor}">{text(value)}</text>'
    )


def straight(x1: float, y1: float, x2: float, y2: float, kind: str, dash: str = "solid") -> str:
    """A straight line in pixels."""
    how = f' stroke-dasharray="{DASH[dash]}"' if DASH[dash] else ""
    return (
        f'<line class="{kind}" x1="{number(x1)}" y1="{number(y1)}" x2="{number(x2)}" '
        f'y2="{number(y2)}"{how}/>'
    )


def clipped(panel: Panel, name: str, parts: Sequence[str]) -> str:
    """Parts cut at the panel's edge. name: unique in the document."""
    return (
        f'<clipPath id="{name}"><rect x="{number(panel.left)}" y="{number(panel.top)}" '
        f'width="{number(panel.right - panel.left)}" '
        f'height="{number(panel.bottom - panel.top)}"/></clipPath>'
        f'<g clip-path="url(#{name})">{"".join(parts)}</g>'
    )


def runs(good: npt.NDArray[np.bool_]) -> list[slice]:
    """Unbroken stretches of what can be drawn."""
    return [slice(first, last + 1) for first, last in prose.stretches(good)]


def line(
    panel: Panel, x: Array, y: Array, tone: str, dash: str = "solid", kind: str = "line"
) -> str:
    """A line through finite points; it breaks where there is none."""
    how = f' stroke-dasharray="{DASH[dash]}"' if DASH[dash] else ""
    paths = []
    for run in runs(np.isfinite(y)):
        points = " ".join(
            f"{number(panel.x(float(p)))},{number(panel.y(float(q)))}"
            for p, q in zip(x[run], y[run], strict=True)
        )
        paths.append(f'<polyline class="{kind} t-{tone}" points="{points}"{how}/>')
    return "".join(paths)


def band(panel: Panel, x: Array, low: Array, high: Array, tone: str, kind: str = "band") -> str:
    """A range between two curves; infinite ends reach the panel's edge."""
    span = panel.y_high - panel.y_low
    edges = [np.clip(v, panel.y_low - span / 2, panel.y_high + span / 2) for v in (low, high)]
    points = [*zip(x, edges[1], strict=True), *zip(x[::-1], edges[0][::-1], strict=True)]
    drawn = " ".join(f"{number(panel.x(float(p)))},{number(panel.y(float(q)))}" for p, q in points)
    return f'<polygon class="{kind} t-{tone}" points="{drawn}"/>'


def mark(x: float, y: float, tone: str, shape: str, size: float = 4.0) -> str:
    """A mark in pixels: circle, square, diamond or ring."""
    if shape in ("circle", "ring"):
        kind = "mark" if shape == "circle" else "ring"
        return (
            f'<circle class="{kind} t-{tone}" cx="{number(x)}" cy="{number(y)}" '
            f'r="{number(size)}"/>'
        )
    if shape == "square":
        return (
            f'<rect class="mark t-{tone}" x="{number(x - size)}" y="{number(y - size)}" '
            f'width="{number(2 * size)}" height="{number(2 * size)}"/>'
        )
    if shape == "diamond":
        far = 1.35 * size
        points = f"{number(x)},{number(y - far)} {number(x + far)},{number(y)} "
        points += f"{number(x)},{number(y + far)} {number(x - far)},{number(y)}"
        return f'<polygon class="mark t-{tone}" points="{points}"/>'
    raise ValueError(f"no mark is called {shape!r}")


def axes(
    panel: Panel, x_title: str, y_title: str, *, across: bool = True, grid: bool = True
) -> str:
    """Quiet grid, ticks with numbers, and titles with units. across: number the lower edge."""
    parts = []
    values = ticks(panel.y_low, panel.y_high, max(2, int((panel.bottom - panel.top) / 42)))
    for value, told in zip(values, tick_words(values), strict=True):
        at = panel.y(value)
        if grid:
            parts.append(straight(panel.left, at, panel.right, at, "grid"))
        parts.append(word(panel.left - 6, at + 4, told, anchor="end", kind="tick"))
    values = ticks(panel.x_low, panel.x_high, max(2, int((panel.right - panel.left) / 68)))
    for value, told in zip(values, tick_words(values), strict=True):
        at = panel.x(value)
        parts.append(straight(at, panel.bottom, at, panel.bottom + 4, "axis"))
        if across:
            parts.append(word(at, panel.bottom + 17, told, anchor="middle", kind="tick"))
    parts.append(straight(panel.left, panel.bottom, panel.right, panel.bottom, "axis"))
    parts.append(word(0, panel.top - 8, y_title, kind="title"))
    if across:
        parts.append(word(panel.right, panel.bottom + 33, x_title, anchor="end", kind="title"))
    return "".join(parts)


def _sample(x: float, y: float, item: Named) -> str:
    """A short piece of the line, or its mark, before its name in a key."""
    if item.shape:
        return mark(x + 10, y - 4, item.tone, item.shape)
    return straight(x, y - 4, x + 22, y - 4, f"line t-{item.tone}", item.dash)


def key(left: float, top: float, right: float, items: Sequence[Named]) -> tuple[str, float]:
    """Samples with names, wrapped within a width, and the height that they take."""
    parts, x, y = [], left, top + 12
    for item in items:
        wide = 28 + LETTER * len(item.text)
        if x > left and x + wide > right:
            x, y = left, y + LINE
        parts.append(_sample(x, y, item))
        parts.append(word(x + 28, y, item.text, item.tone))
        x += wide + 16
    return "".join(parts), y + 4 - top


def names_at_end(panel: Panel, items: Sequence[Named]) -> str:
    """Names beside the ends of their lines, apart from each other, joined by a thin line."""
    items = [i for i in items if math.isfinite(i.end)]
    wanted = [min(max(panel.y(i.end), panel.top + 5), panel.bottom - 3) for i in items]
    parts = []
    for item, at, want in zip(items, apart(wanted, LINE), wanted, strict=True):
        parts.append(straight(panel.right + 2, want, panel.right + 9, at, "leader"))
        parts.append(word(panel.right + 12, at + 4, item.text, item.tone))
    return "".join(parts)
