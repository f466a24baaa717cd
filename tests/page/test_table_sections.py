"""What stands around the limit table on the page: trade-off, second axis, a table of one's own."""

import re

import numpy as np
import pages
import pytest
from streamlit.testing.v1 import AppTest

from torquerisk.case import default_policy
from torquerisk.errors import InputError
from torquerisk.quantities import RPM
from torquerisk.show.page import case_in
from torquerisk.show.page.sections_own import LIMIT, SPEED, table_of
from torquerisk.show.page.work import assessed
from torquerisk.show.pictures import gallery
from torquerisk.show.pictures.style import LIGHT, NONE, READING, UNKNOWN, Stamp
from torquerisk.show.text.two_axes import table_2d_csv
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.table.judge import judge_existing
from torquerisk.study.table.second_axis import AXES, GEAR, Axis
from torquerisk.study.table.trade_off import Frontier, FrontierPoint, NoTable
from torquerisk.study.table.two_axes import propose_table_2d

pytestmark = pytest.mark.slow
STAMP = Stamp(case="invented", digest="0123456789abcdef")
HIGH = b"engine speed [rpm],torque [N*m]\n2000,900\n4000,900\n6000,900\n"
LOW = b"engine speed [rpm],torque [N*m]\n1800,20\n4000,20\n6500,20\n"


@pytest.fixture(scope="module")
def page() -> AppTest:
    return pages.finished(pages.opened())


@pytest.fixture(scope="module")
def assessment() -> Assessment:
    case = case_in.read_case(case_in.source_from_paths(pages.HILL, pages.HILL, "test"))
    return assessed(case, (), default_policy())


def test_trade_off_follows_the_limit_table(page: AppTest) -> None:
    """identity: the tuner sees what caution costs right after the table, chosen point marked."""
    assert pages.questions(page)[1:3] == ["What limit would hold?", "What does caution cost?"]
    told = [t for t in pages.charts(page) if t.startswith("Area under power")]
    assert len(told) == 2
    assert all(t.count("chosen") == 1 for t in told)
    assert "the accepted chance from 1 % to 0.5 %" in pages.words(page)


def test_area_grows_with_the_accepted_chance(page: AppTest) -> None:
    """metamorphic: a chance that is greater asks no more of the table, so its area never falls."""
    told = next(t for t in pages.charts(page) if "by the accepted chance" in t)
    areas = [float(v) for v in re.findall(r"% (\d+\.\d)", told)]
    assert len(areas) >= 7
    assert areas == sorted(areas)
    assert areas[-1] > areas[0]


def test_the_chosen_chance_is_marked() -> None:
    """identity: another accepted chance moves the mark."""
    page = pages.opened()
    page.select_slider(key="chance").set_value(5.0).run()
    pages.finished(page)
    told = next(t for t in pages.charts(page) if "by the accepted chance" in t)
    assert re.search(r"5 % [\d.]+, chosen", told)


def _point(chance: float, peak: float, area: float) -> FrontierPoint:
    return FrontierPoint(
        chance=chance, peak_from=peak, breakpoints=np.array([200.0, 600.0]),
        limit=np.array([300.0, 300.0]), area=area, peak_speed=peak, peak_torque=300.0,
        peak_power=1.8e5, chance_any_max=chance, chance_pull=chance, chance_pulls=chance,
        coarse=chance < 0.004,
    )  # fmt: skip


def test_a_point_without_a_table_is_a_cross() -> None:
    """identity: what no table meets is drawn as such, and said in the text and the numbers."""
    chosen = _point(0.01, 400.0, 5.0e7)
    none = NoTable(chance=0.01, peak_from=600.0, reason="no table rises that fast.")
    found = Frontier(
        chosen=chosen, by_chance=(_point(0.001, 400.0, 4.9e7), chosen), by_peak=(chosen, none)
    )
    one = gallery.by_peak_picture(found, 1024, LIGHT, STAMP)
    assert "no table" in one.alt
    assert one.columns[-1].values == ["chosen", "no table meets it"]
    crossed = [t for t in one.figure.data if t.marker.symbol == NONE]
    assert len(crossed) == 1
    other = gallery.by_chance_picture(found, 1024, LIGHT, STAMP)
    assert other.columns[-1].values == ["fewer than four engines", "chosen"]
    signs = [(t.marker.symbol, t.marker.size) for t in other.figure.data if t.mode == "markers"]
    assert signs == [(UNKNOWN, 9), (READING, 15)]


def _table_2d(page: AppTest) -> tuple[list[str], list[list[str]]]:
    found = re.search(r"Torque limit in N·m at the crank over.*?<table>(.*?)</table>",
                      pages.markup(page), re.S)  # fmt: skip
    assert found is not None
    # a column may say below its value that too few engines prove it
    heads = re.findall(r'<th scope="col"[^>]*>(.*?)(?:<br>not proved)?</th>', found.group(1))
    rows = re.findall(r"<tr>(.*?)</tr>", found.group(1), re.S)[1:]
    return heads, [re.findall(r"<td[^>]*>(.*?)</td>", row) for row in rows]


@pytest.mark.parametrize("axis", AXES, ids=lambda axis: axis.name)
def test_a_table_over_every_axis(axis: Axis) -> None:
    """identity: each axis offers values that work; every cell names the part that governs it."""
    page = pages.finished(pages.opened())
    page.selectbox(key="axis").set_value(axis.name).run()
    key = f"axis_values_{axis.name.replace(' ', '_')}"
    assert page.text_input(key=key).value == axis.first_values
    assert "Torque limit in N·m at the crank over" not in pages.markup(page)
    page.button(key="axis_go").click().run()
    assert not page.exception
    heads, rows = _table_2d(page)
    assert len(heads) == len(axis.first_values.split(",")) + 1
    assert len(rows) == 16
    assert all(re.fullmatch(r"[\d,]+<small>[a-z].*</small>", cell) for row in rows for cell in row)


def test_values_are_read_with_their_units() -> None:
    """identity: 68 °F is 20 °C and 313.15 K is 40 °C, by definition of the scales."""
    page = pages.finished(pages.opened())
    page.selectbox(key="axis").set_value("charge temperature").run()
    page.text_input(key="axis_values_charge_temperature").set_value("68 °F, 313.15 K").run()
    page.button(key="axis_go").click().run()
    assert _table_2d(page)[0][1:] == ["20 °C", "40 °C"]
    page.text_input(key="axis_values_charge_temperature").set_value("20, 50 °C").run()
    assert "Torque limit in N·m at the crank over" not in pages.markup(page)
    assert "Something changed since the last table" in pages.words(page)


@pytest.mark.parametrize(
    ("text", "word"),
    [("", "empty"), ("20 °C", "2 to"), ("20 bar, 30 bar", "bar"), ("20, 20 °C", "twice"),
     ("20, 900 °C", "900"), ("<b>", "&lt;b&gt;|<b>|values")],
)  # fmt: skip
def test_bad_values_answer_with_one_sentence(text: str, word: str) -> None:
    """identity: a list that cannot be read says why, before any button is pressed."""
    page = pages.finished(pages.opened())
    page.selectbox(key="axis").set_value("charge temperature").run()
    page.text_input(key="axis_values_charge_temperature").set_value(text).run()
    assert not page.exception
    said = pages.refusal(page)
    assert len(said) == 1
    assert re.search(word, said[0])


def test_the_saved_table_is_the_commands(assessment: Assessment) -> None:
    """identity: the cells shown are those of the command's file for the same wishes."""
    page = pages.finished(pages.opened())
    page.selectbox(key="axis").set_value("gear").run()
    page.text_input(key="axis_values_gear").set_value("200, 600 rpm/s").run()
    page.button(key="axis_go").click().run()
    heads, rows = _table_2d(page)
    policy = default_policy(
        peak_from=page.slider(key="peak_from").value * RPM,
        rise=page.select_slider(key="rise").value * 0.03 / np.pi, points=16,
    )  # fmt: skip
    table = propose_table_2d(assessment, GEAR, [200 * RPM, 600 * RPM], policy)
    lines = table_2d_csv(table).splitlines()[-len(rows) - 1 :]
    assert [f"torque limit at {h} [N·m]" for h in heads[1:]] == lines[0].split(",")[1:]
    shown = [[float(cell.split("<")[0].replace(",", "")) for cell in row] for row in rows]
    assert shown == [[float(v) for v in line.split(",")[1:]] for line in lines[1:]]


def test_a_table_of_ones_own_is_judged() -> None:
    """identity: 900 N·m is far above the engine's parts and 20 N·m far below them."""
    page = pages.finished(pages.opened())
    pages.own_table(page).set_value(("mine.csv", HIGH, "text/csv"))
    page.run()
    pages.finished(page)
    assert not page.exception
    told = next(t for t in pages.charts(page) if "your table, the torque" in t)
    assert "estimated to exceed from 1,800 to 6,500 rpm" in told
    assert "its end values are taken to hold beyond it" in pages.words(page)
    pages.own_table(page).set_value(("mine.csv", LOW, "text/csv"))
    page.run()
    pages.finished(page)
    told = next(t for t in pages.charts(page) if "your table, the torque" in t)
    assert "The table is estimated to hold from 1,800 to 6,500 rpm." in told
    assert "It leaves torque unused" in pages.words(page)


@pytest.mark.parametrize(
    "data",
    [b"", b"x", b"a,b\n1,2\n", b"engine speed [rpm],torque [N*m]\n3000,200\n", b"\xff\x00\x01",
     b"engine speed [rpm],torque [N*m]\n20000,200\n30000,100\n"],
)  # fmt: skip
def test_a_bad_table_answers_with_one_sentence(data: bytes) -> None:
    """identity: a file that is no limit table, or of no speed of the run, says why."""
    page = pages.finished(pages.opened())
    pages.own_table(page).set_value(("bad <b>.csv", data, "text/csv"))
    page.run()
    pages.finished(page)
    assert not page.exception
    said = pages.refusal(page)
    assert len(said) == 1
    assert len(said[0]) < 400


def test_the_picture_of_a_table_has_its_numbers_behind_it(assessment: Assessment) -> None:
    """identity: rows of the table come back, and too high and unused never both count."""
    points = np.array([2000.0, 3500.0, 6000.0]) * RPM
    judged = judge_existing(assessment, points, np.array([150.0, 300.0, 100.0]))
    one = gallery.judged_picture(judged, LIGHT, STAMP)
    numbers = {c.name: c.values for c in one.columns}
    shown = dict(zip(np.round(np.array(numbers["engine speed"], dtype=float)),
                     numbers["your table"], strict=True))  # fmt: skip
    assert [shown[float(v)] for v in (2000, 3500, 6000)] == pytest.approx([150.0, 300.0, 100.0])
    pairs = zip(numbers["too high by"], numbers["left unused"], strict=True)
    assert all(not (over and spare) for over, spare in pairs)


def test_the_numbers_can_be_copied(page: AppTest) -> None:
    """identity: the block to copy is one line of speed and limit for each of the 16 rows."""
    assert not page.code  # its script is a large one, sent when the fold is opened
    (one,) = pages.unfolded(page).code
    rows = [[float(v) for v in line.split("\t")] for line in one.value.splitlines()]
    assert len(rows) == 16
    assert [r[0] for r in rows] == sorted({r[0] for r in rows})
    assert all(0 < limit < 1_000 for _, limit in rows)


def _edit(page: AppTest, changed: dict[int, dict[str, float]]) -> None:
    """Write into cells of the table on the page, as its widget reports it."""
    key = f"own_cells_{page.session_state['own_turn']}"
    page.session_state[key] = {"edited_rows": changed, "added_rows": [], "deleted_rows": []}
    page.run()


def test_the_proposed_table_is_edited_in_place_and_judged() -> None:
    """identity: one cell far too high is too high there, and only about there."""
    page = pages.finished(pages.opened())
    assert not [t for t in pages.charts(page) if "your table, the torque" in t]
    _edit(page, {5: {LIMIT: 900.0}})
    pages.finished(page)
    assert not page.exception
    assert not pages.refusal(page)
    told = next(t for t in pages.charts(page) if "your table, the torque" in t)
    assert "estimated to exceed" in told
    assert "from 1,800 to 6,500 rpm" not in told
    page.select_slider(key="rise").set_value(100).run()
    pages.finished(page)
    assert "estimated to exceed" in next(
        t for t in pages.charts(page) if "your table, the torque" in t
    )
    page.button(key="own_again").click().run()
    pages.finished(page)
    assert not [t for t in pages.charts(page) if "your table, the torque" in t]


def test_another_case_or_the_button_lets_go_of_the_table() -> None:
    """identity: neither another engine's cells nor a file that was put back are judged."""
    page = pages.finished(pages.opened())
    pages.own_table(page).set_value(("mine.csv", HIGH, "text/csv"))
    page.run()
    page.button(key="own_again").click().run()
    pages.finished(page)
    assert not [t for t in pages.charts(page) if "your table, the torque" in t]
    _edit(page, {5: {LIMIT: 900.0}})
    page.selectbox(key="case").set_value("tow_diesel").run()
    pages.finished(page)
    assert not page.exception
    assert not [t for t in pages.charts(page) if "your table, the torque" in t]


def test_the_proposed_table_as_it_stands_is_judged_to_hold() -> None:
    """identity: what was proved is not found too high by another way through the program."""
    page = pages.finished(pages.opened())
    page.button(key="own_judge").click().run()
    pages.finished(page)
    told = next(t for t in pages.charts(page) if "your table, the torque" in t)
    assert "estimated to hold" in told
    assert "exceed" not in told


@pytest.mark.parametrize(
    ("cells", "word"),
    [({0: {SPEED: None}}, "row 1 of the table has no engine speed"),
     ({2: {LIMIT: None}}, "row 3 of the table has no limit"),
     ({1: {SPEED: 1800.0}}, "same engine speed twice"),
     ({1: {LIMIT: -4.0}}, "must be 0 to 20,000")],
)  # fmt: skip
def test_cells_that_make_no_table_answer_with_one_sentence(
    cells: dict[int, dict[str, float]], word: str
) -> None:
    """identity: which row, what is wrong, what to do."""
    page = pages.finished(pages.opened())
    _edit(page, cells)
    assert not page.exception
    (said,) = pages.refusal(page)
    assert word in said


def test_rows_are_put_in_order_and_empty_ones_left_out() -> None:
    """identity."""
    nan = float("nan")
    points, limit = table_of([(5000.0, 200.0), (nan, None), (2000.0, 150.5)])
    assert np.array(points) == pytest.approx(np.array([2000.0, 5000.0]) * RPM)
    assert limit == (150.5, 200.0)
    with pytest.raises(InputError, match="2 to 400"):
        table_of([(2000.0, 100.0)])
