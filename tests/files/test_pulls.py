"""Pulls found in invented logs of known truth, and the curve that is made of one."""

import re
import time

import numpy as np
import pytest
from logs import Log, drive, steady, truth

from torquerisk.case import GAS_ELSEWHERE, LIFTS, Run
from torquerisk.errors import InputError
from torquerisk.files.pulls import holds, lifted, rises, smoothed
from torquerisk.files.run_file import How, reading_of, run_from_bytes
from torquerisk.quantities import RPM
from torquerisk.study.run.log_signs import knock_sign


def read(text: str, pull: int = 1) -> Run:
    return run_from_bytes(text.encode(), "log.csv", How(pull=pull))


def worst(run: Run) -> float:
    """The largest error of torque against the truth, as a share of it."""
    return float(np.abs(run.torque / truth(run.speed / RPM) - 1).max())


@pytest.fixture(scope="module")
def driven() -> Run:
    return read(drive(Log()).text())


def test_the_longest_pull_of_a_drive_is_read(driven):
    """Identity: the truth of the log is known; noise of 5 N·m a row leaves 1 % of a mean of 30."""
    assert driven.speed[[0, -1]] / RPM == pytest.approx([2000, 6600], abs=60)
    assert worst(driven) < 0.015


def test_what_a_log_holds_beside_is_told(driven):
    """Identity: three shifts, and a shorter pull are named, the fall counted."""
    said = " ".join(driven.record)
    assert "The log holds 5 pulls" in said
    for number in range(2, 6):
        assert f"{number}: lines" in said
    assert "1 sweep of falling speed under load left aside" in said
    assert "straight line by least squares through the rows within 75 rpm" in said


def test_a_cut_within_a_pull_is_told_for_the_curve_does_not_show_it(driven):
    """Identity: where the log was given it; the curve bridges it; a pull without has no notice."""
    log = Log().hold(2000, 4, 0.12).sweep(2000, 4400, 5, 1.0).sweep(4400, 4700, 0.6, 0.2)
    text = log.sweep(4700, 6600, 4, 1.0).sweep(6600, 1900, 6, -0.1).text()
    head, *rows = text.split("\n")
    marked = [f"{row},{int(4400 < float(row.split(',')[2]) < 4700)}" for row in rows]
    for logged, lines in ((False, [head, *rows]), (True, [f"{head},fuel cut", *marked])):
        run = read("\n".join(lines))
        (told,) = (n.text for n in run.notices if n.code == LIFTS)
        low, high = (float(n.replace(",", "")) for n in re.findall(r"(\d,\d+)", told)[:2])
        assert (low, high) == pytest.approx((4400, 4700), abs=60)
        assert ("fuel cut was logged there" in told) is logged
        assert worst(run) < 0.4, "a cut of 80 % is not in the curve"
    assert not [n for n in driven.notices if n.code == LIFTS]


def test_another_pull_may_be_asked_for():
    """Identity: the pulls are offered by number, and a number too large is refused."""
    text = drive(Log()).text()
    run = read(text, pull=2)
    assert run.speed[-1] / RPM == pytest.approx(5200, abs=60)
    with pytest.raises(InputError, match="holds 5 pulls, but pull 6 is asked for"):
        read(text, pull=6)


def test_the_pull_in_which_coolant_pressure_rose_is_read_and_never_hidden():
    """Identity: gas was planted in the second pull alone; another is read with that warning."""
    text = drive(Log()).text()
    (low, high) = reading_of(text.encode(), "log.csv", How()).pulls[1][1]
    head, *rows = text.strip().split("\n")
    rise = np.interp(np.arange(2, len(rows) + 2), [low, high, high + 20], [0, 40, 0], 0, 0)
    for planted in (0.0, 1.0):
        marked = "\n".join(
            f"{row},{100 + planted * r:.1f}" for row, r in zip(rows, rise, strict=True)
        )
        read_first = read(f"{head},coolant pressure [kPa]\n{marked}")
        assert bool(planted) == bool(read_first.speed[-1] < 6000 * RPM)
        second = read(f"{head},coolant pressure [kPa]\n{marked}", pull=2)
        told = [n.text for n in second.notices if n.code == GAS_ELSEWHERE]
        assert ["stop running" in t for t in told] == [True] * bool(planted)


def test_duty_above_one_is_read(driven):
    """Common practice, no source: an injector that never closes is logged at more than 100 %."""
    assert 1.01 < driven.channels["injector_duty"].max() <= 1.04


def test_steady_points_are_averaged():
    """Identity: nine points of 800 rows each, and the mean of their noise."""
    run = read(steady(Log()).text())
    assert run.speed / RPM == pytest.approx(np.arange(2000, 6001, 500), abs=2)
    assert worst(run) < 0.01
    assert any("9 steady points" in line for line in run.record)


def test_dropouts_cost_their_cells():
    """Identity: empty cells, words, zeros and spikes in 2 % of rows change little."""
    lines = drive(Log()).text().split("\n")
    chance = np.random.default_rng(3)
    for i in chance.choice(np.arange(1, len(lines)), len(lines) // 50, replace=False):
        cells = lines[i].split(",")
        column, text = ((2, "0"), (3, ""), (3, "ERR"), (3, "65535"), (3, "900"))[i % 5]
        cells[column] = text
        lines[i] = ",".join(cells)
    run = read("\n".join(lines))
    assert worst(run) < 0.02
    said = " ".join(run.record)
    assert "'ERR'" in said
    assert "65535 N*m" in said


def test_a_sweep_down_alone_is_no_pull():
    """Common practice, no source: torque read while the engine slows down is not what it made."""
    log = Log().hold(900, 5, 0.01).hold(6000, 1, 0.9).sweep(6000, 2000, 8, 0.9)
    with pytest.raises(InputError, match="log without a pull"):
        read(log.text())


def test_a_log_in_decimal_commas_reads_the_same():
    """Metamorphic: the dress of a log changes no number."""
    text = steady(Log(rate=20)).text()
    other = text.replace(",", ";").replace(".", ",")
    assert read(other).torque.tolist() == read(text).torque.tolist()


@pytest.mark.slow
def test_two_hundred_thousand_rows_take_seconds():
    """Common practice, no source: 208,000 rows in at most 6 s of this process; the first pull."""
    log = Log()
    for _ in range(16):
        drive(log)
    text = log.text()
    assert text.count("\n") > 200_000
    start = time.process_time()
    run = read(text)
    assert time.process_time() - start < 6.0
    assert "lines 59" in " ".join(run.record)
    assert worst(run) < 0.015


def test_a_straight_line_is_smoothed_to_itself():
    """Identity: least squares through points of a line is that line, also at its ends."""
    speed = np.linspace(200, 700, 2000)
    at = np.linspace(200, 700, 11)
    assert smoothed(speed, 3.0 - 0.5 * speed, at) == pytest.approx(3.0 - 0.5 * at, rel=1e-9)
    gaps = np.where(speed < 400, np.nan, 1.0)
    assert np.isnan(smoothed(speed, gaps, at)[:3]).all()


def test_rises_step_over_jitter_only():
    """Identity: a step back within the jitter belongs to the rise, a larger one ends it."""
    speed = np.array([1.0, 3.0, 2.5, 6.0, 2.0, 2.2, 8.0])
    assert rises(speed, 1.0) == [(0, 3), (4, 6)]
    assert rises(-speed, 1.0) == [(3, 4)]


def test_a_lift_is_between_two_loads():
    """Identity: spool-up before and a fall at the end are no lift, a hole between is."""
    torque = np.array([100.0, 200, 400, 30, 20, 390, 380, 150])
    assert np.flatnonzero(lifted(torque)).tolist() == [3, 4]


def test_a_sweep_has_no_steady_points():
    """Identity: rows spread evenly over speed make no bands."""
    assert holds(np.linspace(200.0, 700.0, 5000)) == []


@pytest.mark.parametrize("runs_on", [False, True])
@pytest.mark.parametrize("rate", [100, 25])
def test_knocks_and_cuts_of_a_log_are_neither_lost_nor_multiplied(runs_on: bool, rate: int) -> None:
    """Identity: what was counted in the pull is counted in the curve, smoothed or sorted."""
    log = Log(rate=rate).hold(900, 3, 0.01).sweep(2000, 6000, 8, 1.0).sweep(6000, 2000, 3, -0.1)
    speed, torque = log.arrays()
    knocks = np.zeros(len(speed))
    heard = np.flatnonzero((speed > 4000) & (speed < 5000) & (torque > 100))[5:-5]
    knocks[heard[:: len(heard) // 9]] = 1
    cut = ((speed > 5800) & (torque > 100)).astype(int)
    counted = 700 + np.cumsum(knocks) if runs_on else knocks
    rows = zip(speed, torque, counted, cut, strict=True)
    run = read("rpm,torque [Nm],knock count,ignition cut\n" + "".join(
        f"{n:.1f},{t:.1f},{k:.0f},{c}\n" for n, t, k, c in rows))  # fmt: skip
    sign = knock_sign(run)
    assert sign is not None
    assert f"counted {knocks.sum():.0f} times" in sign.text
    assert 3900 * RPM < sign.first < sign.last < 5100 * RPM
    assert 5700 * RPM < run.speed[run.channels["ignition_cut"] > 0][0] < 5900 * RPM


@pytest.mark.parametrize(("pull", "column", "degrees"), [(1, "KR2", 3.5), (2, "KR1", 6.0)])
def test_the_cylinder_that_knocked_most_is_that_of_the_pull(
    pull: int, column: str, degrees: float
) -> None:
    """Identity: each pull of a log has a cylinder of its own that knocks most."""
    log = Log(rate=50).sweep(2000, 6000, 8, 1.0).sweep(6000, 2000, 3, -0.1)
    first = len(log.arrays()[0])
    speed, torque = log.sweep(2000, 6000, 8, 0.8).sweep(6000, 2000, 3, -0.1).arrays()
    heard = (speed > 3000) & (speed < 4000) & (torque > 100)
    after = np.arange(len(speed)) >= first
    one, two = heard * after * 6.0, heard * ~after * 3.5
    text = "rpm,torque [Nm],KR1 [deg],KR2 [deg]\n" + "".join(
        f"{n:.1f},{t:.1f},{a},{b}\n" for n, t, a, b in zip(speed, torque, one, two, strict=True)
    )
    run = read(text, pull)
    sign = knock_sign(run)
    assert sign is not None
    assert f"up to {degrees} degrees, most in '{column} [deg]', from" in sign.text


def test_a_speed_sensor_that_drops_out_costs_its_rows_alone() -> None:
    """Identity: lone readings far off, none of them 0, neither end the pull nor stretch it."""
    speed, torque = drive(Log()).arrays()
    lost = np.random.default_rng(3).choice(len(speed), len(speed) // 50, replace=False)
    speed[lost] = np.where(lost % 2, 16383.0, 400.0)
    run = read("rpm,torque [Nm]\n" + "".join(
        f"{n:.1f},{t:.1f}\n" for n, t in zip(speed, torque, strict=True)))  # fmt: skip
    assert run.speed[[0, -1]] / RPM == pytest.approx([2050, 6550], abs=60)
    assert run.torque == pytest.approx(truth(run.speed / RPM), rel=0.02)


def test_channels_in_rows_of_their_own_are_brought_together() -> None:
    """Identity: a log that writes speed and torque in turn reads as one that writes both."""
    speed, torque = Log().sweep(2000, 6000, 10, 1.0).sweep(6000, 2000, 3, -0.1).arrays()
    both = enumerate(zip(speed, torque, strict=True))
    rows = [f"{i / 100},{n:.1f}," if i % 5 else f"{i / 100},,{t:.1f}" for i, (n, t) in both]
    run = read("time [s],rpm,torque [Nm]\n" + "\n".join(rows))
    assert run.torque == pytest.approx(truth(run.speed / RPM), rel=0.03)
    assert any("rows of their own" in notice.text for notice in run.notices)
