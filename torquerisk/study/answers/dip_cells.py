"""The four ways that a dip could have been driven: torque and ignition each as logged or on a line.

Torque and the channels that come with it (manifold pressure, lambda, temperatures) are drawn
straight across the dip together. Ignition is drawn apart from them, across the speeds over which it
is itself early where such a stretch spans the dip: a line across the dip alone would start and end
in ignition that is early already.
"""

import dataclasses
import enum
from dataclasses import dataclass

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.answers.dip_search import Basin, basins, smoothed
from torquerisk.study.assessment.assess import upper_median
from torquerisk.study.assessment.result import Assessment, band
from torquerisk.study.limits import Limit, Place, capacity_torque, place_of
from torquerisk.study.loads.demand import Demand, demand
from torquerisk.study.run.operating_state import Operating

Three = tuple[float, float, float]

DOTS = 20
"""Dots of the owner's picture: each stands for 5 % of the simulated engines."""
NO_CHANNEL = ("run_torque", "phased_to", "known_bmep", "lift_seen")
"""Fields of a state that were not logged."""
IGNITION = ("ignition_advance", "ca50")
"""Fields of a state that say when the charge burns."""
LEAST_EARLY = np.radians(1.5)
"""Least departure of ignition from its line that is worth a word [rad] (common practice, no
source): above what such channels scatter by."""


class Cell(enum.Enum):
    """What is drawn straight across a dip, the rest being as it was logged."""

    AS_LOGGED = "as logged"
    IGNITION = "ignition on its line"
    TORQUE = "torque on its line"
    BOTH = "both on their lines"

    @property
    def torque_filled(self) -> bool:
        """True where torque and its channels lie on the line."""
        return self in (Cell.TORQUE, Cell.BOTH)

    @property
    def ignition_filled(self) -> bool:
        """True where ignition lies on its line."""
        return self in (Cell.IGNITION, Cell.BOTH)


@dataclass(frozen=True, kw_only=True, eq=False)
class Side:
    """One limit at one torque. SI."""

    utilisation: float
    """Median of load over strength [-]."""
    chance: float
    """Share of simulated engines that pass it [-]."""
    margin: Three
    """5, 50 and 95 % points of strength less load [SI]."""
    dots: Array
    """Load over strength (20,) [-], rising: each stands for 5 % of the simulated engines. A dot at
    or beyond 1 is past the limit; inf where no strength is left at all."""


@dataclass(frozen=True, kw_only=True, eq=False)
class LimitChange:
    """One limit at the dip's deepest speed, in every cell."""

    limit: Limit
    cells: dict[Cell, Side]
    """All four where ignition was logged, else AS_LOGGED and BOTH."""

    @property
    def with_dip(self) -> Side:
        """As it was driven."""
        return self.cells[Cell.AS_LOGGED]

    @property
    def without_dip(self) -> Side:
        """Everything straight across the dip."""
        return self.cells[Cell.BOTH]

    @property
    def worst_filled(self) -> Side:
        """Torque on the line, with the ignition that makes this limit likelier to be passed."""
        filled = [side for cell, side in self.cells.items() if cell.torque_filled]
        return max(filled, key=lambda side: side.chance)


@dataclass(frozen=True, kw_only=True)
class IgnitionLine:
    """A straight line that ignition is drawn on. SI."""

    from_speed: float
    to_speed: float
    early: float
    """By how much ignition as logged is earlier than the line at the dip's deepest speed [rad];
    below 0 where it is later."""
    channel: str
    """'ca50' where it was logged, else 'ignition_advance'."""

    @property
    def is_early(self) -> bool:
        """True where it is earlier by enough to be worth a word."""
        return self.early >= LEAST_EARLY

    @property
    def departs(self) -> bool:
        """True where it is earlier or later by enough to be worth a word."""
        return abs(self.early) >= LEAST_EARLY


def ignition_line(assessment: Assessment, basin: Basin, speed: float) -> IgnitionLine | None:
    """The line that ignition is drawn on across a dip whose deepest speed is given [rad/s].

    From one end to the other of the stretch over which ignition is early, found as a dip is found,
    where it spans that speed and is earliest within the dip; else across the dip. None where
    neither CA50 nor ignition advance was logged.
    """
    state = assessment.model.operating
    channel = next((n for n in ("ca50", "ignition_advance") if getattr(state, n) is not None), None)
    if channel is None:
        return None
    sign = 1.0 if channel == "ca50" else -1.0
    curve = smoothed(state.speed, sign * getattr(state, channel))
    spans = [
        b
        for b in basins(curve, LEAST_EARLY)
        if b.from_speed < speed < b.to_speed and basin.from_speed < b.speed < basin.to_speed
    ]
    over = max(spans, key=lambda b: b.depth, default=basin)
    ends = [over.from_speed, over.to_speed]
    line = float(np.interp(speed, ends, np.interp(ends, curve.speed, curve.torque)))
    return IgnitionLine(
        from_speed=over.from_speed,
        to_speed=over.to_speed,
        early=line - float(np.interp(speed, curve.speed, curve.torque)),
        channel=channel,
    )


def carried(state: Operating) -> tuple[str, ...]:
    """Channels that are drawn straight across: those that vary over the run."""
    return tuple(
        n for n in _array_fields(state) if n not in NO_CHANNEL and np.ptp(getattr(state, n)) > 0
    )


def _array_fields(state: Operating) -> list[str]:
    return [
        f.name
        for f in dataclasses.fields(state)
        if f.name != "speed" and isinstance(getattr(state, f.name), np.ndarray)
    ]


def loads_in(
    assessment: Assessment, k: int, cell: Cell, basin: Basin, ignition: IgnitionLine | None
) -> Demand:
    """Loads at speed k in one cell.

    The run's last speed is solved beside it, since the response surface is made for the highest
    speed of a run: so the same tables answer.
    """
    state, model = assessment.model.operating, assessment.model
    index = np.array([k, len(assessment.speed) - 1])
    changed = {}
    for name in _array_fields(state):
        values = getattr(state, name)
        changed[name] = values[index].copy()
        over = ignition if name in IGNITION else basin
        filled = cell.ignition_filled if name in IGNITION else cell.torque_filled
        if filled and over is not None and name != "known_bmep":
            ends = [over.from_speed, over.to_speed]
            sides = np.interp(ends, state.speed, values)
            changed[name][0] = np.interp(state.speed[k], ends, sides)
    two = dataclasses.replace(state, speed=state.speed[index], **changed)
    return demand(
        assessment.engine, two, model.draws, model.reading_sd[index], pulls=model.demand.pulls
    )


def place(loads: Demand, torque: float) -> Place:
    """Where a torque lies among the rows of both speeds; only the first is read."""
    return place_of(loads.torque, np.array([torque, torque]))


def side(assessment: Assessment, limit: Limit, loads: Demand, torque: float) -> Side:
    """One limit at a torque [N*m] in the loads of one cell."""
    parts = assessment.model.parts
    by_row = limit.load(loads, parts)
    strength = np.broadcast_to(limit.strength(loads, parts), loads.torque.shape[:2])
    load = place(loads, torque).load(by_row)
    capacity = capacity_torque(by_row, strength, loads.torque)[0]
    load, strength = load[:1], strength[:1]
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(strength > 0, load / strength, np.inf)[0]
    margin = band(strength - load)
    middles = (np.arange(DOTS) + 0.5) / DOTS
    return Side(
        utilisation=float(upper_median(ratio)),
        chance=float((capacity < torque).mean()),
        margin=(float(margin.p05[0]), float(margin.p50[0]), float(margin.p95[0])),
        dots=np.quantile(ratio, middles, method="inverted_cdf"),
    )
