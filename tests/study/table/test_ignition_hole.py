"""A hole that only early ignition explains: found where it is one, with what would fill it."""

import dataclasses
from collections.abc import Sequence

import numpy as np
import pytest

from torquerisk.study.table.ignition_hole import ignition_hole
from torquerisk.study.table.phasing_window import LaterPhasing
from torquerisk.study.table.rows import LimitRow


def rows_of(limits: list[float], gain: float) -> list[LimitRow]:
    """Rows of a table whose torque rises by so much for each 2 degrees of later burn [N*m]."""
    step = np.radians(2.0)
    later = tuple(
        LaterPhasing(ca50_later=k * step, advance_less=0.9 * k * step, gain=k * gain)
        for k in (1, 2, 3)
    )
    blank = {f.name: None for f in dataclasses.fields(LimitRow)}
    return [
        LimitRow(**{
            **blank, "speed": 200.0 + 30 * k, "limit": limit, "later": later, "chance": 0.01,
            "spare": 0.0, "sampling_error": 1.0, "ignition_advance": np.radians(15.0),
        })
        for k, limit in enumerate(limits)
    ]  # fmt: skip


def no_more(rows: Sequence[int]) -> Sequence[tuple[LaterPhasing, ...]]:
    """No burn later than those of the rows is of use."""
    return [()] * len(rows)


def test_a_deeper_hole_asks_for_later_burns() -> None:
    """Identity: 45 N·m, 30 of them by 6 degrees and 60 by 12, are 9 degrees; asked of its rows."""
    asked: list[int] = []

    def further(rows: Sequence[int]) -> Sequence[tuple[LaterPhasing, ...]]:
        asked.extend(rows)
        step = LaterPhasing(ca50_later=np.radians(12.0), advance_less=None, gain=60.0)
        return [(step,)] * len(rows)

    found = ignition_hole(rows_of([250, 280, 235, 280, 260], 10.0), further)
    assert found is not None
    assert asked == list(found.rows) == [2]
    assert np.degrees(found.later) == pytest.approx(9.0)
    assert found.advance_less is None


def test_a_hole_is_filled_by_the_burn_that_gains_its_depth() -> None:
    """Identity: 20 N·m at 10 N·m for 2 degrees are 4 degrees, and 3.6 degrees of advance."""
    found = ignition_hole(rows_of([250, 280, 270, 260, 275, 290, 260], 10.0), no_more)
    assert found is not None
    assert found.rows == (2, 3, 4)
    assert (found.deepest, found.depth, found.fill) == (3, 20.0, 280.0)
    assert np.degrees(found.later) == pytest.approx(4.0)
    assert found.advance_less is not None
    assert np.degrees(found.advance_less) == pytest.approx(3.6)


@pytest.mark.parametrize(
    ("limits", "gain"),
    [
        ([250, 280, 290, 280, 260], 10.0),  # one hill
        ([250, 280, 278, 280, 260], 10.0),  # within the sampling error
        ([250, 280, 200, 280, 260], 10.0),  # deeper than any burn fills
        ([250, 280, 260, 280, 260], 0.0),  # ignition does not explain it
    ],
)
def test_no_hole_where_ignition_does_not_explain_one(limits: list[float], gain: float) -> None:
    """Edges: no dip, one that is noise, one too deep, and one that a later burn does not lift."""
    assert ignition_hole(rows_of(limits, gain), no_more) is None
