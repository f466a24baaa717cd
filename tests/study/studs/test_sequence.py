"""In which order fasteners are tightened."""

import dataclasses
from itertools import pairwise

import pytest

from torquerisk.case import Engine
from torquerisk.errors import InputError
from torquerisk.physics.head_joint.fastener_rows import fasteners_where, usual_around
from torquerisk.show.pictures.order import order_drawing, order_rows
from torquerisk.study.strengths.head import head_capacity
from torquerisk.study.studs.fastening import MIDDLE
from torquerisk.study.studs.sequence import tightening_sequence


def of(engine: Engine, fasteners: int, around: int | None = None):
    joint = dataclasses.replace(engine.head_joint, fasteners=fasteners, fasteners_around=around)
    return tightening_sequence(dataclasses.replace(engine, head_joint=joint))


def test_eight_of_a_twin_are_four_around_each_bore(plain_engine: Engine) -> None:
    """common practice, no source: heads of two cylinders with eight have two rows of four."""
    twin = dataclasses.replace(plain_engine, cylinders=2, heads=1)
    for around in (None, 4):
        order = of(twin, 8, around)
        assert order is not None
        assert order.assumed is (around is None)
        rows = order_rows(order)
        assert [len(row.split()) for row in rows] == [4, 4]
        inner = {n for row in rows for n in row.split()[1:3]}
        assert inner == {"1", "2", "3", "4"}
        where = {p.turn: p for p in order.places}
        for first in (1, 3, 5, 7):
            one, two = where[first], where[first + 1]
            assert (one.across, one.along - 1) == (-two.across, pytest.approx(1 - two.along))


def test_the_usual_places_move_no_clamp(plain_engine: Engine) -> None:
    """Statics: a head of two shares its clamp evenly over its rings wherever the eight stand."""
    twin = dataclasses.replace(plain_engine, cylinders=2, heads=1)
    joint = dataclasses.replace(twin.head_joint, fasteners=8)
    (assumed,), (told,) = (
        head_capacity(
            dataclasses.replace(twin, head_joint=dataclasses.replace(joint, fasteners_around=n)),
            MIDDLE,
        ).rings.values()
        for n in (None, 4)
    )
    assert assumed.fasteners == pytest.approx(4.0)
    assert told.fasteners == pytest.approx(4.0)


@pytest.mark.parametrize("fasteners", [10, 14, 18, 24])
def test_from_the_middle_outwards(plain_engine: Engine, fasteners: int) -> None:
    """Common practice, no source: each once, never one nearer the middle after one farther off."""
    order = of(plain_engine, fasteners, 6 if fasteners == 24 else None)
    assert order is not None
    assert [p.turn for p in order.places] == list(range(1, fasteners + 1))
    away = [abs(p.along - 2.0) for p in order.places]
    assert all(later >= earlier - 0.02 for earlier, later in pairwise(away))
    assert order.assumed is (fasteners != 24)


def test_ten_of_a_four_by_hand(plain_engine: Engine) -> None:
    """Workshop texts, common practice: the middle pair, then crosswise to both sides."""
    order = of(plain_engine, 10, 4)
    assert order is not None
    near, far = (row.split() for row in order_rows(order))
    assert {near[2], far[2]} == {"1", "2"}
    pairs = [{near[k], far[k]} for k in range(5)]
    assert pairs[1] | pairs[3] == {"3", "4", "5", "6"}
    assert pairs[0] | pairs[4] == {"7", "8", "9", "10"}
    where = {p.turn: p for p in order.places}
    for first in (1, 3, 5, 7, 9):
        assert where[first].across == -where[first + 1].across


def test_rows_as_told_are_drawn(plain_engine: Engine) -> None:
    """Identity: each row has as many numbers as was told, front to rear; nothing is assumed."""
    joint = dataclasses.replace(plain_engine.head_joint, fasteners=13, fasteners_by_row="3 2 2 2 4")
    order = tightening_sequence(dataclasses.replace(plain_engine, head_joint=joint))
    assert order is not None
    assert not order.assumed
    rows = [sum(abs(p.along - at) < 0.2 for p in order.places) for at in range(5)]
    assert rows == [3, 2, 2, 2, 4]
    shown = [[row[3 * k : 3 * k + 2].strip() for k in range(5)] for row in order_rows(order)]
    assert [sum(map(bool, column)) for column in zip(*shown, strict=True)] == rows
    spots = {(p.along, p.across) for p in order.places}
    assert len(spots) == len(order.places), "no two in one place"


def test_the_drawing_has_every_number(plain_engine: Engine) -> None:
    """Identity: a circle and a number each, in the colour of the text: it prints black on white."""
    order = of(plain_engine, 18)
    assert order is not None
    svg = order_drawing(order)
    for turn in range(1, 19):
        assert f">{turn}</text>" in svg
    assert "#" not in svg
    assert "rgb" not in svg
    assert 'fill="none"' in svg


def test_counts_that_fit() -> None:
    """Identity (counting): 26 in a head of six are six around each, 11 in one of four none."""
    assert usual_around(26, 6) == 6
    assert usual_around(11, 4) is None
    assert (usual_around(8, 2), usual_around(10, 2), usual_around(16, 4)) == (4, 6, 4)
    assert fasteners_where(8, 2, 4) == ((2.0, 4.0, 2.0), 0)
    assert fasteners_where(26, 6, 6) == ((2.0,) * 7, 2)
    assert fasteners_where(24, 4, 6) == ((2.0, 4.0, 4.0, 4.0, 2.0), 2)
    with pytest.raises(InputError, match="fasteners_around"):
        fasteners_where(11, 4, 5)
    with pytest.raises(InputError, match="fasteners_around"):
        fasteners_where(5, 1, 4)
