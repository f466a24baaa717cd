"""How long the page takes in a real browser: first still, live, slider to redrawn curve.

Run: python -m pytest -q -s tests/bench/bench_page.py
Prints figures, asserts no times: they depend on the machine.
"""

import os
import statistics

import pytest
from playwright.sync_api import Page
from served import headless_browser, page_server

MOVES = 24
CURVE = """() => {
  const plot = document.querySelector('.st-key-fig_curve .js-plotly-plot');
  const trace = plot && plot._fullData && plot._fullData.find(t => t.name === 'limit');
  return trace ? JSON.stringify(Array.from(trace.y)) : null;
}"""
MARKS = """
window.marks = {};
const mark = (name, there) => {
  if (there && !(name in window.marks)) window.marks[name] = performance.now();
};
new MutationObserver(() => {
  mark('answer in words', document.querySelector('.tr-short'));
  mark('first picture', document.querySelector('.tr-still'));
  mark('live picture', document.querySelector('.main-svg'));
}).observe(document, {childList: true, subtree: true});
"""
WATCH = f"""(old) => new Promise(done => {{
  const start = performance.now();
  const look = () => {{
    const now = ({CURVE})();
    if (now && now !== old) done(performance.now() - start);
    else if (performance.now() - start > 3000) done(-1);
    else requestAnimationFrame(look);
  }};
  look();
}})"""


@pytest.mark.browser
def test_page_times() -> None:
    """Prints milliseconds; the target is a redraw within 400 ms at the median on two cores."""
    with page_server() as address, headless_browser() as browser:
        print(f"\nload average {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
        for what in ("first visit, nothing cached", "second visit, results at hand"):
            page = browser.new_page(viewport={"width": 1440, "height": 900})
            page.add_init_script(MARKS)
            page.goto(address)
            while not (marks := page.evaluate("window.marks")).get("live picture"):
                page.wait_for_timeout(100)
            shown = ", ".join(f"{name} {at:.0f} ms" for name, at in marks.items())
            print(f"{what}: {shown} (from the page's own clock)")
            page.wait_for_timeout(4000)
        _report("slider moved every 2.5 s (proof still running)", _moves(page, "rise", 2500))
        page.wait_for_selector(".st-key-save_csv button:enabled", timeout=120_000)
        _report("slider moved every 0.3 s", _moves(page, "rise", 300))


def _moves(page: Page, key: str, pause: int) -> list[float]:
    """Milliseconds from a key press on a slider to the redrawn curve."""
    thumb = page.locator(f".st-key-{key} input[type=range]").first
    thumb.focus()
    taken = []
    for move in range(MOVES):
        before = page.evaluate(CURVE)
        page.keyboard.press("ArrowLeft" if move < MOVES // 2 else "ArrowRight")
        took = page.evaluate(WATCH, before)
        if took >= 0:
            taken.append(float(took))
        page.wait_for_timeout(pause)
    return taken


def _report(what: str, taken: list[float]) -> None:
    order = sorted(taken)
    if not order:
        print(f"{what}: the curve never changed")
        return
    print(
        f"{what}: median {statistics.median(order):.0f} ms, 90 % within "
        f"{order[int(0.9 * (len(order) - 1))]:.0f} ms, {len(order)} of {MOVES} moves changed it"
    )
