"""Pressures before and behind the cylinder: logged as logged, estimated within their range."""

import numpy as np
import pytest
from plain_runs import run_of

from torquerisk.case import Engine
from torquerisk.quantities import BAR
from torquerisk.study.loads import manifold
from torquerisk.study.run.run_on_grid import prepare

BMEP = np.array([1.0, 10.5, 21.0, 90.0]) * BAR
RPMS, TORQUE = [2000, 3000, 4000], [200.0, 260.0, 250.0]


def pressures(engine: Engine, **channels: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    prepared = prepare(engine, run_of(RPMS, TORQUE, **channels), None)
    return manifold.pressures(prepared.engine, prepared.state, BMEP)


def test_estimated_intake_pressure(plain_engine: Engine, plain_diesel: Engine) -> None:
    """Common practice, no source: 1 bar per 10.5 bar BMEP, 0.35 to 6 bar; a diesel from ambient."""
    intake, _ = pressures(plain_engine)
    assert intake[0] / BAR == pytest.approx([0.35, 1.0, 2.0, 6.0])
    intake, _ = pressures(plain_diesel)
    ambient = plain_diesel.value("test.ambient_pressure").value / BAR
    assert intake[1] / BAR == pytest.approx([ambient, max(1.0, ambient), 2.0, 6.0])


def test_logged_pressures_are_used_at_every_load(plain_engine: Engine) -> None:
    """Identity: what is logged at a speed stands for all loads there."""
    intake, exhaust = pressures(
        plain_engine,
        manifold_pressure=np.array([1.5e5, 1.6e5, 1.8e5]),
        exhaust_pressure=np.array([1.7e5, 1.9e5, 2.2e5]),
    )
    assert np.all(intake == np.array([[1.5e5], [1.6e5], [1.8e5]]))
    assert np.all(exhaust == np.array([[1.7e5], [1.9e5], [2.2e5]]))


def test_more_back_pressure_costs_more_pumping(plain_engine: Engine) -> None:
    """Metamorphic: at equal boost, pressure behind the valve is work of the gas exchange."""
    costs = []
    for behind in (1.6e5, 2.6e5):
        run = run_of(
            RPMS, TORQUE, manifold_pressure=np.full(3, 1.6e5), exhaust_pressure=np.full(3, behind)
        )
        prepared = prepare(plain_engine, run, None)
        costs.append(manifold.pumping(prepared.engine, prepared.state, BMEP))
    assert np.all(costs[1] - costs[0] > 0.5e5)


def test_a_compressor_that_the_crank_drives_takes_its_work(plain_engine: Engine) -> None:
    """Worked by hand: air of 2 bar and 318.15 K weighs 2.19 kg/m³; 94 % of it a swept volume,
    compressed from 98.3 to 210 kPa at 298.15 K and 60 % takes 1005 * 298.15 * 0.242/0.6 = 121
    kJ/kg, so 2.5 bar, and no turbine dams the exhaust."""
    run = run_of(RPMS, TORQUE, manifold_pressure=np.full(3, 2e5))
    driven = plain_engine.with_values({"supply.crank_compressor_efficiency": 0.6})
    prepared = prepare(driven, run, None)
    at_run = np.asarray(TORQUE)[:1] * 4 * np.pi / driven.swept_volume_total
    taken = manifold.compressor_mep(prepared.engine, prepared.state, at_run)
    assert taken[0] / BAR == pytest.approx(2.5, abs=0.02)
    turbine = prepare(plain_engine, run, None)
    exhaust = [manifold.pressures(p.engine, p.state, at_run)[1] for p in (prepared, turbine)]
    assert np.all(exhaust[0] < 1.3e5)
    assert np.all(exhaust[1] > 1.6e5)
    assert not manifold.compressor_mep(turbine.engine, turbine.state, at_run).any()
