"""Which load rows hold a torque."""

import dataclasses

import numpy as np
from small_case import engine

from torquerisk.case import Fuel, KnownGood
from torquerisk.physics.cylinder.mean_pressure import torque_from_bmep
from torquerisk.study.cycle import cylinder, table_grid
from torquerisk.study.loads.load_rows import ALL_ROWS, TORQUE_APART, rows_about


def test_rows_hold_a_torque_whatever_a_draw_reads() -> None:
    """Identity: the rough torques of the rows reach TORQUE_APART beyond what is asked; a diesel
    takes all."""
    torque = torque_from_bmep(
        cylinder.brake_estimate(table_grid.imep_nodes()), engine().swept_volume_total
    )
    for low, high in ((100.0, 150.0), (240.0, 250.0), (30.0, 900.0)):
        held = torque[rows_about(engine(), low, high)]
        assert held[0] <= max(low / TORQUE_APART, torque[0])
        assert held[-1] >= min(high * TORQUE_APART, torque[-1])
    assert len(torque[rows_about(engine(), 240.0, 250.0)]) < len(torque)
    diesel = dataclasses.replace(
        engine(), ignition="compression", fuel=Fuel(blend="diesel"), known_good=KnownGood()
    )
    assert rows_about(diesel, 240.0, 250.0) == ALL_ROWS == slice(0, len(np.asarray(torque)))
