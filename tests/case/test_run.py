import numpy as np
import pytest

from torquerisk.case import Run
from torquerisk.errors import InputError

SPEED = np.array([200.0, 300.0, 400.0])
TORQUE = np.array([100.0, 120.0, 110.0])


def test_arrays_are_copied_and_read_only():
    """Identity: a run cannot change under a result that was worked out from it."""
    speed = SPEED.copy()
    run = Run(speed=speed, torque=TORQUE, channels={"lambda_": np.array([0.9, 0.9, 0.9])})
    speed[0] = 1.0
    assert run.speed[0] == 200.0
    for values in (run.speed, run.torque, run.channels["lambda_"]):
        with pytest.raises(ValueError, match="read-only"):
            values[0] = 1.0


def test_channels_between_and_beyond_speeds():
    """Identity: straight lines between, held at the ends; None where nothing was logged."""
    run = Run(speed=SPEED, torque=TORQUE, channels={"lambda_": np.array([0.8, 1.0, 0.9])})
    found = run.channel_at("lambda_", np.array([100.0, 250.0, 350.0, 900.0]))
    assert found == pytest.approx([0.8, 0.9, 0.95, 0.9])
    assert run.channel_at("ca50", SPEED) is None
    assert run.channel("ca50") is None


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"speed": SPEED[:2], "torque": TORQUE[:2]}, "2 usable rows"),
        ({"torque": TORQUE[:2]}, "torque has 2 values for 3 speeds"),
        ({"speed": SPEED[::-1]}, "speed must rise"),
        ({"speed": np.array([200.0, 200.0, 300.0])}, "speed must rise"),
        ({"torque": np.array([1.0, np.nan, 1.0])}, "row 2"),
        ({"torque": np.array([1.0, 1.0, 2e4])}, "must be from -500 N"),
        ({"channels": {"lambda_": np.array([0.9, 9.0, 0.9])}}, "equivalence is 9 in row 2"),
    ],
)
def test_runs_that_cannot_be_are_refused(changes, says):
    """Identity: which channel, which row, what is allowed."""
    with pytest.raises(InputError, match=says) as caught:
        Run(**{"speed": SPEED, "torque": TORQUE, **changes})
    assert "\n" not in str(caught.value)
