"""How a ceiling is read between its speeds, and the rules a table is held to."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from torquerisk.study.limit_curve.rules import (
    Difference,
    conservative_ceiling,
    greatest_below,
    roof,
)

SPEED = np.array([10.0, 20.0, 30.0, 40.0, 50.0])


@pytest.mark.parametrize(
    ("given_torque", "read"),
    [
        ([300.0, -np.inf, 280.0, 260.0, 240.0], [0.0, 0.0, 0.0, 260.0, 240.0]),
        ([-np.inf, 290.0, 280.0, 260.0, 240.0], [0.0, 0.0, 280.0, 260.0, 240.0]),
        ([300.0, 290.0, 280.0, 260.0, -np.inf], [300.0, 290.0, 280.0, 0.0, 0.0]),
        ([300.0, np.inf, 280.0, 260.0, 240.0], [300.0, 280.0, 280.0, 260.0, 240.0]),
        ([np.inf, np.inf, np.inf, 260.0, 240.0], [500.0, 500.0, 260.0, 260.0, 240.0]),
        ([300.0, 290.0, 280.0, 260.0, np.inf], [300.0, 290.0, 280.0, 260.0, 240.0 + 20.0]),
    ],
)
def test_infinite_ceilings_are_read_on_the_careful_side(
    given_torque: list[float], read: list[float]
) -> None:
    """Identity: nothing holds beside minus infinity; the lesser neighbour beside plus infinity."""
    ceiling = conservative_ceiling(SPEED, np.array(given_torque), 500.0)
    assert np.interp(SPEED, ceiling.speed, ceiling.torque).tolist() == read


def test_a_ceiling_that_crosses_nothing_ends_there() -> None:
    """Identity: from 100 at 20 to -50 at 30 the line crosses 0 at 26.667; 0 from there on."""
    ceiling = conservative_ceiling(SPEED, np.array([200.0, 100.0, -50.0, -50.0, 100.0]), 500.0)
    assert np.interp(
        [25.0, 20.0 + 20.0 / 3.0, 28.0, 35.0, 45.0], ceiling.speed, ceiling.torque
    ) == (pytest.approx([25.0, 0.0, 0.0, 0.0, 25.0]))


def test_the_roof_needs_only_the_hull() -> None:
    """Identity: of a segment's ceiling only the vertices of its lower convex hull are rows."""
    ceiling = conservative_ceiling(
        np.arange(0.0, 101.0, 10.0),
        np.array([300.0, 310.0, 290.0, 250.0, 280.0, 260.0, 290.0, 300.0, 305.0, 310.0, 300.0]),
        500.0,
    )
    made = roof(np.array([0.0, 100.0]), ceiling)
    assert made.speed.tolist() == [30.0, 50.0]
    assert made.torque.tolist() == [250.0, 260.0]
    assert made.upper.tolist() == [300.0, 300.0]


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    st.lists(st.floats(0.0, 400.0), min_size=4, max_size=12),
    st.tuples(st.floats(0.0, 400.0), st.floats(0.0, 400.0)),
)
def test_under_the_roof_is_under_the_ceiling_and_the_other_way_round(
    torque: list[float], ends: tuple[float, float]
) -> None:
    """Identity: a straight segment keeps the roof if and only if it keeps the ceiling."""
    speed = np.linspace(0.0, 1.0, len(torque))
    ceiling = conservative_ceiling(speed, np.array(torque), 500.0)
    made = roof(np.array([0.0, 1.0]), ceiling)
    limit = np.array(ends)
    roof_excess = max(
        float((limit - made.upper).max()), float(made.over_rows(limit).max(initial=-np.inf))
    )
    dense = np.union1d(np.linspace(0.0, 1.0, 400), speed)
    excess = np.interp(dense, [0.0, 1.0], limit) - np.interp(dense, speed, torque)
    assert (roof_excess > 1e-9) == (excess.max() > 1e-9)


def test_the_greatest_table_under_differences() -> None:
    """Identity: a low first entry is climbed from by the rise; a cycle that gains has no table."""
    rise = [Difference(lesser=j + 1, greater=j, by=10.0, name="rise") for j in range(3)]
    assert greatest_below([50.0, 90.0, 90.0, 65.0], rise) == [50.0, 60.0, 70.0, 65.0]
    cycle = [
        Difference(lesser=0, greater=1, by=-1.0, name="peak"),
        Difference(lesser=1, greater=0, by=0.0, name="rise"),
    ]
    assert greatest_below([50.0, 50.0], cycle) is None
