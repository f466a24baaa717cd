"""Checks of cyclic spread and extremes."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.cylinder import spread
from torquerisk.physics.cylinder.burn import wiebe
from torquerisk.physics.cylinder.burn_duration import duration_spark
from torquerisk.physics.cylinder.closed_cycle import closed_cycle
from torquerisk.physics.cylinder.cycle_data import CycleInputs
from torquerisk.physics.cylinder.gas import petrol_ethanol
from torquerisk.physics.cylinder.geometry import CylinderGeometry
from torquerisk.quantities import DEGREE

RPM = 2 * np.pi / 60


@pytest.mark.parametrize(
    ("cycles", "expected"),
    [
        (1, 0.0),
        (2, 0.56419),
        (3, 0.84628),
        (5, 1.16296),
        (10, 1.53875),
        (100, 2.50759),
        (1000, 3.24144),
    ],
)
def test_expected_maximum_of_normal_samples(cycles: int, expected: float) -> None:
    """Tippett 1925 and later printed tables of normal order statistics, from memory, 5 digits."""
    assert spread.expected_maximum(cycles) == pytest.approx(expected, abs=6e-6)


def test_expected_maximum_of_two_is_one_over_root_pi() -> None:
    """Identity: the mean of the larger of two standard normals is 1/sqrt(pi)."""
    assert spread.expected_maximum(2.0) == pytest.approx(1 / np.sqrt(np.pi), abs=1e-9)


def test_median_maximum_by_definition() -> None:
    """Identity: one value has median 0; the chance that N stay below z is one half."""
    assert spread.median_maximum(1.0) == pytest.approx(0.0, abs=1e-12)
    for cycles in (10.0, 1e3, 1e6):
        assert norm.cdf(spread.median_maximum(cycles)) ** cycles == pytest.approx(0.5)


def test_extremes_against_simulation() -> None:
    """Identity by sampling: 20,000 groups of 50 normal values, seed fixed; four standard errors."""
    largest = np.random.default_rng(7).standard_normal((20000, 50)).max(axis=1)
    error = 4 * largest.std() / np.sqrt(largest.size)
    assert spread.expected_maximum(50) == pytest.approx(largest.mean(), abs=error)
    assert spread.median_maximum(50) == pytest.approx(np.median(largest), abs=1.25 * error)


@settings(max_examples=50, deadline=None)
@given(st.floats(1, 1e8), st.floats(1.001, 10))
def test_more_cycles_never_lower_the_maximum(cycles: float, more: float) -> None:
    """Metamorphic: time spent counts."""
    assert spread.expected_maximum(cycles * more) > spread.expected_maximum(cycles)
    assert spread.median_maximum(cycles * more) > spread.median_maximum(cycles)


def test_cycles_while_sweeping_a_band() -> None:
    """Identity: 1,000 rpm wide about 3,000 at 500 rpm/s takes 2 s: 25 cycles/s x 2 s = 50."""
    value = spread.cycles_in_band(3000 * RPM, 1000 * RPM, 500 * RPM)
    assert value == pytest.approx(50.0)
    assert spread.cycles_in_band(3000 * RPM, 1000 * RPM, -500 * RPM) == pytest.approx(50.0)


def test_bands_add_up() -> None:
    """Identity: ten narrow bands hold as many cycles as the wide one."""
    middle = np.arange(2050, 3000, 100.0)
    narrow = spread.cycles_in_band(middle * RPM, 100 * RPM, 400 * RPM).sum()
    assert narrow == pytest.approx(spread.cycles_in_band(2500 * RPM, 1000 * RPM, 400 * RPM))


def test_published_ranges_at_best_phasing() -> None:
    """Heywood 9.4 and practice, from memory: COV of peak pressure 5-10 %."""
    assert 0.05 <= spread.cov_peak_pressure_spark(8.5 * DEGREE, 10e5) <= 0.10


def test_later_phasing_raises_the_spread() -> None:
    """Metamorphic: over 2-35 bar, spread never falls with retard and stays in (0, 0.3)."""
    ca50 = np.linspace(-10, 60, 71)[:, None] * DEGREE
    bmep = np.linspace(2e5, 35e5, 12)[None, :]
    value = spread.cov_peak_pressure_spark(ca50, bmep)
    assert np.all(np.diff(value, axis=0) >= 0)
    assert np.all(np.diff(value, axis=0)[20:] > 0)
    assert np.all(np.diff(value, axis=1) < 0)
    assert 0.005 < value.min() < value.max() < 0.3
    assert spread.cov_peak_pressure_spark(60 * DEGREE, 2e5) < spread.COV_PEAK_HIGHEST


@pytest.mark.parametrize(("rpm", "trapped"), [(2500.0, 1.1e5), (2500.0, 2.2e5), (5500.0, 2.2e5)])
def test_slope_follows_the_closed_cycle(rpm: float, trapped: float) -> None:
    """Consistency with this package's closed cycle (itself checked elsewhere), same charge: 8 %."""
    ca50 = np.arange(6.0, 43.0, 2.0) * DEGREE
    speed = np.full_like(ca50, rpm * RPM)
    lateness = np.maximum(ca50 - spread.BEST_CA50, 0.0)
    inputs = CycleInputs(
        geometry=CylinderGeometry(
            bore=0.081, stroke=0.0864, rod_length=0.144, compression_ratio=9.5
        ),
        fuel=petrol_ethanol(0.0),
        compression_ignition=False,
        speed=speed,
        trapped_temperature=350.0,
        lambda_=0.9,
        residual_fraction=0.05,
        burn=wiebe(ca50, duration_spark(speed, 15e5, 0.9, 0.05, lateness)),
        intake_closing=-130 * DEGREE,
        exhaust_opening=130 * DEGREE,
        exhaust_pressure=1.5e5,
    )
    cycle = closed_cycle(inputs, trapped, keep_trace=False)
    slope = -np.gradient(np.log(cycle.peak_pressure), ca50)
    inside = slice(1, -1)
    assert spread.peak_pressure_slope(ca50[inside]) == pytest.approx(slope[inside], rel=0.08)


def test_refusals_name_the_argument() -> None:
    """Edge: no cycles, no sweep, degrees for radians."""
    with pytest.raises(OutOfRangeError, match=r"cycles is 0\.5"):
        spread.expected_maximum(0.5)
    with pytest.raises(OutOfRangeError, match="sweep_rate"):
        spread.cycles_in_band(300.0, 10.0, 0.0)
    with pytest.raises(OutOfRangeError, match="ca50 is 20"):
        spread.cov_peak_pressure_spark(20.0, 10e5)
