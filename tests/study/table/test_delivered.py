"""What a limit lets through, by hand."""

import numpy as np
import pytest

from torquerisk.study.table.delivered import Delivered

SPEED = np.array([200.0, 300.0, 400.0])
FAILED = np.array([[1, 0, 0, 0], [0, 1, 0, 0], [1, 1, 0, 0]], dtype=bool)


def made() -> Delivered:
    torque = np.array([100.0, 250.0, 200.0])
    once = FAILED & np.array([True, False, False, False])
    return Delivered(
        speed=SPEED, limit=torque + 10.0, torque=torque, failed=FAILED, failed_once=once
    )


def test_peak_and_chances_by_hand() -> None:
    """Identity: two of four engines fail somewhere in all pulls, one of them in the first."""
    found = made()
    assert (found.peak_speed, found.peak_torque) == (300.0, 250.0)
    assert (found.chance_pull, found.chance_pulls) == (0.25, 0.5)
    assert found.tally((200.0, 400.0)).chance_any_max == 0.5


def test_area_under_power_by_hand() -> None:
    """Identity: the integral of torque times speed, straight between the rows.

    From 200 to 300 torque is 100 + 1.5 (w - 200), from 300 to 400 it is 250 - 0.5 (w - 300).
    """

    def exact(low: float, high: float, start: float, slope: float, at: float) -> float:
        terms = np.polynomial.Polynomial([0.0, start - slope * at, slope]).integ()
        return float(terms(high) - terms(low))

    first, second = exact(200, 300, 100.0, 1.5, 200.0), exact(300, 400, 250.0, -0.5, 300.0)
    assert made().tally((200.0, 400.0)).area == pytest.approx(first + second)
    assert made().tally((300.0, 400.0)).area == pytest.approx(second)
