"""A picture of the page as a still, to be seen before the browser has read the plot library.

Drawn from the very figure that the plot library is given, at the same places, so that nothing moves
when the live picture comes to lie over it. It knows what our figures use and no more: lines, marks,
fills, error bars, words, shapes, straight and logarithmic axes; anything else is an error, so that
a still never shows less than the picture. Words are HTML, lines and marks two SVG images, since the
page lets no other SVG in. Heights are pixels; widths follow the page, so places across are shares
of the frame.
"""

import html
from collections.abc import Sequence
from typing import Any

import numpy as np

from torquerisk.quantities import Array
from torquerisk.show.pictures.still_pieces import (
    ACROSS,
    BESIDE,
    StillAxis,
    image,
    marks_at,
    numbers,
    path_through,
    percent,
    safe_words,
    stroke,
)
from torquerisk.show.pictures.style import Picture
from torquerisk.show.pictures.svg import number, runs

SQUARE_WIDTH = 474.0
"""Width at which a picture with one scale both ways is right [px]."""
LETTER = 0.5
"""Usual width of a letter over its size."""
TICKED = 40.0
"""Least distance of ticks upwards where their number is not given [px]."""
SEGMENTS = 48
"""Straight pieces of a circle."""


class _Still:
    """One still under way."""

    def __init__(self, figure: dict[str, Any]) -> None:
        self._layout = figure["layout"]
        self._ink = self._layout["font"]["color"]
        margin, self._height = self._layout["margin"], float(self._layout["height"])
        self._left, self._right = float(margin["l"]), float(margin["r"])
        self._top, self._foot = float(margin["t"]), float(margin["b"])
        self._deep = self._height - self._top - self._foot
        self._square = self._layout["yaxis"].get("scaleanchor") is not None
        self._axes = {name: self._axis(name) for name in ("xaxis", "yaxis", "yaxis2")
                      if name in self._layout}  # fmt: skip
        self._under: list[str] = []
        self._lines: list[str] = []
        self._marked: list[str] = []
        self._words: list[str] = []

    def _axis(self, name: str) -> StillAxis:
        layout = self._layout[name]
        low, high = (float(v) for v in layout["range"])
        start, end = (float(v) for v in layout.get("domain", (0.0, 1.0)))
        if self._square:
            start, end = self._squared(name, start, end)
        if name != "xaxis":
            start, end = (1 - start) * self._deep, (1 - end) * self._deep
        return StillAxis(
            low=low, high=high, start=start, end=end, log=layout.get("type") == "log", layout=layout
        )

    def _squared(self, name: str, start: float, end: float) -> tuple[float, float]:
        """The stretch left of an axis once both have one scale."""
        spans = [float(np.ptp(self._layout[n]["range"])) for n in ("xaxis", "yaxis")]
        room = (SQUARE_WIDTH - self._left - self._right, self._deep)
        scale = min(r / s for r, s in zip(room, spans, strict=True))
        k = 0 if name == "xaxis" else 1
        kept, middle = scale * spans[k] / room[k], (start + end) / 2
        return middle - kept / 2, middle + kept / 2

    def _frame_of(self, trace: dict[str, Any]) -> tuple[StillAxis, StillAxis]:
        upright = {"y": "yaxis", "y2": "yaxis2"}[trace.get("yaxis", "y")]
        return self._axes["xaxis"], self._axes[upright]

    def rulers(self) -> None:
        """Axes: grid, line, ticks, words."""
        across = self._axes["xaxis"]
        foot = max(a.start for n, a in self._axes.items() if n != "xaxis")
        for name, axis in self._axes.items():
            self._ruler(axis, across, foot, upright=name != "xaxis")

    def _ruler(self, axis: StillAxis, across: StillAxis, foot: float, *, upright: bool) -> None:
        layout = axis.layout
        most = layout.get("nticks") or int(np.clip(abs(axis.end - axis.start) / TICKED, 4, 9)) + 1
        tick = float(layout["ticklen"]) if layout["ticks"] else 0.0
        font, colour, longest = layout["tickfont"], layout["tickcolor"], 0
        size = float(font["size"])
        for place, told in axis.ticks(int(most)):
            lines = told.split("<br>")
            longest = max(longest, *(len(one) for one in lines))
            if upright:
                if layout.get("showgrid", True):
                    sides = np.array([across.start, across.end])
                    self._grid(path_through(sides, np.full(2, place)), layout["gridcolor"])
                if tick:
                    self._box(across.start, across.start, place, place, colour, left=tick)
                self._write(lines, across.start, place, size, font["color"], "end", "middle",
                            -tick - 3)  # fmt: skip
            else:
                if layout.get("showgrid", False):
                    ends = [(a.start, a.end) for n, a in self._axes.items() if n != "xaxis"]
                    for end in ends:
                        self._grid(
                            path_through(np.full(2, place), np.array(end)), layout["gridcolor"]
                        )
                if tick:
                    self._box(place, place, foot, foot + tick, colour)
                self._write(lines, place, foot, size, font["color"], "middle", "top", 0, tick + 3)
        if layout.get("showline", False):
            x = np.full(2, across.start) if upright else np.array([across.start, across.end])
            y = np.array([axis.start, axis.end]) if upright else np.full(2, foot)
            self._box(x[0], x[1], y.min(), y.max(), layout["linecolor"])
        self._title(axis, across, foot, tick, longest * LETTER * size, upright=upright)

    def _grid(self, path: str, colour: str) -> None:
        self._under.append(f'<path d="{path}" {stroke({"width": 1}, colour)}/>')

    def _box(
        self,
        x_low: float,
        x_high: float,
        y_low: float,
        y_high: float,
        colour: str,
        left: float = 0.0,
    ) -> None:
        """A thin upright or level line; left: how far it reaches to the left of there [px]."""
        level = x_high > x_low or left
        across = f"width:{number(left)}px" if left else f"width:{percent(x_high - x_low)}"
        size = f"{across};height:1px" if level else f"width:1px;height:{number(y_high - y_low)}px"
        start = f"calc({percent(x_low)} - {number(left)}px)" if left else percent(x_low)
        self._words.append(
            f'<i style="left:{start};top:{number(y_low)}px;{size};background:{colour}"></i>'
        )  # fmt: skip

    def _title(
        self,
        axis: StillAxis,
        across: StillAxis,
        foot: float,
        tick: float,
        beside: float,
        *,
        upright: bool,
    ) -> None:
        title = axis.layout["title"]
        words = title.get("text")
        if not words:
            return
        font = title["font"]
        size, off = float(font["size"]), float(title["standoff"])
        if not upright:
            middle = (axis.start + axis.end) / 2
            down = tick + 1 + 1.15 * float(axis.layout["tickfont"]["size"]) + off
            self._write([words], middle, foot, size, font["color"], "middle", "top", 0, down)
            return
        x, y = -tick - 3 - beside - off - 0.9 * size, (axis.start + axis.end) / 2
        self._words.append(
            f'<b style="left:calc({percent(across.start)} + {number(x)}px);top:{number(y)}px;'
            f"font-size:{size:g}px;color:{font['color']};"
            f'transform:translate(-50%,-50%) rotate(-90deg)">{safe_words(words)}</b>'
        )

    def _write(
        self,
        lines: Sequence[str],
        x: float,
        y: float,
        size: float,
        colour: str,
        anchor: str,
        upright: str,
        right: float = 0.0,
        down: float = 0.0,
        halo: str = "",
    ) -> None:
        """Words at a place, some pixels away. anchor, upright: which edge of them lies there."""
        back = {"start": "0", "middle": "-50%", "end": "-100%"}[anchor]
        up = {"top": "0", "middle": "-50%", "bottom": "-100%"}[upright]
        align = {"start": "left", "middle": "center", "end": "right"}[anchor]
        paper = f"background:{halo};" if halo else ""
        self._words.append(
            f'<b style="left:calc({percent(x)} + {number(right)}px);top:{number(y + down)}px;'
            f"font-size:{size:g}px;color:{colour};text-align:{align};{paper}"
            f'transform:translate({back},{up})">{"<br>".join(safe_words(one) for one in lines)}</b>'
        )

    def shape(self, shape: dict[str, Any]) -> None:
        """A line, a rectangle or a circle."""
        x, y = self._corners(shape)
        if shape["type"] == "line":
            path, fill = path_through(x, y), ""
        elif shape["type"] == "rect":
            path, fill = (
                path_through(x[[0, 1, 1, 0]], y[[0, 0, 1, 1]]) + "Z",
                shape.get("fillcolor", ""),
            )
        elif shape["type"] == "circle":
            turn = np.linspace(0, 2 * np.pi, SEGMENTS, endpoint=False)
            path, fill = (
                (
                    path_through(
                        x.mean() + np.ptp(x) / 2 * np.cos(turn),
                        y.mean() + np.ptp(y) / 2 * np.sin(turn),
                    )
                    + "Z"
                ),
                shape.get("fillcolor", ""),
            )
        else:
            raise ValueError(f"a still cannot show a shape of type {shape['type']}")
        line = shape.get("line", {})
        drawn = stroke(line, self._ink) if line.get("width", 2) else 'fill="none"'
        if fill:
            drawn = drawn.replace('fill="none"', f'fill="{fill}"')
        into = self._under if shape.get("layer") == "below" else self._lines
        into.append(f'<path d="{path}" {drawn}/>')

    def _corners(self, shape: dict[str, Any]) -> tuple[Array, Array]:
        x, y = (np.array([shape[f"{way}0"], shape[f"{way}1"]], dtype=float) for way in "xy")
        return self._across(x, shape), self._down(y, shape)

    def _across(self, x: Array | np.float64, of: dict[str, Any], *, scaled: bool = False) -> Array:
        """Places across of a shape or a note; scaled: as in `StillAxis.place`."""
        if of.get("xref") == "paper":
            return np.asarray(x)
        return self._axes["xaxis"].place(x, scaled=scaled)

    def _down(self, y: Array | np.float64, of: dict[str, Any], *, scaled: bool = False) -> Array:
        """Places down of a shape or a note [px]."""
        if of.get("yref") == "paper":
            return np.asarray((1 - y) * self._deep)
        upright = self._axes["yaxis2" if of.get("yref") == "y2" else "yaxis"]
        return upright.place(y, scaled=scaled)

    def note(self, note: dict[str, Any]) -> None:
        """Words on the picture."""
        if note.get("showarrow", True):
            raise ValueError("a still cannot show an arrow")
        place = float(self._across(np.float64(note["x"]), note, scaled=True))
        height = float(self._down(np.float64(note["y"]), note, scaled=True))
        if not (0 <= place <= 1 and -1e-6 <= height <= self._deep + 1e-6):
            return  # as the plot library does with words beyond an axis
        font = {**self._layout["font"], **note.get("font", {})}
        anchor = {"left": "start", "center": "middle", "right": "end"}[note["xanchor"]]
        self._write(
            note["text"].split("<br>"), place, height, float(font["size"]), font["color"], anchor,
            note["yanchor"], float(note.get("xshift", 0)), -float(note.get("yshift", 0)),
            note.get("bgcolor", ""),
        )  # fmt: skip

    def trace(self, trace: dict[str, Any], before: dict[str, Any] | None) -> None:
        """Lines, marks, fills and error bars of a trace; before: the trace below it."""
        if trace.get("type") != "scatter":
            raise ValueError(f"a still cannot show a trace of type {trace.get('type')}")
        across, upright = self._frame_of(trace)
        x, y = self._placed(trace)
        mode = trace.get("mode", "lines")
        fill = trace.get("fill")
        if fill == "tonexty" and before is not None:
            self._filled(x, y, *self._placed(before), trace["fillcolor"])
        elif fill == "tozeroy":
            self._filled(x, y, x, np.full_like(y, float(upright.place(0.0))), trace["fillcolor"])
        elif fill not in (None, "none"):
            raise ValueError(f"a still cannot show a fill {fill}")
        for name in ("error_x", "error_y"):
            if name in trace:
                self._bars(trace, trace[name], across, upright, sideways=name == "error_x")
        line = trace.get("line", {})
        if "lines" in mode and line.get("width", 2):
            path = "".join(
                path_through(x[run], y[run]) for run in runs(np.isfinite(y) & np.isfinite(x))
            )
            if path:
                self._lines.append(f'<path d="{path}" {stroke(line, self._ink)}/>')
        if "markers" in mode:
            self._marked += marks_at(x, y, trace["marker"], line.get("color", self._ink))
        if "text" in mode:
            font = trace["textfont"]
            if trace["textposition"] != "middle right":
                raise ValueError(f"a still cannot write {trace['textposition']}")
            beside = float(np.max(trace["marker"]["size"])) / 2 + 3
            for a, b, told in zip(x, y, trace["text"], strict=True):
                self._write(told.split("<br>"), float(a), float(b), font["size"], font["color"],
                            "start", "middle", beside)  # fmt: skip

    def _placed(self, trace: dict[str, Any]) -> tuple[Array, Array]:
        """Places of a trace's points: shares across (n,), pixels down (n,)."""
        across, upright = self._frame_of(trace)
        return across.place(numbers(trace.get("x"))), upright.place(numbers(trace.get("y")))

    def _filled(self, x: Array, y: Array, x_low: Array, y_low: Array, colour: str) -> None:
        upper, lower = (runs(np.isfinite(a) & np.isfinite(b)) for a, b in ((x, y), (x_low, y_low)))
        for over, under in zip(upper, lower, strict=True):
            path = path_through(
                np.concatenate([x[over], x_low[under][::-1]]),
                np.concatenate([y[over], y_low[under][::-1]]),
            )
            self._lines.append(f'<path d="{path}Z" fill="{colour}"/>')

    def _bars(
        self,
        trace: dict[str, Any],
        bars: dict[str, Any],
        across: StillAxis,
        upright: StillAxis,
        *,
        sideways: bool,
    ) -> None:
        x, y = numbers(trace["x"]), numbers(trace["y"])
        more, less = numbers(bars["array"]), numbers(bars["arrayminus"])
        paths = []
        for a, b, up, down in zip(x, y, more, less, strict=True):
            if not np.all(np.isfinite([a, b, up, down])):
                continue
            ends_x = across.place(np.array([a - down, a + up] if sideways else [a, a]))
            ends_y = upright.place(np.array([b, b] if sideways else [b - down, b + up]))
            paths.append(path_through(ends_x, ends_y))
        line = {"width": bars["thickness"], "color": bars["color"]}
        self._lines.append(f'<path d="{"".join(paths)}" {stroke(line, self._ink)}/>')

    def markup(self, alt: str) -> str:
        """The still, as HTML that is as wide as its place."""
        deep, wider = number(self._deep), number(2 * BESIDE)
        lines = image(
            f'preserveAspectRatio="none" viewBox="0 0 {ACROSS:g} {deep}"',
            [*self._under, *self._lines], f"left:0;top:0;width:100%;height:{deep}px",
        )  # fmt: skip
        marks = image(
            "", self._marked,
            f"left:-{BESIDE:g}px;top:-{BESIDE:g}px;width:calc(100% + {wider}px);"
            f"height:calc({deep}px + {wider}px)",
        )  # fmt: skip
        edges = " ".join(f"{number(v)}px" for v in (self._top, self._right, self._foot, self._left))
        return (
            f'<div class="tr-still" role="img" aria-label="{html.escape(alt, quote=True)}" '
            f'style="padding:{edges}"><div style="height:{deep}px" aria-hidden="true">'
            f"{lines}{marks}{''.join(self._words)}</div></div>"
        )


def still_of(picture: Picture) -> str:
    """A picture as HTML. Raises ValueError where it uses what a still cannot show."""
    figure = picture.figure.to_plotly_json()
    still = _Still(figure)
    for shape in figure["layout"].get("shapes", ()):
        if shape.get("layer") == "below":
            still.shape(shape)
    still.rulers()
    before = None
    for trace in figure["data"]:
        still.trace(trace, before)
        before = trace
    for shape in figure["layout"].get("shapes", ()):
        if shape.get("layer") != "below":
            still.shape(shape)
    for note in figure["layout"].get("annotations", ()):
        still.note(note)
    return still.markup(picture.alt)
