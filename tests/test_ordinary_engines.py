"""Ordinary engines (tests/reference): that the set itself is ordinary.

Source: ranges of BMEP, Heywood (1988) section 2.7 and abstracts of downsized engines, from memory;
piston speed, Heywood (1988) section 2.2: 8 to 15 m/s, from memory, small fast petrol engines more.
"""

import pytest
from ordinary import RPM, Ordinary, ordinary_engines

ENGINES = ordinary_engines()
every = pytest.mark.parametrize("one", ENGINES, ids=lambda e: e.name)

PEAK_BMEP = {
    "petrol": (8.5, 14.0),
    "old iron": (7.5, 10.5),
    "turbo petrol": (12.5, 33.0),
    "car diesel": (14.0, 27.0),
    "truck diesel": (14.0, 27.0),
    "diesel without boost": (7.0, 9.0),
    "motorcycle": (8.5, 14.5),
    "air-cooled": (7.5, 10.5),
}
"""Full-load BMEP at rated torque by kind [bar]. Heywood gives 8.5 to 10.5 for petrol engines
without boost; tuned intakes of today reach 14 (from memory)."""
PISTON_SPEED = {"car diesel": 15.0, "truck diesel": 11.0, "diesel without boost": 15.0}
"""Mean piston speed at rated power, at most [m/s]; 24 with spark ignition (from memory)."""


def test_set_is_wide() -> None:
    """Common practice, no source: every kind of engine that users bring is in the set."""
    kinds = {one.kind for one in ENGINES}
    assert len(ENGINES) >= 26
    assert kinds == set(PEAK_BMEP)
    assert any(one.heads == 2 for one in ENGINES)


@every
def test_mean_pressure_is_ordinary(one: Ordinary) -> None:
    """BMEP at rated torque lies in the textbook's range for its kind (see PEAK_BMEP)."""
    low, high = PEAK_BMEP[one.kind]
    assert low <= one.mean_pressure(one.rated["torque"]) <= high


@every
def test_piston_speed_is_ordinary(one: Ordinary) -> None:
    """Mean piston speed at rated power is what such engines run at (see PISTON_SPEED)."""
    assert 7.0 <= one.piston_speed(one.rated["power_speed"]) <= PISTON_SPEED.get(one.kind, 24.0)


@every
def test_curve_passes_rated_points(one: Ordinary) -> None:
    """Identity: torque and power of the data sheet are on the curve, within its rounding."""
    data = one.rated
    at_power = data["power"] * 1e3 / (data["power_speed"] * RPM)
    rounding = 0.5 if one.rated["torque"] >= 100 else 0.05
    assert one.torque[one.speed.index(data["torque_speed"])] == data["torque"]
    assert one.torque[one.speed.index(data["power_speed"])] == pytest.approx(at_power, abs=rounding)
    assert max(one.torque) == data["torque"]
    powers = [n * t for n, t in zip(one.speed, one.torque, strict=True)]
    assert max(powers) * RPM / 1e3 <= data["power"] * 1.01


@every
def test_files_are_read_back(one: Ordinary) -> None:
    """Identity: swept volume and curve come through the files that are made of an engine."""
    engine, run = one.case(known_good=True, times=2.0)
    assert engine.swept_volume_total * 1e3 == pytest.approx(one.swept_volume, rel=1e-9)
    assert run.torque == pytest.approx([2 * t for t in one.torque], rel=1e-12)
    assert engine.known_good.curve is not None
    assert engine.known_good.curve.torque == pytest.approx(one.torque, rel=1e-12)


@every
def test_rod_is_ordinary(one: Ordinary) -> None:
    """Heywood (1988) section 2.2, from memory: rod over crank radius 3 to 4 in small engines."""
    assert 2.9 <= one.rod_length / (one.stroke / 2) <= 4.2
    assert 0.62 <= one.bore / one.stroke <= 1.5
