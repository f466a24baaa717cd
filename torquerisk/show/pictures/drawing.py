"""A picture under way: its axes, lines, ranges, signs and words, in the one style."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import plotly.graph_objects as go

from torquerisk.quantities import Array
from torquerisk.show.pictures.style import (
    FONT,
    STROKES,
    Look,
    Stamp,
    drawn,
    faded,
    plain,
    rpm,
)

SIDES: dict[str, tuple[str, str, int, int]] = {
    "on": ("center", "middle", 0, 0),
    "above": ("center", "bottom", 0, 1),
    "below": ("center", "top", 0, -1),
    "left": ("right", "middle", -1, 0),
    "right": ("left", "middle", 1, 0),
}
"""Where words stand beside a place: which edge of theirs lies there, and which way is away."""


class Drawing:
    """A picture under way: plain dictionaries, checked by plotly once, when it is done."""

    def __init__(self, layout: dict[str, Any], paper: str) -> None:
        self._layout = layout
        self._paper = paper
        self._traces: list[dict[str, Any]] = []
        self._shapes: list[dict[str, Any]] = []
        self._annotations: list[dict[str, Any]] = []

    def add_trace(self, trace: dict[str, Any]) -> None:
        """Put lines or marks on top of those before."""
        self._traces.append(trace)

    def line(
        self, x: Sequence[float] | Array, y: Array, colour: str, hover: str = "", *,
        dash: str = "solid", width: float = 2.4, digits: int = 1, **more: Any,
    ) -> None:  # fmt: skip
        """A line; it breaks where there is no finite value. hover: told where the pointer is."""
        told = {"hovertemplate": f"{hover}<extra></extra>"} if hover else {"hoverinfo": "skip"}
        stroke = {"color": colour, "width": width, "dash": dash} if width else {"width": 0}
        self.add_trace(
            {"type": "scatter", "x": x, "y": drawn(np.asarray(y), digits), "mode": "lines",
             "line": stroke, **told, **more}
        )  # fmt: skip

    def band(
        self, x: Sequence[float] | Array, low: Array, high: Array, colour: str, share: float = 0.18,
        *, digits: int = 1, **more: Any,
    ) -> None:  # fmt: skip
        """A range between two curves; gaps end it. share: opacity of its ground."""
        self.line(x, low, "", width=0, digits=digits, **more)
        fill = {"fill": "tonexty", "fillcolor": faded(colour, share)}
        self.line(x, high, "", width=0, digits=digits, **fill, **more)

    def signs(
        self, x: Any, y: Any, sign: str, colour: str, hover: str = "", *, size: float = 9,
        **more: Any,
    ) -> None:  # fmt: skip
        """Marks, filled ones with a rim of paper."""
        told = {"hovertemplate": f"{hover}<extra></extra>"} if hover else {"hoverinfo": "skip"}
        rim = (
            {"width": 1.8, "color": colour}
            if sign in STROKES
            else {"width": 1, "color": self._paper}
        )
        marker = {"symbol": sign, "size": size, "color": colour, "line": rim}
        self.add_trace(
            {"type": "scatter", "x": x, "y": y, "mode": "markers", "marker": marker, **told, **more}
        )

    def word(
        self, x: float, y: float, text: str, colour: str, side: str = "on", away: float = 0,
        **more: Any,
    ) -> None:  # fmt: skip
        """Words beside a place, over a patch of paper so that lines do not run through them.

        side: of `SIDES`; away: pixels from the place to there.
        """
        xanchor, yanchor, right, up = SIDES[side]
        options: dict[str, Any] = {
            "xanchor": xanchor, "yanchor": yanchor, "xshift": right * away, "yshift": up * away,
            "align": "left", "showarrow": False, "font": {"size": 13, "color": colour},
            "bgcolor": faded(self._paper, 0.82), "borderpad": 1,
        }  # fmt: skip
        self._annotations.append({"x": float(x), "y": float(y), "text": text, **options, **more})

    def add_shape(self, **shape: Any) -> None:
        """Put a line or a rectangle on the picture."""
        self._shapes.append(shape)

    def hline(self, y: float, colour: str, width: float = 1.4, dash: str = "solid") -> None:
        """A level line across the picture."""
        line = {"color": colour, "width": width, "dash": dash}
        self.add_shape(type="line", xref="paper", x0=0, x1=1, y0=y, y1=y, line=line)

    def vline(self, x: float, colour: str, width: float = 1.4, dash: str = "solid") -> None:
        """An upright line through the picture."""
        line = {"color": colour, "width": width, "dash": dash}
        self.add_shape(type="line", yref="paper", y0=0, y1=1, x0=x, x1=x, line=line)

    def hrect(self, low: float, high: float, colour: str) -> None:
        """A shaded level stretch, below everything."""
        self.add_shape(
            type="rect", xref="paper", x0=0, x1=1, y0=low, y1=high, line={"width": 0},
            fillcolor=colour, layer="below",
        )  # fmt: skip

    def vrect(self, low: float, high: float, colour: str) -> None:
        """A shaded upright stretch, below everything."""
        self.add_shape(
            type="rect", yref="paper", y0=0, y1=1, x0=low, x1=high, line={"width": 0},
            fillcolor=colour, layer="below",
        )  # fmt: skip

    def update_layout(self, **changes: Any) -> None:
        """Change parts of the layout; dictionaries are merged one level down."""
        for key, value in changes.items():
            if isinstance(value, dict) and isinstance(self._layout.get(key), dict):
                self._layout[key] = {**self._layout[key], **value}
            else:
                self._layout[key] = value

    def update_xaxes(self, title_text: str | None = None, **changes: Any) -> None:
        """Change the ruler."""
        self._axis("xaxis", title_text, changes)

    def update_yaxes(self, title_text: str | None = None, **changes: Any) -> None:
        """Change the upright axis, the upper one where there are two."""
        self._axis("yaxis", title_text, changes)

    def update_lower(self, title_text: str | None = None, **changes: Any) -> None:
        """Change the lower of two upright axes."""
        self._axis("yaxis2", title_text, changes)

    def _axis(self, name: str, title: str | None, changes: dict[str, Any]) -> None:
        axis = self._layout[name]
        if title is not None:
            changes["title"] = {**axis["title"], "text": title}
        self._layout[name] = {**axis, **changes}

    def done(self) -> go.Figure:
        """The figure, checked."""
        return _Done(
            data=self._traces,
            layout={**self._layout, "shapes": self._shapes, "annotations": self._annotations},
        )


class _Done(go.Figure):
    """A figure that nobody changes any more: what is sent of it is made once."""

    def to_dict(self) -> dict[str, Any]:
        """The figure as plain lists and numbers; not to be changed."""
        kept: dict[str, Any] | None = getattr(self, "_kept", None)
        if kept is None:
            kept = self._kept = super().to_dict()
        return kept


def new_figure(
    look: Look, height: int, stamp: Stamp | None, *, two: bool = False, left: int = 54
) -> Drawing:
    """An empty picture in the house style: no frame, quiet grid, room for words, no drag.

    stamp: written at the foot, so that a picture cut from the page keeps its inputs. two: a second
    vertical axis stands below the first, on the same ruler. left: room for words there [px].
    """
    axis: dict[str, Any] = {
        "gridcolor": look.grid,
        "zeroline": False,
        "linecolor": look.soft,
        "showline": True,
        "tickcolor": look.soft,
        "ticks": "outside",
        "ticklen": 4,
        "fixedrange": True,
        "title": {"font": {"size": 13, "color": look.soft}, "standoff": 6},
        "tickfont": {"size": 12, "color": look.soft},
    }
    layout: dict[str, Any] = {
        "height": height,
        "margin": {"l": left, "r": 14, "t": 18, "b": 62 if stamp else 44, "autoexpand": False},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "font": {"family": FONT, "size": 13, "color": look.ink},
        "showlegend": False,
        "dragmode": False,
        "hovermode": "x unified",
        "hoverlabel": {"bgcolor": look.paper, "font": {"color": look.ink, "family": FONT}},
        "uirevision": "keep",
        "template": "none",
        "xaxis": {**axis, "showgrid": False},
        "yaxis": axis,
    }
    if two:
        layout["xaxis"] = {**axis, "showgrid": False, "domain": [0, 1], "anchor": "y2"}
        layout["yaxis"] = {**axis, "domain": [0.37, 1]}
        layout["yaxis2"] = {**axis, "domain": [0, 0.29], "anchor": "x"}
        layout["hoversubplots"] = "axis"
    figure = Drawing(layout, look.paper)
    if stamp is not None:
        figure.word(
            0, 0, plain(stamp.text, 90), look.soft, "right", 4 - left, xref="paper", yref="paper",
            yanchor="top", yshift=-44, font={"size": 10, "color": look.soft}, name="stamp",
            bgcolor="rgba(0,0,0,0)",
        )  # fmt: skip
    return figure


def speed_axis(figure: Drawing, low: float, high: float) -> None:
    """The ruler that pictures share: engine speed in rpm over the run's range, rounded as `rpm`.

    A word at its very end would else lie a rounding beside it, where none is drawn.
    """
    figure.update_xaxes(
        title_text="engine speed [rpm]",
        range=[float(rpm(low)), float(rpm(high))],
        tickformat=",d",
        nticks=8,
        unifiedhovertitle={"text": "%{x:,.0f} rpm"},
    )


def bars(more: Sequence[float | None], less: Sequence[float | None], colour: str) -> dict[str, Any]:
    """Ranges about signs, further up and down or right and left than they are."""
    return {
        "type": "data", "symmetric": False, "array": more, "arrayminus": less, "thickness": 3,
        "width": 0, "color": faded(colour, 0.55),
    }  # fmt: skip
