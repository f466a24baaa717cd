"""The one style of all pictures: contrast, chance bands, what is sent out, escaping, labels."""

import itertools

import numpy as np
import pytest

from torquerisk.show.pictures.placing import apart, spans
from torquerisk.show.pictures.style import (
    CONFIG,
    DARK,
    LIGHT,
    NONE,
    READING,
    ROW,
    STATE_SYMBOL,
    UNKNOWN,
    Look,
    plain,
)
from torquerisk.study.assessment.result import State

LOOKS = pytest.mark.parametrize("look", [LIGHT, DARK], ids=["light", "dark"])


def luminance(colour: str) -> float:
    """Relative luminance of a #rrggbb colour. Source: WCAG 2.2, relative luminance."""
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21. Source: WCAG 2.2, contrast ratio."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_of_black_and_white_is_21() -> None:
    """WCAG 2.2, definition of contrast ratio: black on white 21:1, a colour on itself 1:1."""
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0, abs=1e-9)
    assert contrast("#777777", "#777777") == pytest.approx(1.0)
    assert round(contrast("#767676", "#FFFFFF"), 2) == 4.54


@LOOKS
def test_text_has_contrast_for_reading(look: Look) -> None:
    """WCAG 2.2, 1.4.3: text at least 4.5:1; labels on lines take the line's own colour."""
    assert contrast(look.ink, look.paper) >= 7
    assert contrast(look.soft, look.paper) >= 4.5
    for colour in (look.measured, look.limit, look.estimate, look.capacity):
        assert contrast(colour, look.paper) >= 4.5


@LOOKS
def test_marks_have_contrast_for_seeing(look: Look) -> None:
    """WCAG 2.2, 1.4.11: graphical objects at least 3:1."""
    for colour in (look.holds, look.close, look.exceeds, look.unknown):
        assert contrast(colour, look.paper) >= 3


def test_every_sign_has_one_meaning() -> None:
    """WCAG 2.2, 1.4.1: colour is never the only sign; what is not assessed is the less known."""
    assert len(set(STATE_SYMBOL.values())) == len(State)
    assert not {READING, ROW, NONE} & set(STATE_SYMBOL.values())
    assert STATE_SYMBOL[State.NOT_ASSESSED] == UNKNOWN


@LOOKS
def test_no_state_is_green_red_or_amber(look: Look) -> None:
    """identity: no false all-clear: no colour is mostly green, none is a traffic light's red."""
    for colour in (look.holds, look.close, look.exceeds):
        red, green, blue = (int(colour[k : k + 2], 16) for k in (1, 3, 5))
        assert not (green > 1.15 * red and green > 1.15 * blue)
        assert not (red > 200 and green < 60 and blue < 60)


def _lightness(colour: str) -> float:
    """CIE 1976 L* of a #rrggbb colour (CIE 15:2004, 8.2.1)."""
    y = luminance(colour)
    return 116 * np.cbrt(y) - 16 if y > (6 / 29) ** 3 else y * (29 / 3) ** 3


@LOOKS
def test_chance_bands_step_one_way_in_lightness(look: Look) -> None:
    """identity: read in grey or by any eye, more chance is further from the paper, step by step."""
    steps = np.diff([_lightness(c) for c in look.chance])
    assert (np.sign(steps) == np.sign(steps[0])).all()
    assert np.abs(steps).min() >= 6


@LOOKS
def test_states_keep_apart_for_three_kinds_of_colour_blindness(look: Look) -> None:
    """Vienot, Brettel and Mollon 1999 (protan, deutan matrices, from memory): states stay apart."""
    protan = np.array([[0.11238, 0.88762, 0], [0.11238, 0.88762, 0], [0.00401, -0.00401, 1]])
    deutan = np.array([[0.29275, 0.70725, 0], [0.29275, 0.70725, 0], [-0.02234, 0.02234, 1]])
    for matrix in (np.eye(3), protan, deutan):
        seen = [matrix @ _linear(c) for c in (look.holds, look.close, look.exceeds)]
        for one, other in itertools.combinations(seen, 2):
            assert np.linalg.norm(np.cbrt(np.abs(one)) - np.cbrt(np.abs(other))) > 0.15


def _linear(colour: str) -> np.ndarray:
    parts = np.array([int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)])
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def test_nothing_is_sent_anywhere() -> None:
    """identity: no share button, no server, no logo, in the one place that all pictures use."""
    assert CONFIG["showSendToCloud"] is False
    assert CONFIG["plotlyServerURL"] == ""
    assert CONFIG["displaylogo"] is False


@pytest.mark.parametrize(
    ("foreign", "shown"),
    [
        ("<b>x</b>", "&lt;b&gt;x&lt;/b&gt;"),
        ("a & b", "a &amp; b"),
        ("%{y}", "% {y}"),
        ("two\nlines\t here", "two lines here"),
        ("$x^2$", "＄x^2＄"),
    ],
)
def test_foreign_text_meets_no_markup(foreign: str, shown: str) -> None:
    """identity: plotly reads tags, templates and dollars; none of a stranger's get through."""
    assert plain(foreign) == shown


def test_labels_are_moved_apart_and_keep_their_order() -> None:
    """identity: at least the distance asked for, order kept, places that fit left alone."""
    placed = apart([1.0, 1.1, 5.0, 1.05], 1.0)
    order = np.argsort([1.0, 1.1, 5.0, 1.05])
    assert (np.diff(np.array(placed)[order]) >= 1.0 - 1e-6).all()
    assert apart([0.0, 2.0, 4.0], 1.0) == [0.0, 2.0, 4.0]


def test_spans_are_stretches_of_equal_names() -> None:
    """identity."""
    assert spans(["a", "a", "b", "a"]) == [("a", 0, 1), ("b", 2, 2), ("a", 3, 3)]
    assert spans([]) == []
