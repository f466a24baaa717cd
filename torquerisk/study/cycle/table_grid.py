"""The grid that response tables stand on, and how they are read.

Rows are gross IMEPs, columns CA50, at Chebyshev speeds; what else varies between engines of one
kind of ignition is a handful of coordinates, 0 at the middle and about 1 at the edge. Shared by the
tables of both kinds (`spark_tables`, `diesel_tables`).
"""

import math

import numpy as np
import numpy.typing as npt
from scipy.interpolate import PchipInterpolator

from torquerisk.quantities import BAR, DEGREE, Array
from torquerisk.study.cycle.cylinder import CylinderSpec
from torquerisk.study.cycle.last_axis import count_last, pair_last

IMEP_LOW, IMEP_HIGH = 2.0 * BAR, 64.0 * BAR
"""Gross IMEP range of the surface [Pa]."""
IMEP_NODES, CA50_NODES, SPEED_NODES, COARSE_NODES = 15, 13, 5, 7
"""Rows, columns and speeds of the tables; COARSE_NODES where what else varies is run."""
ROUGH_STEP = 4 * DEGREE
"""Step of the first pass, which only brings the lanes near the IMEP wanted [rad]."""
STEPS = {"burn": 0.25, "ratio": 0.02, "temperature": 25.0, "heat": 0.35}
"""Steps at which what else varies is run: logarithms, and kelvin."""
OTHERS = ("burn", "ratio", "temperature", "heat", "lambda")
"""What else varies between engines of one kind, apart from load, phasing and speed."""
ONE_THREAD_ROWS = 64
"""Rows multiplied at once: few enough that the matrix library does not wake threads of its own,
which on a busy machine wait for one another far longer than the product takes."""
TRAPPED = 2
"""Place of the trapped pressure among the metrics of either kind's tables."""


def imep_nodes() -> Array:
    """Gross IMEP of the table's rows (I,) [Pa], even steps of its logarithm."""
    return np.geomspace(IMEP_LOW, IMEP_HIGH, IMEP_NODES)


def ca50_nodes(spec: CylinderSpec) -> Array:
    """CA50 of the table's columns (J,) [rad], evenly spaced."""
    return np.linspace(*spec.ca50_range, CA50_NODES)


def other_coordinates(
    spec: CylinderSpec,
    *,
    burn_factor: Array,
    ratio_factor: Array,
    temperature: Array,
    heat: Array,
    lambda_: Array,
) -> Array:
    """What else varies, as coordinates (..., 5): 0 at the middle, about 1 at the edge."""
    return np.stack(
        np.broadcast_arrays(
            np.log(burn_factor) / STEPS["burn"],
            np.log(ratio_factor) / STEPS["ratio"],
            (temperature - spec.temperature_middle) / STEPS["temperature"],
            np.log(heat) / STEPS["heat"],
            np.log(lambda_ / spec.lambda_middle) / spec.lambda_step,
        ),
        axis=-1,
    )


def lagrange_weights(nodes: Array, wanted: Array) -> Array:
    """Weights (S, V) of the polynomial through values at the nodes (V,)."""
    weights = np.ones((len(wanted), len(nodes)))
    for k, node in enumerate(nodes):
        for m, other in enumerate(nodes):
            if m != k:
                weights[:, k] *= (wanted - other) / (node - other)
    return weights


def chebyshev_speeds(low: float, high: float, count: int) -> Array:
    """Chebyshev-Lobatto nodes in the logarithm of speed, rising [rad/s]."""
    unit = -np.cos(np.pi * np.arange(count) / (count - 1))
    middle, half = (math.log(low) + math.log(high)) / 2, (math.log(high) - math.log(low)) / 2
    return np.clip(np.exp(middle + half * unit), low, high)


def coarse_places() -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Rows and columns (COARSE_NODES,) of the coarser grid on which what else varies is run."""
    row, column = (
        np.linspace(0, count - 1, COARSE_NODES).round().astype(np.intp)
        for count in (IMEP_NODES, CA50_NODES)
    )
    return row, column


def refine(coarse: Array, fine: Array, values: Array) -> Array:
    """Values along axis 0 from coarse to fine nodes, without overshoot."""
    return np.asarray(PchipInterpolator(coarse, values, axis=0)(fine))


def collapse(table: Array, terms: Array) -> Array:
    """Table (N, I, J) of one metric for draws (N, T) of what else varies. table: (T, I, J)."""
    columns = table.reshape(table.shape[0], -1)
    flat = np.empty((len(terms), columns.shape[1]))
    for start in range(0, len(terms), ONE_THREAD_ROWS):
        part = slice(start, start + ONE_THREAD_ROWS)
        np.matmul(terms[part], columns, out=flat[part])
    return flat.reshape(len(terms), *table.shape[1:])


def place(spec: CylinderSpec, ca50: Array) -> tuple[npt.NDArray[np.intp], Array]:
    """Column below and share of the way to the next one for a CA50 [rad], held at the edges."""
    low, high = spec.ca50_range
    position = np.clip((ca50 - low) / (high - low), 0.0, 1.0) * (CA50_NODES - 1)
    column = np.minimum(position.astype(np.intp), CA50_NODES - 2)
    return column, position - column


def look_up(collapsed: Array, column: npt.NDArray[np.intp], share: Array) -> Array:
    """Metric (N, I) at a place per draw and row, linear between columns. collapsed: (N, I, J)."""
    below, above = pair_last(collapsed, column)
    return below + share * (above - below)


def ca50_where(spec: CylinderSpec, collapsed: Array, target: Array) -> Array:
    """CA50 (N, I) [rad] at which a metric that falls with CA50 comes down to a target (N, 1).

    The knock integral falls all along CA50. Held at the earliest and the latest column.
    """
    nodes = ca50_nodes(spec)
    above = count_last(collapsed > target[..., None])
    column = np.clip(above - 1, 0, CA50_NODES - 2)
    high, low = pair_last(collapsed, column)
    drop = np.where(high > low, high - low, 1.0)
    share = np.clip((high - target) / drop, 0.0, 1.0)
    return nodes[column] + share * (nodes[1] - nodes[0])
