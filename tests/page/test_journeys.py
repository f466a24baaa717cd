"""The page in a real browser: three journeys, files in and out, phone, themes, keyboard."""

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from torquerisk.case import CAUTIONS
from torquerisk.files.run_file import read_limit_table, run_from_bytes
from torquerisk.show.pictures.style import DARK, LIGHT

pytestmark = [pytest.mark.browser, pytest.mark.slow]

expect.set_options(timeout=60_000)

ROOT = Path(__file__).resolve().parents[2]
HILL = ROOT / "sample_runs" / "hill_climb"
LIMIT_OF_CURVE = """() => {
  const plot = document.querySelector('.st-key-fig_curve .js-plotly-plot');
  if (!plot || !plot._fullData) return null;
  const trace = plot._fullData.find(t => t.name === 'limit');
  return trace ? Array.from(trace.y) : null;
}"""


def _open(tab: Page, address: str, link: str = "") -> None:
    tab.goto(f"{address}/{link}")
    tab.wait_for_selector(".js-plotly-plot .main-svg")


def _finished(tab: Page) -> None:
    """Until nothing on the page is waiting any more."""
    tab.wait_for_selector("[data-testid=stDownloadButton] >> text=Save table as CSV")
    expect(tab.locator("p.tr-wait")).to_have_count(0)


def _limit(tab: Page) -> list[float]:
    values = tab.evaluate(LIMIT_OF_CURVE)
    assert values is not None
    return list(values)


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
    """Journey: open, accept more, see the limit rise, save the CSV, read its bytes back."""
    _open(tab, server)
    _finished(tab)
    before = _limit(tab)
    _thumb(tab, "chance").focus()
    tab.keyboard.press("ArrowRight")
    after = _until_limit_differs(tab, before)
    assert sum(after) > sum(before)
    assert "chance=2" in tab.url
    _finished(tab)
    shown = _limit(tab)
    with tab.expect_download() as caught:
        tab.get_by_role("button", name="Save table as CSV").click()
    saved = Path(caught.value.path()).read_bytes()
    speed, torque = read_limit_table(saved)
    assert torque.tolist() == shown
    assert len(speed) == 16
    text = saved.decode()
    assert "accepted chance 0.02" in text
    assert CAUTIONS[3] in text
    assert text.count("\r\n") == len(text.splitlines())
    run_from_bytes(saved, "limit.csv")
    with tab.expect_download() as caught:
        tab.get_by_role("button", name="Save table as JSON").click()
    document = json.loads(Path(caught.value.path()).read_text())
    assert [row["torque_limit_n_m"] for row in document["table"]] == shown


def test_report_and_case_can_be_saved(tab: Page, server: str) -> None:
    """Journey: the report is one file of HTML, the case one file that opens again as it was."""
    _open(tab, server)
    _finished(tab)
    with tab.expect_download() as caught:
        tab.get_by_role("button", name="Save the report").click()
    report = Path(caught.value.path()).read_text()
    assert report.lstrip().lower().startswith("<!doctype html")
    assert "Invented hill-climb four" in report
    with tab.expect_download() as caught:
        tab.get_by_role("button", name="Save this case").click()
    case = Path(caught.value.path())
    assert case.read_bytes()[:2] == b"PK"
    before = _limit(tab)
    tab.get_by_text("Files of your own").click()
    tab.locator("[data-testid=stFileUploaderDropzoneInput]").first.set_input_files(
        {"name": "case.zip", "mimeType": "application/zip", "buffer": case.read_bytes()}
    )
    expect(tab.locator(".tr-read")).to_contain_text("known to survive known_good.csv")
    _finished(tab)
    assert _limit(tab) == before


def test_own_run_is_read_and_a_bad_one_leaves_one_sentence(tab: Page, server: str) -> None:
    """Journey: send in a run, see it read; send in nonsense, see one sentence and no chart."""
    _open(tab, server)
    tab.get_by_text("Files of your own").click()
    sender = tab.locator("[data-testid=stFileUploaderDropzoneInput]").nth(1)
    text = (HILL / "run.csv").read_text(encoding="utf-8")
    sender.set_input_files(
        {"name": "second pull.csv", "mimeType": "text/csv", "buffer": text.encode()}
    )
    expect(tab.locator(".tr-read")).to_contain_text("Run second pull.csv: 48 rows")
    tab.locator("[data-testid=stFileChipDeleteBtn] button").first.click()
    expect(tab.locator(".tr-read")).to_contain_text("Run run.csv")
    sender.set_input_files(
        {"name": "shopping.csv", "mimeType": "text/csv", "buffer": b"milk,eggs\n2,12\n"}
    )
    expect(tab.locator(".tr-said")).to_have_count(1)
    expect(tab.locator(".tr-said")).to_contain_text("shopping.csv")
    expect(tab.locator(".js-plotly-plot")).to_have_count(0)


def test_builder_sees_studs_first_and_tries_another_torque(tab: Page, server: str) -> None:
    """Journey: the bench comes first; less torque to hold needs less clamp."""
    _open(tab, server)
    tab.get_by_role("radio", name="Which studs would hold it?").click()
    expect(tab.locator("h2.tr-q").nth(1)).to_have_text("Which studs would hold it?")
    expect(tab.locator(".tr-sheet")).to_be_visible()
    assert "start=builder" in tab.url
    needed = tab.locator(".tr-sheet").inner_text()
    _thumb(tab, "hold").focus()
    for _ in range(6):
        tab.keyboard.press("ArrowLeft")
    tab.wait_for_function(
        "(old) => { const s = document.querySelector('.tr-sheet');"
        " return s && s.innerText !== old; }",
        arg=needed,
    )
    expect(tab.locator(".st-key-fig_joint .js-plotly-plot")).to_be_visible()
    expect(tab.locator(".tr-sheet ol li").nth(2)).to_be_visible()


def test_owner_sees_the_dip_first(tab: Page, server: str) -> None:
    """Journey: the dip, one paragraph, twenty dots in each of four cells, and the words used."""
    _open(tab, server, "?start=owner")
    expect(tab.locator("h2.tr-q").nth(1)).to_have_text("Why is there a dip?")
    dots = tab.evaluate(
        "() => document.querySelector('.st-key-fig_dots_1 .js-plotly-plot')._fullData"
        ".reduce((n, t) => n + t.x.length, 0)"
    )
    assert dots == 80
    tab.get_by_text("Words used here").click()
    expect(tab.locator("dl.tr-words dt").first).to_be_visible()


def test_nothing_is_asked_of_any_other_machine(tab: Page, server: str) -> None:
    """identity: every request of a whole visit goes to the page's own server."""
    asked: list[str] = []
    wrong: list[str] = []
    tab.on("request", lambda request: asked.append(request.url))
    tab.on("console", lambda m: wrong.append(m.text) if m.type == "error" else None)
    tab.on("pageerror", lambda error: wrong.append(str(error)))
    _open(tab, server)
    _finished(tab)
    elsewhere = [u for u in asked if not u.startswith((server, "data:", "blob:"))]
    assert elsewhere == []
    assert wrong == []


def test_pictures_offer_no_upload_and_no_logo(tab: Page, server: str) -> None:
    """identity: what plotly was told reaches every picture."""
    _open(tab, server)
    _finished(tab)
    told = tab.evaluate(
        "() => Array.from(document.querySelectorAll('.js-plotly-plot')).map(p => "
        "[p._context.showSendToCloud, p._context.plotlyServerURL, p._context.displaylogo])"
    )
    assert len(told) >= 20
    assert {tuple(t) for t in told} == {(False, "", False)}


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("start", ["tuner", "builder", "owner"])
def test_phone_never_scrolls_sideways(
    browser: Browser, server: str, scheme: Any, start: str
) -> None:
    """WCAG 2.2, 1.4.10 (reflow): 390 px wide, only tables scroll, inside themselves."""
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, color_scheme=scheme, has_touch=True, is_mobile=True
    )
    tab = context.new_page()
    tab.set_default_timeout(90_000)
    try:
        _open(tab, server, f"?start={start}")
        _finished(tab)
        wide = tab.evaluate(
            "() => { const m = document.querySelector('[data-testid=stMain]');"
            " return [document.documentElement.scrollWidth, m.scrollWidth]; }"
        )
        assert max(wide) <= 390
        over = tab.evaluate(
            "() => Array.from(document.querySelectorAll("
            "'[data-testid=stMain] p, [data-testid=stMain] h2, .js-plotly-plot, label'))"
            ".filter(e => e.offsetParent && !e.closest('.tr-scroll'))"
            ".filter(e => e.getBoundingClientRect().right > 391).map(e => e.outerHTML.slice(0, 80))"
        )
        assert over == []
    finally:
        context.close()


@pytest.mark.parametrize(("scheme", "look"), [("light", LIGHT), ("dark", DARK)])
def test_pictures_wear_the_readers_theme(
    browser: Browser, server: str, scheme: Any, look: Any
) -> None:
    """identity: page and pictures take their colours from the same theme."""
    context = browser.new_context(viewport={"width": 1440, "height": 900}, color_scheme=scheme)
    tab = context.new_page()
    tab.set_default_timeout(90_000)
    try:
        _open(tab, server)
        colour = tab.evaluate(
            "() => document.querySelector('.st-key-fig_curve .js-plotly-plot')"
            "._fullLayout.font.color"
        )
        assert colour.lower() == look.ink.lower()
        paper = tab.evaluate(
            "() => getComputedStyle(document.querySelector('[data-testid=stApp]')).backgroundColor"
        )
        numbers = [int(look.paper[k : k + 2], 16) for k in (1, 3, 5)]
        assert [int(n) for n in re.findall(r"\d+", paper)[:3]] == numbers
    finally:
        context.close()


def test_keyboard_reaches_entrances_sliders_and_tables(tab: Page, server: str) -> None:
    """WCAG 2.2, 2.1.1 and 2.4.7: everything is reached by Tab, and the focus can be seen."""
    _open(tab, server)
    _finished(tab)
    reached: set[str] = set()
    for _ in range(160):
        tab.keyboard.press("Tab")
        reached.add(
            tab.evaluate(
                "() => { const e = document.activeElement; "
                "return e.getAttribute('role') || e.type || e.tagName; }"
            )
        )
    assert "range" in reached
    assert "radio" in reached
    assert "region" in reached
    table = tab.locator(".tr-scroll").first
    table.focus()
    tab.keyboard.press("Tab")
    tab.keyboard.press("Shift+Tab")
    assert table.evaluate("e => getComputedStyle(e).outlineStyle") != "none"


def test_notice_stays_in_view(tab: Page, server: str) -> None:
    """identity: at the top and at the end of the page the notice is on the screen, uncovered."""
    _open(tab, server)
    _finished(tab)
    for place in ("0", "e.scrollHeight"):
        tab.evaluate(
            "() => { const e = document.querySelector('[data-testid=stMain]');"
            f" e.scrollTop = {place}; }}"
        )
        seen = tab.evaluate(
            "() => { const n = document.querySelector('.tr-notice'), b = n.getBoundingClientRect();"
            " const at = document.elementFromPoint(b.left + 20, b.top + b.height / 2);"
            " return [n.contains(at), b.bottom <= innerHeight + 1, b.left]; }"
        )
        assert seen == [True, True, 0]


def test_a_changed_input_shows_no_stale_picture(tab: Page, server: str) -> None:
    """identity: after a new input is sent, the old curve goes before the new one comes."""
    _open(tab, server)
    _finished(tab)
    before = _limit(tab)
    field = tab.locator("[data-testid=stSidebar] input[aria-label^='Compression ratio']")
    field.fill("11.2")
    tab.get_by_role("button", name="Work it out").click()
    expect(tab.locator(".tr-read")).to_contain_text("Changed on this page: compression ratio")
    tab.wait_for_selector(".st-key-fig_curve .js-plotly-plot .main-svg")
    assert _until_limit_differs(tab, before) != before
    tab.get_by_role("button", name="Undo 1 change").click()
    expect(tab.locator(".tr-read")).not_to_contain_text("Changed on this page")
    tab.wait_for_function(
        f"(old) => JSON.stringify(({LIMIT_OF_CURVE})()) === JSON.stringify(old)", arg=before
    )


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_serious_accessibility_finding(browser: Browser, server: str, scheme: str) -> None:
    """axe-core rules (WCAG 2, level A and AA): the finished page breaks none seriously."""
    context = browser.new_context(viewport={"width": 1440, "height": 900}, color_scheme=scheme)
    page = context.new_page()
    page.set_default_timeout(90_000)
    _open(page, server)
    _finished(page)
    found = Axe().run(page).response["violations"]
    context.close()
    assert [f["id"] for f in found if f["impact"] in ("serious", "critical")] == []


def test_a_slider_keeps_the_keyboard(tab: Page, server: str) -> None:
    """identity: redraws at any moment, the proof's own too, leave the focus on the slider."""
    _open(tab, server)
    _finished(tab)
    tab.locator(".st-key-rise input[type=range]").focus()
    for press in range(16):
        tab.keyboard.press("ArrowLeft" if press < 8 else "ArrowRight")
        tab.wait_for_timeout(1500 + 110 * (press % 8))
        assert tab.evaluate("document.activeElement.type") == "range", f"lost at press {press}"


def test_the_switch_of_units_reaches_pictures_sliders_and_the_link(tab: Page, server: str) -> None:
    """Journey: choose lb·ft and hp by mouse, read the axes; go back by keyboard to what was."""
    read = """() => { const l = document.querySelector('.st-key-fig_curve .js-plotly-plot')
      ._fullLayout; return [l.yaxis.title.text, l.yaxis2.title.text]; }"""
    wait = f"(wanted) => JSON.stringify(({read})()) === JSON.stringify(wanted)"
    _open(tab, server)
    _finished(tab)
    before = _limit(tab)
    rise = tab.locator(".st-key-rise")
    _thumb(tab, "rise").focus()
    tab.keyboard.press("ArrowRight")
    expect(rise).to_contain_text("85")
    tab.get_by_role("radio", name="lb·ft, hp").click()
    tab.wait_for_function(wait, arg=["torque at the crank [lb·ft]", "power [hp]"])
    assert "units=us" in tab.url
    expect(rise).to_contain_text("Steepest rise [lb·ft per 1,000 rpm]")
    expect(rise).to_contain_text("63")
    assert "rise=85" in tab.url
    _thumb(tab, "rise").focus()
    tab.keyboard.press("ArrowLeft")
    expect(rise).to_contain_text("59")
    _finished(tab)
    assert np.array(_limit(tab)) == pytest.approx(np.array(before) / 1.3558179483, abs=0.051)
    tab.get_by_role("radio", name="lb·ft, hp").focus()
    tab.keyboard.press("ArrowLeft")
    tab.keyboard.press("Enter")
    tab.wait_for_function(wait, arg=["torque at the crank [N·m]", "power [kW]"])
    expect(rise).to_contain_text("80")
    assert _limit(tab) == before
    assert "units=" not in tab.url
    assert "rise=" not in tab.url
