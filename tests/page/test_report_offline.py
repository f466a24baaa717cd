"""The report in a real browser: no network, no errors, readable on a phone, prints to few pages."""

import re
from pathlib import Path

import pytest

import torquerisk
from torquerisk.case import default_policy
from torquerisk.files.case_folder import load_case
from torquerisk.show.page.sheet import printed_sheet
from torquerisk.show.report.report import write_report
from torquerisk.show.words.target_sheet import target_sheet
from torquerisk.study.answers.dips import find_dips
from torquerisk.study.studs.bench import stud_bench

pytestmark = pytest.mark.browser
CASE = Path(__file__).parents[2] / "sample_runs" / "hill_climb"
CUT_WORDS = """() => {
  const cut = [];
  for (const drawn of document.querySelectorAll('.drawn')) {
    const box = drawn.getBoundingClientRect();
    for (const word of drawn.querySelectorAll('text')) {
      const b = word.getBoundingClientRect();
      if (b.left < box.left - 2 || b.right > box.right + 2 || b.top < box.top - 2
          || b.bottom > box.bottom + 2) cut.push(word.textContent);
    }
  }
  return cut;
}"""


@pytest.fixture(scope="module")
def reports(tmp_path_factory):
    """The sample case with and without the section on fasteners."""
    folder = tmp_path_factory.mktemp("report")
    assessment = torquerisk.assess(*load_case(CASE), default_policy(draws=256))
    proposal = torquerisk.propose_limit(assessment)
    dips = find_dips(assessment)
    write_report(proposal, folder / "short.html", dips)
    write_report(proposal, folder / "long.html", dips, stud_bench(assessment))
    return folder


class Opened:
    """A report in a browser tab, with what it asked for and what it complained of."""

    def __init__(self, browser, file: Path, width: int, scheme: str = "light") -> None:
        self.page = browser.new_page(
            viewport={"width": width, "height": 900}, color_scheme=scheme
        )  # fmt: skip
        self.asked: list[str] = []
        self.said: list[str] = []
        self.page.on("request", lambda r: self.asked.append(r.url))
        self.page.on("console", lambda m: self.said.append(m.text))
        self.page.on("pageerror", lambda e: self.said.append(str(e)))
        self.page.goto(file.as_uri())


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 768, 1440])
def test_opens_alone_and_fits(browser, reports, width, scheme):
    """Common practice, no source: one file, nothing asked for, nothing said, nothing cut off."""
    opened = Opened(browser, reports / "long.html", width, scheme)
    page = opened.page
    assert opened.asked == [(reports / "long.html").as_uri()]
    assert opened.said == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate(CUT_WORDS) == []
    wide = page.evaluate("[...document.querySelectorAll('.drawn')].map(d => d.clientWidth)")
    assert len(wide) >= 7
    assert min(wide) > 250
    paper = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    assert paper == ("rgb(255, 255, 255)" if scheme == "light" else "rgb(23, 22, 20)")
    page.close()


@pytest.mark.parametrize(
    ("name", "paper", "most"),
    [("short.html", "A4", 8), ("short.html", "Letter", 9), ("long.html", "A4", 10),
     ("long.html", "Letter", 11)],
)  # fmt: skip
def test_prints_to_few_pages(browser, reports, name, most, paper):
    """Common practice, no source: a report is a few pages, on either paper, from a dark screen."""
    opened = Opened(browser, reports / name, 1440, "dark")
    printed = opened.page.pdf(format=paper, print_background=True)
    pages = len(re.findall(rb"/Type\s*/Page\b(?!s)", printed))
    assert 4 <= pages <= most
    opened.page.emulate_media(media="print", color_scheme="dark")
    ink = opened.page.evaluate("getComputedStyle(document.body).color")
    assert ink == "rgb(31, 35, 40)"
    opened.page.close()


@pytest.fixture(scope="module")
def sheets(tmp_path_factory):
    """A target sheet alone: of the page, and of the report."""
    folder = tmp_path_factory.mktemp("sheet")
    assessment = torquerisk.assess(*load_case(CASE), default_policy(draws=256))
    bench = stud_bench(assessment, 200.0)
    assert bench.mildest is not None
    stud = next(c for c in bench.choices if c.fastening.stud)
    (folder / "page.html").write_bytes(printed_sheet(target_sheet(bench, stud)))
    write_report(torquerisk.propose_limit(assessment), folder / "report.html", (), bench)
    return folder


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize(("name", "css"), [("report.html", ".sheet"), ("page.html", ".tr-sheet")])
def test_the_target_sheet_is_one_page(browser, sheets, name, css, paper):
    """Common practice, no source: one page of either paper, in black and white."""
    opened = Opened(browser, sheets / name, 1440)
    opened.page.evaluate(f"() => document.body.replaceChildren(document.querySelector('{css}'))")
    printed = opened.page.pdf(format=paper, prefer_css_page_size=False)
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", printed)) == 1
    colours = opened.page.evaluate(
        f"""() => [...document.querySelectorAll('{css} *')].map(
            e => getComputedStyle(e).color.match(/\\d+/g).map(Number))"""
    )
    assert all(max(c[:3]) - min(c[:3]) < 30 for c in colours)
    opened.page.close()


def test_running_head_names_the_inputs(browser, reports):
    """CSS Paged Media level 3: head and foot are in the page margins, not over the text."""
    opened = Opened(browser, reports / "short.html", 1440)
    rules = opened.page.evaluate(
        "[...document.styleSheets[0].cssRules].filter(r => r.type === 6).map(r => r.cssText).join()"
    )
    digest = opened.page.locator(".stamp").first.inner_text().split()[-1]
    assert "Invented hill" in rules
    assert f"inputs {digest[:12]}" in rules
    assert "counter(pages)" in rules
    opened.page.close()


def test_details_open_without_script(browser, reports):
    """HTML standard: details open by themselves; the numbers behind the pictures are there."""
    opened = Opened(browser, reports / "short.html", 390)
    summary = opened.page.get_by_text("Numbers behind the pictures")
    summary.click()
    table = opened.page.get_by_role("region", name="The measured run, speed by speed")
    assert table.is_visible()
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= 390
    opened.page.close()
