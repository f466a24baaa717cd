"""Which load rows of the tables a question is about."""

import numpy as np

from torquerisk.case import Engine
from torquerisk.physics.cylinder.mean_pressure import torque_from_bmep
from torquerisk.study.cycle import cylinder, table_grid

TORQUE_APART = 1.5
"""Ratio of a draw's torque at a load row to the rough one, at most: reading, friction, pumping."""
ALL_ROWS = slice(0, table_grid.IMEP_NODES)
"""Every load row."""


def rows_about(engine: Engine, lowest: float, highest: float = np.inf) -> slice:
    """Load rows that hold torques from lowest to highest [N*m] in any draw, with one to spare.

    A draw's torque at a row is within TORQUE_APART of the rough one. All rows with compression
    ignition, whose injection is judged by rows of its own.
    """
    if engine.compression_ignition:
        return ALL_ROWS
    rough = cylinder.brake_estimate(table_grid.imep_nodes())
    torque = torque_from_bmep(rough, engine.swept_volume_total)
    first = int(np.searchsorted(torque, lowest / TORQUE_APART)) - 1
    last = int(np.searchsorted(torque, min(highest * TORQUE_APART, torque[-1]))) + 1
    return slice(max(min(first, len(torque) - 2), 0), max(last, 2))
