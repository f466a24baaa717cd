"""What a survived curve says against an answer."""

import dataclasses
from types import SimpleNamespace

import numpy as np
import pytest
from plain_runs import run_of
from small_case import assessed, engine, hump

from torquerisk.case import Engine, Policy, Run, Rung, default_policy
from torquerisk.quantities import RPM, Array
from torquerisk.show.words.in_short import verdicts
from torquerisk.show.words.prose import Units
from torquerisk.show.words.table_in_short import too_little_known
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.known_notices import (
    BELOW_RUNG,
    EARLIER_BY_FUEL,
    SUPPLY_CONTRADICTED,
    below_survived,
)
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limits.combustion import KNOCK


@pytest.fixture(scope="module")
def run() -> Assessment:
    """A run above its known-good curve, of which too little would be accepted."""
    a = assessed(hump(300.0), {"ca50": np.full(19, np.radians(16.0))})
    curve = engine().known_good.curve
    assert curve is not None
    return dataclasses.replace(a, ceiling=0.8 * curve.torque)


def test_less_accepted_than_was_carried_is_told_where_the_run_is_like_it(run: Assessment) -> None:
    """common practice, no source: ignition while boost rises, or that knocks, is not what a torque
    was carried with."""
    (told,) = below_survived(run)
    assert told.code == "below-survived"
    assert "less than the" in str(told.text)
    rising = dataclasses.replace(run, torque=0.5 * run.torque)
    assert not list(below_survived(rising))
    item = run.limits[KNOCK.name]
    knocks = {**run.limits, KNOCK.name: dataclasses.replace(item, chance=np.ones(19))}
    assert not list(below_survived(dataclasses.replace(run, limits=knocks)))
    fast = dataclasses.replace(run, ceiling=np.full(19, -np.inf))
    assert not list(below_survived(fast)), "speed alone is no matter of torque that was carried"


@pytest.mark.parametrize(("pulls", "why"), [(60, "a table stands for 500 pulls"), (600, "only")])
def test_why_less_than_a_quiet_rung_is_accepted_is_told(
    run: Assessment, pulls: int, why: str
) -> None:
    """identity: the rung, its pulls and the reason; nothing of one that saw a sign, for that one
    proves no torque."""
    given = run.reading.as_given

    def told(seen: str) -> list[str]:
        rung = Rung(run="quiet.csv", pulls=pulls, seen=seen, curve=run.run)
        engine = dataclasses.replace(given, survived=(rung,))
        reading = dataclasses.replace(run.reading, as_given=engine)
        low = dataclasses.replace(run, reading=reading)
        return [str(n.text) for n in below_survived(low) if n.code == BELOW_RUNG]

    (quiet,) = told("nothing")
    assert f"driven {pulls} times without a sign" in quiet
    assert why in quiet
    assert not told("coolant pressure")


RATED = {
    "rated.torque": 250.0, "rated.torque_speed": 2500 * RPM, "rated.power": 110e3,
    "rated.power_speed": 5500 * RPM, "rated.octane": 95.0,
}  # fmt: skip


@pytest.mark.parametrize(
    ("octane", "channels", "told"),
    [(95.0, {}, False), (102.0, {}, True), (102.0, {"ca50": np.full(5, np.radians(20.0))}, False)],
)
def test_a_better_fuel_without_logged_ignition_is_told(
    plain_engine: Engine, few: Policy, octane: float, channels: dict[str, Array], told: bool
) -> None:
    """common practice, no source: tuners spend octane on ignition, and earlier burning on rods."""
    engine = plain_engine.with_values({**RATED, "fuel.octane": octane})
    a = assess(engine, run_of([1500, 2500, 3500, 4500, 5500], [300.0] * 5, **channels), few)
    assert (EARLIER_BY_FUEL in {n.code for n in a.notices}) is told


def test_injectors_that_cannot_have_fed_the_run_are_a_contradiction() -> None:
    """Common practice, no source: flow is stated of one injector; four give four times the power,
    and no engine makes more than the fuel that it gets."""
    speed = np.array([2000.0, 4000, 6000]) * RPM
    run = Run(name="run", speed=speed, torque=np.array([250.0, 300, 260]))
    told, likely = {}, {}
    for count in (1, 4):
        flow = {"supply.injector_flow": count * 440e-6 / 60}
        found = assess(engine().with_values(flow), run, default_policy(draws=128))
        told[count] = [n for n in found.notices if n.code == SUPPLY_CONTRADICTED]
        likely[count] = [v.name for v in verdicts(found)]
        table = SimpleNamespace(under=SimpleNamespace(peak_torque=250.0))
        in_pounds = " ".join(too_little_known(found, table, Units.US))
        assert ("lb·ft" in in_pounds) is (count == 1)
        assert "N·m" not in in_pounds
    (notice,) = told[1]
    assert str(notice.text).startswith("[supply] injector_flow allows no more than ")
    assert "is that one injector's?" in str(notice.text)
    assert "injectors" not in likely[1], "no verdict of what is misread"
    assert "injectors" in likely[4]
    assert told[4] == []
