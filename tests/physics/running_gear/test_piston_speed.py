"""Guidance on mean piston speed: the published words, in order, and where a speed stands."""

import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.running_gear.piston_speed import (
    COMPRESSION_GUIDES,
    SPARK_GUIDES,
    TEXTBOOK_GUIDE,
    guides,
    neighbours,
)
from torquerisk.sources import SOURCES


def test_values_as_published():
    """A public page (tertiary): diesel 8.5, 11, 14; petrol 16, sport 20-25, 25 and 30 m/s."""
    assert [(g.low, g.high) for g in COMPRESSION_GUIDES] == [(8.5, 8.5), (11, 11), (14, 14)]
    assert [(g.low, g.high) for g in SPARK_GUIDES] == [(16, 16), (20, 25), (25, 25), (30, 30)]
    assert (TEXTBOOK_GUIDE.low, TEXTBOOK_GUIDE.high) == (8, 15)
    assert guides(True) is COMPRESSION_GUIDES
    assert guides(False) is SPARK_GUIDES
    assert "tertiary" in SOURCES[SPARK_GUIDES[0].source].title
    assert SOURCES[TEXTBOOK_GUIDE.source].how_sure == "from memory"


@pytest.mark.parametrize(
    ("speed", "below", "above"),
    [
        (0.0, None, 16), (15.9, None, 16), (16.0, 16, 16), (18.4, 16, 20), (22.0, 20, 20),
        (25.0, 20, 20), (27.0, 25, 30), (30.0, 30, 30), (31.0, 30, None),
    ],
)  # fmt: skip
def test_neighbours_of_a_speed(speed, below, above):
    """identity: the guide next below and next above; the same one within its range."""
    found = neighbours(speed, SPARK_GUIDES)
    assert [None if g is None else g.low for g in found] == [below, above]


def test_a_negative_speed_is_refused():
    with pytest.raises(OutOfRangeError, match="mean piston speed is -1"):
        neighbours(-1.0, SPARK_GUIDES)
