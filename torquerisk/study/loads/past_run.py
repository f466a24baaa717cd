"""Logged ignition past the torque that it was logged at: later, as calibrators hold it.

More charge is given less advance, by as much as calibrators hold it later from the one torque to
the other (`phasing.assumed_ca50_spark`). Source: [PRACTICE]
"""

import numpy as np

from torquerisk.physics.cylinder import phasing
from torquerisk.quantities import Array
from torquerisk.study.cycle import cylinder
from torquerisk.study.cycle.last_axis import count_last, pair_last

PAST_RUN = 1.08
"""Gross IMEP of the row from which on calibrators may have it later than the run's log, over that
of the run: the draws' readings of one torque differ by less [-]."""


def with_a_row(tables: Array, imep: Array, bmep: Array) -> tuple[Array, Array]:
    """Tables (S, metrics, T, I + 1, J) and their rows (S, I + 1) [Pa], one put in between two.

    tables: (S, metrics, T, I, J); imep: rows (I,) [Pa]; bmep: of the run (S,) [Pa]. The row stands
    PAST_RUN above the run's load, so that what is read at the run's torque is what was logged.
    """
    new = np.clip(PAST_RUN * cylinder.imep_estimate(bmep), imep[0], imep[-1])
    above = np.clip(np.searchsorted(imep, new), 1, len(imep) - 1)
    share = np.log(new / imep[above - 1]) / np.log(imep[above] / imep[above - 1])
    made = [
        np.insert(table, k, (1 - x) * table[:, :, k - 1] + x * table[:, :, k], axis=2)
        for table, k, x in zip(tables, above, share, strict=True)
    ]
    rows = [np.insert(imep, k, x) for k, x in zip(above, new, strict=True)]
    return np.stack(made), np.stack(rows)


def later_past_run(
    ca50: Array, limited: Array, imep: Array, best: Array, torque: Array, logged_at: float
) -> Array:
    """How much later (N, I) [rad] than logged the rows past the run's own torque burn.

    ca50: as logged; limited: earliest without audible knock, both (N, I) [rad]; imep: of the rows
    (I,) [Pa]; best: for best torque (N,) [rad]; torque: of the rows (N, I), and `logged_at`, the
    run's [N*m]. It begins a row past the run's, so that what is read between two rows at the run's
    torque is what was logged.
    """
    held = phasing.assumed_ca50_spark(limited, imep, best[:, None])
    upper = np.clip(count_last(torque < logged_at), 1, torque.shape[-1] - 1)
    (low, high), (before, after) = pair_last(torque, upper - 1), pair_last(held, upper - 1)
    share = np.clip((logged_at - low) / np.where(high > low, high - low, 1.0), 0.0, 1.0)
    past = np.maximum(held - (before + share * (after - before))[:, None], 0.0)
    past = np.minimum(past, np.maximum(phasing.LATEST_HELD - ca50, 0.0))
    return np.where(np.arange(torque.shape[-1]) > upper[:, None], past, 0.0)
