"""Response surface of the closed cycle: a few hundred direct cycles a speed stand for millions.

Peak pressure, its angle, trapped pressure and the knock integral are tabulated over gross IMEP and
CA50 from direct cycles at Chebyshev speeds; the effects of burn duration, compression ratio, charge
temperature, heat loss, lambda and, in a diesel, what burns as it is injected are polynomials about
the middle, and between speeds the tables are interpolated by the polynomial through them. The
tables depend on the engine only, never on the run, so a run that is moved is judged on the same
tables. The direct cycle stays the reference: a test holds the difference below 0.3 % of peak at the
5, 50 and 95 % points (0.5 % in a diesel, 1 % in a lightly loaded one).
"""

import dataclasses
import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline, PchipInterpolator

from torquerisk.physics.cylinder.closed_cycle import Trace, closed_cycle
from torquerisk.physics.cylinder.knock import livengood_wu_integral
from torquerisk.study.cylinder import (
    BAR,
    DEG,
    CylinderSpec,
    burn_duration,
    charge_pressure,
    completeness_of,
    cycle_inputs,
)
from torquerisk.study.rows import count_last, pair_last

Array = npt.NDArray[np.float64]


IMEP_LOW, IMEP_HIGH = 2.0 * BAR, 64.0 * BAR
"""Gross IMEP range of the surface [Pa]."""
IMEP_NODES, CA50_NODES, SPEED_NODES, COARSE_NODES = 15, 13, 5, 7
"""Rows, columns and speeds of the tables; COARSE_NODES where what else varies is run."""
ROUGH_STEP = 4 * DEG
"""Step of the first pass, which only brings the lanes near the IMEP wanted [rad]."""
STEPS = {"burn": 0.25, "ratio": 0.02, "temperature": 25.0, "heat": 0.35, "injected": 0.42}
"""Steps at which what else varies is run: logarithms, and kelvin."""
KNOCK_WINDOW = 100 * DEG
"""The end gas is followed from this long before to this long after firing TDC [rad]."""


ONE_THREAD_ROWS = 64
"""Rows multiplied at once: few enough that the matrix library does not wake threads of its own,
which on a busy machine wait for one another far longer than the product takes."""
METRICS = ("peak", "angle", "trapped", "knock")
"""Logarithm of peak pressure [Pa], its angle [rad], logarithms of trapped pressure [Pa] and of the
knock integral at octane 100 (0 for a diesel, where nobody asks for it)."""
WIDE = ("burn", "lambda")
"""Those of what else varies whose effect bends most, run at two steps each way."""
CROSSED = (("burn", "lambda"), ("burn", "temperature"))
"""Pairs whose joint effect counts."""
OTHERS = ("burn", "ratio", "temperature", "heat", "lambda")
"""What else varies between engines of one kind, apart from load, phasing and speed."""
INJECTED_NODES = np.array([-2.0, -1.0, -0.5, 0.0, 0.5, 1.0, 2.0])
"""With compression ignition, steps at which what burns as it is injected is run: a spline, since
the premixed share bends where it eases into its floor."""

_WIDE = [i for i, name in enumerate(OTHERS) if name in WIDE]
"""Places of the WIDE ones."""
_INJECTED = CubicSpline(
    INJECTED_NODES, np.eye(len(INJECTED_NODES))[:, INJECTED_NODES != 0], bc_type="natural"
)
"""Splines that are 1 at one of the INJECTED_NODES but the middle, 0 at the others."""
_CROSSED = tuple([OTHERS.index(pair[side]) for pair in CROSSED] for side in (0, 1))
"""Places of the CROSSED ones: of the first of each pair, of the second."""


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
    injected_factor: Array | float = 1.0,
) -> Array:
    """What else varies, as coordinates (..., K): 0 at the middle, about 1 at the edge.

    K is 5 for spark, 6 with what burns as it is injected of compression ignition.
    """
    injected = [np.log(injected_factor) / STEPS["injected"]] if spec.compression_ignition else []
    return np.stack(
        np.broadcast_arrays(
            np.log(burn_factor) / STEPS["burn"],
            np.log(ratio_factor) / STEPS["ratio"],
            (temperature - spec.temperature_middle) / STEPS["temperature"],
            np.log(heat) / STEPS["heat"],
            np.log(lambda_ / spec.lambda_middle) / spec.lambda_step,
            *injected,
        ),
        axis=-1,
    )


def other_terms(z: Array) -> Array:
    """1, powers and two products of the other coordinates: (..., K) -> (..., T).

    T is 17 for spark, 24 for compression ignition.
    """
    injected, z = z[..., len(OTHERS) :], z[..., : len(OTHERS)]
    wide = z[..., _WIDE]
    product = z[..., _CROSSED[0]] * z[..., _CROSSED[1]]
    one = np.ones((*z.shape[:-1], 1))
    terms = [one, z, z**2, wide**3, wide**4, product]
    if injected.shape[-1]:
        terms += [_INJECTED(injected[..., 0]), z[..., :1] * injected]
    return np.concatenate(terms, axis=-1)


@dataclass(frozen=True, kw_only=True, eq=False)
class Surface:
    """Tables of every metric over gross IMEP and CA50 at the Chebyshev speeds."""

    spec: CylinderSpec
    node_speed: Array
    """Chebyshev speeds (V,) [rad/s]."""
    tables: Array
    """(V, metrics, T terms of what else varies, I, J)."""

    def at_speeds(self, speed: Array) -> Array:
        """Tables (S, metrics, T, I, J) at speeds (S,) [rad/s]."""
        weights = lagrange_weights(np.log(self.node_speed), np.log(speed))
        return np.einsum("sv,v...->s...", weights, self.tables)


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
    return np.exp(middle + half * unit)


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
    some_rows = np.linspace(0, len(rows) - 1, COARSE_NODES).round().astype(np.intp)
    some_columns = np.linspace(0, len(columns) - 1, COARSE_NODES).round().astype(np.intp)
    one, two = np.eye(len(OTHERS)), 2 * np.eye(len(OTHERS))[_WIDE]
    both = one[_CROSSED[0]] + one[_CROSSED[1]]
    stars = np.concatenate([one, -one, two, -two, both, -both])
    if spec.compression_ignition:
        steps = np.append(INJECTED_NODES[INJECTED_NODES != 0], [1.0, -1.0])
        more = np.zeros((len(steps), len(OTHERS) + 1))
        more[:, -1], more[-2:, 0] = steps, steps[-2:]
        stars = np.concatenate([np.pad(stars, ((0, 0), (0, 1))), more])
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
        injected_factor=np.exp(z[:, 5] * STEPS["injected"]) if spec.compression_ignition else 1.0,
    )
    guess = charge_pressure(spec, imep, ca50, lambda_, temperature)
    rough = closed_cycle(inputs, guess, step=ROUGH_STEP, keep_trace=False)
    wanted = {} if spec.compression_ignition else {"knock": lambda t: _knock(spec, t)}
    cycle = closed_cycle(
        inputs, guess * imep / rough.imep_gross, keep_trace=False, functionals=wanted
    )
    knock = cycle.functionals.get("knock", np.ones(len(speed)))
    metrics = np.stack(
        [
            np.log(cycle.peak_pressure),
            cycle.peak_angle,
            np.log(cycle.trapped_pressure),
            np.log(knock),
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
    fine = _refine(rows[some_rows], rows, _powers(effect))
    fine = np.moveaxis(_refine(columns[some_columns], columns, np.moveaxis(fine, 1, 0)), 0, 1)
    return np.concatenate([middles, np.transpose(fine, (3, 2, 0, 1))], axis=1)


def _powers(effect: Array) -> Array:
    """Coefficients (..., T - 1, metrics) of the terms of `other_terms` past the first.

    effect: (..., stars, metrics) at +1 and -1 of each of OTHERS, at +2 and -2 of the WIDE ones, at
    +1 and -1 of both CROSSED ones together; with compression ignition then at the INJECTED_NODES
    but the middle, and at +1 and -1 of burn and injected together.
    """
    wide, count = _WIDE, len(OTHERS)
    ends = np.cumsum([count, count, len(wide), len(wide), len(CROSSED), len(CROSSED)])
    up, down, far_up, far_down, both_up, both_down, more = np.split(effect, ends, axis=-2)
    odd, even = (up - down) / 2, (up + down) / 2
    odd_two, even_two = (far_up - far_down) / 2, (far_up + far_down) / 2
    product = (both_up + both_down) / 2 - even[..., _CROSSED[0], :] - even[..., _CROSSED[1], :]
    cubic = (odd_two - 2 * odd[..., wide, :]) / 6
    quartic = (even_two - 4 * even[..., wide, :]) / 12
    burn_even = even[..., :1, :].copy()
    odd[..., wide, :] -= cubic
    even[..., wide, :] -= quartic
    powers = [odd, even, cubic, quartic, product]
    if more.shape[-2]:
        nodes, together = more[..., :-2, :], more[..., -2:, :].mean(axis=-2, keepdims=True)
        unit = np.abs(INJECTED_NODES[INJECTED_NODES != 0]) == 1
        powers += [nodes, together - burn_even - nodes[..., unit, :].mean(axis=-2, keepdims=True)]
    return np.concatenate(powers, axis=-2)


def _refine(coarse: Array, fine: Array, values: Array) -> Array:
    """Values along axis 0 from coarse to fine nodes, without overshoot."""
    return np.asarray(PchipInterpolator(coarse, values, axis=0)(fine))


@lru_cache(maxsize=8)
def fit_surface(spec: CylinderSpec) -> Surface:
    """Tables of a cylinder from direct cycles at every Chebyshev speed.

    Kept per spec: a moved input that does not touch the cylinder costs nothing here.
    """
    nodes = chebyshev_speeds(spec.speed_low, spec.speed_high, SPEED_NODES)
    design = _design(spec)
    imep, metrics = _metrics(spec, nodes, design)
    return Surface(
        spec=spec,
        node_speed=nodes,
        tables=np.stack(
            [_tables(design, one, of_it) for one, of_it in zip(imep, metrics, strict=True)]
        ),
    )


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
