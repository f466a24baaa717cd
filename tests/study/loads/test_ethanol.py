"""What ethanol does for knock: octane, sensitivity and cooling, by load and fuel."""

import dataclasses

import numpy as np
import pytest
from plain_runs import run_of

from torquerisk.case import Engine
from torquerisk.physics.cylinder.mean_pressure import torque_from_bmep
from torquerisk.study.draws import spreads
from torquerisk.study.limits import Place, place_of
from torquerisk.study.limits.combustion import knocking, quiet_ca50
from torquerisk.study.loads.demand import Demand, demand
from torquerisk.study.loads.manifold import evaporation_beyond_petrol
from torquerisk.study.run.run_on_grid import prepare

SLOW = [2000.0, 2500.0, 3000.0]
FUELS = {"95": ("E5", 95.0), "98": ("E5", 98.0), "E30": ("E30", None), "E85": ("E85", None)}


def at_load(engine: Engine, fuel: str, bmep: float, advance: list[float]) -> tuple[Demand, Place]:
    """Loads of a boosted engine at a BMEP [bar] and ignition [deg], and that torque's place."""
    blend, octane = FUELS[fuel]
    fuelled = dataclasses.replace(engine.fuel, blend=blend, octane=octane, lambda_=0.85)
    engine = dataclasses.replace(engine, fuel=fuelled)
    torque = torque_from_bmep(np.full(3, bmep * 1e5), engine.swept_volume_total)
    run = run_of(
        SLOW, torque, ignition_advance=np.radians(advance),
        manifold_pressure=np.full(3, bmep * 9e3),
    )  # fmt: skip
    inputs = prepare(engine, run, None)
    draws = spreads.engine_draws(compression_ignition=False, count=512, seed=1)
    loads = demand(inputs.engine, inputs.state, draws, np.full(len(inputs.speed), 0.02))
    return loads, place_of(loads.torque, inputs.torque)


@pytest.mark.parametrize("bmep", [25.0, 27.0])
def test_e85_is_quiet_at_a_boosted_engines_usual_ignition(
    plain_engine: Engine, bmep: float
) -> None:
    """Common practice, no source: 25 to 28 bar on E85 with 4 to 8 degrees of advance at 2,000 to
    3,000 rpm does not knock; on 95 octane petrol it does. No evidence, so a third may."""
    advance = [5.0, 6.0, 8.0]
    assert np.all(knocking(*at_load(plain_engine, "E85", bmep, advance)) < 0.33)
    assert np.all(knocking(*at_load(plain_engine, "95", bmep, advance)) > 0.67)


@pytest.mark.parametrize("bmep", [9.0, 13.0, 21.0, 27.0])
def test_more_ethanol_never_asks_for_a_later_burn(plain_engine: Engine, bmep: float) -> None:
    """Common practice, no source: at equal torque 95 burns latest, then 98, E30 from 95 and E85;
    boosted, E85 takes at least 5 to 10 degrees more advance than 95."""
    latest = [quiet_ca50(*at_load(plain_engine, fuel, bmep, [6.0, 7.0, 8.0])) for fuel in FUELS]
    assert np.all(np.diff(latest, axis=0) <= 0)
    if bmep > 20:
        assert np.all(latest[0] - latest[-1] > np.radians(7.0))


def test_evaporation_counts_beyond_petrol_alone() -> None:
    """Identity: 0 for the petrol that the usual heating is of and for diesels; rich and more
    ethanol cool more. Neat ethanol takes some 60 K more than petrol in all (from memory)."""
    lambda_ = np.array([0.8, 0.9, 1.0])
    assert not evaporation_beyond_petrol(0.05, lambda_, False).any()
    assert not evaporation_beyond_petrol(0.0, lambda_, True).any()
    some, more = (evaporation_beyond_petrol(x, lambda_, False) for x in (0.3, 1.0))
    assert np.all(more > some)
    assert np.all(some > 0)
    assert np.all(np.diff(more) < 0)
    assert more[-1] == pytest.approx(60, abs=8)
