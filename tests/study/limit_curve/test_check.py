"""The independent check finds each fault that it is there to find."""

from dataclasses import replace

import numpy as np
import pytest

from torquerisk.errors import InputError
from torquerisk.study.limit_curve.ask import Objective, ShapeAsk
from torquerisk.study.limit_curve.check import judge_table, rise_excess, verify_table

GRID = np.linspace(1000.0, 6000.0, 51)
CEILING = np.full(51, 300.0)
POINTS = np.array([1000.0, 2000.0, 3000.0, 4000.0, 5000.0, 6000.0])
GOOD = np.array([200.0, 240.0, 270.0, 300.0, 290.0, 280.0])
ASK = ShapeAsk(
    objective=Objective.MOST_AREA,
    breakpoints=POINTS,
    band=(1000.0, 6000.0),
    peak_from=3500.0,
    rise_rate=0.045,
)


def changed(entry: int, torque: float) -> tuple[np.ndarray, np.ndarray]:
    limit = GOOD.copy()
    limit[entry] = torque
    return POINTS, limit


def test_a_lawful_table_has_no_fault() -> None:
    """Identity: the table that the faulty ones below are made from."""
    assert verify_table(GRID, CEILING, (POINTS, GOOD), ASK) == []


@pytest.mark.parametrize(
    ("table", "changes", "words"),
    [
        (changed(3, 301.0), {}, "passes the ceiling by 1 N"),
        (changed(0, -1.0), {"rise_rate": 1.0}, "below 0"),
        (changed(0, 200.5), {}, "whole steps"),
        (changed(0, 190.0), {}, "rises 5 N"),
        (changed(2, 300.0), {"rise_rate": 1.0}, "peaks before 3,500 rpm"),
        (changed(4, 270.0), {}, "rises after its peak, at 5,000 rpm"),
        (
            changed(1, 190.0),
            {"rise_rate": 1.0, "no_dip_before_peak": True},
            "falls before its peak",
        ),
        ((POINTS, GOOD), {"peak_from": 7000.0}, "No breakpoint lies at or after 7,000 rpm"),
    ],
)
def test_each_fault_is_named(
    table: tuple[np.ndarray, np.ndarray], changes: dict[str, object], words: str
) -> None:
    """Identity: one fault put in, that fault told, with its speed or size."""
    faults = verify_table(GRID, CEILING, table, replace(ASK, **changes))  # type: ignore[arg-type]
    assert any(words in fault for fault in faults), faults


def test_a_dip_that_falls_between_breakpoints_is_found() -> None:
    """Identity: the ceiling's notch to 250 N*m at 3500 rpm, where the table asks for 285 N*m."""
    ceiling = np.where(GRID == 3500.0, 250.0, 300.0)
    faults = verify_table(GRID, ceiling, (POINTS, GOOD), ASK)
    assert faults == ["The limit passes the ceiling by 35 N*m at 3,500 rpm."]


def test_no_torque_is_acceptable_next_to_minus_infinity_either() -> None:
    """Identity: between an acceptable speed and one where nothing is, nothing is known to hold.

    The line from 290 to 280 N*m stands at 280.8 N*m a sixth of the way from 5900 to 6000 rpm.
    """
    ceiling = np.where(GRID > 5900.0, -np.inf, 300.0)
    faults = verify_table(GRID, ceiling, (POINTS, GOOD), ASK)
    assert any("passes the ceiling by 280.8 N*m at 5,916.67" in fault for fault in faults), faults


def test_torque_delivered_too_early_is_found() -> None:
    """Identity: an engine that makes 260 N*m early and 220 N*m late under this table."""
    reach = np.where(GRID < 3000.0, 260.0, 220.0)
    faults = verify_table(GRID, CEILING, (POINTS, GOOD), ASK, reach)
    assert any("too early" in fault for fault in faults)


def test_limit_above_reach_is_a_fault_only_when_asked() -> None:
    """Identity."""
    reach = np.full(51, 250.0)
    assert verify_table(GRID, CEILING, (POINTS, GOOD), ASK, reach) == []
    held = replace(ASK, limit_above_reach=False)
    assert "passes the reach by 50 N" in verify_table(GRID, CEILING, (POINTS, GOOD), held, reach)[0]


def test_rise_excess_by_segment() -> None:
    """Identity: 40 and 30 N*m over 1000 rpm each against 35 N*m allowed; none after the peak."""
    excess = rise_excess((POINTS, GOOD), 0.035, 3500.0)
    assert excess == pytest.approx([5.0, 0.0, 0.0, 0.0, 0.0], abs=1e-9)


def test_judgement_of_a_foreign_table() -> None:
    """Identity: flat 280 N*m against a ceiling of 300 with a notch to 250, reach 290."""
    ceiling = np.where(GRID == 3500.0, 250.0, 300.0)
    judged = judge_table(POINTS, np.full(6, 280.0), GRID, ceiling, np.full(51, 290.0))
    at = int(np.flatnonzero(GRID == 3500.0)[0])
    assert judged.unsafe_excess[at] == 30.0
    assert judged.unsafe_delivered[at] == 30.0
    assert judged.unused[at] == 0.0
    assert judged.unsafe_excess[at + 1] == 0.0
    assert judged.unused[at + 1] == 10.0
    assert judged.worst_excess == 30.0
    assert judged.worst_speed == 3500.0


def test_judgement_counts_what_the_engine_can_make() -> None:
    """Identity: a limit of 400 N*m over a 300 N*m ceiling, an engine that makes 310 N*m."""
    judged = judge_table(POINTS, np.full(6, 400.0), GRID, CEILING, np.full(51, 310.0))
    assert judged.unsafe_excess.max() == 100.0
    assert judged.unsafe_delivered.max() == 10.0


def test_judgement_finds_the_worst_between_grid_speeds() -> None:
    """Identity: a table with a spike at a breakpoint that is no grid speed."""
    judged = judge_table([1000.0, 3550.0, 6000.0], [200.0, 340.0, 200.0], GRID, CEILING)
    assert judged.worst_speed == 3550.0
    assert judged.worst_excess == pytest.approx(40.0, abs=1e-9)


@pytest.mark.parametrize(
    ("points", "limit", "words"),
    [
        ([1.0, 2.0], [1.0], "equal length"),
        ([2.0, 1.0], [1.0, 1.0], "strictly increasing"),
        ([1.0, 2.0], [np.nan, 1.0], "finite"),
    ],
)
def test_bad_tables_are_refused(points: list[float], limit: list[float], words: str) -> None:
    """Identity: one sentence that says what a table needs."""
    with pytest.raises(InputError, match=words):
        judge_table(points, limit, GRID, CEILING)


def test_judgement_of_speeds_beside_minus_infinity() -> None:
    """Identity: an assessed speed keeps its own ceiling whatever its neighbours are."""
    ceiling = np.where(GRID == 3500.0, -np.inf, 300.0)
    judged = judge_table(POINTS, np.full(6, 280.0), GRID, ceiling)
    at = int(np.flatnonzero(GRID == 3500.0)[0])
    assert judged.unsafe_excess[at - 1 : at + 2].tolist() == [0.0, 280.0, 0.0]


def test_the_last_grid_speed_is_looked_at() -> None:
    """Edge: a ceiling that falls at the last grid speed is passed most there, and it is named."""
    ceiling = CEILING.copy()
    ceiling[-1] = 250.0
    assert verify_table(GRID, ceiling, (POINTS, GOOD), ASK) == [
        "The limit passes the ceiling by 30 N*m at 6,000 rpm."
    ]
    assert judge_table(POINTS, GOOD, GRID, ceiling).worst_speed == 6000.0
