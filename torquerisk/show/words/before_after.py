"""What a table changes: the measured curve and the one under it, in a few columns."""

from dataclasses import dataclass

import numpy as np

from torquerisk.quantities import RPM
from torquerisk.show.words.columns import Column
from torquerisk.show.words.prose import area_unit, torque_unit
from torquerisk.study.answers.results import OverKnown, Sketch, Tally

MEGAWATT_RPM = 1e6 * RPM
"""One MW·rpm of area under power [W*rad/s]."""


@dataclass(frozen=True, kw_only=True)
class Curve:
    """One curve. SI."""

    name: str
    torque: float
    """At its peak."""
    speed: float
    tally: Tally
    chance_pull: float
    chance_pulls: float
    over: OverKnown | None = None


def curves(
    table: Sketch,
    over: tuple[OverKnown | None, OverKnown | None] = (None, None),
) -> tuple[Curve, Curve]:
    """The run as measured and under a table. over: how much each asks more than known curves."""
    a = table.measured
    top = int(np.argmax(a.torque))
    return (
        Curve(
            name="as measured", torque=float(a.torque[top]), speed=float(a.speed[top]),
            tally=table.before, chance_pull=a.chance_pull, chance_pulls=a.chance_pulls,
            over=over[0],
        ),
        Curve(
            name="with the table", torque=table.under.peak_torque, speed=table.under.peak_speed,
            tally=table.after, chance_pull=table.under.chance_pull,
            chance_pulls=table.under.chance_pulls,
            over=over[1],
        ),
    )  # fmt: skip


COLUMNS: tuple[Column[Curve], ...] = (
    Column(key="name", value=lambda c: c.name, words=True),
    Column(key="torque", value=lambda c: c.torque, measure=torque_unit, text="peak\n{unit}",
           name="peak torque"),
    Column(key="speed", value=lambda c: c.speed, size=RPM, unit="rpm", text="at\nrpm", name="at"),
    Column(key="area_finely", value=lambda c: c.tally.area, size=MEGAWATT_RPM, decimals=1,
           text="area under\npower, MW·rpm"),
    Column(key="area", value=lambda c: c.tally.area, size=MEGAWATT_RPM, unit="MW·rpm",
           name="area under power"),
    Column(key="area_shown", value=lambda c: c.tally.area, measure=area_unit,
           name="area under power", report_unit=" "),
    Column(key="over", name="peak pressure", unit="over known",
           value=lambda c: c.over and f"{c.over.peak_pressure.p50.max():.2f} ×"),
    Column(key="worst_speed", value=lambda c: c.tally.chance_any_max, counted=True,
           text="fail at worst speed\nin {pulls} pulls, of {draws}",
           name="give way at worst speed, {pulls} pulls", report_unit="of {draws}"),
    Column(key="one_pull", value=lambda c: c.chance_pull, counted=True, text="anywhere\nin one",
           name="anywhere, one pull", report_unit="of {draws}"),
    Column(key="all_pulls", value=lambda c: c.chance_pulls, counted=True,
           text="anywhere\nin {pulls}", name="anywhere, {pulls} pulls", report_unit="of {draws}"),
)  # fmt: skip
CHANCES = ("worst_speed", "one_pull", "all_pulls")
