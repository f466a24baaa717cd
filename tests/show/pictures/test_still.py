"""Still pictures: places by hand, refusal of what they cannot show, colours for any theme."""

import math
import re
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from torquerisk.show.pictures.drawing import Drawing, new_figure
from torquerisk.show.pictures.still import for_paper
from torquerisk.show.pictures.still_pieces import SYMBOLS, Scale, number, step_of, symbol
from torquerisk.show.pictures.style import DARK, LIGHT, NONE, READING, ROW, Picture, Stamp, colours

STAMP = Stamp(case="a <b>case</b>", digest="0123456789", version="9")
DEEP = 300 - 18 - 62
"""Height of the frame of a picture 300 high, without its margins [px]."""


def _paper(figure: Drawing, height: float | None = None) -> str:
    picture = Picture(name="one", title="One", figure=figure.done(), alt='"quoted" <words>')
    return for_paper(picture, height)


def _plain(**ruler: Any) -> Drawing:
    figure = new_figure(LIGHT, 300, STAMP)
    figure.update_xaxes(title_text="speed [rpm]", range=[1000, 5000], **ruler)
    figure.update_yaxes(title_text="torque [N·m]", range=[0, 200])
    return figure


def test_a_line_and_its_signs_lie_where_the_axes_say() -> None:
    """Arithmetic: 2,000 of 1,000 to 5,000 rpm is a quarter across, 50 of 200 a quarter up."""
    figure = _plain()
    at, heights = np.array([2000.0, 3000.0]), np.array([50.0, 200.0])
    figure.line(at, heights, LIGHT.limit, width=4, dash="dash")
    figure.signs(at, list(heights), "circle", LIGHT.holds, size=8)
    drawn = _paper(figure)
    assert f'd="M250 {0.75 * DEEP:g}L500 0"' in drawn
    assert 'stroke-dasharray="12 12"' in drawn
    signs = re.findall(r'<svg x="([\d.]+)%" y="([\d.]+)" overflow="visible"><path', drawn)
    assert [(float(x), float(y)) for x, y in signs] == [(25.0, 0.75 * DEEP), (50.0, 0.0)]
    assert 'scale(4)" d="' + SYMBOLS["circle"] + '" fill="var(--holds)"' in drawn


def test_words_stand_where_they_were_put() -> None:
    """Arithmetic, and the plot library's rule that yshift is upwards and paper ends at 0 and 1."""
    figure = _plain()
    figure.word(4000, 100, "here<br>and &lt;there", LIGHT.ink, "right", 7, yshift=5)
    drawn = _paper(figure)
    found = re.search(r'<text x="75%" dx="7" y="([\d.]+)" font-size="13"[^>]*>here<tspan', drawn)
    assert found is not None
    middle = float(found[1]) - 0.35 * 13 + 0.65 * 13  # of two lines, each 1.3 high
    assert middle == pytest.approx(DEEP / 2 - 5, abs=0.06)
    assert "and &lt;there" in drawn
    assert ">a &lt;b&gt;case&lt;/b&gt;, inputs 01234567" in drawn
    assert 'aria-label="&quot;quoted&quot; &lt;words&gt;"' in drawn
    assert all(f">{v}</text>" in drawn for v in range(1000, 5001, 1000))


def test_a_gap_parts_a_line_and_its_shade() -> None:
    """identity: no line is drawn over missing numbers, and the shade ends with them."""
    figure = _plain()
    x = np.array([1000.0, 2000.0, 3000.0, 4000.0, 5000.0])
    high = np.array([100.0, 100.0, np.inf, 100.0, 100.0])
    figure.band(x, np.where(np.isfinite(high), 0.0, np.nan), high, LIGHT.estimate, 0.2)
    figure.line(x, high, LIGHT.estimate)
    drawn, half = _paper(figure), DEEP / 2
    assert f"M0 {half:g}L250 {half:g}M750 {half:g}L1000 {half:g}" in drawn
    assert drawn.count('fill="var(--estimate)" fill-opacity="0.2"') == 2
    assert f"M0 {half:g}L250 {half:g}L250 {DEEP}L0 {DEEP}Z" in drawn


def test_a_logarithmic_ruler_is_one() -> None:
    """Arithmetic: 10 lies in the middle of 1 to 100."""
    figure = _plain(type="log", tickvals=[1, 10, 100], ticktext=["1", "10", "100"])
    figure.update_xaxes(range=[0, 2])
    figure.line([1.0, 10.0], np.array([0.0, 200.0]), LIGHT.ink, width=1)
    drawn = _paper(figure)
    assert f"M0 {DEEP}L500 0" in drawn
    assert re.search(r'<text x="50%" [^>]*>10</text>', drawn)


def test_a_lower_height_keeps_margins_and_words() -> None:
    """identity: the frame is squeezed, what stands around it is not."""
    figure = _plain()
    figure.line([1000.0, 5000.0], np.array([0.0, 200.0]), LIGHT.ink)
    tall, low = _paper(figure), _paper(figure, 200)
    assert f"M0 {DEEP}L1000 0" in tall
    assert f"M0 {DEEP - 100}L1000 0" in low
    assert set(re.findall(r'font-size="[\d.]+"', tall)) == set(
        re.findall(r'font-size="[\d.]+"', low)
    )


def test_one_scale_both_ways_draws_round_circles() -> None:
    """identity: pixels across and down are the same number of units."""
    figure = _plain(constrain="domain")
    figure.update_xaxes(range=[-10, 10])
    figure.update_yaxes(range=[-5, 5], scaleanchor="x")
    figure.add_shape(type="circle", x0=-4, x1=4, y0=-4, y1=4, line={"color": LIGHT.grid})
    drawn = _paper(figure)
    wide = float(re.search(r'class="frame" x="54" width="([\d.]+)"', drawn)[1])  # type: ignore[index]
    (ring,) = re.findall(r'd="M([^"]*)Z"', drawn)
    points = np.array([[float(v) for v in p.split()] for p in ring.split("L")])
    spans = np.ptp(points, axis=0) * [wide / 1000, 1]
    assert spans[0] == pytest.approx(spans[1], abs=0.3)
    assert spans[0] == pytest.approx(0.4 * wide, abs=0.3)


def test_colours_follow_the_theme_on_paper() -> None:
    """identity: on paper no colour is left that a dark screen could not change."""
    figure = _plain()
    figure.hrect(10, 20, "rgba(43,123,186,0.06)")
    figure.line([1000.0, 5000.0], np.array([0.0, 200.0]), LIGHT.measured)
    picture = Picture(name="one", title="One", figure=figure.done(), alt="words")
    assert not re.search(r'"#\w{6}"|rgba', for_paper(picture))
    assert 'fill="var(--holds)" fill-opacity="0.06"' in for_paper(picture)
    assert colours(LIGHT).keys() == colours(DARK).keys()
    light = [v for k, v in colours(LIGHT).items()]
    assert len(set(light)) == len(light), "a colour has one name"


@pytest.mark.parametrize(
    ("trace", "shape", "note"),
    [
        ({"type": "bar", "x": [1], "y": [1]}, None, None),
        ({"type": "scatter", "x": [1], "y": [1], "fill": "toself"}, None, None),
        ({"type": "scatter", "x": [1], "y": [1], "mode": "markers", "marker": {"symbol": "star"}},
         None, None),
        (None, {"type": "path", "path": "M0 0", "x0": 0, "x1": 1, "y0": 0, "y1": 1}, None),
        (None, None, {"showarrow": True}),
    ],
)  # fmt: skip
def test_what_a_still_cannot_show_is_refused(trace: Any, shape: Any, note: Any) -> None:
    """identity: a still never leaves out a part of the picture."""
    figure = _plain()
    if trace:
        figure.add_trace(trace)
    if shape:
        figure.add_shape(**shape)
    if note:
        figure.word(2000, 1, "t", LIGHT.ink, **note)
    with pytest.raises(ValueError, match="a still cannot"):
        _paper(figure)


def test_signs_of_strokes_have_no_ground() -> None:
    """identity: what is drawn as strokes, or open, shows the paper within."""
    for name in (READING, ROW, NONE, "circle-open"):
        assert 'fill="none" stroke="#123456"' in symbol(name, "#123456", 8, {"width": 2})


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e6), st.integers(1, 12))
def test_ticks_are_round_and_inside(low: float, span: float, most: int) -> None:
    """Identity: within the range, evenly apart by 1, 2 or 5 times ten to a power, not too many."""
    assume(span > 1e-6 * abs(low))
    scale = Scale(low=low, high=low + span, start=0.0, end=1.0, layout={})
    places = [place for place, _ in scale.ticks(most)]
    step = step_of(span, most)
    assert len(places) <= most + 1
    assert all(-1e-5 <= p <= 1 + 1e-5 for p in places)
    mantissa = step / 10.0 ** math.floor(math.log10(step) + 1e-9)
    assert min(abs(mantissa - m) for m in (1, 2, 5, 10)) < 1e-6
    if len(places) > 1:
        assert np.diff(places) * span == pytest.approx(step, rel=1e-3)


def test_a_coordinate_is_a_number() -> None:
    """Identity: infinity and not-a-number are refused; minus nought is nought."""
    for bad in (math.nan, math.inf):
        with pytest.raises(ValueError, match="coordinate"):
            number(bad)
    assert [number(v) for v in (0.0, -0.01, 3.0, 3.14159)] == ["0", "0", "3", "3.1"]
