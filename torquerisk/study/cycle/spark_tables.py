"""Response tables of a spark engine's closed cycle: what a speed's direct cycles come to.

Peak pressure, its angle, trapped pressure and the knock integral over gross IMEP and CA50; the
effects of burn duration, compression ratio, charge temperature, heat loss and lambda are
polynomials about the middle.
"""

import dataclasses
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline

from torquerisk.physics.cylinder.closed_cycle import closed_cycle
from torquerisk.physics.cylinder.cycle_data import Trace
from torquerisk.physics.cylinder.knock import livengood_wu_integral
from torquerisk.quantities import DEGREE, Array
from torquerisk.study.cycle.cylinder import (
    CylinderSpec,
    burn_duration,
    charge_pressure,
    completeness_of,
    cycle_inputs,
)
from torquerisk.study.cycle.table_grid import (
    OTHERS,
    ROUGH_STEP,
    STEPS,
    ca50_nodes,
    coarse_places,
    imep_nodes,
    refine,
)

KNOCK_WINDOW = 100 * DEGREE
"""The end gas is followed from this long before to this long after firing TDC [rad]."""
METRICS = ("peak", "angle", "trapped", "knock")
"""Logarithm of peak pressure [Pa], its angle [rad], logarithms of trapped pressure [Pa] and of the
knock integral at octane 100."""
WIDE = ("burn", "lambda")
"""Those of what else varies whose effect bends most, run at two steps each way."""
CROSSED = (("burn", "lambda"), ("burn", "temperature"))
"""Pairs whose joint effect counts."""

_WIDE = [i for i, name in enumerate(OTHERS) if name in WIDE]
"""Places of the WIDE ones."""
_CROSSED = tuple([OTHERS.index(pair[side]) for pair in CROSSED] for side in (0, 1))
"""Places of the CROSSED ones: of the first of each pair, of the second."""


def other_terms(z: Array) -> Array:
    """1, powers and two products of the other coordinates: (..., 5) -> (..., 17)."""
    wide = z[..., _WIDE]
    product = z[..., _CROSSED[0]] * z[..., _CROSSED[1]]
    one = np.ones((*z.shape[:-1], 1))
    return np.concatenate([one, z, z**2, wide**3, wide**4, product], axis=-1)


def warmed(table: Array, rise: Array) -> Array:
    """Tables (metrics, T, I, J) of one speed whose rows (I,) are warmer by so much [K].

    Exact: the polynomial of `other_terms` about another middle of the charge temperature.
    """
    step = (rise / STEPS["temperature"])[:, None]
    count = len(OTHERS)
    own = OTHERS.index("temperature")
    crossed = 1 + 2 * count + 2 * len(WIDE) + CROSSED.index(("burn", "temperature"))
    burn, line, square = 1 + OTHERS.index("burn"), 1 + own, 1 + count + own
    moved = table.copy()
    moved[:, 0] += step * (table[:, line] + step * table[:, square])
    moved[:, line] += 2 * step * table[:, square]
    moved[:, burn] += step * table[:, crossed]
    return moved


def speed_tables(spec: CylinderSpec, speeds: Array) -> Array:
    """Tables (V, metrics, T, I, J) at speeds (V,) [rad/s]."""
    design = _design(spec)
    imep, metrics = _metrics(spec, speeds, design)
    return np.stack([_tables(design, one, of_it) for one, of_it in zip(imep, metrics, strict=True)])


@dataclass(frozen=True, kw_only=True)
class _Design:
    """Lanes of direct cycles: load, phasing and what else varies, one number a lane.

    First every row and column at the middle of what else varies, then, on a coarser grid of both,
    steps up and down of what else varies.
    """

    imep: Array
    ca50: Array
    z: Array
    rows: Array
    """Logarithm of the table's gross IMEPs (I,)."""
    columns: Array
    some_rows: npt.NDArray[np.intp]
    some_columns: npt.NDArray[np.intp]
    stars: int
    """Lanes at each place of the coarser grid."""


def _design(spec: CylinderSpec) -> _Design:
    """The direct cycles of one speed."""
    rows, columns = np.log(imep_nodes()), ca50_nodes(spec)
    some_rows, some_columns = coarse_places()
    one, two = np.eye(len(OTHERS)), 2 * np.eye(len(OTHERS))[_WIDE]
    both = one[_CROSSED[0]] + one[_CROSSED[1]]
    stars = np.concatenate([one, -one, two, -two, both, -both])
    count = stars.shape[-1]
    grid_row, grid_column = np.meshgrid(rows, columns, indexing="ij")
    star_row, star_column, star = np.meshgrid(
        rows[some_rows], columns[some_columns], np.arange(len(stars)), indexing="ij"
    )
    return _Design(
        imep=np.exp(np.concatenate([grid_row.ravel(), star_row.ravel()])),
        ca50=np.concatenate([grid_column.ravel(), star_column.ravel()]),
        z=np.concatenate([np.zeros((grid_row.size, count)), stars[star.ravel()]]),
        rows=rows,
        columns=columns,
        some_rows=some_rows,
        some_columns=some_columns,
        stars=len(stars),
    )


def _metrics(spec: CylinderSpec, speeds: Array, design: _Design) -> tuple[Array, Array]:
    """Gross IMEP (V, n) [Pa] that lanes reached, and their metrics (V, n, 4), by direct cycles.

    All speeds (V,) are marched together: a step of many lanes costs hardly more than one of few.
    """
    count = len(design.imep)
    speed = np.repeat(speeds, count)
    imep, ca50 = np.tile(design.imep, len(speeds)), np.tile(design.ca50, len(speeds))
    z = np.tile(design.z, (len(speeds), 1))
    lambda_ = spec.lambda_middle * np.exp(z[:, 4] * spec.lambda_step)
    temperature = spec.temperature_middle + z[:, 2] * STEPS["temperature"]
    duration = burn_duration(spec, speed, imep, lambda_, ca50)
    inputs = cycle_inputs(
        spec,
        speed=speed,
        imep=imep,
        ca50=ca50,
        duration=duration * np.exp(z[:, 0] * STEPS["burn"]),
        lambda_=lambda_,
        trapped_temperature=temperature,
        ratio=spec.compression_ratio * np.exp(z[:, 1] * STEPS["ratio"]),
        heat_loss_scale=np.exp(z[:, 3] * STEPS["heat"]),
    )
    guess = charge_pressure(spec, imep, ca50, lambda_, temperature)
    rough = closed_cycle(inputs, guess, step=ROUGH_STEP, keep_trace=False)
    cycle = closed_cycle(
        inputs,
        guess * imep / rough.imep_gross,
        keep_trace=False,
        functionals={"knock": lambda t: _knock(spec, t)},
    )
    metrics = np.stack(
        [
            np.log(cycle.peak_pressure),
            cycle.peak_angle,
            np.log(cycle.trapped_pressure),
            np.log(cycle.functionals["knock"]),
        ],
        axis=-1,
    )
    shape = (len(speeds), count)
    return cycle.imep_gross.reshape(shape), metrics.reshape(*shape, len(METRICS))


def _knock(spec: CylinderSpec, trace: Trace) -> Array:
    """Livengood-Wu integral (n,) at octane 100 within KNOCK_WINDOW of firing TDC."""
    rows = slice(0, int(np.searchsorted(trace.angle, KNOCK_WINDOW)))
    until = dataclasses.replace(
        trace,
        angle=trace.angle[rows],
        **{name: getattr(trace, name)[rows] for name in
           ("pressure", "temperature", "burned_fraction", "volume")},
    )  # fmt: skip
    near = until.angle > -KNOCK_WINDOW
    return livengood_wu_integral(
        until.angle[near],
        until.pressure[near],
        until.unburned_temperature[near],
        trace.inputs.speed,
        100.0,
        until.burned_fraction[near] / completeness_of(spec),
    )


def _tables(design: _Design, imep: Array, metrics: Array) -> Array:
    """Tables (metrics, T, I, J) of one speed from its lanes' IMEP (n,) and metrics (n, 4).

    A lane reaches an IMEP near the one wanted; splines along load bring it onto the row. Effects of
    what else varies are interpolated from the coarser grid.
    """
    rows, columns = design.rows, design.columns
    some_rows, some_columns = design.some_rows, design.some_columns
    grid = (len(rows), len(columns))
    coarse = (len(some_rows), len(some_columns), design.stars)
    middle = grid[0] * grid[1]
    reached = np.log(imep[:middle]).reshape(grid)
    base = metrics[:middle].reshape(*grid, len(METRICS))
    splines = [CubicSpline(reached[:, j], base[:, j]) for j in range(len(columns))]
    middles = np.empty((len(METRICS), 1, len(rows), len(columns)))
    for j, spline in enumerate(splines):
        middles[:, 0, :, j] = spline(rows).T
    star_reached = np.log(imep[middle:]).reshape(coarse)
    star_metrics = metrics[middle:].reshape(*coarse, len(METRICS))
    effect = np.empty_like(star_metrics)
    for c, j in enumerate(some_columns):
        effect[:, c] = star_metrics[:, c] - splines[j](star_reached[:, c])
    fine = refine(rows[some_rows], rows, _powers(effect))
    fine = np.moveaxis(refine(columns[some_columns], columns, np.moveaxis(fine, 1, 0)), 0, 1)
    return np.concatenate([middles, np.transpose(fine, (3, 2, 0, 1))], axis=1)


def _powers(effect: Array) -> Array:
    """Coefficients (..., T - 1, metrics) of the terms of `other_terms` past the first.

    effect: (..., stars, metrics) at +1 and -1 of each of OTHERS, at +2 and -2 of the WIDE ones, at
    +1 and -1 of both CROSSED ones together.
    """
    wide, count = _WIDE, len(OTHERS)
    ends = np.cumsum([count, count, len(wide), len(wide), len(CROSSED)])
    up, down, far_up, far_down, both_up, both_down = np.split(effect, ends, axis=-2)
    odd, even = (up - down) / 2, (up + down) / 2
    odd_two, even_two = (far_up - far_down) / 2, (far_up + far_down) / 2
    product = (both_up + both_down) / 2 - even[..., _CROSSED[0], :] - even[..., _CROSSED[1], :]
    cubic = (odd_two - 2 * odd[..., wide, :]) / 6
    quartic = (even_two - 4 * even[..., wide, :]) / 12
    odd[..., wide, :] -= cubic
    even[..., wide, :] -= quartic
    return np.concatenate([odd, even, cubic, quartic, product], axis=-2)
