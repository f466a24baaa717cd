"""Every view by its widgets, without a browser: what is in sight, and what is behind."""

import re
from collections.abc import Callable

import pages
import pytest
from streamlit.testing.v1 import AppTest

from torquerisk import assess, default_policy
from torquerisk.case import CAUTIONS
from torquerisk.files.case_folder import load_case
from torquerisk.show.page.html import Terms, marked, pretty
from torquerisk.show.page.inputs import every_declaration, in_figures, label_of
from torquerisk.show.page.views import DEEP, QUESTIONS, VIEWS
from torquerisk.show.report.made_from import case_digest
from torquerisk.show.words.prose import Units

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("unproved")]
RESULTS = [("", QUESTIONS[0].question), *((v.path, v.question) for v in (*QUESTIONS[1:], *DEEP))]


@pytest.fixture
def views() -> Callable[[str], AppTest]:
    """A view of the first sample, finished."""
    return lambda path: pages.finished(pages.opened(path))


@pytest.mark.parametrize(("path", "question"), RESULTS)
def test_a_view_is_short_and_says_what_it_draws(
    views: Callable[[str], AppTest], path: str, question: str
) -> None:
    """The page's own measure: one question, at most three pictures and 400 words; WCAG 1.1.1."""
    view = views(path)
    assert not view.exception
    assert pages.questions(view)[0] == question
    told = pages.charts(view)
    assert len(told) <= 3
    assert all(len(text) > 30 for text in told)
    labels = [e.label for kind in (view.slider, view.button, view.expander) for e in kind]
    assert len(" ".join([pages.words(view), *labels]).split()) <= 400
    said = pages.words(view).lower()
    for word in ("safe", "guaranteed", " ok ", "no risk", "passed"):
        assert word not in said, word
    assert "not a promise that an engine holds" in said
    assert re.search(r"seed \d+, 256 simulated engines\. inputs \w{12}", said)
    assert "coolant pressure rose by" in said, "the warning is in the header of every view"


def test_the_answer_of_each_question_is_its_first_sentence(views: Callable[[str], AppTest]) -> None:
    """identity: number, unit and place come before anything else."""
    for path, form in (
        (
            "",
            r"\d+ N·m at [\d,]+ rpm (would hold by a first count|is +estimated to hold).*; it made",
        ),
        ("studs", r"As it stands, .*, the head is .* \d+ N·m"),
        ("dip", r"Near .*N·m"),
    ):
        told = re.findall(r'<p class="tr-short">(.*?)</p>', pages.markup(views(path)))
        assert re.search(form, re.sub(r"<[^>]+>", "", " ".join(told))), path


def test_what_does_not_hold_has_no_mark_of_what_holds() -> None:
    """WCAG 2.2, 1.4.1: the shape says what the words say, and 'not' belongs to both."""
    assert "tr-mark exceeds" in marked("It is not estimated to hold 444 N·m.")
    assert "tr-mark holds" not in marked("It is not estimated to hold 444 N·m.")
    assert "tr-mark holds" in marked("It is estimated to hold 444 N·m.")


def test_every_caution_is_on_the_page() -> None:
    """identity: behind the view of what went in."""
    said = pages.words(pages.unfolded(pages.opened("inputs"), "cautions"))
    for caution in CAUTIONS:
        assert caution in said


@pytest.mark.parametrize("view", [v.path for v in VIEWS[1:]])
def test_everything_behind_a_view_can_be_opened(view: str) -> None:
    """identity: no fold hides an error; every picture behind has words."""
    page = pages.unfolded(pages.opened(view))
    assert not page.exception
    assert not pages.refusal(page)
    assert all(len(text) > 30 for text in pages.charts(page))


def test_numbers_behind_a_picture_come_when_their_fold_is_opened() -> None:
    """WCAG 2.2, 1.1.1: what a picture shows is there as a table too, for who opens it."""
    page = pages.unfolded(pages.opened(), "fig_curve")
    (one,) = [g for g in page.dataframe if "parts carry, median [N·m]" in g.value.columns]
    assert len(one.value) == 48


def test_what_is_asked_goes_along_to_another_view() -> None:
    """metamorphic: there and back again, with a slider moved in between, is where it was."""
    page = pages.opened(chance="5")
    assert page.select_slider(key="chance").value == 5.0
    page.slider(key="peak_from").set_value(5000).run()
    before = pages.charts(page)
    pages.to(page, "dip")
    assert "54" not in page.query_params.get("chance", "")
    page.query_params["peak_from"] = "5000"  # as the link of the header carries it
    pages.to(page, "")
    assert page.slider(key="peak_from").value == 5000
    assert pages.charts(page) == before


def test_a_group_of_inputs_names_each_value_in_its_line() -> None:
    """identity: words and unit about every figure; what does not fit is counted, never cut."""
    lines = [e.label for e in pages.opened("inputs").expander if e.label.startswith("**")]
    engine, joint = (next(t for t in lines if t.startswith(n)) for n in ("**Engine", "**Head"))
    assert "bore 82 mm, stroke 85 mm, rod length 144 mm" in engine
    assert re.search(r"property class 10\\\.9, .*, and \d more$", joint), joint


@pytest.mark.parametrize("units", list(Units))
def test_labels_of_inputs_are_plain_words_and_figures(units: Units) -> None:
    """WCAG 2.2, 4.1.2 (name): no mark of escape and no exponent is read out."""
    for name, declaration in every_declaration():
        label = label_of(declaration, units, ranged=True)
        assert "\\" not in label, name
        assert not re.search(r"\de[+−-]\d", label), label
    figures = [(3e5, "300,000"), (1e-5, "0.00001"), (477.46, "477.5"), (29.502, "29.5"),
               (1796.1, "1,796"), (-0.012, "−0.012"), (0.0, "0")]  # fmt: skip
    assert [in_figures(value, 4) for value, _ in figures] == [told for _, told in figures]


def test_page_and_report_carry_one_digest_of_the_same_inputs() -> None:
    """identity: what the page's foot says is what a report of the same files and draws says."""
    page = pages.opened()
    found = re.search(r"Inputs ([0-9a-f]{12})\.", pages.words(page))
    assert found is not None
    assessment = assess(*load_case(pages.HILL), default_policy(draws=pages.DRAWS))
    assert case_digest(assessment).startswith(found[1])


def test_a_strange_link_is_ignored() -> None:
    """identity: a link from anywhere cannot break the page; a case that is gone is said."""
    page = pages.opened(reach="no", rows="1e9", rise="-3", units="furlongs", chance="<script>")
    assert not page.exception
    assert page.slider(key="rows").value == 16
    for case in ("../../etc", "0123456789abcdef"):
        gone = pages.opened(case=case)
        assert not gone.exception
        assert "no longer in memory" in pages.refusal(gone)[0]
        assert not pages.charts(gone)


def test_terms_are_explained_at_their_first_use() -> None:
    """identity: each term once, whole words only, in any case, with its meaning beside it."""
    terms = Terms((("Rod", "the bar <of> steel."), ("Oil film", "keeps faces apart.")))
    told = terms.told("Rods bend; a rodent does not. The oil film and the ROD.")
    assert told.count("<dfn") == 2
    assert 'tabindex="0">Rods<span class="tr-meant"> (the bar &lt;of&gt; steel)' in told
    assert "a rodent does" in told
    assert told.endswith("and the ROD.")
    assert terms.told("the rod") == "the rod"


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("4.2 N*m at 3,000 rpm", "4.2_N·m at 3,000_rpm"),
        ("24 bar short (1 to 50 short)", "24_bar short (1 to 50 short)"),
        ("1 % of 8 mm, 20 K warmer", "1_% of 8_mm, 20_K warmer"),
        ("3 grades and 2 kings", "3 grades and 2 kings"),
    ],
)
def test_a_unit_stays_with_its_number(text: str, kept: str) -> None:
    """NIST SP 811, 7.2: a space parts number and unit; here it never breaks a line."""
    assert pretty(text).replace("\u00a0", "_") == kept


def test_other_runs_are_compared() -> None:
    """identity: a run against itself differs nowhere; one that cannot be read is said."""
    page = pages.opened("another")
    run = (pages.HILL / "run.csv").read_bytes()
    box = next(u for u in page.file_uploader if u.key is not None and u.key.startswith("second_"))
    box.set_value([("again.csv", run, "text/csv")])
    pages.finished(page.run())
    assert not page.exception
    told = next(t for t in pages.charts(page) if t.startswith("Crank torque of"))
    assert "+0 N·m" in told
    box = next(u for u in page.file_uploader if u.key is not None and u.key.startswith("second_"))
    box.set_value([("bad.csv", b"x", "text/csv")])
    page.run()
    assert "bad.csv" in pages.refusal(page)[0]


def test_own_studs_are_told_in_the_pages_words():
    """Common practice, no source: the fitted bolts at a third of their torque lift more often.

    What is fitted is what the form begins with; a torque far from the usual is asked about.
    """
    page = pages.unfolded(pages.finished(pages.opened("studs")), "own_studs")
    (strength,) = (s for s in page.selectbox if s.label == "Strength")
    assert strength.value == "own"
    (torque,) = (n for n in page.number_input if n.label.startswith("Torque [N·m]"))
    torque.set_value(11.0)
    (judge,) = (b for b in page.button if b.label == "Judge them")
    pages.finished(judge.click().run())
    told = re.sub(r"<[^>]+>", "", pages.markup(page)).replace("\u00a0", " ")
    count = r"the head lifts off its sealing ring in all [\d,]+ simulated engines"
    assert re.search(
        rf"\d+ N·m: \W*not estimated to hold; {count}\. They hold (no torque|a peak of \d N·m)",
        told,
    )
    assert re.search(r"11 N·m is 0\.\d+ of what is usual, \d+ N·m: check the number", told)
    assert re.search(r"At the usual \d+ N·m they are ", told)
    assert "fasteners of the same thread and class, tightened anew" in told


def test_what_needs_no_drilling_has_its_card_beside_what_lasts():
    """Common practice, no source: to tighten again is less work than to drill 18 holes."""
    page = pages.finished(pages.opened("studs", case="tow_diesel"))
    (hold,) = (n for n in page.number_input if n.label.startswith("Hold"))
    pages.finished(hold.set_value(hold.max).run())
    titles = re.findall(r'<p class="tr-card"><small>(.*?)</small>', pages.markup(page))
    assert any(t.startswith("Mildest change that lasts") for t in titles)
    assert re.match("Mildest change, (new only|too close to call)", titles[0])
