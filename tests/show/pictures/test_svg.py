"""The writer of still pictures: scales, ticks, gaps, names, escapes."""

import itertools
import math
import re

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from torquerisk.show.pictures import svg
from torquerisk.show.pictures.svg import Named, Panel

PANEL = Panel(left=40, right=240, top=20, bottom=120, x_low=0, x_high=10, y_low=0, y_high=100)


def test_places():
    """Identity: ends and middle of both scales by hand."""
    assert [PANEL.x(v) for v in (0, 5, 10)] == [40, 140, 240]
    assert [PANEL.y(v) for v in (0, 50, 100)] == [120, 70, 20]
    assert PANEL.y(1e9) == -30
    assert PANEL.y(-1e9) == 170


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e6), st.integers(1, 12))
def test_ticks_are_round_and_inside(low, span, most):
    """Identity: within the range, evenly apart by 1, 2 or 5 times ten to a power, not too many."""
    high = low + span
    assume(span > 1e-6 * abs(low))
    found = svg.ticks(low, high, most)
    step = svg.step_of(span, most)
    assert len(found) <= most + 1
    assert all(low - 1e-6 * step <= v <= high + 1e-6 * step for v in found)
    mantissa = step / 10.0 ** math.floor(math.log10(step) + 1e-9)
    assert min(abs(mantissa - m) for m in (1, 2, 5, 10)) < 1e-6
    if len(found) > 1:
        assert np.diff(found) == pytest.approx(step)


def test_tick_words():
    """Common practice, no source: as many decimals as the step needs, thousands marked."""
    assert svg.tick_words([0, 500, 1000]) == ["0", "500", "1,000"]
    assert svg.tick_words([0.5, 1.0, 1.5]) == ["0.5", "1.0", "1.5"]
    assert svg.tick_words([-20, 0]) == ["−20", "0"]


def test_a_line_breaks_where_there_is_no_value():
    """Identity: two stretches, two lines, no number that is none."""
    x = np.arange(6.0)
    y = np.array([10, 20, np.nan, np.inf, 30, 40.0])
    drawn = svg.line(PANEL, x, y, "ink")
    assert re.findall(r'points="([^"]*)"', drawn) == ["40,110 60,100", "120,90 140,80"]


def test_a_band_with_open_ends_fills_the_panel():
    """Identity: an infinite edge goes out of the panel on its side and is never written as such."""
    x = np.array([0.0, 10.0])
    drawn = svg.band(PANEL, x, np.array([-np.inf, 10]), np.array([np.inf, np.inf]), "ink")
    assert re.findall(r'points="([^"]*)"', drawn) == ["40,-30 240,-30 240,110 40,170"]


def test_a_coordinate_is_a_number():
    """Identity: infinity and not-a-number are refused; minus nought is nought."""
    for bad in (math.nan, math.inf):
        with pytest.raises(ValueError, match="coordinate"):
            svg.number(bad)
    assert [svg.number(v) for v in (0.0, -0.01, 3.0, 3.14159)] == ["0", "0", "3", "3.1"]


def test_words_are_escaped():
    """OWASP XSS prevention: text in a picture opens nothing."""
    drawn = svg.word(1, 2, "</text><script>\"&'", "ink")
    assert drawn.count("<") == 2
    assert "&lt;/text&gt;&lt;script&gt;&quot;&amp;&#x27;" in drawn


@given(st.lists(st.floats(0, 100), min_size=1, max_size=5))
def test_names_keep_apart(ends):
    """Identity: no two names at line ends closer than a line of text, unless one has no end."""
    items = [Named(text=f"n{k}", tone="ink", end=e) for k, e in enumerate(ends)]
    drawn = svg.names_at_end(PANEL, [*items, Named(text="no end", tone="ink")])
    places = sorted(float(y) for y in re.findall(r'<text[^>]* y="([^"]*)"', drawn))
    assert len(places) == len(ends)
    assert all(b - a >= svg.LINE - 0.2 for a, b in itertools.pairwise(places))


def test_key_wraps_within_its_width():
    """Identity: names that do not fit beside each other go on to the next line."""
    items = [Named(text="x" * 20, tone="ink") for _ in range(3)]
    _, one = svg.key(0, 0, 700, items)
    _, three = svg.key(0, 0, 200, items)
    assert three - one == 2 * svg.LINE


def test_unknown_mark_is_refused():
    """Identity: a shape that does not exist is an error, not an empty place."""
    with pytest.raises(ValueError, match="no mark"):
        svg.mark(0, 0, "ink", "star")
