"""A diesel's response tables: peaks read off a trace, and cycles that the tables must give back."""

import dataclasses
from types import SimpleNamespace

import numpy as np
import pytest

from torquerisk.physics.cylinder.burn import (
    PREMIXED_LEAST,
    double_wiebe,
    eased_share,
    injected_share,
)
from torquerisk.physics.cylinder.closed_cycle import closed_cycle_at_imep
from torquerisk.quantities import DEGREE, RPM
from torquerisk.study.cycle import (
    cylinder,
    diesel_cycles,
    diesel_tables,
    response_tables,
    table_grid,
)
from torquerisk.study.cycle.cylinder import CylinderSpec
from torquerisk.study.cycle.diesel_peaks import burning_peak, compression_peak

SPEC = CylinderSpec(
    bore=0.092, stroke=0.098, rod_length=0.152, pin_offset=0.0, compression_ratio=17.2,
    compression_ignition=True, ethanol_share=0.0, burn_duration=None, residual_fraction=0.04,
    intake_closing=-142 * DEGREE, exhaust_opening=132 * DEGREE, speed_low=700 * RPM,
    speed_high=6000 * RPM, cetane=49.0,
)  # fmt: skip
ROW = 8
"""14 bar of gross IMEP."""


def _direct(share: np.ndarray, ca50: np.ndarray, z: np.ndarray, step: float) -> np.ndarray:
    """Peak (n,) [Pa] of direct cycles at 2,500 rpm with a premixed share as given."""
    imep = np.full(len(share), table_grid.imep_nodes()[ROW])
    lambda_ = SPEC.lambda_middle * np.exp(z[:, 4] * SPEC.lambda_step)
    duration = cylinder.burn_duration(SPEC, np.float64(2500 * RPM), imep, lambda_, ca50)
    duration = duration * np.exp(z[:, 0] * table_grid.STEPS["burn"])
    inputs = cylinder.cycle_inputs(
        SPEC, speed=2500 * RPM, imep=imep, ca50=ca50, duration=duration, lambda_=lambda_,
        trapped_temperature=350.0, burn=double_wiebe(ca50, duration, share),
    )  # fmt: skip
    cycle = closed_cycle_at_imep(
        inputs, imep, step=step, keep_trace=False, functionals={"peak": burning_peak}
    )
    return cycle.functionals["peak"] if step == 1 * DEGREE else cycle.peak_pressure


def _tabulated(share: np.ndarray, ca50: np.ndarray, z: np.ndarray) -> np.ndarray:
    """The same from the tables."""
    fitted, speed = response_tables.fit_surface(SPEC), np.array([2500 * RPM])
    tables, premixed = fitted.at_speeds(speed)[0], fitted.premixed_at_speeds(speed)[0]
    imep = np.full(len(share), table_grid.imep_nodes()[ROW])
    lambda_ = SPEC.lambda_middle * np.exp(z[:, 4] * SPEC.lambda_step)
    lit = cylinder.ignition(
        SPEC, speed=speed, imep=imep, ca50=ca50, lambda_=lambda_, trapped_temperature=350.0
    )
    over = np.maximum(share - PREMIXED_LEAST, 1e-9) / 0.1
    wanted = 1 - PREMIXED_LEAST - 0.1 * np.log(np.expm1(over))
    own = injected_share(lambda_, lit.delay)
    column, way = table_grid.place(SPEC, np.repeat(ca50[:, None], table_grid.IMEP_NODES, 1))
    groups = [(slice(None), z)]
    peak = diesel_tables.log_peak(tables, premixed, groups, np.log(wanted / own), column, way)
    return np.exp(peak[:, ROW])


@pytest.mark.parametrize(
    ("share", "within"),
    [(PREMIXED_LEAST, 1e-3), (0.05, 3e-3), (0.11, 3e-3), (0.17, 3e-3), (0.25, 5e-3), (0.37, 5e-3),
     (0.43, 8e-3), (0.49, 8e-3), (0.6, 8e-3)],
)  # fmt: skip
def test_tables_give_back_cycles_of_a_premixed_share(share: float, within: float) -> None:
    """Direct cycles are the reference, between the nodes of the share too.

    Single cycles are less near than the points of a band; from 0.4 on the worst is where another
    part of the burn comes to set the peak.
    """
    ca50 = np.array([4.75, 11.25, 14.5, 17.75, 24.25]) * DEGREE
    z, shares = np.zeros((5, 5)), np.full(5, share)
    direct = _direct(shares, ca50, z, 0.25 * DEGREE)
    assert _tabulated(shares, ca50, z) == pytest.approx(direct, rel=within)


def test_tables_of_a_small_cylinder_give_back_its_cycles(monkeypatch: pytest.MonkeyPatch) -> None:
    """Direct cycles are the reference: at a bore of 40 mm within 0.3 % as at the usual one."""
    small = dataclasses.replace(
        SPEC, bore=0.040, stroke=0.042, rod_length=0.072, compression_ratio=20.0,
        speed_low=980 * RPM,
    )  # fmt: skip
    monkeypatch.setitem(globals(), "SPEC", small)
    ca50 = np.array([4.75, 11.25, 14.5, 17.75, 24.25]) * DEGREE
    z, shares = np.zeros((5, 5)), np.full(5, PREMIXED_LEAST)
    direct = _direct(shares, ca50, z, 0.25 * DEGREE)
    assert _tabulated(shares, ca50, z) == pytest.approx(direct, rel=3e-3)


@pytest.mark.parametrize("share", [PREMIXED_LEAST, 0.14, 0.34])
def test_the_share_acts_otherwise_on_short_burns_and_with_more_air(share: float) -> None:
    """Direct cycles are the reference: within 0.4 % one at a time, two steps off and between."""
    z = np.zeros((6, 5))
    z[:4, 0], z[4:, 4] = [-1.5, -0.7, 0.7, 1.5], [1.0, 2.0]
    ca50, shares = np.full(6, 14.5 * DEGREE), np.full(6, share)
    direct = _direct(shares, ca50, z, 0.25 * DEGREE)
    assert _tabulated(shares, ca50, z) == pytest.approx(direct, rel=4e-3)


def test_peak_by_seven_nodes_does_not_move_with_the_grid() -> None:
    """A march in steps of 0.125 degrees is the reference: off by the same within 0.06 % (one sd).

    What is left is the march's own step, below 0.25 %. The parabola through three nodes of 1 degree
    moves by more than 0.15 % (one sd) as the burn moves against the nodes.
    """
    ca50 = np.linspace(14, 15, 9) * DEGREE
    z, shares = np.zeros((9, 5)), np.full(9, 0.4)
    fine, seven = (_direct(shares, ca50, z, step * DEGREE) for step in (0.125, 1))
    assert seven == pytest.approx(fine, rel=2.5e-3)
    assert np.std(seven / fine) < 6e-4
    three = _direct(shares, ca50, z, 1.0001 * DEGREE)
    assert np.std(three / fine) > 1.5e-3


def _trace(pressure: np.ndarray, start: np.ndarray) -> SimpleNamespace:
    angle = np.radians(np.arange(-180.0, 181.0))
    burn = SimpleNamespace(start=start)
    return SimpleNamespace(angle=angle, pressure=pressure, inputs=SimpleNamespace(burn=burn))


def test_peaks_of_burning_and_compression_are_told_apart() -> None:
    """By hand: two bells; the later one is the burn's, however low, the earlier compression's."""
    degrees = np.arange(-180.0, 181.0)[:, None]
    low, high = np.array([40e5, 90e5]), 60e5
    bells = high * np.exp(-(((degrees + 0.3) / 9) ** 2)) + low * np.exp(
        -(((degrees - 40.4) / 7) ** 2)
    )
    trace = _trace(bells, np.radians([30.0, 30.0]))
    assert burning_peak(trace) == pytest.approx(low, rel=1e-3)
    assert compression_peak(trace) == pytest.approx([high, high], rel=1e-3)


def test_a_burn_that_never_rises_is_held_up_by_the_pressure_at_its_start() -> None:
    """By hand: on a falling line the peak is the pressure two degrees after the start."""
    degrees = np.arange(-180.0, 181.0)[:, None]
    start = np.array([10.0, 10.37, 10.9])
    falling = 80e5 - 1e5 * degrees + np.zeros(3)
    peak = burning_peak(_trace(falling, np.radians(start)))
    assert peak == pytest.approx(80e5 - 1e5 * (start + 2), rel=1e-9)


def test_terms_at_the_design_solve_for_their_coefficients() -> None:
    """Identity: coefficients drawn at random come back from what they make at the STARS."""
    wanted = np.random.default_rng(3).standard_normal(diesel_tables.EVERY_TERM - 1)
    stars = diesel_cycles.STARS
    made = diesel_tables.other_terms(stars)[:, 1:] @ wanted
    found = np.linalg.solve(diesel_tables.other_terms(stars)[:, 1:], made)
    assert found == pytest.approx(wanted)
    assert np.linalg.cond(diesel_tables.other_terms(stars)[:, 1:]) < 1e3


def test_premixed_share_eases_into_its_floor() -> None:
    """Limits: 1 less what is injected far from the floor, the floor beyond it, never below."""
    injected = np.array([0.2, 0.5, 3.0])
    assert eased_share(injected) == pytest.approx([0.8, 0.5, PREMIXED_LEAST], abs=1e-3)
    assert np.all(eased_share(np.linspace(0, 5, 50)) >= PREMIXED_LEAST)


def test_a_diesels_tables_do_not_depend_on_the_run() -> None:
    """Identity: the same cylinder gives the same tables, bit for bit, from the cache or anew."""
    first = response_tables.fit_surface(SPEC)
    response_tables.fit_surface.cache_clear()
    again = response_tables.fit_surface(SPEC)
    assert np.array_equal(first.tables, again.tables)
    assert first.premixed is not None
    assert again.premixed is not None
    assert np.array_equal(first.premixed, again.premixed)
