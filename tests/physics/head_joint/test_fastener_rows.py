"""Counting: every fastener of a head stands in a row between bores or beside one."""

import pytest

from torquerisk.errors import InputError
from torquerisk.physics.head_joint.fastener_rows import fasteners_in_row, fasteners_where


@pytest.mark.parametrize(
    ("fasteners", "cylinders", "around", "inner", "beside"),
    [
        (10, 4, 4, 2.0, 0),
        (14, 4, 5, 2.0, 1),
        (18, 4, 6, 2.0, 2),
        (16, 4, 4, 4.0, 0),
        (11, 4, 4, 2.0, 0),
        (17, 4, 4, 4.0, 0),
        (6, 1, 6, None, 2),
    ],
)
def test_rows_and_sides_hold_every_fastener(fasteners, cylinders, around, inner, beside):
    """Counting: rows and sides add up; neighbours share two between them or have four."""
    rows, sides = fasteners_where(fasteners, cylinders, around)
    assert len(rows) == cylinders + 1
    assert sum(rows) + cylinders * sides == fasteners
    assert sides == beside
    assert set(rows[1:-1]) == ({inner} if inner is not None else set())


def test_even_rows_and_refusals():
    """Counting: ten in a head of four stand two to a row; four cannot."""
    assert fasteners_in_row(10, 4) == 2.0
    with pytest.raises(InputError, match="Give all fasteners of one head"):
        fasteners_in_row(4, 4)
    with pytest.raises(InputError, match="fasteners_around"):
        fasteners_where(13, 4, 6)
