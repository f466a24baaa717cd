"""The direct cycle that is drawn agrees with the arrays that are judged."""

import numpy as np
import pytest
from plain_runs import run_of

from torquerisk.case import Engine, Policy, Run
from torquerisk.study.answers.cycle_traces import MedianCycle, median_cycle
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.strengths.running_gear import CRANKCASE_PRESSURE

pytestmark = pytest.mark.slow

Pair = tuple[Assessment, list[MedianCycle]]


@pytest.fixture(scope="module", params=["spark", "compression", "hot walls"])
def pair(
    request: pytest.FixtureRequest,
    plain_engine: Engine,
    plain_diesel: Engine,
    plain_run: Run,
    few: Policy,
) -> Pair:
    """An assessment and the median cycle at each of its speeds."""
    engine, run = plain_engine, plain_run
    if request.param == "compression":
        engine, run = plain_diesel, run_of([1500, 2500, 3500], [430.0, 470.0, 380.0])
    if request.param == "hot walls":
        engine = plain_engine.with_values({"charge.heat_loss_scale": 0.5})
    result = assess(engine, run, few)
    return result, [median_cycle(result, k) for k in range(len(result.speed))]


def test_the_peak_is_the_bands_median(pair: Pair) -> None:
    """Identity: the trace peaks where the band's median says, to two rounded digits."""
    result, cycles = pair
    peaks = [float(cycle.pressure.max()) for cycle in cycles]
    assert peaks == pytest.approx(list(result.peak_pressure.p50), rel=0.004)


def test_the_drawn_band_reaches_the_bands_ends(pair: Pair) -> None:
    """Identity: the traces of the 5 and 95 % points peak there, unless compression is higher."""
    result, cycles = pair
    for k, cycle in enumerate(cycles):
        assert cycle.pressure_high.max() == pytest.approx(result.peak_pressure.p95[k], rel=0.02)
        assert cycle.pressure_low.max() >= result.peak_pressure.p05[k] * 0.99


def test_rod_forces_are_the_arrays(pair: Pair) -> None:
    """Identity: greatest push and pull along the rod over the whole cycle, within 4 %: the trace is

    of the middle phasing, the array the middle of the pushes, whose spread is lopsided.

    The array counts no gas pressure at overlap TDC, where the trace has some that helps.
    """
    result, cycles = pair
    push = [float(cycle.rod_force.max()) for cycle in cycles]
    assert push == pytest.approx(list(result.rod_compression), rel=0.04)
    for k, cycle in enumerate(cycles):
        pull = -float(cycle.rod_force.min())
        overlap = int(np.argmin(np.abs(np.abs(cycle.angle) - 2 * np.pi)))
        help_ = (cycle.pressure[overlap] - CRANKCASE_PRESSURE) * result.engine.bore_area
        assert pull <= result.rod_tension[k] * 1.001
        assert pull + max(help_, 0.0) == pytest.approx(result.rod_tension[k], rel=0.03)


def test_the_trace_gives_the_imep_that_it_was_made_for(pair: Pair) -> None:
    """[HEYWOOD] 2.4: work over swept volume from valve closing to opening of the drawn trace."""
    result, cycles = pair
    for k, cycle in enumerate(cycles):
        assert float(cycle.closed.imep_gross[0]) == pytest.approx(result.imep_gross[k], rel=1e-3)


def test_the_exhaust_stroke_lies_above_the_intake_stroke(pair: Pair) -> None:
    """Common practice, no source: a turbine asks for more pressure than its compressor gives, but

    for a fixed one at low speed, where scavenging is good.
    """
    result, cycles = pair
    over = [
        np.divide(*np.interp([1.5 * np.pi, -1.5 * np.pi], cycle.angle, cycle.pressure))
        for cycle in cycles
    ]
    assert over[-1] > 1.02
    assert over[-1] > over[0]
    if not result.engine.compression_ignition:
        assert min(over) > 1.0
    else:
        assert min(over) > 1.02


def test_logged_exhaust_pressure_fills_the_exhaust_stroke(
    plain_engine: Engine, few: Policy
) -> None:
    """Identity: what is logged behind the valve stands in the trace, and holds the rod at overlap.

    Mid-stroke, 270 degrees after firing TDC, the cylinder is at the pressure it empties into.
    """
    rpm, torque = [2000, 3500, 5000], [200.0, 280.0, 260.0]
    pulls = []
    for pressure in (1.1e5, 3.0e5):
        run = run_of(rpm, torque, exhaust_pressure=np.full(3, pressure))
        cycle = median_cycle(assess(plain_engine, run, few), 1)
        at = int(np.argmin(np.abs(cycle.angle - 1.5 * np.pi)))
        assert cycle.pressure[at] == pytest.approx(pressure, rel=0.01)
        pulls.append(float(cycle.rod_force.min()))
    assert pulls[1] > pulls[0]
