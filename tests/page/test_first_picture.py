"""The first picture of a visit: a still at once, then the live one in its place, nothing moved."""

import pytest
from playwright.sync_api import Browser, Page, Route, expect

expect.set_options(timeout=60_000)
pytestmark = [pytest.mark.browser, pytest.mark.slow]

PLACES = """() => [...document.querySelectorAll('[class*=st-key-place_]')].map(place => {
  const box = place.getBoundingClientRect();
  return [Math.round(box.top + scrollY), Math.round(box.height)];
})"""
"""Top and height of every picture's place."""
CUT = """() => [...document.querySelectorAll('.js-plotly-plot')].flatMap(plot => {
  const home = plot.getBoundingClientRect();
  return [...plot.querySelectorAll('svg text')].filter(word => {
    const box = word.getBoundingClientRect();
    return box.width && (box.left < home.left - 1 || box.right > home.right + 1);
  }).map(word => word.textContent);
})"""
"""Words that reach beyond their live picture, where they are cut off."""


class _Gate:
    """Holds requests back until it is opened."""

    def __init__(self) -> None:
        self._held: list[Route] | None = []

    def meet(self, route: Route) -> None:
        """Hold a request, or let it through."""
        if self._held is None:
            route.continue_()
        else:
            self._held.append(route)

    def open(self) -> None:
        """Let all through, from now on too."""
        held, self._held = self._held or [], None
        for route in held:
            route.continue_()


def _opened(browser: Browser, address: str, width: int) -> tuple[Page, _Gate]:
    """The page with the plot library held back, and its gate."""
    context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme="light")
    tab, gate = context.new_page(), _Gate()
    tab.set_default_timeout(90_000)
    tab.route("**/PlotlyChart*", lambda route: gate.meet(route))
    tab.goto(address)
    tab.wait_for_selector(".tr-foot")
    expect(tab.locator("p.tr-wait")).to_have_count(0)
    return tab, gate


@pytest.mark.parametrize("width", [1440, 390])
def test_nothing_moves_when_live_pictures_come(browser: Browser, server: str, width: int) -> None:
    """identity: every place is as high before as after, and no word of a live picture is cut."""
    tab, gate = _opened(browser, server, width)
    first = tab.locator(".tr-still img")
    expect(first).to_have_count(1)
    expect(first).to_be_visible()
    assert tab.evaluate("document.querySelector('.tr-still img').naturalWidth") > 0
    drawn = tab.context.new_page()
    drawn.goto(str(first.get_attribute("src")))
    ends = drawn.evaluate("[innerWidth, document.querySelector('.frame').width.baseVal.value]")
    assert ends[0] - ends[1] == 54 + 14, "the frame leaves room for both margins"
    drawn.close()
    before = tab.evaluate(PLACES)
    assert len(before) > 30
    gate.open()
    expect(tab.locator(".js-plotly-plot .main-svg").first).to_be_visible()
    expect(tab.locator(".tr-still:visible")).to_have_count(0)
    after = tab.evaluate(PLACES)
    assert [abs(a[1] - b[1]) <= 1 for a, b in zip(before, after, strict=True)].count(False) == 0
    assert max(abs(a[0] - b[0]) for a, b in zip(before, after, strict=True)) <= 2
    assert tab.evaluate(CUT) == []
    tab.context.close()
