"""Any described picture as a still: one drawing for paper, screen and phone, without a script.

Drawn from the very figure that the plot library is given. Places down are pixels, places across
shares of the frame, so that one drawing fits every width while its words keep their size: lines lie
in a frame that is stretched, marks and words beside it are placed by percent. It knows what our
figures use and no more (lines, marks, fills, error bars, words, shapes, straight and logarithmic
axes); anything else is an error, so that a still never shows less than the picture.
"""

import html
import math
from collections.abc import Sequence
from typing import Any
from urllib.parse import quote

import numpy as np

from torquerisk.quantities import Array
from torquerisk.show.pictures.still_pieces import (
    Scale,
    clipped,
    mark,
    number,
    numbers,
    path,
    shade,
    through,
    unbroken,
    upright_word,
    word,
)
from torquerisk.show.pictures.style import FONT, LIGHT, Picture, colours

SQUARE = 360.0
"""Width of a picture with one scale both ways: it is scaled as a whole [px]."""
LETTER = 0.5
"""Width of a letter of a title, of its size."""
TICKED = 40.0
"""Least distance of ticks upwards where their number is not given [px]."""
ANCHOR = {"left": "start", "center": "middle", "right": "end"}


class _Still:
    """One still under way."""

    def __init__(self, figure: dict[str, Any], height: float | None) -> None:
        self._layout = figure["layout"]
        margin = self._layout["margin"]
        self.left, self.right, self.top = (float(margin[side]) for side in "lrt")
        self.height = height or float(self._layout["height"])
        self._deep = self.height - self.top - float(margin["b"])
        self.square = self._layout["yaxis"].get("scaleanchor") is not None
        self._scales = {
            n: self._scale(n) for n in ("xaxis", "yaxis", "yaxis2") if n in self._layout
        }
        self._rulers: list[str] = []
        self._under: list[str] = []
        self._lines: dict[str, list[str]] = {n: [] for n in self._scales if n != "xaxis"}
        self._over: list[str] = []
        self._words: list[str] = []

    def _scale(self, name: str) -> Scale:
        layout = self._layout[name]
        start, end = (float(v) for v in layout.get("domain", (0.0, 1.0)))
        if self.square:  # what is left of the frame once both scales are one
            spans = [float(np.ptp(self._layout[n]["range"])) for n in ("xaxis", "yaxis")]
            room = (SQUARE - self.left - self.right, self._deep)
            one = min(r / s for r, s in zip(room, spans, strict=True))
            k = 0 if name == "xaxis" else 1
            half = one * spans[k] / room[k] / 2
            start, end = 0.5 - half, 0.5 + half
        if name != "xaxis":
            start, end = (1 - start) * self._deep, (1 - end) * self._deep
        low, high = (float(v) for v in layout["range"])
        return Scale(low=low, high=high, start=start, end=end, layout=layout)

    def rulers(self) -> None:
        """Axes: grid, line, ticks, words, titles."""
        across, beside = self._scales["xaxis"], [self._scales[n] for n in self._lines]
        for scale in beside:
            self._upright(scale, across)
        foot = max(s.start for s in beside)
        layout, font = across.layout, across.layout["tickfont"]
        for place, told in across.ticks(int(layout.get("nticks") or 8)):
            if layout.get("showgrid"):
                for s in beside:
                    self._rule(place, place, s.start, s.end, layout["gridcolor"])
            self._rule(place, place, foot, foot + 4, layout["tickcolor"])
            self._words.append(word(told, (place, foot + 7), font, upright="top"))
        self._rule(across.start, across.end, foot, foot, layout["linecolor"])
        title = layout["title"]
        at = foot + 11 + 1.15 * float(font["size"])
        middle = (across.start + across.end) / 2
        self._words.append(word(title.get("text", ""), (middle, at), title["font"], upright="top"))

    def _upright(self, scale: Scale, across: Scale) -> None:
        layout, font = scale.layout, scale.layout["tickfont"]
        usual = int(np.clip(abs(scale.end - scale.start) / TICKED, 2, 9)) + 1
        longest, off = 0, 7.0 if layout["ticks"] else 3.0
        for place, told in scale.ticks(int(layout.get("nticks") or usual)):
            longest = max(longest, *(len(one) for one in told.split("<br>")))
            if layout.get("showgrid", True):
                self._rule(across.start, across.end, place, place, layout["gridcolor"])
            self._words.append(word(told, (across.start, place), font, "end", shift=(-off, 0)))
        if layout.get("showline", True):
            self._rule(across.start, across.start, scale.start, scale.end, layout["linecolor"])
        title = layout["title"]
        told, size = title.get("text", ""), float(title["font"]["size"])
        beside = min(off + 0.5 * float(font["size"]) * longest + 0.6 * size + 6, self.left - 8)
        # A title keeps within its panel, and off the one below.
        fits = (scale.start - scale.end) / (LETTER * max(len(told), 1))
        middle = across.start, (scale.start + scale.end) / 2
        title_font = {**title["font"], "size": min(size, fits)}
        self._words.append(upright_word(told, middle, title_font, beside))

    def _rule(self, x0: float, x1: float, y0: float, y1: float, colour: str) -> None:
        line = {"width": 1, "color": colour}
        self._rulers.append(path(through(np.array([x0, x1]), np.array([y0, y1])), line))

    def _across(self, x: Any, of: dict[str, Any], *, scaled: bool = False) -> Array:
        """Shares across of a shape or a note; scaled: they are logarithms where the axis is."""
        if of.get("xref") == "paper":
            return np.asarray(x, dtype=float)
        return self._scales["xaxis"].place(x, scaled=scaled)

    def _down(self, y: Any, of: dict[str, Any]) -> Array:
        """Pixels down of a shape or a note."""
        if of.get("yref") == "paper":
            return np.asarray((1 - np.asarray(y, dtype=float)) * self._deep)
        return self._scales["yaxis2" if of.get("yref") == "y2" else "yaxis"].place(y)

    def shape(self, shape: dict[str, Any]) -> None:
        """A line, a rectangle or a circle."""
        x = self._across([shape["x0"], shape["x1"]], shape)
        y = self._down([shape["y0"], shape["y1"]], shape)
        if shape["type"] == "line":
            drawn = through(x, y)
        elif shape["type"] == "rect":
            drawn = through(x[[0, 1, 1, 0]], y[[0, 0, 1, 1]]) + "Z"
        elif shape["type"] == "circle":
            turn = np.linspace(0, 2 * np.pi, 72, endpoint=False)
            x = x.mean() + np.ptp(x) / 2 * np.cos(turn)
            drawn = through(x, y.mean() + np.ptp(y) / 2 * np.sin(turn)) + "Z"
        else:
            raise ValueError(f"a still cannot show a shape of type {shape['type']}")
        into = self._under if shape.get("layer") == "below" else self._over
        into.append(path(drawn, shape.get("line", {}), shape.get("fillcolor", "")))

    def note(self, note: dict[str, Any]) -> None:
        """Words on the picture."""
        if note.get("showarrow", True):
            raise ValueError("a still cannot show an arrow")
        x, y = float(self._across(note["x"], note, scaled=True)), float(self._down(note["y"], note))
        if not (0 <= x <= 1 and -1e-6 <= y <= self._deep + 1e-6):
            return  # as the plot library does with words beyond an axis
        self._words.append(
            word(
                note["text"], (x, y), {**self._layout["font"], **note.get("font", {})},
                ANCHOR[note["xanchor"]], note["yanchor"],
                (float(note.get("xshift", 0)), -float(note.get("yshift", 0))),
                note.get("bgcolor", ""),
            )
        )  # fmt: skip

    def trace(self, trace: dict[str, Any], before: dict[str, Any] | None) -> None:
        """Lines, marks, fills and error bars of a trace; before: the trace below it."""
        if trace.get("type") != "scatter":
            raise ValueError(f"a still cannot show a trace of type {trace.get('type')}")
        name = {"y": "yaxis", "y2": "yaxis2"}[trace.get("yaxis", "y")]
        upright, into = self._scales[name], self._lines[name]
        (x, y), fill = self._placed(trace), trace.get("fill")
        if fill == "tonexty" and before is not None:
            into += shade(x, y, *self._placed(before), trace["fillcolor"])
        elif fill == "tozeroy":
            zero = np.full_like(y, float(upright.place(0.0)))
            into += shade(x, y, x, zero, trace["fillcolor"])
        elif fill not in (None, "none"):
            raise ValueError(f"a still cannot show a fill {fill}")
        for way in "xy":
            if f"error_{way}" in trace:
                into.append(self._bars(trace, trace[f"error_{way}"], upright, way))
        mode, line = trace.get("mode", "lines"), trace.get("line", {})
        if "lines" in mode:
            drawn = "".join(through(x[r], y[r]) for r in unbroken(np.isfinite(x) & np.isfinite(y)))
            into.append(path(drawn, line))
        if "markers" in mode:
            self._marks(x, y, trace["marker"], line.get("color", ""))
        if "text" in mode:
            self._beside(x, y, trace)

    def _placed(self, trace: dict[str, Any]) -> tuple[Array, Array]:
        """Places of a trace's points: shares across (n,), pixels down (n,)."""
        upright = self._scales["yaxis2" if trace.get("yaxis") == "y2" else "yaxis"]
        across = self._scales["xaxis"].place(numbers(trace.get("x")))
        return across, upright.place(numbers(trace.get("y")))

    def _bars(self, trace: dict[str, Any], bars: dict[str, Any], upright: Scale, way: str) -> str:
        x, y = numbers(trace["x"]), numbers(trace["y"])
        more, less = numbers(bars["array"]), numbers(bars["arrayminus"])
        drawn = ""
        for a, b, up, down in zip(x, y, more, less, strict=True):
            if np.all(np.isfinite([a, b, up, down])):
                reach = np.array([-down, up])
                ends_x = self._scales["xaxis"].place(a + reach if way == "x" else [a, a])
                drawn += through(ends_x, upright.place(b + reach if way == "y" else [b, b]))
        return path(drawn, {"width": bars["thickness"], "color": bars["color"]})

    def _marks(self, x: Array, y: Array, marker: dict[str, Any], usual: str) -> None:
        def each(name: str, default: Any) -> list[Any]:
            value = marker.get(name, default)
            return list(value) if isinstance(value, list | tuple) else [value] * len(x)

        edge = marker.get("line", {})
        given = zip(x, y, each("symbol", "circle"), each("size", 6), each("color", usual),
                    strict=True)  # fmt: skip
        self._words += [
            mark(symbol, colour, float(size), edge, (float(a), float(b)))
            for a, b, symbol, size, colour in given
            if math.isfinite(a) and math.isfinite(b)
        ]

    def _beside(self, x: Array, y: Array, trace: dict[str, Any]) -> None:
        if trace["textposition"] != "middle right":
            raise ValueError(f"a still cannot write {trace['textposition']}")
        away = float(np.max(trace["marker"]["size"])) / 2 + 3
        for a, b, told in zip(x, y, trace["text"], strict=True):
            self._words.append(
                word(told, (float(a), float(b)), trace["textfont"], "start", shift=(away, 0))
            )

    def frame(self, place: str) -> str:
        """The frame with all that reaches beyond it. place: attributes that say where it lies."""
        deep, across = number(self._deep), self._scales["xaxis"]
        ends = (across.start, across.end)
        whole = (min(self._scales[n].end for n in self._lines),
                 max(self._scales[n].start for n in self._lines))  # fmt: skip
        lines = [
            clipped(drawn, ends, (self._scales[name].end, self._scales[name].start))
            for name, drawn in self._lines.items()
        ]
        return (
            f'<svg class="frame" {place} height="{number(self.height)}" overflow="visible">'
            f'<g transform="translate(0 {number(self.top)})"><svg width="100%" height="{deep}" '
            f'viewBox="0 0 1000 {deep}" preserveAspectRatio="none" overflow="visible">'
            f"{clipped(self._under, ends, whole)}{''.join(self._rulers)}{''.join(lines)}"
            f"{clipped(self._over, ends, whole)}</svg>{''.join(self._words)}</g></svg>"
        )


def _drawn(picture: Picture, height: float | None = None) -> _Still:
    """Raises ValueError where the picture uses what a still cannot show."""
    figure = picture.figure.to_plotly_json()
    made = _Still(figure, height)
    shapes: Sequence[dict[str, Any]] = figure["layout"].get("shapes", ())
    before = None
    made.rulers()
    for trace in figure["data"]:
        made.trace(trace, before)
        before = trace
    for shape in shapes:
        made.shape(shape)
    for note in figure["layout"].get("annotations", ()):
        made.note(note)
    return made


def _as_html(picture: Picture, height: float | None) -> str:
    """Of any width. Empty images keep the margins: a style sheet that allows no other style than
    its own lets no measure in but an image's."""
    made = _drawn(picture, height)
    if made.square:
        wide = number(SQUARE - made.left - made.right)
        place = f'x="{number(made.left)}" width="{wide}"'
        drawn = (
            f'<svg class="square" viewBox="0 0 {SQUARE:g} {number(made.height)}">'
            f"{made.frame(place)}</svg>"
        )
    else:
        sides = (f'<svg width="{number(v)}" height="1"></svg>' for v in (made.left, made.right))
        drawn = made.frame('width="100%"').join(sides)
    alt = html.escape(picture.alt, quote=True)
    return f'<div class="drawn" role="img" aria-label="{alt}">{drawn}</div>'


def for_paper(picture: Picture, height: float | None = None) -> str:
    """A picture made in LIGHT as HTML, coloured by the variables of a style sheet.

    height: of the whole picture, its own when left out [px].
    """
    return in_variables(_as_html(picture, height))


def for_page(picture: Picture, height: float | None = None) -> str:
    """A picture in its own colours as an image of any width, where markup may draw no other."""
    deep = number(height or float(picture.figure.layout.height))
    page = _as_html(picture, height).replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"')
    drawn = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100%" height="100%"><foreignObject '
        'width="100%" height="100%"><div xmlns="http://www.w3.org/1999/xhtml"><style>'
        f".drawn{{display:flex}}.frame,.square{{flex:1 1 0;min-width:0}}text{{font-family:{FONT}}}"
        f"</style>{page}</div></foreignObject></svg>"
    )
    return (
        f'<img alt="{html.escape(picture.alt, quote=True)}" width="100%" height="{deep}" '
        f'src="data:image/svg+xml,{quote(drawn)}">'
    )


def in_variables(drawn: str) -> str:
    """A drawing made in LIGHT, coloured by the variables of a style sheet."""
    for name, colour in colours(LIGHT).items():
        drawn = drawn.replace(f'"{colour}"', f'"var(--{name})"')
    return drawn
