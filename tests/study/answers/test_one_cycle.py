"""The one cycle that is asked for: what it is held at is said, what is given is used."""

import numpy as np
import pytest

from torquerisk.case import Engine
from torquerisk.case.declare import Kind
from torquerisk.errors import OutOfRangeError
from torquerisk.files.units import parse_quantity
from torquerisk.study.answers.one_cycle import OneCycle, one_cycle
from torquerisk.study.loads.modelled_cylinder import highest_speed

RPM, DEG, BAR = np.pi / 30, np.pi / 180, 1e5


def codes(one: OneCycle) -> set[str]:
    """Codes of its notices."""
    return {notice.code for notice in one.notices}


def told(one: OneCycle, code: str) -> str:
    """Text of the notice with a code."""
    return next(n.text for n in one.notices if n.code == code)


def test_a_diesel_beyond_its_correlations_says_so(plain_diesel: Engine) -> None:
    """Identity: at 7,000 rpm nothing is held; at 7,500 burn and CA50 are those of 7,000."""
    edge, beyond = (
        one_cycle(plain_diesel, 14 * BAR, rpm * RPM, lambda_=1.6) for rpm in (7000, 7500)
    )
    assert "speed-range" not in codes(edge)
    text = told(beyond, "speed-range")
    assert "7,500 rpm" in text
    assert "300 to 7,000 rpm" in text
    assert "burn duration and CA50 are those" in text
    assert beyond.ca50 == pytest.approx(edge.ca50)
    assert beyond.burn == pytest.approx(edge.burn)


def test_what_is_given_is_not_held(plain_diesel: Engine) -> None:
    """Identity: with CA50 and burn given no correlation of speed or load is asked."""
    both = one_cycle(plain_diesel, 14 * BAR, 7500 * RPM, ca50=12 * DEG, burn=30 * DEG, lambda_=1.6)
    assert not codes(both) & {"speed-range", "burn-range", "burn-load-range", "ca50-load-range"}
    one = one_cycle(plain_diesel, 14 * BAR, 7500 * RPM, ca50=12 * DEG, lambda_=1.6)
    assert "burn duration is that" in told(one, "speed-range")
    other = one_cycle(plain_diesel, 14 * BAR, 7500 * RPM, burn=30 * DEG, lambda_=1.6)
    assert "CA50 is that" in told(other, "speed-range")


@pytest.mark.parametrize(
    ("code", "imep", "rpm", "more"),
    [
        ("burn-load-range", 60.0, 2000, {}),
        ("ca50-load-range", 60.0, 2000, {}),
        ("burn-range", 40.0, 6500, {}),
        ("delay-range", 1.5, 1500, {"lambda_": 1.3}),
        ("delay-range", 50.0, 2000, {"lambda_": 2.4}),
    ],
)
def test_each_held_quantity_of_a_diesel_is_told(
    plain_diesel: Engine, code: str, imep: float, rpm: float, more: dict[str, float]
) -> None:
    """Identity: there with its cause, gone at light load and low speed with a lean charge."""
    assert code in codes(one_cycle(plain_diesel, imep * BAR, rpm * RPM, **more))
    quiet = one_cycle(
        plain_diesel, 3.5 * BAR, 1300 * RPM, lambda_=2.4, intake_temperature=290.0
    )  # fmt: skip
    assert code not in codes(quiet)


def test_the_least_speed_is_allowed_however_it_rounds(plain_diesel: Engine) -> None:
    """Edge: 200 rpm as the command reads it and a float below."""
    speed = parse_quantity("200rpm", Kind.SPEED, "speed")
    for value in (speed, float(np.nextafter(speed, 0))):
        assert one_cycle(plain_diesel, 10 * BAR, value).cycle.peak_pressure[0] > 0


def test_more_premixed_than_is_modelled_is_told(plain_diesel: Engine) -> None:
    """Identity: a cold, lean, slow charge of a poor fuel; less is no notice, however little."""
    poor = plain_diesel.with_values({"fuel.cetane": 20.0, "compression_ratio": 12.0})
    one = one_cycle(poor, 1.0 * BAR, 400 * RPM, lambda_=5.5, intake_temperature=255.0)
    assert "premixed-range" in codes(one)
    assert one.ignition is not None
    assert one.ignition.premixed[0] == 0.7
    assert "premixed-range" not in codes(one_cycle(plain_diesel, 20 * BAR, 2000 * RPM))


def test_a_petrol_beyond_its_correlations_says_so(plain_engine: Engine) -> None:
    """Identity: load of the burn correlation held at 39 bar; speed beyond 16,000 rpm refused."""
    assert "burn-load-range" in codes(one_cycle(plain_engine, 50 * BAR, 4000 * RPM))
    assert "burn-load-range" not in codes(one_cycle(plain_engine, 20 * BAR, 4000 * RPM))
    highest = highest_speed(plain_engine)
    assert "speed-range" in codes(one_cycle(plain_engine, 10 * BAR, highest))
    assert "speed-range" not in codes(one_cycle(plain_engine, 10 * BAR, 12000 * RPM))
    with pytest.raises(OutOfRangeError, match="16000 rpm"):
        one_cycle(plain_engine, 10 * BAR, highest * 1.01)


def test_the_ignition_delay_is_told_of_diesels_alone(
    plain_diesel: Engine, plain_engine: Engine
) -> None:
    """Identity: the delay with the cetane number and whether that was given."""
    assert "cetane number of 51 (assumed)" in told(
        one_cycle(plain_diesel, 8 * BAR, 1600 * RPM), "ignition-delay"
    )
    given = plain_diesel.with_values({"fuel.cetane": 47.0})
    assert "47 (given)" in told(one_cycle(given, 8 * BAR, 1600 * RPM), "ignition-delay")
    petrol = one_cycle(plain_engine, 8 * BAR, 1600 * RPM)
    assert petrol.ignition is None
    assert "ignition-delay" not in codes(petrol)
