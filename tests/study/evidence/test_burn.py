"""What a logged ignition advance says of the burn."""

import dataclasses

import numpy as np
import pytest
from plain_runs import run_of

from torquerisk.case import Engine, Policy
from torquerisk.quantities import DEGREE
from torquerisk.study.draws.spreads import engine_draws
from torquerisk.study.evidence.burn import BURN, burns_later
from torquerisk.study.evidence.piece import Asked
from torquerisk.study.limits import place_of
from torquerisk.study.loads.demand import demand
from torquerisk.study.run.run_on_grid import prepare

RPMS = [2000, 3000, 4000, 5000, 6000]
TORQUE = [180.0, 260.0, 300.0, 290.0, 250.0]
ADVANCE, CA50 = np.full(5, 18 * DEGREE), np.linspace(20, 14, 5) * DEGREE


def test_ca50_beside_advance_corrects_another_run_s_advance(
    plain_engine: Engine, few: Policy
) -> None:
    """Identity: a run of the same advance, load and speed burns where CA50 was measured.

    Load rows between which it is read make up to half a degree of difference.
    """
    both = prepare(plain_engine, run_of(RPMS, TORQUE, ignition_advance=ADVANCE, ca50=CA50), None)
    later = burns_later(both)
    assert later is not None
    draws = engine_draws(compression_ignition=False, count=few.draws, seed=few.seed)
    state = dataclasses.replace(both.state, ca50=None, burns_later=later)
    loads = demand(plain_engine, state, draws, both.reading_sd)
    ca50 = place_of(loads.torque, both.torque).read(loads.ca50)
    assert np.median(ca50, axis=1) == pytest.approx(CA50, abs=0.5 * DEGREE)
    assert np.all(np.std(ca50, axis=1) < 1.2 * DEGREE)


def test_burn_agrees_best_where_ca50_was_measured(plain_engine: Engine, few: Policy) -> None:
    """Metamorphic: CA50 measured late speaks for slow burns, measured early for fast ones."""
    draws = engine_draws(compression_ignition=False, count=few.draws, seed=few.seed)
    burn = draws.deviates["charge.burn_duration"]
    middle = []
    for ca50 in (CA50 - 6 * DEGREE, CA50 + 6 * DEGREE):
        run = run_of(RPMS, TORQUE, ignition_advance=ADVANCE, ca50=ca50)
        asked = Asked(prepared=prepare(plain_engine, run, None), draws=draws)
        assert BURN.applies(asked.prepared)
        middle.append(float(np.average(burn, weights=BURN.likelihood(asked))))
    assert middle[0] < 0 < middle[1]


def test_a_map_left_late_says_nothing_of_the_burn(plain_engine: Engine, few: Policy) -> None:
    """Metamorphic: ignition far earlier than knock allows speaks for slow burns; the same
    map left far late, as under a better fuel, for none (common practice, no source)."""
    draws = engine_draws(compression_ignition=False, count=few.draws, seed=few.seed)
    burn = draws.deviates["charge.burn_duration"]
    middle = []
    for advance in (-5.0, 35.0):
        run = run_of(RPMS, TORQUE, ignition_advance=np.full(5, advance * DEGREE))
        level = BURN.likelihood(Asked(prepared=prepare(plain_engine, run, None), draws=draws))
        middle.append(float(np.average(burn, weights=level)))
    assert middle[0] == pytest.approx(float(np.mean(burn)), abs=0.02)
    assert middle[1] > 0.3
