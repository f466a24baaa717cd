"""Speed of the vectorised closed cycle against scipy's solver on the same equations.

Run with `pytest tests/bench/bench_cycle.py -s`. Prints cycles per second of both, at the same
accuracy: 0.1 % of peak pressure against a very fine march.
"""

import time

import numpy as np
import pytest
from oracles.kinematics import volume_rate
from scipy.integrate import solve_ivp

from torquerisk.physics.cylinder.burn import wiebe
from torquerisk.physics.cylinder.closed_cycle import closed_cycle, closed_cycle_at_imep
from torquerisk.physics.cylinder.cycle_data import ClosedCycle, CycleInputs
from torquerisk.physics.cylinder.gas import petrol_ethanol, working_gas
from torquerisk.physics.cylinder.geometry import CylinderGeometry, cylinder_volume
from torquerisk.physics.cylinder.species import energy_basis, energy_slope_basis

LANES = 2000
PRESSURE = 2e5
CLOSING, OPENING, SPEED, TRAPPED, WALL = np.radians(-130), np.radians(130), 300.0, 330.0, 450.0
GEOMETRY = CylinderGeometry(bore=0.086, stroke=0.086, rod_length=0.145, compression_ratio=9.5)


def _inputs(lanes: int, dissociation: bool) -> CycleInputs:
    ca50 = np.radians(np.linspace(5, 30, lanes)) if lanes > 1 else np.radians(12.0)
    return CycleInputs(
        geometry=GEOMETRY,
        fuel=petrol_ethanol(0.3),
        compression_ignition=False,
        speed=SPEED,
        trapped_temperature=TRAPPED,
        lambda_=0.9,
        residual_fraction=0.04,
        burn=wiebe(ca50, np.radians(24.0)),
        intake_closing=CLOSING,
        exhaust_opening=OPENING,
        exhaust_pressure=1.3e5,
        wall_temperature=WALL,
        completeness=0.975,
        dissociation=dissociation,
    )


def _best(function: object, times: int) -> tuple[float, ClosedCycle]:
    best, result = np.inf, None
    for _ in range(times):
        start = time.perf_counter()
        result = function()
        best = min(best, time.perf_counter() - start)
    return best, result


def _scipy_peak(inputs: CycleInputs, rtol: float) -> float:
    """Peak pressure of one frozen-gas cycle: dT/dtheta of the same balance by RK45."""
    gas = working_gas(inputs.fuel, 0.9, 0.04, False, dissociation=False)
    first, second = gas.unburned_energy[:, 0], gas.burned_energy[:, 0]
    r1, r2 = gas.unburned_gas_constant[0], gas.burned_gas_constant[0]
    start = cylinder_volume(CLOSING, GEOMETRY)
    mass = PRESSURE * start / (r1 * TRAPPED)
    curve = inputs.burn
    area, swept = np.pi / 4 * 0.086**2, np.pi / 4 * 0.086**2 * 0.086
    piston = 0.086 * SPEED / np.pi
    imep = float(closed_cycle(inputs, PRESSURE, keep_trace=False).imep_gross[0]) / 1e5

    def state(angle: float, t: float) -> tuple[float, float, float, float]:
        x = 0.975 * curve.burned_fraction(np.array([angle]))[0, 0]
        volume = float(cylinder_volume(angle, GEOMETRY))
        return x, volume, mass * ((1 - x) * r1 + x * r2) * t / volume, (1 - x)

    def rate(angle: float, y: np.ndarray) -> np.ndarray:
        t = y[0]
        x, volume, p, left = state(angle, t)
        s = max((angle - curve.start[0]) / curve.durations[0, 0], 0.0)
        burning = 0.975 * 6.908 * 3 * s**2 * np.exp(-6.908 * s**3) / curve.durations[0, 0]
        motored = PRESSURE * (start / volume) ** 1.32
        fire = 3.24e-3 * swept * TRAPPED / (PRESSURE * start) * (p - motored) * (x > 0)
        stir = 2 * 2.28 * piston * (swept / 8.5 / volume) ** 2 * imep**-0.2
        w = 2.28 * piston + max(fire, stir)
        h = 130 * 0.086**-0.2 * (p / 1e5 * w) ** 0.8 * t**-0.53
        loss = h * (2 * area + 4 * volume / 0.086) * (t - WALL) / SPEED
        mix, basis = left * first + x * second, energy_basis(t)
        released = burning * float((first - second) @ basis)
        work = p * float(volume_rate(angle, GEOMETRY)) / mass
        return np.array([(released - work - loss / mass) / float(mix @ energy_slope_basis(t))])

    angles = np.linspace(CLOSING, OPENING, 521)
    answer = solve_ivp(rate, (CLOSING, OPENING), [TRAPPED], rtol=rtol, atol=1e-3, t_eval=angles)
    pressures = [state(a, t)[2] for a, t in zip(angles, answer.y[0], strict=True)]
    return float(np.max(pressures))


def test_cycles_per_second() -> None:
    """Benchmark: vectorised march against scipy on the same equations at 0.1 % of the peak."""
    exact = closed_cycle(_inputs(1, False), PRESSURE, step=np.radians(0.05)).peak_pressure[0]
    tolerance = next(
        rtol
        for rtol in (1e-3, 3e-4, 1e-4, 1e-5)
        if abs(_scipy_peak(_inputs(1, False), rtol) / exact - 1) < 1e-3
    )
    slow, _ = _best(lambda: _scipy_peak(_inputs(1, False), tolerance), 3)
    print(f"\nscipy RK45, rtol {tolerance:g}: {1 / slow:.1f} cycles/s")
    for label, dissociation in (("frozen", False), ("equilibrium", True)):
        for degrees in (1.0, 2.0, 4.0):
            step, inputs = np.radians(degrees), _inputs(LANES, dissociation)
            reference = closed_cycle(inputs, PRESSURE, step=np.radians(0.1), keep_trace=False)
            quick, cycle = _best(
                lambda s=step, i=inputs: closed_cycle(i, PRESSURE * np.ones(LANES), s, False), 9
            )
            error = np.max(np.abs(cycle.peak_pressure / reference.peak_pressure - 1))
            steps = LANES * 260 / degrees
            solve, _ = _best(
                lambda s=step, i=inputs: closed_cycle_at_imep(
                    i, np.linspace(8e5, 30e5, LANES), s, False
                ),
                3,
            )
            print(
                f"{label}, step {degrees:g} deg, {LANES} lanes: {1e3 * quick:.1f} ms, "
                f"{LANES / quick:.0f} cycles/s, {slow * LANES / quick:.0f} times scipy, "
                f"{1e9 * quick / steps:.0f} ns per lane-step, peak within {100 * error:.3f} %; "
                f"at given imep {1e3 * solve:.1f} ms"
            )
            if degrees == 1.0:
                assert error < 1e-3


if __name__ == "__main__":
    pytest.main([__file__, "-s"])
