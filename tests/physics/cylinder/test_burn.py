import numpy as np
import pytest
from scipy.optimize import brentq

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.cylinder.burn import (
    PREMIXED_LEAST,
    PREMIXED_MOST,
    BurnCurve,
    double_wiebe,
    injected_share,
    premixed_share,
    premixed_share_unheld,
    wiebe,
)


def _angle_at(curve, fraction, lane=0):
    return brentq(
        lambda a: curve.burned_fraction(np.array([a]))[0, lane] - fraction,
        curve.start[lane],
        curve.end[lane],
        xtol=1e-13,
    )


@pytest.mark.parametrize(
    ("shape", "at"), [(2.0, (0.2480, 0.4647, 0.6934)), (1.5, (0.2135, 0.4537, 0.7333))]
)
def test_fractions_of_the_nominal_duration(shape, at):
    """Fractions of the duration at 10/50/90 % recomputed from Wiebe's form, digits as given.

    The second row is for a = 5, so its duration is stretched to the same curve.
    """
    stretch = 1.0 if shape == 2.0 else (6.908 / 5) ** (1 / 2.5)
    curve = BurnCurve(
        start=np.zeros(1),
        durations=np.full((1, 1), stretch),
        shapes=np.full((1, 1), shape),
        shares=np.ones((1, 1)),
    )
    for fraction, expected in zip((0.1, 0.5, 0.9), at, strict=True):
        assert _angle_at(curve, fraction) == pytest.approx(expected, abs=6e-5)


@pytest.mark.parametrize("shape", [0.7, 2.0, 3.0])
def test_wiebe_hits_what_was_asked(shape):
    """Identity: CA50 and the 10-90 % duration come back."""
    curve = wiebe(np.radians([2.0, 35.0]), np.radians([12.0, 40.0]), shape)
    for lane, (middle, spread) in enumerate(((2.0, 12.0), (35.0, 40.0))):
        angles = [_angle_at(curve, x, lane) for x in (0.1, 0.5, 0.9)]
        assert np.degrees(angles[1]) == pytest.approx(middle, abs=1e-9)
        assert np.degrees(angles[2] - angles[0]) == pytest.approx(spread, abs=1e-9)


@pytest.mark.parametrize("share", [0.0, 0.1, 0.3, 0.5, 0.75])
@pytest.mark.parametrize("spread", [12.0, 21.0, 60.0])
def test_double_wiebe_hits_what_was_asked(share, spread):
    """Identity: CA50 and the 10-90 % duration of the sum come back."""
    curve = double_wiebe(np.radians([2.6]), np.radians([spread]), share)
    angles = [_angle_at(curve, x) for x in (0.1, 0.5, 0.9)]
    assert np.degrees(angles[1]) == pytest.approx(2.6, abs=1e-8)
    assert np.degrees(angles[2] - angles[0]) == pytest.approx(spread, abs=1e-8)
    assert curve.shares.sum(axis=0) == pytest.approx(1)


def test_burning_starts_at_zero_ends_at_one_and_never_goes_back():
    """Identity."""
    curve = double_wiebe(np.radians([2.6, 10.0]), np.radians([21.0, 30.0]), np.array([0.3, 0.05]))
    angle = np.linspace(-np.pi, np.pi, 2001)
    burned = curve.burned_fraction(angle)
    assert burned.shape == (2001, 2)
    assert np.all(burned[angle < curve.start.min()] == 0)
    assert np.all(np.diff(burned, axis=0) >= 0)
    assert np.all(np.abs(1 - curve.burned_fraction(curve.end[None, :])) < 1e-15)


def test_premixed_share_falls_with_load_and_shorter_delay():
    """[WATSON] (from memory): beta = 1 - 0.926 phi^0.37 tau^-0.26 at two points, then held."""
    assert injected_share(2.0, 1e-3) == pytest.approx(0.926 * 0.5**0.37, rel=1e-12)
    assert injected_share(2.0, 2e-3) == pytest.approx(0.926 * 0.5**0.37 * 2**-0.26, rel=1e-12)
    lean = 1 - injected_share(4.0, 3e-3)
    assert premixed_share(4.0, 3e-3) == pytest.approx(lean, abs=1e-3)
    assert np.all(np.diff(premixed_share(np.array([1.2, 1.5, 2.0, 3.0]), 1e-3)) > 0)
    assert np.all(np.diff(premixed_share(2.0, np.array([0.5, 1.0, 2.0, 4.0]) * 1e-3)) > 0)
    assert premixed_share(1.2, 0.05e-3) == pytest.approx(PREMIXED_LEAST, abs=1e-4)
    assert premixed_share(1.2, 0.2e-3) > PREMIXED_LEAST
    assert premixed_share(5.0, 20e-3) == PREMIXED_MOST
    assert premixed_share_unheld(5.0, 20e-3) > PREMIXED_MOST
    assert np.all(np.diff(premixed_share(1.2, 0.5e-3, np.array([1.5, 1.0, 0.7, 0.5]))) > 0)
    assert premixed_share(1.2, 1e-3, 0.5) == pytest.approx(
        1 - 0.5 * injected_share(1.2, 1e-3), abs=1e-3
    )


def test_impossible_burns_are_refused():
    """Identity: the error names the input."""
    with pytest.raises(OutOfRangeError, match="burn duration"):
        wiebe(0.1, 0.0)
    with pytest.raises(OutOfRangeError, match="premixed share"):
        double_wiebe(0.1, 0.4, 0.9)
    with pytest.raises(OutOfRangeError, match="shape"):
        wiebe(0.1, 0.4, -1.0)
