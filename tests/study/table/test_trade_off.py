"""The trade-off: less chance or a later peak never gains, and the words say the numbers."""

import dataclasses
import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from table_case import careful, proposal_ca50, with_ca50

from torquerisk.errors import InputError
from torquerisk.quantities import RPM
from torquerisk.show.words.limit_table import costs_in_words, frontier_in_words
from torquerisk.study.limit_curve.curve import area_under_power, interpolated_limit
from torquerisk.study.table.propose import propose_limit
from torquerisk.study.table.trade_off import (
    Frontier,
    FrontierPoint,
    NoTable,
    costs_of,
    frontier,
    point,
)


@pytest.fixture(scope="module")
def trade_off() -> Frontier:
    return frontier(proposal_ca50())


def test_the_chosen_point_is_the_proposal(trade_off):
    """Identity: made by the same ask under the same ceiling."""
    made = proposal_ca50()
    assert np.array_equal(trade_off.chosen.limit, made.shape.limit)
    assert trade_off.chosen.area == pytest.approx(made.after.area)
    assert trade_off.chosen.chance_pull == made.under.chance_pull
    assert trade_off.chosen in trade_off.by_chance
    assert trade_off.chosen in trade_off.by_peak


def test_a_smaller_chance_never_gains(trade_off):
    """Metamorphic: a lower ceiling everywhere leaves no better table."""
    points = [p for p in trade_off.by_chance if isinstance(p, FrontierPoint)]
    assert len(points) >= 6
    assert [p.chance for p in points] == sorted(p.chance for p in points)
    areas = [p.area for p in points]
    assert all(b >= a * (1 - 1e-9) for a, b in itertools.pairwise(areas))
    pulls = [p.chance_pulls for p in points]
    assert pulls == sorted(pulls)


def test_every_point_keeps_its_own_chance_and_peak(trade_off):
    """Identity: at no speed of the grid more engines fail than accepted, no earlier peak."""
    for p in (*trade_off.by_chance, *trade_off.by_peak):
        if isinstance(p, FrontierPoint):
            assert p.chance_any_max <= p.chance
            assert p.peak_speed >= p.peak_from * (1 - 1e-9)
            assert p.chance_pulls >= p.chance_any_max


def test_area_and_power_are_those_of_the_table(trade_off):
    """Identity: recomputed from the point's own table and the run."""
    fine = proposal_ca50().finer
    for p in trade_off.by_peak:
        if isinstance(p, FrontierPoint):
            torque = np.minimum(interpolated_limit(p.breakpoints, p.limit, fine.speed), fine.torque)
            band = (fine.speed[0], fine.speed[-1])
            assert p.area == pytest.approx(area_under_power(fine.speed, torque, band))
            assert p.peak_power == pytest.approx((torque * fine.speed).max())


@settings(max_examples=12, deadline=None)
@given(st.floats(0.02, 0.3), st.floats(0.02, 0.3))
def test_between_any_two_chances_the_smaller_is_never_worth_more(one, other):
    """Metamorphic: for any pair of accepted chances, area and ceiling keep their order."""
    low, high = sorted((one, other))
    made = proposal_ca50()
    small, great = point(made, low, made.ask.peak_from), point(made, high, made.ask.peak_from)
    assert small.area <= great.area * (1 + 1e-9)


def test_a_point_without_a_table_says_why():
    """common practice, no source: an ask that cannot hold names the rule and the speed in rpm."""
    flat = careful(rise=1 * 0.03 / np.pi)
    made = dataclasses.replace(
        proposal_ca50(), ask=dataclasses.replace(proposal_ca50().ask, rise_rate=flat.rise)
    )
    last = float(made.finer.speed[-1])
    found = point(made, 0.05, last)
    assert isinstance(found, NoTable)
    assert "rpm" in found.reason
    assert "rad/s" not in found.reason


@pytest.mark.parametrize(
    ("chances", "peaks"),
    [((0.0,), None), ((0.7,), None), (None, (100 * RPM,)), (None, (9000 * RPM,))],
)
def test_lists_out_of_range_are_refused(chances, peaks):
    """common practice, no source: one sentence with what was given."""
    with pytest.raises(InputError, match="must be"):
        frontier(proposal_ca50(), chances, peaks)


def _point(chance: float, power: float, area: float, peak: float = 400.0) -> FrontierPoint:
    return FrontierPoint(
        chance=chance, peak_from=peak, breakpoints=np.array([200.0, 600.0]),
        limit=np.array([1.0, 1.0]), area=area, peak_speed=500.0, peak_torque=300.0,
        peak_power=power, chance_any_max=0.0, chance_pull=0.0, chance_pulls=0.0, coarse=False,
    )  # fmt: skip


def test_words_say_what_is_given_up_and_gained():
    """Identity: 3 kW of 200 and 1.2 % of the area, by hand."""
    chosen = _point(0.01, 200e3, 1000.0)
    less, more = _point(0.005, 197e3, 988.0), _point(0.02, 204e3, 1013.0)
    later = _point(0.01, 201e3, 980.0, peak=500.0)
    told = frontier_in_words(
        Frontier(chosen=chosen, by_chance=(less, chosen, more), by_peak=(chosen, later))
    )
    assert told[0] == (
        "Halving the accepted chance from 1 % to 0.5 % gives up 3.0 kW of peak power and 1.2 % of "
        "the area under power."
    )
    assert told[1] == (
        "Doubling the accepted chance from 1 % to 2 % gains 4.0 kW of peak power and 1.3 % of the "
        "area under power."
    )
    assert told[2] == (
        "Asking for the peak from 4,775 rpm instead of 3,820 gives up 2 % of the area under power "
        "and gains 1.0 kW of peak power."
    )


def test_no_dip_costs_what_the_two_tables_differ_by():
    """Identity: the cost told is the area without the rule over the area with it, less one."""
    made = propose_limit(with_ca50(), careful(no_dip=True, peak_from=4500 * RPM))
    limit = made.shape.limit[: made.shape.peak_index + 1]
    assert np.all(np.diff(limit) >= 0)
    costs = costs_of(made)
    cost = next(c for c in costs if c.rule == "no_dip_before_peak")
    told = costs_in_words(made, costs)
    assert any(text.startswith("No dip before the peak costs") for text in told)
    free = propose_limit(with_ca50(), careful(peak_from=4500 * RPM))
    by_hand = free.shape.value_unrounded / made.shape.value_unrounded - 1
    assert cost.share == pytest.approx(by_hand, abs=1e-9)
