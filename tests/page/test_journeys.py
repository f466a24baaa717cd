"""The page in a real browser: three journeys, links, files, phone, themes, keyboard."""

import re
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from torquerisk.files.run_file import read_limit_table
from torquerisk.show.page.views import VIEWS
from torquerisk.show.pictures.style import DARK

pytestmark = [pytest.mark.browser, pytest.mark.slow]

expect.set_options(timeout=150_000)

LIMIT_OF_CURVE = """() => {
  const plot = document.querySelector('.st-key-fig_curve .js-plotly-plot');
  if (!plot || !plot._fullData) return null;
  const trace = plot._fullData.find(t => t.name === 'limit');
  return trace ? Array.from(trace.y) : null;
}"""
PATHS = ["", *(v.path for v in VIEWS[1:])]


def _open(tab: Page, address: str, link: str = "") -> None:
    tab.goto(f"{address}/{link}")
    tab.wait_for_selector("h2.tr-q")
    if "case" not in link.partition("?")[0]:
        tab.wait_for_selector(".tr-foot")


def _limit(tab: Page) -> list[float]:
    tab.wait_for_selector(".st-key-fig_curve .js-plotly-plot .main-svg")
    return list(tab.evaluate(LIMIT_OF_CURVE))


def _until_limit_differs(tab: Page, before: list[float]) -> list[float]:
    tab.wait_for_function(
        f"(old) => {{ const now = ({LIMIT_OF_CURVE})(); "
        "return now && JSON.stringify(now) !== JSON.stringify(old); }",
        arg=before,
    )
    return _limit(tab)


def _thumb(tab: Page, key: str) -> Any:
    return tab.locator(f".st-key-{key} input[type=range]").first


def test_tuner_moves_a_slider_and_takes_the_table_home(tab: Page, server: str) -> None:
    """Journey: one sentence, accept more, see the limit rise, save the CSV, read it back."""
    asked: list[str] = []
    wrong: list[str] = []
    tab.on("request", lambda request: asked.append(request.url))
    tab.on("pageerror", lambda error: wrong.append(str(error)))
    _open(tab, server)
    expect(tab.locator(".tr-short").last).to_contain_text("estimated to hold")
    before = _limit(tab)
    _thumb(tab, "chance").focus()
    tab.keyboard.press("ArrowRight")
    after = _until_limit_differs(tab, before)
    assert sum(after) > sum(before)
    assert tab.evaluate("document.activeElement.type") == "range"
    assert "chance=2" in tab.url
    expect(tab.locator(".st-key-save_csv button")).to_be_enabled()
    assert tab.evaluate("document.activeElement.type") == "range", "the proof takes no focus"
    with tab.expect_download() as caught:
        tab.locator(".st-key-save_csv button").click()
    _, torque = read_limit_table(Path(caught.value.path()).read_bytes())
    assert torque.tolist() == _limit(tab)
    told = tab.evaluate(
        "() => Array.from(document.querySelectorAll('.js-plotly-plot')).map(p => "
        "[p._context.showSendToCloud, p._context.plotlyServerURL, p._context.displaylogo])"
    )
    assert {tuple(t) for t in told} == {(False, "", False)}
    assert [u for u in asked if not u.startswith((server, "data:", "blob:"))] == []
    assert wrong == []


def test_builder_asks_for_a_torque_and_prints_the_sheet(
    tab: Page, server: str, tmp_path: Path
) -> None:
    """Journey: from the limit to the studs; less to hold needs less clamp; one sheet of paper."""
    _open(tab, server)
    tab.get_by_role("link", name="Which studs would hold it?").click()
    tab.wait_for_url("**/studs*")
    box = tab.locator(".st-key-hold input")
    told = tab.locator(".tr-short")
    expect(told).to_contain_text("As it stands")
    box.fill("240")
    box.press("Enter")
    expect(told).to_contain_text("240 N·m")
    expect(tab.locator("[class*=st-key-card_]").first).to_be_visible()
    with tab.expect_download() as caught:
        tab.get_by_role("button", name="Bench sheet, to print").click()
    file = tmp_path / "sheet.html"
    file.write_bytes(Path(caught.value.path()).read_bytes())
    sheet = tab.context.new_page()
    sheet.goto(file.as_uri())
    for paper in ("A4", "Letter"):
        printed = sheet.pdf(format=paper)
        assert len(re.findall(rb"/Type\s*/Page\b(?!s)", printed)) == 1, paper


def test_the_fastening_looked_at_stays_in_other_units(tab: Page, server: str) -> None:
    """Journey: what was chosen is still chosen, and its list speaks the unit of the page."""
    _open(tab, server, "studs")
    tab.get_by_role("button", name="Look at it").last.click()
    box = tab.get_by_role("combobox", name="Looked at").first
    expect(box).to_have_value(re.compile(r"^M.*N·m"))
    chosen = box.input_value()
    tab.get_by_role("radio", name="US").click()
    expect(box).to_have_value(re.compile(r"lb·ft"))
    assert box.input_value().split(", ")[0] == chosen.split(", ")[0]
    box.click()
    box.fill("now:")  # a long list shows those near what is chosen
    tab.get_by_role("option").first.click()
    expect(box).to_have_value(re.compile(r"^now: .*lb·ft"))
    tab.get_by_role("radio", name="SI").click()
    expect(box).to_have_value(re.compile(r"^now: .*N·m"))


def test_owner_reads_the_dip_and_goes_back_a_view(tab: Page, server: str) -> None:
    """Journey: three sentences, the picture, what to ask; back is the view before, as asked."""
    _open(tab, server, "?case=hill_climb")
    tab.get_by_role("link", name="Why is there a dip?").click()
    tab.wait_for_url("**/dip*")
    assert "case=hill_climb" in tab.url, "the case goes along"
    expect(tab.locator(".tr-short")).to_contain_text("N·m are missing")
    expect(tab.get_by_text("What to ask the tuner")).to_be_visible()
    tab.wait_for_selector(".st-key-fig_dips .main-svg")
    tab.get_by_text("The dip in full").click()
    tab.wait_for_selector(".st-key-fig_dots_1 .main-svg")
    tab.reload()
    expect(tab.locator("h2.tr-q").first).to_have_text("Why is there a dip?")
    tab.go_back()
    expect(tab.locator("h2.tr-q").first).to_have_text("What limit would hold?")
    _open(tab, server, "?case=hill_climb&chance=2")
    tab.get_by_role("link", name="Why is there a dip?").click()
    tab.wait_for_url("**/dip*")
    tab.wait_for_selector(".st-key-fig_dips .main-svg")
    told = tab.locator(".tr-short").inner_text()
    tab.reload()
    tab.wait_for_selector(".st-key-fig_dips .main-svg")
    assert "chance=2" in tab.url, "a reload keeps what was asked in another view"
    assert tab.locator(".tr-short").inner_text() == told
    tab.go_back()
    tab.wait_for_url("**chance=2*")
    expect(tab.locator("h2.tr-q").first).to_have_text("What limit would hold?")
    expect(_thumb(tab, "chance")).to_have_attribute("aria-valuetext", "2")
    _open(tab, server, "limit?case=hill_climb")
    expect(tab.locator("h2.tr-q").first).to_have_text("What limit would hold?")
    expect(tab.get_by_text("Page not found")).to_have_count(0)


def test_a_changed_input_is_kept_by_the_link_and_by_nothing_else(tab: Page, server: str) -> None:
    """identity: reload keeps it, a second window opens it, the case it came from is untouched."""
    _open(tab, server, "inputs")
    tab.get_by_text("Engine: ignition spark").click()
    tab.locator("input[aria-label^='Compression ratio']").fill("9.8")
    tab.get_by_role("button", name="Work it out").click()
    expect(tab.locator(".tr-read")).to_contain_text("Changed on this page: compression ratio")
    assert re.search(r"case=[0-9a-f]{16}", tab.url)
    tab.reload()
    expect(tab.locator(".tr-read")).to_contain_text("Changed on this page: compression ratio")
    other = tab.context.new_page()
    other.goto(f"{server}/inputs")
    expect(other.locator(".tr-read")).not_to_contain_text("Changed on this page")
    tab.get_by_role("button", name="Undo").click()
    expect(tab.locator(".tr-read")).not_to_contain_text("Changed on this page")


def test_a_wrong_file_leaves_the_page_standing(tab: Page, server: str) -> None:
    """identity: nonsense leaves one sentence; then an example opens with nothing of another's."""
    _open(tab, server, "?peak_from=4000")
    tab.locator(".st-key-case_line a").click()
    tab.wait_for_url("**/case*")
    tab.locator(".st-key-files input[type=file]").set_input_files(
        {"name": "shopping.csv", "mimeType": "text/csv", "buffer": b"milk,eggs\n2,12\n"}
    )
    expect(tab.locator(".tr-said")).to_contain_text("shopping.csv")
    tab.get_by_role("button", name="Example: tow diesel").click()
    expect(tab.locator(".st-key-case_line")).to_contain_text("diesel")
    tab.wait_for_selector(".tr-foot")
    assert _thumb(tab, "peak_from").input_value() != "4000", "what was asked of another case"
    assert "peak_from=4000" not in tab.url
    expect(tab.locator(".tr-said")).to_have_count(0)


@pytest.mark.parametrize("path", PATHS)
def test_a_phone_shows_it_without_scrolling_sideways(
    browser: Browser, server: str, path: str
) -> None:
    """WCAG 2.2, 1.4.10 (reflow), in the dark theme; axe-core rules (level A and AA) at 390 px."""
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, color_scheme="dark", has_touch=True, is_mobile=True
    )
    tab = context.new_page()
    tab.set_default_timeout(150_000)
    try:
        _open(tab, server, path)
        if path in ("", "dip"):
            picture = tab.locator(".js-plotly-plot").first
            expect(picture).to_be_visible()
            box = picture.bounding_box()
            assert box is not None
            assert box["y"] < 500, "the answer and its picture begin on the first screen"
            ink = tab.evaluate(
                "document.querySelector('.js-plotly-plot')._fullLayout.font.color.toLowerCase()"
            )
            assert ink == DARK.ink.lower()
        if path == "studs":
            card = tab.locator("[class*=st-key-card_]").first
            expect(card).to_be_visible()
            there = card.bounding_box()
            assert there is not None
            assert there["y"] + there["height"] < 844, "which studs stands on the first screen"
        wide = tab.evaluate(
            "() => { const m = document.querySelector('[data-testid=stMain]');"
            " return [document.documentElement.scrollWidth, m.scrollWidth]; }"
        )
        assert max(wide) <= 390
        scrolls = tab.locator("[class*=st-key-place_] > *").evaluate_all(
            "all => all.map(e => getComputedStyle(e).overflowX)"
        )
        assert set(scrolls) <= {"hidden"}, "a picture that is being sized never scrolls by itself"
        assert _serious(tab) == []
    finally:
        context.close()


@pytest.mark.parametrize(
    ("path", "beside"),
    [("", ".st-key-chance"), ("studs", ".st-key-hold"), ("dip", ".tr-list"), ("cylinder", None)],
)
def test_a_wide_screen_is_used(tab: Page, server: str, path: str, beside: str | None) -> None:
    """The page's own measure: at 1,440 px a picture has beside it what belongs to it."""
    _open(tab, server, path)
    pictures = tab.locator("[class*=st-key-place_]")
    other = tab.locator(beside).last if beside else pictures.nth(2)
    expect(other).to_be_visible()
    picture = pictures.nth(0 if beside else 1)
    expect(picture).to_be_visible()
    left, right = picture.bounding_box(), other.bounding_box()
    assert left is not None
    assert right is not None
    assert left["x"] + left["width"] <= right["x"]
    assert right["y"] < left["y"] + left["height"]
    block = tab.locator(".tr-foot").bounding_box()
    assert block is not None
    assert block["width"] > 0.85 * 1440


def _serious(tab: Page) -> list[tuple[str, str, str]]:
    """Serious findings of axe-core: rule, place and why."""
    return [
        (found["id"], node["html"][:160], node["failureSummary"])
        for found in Axe().run(tab).response["violations"]
        if found["impact"] in ("serious", "critical")
        for node in found["nodes"]
    ]


def test_keyboard_header_and_notice(tab: Page, server: str) -> None:
    """WCAG 2.2, 2.1.1 and 2.4.7: the first slider within 10 tabs; header and notice stay."""
    _open(tab, server)
    expect(tab.locator(".st-key-save_csv button")).to_be_enabled()
    kinds = []
    for _ in range(10):
        tab.keyboard.press("Tab")
        kinds.append(
            tab.evaluate(
                "[document.activeElement.type, document.activeElement.outerHTML.slice(0, 80)]"
            )
        )
    assert "range" in [kind for kind, _ in kinds], kinds
    assert _serious(tab) == []
    for place in ("0", "e.scrollHeight"):
        tab.evaluate(
            "() => { const e = document.querySelector('[data-testid=stMain]');"
            f" e.scrollTop = {place}; }}"
        )
        for part in (".tr-notice", ".st-key-views"):
            seen = tab.evaluate(
                "(part) => { const n = document.querySelector(part), b = n.getBoundingClientRect();"
                " const at = document.elementFromPoint(b.left + 20, b.top + b.height / 2);"
                " return n.contains(at) && b.bottom <= innerHeight + 1; }",
                part,
            )
            assert seen, (part, place)


def test_the_switch_of_units_converts_what_is_asked(tab: Page, server: str) -> None:
    """Journey: 85 N·m per 1,000 rpm stays that; there and back again the limit is the same."""
    read = """() => document.querySelector('.st-key-fig_curve .js-plotly-plot')
      ._fullLayout.yaxis.title.text"""
    wait = f"(wanted) => ({read})() === wanted"
    _open(tab, server)
    before = _limit(tab)
    tab.get_by_role("radio", name="US").click()
    tab.wait_for_function(wait, arg="crank torque [lb·ft]")
    assert "units=US" in tab.url
    assert _limit(tab)[0] == pytest.approx(before[0] / 1.3558179483, abs=0.051)
    tab.get_by_role("radio", name="SI").click()
    tab.wait_for_function(wait, arg="crank torque [N·m]")
    assert _limit(tab) == before
    assert "units=" not in tab.url
