"""Loads on pin and crankpin over the whole cycle, against direct cycles of the median engine."""

import numpy as np
import pytest
from plain_runs import run_of

from torquerisk.case import Engine, Policy
from torquerisk.quantities import DEGREE
from torquerisk.study.answers.cycle_traces import median_cycles
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limits import place_of
from torquerisk.study.limits.bearings import LEAST_SPEED_SHARE, film_load
from torquerisk.study.limits.running_gear import crankpin_pull, firing_load, pin_force

RPMS = [1500, 3000, 4500, 6000, 7500, 9000]


@pytest.fixture(scope="module")
def wide(plain_engine: Engine, few: Policy) -> Assessment:
    """The plain engine from where gas rules to where inertia does."""
    burned = {"ca50": np.full(len(RPMS), 10 * DEGREE)}
    return assess(plain_engine, run_of(RPMS, [250, 250, 250, 220, 180, 150], **burned), few)


def test_crankpin_load_is_the_cycles(wide: Assessment) -> None:
    """Identity: the exact forces of direct cycles, near firing and at overlap.

    Near firing rod and throw are taken in one line: low by up to the share of inertia times
    1 - cos 30 degrees, 8 %; at overlap direct cycles have 0.3 bar of exhaust pressure: 1.5 % and
    0.4 kN.
    """
    cycles, model = median_cycles(wide), wide.model
    size = cycles.forces.big_end
    firing = size[np.abs(cycles.angle) < 1.0].max(axis=0)
    overlap = size[np.abs(cycles.angle) > 5.5].max(axis=0)
    place = place_of(model.demand.torque, wide.torque)
    push = np.median(place.read(firing_load(model.demand, model.parts)), axis=1)
    pull = np.median(crankpin_pull(model.demand, model.parts), axis=1)
    assert push[:4] == pytest.approx(firing[:4], rel=0.08)
    assert np.abs(pull - overlap) == pytest.approx(0, abs=400 + 0.015 * overlap[-1])
    assert np.maximum(push, pull) == pytest.approx(size.max(axis=0), rel=0.08)


def test_lining_and_boss_see_the_pull(wide: Assessment) -> None:
    """Common practice, no source: at high speed the same part is loaded by inertia, by its square.

    It exists because gas push less inertia alone calls a bearing the easier the faster it turns.
    """
    load = wide.limits["big_end_load"].load.p50
    assert load[-1] / load[-2] == pytest.approx((9000 / 7500) ** 2, rel=1e-6)
    assert load[-1] > load[0]
    model = wide.model
    pin = np.median(pin_force(model.demand, model.parts)[..., 0], axis=1)
    assert pin[-1] / pin[-2] == pytest.approx((9000 / 7500) ** 2, rel=1e-6)


def test_film_is_kindest_between_both_ends(wide: Assessment) -> None:
    """[BOOKER]: load over oil supply falls while gas rules and rises once inertia does."""
    used = wide.limits["big_end_film"].utilisation
    best = int(np.argmin(used))
    assert 0 < best < len(used) - 1
    model = wide.model
    load = film_load(model.demand, model.parts)[..., 0] * model.parts.gear.big_end_area
    worse = load[-1] / crankpin_pull(model.demand, model.parts)[-1]
    assert np.all((worse > 1.5) & (worse <= 1 / LEAST_SPEED_SHARE + 1e-9))
