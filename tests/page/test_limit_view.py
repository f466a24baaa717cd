"""The limit by its widgets, without a browser: what is asked of the table, and one of one's own."""

import re

import numpy as np
import pages
import pytest
from streamlit.testing.v1 import AppTest

from torquerisk.errors import InputError
from torquerisk.quantities import RPM
from torquerisk.show.page.own_table import KEY, SPEED, Own, table_of
from torquerisk.show.page.policy_in import CHANCES
from torquerisk.show.page.step_back import KEPT
from torquerisk.study.table.second_axis import AXES

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("unproved")]
GOOD = (pages.HILL / "factory.csv").read_bytes()
HIGH = b"engine speed [rpm],torque [N*m]\n2000,900\n4000,900\n6000,900\n"
LOW = b"engine speed [rpm],torque [N*m]\n1800,20\n4000,20\n6500,20\n"


def _own(page: AppTest) -> Own:
    kept = page.session_state[KEY]
    assert isinstance(kept, Own)
    return kept


def _table(page: AppTest) -> tuple[list[float], list[float]]:
    """Speeds [rpm] and limits [N*m] of the table that the page shows."""
    base = _own(page).base
    assert base is not None
    return [s / RPM for s in base[0]], list(base[1])


def _limits(page: AppTest) -> list[float]:
    return _table(page)[1]


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


def test_the_table_keeps_to_what_is_asked() -> None:
    """identity: rows, earliest peak, steepest rise, and no dip before the peak."""
    page = pages.opened()
    for rows in (4, 40):
        page.slider(key="rows").set_value(rows).run()
        assert len(_limits(page)) == rows
    page.slider(key="peak_from").set_value(5000).run()
    for rise in (10.0, 60.0):
        page.slider(key="rise").set_value(rise).run()
        speeds, limits = _table(page)
        peak = limits.index(max(limits))
        assert speeds[peak] >= 5000 - 1e-6
        steep = 1000 * np.diff(limits[: peak + 1]) / np.diff(speeds[: peak + 1])
        assert (steep <= rise + 1e-6).all()
    page.checkbox(key="no_dip").check().run()
    limits = _limits(page)
    up = limits[: limits.index(max(limits)) + 1]
    assert up == sorted(up)


@pytest.mark.parametrize("goal", ["shortest sweep", "least change", "same shape later"])
@pytest.mark.parametrize("reach", ["measured", "open"])
def test_every_goal_and_reach_gives_a_table(goal: str, reach: str) -> None:
    """identity: each choice is served, or refused in one sentence with nothing stale beside it."""
    page = pages.opened()
    page.selectbox(key="reach").set_value(reach)
    page.selectbox(key="aim").set_value(goal).run()
    assert not page.exception
    said = pages.refusal(page)
    assert len(said) <= 1
    assert bool(said) != bool(pages.charts(page))


def test_an_ask_that_cannot_be_met_leaves_one_sentence_then_the_nearest() -> None:
    """identity: nothing stale under a changed input; then that table with the sentence by it."""
    page = pages.opened(own_speeds="2000, 3000, 4000", peak_from="6000")
    (said,) = pages.refusal(page)
    assert "No table can peak" in said
    assert "its last breakpoint is 4,000 rpm" in said
    assert not pages.charts(page)
    page.checkbox(key="nearest").check().run()
    assert not pages.refusal(page)
    assert len(_limits(page)) == 3
    assert "The ask cannot be met: No table can peak" in pages.words(page)


def test_the_table_takes_speeds_of_ones_own() -> None:
    """identity: bare numbers are rpm; what cannot be read is said, and even rows stand."""
    page = pages.opened(own_speeds="2000, 3000, 4500, 6000")
    assert [round(v) for v in _table(page)[0]] == [2000, 3000, 4500, 6000]
    for text, word in (("2000, 1000", "does not rise"), ("3000", "at least 2"),
                       ("9000, 9500", "none lies within"), ("a, b", "speeds")):  # fmt: skip
        page.text_input(key="own_speeds").set_value(text).run()
        (said,) = pages.refusal(page)
        assert word in said
        assert len(_limits(page)) == 16


def _uploader(page: AppTest, key: str) -> object:
    return next(u for u in page.file_uploader if u.key is not None and u.key.startswith(key))


def test_another_run_or_a_boost_ceiling_stands_for_what_the_engine_can_make() -> None:
    """metamorphic: until it is there the measured one stands; less to make, less in the table."""
    page = pages.opened()
    page.selectbox(key="reach").set_value("another run").run()
    free = _limits(page)
    facts = b"# measured at: crank\n# correction: none\n# sweep rate: 0 rpm/s\n"
    rows = b"".join(b"%d,90\n" % n for n in range(1500, 7001, 100))
    weak = facts + b"engine speed [rpm],torque [N*m]\n" + rows
    for name, data in (("bad.csv", b"x"), ("weak.csv", weak)):
        _uploader(page, "reach_run").set_value((name, data, "text/csv"))  # type: ignore[attr-defined]
        page.run()
        if name == "bad.csv":
            assert "bad.csv" in pages.refusal(page)[0]
            assert _limits(page) == free
    assert not pages.refusal(page)
    assert max(_limits(page)) <= 90.0
    page.selectbox(key="reach").set_value("boost").run()
    page.number_input(key="boost_kpa").set_value(150).run()
    low = _limits(page)
    page.number_input(key="boost_kpa").set_value(120).run()
    assert all(a >= b for a, b in zip(low, _limits(page), strict=True))


def test_a_curve_to_keep_to_is_sent_in() -> None:
    """identity: the factory's curve sent in gives what the known-good factory curve gives."""
    page = pages.opened()
    page.selectbox(key="aim").set_value("least change").run()
    known = _limits(page)
    _uploader(page, "reference_run").set_value(("curve.csv", GOOD, "text/csv"))  # type: ignore[attr-defined]
    page.run()
    assert _limits(page) == known


def _edit(page: AppTest, changed: dict[int, dict[str, float | None]]) -> None:
    """Write into cells of the table on the page, as its widget reports it."""
    own, unit = _own(page), "N·m"
    turn = page.session_state["own_turn"]
    key = f"own_cells_{own.tag}_{turn}_{unit}_{hash(own.base):x}"
    page.session_state[key] = {"edited_rows": changed, "added_rows": [], "deleted_rows": []}
    page.run()


def _send(page: AppTest, name: str, data: bytes) -> None:
    _uploader(page, "own_file").set_value((name, data, "text/csv"))  # type: ignore[attr-defined]
    pages.finished(page.run())


def _verdict(page: AppTest) -> str:
    return " ".join(re.findall(r'<p class="tr-short">(.*?)</p>', pages.markup(page)))


def test_points_typed_in_the_table_move_curve_and_verdict() -> None:
    """identity: one cell far too high is too high there, and only about there; then undone."""
    page = pages.opened(chance="10")
    before = pages.charts(page)
    _edit(page, {5: {"N·m": 900.0}})
    pages.finished(page)
    assert not page.exception
    assert "your limit" in pages.charts(page)[0]
    assert "more than is accepted" in _verdict(page)
    page.slider(key="rise").set_value(100.0).run()
    assert "more than is accepted" in _verdict(pages.finished(page)), "a slider loses no cell"
    page.button(key="own_again").click().run()
    page.slider(key="rise").set_value(80.0).run()
    assert "gives up" in _verdict(page)
    assert pages.charts(page)[:1] == before


def test_a_table_that_is_close_still_says_that_it_exceeds_what_is_accepted() -> None:
    """identity: both counts stand in the first sentence, the rule of rise that is broken below."""
    page = pages.opened()
    _edit(page, {5: {"N·m": 380.0}})
    told = _verdict(pages.finished(page))
    told = re.sub(r"<[^>]+>", "", told)
    assert re.match(r"The table asks +more than is accepted ", told), told
    found = re.search(r"in (all|[\d,]+ of) ([\d,]+) simulated engines, where (\d+) \(1 %\)", told)
    assert found is not None, told
    of, accepted = int(found[2].replace(",", "")), int(found[3])
    many = of if found[1] == "all" else int(found[1].split()[0].replace(",", ""))
    assert many > accepted == round(0.01 * of)
    unit_rise = r"It rises [\d,]+ N·m more than is asked for from [\d,]+ to [\d,]+ rpm"
    assert re.search(unit_rise, pages.words(page))


def test_an_own_table_names_each_broken_rule_and_what_limits_its_rows() -> None:
    """identity: a row far too high early and one far too low break one rule each; the table keeps
    its reasons in another view."""
    page = pages.opened(peak_from="4000")
    page.checkbox(key="no_dip").check().run()
    _edit(page, {1: {"N·m": 390.0}, 3: {"N·m": 100.0}, 9: {"N·m": 350.0}, 12: {"N·m": 150.0}})
    said = pages.words(pages.finished(page))
    for rule in ("It rises", "It peaks at", "It falls before its peak", "It rises again after"):
        assert rule in said, rule
    pages.to(page, "dip")
    page = pages.finished(pages.to(page, ""))
    (cells,) = [d.value for d in page.dataframe if "limited by" in d.value.columns]
    told = list(cells["limited by"])
    assert all(told)
    assert not {"what it makes", "an even curve"} & set(told), "that is the proposed table's"


def test_a_step_back_covers_sliders_and_cells() -> None:
    """identity: each step puts back what was asked before it, to the first; units begin anew."""
    page = pages.opened(chance="10")
    assert page.button(key="step_back").disabled
    first = _table(page)
    page.select_slider(key="chance").set_value(1.0).run()
    page.slider(key="rise").set_value(30.0).run()
    shaped = _table(page)
    _edit(page, {5: {"N·m": 900.0}})
    page.slider(key="peak_from").set_value(5000).run()
    for wanted in (
        {"peak_from": 3300, "cells": True}, {"rise": 30.0, "cells": False},
        {"chance": 1.0, "rise": 80.0}, {"chance": 10.0},
    ):  # fmt: skip
        page.button(key="step_back").click().run()
        assert not page.exception
        if "cells" in wanted:
            assert (900.0 in _limits(page)) == wanted.pop("cells")
        if wanted.get("rise") == 30.0:
            assert _table(page) == shaped
        for key, value in wanted.items():
            widget = page.select_slider if key == "chance" else page.slider
            assert widget(key=key).value == value, key
    assert _table(page) == first
    assert page.button(key="step_back").disabled


def test_what_stands_at_its_start_is_not_put_back() -> None:
    """identity: a widget takes its value from its start or from what was asked, never from both."""
    page = pages.opened(chance="10")
    assert page.session_state[KEPT][2] == {"chance": 10.0}
    assert page.slider(key="rise").value == 80.0
    page = pages.to(page, "dip")
    assert page.session_state[KEPT][2] == {"chance": 10.0}
    page = pages.to(page, "")
    assert page.select_slider(key="chance").value == 10.0
    page.select_slider(key="chance").set_value(1.0).run()
    assert page.session_state[KEPT][2] == {}


def test_a_table_sent_in_is_judged_and_a_bad_one_leaves_no_verdict() -> None:
    """identity: 900 N·m is far above the engine's parts, 20 N·m far below; nonsense is refused."""
    page = pages.opened(chance="10")
    _send(page, "mine.csv", HIGH)
    assert "from 1,800 to 6,500 rpm, if the engine" in _verdict(page)
    _send(page, "mine.csv", LOW)
    assert re.search("is <span.*estimated to hold", _verdict(page))
    for data in (
        b"",
        b"a,b\n1,2\n",
        b"engine speed [rpm],torque [N*m]\n3000,200\n",
        b"\xff\x00\x01",
    ):
        _send(page, "bad <b>.csv", data)
        assert not page.exception
        (said,) = pages.refusal(page)
        assert len(said) < 400
        assert not _verdict(page)


@pytest.mark.parametrize(
    ("cells", "word"),
    [({0: {SPEED: None}}, "row 1 of the table has no engine speed"),
     ({2: {"N·m": None}}, "row 3 of the table has no limit"),
     ({1: {SPEED: 1800.0}}, "same engine speed twice"),
     ({1: {"N·m": -4.0}}, "must be 0 to 20,000")],
)  # fmt: skip
def test_cells_that_make_no_table_answer_with_one_sentence(
    cells: dict[int, dict[str, float | None]], word: str
) -> None:
    """identity: which row, what is wrong, what to do; and no verdict."""
    page = pages.opened()
    _edit(page, cells)
    assert not page.exception
    (said,) = pages.refusal(page)
    assert word in said
    assert not _verdict(page)


def test_another_case_lets_go_of_the_table() -> None:
    """identity: another engine's cells are not judged, nor its earliest peak asked for."""
    page = pages.opened(peak_from="5000")
    _edit(page, {5: {"N·m": 900.0}})
    page.query_params["case"] = "tow_diesel"
    page.run()
    assert page.slider(key="peak_from").value < 3000
    assert not page.exception
    assert "more than is accepted" not in _verdict(page)


def test_rows_are_put_in_order_and_empty_ones_left_out() -> None:
    """identity."""
    nan = float("nan")
    points, limit = table_of([(5000.0, 200.0), (nan, None), (2000.0, 150.5)])
    assert np.array(points) == pytest.approx(np.array([2000.0, 5000.0]) * RPM)
    assert limit == (150.5, 200.0)
    with pytest.raises(InputError, match="2 to 400"):
        table_of([(2000.0, 100.0)])


def _cells(page: AppTest) -> list[list[str]]:
    found = re.search(r"at the crank over.*?<table>(.*?)</table>", pages.markup(page), re.S)
    assert found is not None
    rows = re.findall(r"<tr>(.*?)</tr>", found.group(1), re.S)[1:]
    return [re.findall(r"<td[^>]*>(.*?)</td>", row) for row in rows]


def test_what_is_asked_outlives_another_view_and_a_typed_row_a_reload() -> None:
    """identity: chance, rise and a typed cell stand after a view between; the link has the cell."""
    page = pages.opened(chance="10")
    page.slider(key="rise").set_value(60.0).run()
    page.select_slider(key="chance").set_value(5.0).run()
    _edit(page, {5: {"N·m": 900.0}})
    assert "more than is accepted" in _verdict(pages.finished(page))
    link = str(page.query_params["table"])
    assert ":900.00" in link
    page.query_params.clear()
    pages.to(page, "dip")
    pages.to(page, "")
    assert page.select_slider(key="chance").value == 5.0
    assert page.slider(key="rise").value == 60.0
    assert "more than is accepted" in _verdict(pages.finished(page))
    again = pages.finished(pages.opened(chance="5", table=link))
    assert "more than is accepted" in _verdict(again)
    again.button(key="own_again").click().run()
    assert "table" not in again.query_params
    for text in ("a:b", "1000:5", "9:9:9"):
        assert len(pages.refusal(pages.opened(table=text))) == 1


def test_a_table_over_a_second_axis() -> None:
    """identity: every axis offers values that read; every cell names the part that governs it."""
    page = pages.unfolded(pages.opened(chance="10"), "axis")
    for axis in AXES:
        page.selectbox(key="axis").set_value(axis.name).run()
        assert not pages.refusal(page), axis.name
    page.selectbox(key="axis").set_value("charge temperature").run()
    for text, word in (("", "empty"), ("20 °C", "2 to"), ("20 bar, 30 bar", "bar"),
                       ("20, 20 °C", "twice"), ("<b>", "values")):  # fmt: skip
        page.text_input(key="axis_values_charge_temperature").set_value(text).run()
        (said,) = pages.refusal(page)
        assert word in said
    page.text_input(key="axis_values_charge_temperature").set_value("68 °F, 313.15 K").run()
    page.button(key="axis_go").click().run()
    assert not page.exception
    assert re.findall(r'<th scope="col" class="n">(\d+ °C)',
                                            pages.markup(page)) == ["20 °C", "40 °C"]  # fmt: skip
    rows = _cells(page)
    assert len(rows) == 16
    assert all(re.fullmatch(r"[\d,]+<small>[a-z].*</small>", cell) for row in rows for cell in row)
