"""Checks of the knock integral, its threshold and octane of blends."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.cylinder import knock, phasing
from torquerisk.physics.cylinder.burn import wiebe
from torquerisk.physics.cylinder.burn_duration import duration_spark
from torquerisk.physics.cylinder.closed_cycle import closed_cycle_at_imep
from torquerisk.physics.cylinder.cycle_data import COMPLETENESS, CycleInputs
from torquerisk.physics.cylinder.gas import petrol_ethanol
from torquerisk.physics.cylinder.geometry import CylinderGeometry

ATM = 101325.0


def trace(lanes: int = 3) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """An invented burn-like trace: angle, pressure, unburned temperature, burned fraction."""
    angle = np.radians(np.linspace(-60, 60, 241))
    scale = np.linspace(0.8, 1.2, lanes)
    pressure = 60e5 * scale * np.exp(-((angle[:, None] - 0.25) ** 2) / 0.15) + 3e5
    temperature = 380.0 * (pressure / 2e5) ** 0.25
    burned = 1 / (1 + np.exp(-(angle[:, None] - 0.2) / 0.08)) * np.ones(lanes)
    return angle, pressure, temperature, burned


def delay(pressure: float, temperature: float, octane: float) -> float:
    """Autoignition delay [s]: at constant state Livengood and Wu's integral is time over it."""
    angle, one = np.linspace(0.0, 1e-3 * 200.0, 50), np.ones((50, 1))
    found = knock.livengood_wu_integral(angle, pressure * one, temperature * one, 200.0, octane)
    return 1e-3 / float(found[0])


@pytest.mark.parametrize(
    ("octane", "atm", "kelvin", "milliseconds"),
    [
        (100, 20, 800, 12.550),
        (95, 30, 800, 5.290),
        (91, 30, 800, 4.570),
        (95, 50, 850, 1.679),
        (98, 60, 900, 1.068),
        (100, 1, 1000, 790.3),
    ],
)
def test_delay_values(octane: float, atm: float, kelvin: float, milliseconds: float) -> None:
    """Douaud & Eyzat SAE 780080, constants from memory, values recomputed to the digits listed."""
    value = delay(atm * ATM, kelvin, octane) * 1e3
    assert value == pytest.approx(milliseconds, rel=4e-4)


def test_delay_scalings() -> None:
    """Douaud & Eyzat exponents, from memory: pressure x2 divides by 3.249; 91 to 98 is x1.287."""
    base = delay(30e5, 800.0, 91.0)
    assert base / delay(60e5, 800.0, 91.0) == pytest.approx(3.249, abs=5e-4)
    assert delay(30e5, 800.0, 98.0) / base == pytest.approx(1.287, abs=5e-4)


def test_doubling_speed_halves_the_integral() -> None:
    """Metamorphic: at the same traces time is half as long."""
    angle, p, t, x = trace()
    one = knock.livengood_wu_integral(angle, p, t, 300.0, 95.0, x)
    two = knock.livengood_wu_integral(angle, p, t, 600.0, 95.0, x)
    assert two == pytest.approx(one / 2)


@settings(max_examples=30, deadline=None)
@given(st.floats(60, 129), st.floats(0.1, 1.0))
def test_octane_up_never_raises_the_integral(octane: float, step: float) -> None:
    """Metamorphic: more octane, less integral; hotter or higher pressure, more."""
    angle, p, t, x = trace()
    low = knock.livengood_wu_integral(angle, p, t, 300.0, octane, x)
    assert np.all(knock.livengood_wu_integral(angle, p, t, 300.0, octane + step, x) < low)
    assert np.all(knock.livengood_wu_integral(angle, p, t + step, 300.0, octane, x) > low)
    assert np.all(knock.livengood_wu_integral(angle, p * (1 + step), t, 300.0, octane, x) > low)


def test_lanes_are_independent() -> None:
    """Identity: a lane alone gives what it gives among others, with speed and octane per lane."""
    angle, p, t, x = trace(4)
    speed, octane = np.array([200.0, 300, 400, 500]), np.array([91.0, 95, 98, 105])
    together = knock.livengood_wu_integral(angle, p, t, speed, octane, x)
    for i in range(4):
        alone = knock.livengood_wu_integral(angle, p[:, i], t[:, i], speed[i], octane[i], x[:, i])
        assert together[i] == pytest.approx(float(alone))


def test_stop_is_interpolated_inside_the_step() -> None:
    """Identity: constant rate and a straight burn stop at the limit's share of the angle."""
    angle = np.linspace(0.0, 1.0, 8)
    one = np.ones((8, 1))
    whole = knock.livengood_wu_integral(angle, 40e5 * one, 850 * one, 200.0, 95.0)
    cut = knock.livengood_wu_integral(angle, 40e5 * one, 850 * one, 200.0, 95.0, angle[:, None])
    assert cut == pytest.approx(0.95 * whole)


def test_step_size_error_is_second_order() -> None:
    """Identity: trapezoidal rule; half a degree against a twentieth agree to 0.1 %."""
    results = []
    for points in (241, 2401):
        angle = np.radians(np.linspace(-60, 60, points))
        p = 60e5 * np.exp(-((angle - 0.25) ** 2) / 0.15) + 3e5
        t = 380.0 * (p / 2e5) ** 0.25
        x = 1 / (1 + np.exp(-(angle - 0.2) / 0.08))
        results.append(knock.livengood_wu_integral(angle, p, t, 300.0, 95.0, x))
    assert results[0] == pytest.approx(results[1], rel=1e-3)


@pytest.mark.parametrize(
    ("volume", "mole", "octane"),
    [
        (0.10, 0.2035, 94.7),
        (0.20, 0.3650, 97.6),
        (0.30, 0.4963, 99.9),
        (0.50, 0.6969, 103.5),
        (0.85, 0.9287, 107.7),
    ],
)
def test_ethanol_blends(volume: float, mole: float, octane: float) -> None:
    """Molar-linear form of Anderson & Wallington 2020 (seen); base 91, ethanol 109; recomputed."""
    x = knock.ethanol_mole_fraction(volume)
    assert x == pytest.approx(mole, abs=6e-5)
    assert knock.blend_octane(91.0, x) == pytest.approx(octane, abs=0.06)


def test_ten_percent_ethanol_gains_three_octane() -> None:
    """Encyclopaedia and practice pages: 10 % ethanol adds about 2-3 (research), here Z = 0: 3.7.

    Agreement is within the stated spread of 1.5.
    """
    gain = knock.blend_octane(91.0, knock.ethanol_mole_fraction(0.10)) - 91.0
    assert gain == pytest.approx(2.5, abs=1.5)


def test_blend_ends_are_the_neat_fuels() -> None:
    """Identity: 0 and 1 give petrol and ethanol, half their mean."""
    blends = knock.blend_octane(91.0, np.array([0.0, 0.5, 1.0]))
    assert blends == pytest.approx([91.0, 100.0, 109.0])


def test_sensitivity_of_blends() -> None:
    """[OCTANE_INDEX], pump figures from memory: 95 RON, 85 MON; ethanol 109, 90. E85 counts for 2
    to 6 octane more than its RON with -K of 0.3 to 1, and pump fuel for its RON."""
    pump, e85 = (knock.ethanol_mole_fraction(v) for v in (0.10, 0.85))
    assert knock.sensitivity_beyond(1.0, 0.0) == pytest.approx(19 - 9)
    assert knock.sensitivity_beyond(pump, 0.0) + knock.PETROL_SENSITIVITY == pytest.approx(
        10, abs=1.2
    )
    assert knock.sensitivity_beyond(pump, pump) == 0.0
    assert 2 < knock.SENSITIVITY_WEIGHT * knock.sensitivity_beyond(e85, pump) < 6


def full_load_integral(trapped_temperature: float, earlier: float = 0.0) -> np.ndarray:
    """Integral along an invented full-load curve, 1,500-4,000 rpm, 95 octane, ratio 9.5."""
    rpm = np.array([1500.0, 2000.0, 3000.0, 4000.0])
    imep = np.array([17.0, 21.0, 22.0, 22.0]) * 1e5
    ca50 = np.radians([24.0, 24.0, 20.0, 17.0]) - earlier
    speed = rpm * np.pi / 30
    burn = wiebe(ca50, duration_spark(speed, 0.9 * imep, 0.9, 0.05, ca50 - np.radians(8.5)))
    inputs = CycleInputs(
        geometry=CylinderGeometry(
            bore=0.081, stroke=0.0864, rod_length=0.144, compression_ratio=9.5
        ),
        fuel=petrol_ethanol(0.0),
        compression_ignition=False,
        speed=speed,
        trapped_temperature=trapped_temperature,
        lambda_=0.9,
        residual_fraction=0.05,
        burn=burn,
        intake_closing=np.radians(-130.0),
        exhaust_opening=np.radians(130.0),
        exhaust_pressure=1.5e5,
    )
    t = closed_cycle_at_imep(inputs, imep).kept
    burned = t.burned_fraction / COMPLETENESS["spark"]
    return knock.livengood_wu_integral(
        t.angle, t.pressure, t.unburned_temperature, speed, 95.0, burned
    )


def test_threshold_is_where_knock_limited_engines_run() -> None:
    """Common practice, no source: CA50 17-24 degrees is where 95 octane limits 17-22 bar IMEP.

    An invented boosted engine that runs 3 degrees before its usual phasing must lie at the edge of
    knock, at every speed: within one stated spread of the threshold for a usual trapped temperature
    of 343 K, within two and a half for a hot 380 K.
    """
    for kelvin, spreads in ((343.0, 1.0), (380.0, 2.5)):
        edge = knock.knock_threshold(np.array([1500.0, 2000.0, 3000.0, 4000.0]) * np.pi / 30)
        apart = np.log(full_load_integral(kelvin, phasing.KNOCK_MARGIN) / edge)
        assert np.all(np.abs(apart) < spreads * knock.KNOCK_THRESHOLD_LOG_SD)


def test_threshold_trend_by_hand() -> None:
    """Identity: the median at 2,500 rpm, 0.57 of it at four times the speed, flat for e = 0."""
    low, high = knock.KNOCK_THRESHOLD_SPEED * np.array([1.0, 4.0])
    assert knock.knock_threshold(low) == pytest.approx(knock.KNOCK_THRESHOLD_MEDIAN)
    assert knock.knock_threshold(high) == pytest.approx(knock.KNOCK_THRESHOLD_MEDIAN * 0.25**0.4)
    assert knock.knock_threshold(high, 1.2, 0.0) == pytest.approx(1.2)
    with pytest.raises(OutOfRangeError, match="speed is 2500"):
        knock.knock_threshold(2500.0)


def test_hotter_charge_knocks_more() -> None:
    """Metamorphic: 37 K more in the trapped charge raise the integral at every speed."""
    assert np.all(full_load_integral(380.0) > 1.2 * full_load_integral(343.0))


def test_refusals_name_the_argument() -> None:
    """Edge: angle running backwards, octane of nonsense, temperature in celsius."""
    angle, p, t, x = trace()
    with pytest.raises(OutOfRangeError, match="crank_angle"):
        knock.livengood_wu_integral(angle[::-1], p, t, 300.0, 95.0, x)
    with pytest.raises(OutOfRangeError, match=r"octane is 9\.5"):
        delay(30e5, 800.0, 9.5)
    with pytest.raises(OutOfRangeError, match="unburned temperature"):
        delay(30e5, 2500.0, 95.0)
