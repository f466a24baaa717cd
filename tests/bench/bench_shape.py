"""How long a table takes: 32 breakpoints, 400 speeds, every objective; prints, asserts no times.

The aim is below 50 ms each, for the whole of it: search, rounding, reasons. Processor time, because
a busy machine makes the clock run on; the clock is printed beside it.
"""

from time import perf_counter, process_time

import numpy as np
import pytest

from torquerisk.study.limit_curve.ask import Objective, ShapeAsk
from torquerisk.study.limit_curve.check import verify_table
from torquerisk.study.limit_curve.curve import even_breakpoints
from torquerisk.study.limit_curve.shape import shape_limit

GRID = np.linspace(1500.0, 7000.0, 400)
ROUGH = np.random.default_rng(0).normal(0.0, 2.0, 400)
CEILING = (
    330.0
    + 60.0 * np.sin((GRID - 1500.0) / 1833.0)
    - 40.0 * np.exp(-(((GRID - 3480.0) / 60.0) ** 2))
    + ROUGH
)
REACH = np.interp(GRID, [1500, 2500, 3500, 5500, 7000], [180, 380, 400, 380, 280])


def ask(objective: Objective) -> ShapeAsk:
    return ShapeAsk(
        objective=objective,
        breakpoints=even_breakpoints(1500.0, 7000.0, 32, 50.0, 4500.0),
        band=(2000.0, 6800.0),
        peak_from=4500.0,
        rise_rate=0.06,
        reference=np.interp(GRID, [1500, 3000, 7000], [250, 390, 250]),
    )


@pytest.mark.parametrize("objective", list(Objective))
@pytest.mark.parametrize("reach", [None, REACH], ids=["open", "reach"])
def test_time_of_one_table(objective: Objective, reach: np.ndarray | None) -> None:
    """Median of eleven on the machine at hand."""
    wanted = ask(objective)
    clock, processor = [], []
    for _ in range(11):
        start, used = perf_counter(), process_time()
        table = shape_limit(GRID, CEILING, reach, wanted)
        clock.append(perf_counter() - start)
        processor.append(process_time() - used)
    assert verify_table(GRID, CEILING, table, wanted, reach) == []
    kind = f"{objective.name} {'open' if reach is None else 'reach'}"
    print(
        f"\n{kind:32s} {np.median(processor) * 1e3:6.1f} ms of processor, "
        f"{np.median(clock) * 1e3:.1f} ms by the clock, "
        f"value {table.value:.6g}"
    )
