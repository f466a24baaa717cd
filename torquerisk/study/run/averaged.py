"""A reading at the speeds that are judged: its own rows, or means in bands where there are many."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Notice
from torquerisk.quantities import Array
from torquerisk.study.run.crank_reading import Reading

MOST_SPEEDS = 48
"""Runs with more rows are averaged into this many even bands of speed."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Grid:
    """A reading at the speeds that are judged."""

    speed: Array
    torque: Array
    relative_sd: Array
    notices: tuple[Notice, ...]


def averaged(reading: Reading) -> Grid:
    """The run's own rows, or their means in MOST_SPEEDS even bands of speed where there are more.

    So no single noisy row of a fast log stands for the torque that an engine made or survived.
    """
    n = len(reading.speed)
    notices: tuple[Notice, ...] = ()
    values = [reading.speed, reading.torque, reading.relative_sd]
    if n > MOST_SPEEDS:
        values = means_in_bands(values, MOST_SPEEDS)
        told = (
            f"The run has {n} rows; they were averaged into {len(values[0])} even bands of speed."
        )
        notices = (Notice("rows-averaged", told),)
    speed, torque, sd = values
    return Grid(speed=speed, torque=torque, relative_sd=sd, notices=notices)


def means_in_bands(values: Sequence[Array], bands: int) -> list[Array]:
    """Means of values in even bands of the first, speed; bands without rows are left out."""
    speed = values[0]
    edges = np.linspace(speed[0], speed[-1], bands + 1)
    index = np.clip(np.searchsorted(edges, speed, side="right") - 1, 0, bands - 1)
    count = np.bincount(index, minlength=bands)
    used = count > 0
    return [np.bincount(index, weights=v, minlength=bands)[used] / count[used] for v in values]
