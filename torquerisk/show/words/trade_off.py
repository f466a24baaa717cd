"""The columns of a trade-off: tables with another accepted chance, or another earliest peak."""

from collections.abc import Callable
from typing import Any

from torquerisk.quantities import KILO, RPM
from torquerisk.show.words.columns import Column
from torquerisk.show.words.prose import area_unit, percent, power_unit, torque_unit
from torquerisk.study.answers.results import FrontierPoint, NoTable, Point


def _of(value: Callable[[FrontierPoint], Any]) -> Callable[[Point], Any]:
    return lambda point: None if isinstance(point, NoTable) else value(point)


COLUMNS: tuple[Column[Point], ...] = (
    Column(key="chance", value=lambda p: p.chance, text="accepted\nchance",
           cell=lambda p, _: percent(p.chance, 2)),
    Column(key="peak_from_rpm", value=lambda p: p.peak_from, size=RPM, text="peak\nfrom"),
    Column(key="area_kw_rpm", value=_of(lambda p: p.area), size=KILO * RPM),
    Column(key="peak", value=_of(lambda p: {
        "speed_rpm": p.peak_speed / RPM, "torque_n_m": p.peak_torque})),
    Column(key="peak_torque", json=False, value=_of(lambda p: p.peak_torque),
           measure=torque_unit, text="peak\n{unit}", name="peak torque", none="none"),
    Column(key="peak_speed", json=False, value=_of(lambda p: p.peak_speed), size=RPM, unit="rpm",
           text="at\nrpm", name="at"),
    Column(key="peak_power_kw", value=_of(lambda p: p.peak_power), size=KILO, measure=power_unit,
           text="peak\n{unit}", name="peak power"),
    Column(key="area", json=False, value=_of(lambda p: p.area), size=1e6 * RPM, decimals=1,
           text="area under\npower, MW·rpm"),
    Column(key="area_shown", json=False, value=_of(lambda p: p.area), measure=area_unit,
           decimals=1, name="area under power"),
    Column(key="chance_any_max", value=_of(lambda p: p.chance_any_max)),
    Column(key="chance_pull", value=_of(lambda p: p.chance_pull)),
    Column(key="chance_pulls", value=_of(lambda p: p.chance_pulls), counted=True,
           text="fail in {pulls}\npulls, of {draws}", name="pass a limit in all pulls, of {draws}"),
    Column(key="coarse", value=_of(lambda p: p.coarse)),
    Column(key="table", value=_of(lambda p: [
        {"speed_rpm": float(s) / RPM, "torque_limit_n_m": float(t)}
        for s, t in zip(p.breakpoints, p.limit, strict=True)
    ])),
)  # fmt: skip
