"""The page by its widgets, without a browser: every control, every entrance, every refusal."""

import dataclasses
import html
import io
import re
import zipfile
from collections.abc import Collection
from concurrent.futures import Future
from pathlib import Path

import pages
import pytest
from streamlit.testing.v1 import AppTest

from torquerisk.case import CAUTIONS, COMPRESSION_ONLY, Engine, Kind
from torquerisk.files.engine_file import engine_to_toml
from torquerisk.show.page import case_in, inputs
from torquerisk.show.page.html import Terms, pretty
from torquerisk.show.page.main import ENTRANCES, ORDER
from torquerisk.show.page.policy_in import CHANCES
from torquerisk.show.page.walk import WALKS
from torquerisk.show.page.work import Background

pytestmark = pytest.mark.slow

RUN = (pages.HILL / "run.csv").read_bytes()
ENGINE = (pages.HILL / "engine.toml").read_bytes()
GOOD = (pages.HILL / "factory.csv").read_bytes()


ALT = re.compile(r'^<div class="tr-still" role="img" aria-label="([^"]*)"')


@pytest.fixture
def still(monkeypatch: pytest.MonkeyPatch) -> None:
    """Slow sections are never begun: what is asked does not need them."""
    monkeypatch.setattr(Background, "ask", lambda *_: Future())


@pytest.fixture(scope="module")
def page() -> AppTest:
    return pages.finished(pages.opened())


@pytest.mark.parametrize("entrance", ["tuner", "builder", "owner"])
def test_the_first_page_comes_with_one_still_and_then_live(entrance: str) -> None:
    """identity: the first picture is a still and live, the others have room, then are live."""
    page = pages.finished(pages.opened(start=entrance))  # once, so that its results are at hand
    live = pages.charts(page)
    first = pages.opened(start=entrance)
    told = [html.unescape(t) for s in pages.stills(first) for t in ALT.findall(s)]
    assert told == live[:1] == pages.charts(first)
    assert len(pages.stills(first)) == len(live)
    assert pages.questions(first) == pages.questions(page)
    first.run()
    assert pages.charts(first) == live
    assert len(pages.stills(first)) == len(live)
    first.run()
    assert pages.charts(first) == live
    assert pages.stills(first) == []


def test_numbers_behind_a_picture_come_when_their_fold_is_opened() -> None:
    """WCAG 2.2, 1.1.1: what a picture shows is there as a table too, for who opens it."""
    page = pages.finished(pages.opened())
    told = "parts carry, median"
    assert len(page.dataframe) == 1  # the table to edit
    page.session_state["fold_fig_curve"] = True
    page.run()
    assert not page.exception
    (one,) = [g for g in page.dataframe if f"{told} [N·m]" in g.value.columns]
    assert len(one.value) == 48
    assert "save_curve" in str(page.get_by_key("save_curve"))


@pytest.mark.parametrize("entrance", list(WALKS))
def test_the_first_walk_leads_to_what_is_there_in_under_a_minute(
    page: AppTest, entrance: str
) -> None:
    """Common practice, no source: people read 200 words a minute; every link has its section."""
    for anchor, words, _ in WALKS[entrance]:
        if anchor:
            assert f'<h2 class="tr-q" id="tr-{anchor}">{words}</h2>' in pages.markup(page)
    assert len(" ".join(w + t for _, w, t in WALKS[entrance]).split()) < 150
    folds = [one.label for one in pages.opened(start=entrance).expander]
    assert sum(label.startswith("First time here?") for label in folds) == 1


def test_terms_are_explained_at_their_first_use() -> None:
    """identity: each term once, whole words only, in any case, with its meaning beside it."""
    terms = Terms((("Rod", "the bar <of> steel."), ("Oil film", "keeps faces apart.")))
    told = terms.told("Rods bend; a rodent does not. The oil film and the ROD.")
    assert told.count("<dfn") == 2
    assert 'tabindex="0">Rods<span class="tr-meant"> (the bar &lt;of&gt; steel)' in told
    assert "a rodent does" in told
    assert 'tabindex="0">oil film<span' in told
    assert told.endswith("and the ROD.")
    assert terms.told("the rod") == "the rod"


def test_opens_with_the_sample_and_draws_every_section(page: AppTest) -> None:
    """identity: the page opens with the first sample; each question of its order stands once."""
    assert not page.exception
    asked = pages.questions(page)
    assert len(asked) == len(set(asked)) == len(ORDER["tuner"]) + 3
    assert all(q.endswith("?") for q in asked)
    assert asked[:2] == ["What does it come to?", "What limit would hold?"]


def test_says_what_was_read_before_any_result(page: AppTest) -> None:
    """identity: the name of the run and its rows come before the first question."""
    said = pages.markup(page)
    assert said.index("Run run.csv: ") < said.index('<h2 class="tr-q"')
    assert "correction undone" in said
    assert "Text encoding" in said


def test_every_chart_has_a_text_alternative(page: AppTest) -> None:
    """identity: WCAG 2.2, 1.1.1: what is drawn is also said."""
    told = pages.charts(page)
    assert len(told) >= 20
    assert all(len(text) > 30 for text in told)


def test_notice_and_cautions_are_in_view(page: AppTest) -> None:
    """identity: the fixed notice and every caution stand on the page, none behind a fold."""
    said = pages.words(page)
    assert "not a promise that an engine holds" in said
    for caution in CAUTIONS:
        assert caution in said
    foot = re.search(r"torquerisk \S+\. Seed \d+, [\d,]+ simulated engines\. Inputs \w{16}", said)
    assert foot is not None


def test_no_false_all_clear(page: AppTest) -> None:
    """identity: the words that people take for a promise never appear as a result."""
    said = pages.words(page).lower()
    for word in ("safe", "guaranteed", " ok ", "no risk", "passed"):
        assert word not in said, word


@pytest.mark.parametrize("entrance", ENTRANCES)
def test_a_link_opens_its_entrance(entrance: str) -> None:
    """identity: the three entrances show the same sections, in the order of their question."""
    page = pages.finished(pages.opened(start=entrance))
    assert page.segmented_control(key="start").value == entrance
    assert pages.questions(page)[1] == ENTRANCES[entrance]
    assert not page.exception


def test_switching_the_entrance_loses_nothing() -> None:
    """metamorphic: there and back again, with a slider moved in between, is where it was."""
    page = pages.opened()
    page.select_slider(key="chance").set_value(5.0).run()
    page.select_slider(key="rise").set_value(100).run()
    before = sorted(pages.charts(pages.finished(page)))
    page.segmented_control(key="start").set_value("owner").run()
    assert page.select_slider(key="chance").value == 5.0
    assert page.select_slider(key="rise").value == 100
    page.segmented_control(key="start").set_value("tuner").run()
    assert sorted(pages.charts(pages.finished(page))) == before


@pytest.mark.usefixtures("still")
def test_a_strange_link_is_ignored() -> None:
    """identity: a link from anywhere cannot break the page."""
    page = pages.opened(start="<script>", case="../../etc", reach="no", rows="1e9", rise="-3")
    assert not page.exception
    assert page.segmented_control(key="start").value == "tuner"
    assert page.slider(key="rows").value == 16


def _limit_columns(page: AppTest) -> list[list[str]]:
    table = re.search(r"Torque-limit table.*?</table>", pages.markup(page), re.S)
    assert table is not None
    rows = re.findall(r"<tr>(.*?)</tr>", table.group(0), re.S)[1:]
    return [re.findall(r"<td[^>]*>(.*?)</td>", row) for row in rows]


def _speeds(page: AppTest) -> list[float]:
    return [float(row[0].replace(",", "")) for row in _limit_columns(page)]


def _limits(page: AppTest) -> list[float]:
    return [float(row[1].replace(",", "")) for row in _limit_columns(page)]


@pytest.mark.usefixtures("still")
def test_more_chance_never_gives_less_torque() -> None:
    """metamorphic: a larger accepted chance raises the sum of the limit or leaves it."""
    page = pages.opened()
    sums = []
    for chance in CHANCES:
        page.select_slider(key="chance").set_value(chance).run()
        assert not page.exception
        sums.append(sum(_limits(page)))
    assert sums == sorted(sums)
    assert sums[-1] > sums[0]


@pytest.mark.usefixtures("still")
def test_table_has_the_rows_asked_for() -> None:
    """identity: the slider's number of rows is the table's."""
    page = pages.opened()
    for rows in (4, 9, 40):
        page.slider(key="rows").set_value(rows).run()
        assert len(_limit_columns(page)) == rows


@pytest.mark.usefixtures("still")
def test_peak_is_not_before_the_speed_asked_for() -> None:
    """identity: the greatest limit lies at or after the earliest peak speed."""
    page = pages.opened()
    for speed in (2500, 4500, 5500):
        page.slider(key="peak_from").set_value(speed).run()
        rows = _limit_columns(page)
        limits = _limits(page)
        at = float(rows[limits.index(max(limits))][0].replace(",", ""))
        assert at >= speed


@pytest.mark.usefixtures("still")
def test_rise_is_no_steeper_than_asked_before_the_peak() -> None:
    """identity: N·m per 1,000 rpm between rows before the peak stays within the slider's value."""
    page = pages.opened()
    page.slider(key="peak_from").set_value(5000).run()
    for rise in (10, 60, 200):
        page.select_slider(key="rise").set_value(rise).run()
        limits = _limits(page)
        speeds = [float(row[0].replace(",", "")) for row in _limit_columns(page)]
        for k in range(limits.index(max(limits))):
            steep = 1000 * (limits[k + 1] - limits[k]) / (speeds[k + 1] - speeds[k])
            assert steep <= rise + 1e-6


@pytest.mark.usefixtures("still")
def test_no_dip_asked_for_none_given() -> None:
    """identity: with the box ticked the limit does not fall before its peak."""
    page = pages.opened()
    page.slider(key="peak_from").set_value(5000).run()
    page.checkbox(key="no_dip").check().run()
    limits = _limits(page)
    up = limits[: limits.index(max(limits)) + 1]
    assert up == sorted(up)


@pytest.mark.usefixtures("still")
@pytest.mark.parametrize(
    "goal", ["most area", "shortest sweep", "least change", "same shape later"]
)
@pytest.mark.parametrize("reach", ["measured", "open"])
def test_every_goal_and_reach_gives_a_table(goal: str, reach: str) -> None:
    """identity: each choice is served, or refused in one sentence with nothing stale beside it."""
    page = pages.opened(reach=reach)
    page.selectbox(key="aim").set_value(goal).run()
    assert not page.exception
    said = pages.refusal(page)
    if said:
        assert len(said) == 1
        assert not pages.charts(page)
    else:
        assert len(_limits(page)) == 16


@pytest.mark.usefixtures("still")
def test_an_ask_that_cannot_be_met_leaves_one_sentence_and_the_widgets() -> None:
    """identity: nothing stale stands under a changed input."""
    page = pages.opened(case="tow_diesel")
    page.select_slider(key="rise").set_value(5).run()
    page.slider(key="peak_from").set_value(page.slider(key="peak_from").max).run()
    assert not page.exception
    if pages.refusal(page):
        assert not pages.charts(page)
    assert page.select_slider(key="rise").value == 5


@pytest.mark.usefixtures("still")
def test_sample_size_and_seed_are_asked_in_the_form() -> None:
    """identity: what the form says is what the foot of the page states."""
    page = pages.opened()
    page.number_input(key="draws").set_value(256)
    page.number_input(key="seed").set_value(7)
    page.checkbox(key="abnormal").check()
    _send(page)
    assert "Seed 7, 256 simulated engines" in pages.words(page)


def _send(page: AppTest) -> AppTest:
    button = next(b for b in page.button if b.label == "Work it out")
    return button.click().run()


def _field(page: AppTest, name: str) -> object:
    boxes = [*page.number_input, *page.selectbox, *page.text_input]
    wanted = re.compile(rf"in_{re.escape(name)}_[0-9a-f]{{8}}_\d+_.*")
    return next(b for b in boxes if b.key is not None and wanted.fullmatch(b.key))


@pytest.mark.usefixtures("still")
def test_an_edited_input_changes_the_answer_and_undo_brings_it_back() -> None:
    """metamorphic: more thread friction means less clamp; undone, everything is as before."""
    page = pages.opened()
    first = _limits(page)
    _field(page, "compression_ratio").set_value(11.5)  # type: ignore[attr-defined]
    _send(page)
    assert "Changed on this page: compression ratio" in pages.words(page)
    assert sum(_limits(page)) != sum(first)
    undo = next(b for b in page.button if b.key == "undo")
    assert undo.label == "Undo 1 change"
    undo.click().run()
    assert _limits(page) == first
    assert _field(page, "compression_ratio").value != 11.5  # type: ignore[attr-defined]


@pytest.mark.usefixtures("still")
def test_a_fact_about_the_test_can_be_changed_though_the_run_states_it() -> None:
    """metamorphic: wheel torque read as such stands for more crank torque than crank torque."""
    page = pages.opened()
    assert "correction undone" in pages.words(page)
    _field(page, "test.correction").set_value("none")  # type: ignore[attr-defined]
    _send(page)
    assert "Changed on this page: correction standard" in pages.words(page)
    assert "no correction to undo" in pages.words(page)


@pytest.mark.usefixtures("still")
def test_inputs_that_contradict_each_other_leave_one_sentence() -> None:
    """identity: the engine's own check, word for word, and no chart."""
    page = pages.opened()
    page.selectbox(key="more").set_value("").run()
    _field(page, "rod_length").set_value(50.0)  # type: ignore[attr-defined]
    _send(page)
    said = pages.refusal(page)
    assert len(said) == 1
    assert "rod" in said[0]
    assert not pages.charts(page)
    undo = next(b for b in page.button if b.key == "undo")
    undo.click().run()
    assert not pages.refusal(page)


@pytest.mark.usefixtures("still")
@pytest.mark.parametrize("section", [s for s in inputs.TITLES if s != "known_good"])
@pytest.mark.parametrize(
    ("case", "not_asked"), [("hill_climb", COMPRESSION_ONLY), ("tow_diesel", ("fuel.octane",))]
)
def test_every_input_is_a_widget_with_unit_and_range(
    section: str, case: str, not_asked: Collection[str]
) -> None:
    """identity: widgets follow the declarations: label, unit, limits, options, given or assumed.

    What only the other kind of ignition has is not asked for.
    """
    page = pages.opened(case=case)
    page.selectbox(key="more").set_value(section).run()
    assert not page.exception
    folder = case_in.samples_folder() / case
    engine = case_in.read_case(case_in.source_from_paths(folder, folder, "test")).engine
    for name, declaration in inputs.every_input(engine):
        if inputs.section_of(name) != section:
            continue
        if name in not_asked:
            assert not any(b.key and f"in_{name}_" in b.key for b in page.number_input)
            continue
        box = _field(page, name)
        assert declaration.label.split(",")[0].split("(")[0].strip() in box.label.replace("\\", "")  # type: ignore[attr-defined]
        if declaration.kind is not None and not declaration.options:
            low, high = (
                declaration.kind.shown(declaration.low),
                declaration.kind.shown(declaration.high),
            )
            assert box.min == pytest.approx(low, rel=1e-6, abs=1e-9)  # type: ignore[attr-defined]
            assert box.max == pytest.approx(high, rel=1e-6, abs=1e-9)  # type: ignore[attr-defined]
            unit = inputs.pretty_unit(declaration.kind.shown_unit)
            assert unit in box.label.replace("\\", "")  # type: ignore[attr-defined]


@pytest.mark.usefixtures("still")
def test_leaving_a_form_untouched_changes_nothing() -> None:
    """identity: shown numbers are rounded, yet sending the form unchanged is no edit."""
    page = pages.opened()
    page.selectbox(key="more").set_value("running_gear").run()
    _send(page)
    assert "Changed on this page" not in pages.words(page)
    assert next(b for b in page.button if b.key == "undo").disabled


@pytest.mark.usefixtures("still")
def test_own_engine_and_run_are_read() -> None:
    """identity: files sent in take the place of the sample."""
    page = pages.opened()
    page.file_uploader(key="up_engine_0").set_value(("mine.toml", ENGINE, "text/plain"))
    page.run()
    assert "now add the run file" in pages.refusal(page)[0]
    page.file_uploader(key="up_run_0").set_value(("pull 3.csv", RUN, "text/csv"))
    page.run()
    assert "factory.csv" in pages.refusal(page)[0]
    page.file_uploader(key="up_good_0").set_value(("factory.csv", GOOD, "text/csv"))
    page.run()
    assert not pages.refusal(page)
    assert "Run pull 3.csv: 48 rows" in pages.words(page)


@pytest.mark.usefixtures("still")
@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("empty.csv", b""),
        ("words.csv", b"speed [rpm],torque [N*m]\nfast,much\n"),
        ("picture.csv", b"\x89PNG\r\n\x1a\n" + bytes(range(256))),
        ("no unit.csv", b"speed,torque\n1000,100\n2000,200\n3000,300\n"),
        ("two rows.csv", b"speed [rpm],torque [N*m]\n1000,100\n2000,200\n"),
    ],
)
def test_a_bad_run_leaves_one_sentence(name: str, data: bytes) -> None:
    """identity: bad input gives one sentence that names the file, and no chart."""
    page = pages.opened()
    page.file_uploader(key="up_run_0").set_value((name, data, "text/csv"))
    page.run()
    said = pages.refusal(page)
    assert len(said) == 1
    assert name.split(".")[0] in said[0]
    assert not pages.charts(page)
    assert not page.exception


@pytest.mark.usefixtures("still")
def test_foreign_text_is_shown_and_never_run() -> None:
    """identity: names from files meet HTML, Markdown and the charts' markup escaped."""
    evil = "<img src=x onerror=alert(1)> **b** $x$ :red[y] %{z} <b>"
    engine = case_in.read_case(case_in.source_from_paths(pages.HILL, pages.HILL, "test")).engine
    named = dataclasses.replace(engine, name=evil)
    page = pages.opened()
    page.file_uploader(key="up_engine_0").set_value(
        ("e.toml", engine_to_toml(named).encode(), "text/plain")
    )
    page.file_uploader(key="up_run_0").set_value(("<b>r</b>.csv", RUN, "text/csv"))
    page.file_uploader(key="up_good_0").set_value(("factory.csv", GOOD, "text/csv"))
    page.run()
    assert not page.exception
    assert not pages.refusal(page)
    assert "<img" not in pages.markup(page)
    assert "<b>r</b>" not in pages.markup(page)
    assert "<img src=x onerror=alert(1)>" in pages.words(page)
    for chart in page.get("plotly_chart"):
        assert "<img" not in chart.proto.spec.replace("\\u003c", "<")
    own = re.compile(r'<img alt="" style="[^"]*" src="data:image/svg[^"]*">')
    assert len(ALT.findall("".join(pages.stills(page)))) == 1
    for still in pages.stills(page):
        assert "<img" not in own.sub("", still)
        assert "%{z}" not in chart.proto.spec


@pytest.mark.usefixtures("still")
def test_a_saved_case_opens_as_it_was(tmp_path: Path) -> None:
    """identity: the file that the page saves is a case that reads back the same."""
    case = case_in.read_case(case_in.source_from_paths(pages.HILL, pages.HILL, "test"))
    packed = case_in.case_zip(case.engine, case.run)
    with zipfile.ZipFile(io.BytesIO(packed)) as archive:
        archive.extractall(tmp_path)
    again = case_in.read_case(case_in.source_from_zip(packed, "saved.zip"))
    changed = dataclasses.replace(again.engine.known_good, run=case.engine.known_good.run)
    for name, declaration in inputs.every_input(case.engine):
        assert again.engine.given(name) == case.engine.given(name), declaration.label
    assert (again.run.torque == case.run.torque).all()
    assert changed.curve is not None
    page = pages.opened()
    page.file_uploader(key="up_engine_0").set_value(("saved.zip", packed, "application/zip"))
    page.run()
    assert not pages.refusal(page)
    assert not page.exception


@pytest.mark.usefixtures("still")
@pytest.mark.parametrize(
    ("name", "data"), [("broken.zip", b"PK\x03\x04nonsense"), ("text.zip", b"hello")]
)
def test_a_broken_case_file_leaves_one_sentence(name: str, data: bytes) -> None:
    """identity: bad input gives one sentence."""
    page = pages.opened()
    page.file_uploader(key="up_engine_0").set_value((name, data, "application/zip"))
    page.run()
    assert len(pages.refusal(page)) == 1
    assert name in pages.refusal(page)[0]


@pytest.mark.usefixtures("still")
def test_the_command_lines_case_opens_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """identity: the environment names the case to open."""
    folder = pages.ROOT / "sample_runs" / "tow_diesel"
    monkeypatch.setenv(case_in.ENGINE_VARIABLE, str(folder / "engine.toml"))
    monkeypatch.setenv(case_in.RUN_VARIABLE, str(folder / "run.csv"))
    page = pages.opened()
    assert page.selectbox(key="case").value == case_in.GIVEN
    assert not pages.refusal(page)
    assert "diesel" in pages.words(page)


@pytest.mark.usefixtures("still")
def test_a_case_that_is_gone_leaves_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    """identity: a path that does not exist is said, not raised."""
    monkeypatch.setenv(case_in.ENGINE_VARIABLE, "/nowhere/engine.toml")
    page = pages.opened()
    assert len(pages.refusal(page)) == 1
    assert not page.exception


def test_sliders_of_single_sections_redraw_them() -> None:
    """identity: cycle speed, torque made later, torque to hold, firing pressure, fastening."""
    page = pages.finished(pages.opened())
    page.select_slider(key="cycle_speed").set_value(1800).run()
    assert any("crank angle at 1800 rpm" in told for told in pages.charts(page))
    for key in ("same", "hold"):
        slider = page.select_slider(key=key)
        slider.set_value(int(slider.options[0])).run()
    pages.finished(page)
    fastening = next(b for b in page.selectbox if b.key and b.key.startswith("fastening_"))
    fastening.set_value(len(fastening.options) - 1).run()
    fire = next(b for b in page.slider if b.key and b.key.startswith("fire_"))
    fire.set_value(fire.max).run()
    assert not page.exception
    assert any(
        f"At {fire.max:.0f} bar the most loaded fastener" in told for told in pages.charts(page)
    )


def test_a_second_run_is_compared() -> None:
    """identity: a run against itself differs nowhere."""
    page = pages.finished(pages.opened())
    page.file_uploader(key="second").set_value([("again.csv", RUN, "text/csv")])
    page.run()
    pages.finished(page)
    assert not page.exception
    told = next(t for t in pages.charts(page) if t.startswith("Crank torque of two runs"))
    assert "+0 N·m" in told
    page.file_uploader(key="second").set_value([("bad.csv", b"x", "text/csv")])
    page.run()
    assert "bad.csv" in pages.refusal(page)[0]


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("4.2 N*m at 3,000 rpm", "4.2_N·m at 3,000_rpm"),
        ("24 bar (−50 to −1 to spare)", "24_bar (−50 to −1 to spare)"),
        ("1 % of 8 mm, 20 K warmer", "1_% of 8_mm, 20_K warmer"),
        ("3 grades and 2 kings", "3 grades and 2 kings"),
    ],
)
def test_a_unit_stays_with_its_number(text: str, kept: str) -> None:
    """NIST SP 811, 7.2: a space parts number and unit; here it never breaks a line."""
    assert pretty(text).replace("\u00a0", "_") == kept


def test_kinds_have_a_shown_unit_that_people_write() -> None:
    """identity: no caret or star is left in a unit on the page."""
    for kind in Kind:
        assert not re.search(r"[*^]", inputs.pretty_unit(kind.shown_unit))


def test_inputs_that_matter_exist() -> None:
    """identity: every name on the short list is a declared input."""
    known = {name for name, _ in inputs.every_input(_any_engine())}
    assert set(inputs.MATTER) <= known


def _any_engine() -> Engine:
    return case_in.read_case(case_in.source_from_paths(pages.HILL, pages.HILL, "test")).engine


@pytest.mark.usefixtures("still")
def test_another_run_stands_for_what_the_engine_can_make() -> None:
    """identity: until it is there the measured one stands, said so; then it holds the table."""
    page = pages.opened(reach="another run")
    assert "the measured run stands for what the engine can make" in pages.captions(page)
    free = _limits(page)
    short = b"engine speed [rpm],torque [N*m]\n3000,9\n4000,9\n5000,9\n6000,9\n"
    for data, name, word in ((b"x", "bad.csv", "bad.csv"), (short, "one.csv", "must cover")):
        page.file_uploader(key="reach_run").set_value((name, data, "text/csv"))
        page.run()
        assert word in pages.refusal(page)[0]
        assert _limits(page) == free
    facts = b"# measured at: crank\n# correction: none\n# sweep rate: 0 rpm/s\n"
    rows = b"".join(b"%d,90\n" % n for n in range(1500, 7001, 100))
    half = facts + b"engine speed [rpm],torque [N*m]\n" + rows
    page.file_uploader(key="reach_run").set_value(("weak.csv", half, "text/csv"))
    page.run()
    assert not page.exception
    assert not pages.refusal(page)
    assert max(_limits(page)) <= 90.0


@pytest.mark.usefixtures("still")
def test_a_boost_ceiling_stands_for_what_the_engine_can_make() -> None:
    """metamorphic: a lower ceiling never allows more; a run without pressure is told so."""
    page = pages.opened(reach="boost", boost_kpa="150")
    assert page.number_input(key="boost_kpa").value == 150
    low = _limits(page)
    assert "manifold pressure of 150 kPa absolute" in pages.words(page)
    page.number_input(key="boost_kpa").set_value(120).run()
    lower = _limits(page)
    assert all(a >= b for a, b in zip(low, lower, strict=True))
    assert sum(low) > sum(lower)


@pytest.mark.usefixtures("still")
def test_the_table_takes_speeds_of_ones_own() -> None:
    """identity: bare numbers are rpm; what cannot be read is said, and even rows stand."""
    page = pages.opened(own_speeds="2000, 3000, 4500, 6000")
    assert [round(v) for v in _speeds(page)] == [2000, 3000, 4500, 6000]
    for text, word in (("2000, 1000", "does not rise"), ("3000", "at least 2"),
                       ("9000, 9500", "none lies within"), ("a, b", "speeds")):  # fmt: skip
        page.text_input(key="own_speeds").set_value(text).run()
        (said,) = pages.refusal(page)
        assert word in said
        assert len(_limits(page)) == 16
    page.text_input(key="own_speeds").set_value("35 1/s, 90 1/s").run()
    assert not page.exception


@pytest.mark.usefixtures("still")
def test_a_curve_to_keep_to_is_sent_in() -> None:
    """identity: the factory's curve sent in gives what the known-good factory curve gives."""
    page = pages.opened(aim="least change")
    known = _limits(page)
    assert "known-good run factory.csv is kept to" in pages.captions(page)
    page.file_uploader(key="reference_run").set_value(("curve.csv", GOOD, "text/csv"))
    page.run()
    assert _limits(page) == known
    page.file_uploader(key="reference_run").set_value(("curve.csv", RUN, "text/csv"))
    page.run()
    assert not pages.refusal(page)
    assert _limits(page) != known


@pytest.mark.usefixtures("still")
def test_where_no_table_meets_the_ask_the_nearest_is_given_on_request() -> None:
    """identity: the sentence alone first; then that table with the sentence beside it."""
    page = pages.opened(own_speeds="2000, 3000, 4000", peak_from="6000")
    (said,) = pages.refusal(page)
    assert "No table can peak" in said
    assert "its last breakpoint is 4,000 rpm" in said
    page.checkbox(key="nearest").check().run()
    assert not pages.refusal(page)
    assert len(_limits(page)) == 3
    assert "The ask cannot be met: No table can peak" in pages.words(page)
