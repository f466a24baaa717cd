"""The sweep's rate read off a logged time, from the file to the acceleration of the crank."""

from pathlib import Path

import numpy as np
import pytest

import torquerisk
from torquerisk.case import Engine, Run
from torquerisk.quantities import RPM
from torquerisk.study.run.crank_reading import crank_reading

FACTS = "# measured at: crank\n# correction: none\n# inertia: 0.2 kg*m^2\n"
RATE = 250
"""Of the invented sweep [rpm/s]: 20 s from 2,000 to 7,000 rpm."""


def log(path: Path, hertz: float, jitter: float, spoilt: bool, idle: float, places: int) -> Run:
    """A log of one sweep: speed jitter [rpm], idle before it [s], decimals of its clock.

    spoilt: the clock jitters too, 15 % of the rows are lost, half a second is, others come twice.
    """
    rng = np.random.default_rng(5)
    time = np.arange(0, idle + 20, 1 / hertz)
    if spoilt:
        time = np.sort(time + rng.normal(0, 0.2 / hertz, len(time)))
        time = time[(rng.random(len(time)) > 0.15) & (np.abs(time - idle - 9) > 0.25)]
        time = np.repeat(time - time[0], 1 + (rng.random(len(time)) < 0.2))
    speed = 2000 + RATE * np.maximum(time - idle, 0.0) + rng.normal(0, jitter, len(time))
    torque = np.where(time < idle, 40, 300) + rng.normal(0, 3, len(time))
    rows = zip(time, speed, torque, strict=True)
    lines = [f"{t:.{places}f},{n:.0f},{value:.1f}" for t, n, value in rows]
    path.write_text(FACTS + "\n".join(["time [s],engine speed [rpm],torque [N*m]", *lines]))
    return torquerisk.load_run(path)


@pytest.mark.parametrize("hertz", [1, 2, 5, 10, 20, 50, 100, 200])
@pytest.mark.parametrize(("jitter", "spoilt", "idle", "places"),
                         [(0, False, 0, 3), (0, True, 0, 1), (5, True, 5, 3), (10, False, 5, 1),
                          (10, True, 5, 3)])  # fmt: skip
def test_a_sweep_has_one_rate_however_it_was_logged(
    tmp_path: Path, plain_engine: Engine, hertz, jitter, spoilt, idle, places
) -> None:
    """Metamorphic: sample rate, jitter, dropouts and rows logged twice leave the sweep's rate.

    Once a log of 10 Hz over 20 s was refused, for a smoothing window that a jitter's width was
    enough to empty.
    """
    if hertz < 5:
        jitter, idle = jitter / 2, 0  # few rows are a table, which may not step back by 25 rpm
    run = log(tmp_path / "log.csv", hertz, jitter, spoilt, idle, places)
    reading = crank_reading(plain_engine, run)
    assert "time-unusable" not in {n.code for n in reading.notices}
    assert reading.engine.given("test.sweep_rate") / RPM == pytest.approx(RATE, rel=0.03)
    swept = run.speed > 2500 * RPM
    added = (reading.torque - run.torque)[swept] / (0.2 * RATE * RPM)
    assert np.percentile(np.abs(added - 1), 90) < 0.2


@pytest.mark.parametrize("time", [np.full(9, 3.0), np.arange(9)[::-1], np.arange(9) // 3,
                                  np.array([5, 1, 8, 0, 7, 2, 6, 3, 4])])  # fmt: skip
def test_a_time_that_tells_no_rate_is_said(plain_engine: Engine, time) -> None:
    """Edge: one time, few times, points taken downwards or as they came: told, and never read."""
    facts = {"correction": "none", "measured_at": "crank", "inertia": 0.2}
    speed = np.linspace(2000, 6000, 9) * RPM
    run = Run(name="r", speed=speed, torque=np.full(9, 200.0), facts=facts,
              channels={"time": time.astype(float)})  # fmt: skip
    silent = crank_reading(plain_engine, run)
    assert {"time-unusable", "sweep-unknown"} <= {n.code for n in silent.notices}
    assert silent.torque == pytest.approx(200.0)
    stated = {**facts, "sweep_rate": 600 * RPM}
    told = crank_reading(plain_engine, Run(name="r", speed=speed, torque=run.torque, facts=stated,
                                           channels=dict(run.channels)))  # fmt: skip
    assert "time-unusable" in {n.code for n in told.notices}
    assert told.torque == pytest.approx(200 + 0.2 * 600 * RPM)


def test_time_may_count_from_a_trigger(tmp_path: Path) -> None:
    """Edge: the first speeds of a log may come before its clock's zero."""
    path = tmp_path / "trigger.csv"
    rows = "\n".join(f"{i / 10 - 2},{2000 + 25 * i},300" for i in range(200))
    path.write_text(f"{FACTS}time [s],engine speed [rpm],torque [N*m]\n{rows}\n")
    assert torquerisk.load_run(path).channels["time"].min() < 0
