"""One load against one strength, solved for torque: by hand and against numpy's reading."""

import numpy as np
import pytest

from torquerisk.study.limits.limit import capacity_torque, place_of, running_maximum


def test_capacity_on_a_line_by_hand() -> None:
    """Identity: load 2 T against strength 7 between rows is 3.5; beyond and below are infinite."""
    torque = np.array([[[0.0, 1.0, 2.0, 3.0, 4.0]]])
    load = 2 * torque
    for strength, expected in ((7.0, 3.5), (8.5, np.inf), (-0.5, -np.inf), (0.0, -np.inf)):
        assert capacity_torque(load, np.array([[strength]]), torque)[0, 0] == expected


def test_where_load_falls_again_the_first_crossing_counts() -> None:
    """Identity: loads 0, 2, 1, 3 reach 1.5 at 0.75 and not again at 2.25."""
    torque = np.array([[[0.0, 1.0, 2.0, 3.0]]])
    load = np.array([[[0.0, 2.0, 1.0, 3.0]]])
    assert capacity_torque(load, np.array([[1.5]]), torque)[0, 0] == 0.75
    assert place_of(torque, np.array([2.0])).read(load)[0, 0] == 1.0
    assert place_of(torque, np.array([2.0])).load(load)[0, 0] == 2.0


def test_place_reads_as_numpy_and_holds_the_ends() -> None:
    """Identity: numpy.interp along the rows, draw by draw; `load` reads the running maximum."""
    rng = np.random.default_rng(2)
    torque = np.sort(rng.uniform(0.0, 400.0, (3, 5, 8)), axis=-1)
    load = rng.uniform(0.0, 1.0, (3, 5, 8))
    wanted = np.array([-50.0, 210.0, 900.0])
    place = place_of(torque, wanted)
    for s in range(3):
        for n in range(5):
            plain = np.interp(wanted[s], torque[s, n], load[s, n])
            assert place.read(load)[s, n] == pytest.approx(plain)
            most = np.maximum.accumulate(load[s, n])
            assert place.load(load)[s, n] == pytest.approx(np.interp(wanted[s], torque[s, n], most))
    assert running_maximum(load) == pytest.approx(np.maximum.accumulate(load, axis=-1))


def test_capacity_fed_back_is_the_strength() -> None:
    """Identity: at the capacity torque the load's running maximum is the strength."""
    rng = np.random.default_rng(8)
    torque = np.sort(rng.uniform(50.0, 400.0, (4, 6, 9)), axis=-1)
    load = np.sort(rng.uniform(0.0, 1.0, (4, 6, 9)), axis=-1)
    capacity = capacity_torque(load, np.full((4, 6), 0.5), torque)
    inside = np.isfinite(capacity)
    assert inside.any()
    fed_back = place_of(torque, np.where(inside, capacity, 100.0)).load(load)
    assert fed_back[inside] == pytest.approx(0.5)
