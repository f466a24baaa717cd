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
