"""Checks of burn durations and ignition delay."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.cylinder import burn_duration as bd
from torquerisk.quantities import DEGREE

RPM = 2 * np.pi / 60


@pytest.mark.parametrize(
    ("piston_speed", "kelvin", "bar", "cetane", "degrees"),
    [(8, 900, 50, 45, 3.375), (10, 850, 40, 50, 4.583)],
)
def test_hardenberg_hase_values(
    piston_speed: float, kelvin: float, bar: float, cetane: float, degrees: float
) -> None:
    """Hardenberg & Hase SAE 790493, constants from memory; values recomputed to 1e-3 degree."""
    delay = bd.ignition_delay_hardenberg_hase(bar * 1e5, kelvin, piston_speed, cetane)
    assert delay / DEGREE == pytest.approx(degrees, abs=6e-4)


def test_full_throttle_duration_is_typical() -> None:
    """Heywood ch. 9 and practice, from memory: 18-25 degrees, four-valve full load."""
    value = bd.duration_spark(np.array([1500, 2000, 3000]) * RPM, 10e5) / DEGREE
    assert np.all((value > 18) & (value < 27))


def test_speed_exponent_lies_in_the_published_range() -> None:
    """Heywood ch. 9, from memory: duration in degrees x1.6 for x4 speed; exponent 0.20-0.35."""
    ratio = bd.duration_spark(4000 * RPM, 10e5) / bd.duration_spark(1000 * RPM, 10e5)
    assert 4**0.20 <= ratio <= 4**0.35


def test_measured_old_spark_engine_lies_within_two_spreads() -> None:
    """Open laboratory data, 1.39 l at 1,200 rpm and 7.85 bar: 31.4 and 11.6 degrees measured."""
    duration = bd.duration_spark(1200 * RPM, 7.85e5, lateness=7.5 * DEGREE) / DEGREE
    assert abs(np.log(31.4 / duration)) < 2 * bd.DURATION_SPARK_LOG_SD
    early = bd.flame_development(1200 * RPM, 7.85e5) * bd.development_factor(8 * DEGREE) / DEGREE
    assert abs(np.log(11.6 / early)) < 2 * bd.FLAME_DEVELOPMENT_LOG_SD


def test_measured_diesel_duration() -> None:
    """Open laboratory data, 3.0 l turbo diesel at 1,600 rpm, 4.19 bar: 21.4 degrees (anchor)."""
    value = bd.duration_compression_ignition(1600 * RPM, 4.19e5) / DEGREE
    assert value == pytest.approx(21.4, rel=0.05)


def test_fastest_flame_is_slightly_rich_and_undiluted() -> None:
    """Rhodes & Keck SAE 850047, from memory: laminar speed of petrol peaks at phi = 1.21."""
    lam = np.linspace(0.7, 1.4, 701)
    assert lam[np.argmax(bd.laminar_speed_ratio(lam, 0.05))] == pytest.approx(1 / 1.21, abs=1e-3)
    assert bd.laminar_speed_ratio(1.0, 0.05) == pytest.approx(1.0)
    assert np.all(np.diff(bd.laminar_speed_ratio(1.0, np.linspace(0, 0.3, 31))) < 0)


def test_trends_over_the_field() -> None:
    """Metamorphic: longer with speed, dilution and lateness; finite, 8 to 90 degrees everywhere."""
    speed = np.linspace(1000, 9000, 17)[:, None] * RPM
    bmep = np.linspace(2e5, 35e5, 12)[None, :]
    for model in (bd.duration_spark, bd.flame_development):
        value = model(speed, bmep) / DEGREE
        assert np.all((value > 8) & (value < 90))
        assert np.all(np.diff(value, axis=0) > 0)
        assert np.all(np.diff(value, axis=1) < 0)
        assert np.all(model(speed, bmep, residual_fraction=0.15) > model(speed, bmep))
    late = bd.duration_spark(300.0, 15e5, lateness=np.array([0.0, 10.0, 20.0]) * DEGREE)
    assert late / late[0] == pytest.approx([1.0, 1.15, 1.30])


def test_earlier_spark_develops_slower() -> None:
    """Metamorphic: 1 at 20 degrees, monotone, held between 0.6 and 1.4."""
    factor = bd.development_factor(np.array([-40.0, 0.0, 20.0, 40.0, 70.0]) * DEGREE)
    assert factor == pytest.approx([0.6, 0.8, 1.0, 1.2, 1.4])


def test_compression_trends() -> None:
    """Metamorphic: compression-ignition burns grow with load and speed and stay below 75 deg."""
    speed = np.linspace(1000, 6000, 11)[:, None] * RPM
    bmep = np.linspace(2e5, 35e5, 12)[None, :]
    value = bd.duration_compression_ignition(speed, bmep) / DEGREE
    assert np.all(np.diff(value, axis=0) > 0)
    assert np.all(np.diff(value, axis=1) > 0)
    assert 10 < value.min() < value.max() < 75


def test_delay_shortens_with_pressure_temperature_and_cetane() -> None:
    """Metamorphic: each of the three makes a diesel spray light sooner."""
    base = bd.ignition_delay_hardenberg_hase(50e5, 900.0, 8.0, 50.0)
    assert bd.ignition_delay_hardenberg_hase(80e5, 900.0, 8.0, 50.0) < base
    assert bd.ignition_delay_hardenberg_hase(50e5, 950.0, 8.0, 50.0) < base
    assert bd.ignition_delay_hardenberg_hase(50e5, 900.0, 8.0, 60.0) < base


def test_delay_grows_in_degrees_and_shrinks_in_time_with_speed() -> None:
    """Metamorphic: with piston speed at a stroke of 0.1 m, as the fit's 0.36 + 0.22 S_p has it."""
    speed = np.array([1000.0, 2000.0, 4000.0]) * RPM
    angle = bd.ignition_delay_hardenberg_hase(60e5, 900.0, 0.1 * speed / np.pi, 50.0)
    assert np.all(np.diff(angle) > 0)
    assert np.all(np.diff(bd.time_from_crank_angle(angle, speed)) < 0)


def test_compressed_charge_is_polytropic() -> None:
    """[HEYWOOD] ch. 5, identity: p V^n and p V/T stay."""
    pressure, temperature = bd.compressed_charge(1.2e5, 345.0, 14.0)
    assert pressure == pytest.approx(1.2e5 * 14.0**bd.COMPRESSION_EXPONENT)
    assert pressure / 1.2e5 / 14.0 == pytest.approx(temperature / 345.0)
    with pytest.raises(OutOfRangeError, match="volume_ratio"):
        bd.compressed_charge(1e5, 300.0, 0.5)


def test_crank_angle_to_time() -> None:
    """Identity: 36 degrees at 1,000 rpm last 6 ms."""
    assert bd.time_from_crank_angle(36 * DEGREE, 1000 * RPM) == pytest.approx(6e-3)


def test_refusals_name_the_argument() -> None:
    """Edge: outside the fits."""
    with pytest.raises(OutOfRangeError, match="lambda is 2"):
        bd.duration_spark(300.0, 10e5, lambda_=2.0)
    with pytest.raises(OutOfRangeError, match="compression ignition"):
        bd.duration_compression_ignition(9000 * RPM, 10e5)
    with pytest.raises(OutOfRangeError, match="pressure"):
        bd.ignition_delay_hardenberg_hase(12e5, 900.0, 8.0)
