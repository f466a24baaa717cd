"""All spreads at zero: the deterministic chain, done again by hand with direct cycles."""

import numpy as np
import pytest
from plain_runs import run_of

from torquerisk.case import Engine, Run
from torquerisk.physics.cylinder import gas_exchange, mean_pressure
from torquerisk.physics.cylinder.closed_cycle import closed_cycle_at_imep
from torquerisk.physics.head_joint import joint
from torquerisk.study.cycle import cylinder
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.draws.spreads import drawn
from torquerisk.study.limits import capacity_torque, place_of
from torquerisk.study.limits.head import HEAD_LIFT
from torquerisk.study.limits.rod import ROD_LIFE
from torquerisk.study.limits.running_gear import mean_rod_compression, rod_tension
from torquerisk.study.loads.demand import Demand, demand
from torquerisk.study.loads.modelled_cylinder import cylinder_spec
from torquerisk.study.loads.part_load import lambda_wanted
from torquerisk.study.run.operating_state import Operating
from torquerisk.study.run.run_on_grid import prepare
from torquerisk.study.strengths.parts import parts_of

DIESEL = run_of([1500, 2500, 3500], [430.0, 470.0, 380.0])
ZERO = Draws(deviates={name: np.zeros(1) for name in drawn(compression_ignition=True)}, count=1)
ROWS = slice(5, 13)
"""Load rows from 6.8 to 38 bar of gross IMEP."""
Chain = tuple[Engine, Operating, Demand, np.ndarray]


@pytest.fixture(scope="module", params=["spark", "compression"])
def chain(
    request: pytest.FixtureRequest, plain_engine: Engine, plain_diesel: Engine, plain_run: Run
) -> Chain:
    """Engine, state, loads and torque of one engine that is exactly as given."""
    engine, run = (plain_engine, plain_run) if request.param == "spark" else (plain_diesel, DIESEL)
    prepared = prepare(engine, run, None)
    loads = demand(prepared.engine, prepared.state, ZERO, np.zeros(len(prepared.speed)))
    return prepared.engine, prepared.state, loads, prepared.torque


def heating(engine: Engine, speed: float, imep: np.ndarray) -> np.ndarray:
    """Heating of the charge on its way in (n,) [K]: the stated one at equal pressures, and what

    more residual gas adds where the exhaust stands above the intake ([HEYWOOD] section 5.4).
    """
    own = engine.value("charge.trapped_heating").value
    if engine.compression_ignition:
        return np.full(len(imep), own)
    intake = np.clip(cylinder.brake_estimate(imep) / 10.5, 0.35e5, 6e5)
    exhaust = exhaust_pressure(engine, engine.stroke * speed / np.pi, intake)
    exhaust = np.minimum(exhaust, 2.2 * intake)
    rise = [gas_exchange.residual_heating(intake, p, engine.compression_ratio)
            for p in (exhaust, intake)]  # fmt: skip
    return np.asarray(own + rise[0] - rise[1])


def exhaust_pressure(
    engine: Engine, piston_speed: np.ndarray | float, intake: np.ndarray
) -> np.ndarray:
    """Exhaust pressure [Pa] by a turbine's pressure over boost, of fixed size with spark."""
    over = 1.3 if engine.compression_ignition else 1.3 * (np.asarray(piston_speed) / 12.0) ** 0.8
    return np.asarray(
        gas_exchange.exhaust_pressure_before_turbine(piston_speed, intake, 101325.0, over)
    )


def direct_peak(
    engine: Engine, state: Operating, k: int, imep: np.ndarray, ca50: np.ndarray
) -> np.ndarray:
    """Peak pressure of direct cycles (n,) at the medians of everything [Pa]."""
    spec = cylinder_spec(engine, state.ethanol_share, float(state.speed.max()))
    speed = float(state.speed[k])
    lambda_ = lambda_wanted(engine, spec, state, k, imep)
    inputs = cylinder.cycle_inputs(
        spec,
        speed=speed,
        imep=imep,
        ca50=ca50,
        duration=cylinder.burn_duration(spec, np.asarray(speed), imep, lambda_, ca50),
        lambda_=lambda_,
        trapped_temperature=float(state.intake_temperature[k]) + heating(engine, speed, imep),
    )
    return closed_cycle_at_imep(inputs, imep).peak_pressure


def test_peak_pressure_on_the_rows_is_the_direct_cycles(chain: Chain) -> None:
    """Identity: the same IMEP and CA50 run directly give the same peak within 0.3 %."""
    engine, state, loads, _ = chain
    for k in range(len(state.speed)):
        direct = direct_peak(engine, state, k, loads.imep[k, ROWS], loads.ca50[k, 0, ROWS])
        assert loads.peak[k, 0, ROWS] == pytest.approx(direct, rel=0.003)


def test_peak_pressure_between_rows(chain: Chain) -> None:
    """Identity: at the run's own torque, read linearly between rows 28 % apart, within 1 %."""
    engine, state, loads, torque = chain
    place = place_of(loads.torque, torque)
    peak, ca50 = place.read(loads.peak)[:, 0], place.read(loads.ca50)[:, 0]
    imep = place.read(np.broadcast_to(loads.imep[:, None, :], loads.torque.shape))[:, 0]
    for k in range(len(peak)):
        direct = direct_peak(engine, state, k, imep[k : k + 1], ca50[k : k + 1])
        assert peak[k] == pytest.approx(float(direct[0]), rel=0.01)


def test_mean_pressures_add_up(chain: Chain) -> None:
    """[HEYWOOD] 2.7: gross IMEP is BMEP, friction and pumping together, each added once.

    The rows are 28 % apart and friction follows the peak, so 1 % is allowed for reading between.
    """
    engine, state, loads, torque = chain
    place = place_of(loads.torque, torque)
    peak = place.read(loads.peak)[:, 0]
    imep = place.read(np.broadcast_to(loads.imep[:, None, :], loads.torque.shape))[:, 0]
    piston_speed = engine.stroke * state.speed / np.pi
    bmep = mean_pressure.bmep_from_torque(torque, engine.swept_volume_total)
    model = (
        mean_pressure.fmep_compression_ignition
        if engine.compression_ignition
        else mean_pressure.fmep_spark
    )
    intake = np.clip(np.asarray(bmep) / 10.5, 0.35e5, 6e5)
    exhaust = exhaust_pressure(engine, piston_speed, intake)
    pumping = gas_exchange.pmep(intake, exhaust, piston_speed, state.intake_temperature)
    total = np.asarray(bmep) + np.asarray(model(peak, piston_speed)) + np.asarray(pumping)
    assert imep == pytest.approx(total, rel=0.01)


def test_rod_forces_by_hand(chain: Chain) -> None:
    """[KTM]: tension m r w^2 (1 + r/l); compression is gas force less m a near TDC."""
    engine, state, loads, torque = chain
    parts = parts_of(engine, ZERO)
    value = {
        n: engine.value(f"running_gear.{n}").value
        for n in ("piston_mass", "rod_mass", "rod_big_end_share")
    }
    mass = value["piston_mass"] + value["rod_mass"] * (1 - value["rod_big_end_share"])
    radius = engine.stroke / 2
    throw, ratio = radius * state.speed**2, radius / engine.rod_length
    assert rod_tension(loads, parts)[:, 0] == pytest.approx(mass * throw * (1 + ratio))
    place = place_of(loads.torque, torque)
    gas = (place.read(loads.peak)[:, 0] - 1e5) * np.pi / 4 * engine.bore**2
    push = place.read(mean_rod_compression(loads, parts))[:, 0]
    assert np.all(push > gas - mass * throw * (1 + ratio) * 1.001)
    assert np.all(push < gas - mass * throw * 0.95)


def test_head_lift_by_hand(chain: Chain) -> None:
    """[VDI2230] R2: at the capacity torque the ring's weakest point is at the line load of lift."""
    engine, _, loads, _ = chain
    loose = {"head_joint.tightening": "torque", "head_joint.tightening_torque": 30.0}
    parts = parts_of(engine.with_values(loose), ZERO)
    head = parts.head
    capacity = capacity_torque(
        HEAD_LIFT.load(loads, parts), HEAD_LIFT.strength(loads, parts), loads.torque
    )
    assert np.isfinite(capacity).all()
    worst = place_of(loads.torque, capacity).load(loads.worst)
    force = worst * joint.sealing_area(head.sealing_diameter)
    left = [
        head.ring_share * holds * head.preload_hot - relief * force
        for ring in head.rings.values()
        for holds, relief in zip(ring.holds, ring.relief, strict=True)
    ]
    line = np.min(left, axis=0) / (np.pi * head.sealing_diameter)
    assert line == pytest.approx(np.broadcast_to(head.lift_line_load, line.shape), rel=1e-6)


@pytest.mark.parametrize("heavy", [1.0, 7.0])
def test_rod_life_by_hand(plain_engine: Engine, plain_run: Run, heavy: float) -> None:
    """[SHIGLEY] Goodman: amplitude over endurance and tensile mean over ultimate add up to 1.

    With the plain piston push is the larger at the limit, with one seven times as heavy pull is.
    """
    mass = plain_engine.value("running_gear.piston_mass").value
    engine = plain_engine.with_values({"running_gear.piston_mass": mass * heavy})
    prepared = prepare(engine, plain_run, None)
    loads = demand(prepared.engine, prepared.state, ZERO, np.zeros(len(prepared.speed)))
    parts = parts_of(prepared.engine, ZERO)
    gear = parts.gear
    push, pull = ROD_LIFE.strength(loads, parts)[:, 0], rod_tension(loads, parts)[:, 0]
    area = float(gear.shank_area[0])
    amplitude, mean = (push + pull) / 2 / area, (pull - push) / 2 / area
    used = amplitude / gear.fatigue_limit[0] + np.maximum(mean, 0.0) / gear.tensile_strength[0]
    assert used == pytest.approx(np.ones(len(used)))
    assert bool((mean > 0).any()) == (heavy > 1)
