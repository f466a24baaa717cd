"""Still pictures against the plot library's own drawing, in a real browser."""

from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route, expect

expect.set_options(timeout=60_000)
pytestmark = [pytest.mark.browser, pytest.mark.slow]

STILL = """() => Object.fromEntries([...document.querySelectorAll('.tr-still')].map(still => {
  const home = still.getBoundingClientRect();
  return [still.getAttribute('aria-label'), [...still.querySelectorAll('b')].flatMap(word => {
    const box = word.getBoundingClientRect();
    return word.innerText.split('\\n').length > 1 ? [] : [[word.textContent.trim(),
      box.x + box.width / 2 - home.x, box.y + box.height / 2 - home.y]];
  })];
}))"""
"""Words of every still and their middles, from the picture's corner."""
LIVE = """() => Object.fromEntries([...document.querySelectorAll('.js-plotly-plot')].map(plot => {
  const home = plot.querySelector('.main-svg').getBoundingClientRect();
  const alt = plot.closest('[class*=st-key-place_]').querySelector('.tr-still');
  return [alt.getAttribute('aria-label'), [...plot.querySelectorAll('svg text')].map(word => {
    const box = word.getBoundingClientRect();
    return [word.textContent.trim(), box.x + box.width / 2 - home.x,
      box.y + box.height / 2 - home.y];
  })];
}))"""
CUT = """() => [...document.querySelectorAll('.js-plotly-plot')].flatMap(plot => {
  const home = plot.getBoundingClientRect();
  return [...plot.querySelectorAll('svg text')].filter(word => {
    const box = word.getBoundingClientRect();
    return box.width && (box.left < home.left - 1 || box.right > home.right + 1);
  }).map(word => word.textContent);
})"""
"""Words that reach beyond their live picture, where they are cut off."""
NEAR = 8.0
"""Words of a still and of the live picture may lie so far apart [px]."""


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


def _opened(browser: Browser, address: str, width: int) -> tuple[Page, _Gate, Any]:
    """The page with the plot library held back, its gate, and the words of the stills."""
    context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme="light")
    tab, gate = context.new_page(), _Gate()
    tab.set_default_timeout(90_000)
    tab.route("**/PlotlyChart*", lambda route: gate.meet(route))
    tab.goto(address)
    tab.wait_for_selector(".tr-foot")
    expect(tab.locator("p.tr-wait")).to_have_count(0)
    return tab, gate, tab.evaluate(STILL)


@pytest.mark.parametrize("width", [1440, 390])
def test_words_do_not_move_when_the_live_picture_comes(
    browser: Browser, server: str, width: int
) -> None:
    """The plot library is the reference: each word of each still lies within 8 px of its own."""
    tab, gate, still = _opened(browser, server, width)
    assert len(still) > 30
    shown = tab.locator(".tr-still:visible").count()
    assert shown == tab.locator(".tr-still").count()
    assert tab.locator("[class*=st-key-place_] [data-testid=stSkeleton]:visible").count() == 0
    gate.open()
    expect(tab.locator(".js-plotly-plot .main-svg").first).to_be_visible()
    expect(tab.locator(".tr-still:visible")).to_have_count(0)
    live = tab.evaluate(LIVE)
    assert live.keys() == still.keys()
    apart = []
    for alt, words in still.items():
        if width < 640 and alt.startswith("Polar"):
            continue  # squeezed there until the live one comes
        for word, x, y in words:
            same = [max(abs(x - a), abs(y - b)) for text, a, b in live[alt] if text == word]
            assert same, (alt, word)
            apart.append((min(same), word, alt[:40]))
    assert tab.evaluate(CUT) == []
    assert len(apart) > 400
    assert max(apart)[0] < NEAR, sorted(apart)[-5:]
    tab.context.close()
