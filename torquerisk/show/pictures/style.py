"""One style for every picture: colours for both themes, lines, axes, labels, and what is sent out.

Colours are those of the project's checked palette: contrast against the paper of each theme and
difference under simulated colour blindness were measured; tests repeat the contrast check.
"""

import html
import math
from dataclasses import dataclass, field

import numpy as np
import plotly.graph_objects as go

import torquerisk
from torquerisk.files.exports import TableColumn
from torquerisk.quantities import RPM, Array
from torquerisk.show.words.prose import (
    ShownUnit,
    Units,
    area_unit,
    force_unit,
    power_unit,
    torque_unit,
)
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
    """Colours of one theme, and the units of torque, power and a fastener's force.

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
    def force(self) -> ShownUnit:
        """Unit of a fastener's force and its size [N]."""
        return force_unit(self.units)

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


def colours(look: Look) -> dict[str, str]:
    """Every colour of a theme by its name in a style sheet; bands of chance are q0, q1 and so on.

    Where two names share a colour, they do in both themes.
    """
    names = ("paper", "ink", "soft", "grid", "holds", "close", "exceeds", "unknown", "limit",
             "estimate", "capacity")  # fmt: skip
    return {n: getattr(look, n) for n in names} | {f"q{k}": c for k, c in enumerate(look.chance)}


STATE_SYMBOL = {
    State.HOLDS: "circle",
    State.CLOSE: "square",
    State.EXCEEDS: "diamond",
    State.NOT_ASSESSED: "circle-open",
}
READING, ROW, NONE, UNKNOWN = "cross-thin", "line-ns", "x-thin", "circle-open"
"""Signs beside those of states, each with one meaning on every face: a value read off a curve and
named beside it; a row of a limit table; no table there; less is known (assumed, coarse). The last
is that of `State.NOT_ASSESSED` too."""
STROKES = (READING, ROW, NONE, UNKNOWN)
"""Signs without a ground."""


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
        return f"{self.case}, inputs {self.digest[:12]}, torquerisk {self.version}"


def plain(text: object, limit: int = 80) -> str:
    """Foreign text for a picture: one line, no markup, no template."""
    line = " ".join(str(text).split())[:limit]
    return html.escape(line, quote=False).replace("%{", "% {").replace("$", "＄")


def faded(colour: str, share: float) -> str:
    """A colour with an opacity, as CSS."""
    red, green, blue = (int(colour[k : k + 2], 16) for k in (1, 3, 5))
    return f"rgba({red},{green},{blue},{share:g})"


def rpm(speed: Array | float) -> Array:
    """Speeds in rpm, rounded to a tenth: no more digits than a picture can show."""
    return np.round(np.asarray(speed, dtype=float) / RPM, 1)


def drawn(values: Array, digits: int = 2) -> list[float | None]:
    """Values for a trace: rounded, and a gap where there is no finite one."""
    return [round(float(v), digits) if math.isfinite(v) else None for v in values]


def cells(values: Array, size: float = 1.0) -> list[float | None]:
    """Values for a table, in shown units; an empty cell where there is no finite one."""
    return [float(v) / size if math.isfinite(v) else None for v in values]


def torque_column(name: str, values: Array, look: Look) -> TableColumn:
    """A column of torques [N*m] in the chosen units; an empty cell for what is not finite."""
    unit, size = look.torque
    return TableColumn(name=name, unit=unit, values=cells(values, size), decimals=0)


def column(
    name: str, unit: str, values: Array, size: float = 1.0, decimals: int = 0
) -> TableColumn:
    """A column of numbers. size: of the unit; an empty cell for what is not finite."""
    return TableColumn(name=name, unit=unit, values=cells(values, size), decimals=decimals)
