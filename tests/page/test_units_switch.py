"""The switch of units: everything shown follows it, nothing is computed anew, no wish is lost."""

import html
import json
import re
from typing import Any

import numpy as np
import pages
import pytest
from streamlit.testing.v1 import AppTest

from torquerisk.case import default_policy
from torquerisk.show.page import case_in, main
from torquerisk.show.page.units_in import RISES
from torquerisk.show.page.work import Background, assessed
from torquerisk.study.assessment.result import Assessment

pytestmark = pytest.mark.slow

FOOT_POUND = 1.3558179483
"""One pound-force foot [N*m]. Source: NIST SP 811 (2008), appendix B.8, from exact definitions."""
HORSEPOWER = 745.69987
"""One horsepower of 550 ft·lbf/s [W]. Source: as above."""
SI = re.compile(r"N[·*]m\b|\bkW\b")
US = re.compile(r"\blb·ft\b|\bhp\b")
OWN = b"engine speed [rpm],torque [N*m]\n2000,200\n4000,300\n6000,200\n"
SECOND = (pages.HILL / "factory.csv").read_bytes()


def _with_every_section(units: str) -> AppTest:
    """The page with a table of one's own, a second run and a table over a second axis."""
    page = pages.finished(pages.opened(units=units))
    pages.own_table(page).set_value(("mine.csv", OWN, "text/csv"))
    page.file_uploader(key="second").set_value(("second.csv", SECOND, "text/csv"))
    page.selectbox(key="axis").set_value("gear").run()
    page.text_input(key="axis_values_gear").set_value("200, 600 rpm/s").run()
    page.button(key="axis_go").click().run()
    return pages.finished(page)


@pytest.fixture(scope="module")
def texts() -> dict[str, dict[str, str]]:
    """All that the fullest page shows, by units and place."""
    return {
        units: pages.shown(pages.unfolded(_with_every_section(units))) for units in ("si", "us")
    }


@pytest.fixture(scope="module")
def assessment() -> Assessment:
    case = case_in.read_case(case_in.source_from_paths(pages.HILL, pages.HILL, "test"))
    return assessed(case, (), default_policy())


def _new(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """A list that grows by a word or a key for everything slow that is worked out from now on."""
    made: list[Any] = []

    def assess_anew(*given: Any) -> Any:
        made.append("assessment")
        return assessed(*given)

    begin = Background._after_a_while

    def in_background(self: Background, due: float, key: Any, *rest: Any) -> Any:
        made.append(key)
        return begin(self, due, key, *rest)

    monkeypatch.setattr(main, "assessed", assess_anew)
    monkeypatch.setattr(Background, "_after_a_while", in_background)
    return made


def _switch(page: AppTest, units: str) -> AppTest:
    page.segmented_control(key="units").set_value(units).run()
    assert not page.exception
    assert not page.warning
    return pages.finished(page)


def _rows(page: AppTest, title: str) -> list[list[str]]:
    found = re.search(rf"<caption>{title}.*?</table>", pages.markup(page), re.S)
    assert found is not None
    rows = re.findall(r"<tr>(.*?)</tr>", found[0], re.S)[1:]
    return [[html.unescape(c) for c in re.findall(r"<td[^>]*>(.*?)</td>", r)] for r in rows]


def _numbers(page: AppTest, title: str, column: int) -> list[float]:
    return [float(row[column].replace(",", "")) for row in _rows(page, title)]


def test_nothing_shown_keeps_the_other_units(texts: dict[str, dict[str, str]]) -> None:
    """identity: no picture, table, widget or sentence says N·m or kW where lb·ft and hp are asked.

    A place that names a torque or power in SI names one in the other units too, and nowhere else.
    """
    si, us = texts["si"], texts["us"]
    assert [(p, t[:200]) for p, t in us.items() if SI.search(t)] == []
    assert [(p, t[:200]) for p, t in si.items() if US.search(t)] == []
    named = {place for place, text in si.items() if SI.search(text)}
    assert {place for place, text in us.items() if US.search(text)} == named
    pictures = [p for p in named if p.endswith("plotly_chart")]
    sliders = [p for p in named if p.endswith("select_slider")]
    assert (len(pictures), len(sliders)) == (10, 3)
    assert any("lb·ft" in t for p, t in us.items() if p.endswith("fold"))


def test_what_names_no_torque_is_the_same(texts: dict[str, dict[str, str]]) -> None:
    """identity: the switch changes torque and power and nothing beside them.

    Not compared: the numbers to copy, whose unit is in the fold's title, and the buttons that save,
    each with a key of its own for every visit.
    """
    si, us = texts["si"], texts["us"]
    assert si.keys() == us.keys()
    same = [
        p for p, t in si.items() if not SI.search(t) and not p.endswith(("code", "download_button"))
    ]
    assert [p for p in same if si[p] != us[p]] == []
    assert len(same) > 60


def test_sentences_carry_the_same_figures(texts: dict[str, dict[str, str]]) -> None:
    """NIST SP 811: a torque of a sentence in lb·ft is that in N·m over 1.355818, as rounded."""
    compared = 0
    number = re.compile(r"([\d,]+(?:\.\d+)?) (N[·*]m|lb·ft)")
    for place, text in texts["si"].items():
        if not place.endswith("html") or not SI.search(text):
            continue
        one, other = (number.findall(t) for t in (text, texts["us"][place]))
        assert len(one) == len(other), place
        for (newton, _), (pound, _) in zip(one, other, strict=True):
            wanted, got = (float(v.replace(",", "")) for v in (newton, pound))
            # Half a unit in the last place of each number.
            slack = sum(
                0.5 * 10.0 ** -len(v.partition(".")[2]) * size
                for v, size in ((newton, 1.0), (pound, FOOT_POUND))
            )
            assert abs(got * FOOT_POUND - wanted) <= slack * 1.0001, (place, newton, pound)
            compared += 1
    assert compared > 30


def _cells(row: str) -> list[str]:
    return [html.unescape(c) for c in re.findall(r"<t[dh][^>]*>(.*?)</t[dh]>", row, re.S)]


def _converted(si: str, us: str, size: float) -> bool:
    """True where a cell in other units is that in SI over the size, as both are rounded."""
    slack = sum(
        0.5 * 10.0 ** -len(v.partition(".")[2]) * s for v, s in ((si, 1.0), (us, size))
    )  # fmt: skip
    one, other = (float(v.replace(",", "").replace("−", "-")) for v in (si, us))
    if 0.0 in (one, other):  # A grid keeps every digit, but shows no sign at what rounds to 0.
        slack = 0.5 * (1 + size)
    return abs(other * size - one) <= slack * 1.0001


def test_every_table_converts(texts: dict[str, dict[str, str]]) -> None:
    """NIST SP 811: a column of torque, power or area under power is that in SI over the size."""
    sizes = {"N·m": FOOT_POUND, "kW": HORSEPOWER / 1e3, "1,000 kW·rpm": HORSEPOWER / 1e3}
    compared = dict.fromkeys(sizes, 0)
    for place in (p for p in texts["si"] if p.endswith("html")):
        tables = [re.findall(r"<thead>.*?</tbody>", texts[u][place], re.S) for u in ("si", "us")]
        for one, other in zip(*tables, strict=True):
            si, us = ([_cells(r) for r in re.findall(r"<tr>(.*?)</tr>", t, re.S)]
                      for t in (one, other))  # fmt: skip
            for column, head in enumerate(si[0]):
                unit = head.partition("[")[2].partition("]")[0]
                if unit not in sizes:
                    continue
                assert US.search(us[0][column])
                for a, b in zip(si[1:], us[1:], strict=True):
                    if a[column] != "–":
                        assert _converted(a[column], b[column], sizes[unit]), (head, a, b)
                        compared[unit] += 1
    assert min(compared.values()) >= 10, compared


def test_cells_without_a_unit_of_their_own_convert(texts: dict[str, dict[str, str]]) -> None:
    """NIST SP 811: tables whose unit is in the caption: over a second axis, before and after."""
    for caption, size, wanted in (
        ("Torque limit in", FOOT_POUND, r'<td class="n">([\d,.]+)<small>'),
        (
            "Before and after",
            HORSEPOWER / 1e3,
            r'area under power</th>(?:<td class="n">([\d,]+).*?)',
        ),
    ):
        si, us = (
            next(t for t in texts[u].values() if f"<caption>{caption}" in t) for u in ("si", "us")
        )
        one, other = (re.findall(wanted, t) for t in (si, us))
        assert one
        for a, b in zip(one, other, strict=True):
            assert _converted(a, b, size), (caption, a, b)


def _picture(text: str) -> Any:
    return next(json.loads(line) for line in text.splitlines() if line.startswith("{"))


def _unit(axis: dict[str, Any]) -> str:
    return axis.get("title", {}).get("text", "").rpartition("[")[2].rstrip("]")


def test_every_line_lies_where_it_lay(texts: dict[str, dict[str, str]]) -> None:
    """NIST SP 811: on an axis of torque, power or area each point is its SI value over the size.

    Ends of ranges that leave the axis are cut, so only what lies well inside both is compared.
    """
    places = [p for p in texts["si"] if p.endswith("plotly_chart")]
    seen = set()
    for place in places:
        si, us = (_picture(texts[u][place]) for u in ("si", "us"))
        for one, other in zip(si["data"], us["data"], strict=True):
            name = "yaxis" + one.get("yaxis", "y")[1:]
            axis, shown = (f["layout"][name] for f in (si, us))
            if not SI.search(_unit(axis)):
                continue
            size = FOOT_POUND if _unit(axis) == "N·m" else HORSEPOWER / 1e3
            assert US.search(_unit(shown))
            y, converted = (np.array(t["y"], dtype=float) for t in (one, other))
            inside = np.isfinite(y) & (y < 0.99 * axis["range"][1]) & (y > axis["range"][0])
            inside &= (converted < 0.99 * shown["range"][1]) & (converted > shown["range"][0])
            # Pictures round to a tenth.
            assert np.abs(converted * size - y)[inside].max(initial=0.0) <= 0.05 * (1 + size) + 1e-6
            if inside.any():
                seen.add((_unit(axis), axis["title"]["text"].partition(" [")[0]))
    assert seen == {
        ("N·m", "torque at the crank"), ("N·m", "torque to spare"),
        ("N·m", "difference in torque"), ("kW", "power"),
        ("1,000 kW·rpm", "area under power"),
    }  # fmt: skip


def test_figures_convert_by_the_published_factors(assessment: Assessment) -> None:
    """NIST SP 811: peak torque, limits and power are those in SI over 1.355818 and 745.6999."""
    page = pages.unfolded(pages.finished(pages.opened(units="us")))
    peak = float(assessment.torque.max()) / FOOT_POUND
    assert f"peak torque {peak:,.0f} lb·ft" in re.sub(r"\s+", " ", pages.words(page))
    assert f"peaks at {peak:.0f} lb·ft" in pages.charts(page)[0]
    shown, power = (_numbers(page, "Torque-limit table", k) for k in (1, 2))
    copied = [[float(v) for v in line.split("\t")] for line in page.code[0].value.splitlines()]
    pages.unfolded(_switch(page, "si"))
    limits, speeds = (np.array(_numbers(page, "Torque-limit table", k)) for k in (1, 0))
    assert shown == [float(f"{v:.1f}") for v in limits / FOOT_POUND]
    watts = limits * speeds * np.pi / 30
    assert power == pytest.approx(watts / HORSEPOWER, abs=0.5 + 0.01)
    assert [row[1] for row in copied] == pytest.approx(limits / FOOT_POUND, abs=1e-4)
    assert [float(line.split("\t")[1]) for line in page.code[0].value.splitlines()] == list(limits)


def test_there_and_back_shows_the_same_and_works_nothing_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """metamorphic: switched and switched back, every picture is as before; nothing slow is made."""
    page = pages.finished(pages.opened())
    before, said = pages.specs(page), pages.words(page)
    made = _new(monkeypatch)
    _switch(page, "us")
    assert pages.specs(page) != before
    _switch(page, "si")
    assert pages.specs(page) == before
    assert pages.words(page) == said
    assert made == []


def test_a_switch_keeps_every_torque_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """metamorphic: 100 N·m per 1,000 rpm stays that, and is never taken for 100 lb·ft."""
    page = pages.finished(pages.opened())
    page.select_slider(key="rise").set_value(100).run()
    kept = {"rise": 100}
    for key in ("hold", "same"):
        slider = page.select_slider(key=key)
        kept[key] = int(slider.options[2])
        slider.set_value(kept[key]).run()
    pages.finished(page)
    fastening = next(b for b in page.selectbox if b.key and b.key.startswith("fastening_"))
    fastening.set_value(4).run()
    sheet = re.search(r"Target sheet: [^<]*", pages.markup(page))
    limits = np.array(_numbers(page, "Torque-limit table", 1))
    made = _new(monkeypatch)
    for units in ("us", "si", "us"):
        _switch(page, units)
        assert {key: page.select_slider(key=key).value for key in kept} == kept
        assert page.selectbox(key=fastening.key).value == 4
        assert page.query_params["rise"] == "100"
        assert page.query_params["hold"] == str(kept["hold"])
    again = re.search(r"Target sheet: [^<]*", pages.markup(page))
    assert sheet is not None
    assert again is not None
    assert again[0] == sheet[0]
    assert made == []
    slider = page.select_slider(key="rise")
    assert slider.label == "Steepest rise [lb·ft per 1,000 rpm]"
    assert slider.options == [f"{v / FOOT_POUND:.0f}" for v in RISES]
    shown = _numbers(page, "Torque-limit table", 1)
    assert shown == [float(f"{v:.1f}") for v in limits / FOOT_POUND]


def test_a_link_carries_the_units_and_torques_in_si() -> None:
    """identity: what its sender saw; a torque in a link is N·m whatever the page shows."""
    page = pages.opened(units="us", rise="100")
    assert page.segmented_control(key="units").value == "us"
    assert page.select_slider(key="rise").value == 100
    assert page.query_params["units"] == "us"
    page.segmented_control(key="units").set_value("si").run()
    assert "units" not in page.query_params
    assert page.query_params["rise"] == "100"
    assert pages.opened(units="furlongs").segmented_control(key="units").value == "si"


def test_a_wish_that_cannot_be_met_is_said_in_the_units_chosen() -> None:
    """identity: the one sentence that stands for a table speaks of torque as the page does."""
    page = pages.opened(case="tow_diesel", units="us", rise="5")
    page.slider(key="peak_from").set_value(page.slider(key="peak_from").max).run()
    assert not page.exception
    for place, text in pages.shown(page).items():
        assert not SI.search(text), (place, text[:300])
