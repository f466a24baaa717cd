"""The report in a real browser: no network, no errors, readable on a phone, prints to few pages."""

import re
from pathlib import Path

import pytest

import torquerisk
from torquerisk.case import default_policy
from torquerisk.files.case_folder import load_case
from torquerisk.show.page.sheet import printed_sheet
from torquerisk.show.report.contents import Reader
from torquerisk.show.report.report import report_html
from torquerisk.show.words.target_sheet import target_sheet
from torquerisk.study.answers.dips import find_dips
from torquerisk.study.studs.bench import stud_bench

pytestmark = pytest.mark.browser
CASES = Path(__file__).parents[2] / "sample_runs"
MOST_PAGES, MOST_WORDS = 6, 2500
WIDER = "body{letter-spacing:.03em}.drawn{letter-spacing:0}"
"""Letters as wide as in a browser without the fonts asked for."""
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


@pytest.fixture(scope="module", params=["hill_climb", "tow_diesel"])
def reports(request, tmp_path_factory):
    """A sample case for each reader, and the whole of it."""
    folder = tmp_path_factory.mktemp("report")
    assessment = torquerisk.assess(*load_case(CASES / request.param), default_policy(draws=256))
    proposal = torquerisk.propose_limit(assessment)
    beside = find_dips(assessment), stud_bench(assessment)
    for reader in Reader:
        (folder / f"{reader.value}.html").write_text(report_html(proposal, *beside, reader=reader))
    (folder / "full.html").write_text(report_html(proposal, *beside, full=True))
    return folder


class Opened:
    """A report in a browser tab, with what it asked for and what it complained of."""

    def __init__(
        self, browser, file: Path, width: int, scheme: str = "light", bypass_csp: bool = False
    ) -> None:
        self.page = browser.new_page(
            viewport={"width": width, "height": 900}, color_scheme=scheme, bypass_csp=bypass_csp
        )
        self.asked: list[str] = []
        self.said: list[str] = []
        self.page.on("request", lambda r: self.asked.append(r.url))
        self.page.on("console", lambda m: self.said.append(m.text))
        self.page.on("pageerror", lambda e: self.said.append(str(e)))
        self.page.goto(file.as_uri())


@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (768, "dark"), (1440, "light")])
def test_opens_alone_and_fits(browser, reports, width, scheme):
    """Common practice, no source: one file, nothing asked for, nothing said, nothing cut off."""
    opened = Opened(browser, reports / "full.html", width, scheme)
    page = opened.page
    assert opened.asked == [(reports / "full.html").as_uri()]
    assert opened.said == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate(CUT_WORDS) == []
    wide = page.evaluate("[...document.querySelectorAll('.drawn')].map(d => d.clientWidth)")
    assert len(wide) >= 7
    assert min(wide) > 250
    paper = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    assert paper == ("rgb(255, 255, 255)" if scheme == "light" else "rgb(23, 22, 20)")
    page.close()


@pytest.mark.parametrize("reader", list(Reader), ids=lambda reader: reader.value)
def test_is_few_words_on_few_pages(browser, reports, reader):
    """The brief to ourselves: 2,500 words at most, those in pictures counted, on six pages of
    either paper, printed from a dark screen, also where letters are wider."""
    opened = Opened(browser, reports / f"{reader.value}.html", 1440, "dark", bypass_csp=True)
    page = opened.page
    for style in ("main{}", WIDER):
        page.add_style_tag(content=style)
        for paper in ("A4", "Letter"):
            printed = page.pdf(format=paper, print_background=True)
            assert 3 <= len(re.findall(rb"/Type\s*/Page\b(?!s)", printed)) <= MOST_PAGES
    page.emulate_media(media="print", color_scheme="dark")
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(31, 35, 40)"
    assert 1000 < len(page.evaluate("document.body.innerText").split()) <= MOST_WORDS
    page.close()


def share_of_a_page(browser, file: Path, section: str, paper: str) -> float:
    """Where a section ends, over the height of a page's text.

    Its height is measured at the width of the paper's text, in CSS pixels of 1/96 inch.
    """
    width, height = {"A4": (182, 266), "Letter": (187.9, 248.4)}[paper]
    opened = Opened(browser, file, round(width / 25.4 * 96))
    opened.page.emulate_media(media="print")
    bottom = opened.page.evaluate(
        f"document.getElementById('{section}').getBoundingClientRect().bottom"
    )
    opened.page.close()
    return float(bottom / (height / 25.4 * 96))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_page_one_is_the_whole_answer(browser, reports, paper):
    """The brief to ourselves: the answer ends on page one, with room for wider letters."""
    assert share_of_a_page(browser, reports / "tuner.html", "answer", paper) < 0.97


@pytest.fixture(scope="module")
def sheets(tmp_path_factory):
    """A target sheet alone: of the page, and of the report."""
    folder = tmp_path_factory.mktemp("sheet")
    assessment = torquerisk.assess(
        *load_case(CASES / "hill_climb"), default_policy(draws=256, chance=0.05)
    )
    bench = stud_bench(assessment, 200.0)
    assert bench.mildest is not None
    stud = next(c for c in bench.choices if c.fastening.stud)
    (folder / "page.html").write_bytes(printed_sheet(target_sheet(bench, stud)))
    proposal = torquerisk.propose_limit(assessment)
    text = report_html(proposal, (), bench, reader=Reader.BUILDER)
    (folder / "report.html").write_text(text)
    return folder


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", ["report.html", "page.html"])
def test_the_target_sheet_is_one_page(browser, sheets, name, paper):
    """Common practice, no source: one page of either paper, in black and white."""
    opened = Opened(browser, sheets / name, 1440)
    opened.page.evaluate("() => document.body.replaceChildren(document.querySelector('.bench'))")
    told = opened.page.inner_text("body")
    parts = ["lubricant", "tightening", "Order of one head", "Before, each", "In this order",
             "Afterwards", "Tightened by ____", "estimated to give", "who decides"]  # fmt: skip
    assert [told.index(part) for part in parts] == sorted(told.index(part) for part in parts)
    printed = opened.page.pdf(format=paper, prefer_css_page_size=False)
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", printed)) == 1
    colours = opened.page.evaluate(
        """() => [...document.querySelectorAll('.bench *')].map(
            e => getComputedStyle(e).color.match(/\\d+/g).map(Number))"""
    )
    assert all(max(c[:3]) - min(c[:3]) < 30 for c in colours)
    opened.page.close()


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_builders_page_one_is_the_whole_sheet(browser, sheets, paper):
    """Common practice, no source: what hangs at the bench is one sheet, findings and cautions too.

    It starts where the findings end, and is not pushed to a page of its own.
    """
    assert 0.5 < share_of_a_page(browser, sheets / "report.html", "sheet", paper) <= 1.0


def test_running_head_names_the_inputs(browser, reports):
    """CSS Paged Media level 3: head and foot are in the page margins, not over the text."""
    opened = Opened(browser, reports / "tuner.html", 1440)
    rules = opened.page.evaluate(
        "[...document.styleSheets[0].cssRules].filter(r => r.type === 6).map(r => r.cssText).join()"
    )
    digest = opened.page.locator(".stamp").first.inner_text().split()[-1]
    assert "Invented " in rules
    assert f"inputs {digest[:12]}" in rules
    assert "counter(pages)" in rules
    opened.page.close()


def test_details_open_without_script(browser, reports):
    """HTML standard: details open by themselves; the numbers behind the pictures are there."""
    opened = Opened(browser, reports / "full.html", 390)
    summary = opened.page.get_by_text("Numbers behind the pictures")
    summary.click()
    table = opened.page.get_by_role("region", name="The measured run, speed by speed")
    assert table.is_visible()
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= 390
    opened.page.close()
