"""Cells made into arrays: how closely logged power must agree with torque times speed."""

import numpy as np
import pytest

from torquerisk.errors import InputError
from torquerisk.files.run_file import run_from_bytes
from torquerisk.quantities import RPM

SPEED, TORQUE = (2000, 3000, 4000, 5000), (20.0, 300.0, 300.0, 250.0)


def logged(off: tuple[float, ...]) -> bytes:
    """A run whose power stands for torque that is `off` [N*m] from what is logged, row by row."""
    rows = (f"{n},{t},{n * RPM * (t + d)!r}" for n, t, d in zip(SPEED, TORQUE, off, strict=True))
    return "\n".join(["rpm,torque [N·m],power [W]", *rows]).encode()


def test_power_may_be_rounded_by_a_hundredth_of_the_greatest_torque() -> None:
    """Common practice, no source: files round both, so 3 N·m of 300 is no mistake at 20 N·m."""
    run = run_from_bytes(logged((2.9, 0.0, 0.0, 0.0)), "run.csv")
    assert run.torque == pytest.approx(np.array(TORQUE))
    with pytest.raises(InputError, match="line 2 reads 20 N·m"):
        run_from_bytes(logged((3.1, 0.0, 0.0, 0.0)), "run.csv")


def test_power_may_be_three_percent_off() -> None:
    """Common practice, no source: 3 % of the row's own torque is agreement, more is not."""
    run_from_bytes(logged((0.0, 8.9, 0.0, 0.0)), "run.csv")
    with pytest.raises(InputError, match="line 3 reads 300 N·m"):
        run_from_bytes(logged((0.0, 9.1, 0.0, 0.0)), "run.csv")
