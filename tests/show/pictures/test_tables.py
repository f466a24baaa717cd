"""Pictures about the limit table: what caution costs, and a table of one's own."""

import numpy as np
import pytest

import torquerisk
from torquerisk.case import default_policy
from torquerisk.files.case_folder import load_case
from torquerisk.quantities import RPM
from torquerisk.show.pictures import gallery
from torquerisk.show.pictures.style import LIGHT, NONE, READING, UNKNOWN, Stamp
from torquerisk.study.table.judge import judge_existing
from torquerisk.study.table.trade_off import Frontier, FrontierPoint, NoTable

STAMP = Stamp(case="invented", digest="0123456789abcdef")


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


@pytest.mark.slow
def test_the_picture_of_a_table_has_its_numbers_behind_it() -> None:
    """identity: rows of the table come back, and too high and unused never both count."""
    assessment = torquerisk.assess(*load_case("sample_runs/hill_climb"), default_policy())
    points = np.array([2000.0, 3500.0, 6000.0]) * RPM
    judged = judge_existing(assessment, points, np.array([150.0, 300.0, 100.0]))
    one = gallery.judged_picture(judged, LIGHT, STAMP)
    numbers = {c.name: c.values for c in one.columns}
    shown = dict(zip(np.round(np.array(numbers["engine speed"], dtype=float)),
                     numbers["your table"], strict=True))  # fmt: skip
    assert [shown[float(v)] for v in (2000, 3500, 6000)] == pytest.approx([150.0, 300.0, 100.0])
    pairs = zip(numbers["too high by"], numbers["left unused"], strict=True)
    assert all(not (over and spare) for over, spare in pairs)
