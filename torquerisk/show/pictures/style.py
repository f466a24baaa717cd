"""One style for every picture: colours for both themes, lines, axes, labels, and what is sent out.

Colours are those of the project's checked palette: contrast against the paper of each theme and
difference under simulated colour blindness were measured; tests repeat the contrast check.
"""

import html
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import plotly.graph_objects as go

import torquerisk
from torquerisk.files.exports import TableColumn
from torquerisk.quantities import RPM, Array
from torquerisk.show.words.prose import ShownUnit, Units, area_unit, power_unit, torque_unit
from torquerisk.study.answers.results import State

CONFIG: dict[str, object] = {
    "showSendToCloud": False,
    "plotlyServerURL": "",
    "displaylogo": False,
    "displayModeBar": "hover",
    "modeBarButtons": [["toImage"]],
    "scrollZoom": False,
    "doubleClick": False,
}
"""What every picture is shown with: nothing is sent anywhere, no logo, one button (save)."""

FONT = '"Source Sans", "Source Sans 3", "Noto Sans", Helvetica, Arial, sans-serif'


@dataclass(frozen=True, kw_only=True)
class Look:
    """Colours of one theme, and the units of torque and power.

    Words, shape and dash always say the same as a colour.
    """

    dark: bool
    paper: str
    ink: str
    soft: str
    """Quiet text; still 4.5:1 on the paper."""
    grid: str
    holds: str
    close: str
    exceeds: str
    unknown: str
    measured: str
    limit: str
    estimate: str
    capacity: str
    chance: tuple[str, ...]
    """Bands of chance, from rare to likely; lightness steps evenly one way."""
    units: Units = Units.SI

    @property
    def torque(self) -> ShownUnit:
        """Unit of torque and its size [N*m]."""
        return torque_unit(self.units)

    @property
    def power(self) -> ShownUnit:
        """Unit of power and its size [W]."""
        return power_unit(self.units)

    @property
    def area(self) -> ShownUnit:
        """Unit of area under power and its size [W*rad/s]."""
        return area_unit(self.units)

    def of_state(self, state: State) -> str:
        """Colour of a state word."""
        return {
            State.HOLDS: self.holds,
            State.CLOSE: self.close,
            State.EXCEEDS: self.exceeds,
            State.NOT_ASSESSED: self.unknown,
        }[state]


LIGHT = Look(
    dark=False,
    paper="#FFFFFF",
    ink="#1F2328",
    soft="#5B616A",
    grid="#E6E3DC",
    holds="#2B7BBA",
    close="#B87A00",
    exceeds="#5A0F1E",
    unknown="#6F6F6F",
    measured="#1F2328",
    limit="#0072B2",
    estimate="#B04A00",
    capacity="#8A2A5B",
    chance=("#F6F2E9", "#E6D2B5", "#D2A789", "#B4766F", "#8A4863", "#572550", "#230D2E"),
)
DARK = Look(
    dark=True,
    paper="#171614",
    ink="#ECE8E1",
    soft="#B0A99E",
    grid="#3B3833",
    holds="#6FB7FF",
    close="#FFE08A",
    exceeds="#E0563A",
    unknown="#A39D93",
    measured="#ECE8E1",
    limit="#6FB7FF",
    estimate="#F0A36B",
    capacity="#E59AC0",
    chance=("#1E1B1F", "#3D2A49", "#6A3B63", "#9A5568", "#C47D6D", "#E2AE86", "#F7E6C4"),
)

STATE_SYMBOL = {
    State.HOLDS: "circle",
    State.CLOSE: "square",
    State.EXCEEDS: "diamond",
    State.NOT_ASSESSED: "circle-open",
}
STATE_DASH = {
    State.HOLDS: "solid",
    State.CLOSE: "dash",
    State.EXCEEDS: "dot",
    State.NOT_ASSESSED: "dot",
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Picture:
    """A figure with the words and the table that stand behind it."""

    name: str
    title: str
    figure: go.Figure
    alt: str
    """What the picture shows, in words."""
    columns: tuple[TableColumn, ...] = ()
    """The numbers drawn."""


@dataclass(frozen=True, kw_only=True)
class Stamp:
    """What ties a picture that was cut from the page to its inputs."""

    case: str
    digest: str
    version: str = field(default_factory=lambda: torquerisk.__version__)

    @property
    def text(self) -> str:
        """One short line for the foot of a picture."""
        return f"{self.case}, inputs {self.digest[:8]}, torquerisk {self.version}"


def plain(text: object, limit: int = 80) -> str:
    """Foreign text for a picture: one line, no markup, no template."""
    line = " ".join(str(text).split())[:limit]
    return html.escape(line, quote=False).replace("%{", "% {").replace("$", "＄")


def faded(colour: str, share: float) -> str:
    """A colour with an opacity, as CSS."""
    red, green, blue = (int(colour[k : k + 2], 16) for k in (1, 3, 5))
    return f"rgba({red},{green},{blue},{share:g})"


def luminance(colour: str) -> float:
    """Relative luminance of a #rrggbb colour. Source: WCAG 2.2, relative luminance."""
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21. Source: WCAG 2.2, contrast ratio."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def rpm(speed: Array | float) -> Array:
    """Speeds in rpm, rounded to a tenth: no more digits than a picture can show."""
    return np.round(np.asarray(speed, dtype=float) / RPM, 1)


def drawn(values: Array, digits: int = 2) -> list[float | None]:
    """Values for a trace: rounded, and a gap where there is no finite one."""
    return [round(float(v), digits) if math.isfinite(v) else None for v in values]


def cells(values: Array, size: float = 1.0) -> list[float | None]:
    """Values for a table, in shown units; an empty cell where there is no finite one."""
    return [float(v) / size if math.isfinite(v) else None for v in values]


def torque_column(name: str, values: Array, look: Look, decimals: int = 0) -> TableColumn:
    """A column of torques [N*m] in the chosen units; an empty cell for what is not finite."""
    unit, size = look.torque
    return TableColumn(name=name, unit=unit, values=cells(values, size), decimals=decimals)


class Drawing:
    """A picture under way: plain dictionaries, checked by plotly once, when it is done."""

    def __init__(self, layout: dict[str, Any]) -> None:
        self._layout = layout
        self._traces: list[dict[str, Any]] = []
        self._shapes: list[dict[str, Any]] = []
        self._annotations: list[dict[str, Any]] = []

    def add_trace(self, trace: dict[str, Any]) -> None:
        """Put lines or marks on top of those before."""
        self._traces.append(trace)

    def add_annotation(self, **words: Any) -> None:
        """Put words on the picture."""
        self._annotations.append(words)

    def add_shape(self, **shape: Any) -> None:
        """Put a line or a rectangle on the picture."""
        self._shapes.append(shape)

    def add_hline(self, y: float, line: dict[str, Any]) -> None:
        """A level line across the picture."""
        self.add_shape(type="line", xref="paper", x0=0, x1=1, y0=y, y1=y, line=line)

    def add_vline(self, x: float, line: dict[str, Any]) -> None:
        """An upright line through the picture."""
        self.add_shape(type="line", yref="paper", y0=0, y1=1, x0=x, x1=x, line=line)

    def add_vrect(self, x0: float, x1: float, fillcolor: str) -> None:
        """A shaded stretch, below everything."""
        self.add_shape(
            type="rect", yref="paper", y0=0, y1=1, x0=x0, x1=x1, line={"width": 0},
            fillcolor=fillcolor, layer="below",
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


def scatter(**what: Any) -> dict[str, Any]:
    """Lines or marks."""
    return {"type": "scatter", **what}


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
    figure = Drawing(layout)
    if stamp is not None:
        figure.add_annotation(
            text=plain(stamp.text, 90),
            xref="paper", yref="paper", x=0, y=0, xanchor="left", yanchor="top", yshift=-44,
            xshift=4 - left, showarrow=False, font={"size": 10, "color": look.soft}, name="stamp",
        )  # fmt: skip
    return figure


def speed_axis(figure: Drawing, low: float, high: float) -> None:
    """The ruler that pictures share: engine speed in rpm over the run's range."""
    figure.update_xaxes(
        title_text="engine speed [rpm]", range=[low / RPM, high / RPM], tickformat=",d", nticks=8
    )


def band_traces(
    x: Sequence[float] | Array,
    low: Sequence[float | None],
    high: Sequence[float | None],
    colour: str,
    name: str,
    share: float = 0.18,
) -> list[dict[str, Any]]:
    """A filled range without hover; gaps end it."""
    shared: dict[str, Any] = {
        "mode": "lines",
        "line": {"width": 0},
        "hoverinfo": "skip",
        "name": name,
    }
    return [
        scatter(x=x, y=low, **shared),
        scatter(x=x, y=high, fill="tonexty", fillcolor=faded(colour, share), **shared),
    ]


def write_on(
    figure: Drawing, look: Look, x: float, y: float, text: str, colour: str, **more: Any
) -> None:
    """A word on the picture, over a patch of paper so that lines do not run through it."""
    options: dict[str, Any] = {
        "xanchor": "right",
        "yanchor": "middle",
        "align": "left",
        "showarrow": False,
        "font": {"size": 13, "color": colour},
        "bgcolor": faded(look.paper, 0.82),
        "borderpad": 1,
    }
    options.update(more)
    figure.add_annotation(x=x, y=y, text=text, **options)
