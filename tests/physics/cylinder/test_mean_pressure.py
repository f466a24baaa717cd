"""Checks of mean effective pressures and friction models."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.cylinder import mean_pressure as mp
from torquerisk.quantities import BAR

RPM = 2 * np.pi / 60


def test_bmep_of_a_worked_four_cylinder() -> None:
    """Published exercise (4-cylinder, 85 x 97 mm; indicated 250, brake 230 N*m), outputs recomputed

    with the definition: IMEP 14.27, BMEP 13.13, FMEP 1.14 bar (three digits printed).
    """
    displacement = 4 * np.pi / 4 * 0.085**2 * 0.097
    imep = mp.bmep_from_torque(250.0, displacement)
    bmep = mp.bmep_from_torque(230.0, displacement)
    assert imep / BAR == pytest.approx(14.27, abs=0.005)
    assert bmep / BAR == pytest.approx(13.13, abs=0.005)
    assert (imep - bmep) / BAR == pytest.approx(1.14, abs=0.005)


def test_bmep_of_ganesan_example_17_12() -> None:
    """V. Ganesan, IC Engines, Ex. 17.12 (8 cylinders, 90 x 80 mm, 42 kg on 0.54 m at 4,500 rpm).

    Inputs and formula seen second-hand; torque 222.49 N*m, power 104.85 kW, BMEP 6.867 bar.
    """
    torque = 42 * 9.81 * 0.54
    displacement = 8 * np.pi / 4 * 0.09**2 * 0.08
    assert torque == pytest.approx(222.49, abs=0.01)
    assert torque * 4500 * RPM == pytest.approx(104.85e3, rel=1e-4)
    assert mp.bmep_from_torque(torque, displacement) / BAR == pytest.approx(6.867, abs=0.001)


def test_bmep_of_a_heavily_boosted_engine() -> None:
    """Published abstract of a 2.0-litre (1.991 l) research engine: 32.4 bar; 513 N*m recomputed."""
    assert mp.torque_from_bmep(32.4e5, 1.991e-3) == pytest.approx(513.0, abs=0.5)


def test_power_from_bmep_is_pressure_times_volume_rate() -> None:
    """Identity: torque x speed = bmep x displacement x cycles a second."""
    speed, displacement = 3000 * RPM, 1.8e-3
    torque = mp.torque_from_bmep(10e5, displacement)
    assert torque * speed == pytest.approx(10e5 * displacement * 25.0)


def test_torque_and_bmep_are_inverse() -> None:
    """Identity: there and back, vectorised, negative torque included."""
    torque = np.array([[-20.0, 0.0, 150.0], [300.0, 500.0, 900.0]])
    assert mp.torque_from_bmep(mp.bmep_from_torque(torque, 2e-3), 2e-3) == pytest.approx(torque)


@pytest.mark.parametrize(
    ("piston_speed", "peak", "bar"), [(5.733, 60, 1.366), (10.733, 130, 2.526), (17.2, 80, 3.323)]
)
def test_chen_flynn_as_printed(piston_speed: float, peak: float, bar: float) -> None:
    """Chen & Flynn SAE 650733, coefficients from memory, values recomputed to 1e-3 bar."""
    assert mp.fmep_chen_flynn(peak * BAR, piston_speed) / BAR == pytest.approx(bar, abs=6e-4)


def test_spark_friction_meets_the_measured_anchor() -> None:
    """Open laboratory data, 1.39 l petrol four at 1,200 rpm, p_max 35.8 bar: 0.94 +/- 0.3 bar."""
    piston_speed = 2 * 0.0743 * 1200 / 60
    assert mp.fmep_spark(35.8e5, piston_speed) / BAR == pytest.approx(0.94, abs=0.3)


def test_compression_friction_meets_the_measured_anchor() -> None:
    """Open laboratory data, 3.0 l turbo diesel at 1,600 rpm, p_max 69.8 bar: 1.49 +/- 0.3 bar."""
    piston_speed = 2 * 0.104 * 1600 / 60
    assert mp.fmep_compression_ignition(69.8e5, piston_speed) / BAR == pytest.approx(1.49, abs=0.3)


def test_rubbing_stays_below_the_motored_total() -> None:
    """[BARNES_MOSS] as in Heywood 1988 eq. 13.6, seen second-hand: it holds pumping too.

    0.97 + 0.15 n + 0.05 n^2 bar with n in 1,000 rpm; 86 mm stroke, unboosted, peak 55 bar.
    """
    rpm = np.arange(1000, 7001, 500.0)
    motored = (0.97 + 0.15 * rpm / 1e3 + 0.05 * (rpm / 1e3) ** 2) * BAR
    friction = mp.fmep_spark(55e5, 2 * 0.086 * rpm / 60)
    assert np.all(friction < motored)


def test_friction_is_finite_and_rises_over_the_whole_field() -> None:
    """Metamorphic: over 1,000-9,000 rpm and 2-35 bar, friction rises with speed and with load."""
    rpm = np.linspace(1000, 9000, 33)[:, None]
    bmep = np.linspace(2e5, 35e5, 12)[None, :]
    for peak, model in (
        (10 * BAR + 4 * bmep, mp.fmep_spark),
        (45 * BAR + 6 * bmep, mp.fmep_compression_ignition),
    ):
        value = model(peak, 2 * 0.086 * rpm / 60)
        assert np.all(np.diff(value, axis=0) > 0)
        assert np.all(np.diff(value, axis=1) > 0)
        assert value.min() > 0.5e5
        assert value.max() < 5e5


def test_bad_input_is_refused_by_name() -> None:
    """Edge: each refusal names the argument and what is allowed."""
    with pytest.raises(OutOfRangeError, match="peak_pressure"):
        mp.fmep_spark(80.0, 10.0)
    with pytest.raises(OutOfRangeError, match="mean_piston_speed"):
        mp.fmep_spark(80e5, np.array([10.0, np.nan]))
