"""The running gear on the page: motion, crossovers, and the polar diagram by chosen speed."""

import re

import pages
import pytest
from streamlit.testing.v1 import AppTest

from torquerisk.case import default_policy
from torquerisk.quantities import RPM
from torquerisk.show.page import case_in
from torquerisk.show.page.work import assessed
from torquerisk.show.words import running_gear
from torquerisk.study.answers.gear_loads import FORCES, GearLoads, gear_loads

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def gear() -> GearLoads:
    """The sample as the page opens it, judged apart from the page."""
    case = case_in.read_case(case_in.source_from_paths(pages.HILL, pages.HILL, "test"))
    return gear_loads(assessed(case, (), default_policy()))


@pytest.fixture(scope="module")
def page() -> AppTest:
    return pages.finished(pages.opened())


def _polar(page: AppTest) -> str:
    (told,) = [t for t in pages.charts(page) if t.startswith("Polar diagram of the big-end load")]
    return told


def test_sentences_are_the_ones_of_every_face(page: AppTest, gear: GearLoads) -> None:
    """identity: guidance, crossovers, crown and ring land read as in command and report."""
    said = pages.words(page)
    for sentence in running_gear.sentences(gear):
        assert sentence in said
    assert running_gear.FRAME in said
    assert any(t.startswith("Mean piston speed rises") for t in pages.charts(page))


def test_polar_diagram_and_extremes_follow_the_chosen_speed(gear: GearLoads) -> None:
    """identity: the slider's speed is the diagram's and the table's, with that speed's forces."""
    page = pages.finished(pages.opened())
    for rpm in (2500, 6500):
        page.select_slider(key="cycle_speed").set_value(rpm).run()
        assert not page.exception
        assert f"at {rpm} rpm" in _polar(page)
        k = int(abs(gear.speed - rpm * RPM).argmin())
        at = gear.ranges[k]
        assert at is not None
        pin = at["crankpin"].push
        assert pin is not None
        assert f"{pin.size / 1e3:.1f} kN" in _polar(page)
        assert f"Greatest forces over one cycle at {rpm:,} rpm" in pages.words(page)
        table = re.search(
            r"Angles from firing top dead centre</caption>.*?</table>", pages.markup(page), re.S
        )
        assert table is not None
        rows = re.findall(r"<tr>(.*?)</tr>", table.group(0), re.S)[1:]
        cells = [re.findall(r"<td[^>]*>(.*?)</td>", row) for row in rows]
        assert [row[0] for row in cells] == [f.title for f in FORCES]
        shank = cells[[f.name for f in FORCES].index("shank")]
        push, pull = at["shank"].push, at["shank"].pull
        assert push is not None
        assert pull is not None
        assert shank[1:] == [
            f"{push.size / 1e3:.1f}", running_gear.degrees(push),
            f"{pull.size / 1e3:.1f}", running_gear.degrees(pull),
        ]  # fmt: skip
