"""Which case is open, what may be changed of it, and what of it stays apart from every other."""

import dataclasses
import io
import re
import zipfile
from pathlib import Path

import pages
import pytest
from streamlit.testing.v1 import AppTest

from torquerisk.case import COMPRESSION_ONLY, Kind
from torquerisk.errors import InputError
from torquerisk.files.engine_file import engine_to_toml
from torquerisk.show.page import case_in, inputs
from torquerisk.show.page.case_in import Case, read_case, source_named, source_of_files
from torquerisk.show.page.start import typed_run
from torquerisk.show.words.prose import Units

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("unproved")]
RUN = ("run.csv", (pages.HILL / "run.csv").read_bytes())
ENGINE = ("engine.toml", (pages.HILL / "engine.toml").read_bytes())
GOOD = ("factory.csv", (pages.HILL / "factory.csv").read_bytes())


def _case(name: str = "hill_climb") -> Case:
    source = source_named(name)
    assert source is not None
    return read_case(source)


def _sent(page: AppTest, *files: tuple[str, bytes]) -> AppTest:
    page.file_uploader(key="files").set_value([(n, d, "text/plain") for n, d in files])
    return page.run()


def test_the_command_lines_case_opens_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """identity: the environment names the case to open; one that is gone leaves one sentence."""
    folder = pages.ROOT / "sample_runs" / "tow_diesel"
    monkeypatch.setenv(case_in.ENGINE_VARIABLE, str(folder / "engine.toml"))
    monkeypatch.setenv(case_in.RUN_VARIABLE, str(folder / "run.csv"))
    page = pages.opened("inputs", case="")
    assert not pages.refusal(page)
    assert "diesel" in pages.words(page)
    monkeypatch.setenv(case_in.ENGINE_VARIABLE, "/nowhere/engine.toml")
    page = pages.opened("inputs", case="")
    assert not page.exception
    assert len(pages.refusal(page)) == 1


def test_only_the_runs_that_the_engine_names_are_read(tmp_path: Path) -> None:
    """identity: what else lies beside the engine, were it empty, broken or a folder, is nothing."""
    for name, data in (ENGINE, RUN, GOOD):
        (tmp_path / name).write_bytes(data)
    (tmp_path / "empty.csv").write_bytes(b"")
    (tmp_path / "folder.csv").mkdir()
    (tmp_path / "dangling.csv").symlink_to(tmp_path / "none.csv")
    source = case_in.source_from_paths(tmp_path, tmp_path, "given")
    assert [name for name, _ in source.companions] == ["factory.csv"]
    assert read_case(source).engine.known_good.curve is not None


def test_files_are_read_in_any_order_and_opened_under_a_name_of_their_own() -> None:
    """identity: the same case whichever file comes first; the link names it from then on."""
    page = _sent(pages.opened("case"), GOOD, ("pull.csv", RUN[1]), ENGINE)
    assert not pages.refusal(page)
    assert "Run pull.csv on engine Invented hill-climb four: read." in pages.words(page)
    assert "factory.csv as known good." in pages.words(page)
    page.button(key="open_files").click().run()
    assert re.fullmatch("[0-9a-f]{16}", str(page.query_params["case"]))
    for files in ([ENGINE, GOOD, RUN], [RUN, ENGINE, GOOD]):
        assert read_case(source_of_files(files, None)).engine.known_good.curve is not None


def test_runs_that_the_engine_file_names_are_its_own_and_are_saved_with_it() -> None:
    """identity: of the files sent in, those named are known good or survived, the other is judged;
    also where that one run is both; a saved case holds them all."""
    rungs = (
        ENGINE[1]
        + b"""
[[survived]]
run = "quiet.csv"
pulls = 20
[[survived]]
run = "run.csv"
seen = "coolant pressure"
"""
    )
    files = [RUN, ("engine.toml", rungs), ("quiet.csv", RUN[1]), GOOD, ("high.csv", RUN[1])]
    case = read_case(source_of_files(files, None))
    assert case.run.name == "high.csv"
    assert [rung.curve.name for rung in case.engine.survived] == ["quiet.csv", "run.csv"]
    again = read_case(source_of_files(files[:-1][::-1], None))
    assert again.run.name == "run.csv"
    saved = read_case(source_of_files([("s.zip", case_in.case_zip(case.engine, case.run))], None))
    assert [r.count for r in saved.engine.survived] == [20, 1]
    assert all(r.curve is not None for r in saved.engine.survived)
    assert saved.engine.known_good.curve is not None


@pytest.mark.parametrize(
    ("files", "word"),
    [
        ([ENGINE], "now add the run file"),
        ([("broken.toml", b"bore = [1, 2\n")], "broken.toml is no valid TOML"),
        ([("bore.toml", b'bore = "86"\n')], "bore.toml: bore"),
        ([ENGINE, RUN], "factory.csv"),
        ([ENGINE, ("two.toml", b"")], "both engine files"),
        ([("a.csv", b""), ("b.csv", b"")], "not clear which run"),
        ([("empty.csv", b"")], "empty.csv"),
        ([("words.csv", b"speed [rpm],torque [N*m]\nfast,much\n")], "words.csv"),
        ([("picture.csv", b"\x89PNG\r\n\x1a\n" + bytes(range(256)))], "picture.csv"),
        ([("no unit.csv", b"speed,torque\n1000,100\n2000,200\n3000,300\n")], "no unit.csv"),
        ([("broken.zip", b"PK\x03\x04nonsense")], "broken.zip"),
        ([("text.zip", b"hello")], "text.zip"),
        ([("e.toml", b"bore = [1, 2\n"), RUN], "e.toml"),
    ],
)
def test_a_wrong_file_leaves_one_sentence_and_the_page(
    files: list[tuple[str, bytes]], word: str
) -> None:
    """identity: which file, what is wrong; the case that was open still is."""
    page = _sent(pages.opened("case"), *files)
    assert not page.exception
    (said,) = pages.refusal(page)
    assert word in said
    assert not pages.refusal(pages.to(page, "dip"))


def test_foreign_text_is_shown_and_never_run() -> None:
    """identity: names from files meet HTML, Markdown and the charts' markup escaped."""
    evil = "<img src=x onerror=alert(1)> **b** $x$ :red[y] %{z} <b>"
    named = dataclasses.replace(_case().engine, name=evil)
    files = [("e.toml", engine_to_toml(named).encode()), ("<b>r</b>.csv", RUN[1]), GOOD]
    page = _sent(pages.opened("case"), *files)
    page.button(key="open_files").click().run()
    for view in ("", "inputs"):
        pages.to(page, view)
        assert not page.exception
        assert not pages.refusal(page)
        assert "<img" not in pages.markup(page)
        assert "<b>r</b>" not in pages.markup(page)
        for chart in page.get("plotly_chart"):
            assert "<img" not in chart.proto.spec.replace("\\u003c", "<")
            assert "%{z}" not in chart.proto.spec
    assert "<img src=x onerror=alert(1)>" in pages.words(page)


def test_a_saved_case_opens_as_it_was(tmp_path: Path) -> None:
    """identity: the file that the page saves is a case that reads back the same."""
    case = _case()
    packed = case_in.case_zip(case.engine, case.run)
    with zipfile.ZipFile(io.BytesIO(packed)) as archive:
        archive.extractall(tmp_path)
    again = read_case(source_of_files([("saved.zip", packed)], None))
    for name, declaration in inputs.every_declaration():
        assert again.engine.given(name) == case.engine.given(name), declaration.label
    assert (again.run.torque == case.run.torque).all()
    assert again.engine.known_good.curve is not None


def _group(page: AppTest, section: str) -> AppTest:
    return pages.unfolded(page, f"in_{section or 'engine'}")


def _send(page: AppTest) -> AppTest:
    return next(b for b in page.button if b.label == "Work it out").click().run()


def _field(page: AppTest, name: str) -> object:
    boxes = [*page.number_input, *page.selectbox, *page.text_input]
    wanted = re.compile(rf"in_{re.escape(name)}_([0-9a-f]{{16}}|[a-z]+_[a-z]+)_(si|us)")
    return next(b for b in boxes if b.key is not None and wanted.fullmatch(b.key))


def _has(page: AppTest, name: str) -> bool:
    return any(b.key and b.key.startswith(f"in_{name}_") for b in page.number_input)


def test_an_edited_input_has_a_link_of_its_own_and_undo_goes_back() -> None:
    """metamorphic: another ratio, another case in the link; undone, everything is as before."""
    page = _group(pages.opened("inputs"), "")
    first = page.query_params["case"]
    _field(page, "compression_ratio").set_value(11.5)  # type: ignore[attr-defined]
    _send(page)
    assert "Changed on this page: compression ratio" in pages.words(page)
    assert page.query_params["case"] != first
    again = pages.opened("inputs", case=str(page.query_params["case"]))
    assert "Changed on this page: compression ratio" in pages.words(again)
    page.button(key="undo").click().run()
    assert page.query_params["case"] == first
    assert "Changed on this page" not in pages.words(page)


def test_a_fact_about_the_test_can_be_changed_though_the_run_states_it() -> None:
    """metamorphic: a run's own facts win over the engine's, a change here over both."""
    page = _group(pages.opened("inputs"), "test")
    assert "correction undone" in pages.words(page)
    _field(page, "test.correction").set_value("none")  # type: ignore[attr-defined]
    _send(page)
    assert "no correction to undo" in pages.words(page)


def test_inputs_that_contradict_each_other_leave_one_sentence() -> None:
    """identity: the engine's own check, word for word; the case stays as it was."""
    page = _group(pages.opened("inputs"), "")
    first = page.query_params["case"]
    _field(page, "rod_length").set_value(50.0)  # type: ignore[attr-defined]
    _send(page)
    (said,) = pages.refusal(page)
    assert "rod" in said
    assert page.query_params["case"] == first


def test_leaving_a_form_untouched_changes_nothing() -> None:
    """identity: shown numbers are rounded, yet sending the form unchanged is no edit."""
    for units in ("SI", "US"):
        page = _group(pages.opened("inputs", units=units), "head_joint")
        _send(page)
        assert "Changed on this page" not in pages.words(page)


def test_how_much_is_simulated_is_said_at_the_foot() -> None:
    """identity: what the form says is what the foot of the page states."""
    page = pages.unfolded(pages.opened("inputs"), "sample")
    next(b for b in page.number_input if b.label.startswith("Seed")).set_value(7)
    _send(page)
    assert "Seed 7, 256 simulated engines" in pages.words(page)


@pytest.mark.parametrize(
    ("case", "not_asked"), [("hill_climb", COMPRESSION_ONLY), ("tow_diesel", ("fuel.octane",))]
)
def test_every_input_is_a_widget_with_unit_and_range(case: str, not_asked: tuple[str, ...]) -> None:
    """identity: widgets follow the declarations: label, unit, limits, options, given or assumed.

    What only the other kind of ignition has is not asked for.
    """
    page = pages.unfolded(
        pages.opened("inputs", case=case, draws=64), *(f"in_{s or 'engine'}" for s in inputs.TITLES)
    )
    assert not page.exception
    for name, declaration in inputs.every_declaration():
        if name in not_asked:
            assert not _has(page, name)
            continue
        box = _field(page, name)
        label = box.label.replace("\\", "")  # type: ignore[attr-defined]
        assert declaration.label.split(",")[0].split("(")[0].strip() in label
        if declaration.kind is not None and not declaration.options:
            for end, shown in ((declaration.low, box.min), (declaration.high, box.max)):  # type: ignore[attr-defined]
                wanted = declaration.kind.shown(end)
                assert shown == pytest.approx(wanted, rel=1e-6, abs=1e-9)
            assert inputs.pretty_unit(declaration.kind.shown_unit) in label


def test_torques_are_typed_in_the_units_chosen() -> None:
    """NIST SP 811: 40 N·m is 29.502 lb·ft; the value kept is the given one."""
    page = _group(pages.opened("inputs", units="US"), "head_joint")
    box = _field(page, "head_joint.tightening_torque")
    assert "lb·ft" in box.label  # type: ignore[attr-defined]
    assert box.value == pytest.approx(29.502, abs=1e-3)  # type: ignore[attr-defined]


def test_kinds_have_a_shown_unit_that_people_write() -> None:
    """identity: no caret or star is left in a unit on the page."""
    for kind in Kind:
        for units in Units:
            assert not re.search(r"[*^]", inputs.unit_of(kind, units)[0])


def test_a_case_that_is_no_case_is_refused() -> None:
    """identity."""
    with pytest.raises(InputError, match="No engine is open"):
        source_of_files([RUN], None)


def test_my_engine_in_two_minutes() -> None:
    """identity: ten fields, the data sheet and a typed run open a case; blanks are asked for."""
    page = pages.opened("case")

    def enter(name: str, value: object) -> None:
        boxes = [*page.number_input, *page.selectbox, *page.text_input]
        next(b for b in boxes if b.key == f"new_{name}_N·m").set_value(value)  # type: ignore[attr-defined]

    def send() -> None:
        next(b for b in page.button if b.label == "Work it out").click().run()

    for name, value in (
        ("ignition", "spark"), ("cylinders", 4), ("stroke", 86.0), ("rod_length", 145.0),
        ("compression_ratio", 9.5), ("fuel.blend", "E10"), ("head_joint.fasteners", 10),
        ("head_joint.thread", "M11x1.5"), ("head_joint.property_class", "10.9"),
        ("rated.torque", 280.0), ("rated.torque_speed", 4000.0), ("rated.power", 150.0),
        ("rated.power_speed", 6000.0),
    ):  # fmt: skip
        enter(name, value)
    page.text_area(key="new_run").set_value("2000 250\n3000;330\n4000, 350\n5000 340\n6000 300")
    send()
    (said,) = pages.refusal(page)
    assert said == "Still to be filled in: bore."
    enter("bore", 84.0)
    send()
    assert not page.exception
    assert re.fullmatch("[0-9a-f]{16}", str(page.query_params["case"]))
    opened = pages.opened("inputs", case=str(page.query_params["case"]))
    assert "bore 84 mm, stroke 86 mm, 1,906 cm³, E10" in pages.words(opened)
    assert "Run typed run: 5 rows, 2,000 to 6,000 rpm" in pages.words(opened)


@pytest.mark.parametrize(
    ("text", "word"), [("", "still missing"), ("2000", "line 1"), ("2000 1,5 3", "line 1")]
)
def test_a_typed_run_that_is_none_is_refused(text: str, word: str) -> None:
    """identity: which line, what it must be."""
    with pytest.raises(InputError, match=word):
        typed_run(text, "N·m")


def test_pulls_that_were_survived_are_told_on_the_page_and_taken_back() -> None:
    """identity: the run on the page becomes a rung of its engine, with its pulls and what was seen;
    the other inputs stay; the last is forgotten again."""
    page = pages.unfolded(pages.opened("inputs"), "survived")
    (pulls,) = (n for n in page.number_input if n.label.startswith("Pulls driven like this run"))
    pulls.set_value(20)
    (seen,) = (s for s in page.selectbox if s.label == "What was seen in them")
    assert seen.value == "nothing"
    pages.finished(_send(page))
    assert "20 pulls, seen: nothing" in _titles(page)
    assert "known to survive" in pages.words(page)
    pages.unfolded(page, "survived")
    (forget,) = (b for b in page.button if b.label == "Forget the last")
    pages.finished(forget.click().run())
    assert "nobody says" in _titles(page)


def _titles(page: AppTest) -> str:
    return " ".join(one.label for one in page.expander)
