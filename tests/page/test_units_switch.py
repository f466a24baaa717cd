"""The switch of units: everything shown follows it, and nothing that was asked for changes."""

import re

import pages
import pytest
from streamlit.testing.v1 import AppTest

from torquerisk.case import Kind
from torquerisk.show.page.inputs import every_declaration, unit_of
from torquerisk.show.page.views import VIEWS
from torquerisk.show.words.prose import Units

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("unproved")]

FOOT_POUND = 1.3558179483
"""One pound-force foot [N*m]. Source: NIST SP 811 (2008), appendix B.8, from exact definitions."""
SI = re.compile(r"N[·*]m\b|\bkW\b")
US = re.compile(r"\blb·ft\b|\bhp\b")
PATHS = ["", *(v.path for v in VIEWS[1:])]


OPENED = {
    "": ("why", "map", "axis", "fig_curve"),
    "inputs": ("in_head_joint", "in_rated", "assumed", "notices"),
}
"""Folds opened; every one where nothing is named. A file is told of as it was read."""


def _unfolded(path: str, units: str) -> AppTest:
    return pages.unfolded(pages.opened(path, units=units), *OPENED.get(path, ()))


@pytest.mark.parametrize("path", PATHS)
def test_nothing_shown_keeps_the_other_units(path: str) -> None:
    """identity: no picture, table, widget or sentence says N·m or kW where lb·ft and hp are asked.

    A torque of a sentence in lb·ft is that in N·m over 1.355818, as both are rounded (NIST SP 811).
    """
    si, us = (pages.shown(_unfolded(path, units)) for units in ("SI", "US"))
    # A sheet for the bench has both: the wrench at hand may be of either kind.
    si, us = ({p: t for p, t in x.items() if "bench" not in t} for x in (si, us))
    assert [(p, t[:200]) for p, t in us.items() if SI.search(t)] == []
    assert [(p, t[:200]) for p, t in si.items() if US.search(t)] == []
    number = re.compile(r"([\d,]+(?:\.\d+)?) (N[·*]m|lb·ft)\b")
    for place in (p for p in si.keys() & us.keys() if p.endswith("html")):
        one, other = (number.findall(t.replace("\u00a0", " ")) for t in (si[place], us[place]))
        assert len(one) == len(other), place
        for (newton, _), (pound, _) in zip(one, other, strict=True):
            wanted, got = (float(v.replace(",", "")) for v in (newton, pound))
            # Half a unit in the last place of each number.
            slack = sum(
                0.5 * 10.0 ** -len(v.partition(".")[2]) * size
                for v, size in ((newton, 1.0), (pound, FOOT_POUND))
            )
            assert abs(got * FOOT_POUND - wanted) <= slack * 1.0001, (place, newton, pound)


def test_a_switch_keeps_every_torque_asked_for() -> None:
    """metamorphic: 100 N·m per 1,000 rpm stays that, there and back; so does the picture."""
    page = pages.opened()
    page.slider(key="rise").set_value(100.0).run()
    before = pages.specs(page)
    page.segmented_control(key="units").set_value("US").run()
    assert page.slider(key="rise").value == pytest.approx(100 / FOOT_POUND)
    assert page.slider(key="rise").label == "Steepest rise [lb·ft per 1,000 rpm]"
    assert pages.specs(page) != before
    page.segmented_control(key="units").set_value("SI").run()
    assert page.slider(key="rise").value == pytest.approx(100)
    assert pages.specs(page) == before


def test_a_wish_that_cannot_be_met_is_said_in_the_units_chosen() -> None:
    """identity: the one sentence that stands for a table speaks of torque as the page does."""
    page = pages.opened(case="tow_diesel", units="US")
    page.slider(key="rise").set_value(5.0)
    page.slider(key="peak_from").set_value(page.slider(key="peak_from").max).run()
    assert not page.exception
    for place, text in pages.shown(page).items():
        assert not SI.search(text), (place, text[:300])


def test_inputs_are_typed_in_the_units_chosen() -> None:
    """NIST SP 811 (from memory), 1 in = 25.4 mm: a bore in inches is the same engine, and one that
    is not touched stays as it was given to the last digit."""
    page = pages.unfolded(pages.opened("inputs", units="US"))
    (bore,) = (x for x in page.number_input if x.label.startswith("Bore, in"))
    (stroke,) = (x for x in page.number_input if x.label.startswith("Stroke, in"))
    assert bore.value == pytest.approx(82 / 25.4, abs=1e-5)
    assert stroke.value == pytest.approx(85 / 25.4, abs=1e-5)
    declared = dict(every_declaration())["bore"]
    assert unit_of(declared.kind, Units.US) == ("in", pytest.approx(25.4))
    assert unit_of(Kind.STRESS, Units.US) == ("ksi", pytest.approx(6.894757, rel=1e-6))
    assert unit_of(Kind.FORCE, Units.US) == ("lbf", pytest.approx(4.448222e-3, rel=1e-6))
