"""The picture that a visit begins with: identities of what is sent, and what a browser paints."""

import pages
import pytest
from playwright.sync_api import Page
from streamlit.testing.v1 import AppTest

from torquerisk.show.page import draw

UNIT = "N%C2%B7m"
PLACES = """() => {
  const still = document.querySelector('.tr-still'), live = document.querySelector('.main-svg');
  const place = document.querySelector('[class*=st-key-place_]');
  if (!still && !live) return null;
  return [Boolean(live), still ? still.checkVisibility() : false,
          place.getBoundingClientRect().height];
}"""


def _stills(page: AppTest) -> int:
    return pages.markup(page).count('class="tr-still"')


@pytest.mark.slow
@pytest.mark.usefixtures("unproved")
def test_a_visit_begins_with_a_still_of_its_first_picture_alone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """identity: with the live picture, in its units, and not again in another view or later."""
    page = pages.opened("dip")
    assert (_stills(page), len(pages.charts(page))) == (1, 1)
    assert UNIT in pages.markup(page)
    page.segmented_control(key="units").set_value("US").run()
    assert _stills(page) == 1
    assert UNIT not in pages.markup(page)
    pages.to(page, "parts")
    assert (_stills(page), len(pages.charts(page))) == (0, 3)
    pages.to(page, "dip")
    assert (_stills(page), len(pages.charts(page))) == (0, 1)
    later = pages.opened("dip")
    monkeypatch.setattr(draw, "OPENING", 0.0)
    assert (_stills(later.run()), len(pages.charts(later))) == (0, 1)


@pytest.mark.browser
@pytest.mark.slow
def test_the_live_picture_takes_the_stills_place(tab: Page, server: str) -> None:
    """identity: first the still alone, then the live one alone, as high and in the same place."""
    tab.goto(f"{server}/dip")
    seen = []
    while not (seen and seen[-1][0]):
        now = tab.evaluate(PLACES)
        if now is not None:
            seen.append(now)
        tab.wait_for_timeout(20)
    assert [still for _, still, _ in seen] == [not live for live, _, _ in seen]
    assert seen[0][1], "the still comes first"
    assert {height for _, _, height in seen} == {seen[-1][2]}
