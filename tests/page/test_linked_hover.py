"""Hover linked across the pictures of a view: identities, in a real browser."""

import re

import pytest
from playwright.sync_api import Page

TOLD = """() => Array.from(document.querySelectorAll('.js-plotly-plot')).map(p =>
  Array.from(p.querySelectorAll('.hoverlayer text')).map(t => t.textContent))"""

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def _pointed_at(tab: Page, down: float) -> list[list[str]]:
    """What each picture tells once the pointer rests on the first; down: share of its height."""
    box = tab.locator(".js-plotly-plot").first.bounding_box()
    assert box is not None
    for across in (0.48, 0.5):
        tab.mouse.move(box["x"] + across * box["width"], box["y"] + down * box["height"])
        tab.wait_for_timeout(400)
    told: list[list[str]] = tab.evaluate(TOLD)
    return told


def test_pictures_by_speed_tell_of_the_same_speed(tab: Page, server: str) -> None:
    """identity: three parts, one speed, each its own figures; away from them nothing is told."""
    tab.goto(f"{server}/parts")
    tab.wait_for_selector(".tr-foot")
    tab.wait_for_selector(":nth-match(.js-plotly-plot .main-svg, 7)")
    told = _pointed_at(tab, 0.4)
    assert len(told) == 3
    assert all("of strength" in " ".join(words) for words in told), told
    assert len({words[0] for words in told}) == 1, "one speed"
    assert re.fullmatch(r"\d,\d00 rpm", told[0][0])
    tab.mouse.move(5, 5)
    tab.wait_for_timeout(400)
    assert tab.evaluate(TOLD) == [[], [], []]


def test_torque_and_power_are_told_together(tab: Page, server: str) -> None:
    """identity: both panels of the curve, whichever is pointed at."""
    tab.goto(server)
    tab.wait_for_selector(".st-key-fig_curve .main-svg")
    tab.wait_for_selector(".tr-foot")
    for down in (0.2, 0.72):
        told = " ".join(_pointed_at(tab, down)[0])
        assert "measured, crank" in told, down
        assert "power measured" in told, down
