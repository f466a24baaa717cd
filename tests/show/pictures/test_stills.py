"""Still pictures: places by hand, and refusal of what they cannot show."""

import re
from typing import Any
from urllib.parse import unquote

import numpy as np
import pytest

from torquerisk.show.pictures.stills import still_of
from torquerisk.show.pictures.style import LIGHT, Drawing, Picture, Stamp, new_figure, scatter

STAMP = Stamp(case="a <b>case</b>", digest="0123456789", version="9")
DEEP = 300 - 18 - 62
"""Height of the frame of a picture 300 high, without its margins [px]."""


def _still(figure: Drawing) -> str:
    return still_of(Picture(name="one", title="One", figure=figure.done(), alt='"quoted" <words>'))


def _plain(**ruler: Any) -> Drawing:
    figure = new_figure(LIGHT, 300, STAMP)
    figure.update_xaxes(title_text="speed [rpm]", range=[1000, 5000], **ruler)
    figure.update_yaxes(title_text="torque [N·m]", range=[0, 200])
    return figure


def _images(still: str) -> list[str]:
    return [unquote(source) for source in re.findall(r'src="data:image/svg\+xml,([^"]*)"', still)]


def test_a_line_and_its_marks_lie_where_the_axes_say() -> None:
    """Arithmetic: 2,000 of 1,000 to 5,000 rpm is a quarter across, 50 of 200 a quarter up."""
    figure = _plain()
    figure.add_trace(
        scatter(
            x=np.array([2000.0, 3000.0]), y=[50.0, 200.0], mode="lines+markers",
            line={"color": "#123456", "width": 4, "dash": "dash"}, marker={"size": 8},
        )
    )  # fmt: skip
    lines, marks = _images(_still(figure))
    assert f"M250 {0.75 * DEEP:g}L500 0" in lines
    assert "stroke-dasharray='12 12'" in lines
    assert marks.count("<circle r='4' fill='#123456'/>") == 2
    assert [float(v) for v in re.findall(r"svg x='([\d.]+)%'", marks)] == [25.0, 50.0]
    assert f"translate(6 {12 + 0.75 * DEEP:g})" in marks  # 12 px beside, less what a quarter adds


def test_words_stand_where_they_were_put() -> None:
    """Arithmetic, and the plot library's rule that yshift is upwards and paper ends at 0 and 1."""
    figure = _plain()
    figure.add_annotation(
        x=4000, y=100, text="here", xanchor="left", yanchor="middle", xshift=7, yshift=5,
        showarrow=False,
    )  # fmt: skip
    still = _still(figure)
    assert re.search(
        rf'<b style="left:calc\(75% \+ 7px\);top:{DEEP / 2 - 5:g}px;[^"]*translate\(0,-50%\)">here',
        still,
    )
    assert ">a &lt;b&gt;case&lt;/b&gt;, inputs 01234567" in still
    assert 'aria-label="&quot;quoted&quot; &lt;words&gt;"' in still
    assert all(f">{v}</b>" in still for v in range(1000, 5001, 1000))


def test_a_gap_parts_a_line_and_its_shade() -> None:
    """identity: no line is drawn over missing numbers, and the shade ends with them."""
    figure = _plain()
    x = [1000.0, 2000.0, 3000.0, 4000.0, 5000.0]
    figure.add_trace(scatter(x=x, y=[0.0, 0.0, None, 0.0, 0.0], mode="lines", line={"width": 0}))
    figure.add_trace(
        scatter(
            x=x, y=[100.0, 100.0, None, 100.0, 100.0], mode="lines", fill="tonexty",
            fillcolor="rgba(1,2,3,0.2)", line={"width": 1, "color": "#123456"},
        )
    )  # fmt: skip
    (lines,) = _images(_still(figure))
    half = DEEP / 2
    assert f"M0 {half:g}L250 {half:g}M750 {half:g}L1000 {half:g}" in lines
    assert lines.count("fill='rgba(1,2,3,0.2)'") == 2
    assert f"M0 {half:g}L250 {half:g}L250 {DEEP}L0 {DEEP}Z" in lines


def test_a_logarithmic_ruler_is_one() -> None:
    """Arithmetic: 10 lies in the middle of 1 to 100."""
    figure = new_figure(LIGHT, 300, STAMP)
    figure.update_xaxes(
        title_text="chance [%]", type="log", range=[0, 2], tickvals=[1, 10, 100],
        ticktext=["1", "10", "100"],
    )  # fmt: skip
    figure.update_yaxes(title_text="torque [N·m]", range=[0, 200])
    figure.add_trace(scatter(x=[1.0, 10.0], y=[0.0, 200.0], mode="lines", line={"width": 1}))
    still = _still(figure)
    assert f"M0 {DEEP}L500 0" in _images(still)[0]
    assert re.search(r'left:calc\(50% \+ 0px\)[^"]*">10</b>', still)


@pytest.mark.parametrize(
    ("trace", "shape", "note"),
    [
        ({"type": "bar", "x": [1], "y": [1]}, None, None),
        ({"type": "scatter", "x": [1], "y": [1], "fill": "toself"}, None, None),
        (None, {"type": "path", "path": "M0 0", "x0": 0, "x1": 1, "y0": 0, "y1": 1}, None),
        (None, None, {"x": 2000, "y": 1, "text": "t", "xanchor": "left", "yanchor": "top"}),
    ],
)
def test_what_a_still_cannot_show_is_refused(trace: Any, shape: Any, note: Any) -> None:
    """identity: a still never leaves out a part of the picture."""
    figure = _plain()
    if trace:
        figure.add_trace(trace)
    if shape:
        figure.add_shape(**shape)
    if note:
        figure.add_annotation(**note)
    with pytest.raises(ValueError, match="a still cannot"):
        _still(figure)
