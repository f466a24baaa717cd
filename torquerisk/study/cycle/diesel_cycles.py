"""A diesel's response tables from direct cycles; `diesel_tables` reads them.

The premixed share follows from the ignition delay (`cylinder.ignition`). The delay carries a log
spread of 0.45, since correlations of its time differ two- to threefold at light load; pilot and
split injection are not known, so what burns as it is injected carries a log spread of its own, 0.25
(common practice, no source). The correlation goes below 0 at full load; there the share eases into
a floor of 2 % instead of stopping at it, so that delay, cetane and that spread keep acting: the
draws hold about 2 to 30 %. The share raises the top of the peak's band by more the later the
phasing: by next to nothing at CA50 6°, by up to 9 % of the single cycle from 14° on.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline, PchipInterpolator

from torquerisk.physics.cylinder.burn import (
    PREMIXED_LEAST,
    PREMIXED_MOST,
    BurnCurve,
    double_wiebe,
    eased_share,
    injected_share,
    wiebe,
)
from torquerisk.physics.cylinder.closed_cycle import STEP, closed_cycle
from torquerisk.physics.cylinder.cycle_data import CycleInputs
from torquerisk.quantities import DEGREE, Array
from torquerisk.study.cycle.cylinder import (
    CylinderSpec,
    burn_duration,
    charge_pressure,
    cycle_inputs,
    ignition,
)
from torquerisk.study.cycle.diesel_peaks import burning_peak, compression_peak
from torquerisk.study.cycle.diesel_tables import (
    BURNING,
    COMPRESSED,
    CROSSED,
    INJECTED,
    LATE,
    LOG_INJECTED,
    METRICS,
    TRAPPED,
    other_terms,
)
from torquerisk.study.cycle.table_grid import OTHERS, ROUGH_STEP, STEPS, ca50_nodes, imep_nodes

EVERY = 2
"""What else varies is run at every second row and column."""
ROUGHER_STEP = 2 * ROUGH_STEP
"""Step of the first pass of what else varies, which starts from the middle's trapped pressure."""
SMALL_BORE, TIGHT_RATIO = 0.07, 21.0
"""Bore [m] below which, and compression ratio from which, that pass takes ROUGH_STEP: so much wall
for the charge lets it lose its heat faster than the rougher step follows."""
SHARES = np.array([PREMIXED_LEAST, 0.08, 0.14, 0.2, 0.27, 0.34, 0.41, 0.46, 0.52, PREMIXED_MOST])
"""Premixed shares at which cycles are run; the first with all else that varies."""
SHARES_WITH_BURN = np.array([0, 2, 4, 5, 6, 9])
"""Those of them (places) that are run with shorter and longer burns too."""
SHARES_WITH_LAMBDA = np.array([0, 2, 4, 6, 9])
"""Those that are run with more air too."""
BURN_STEP, LAMBDA_STEP = 1.5, 2.0
"""Coordinates of burn duration, both ways, and of lambda there."""
UNLIT, PLAIN_BURN = 80 * DEGREE, 20 * DEGREE
"""CA50 and duration of the burn of a charge that is only compressed about firing TDC [rad]."""

_ONE = np.eye(len(OTHERS))
_BURN, _LAMBDA = _ONE[OTHERS.index("burn")], _ONE[OTHERS.index("lambda")]
_WIDE = np.stack([2 * _BURN, 2 * _LAMBDA])
_TOGETHER = np.stack(
    [_ONE[OTHERS.index(one)] + _ONE[OTHERS.index(other)]
     for one, other in (*CROSSED, ("temperature", "lambda"))]
)  # fmt: skip
STARS = np.concatenate([_ONE, -_ONE, _WIDE, -_WIDE, _TOGETHER])
"""Coordinates (n, 5) run at the least premixed share: as many as there are terms but the first."""
_SOLVE = np.linalg.inv(other_terms(STARS)[:, 1:])
"""Coefficients of the terms past the first from the effects at the STARS."""


@dataclass(frozen=True, kw_only=True)
class _Lanes:
    """Direct cycles at every speed (V) and at a grid of rows (R) and columns (C) of some design.

    Arrays over (C, V, R, K): lanes that lie side by side burn at about the same time, which is
    faster, since a march treats what does not burn yet more simply.
    """

    inputs: CycleInputs
    guess: Array
    """Trapped pressure likely to reach the IMEP wanted [Pa], flat."""
    imep: Array
    """Wanted [Pa], flat."""
    log_injected: Array
    """Logarithm of the share that burns as it is injected, flat."""
    shape: tuple[int, int, int, int]


def _lanes(
    spec: CylinderSpec, speeds: Array, rows: Array, columns: Array, z: Array, shares: Array | None
) -> _Lanes:
    """Lanes of a design of coordinates z (K, 5) and premixed shares (K,).

    Without shares the burn is a plain one, of lanes that are followed to firing TDC only.
    """
    shape = (len(columns), len(speeds), len(rows), len(z))
    ca50, speed, imep = (
        np.broadcast_to(x, shape).ravel()
        for x in (columns[:, None, None, None], speeds[:, None, None], rows[:, None])
    )
    step = np.broadcast_to(z, (*shape, len(OTHERS))).reshape(-1, len(OTHERS))
    lambda_ = spec.lambda_middle * np.exp(step[:, 4] * spec.lambda_step)
    temperature = spec.temperature_middle + step[:, 2] * STEPS["temperature"]
    # One volume for all lanes, where it is one, saves a third of the time.
    ratio = spec.compression_ratio * np.exp(step[:, 1] * STEPS["ratio"]) if z[:, 1].any() else None
    duration = burn_duration(spec, speed, imep, lambda_, ca50).reshape(shape)
    duration = duration * np.exp(z[:, 0] * STEPS["burn"])
    inputs = cycle_inputs(
        spec, speed=speed, imep=imep, ca50=ca50, duration=duration.ravel(), lambda_=lambda_,
        trapped_temperature=temperature, ratio=ratio,
        heat_loss_scale=np.exp(step[:, 3] * STEPS["heat"]),
        burn=wiebe(ca50, PLAIN_BURN) if shares is None
        else _burn(columns, duration[0], z[:, 0], shares),
    )  # fmt: skip
    lit = ignition(
        spec, speed=speed, imep=imep, ca50=ca50, lambda_=lambda_,
        trapped_temperature=temperature, ratio=ratio,
    )  # fmt: skip
    return _Lanes(
        inputs=inputs,
        guess=charge_pressure(spec, imep, ca50, lambda_, temperature),
        imep=imep,
        log_injected=np.log(injected_share(lambda_, lit.delay)),
        shape=shape,
    )


def _burn(columns: Array, duration: Array, z_burn: Array, shares: Array) -> BurnCurve:
    """Burn of lanes whose duration (V, R, K) [rad] and premixed share (K,) are one in all columns.

    z_burn: coordinate of duration (K,), which tells those of one duration.
    """
    pairs = np.stack([z_burn, shares], axis=-1)
    _, first, back = np.unique(pairs, axis=0, return_index=True, return_inverse=True)
    some = duration[..., first]
    premixed = np.broadcast_to(shares[first], some.shape)
    curve = double_wiebe(np.zeros(some.size), some.ravel(), premixed.ravel())

    def lanes(values: Array) -> Array:
        """Values (..., n) of some lanes of the first column, of all lanes."""
        at_first = values.reshape(*values.shape[:-1], *some.shape)[..., back.ravel()]
        return np.tile(at_first.reshape(*values.shape[:-1], -1), len(columns))

    return BurnCurve(
        start=lanes(curve.start) + np.repeat(columns, duration.size),
        durations=lanes(curve.durations),
        shapes=lanes(curve.shapes),
        shares=lanes(curve.shares),
    )


def _run(lanes: _Lanes, guess: Array, rough_step: float) -> tuple[Array, Array]:
    """Logarithm of gross IMEP reached (C, V, R, K), and metrics (C, V, R, K, metrics)."""
    rough = closed_cycle(lanes.inputs, guess, step=rough_step, keep_trace=False)
    cycle = closed_cycle(
        lanes.inputs,
        guess * lanes.imep / rough.imep_gross,
        keep_trace=False,
        functionals={"burning": burning_peak},
    )
    trapped = np.log(cycle.trapped_pressure)
    # Compression comes in apart, over the trapped pressure.
    metrics = np.stack(
        [np.log(cycle.functionals["burning"]), cycle.peak_angle, trapped, trapped,
         lanes.log_injected], axis=-1,
    )  # fmt: skip
    return np.log(cycle.imep_gross).reshape(lanes.shape), metrics.reshape(*lanes.shape, -1)


def speed_tables(spec: CylinderSpec, speeds: Array) -> tuple[Array, Array]:
    """Tables (V, metrics, T, I, J) at speeds (V,) [rad/s], and what the premixed share does.

    The latter is (V, I, J, B, EFFECTS). A lane reaches an IMEP near the one wanted; splines along
    load bring it onto the row. Effects are splines from the coarser grid.
    """
    imep, columns = imep_nodes(), ca50_nodes(spec)
    rows, least = np.log(imep), SHARES[:1]
    base = _lanes(spec, speeds, imep, columns, np.zeros((1, len(OTHERS))), least)
    reached, metrics = _run(base, base.guess, ROUGH_STEP)
    splines = [
        [CubicSpline(x[:, 0], y[:, 0]) for x, y in zip(*of_column, strict=True)]
        for of_column in zip(reached, metrics, strict=True)
    ]
    middle = np.array([[spline(rows) for spline in of_column] for of_column in splines])
    usual = base.guess.reshape(base.shape)[::EVERY, :, ::EVERY]
    effect = _effects(spec, speeds, splines, usual, middle[::EVERY, :, ::EVERY, None])
    compressed = _compressed(spec, speeds, middle)
    effect[..., : len(STARS), COMPRESSED] += compressed[..., 1:] - compressed[..., :1]
    powers = _SOLVE @ effect[..., : len(STARS), :]
    middle[..., COMPRESSED] += CubicSpline(rows[::EVERY], compressed[..., 0], axis=2)(rows)
    tables = np.concatenate([middle[..., None, :], _refined(rows, columns, powers)], axis=-2)
    tables = np.ascontiguousarray(np.transpose(tables, (1, 4, 3, 2, 0)))
    premixed = _refined(rows, columns, _premixed(effect[..., len(STARS) :, :], powers))
    return tables, np.ascontiguousarray(np.moveaxis(premixed, 0, 2))


def _effects(
    spec: CylinderSpec,
    speeds: Array,
    splines: list[list[CubicSpline]],
    usual: Array,
    middle: Array,
) -> Array:
    """What the design does to the metrics (C, V, R, K, metrics).

    splines: metrics of the middle along the logarithm of IMEP by column and speed. usual: the
    middle's first guess of trapped pressure [Pa] (C, V, R, 1); middle: its metrics (C, V, R, 1,
    metrics).
    """
    design, shares = _design()
    other_ratio = design[:, OTHERS.index("ratio")] != 0
    columns, rows = ca50_nodes(spec)[::EVERY], imep_nodes()[::EVERY]
    effect = np.empty((*usual.shape[:-1], len(design), len(METRICS)))
    for part in (~other_ratio, other_ratio):
        lanes = _lanes(spec, speeds, rows, columns, design[part], shares[part])
        guess = lanes.guess.reshape(lanes.shape) / usual * np.exp(middle[..., TRAPPED])
        reached, metrics = _run(lanes, guess.ravel(), _first_step(spec))
        there = [
            [spline(at) for spline, at in zip(*of_column, strict=True)]
            for of_column in zip(splines[::EVERY], reached, strict=True)
        ]
        # What burns as it is injected is of the row wanted, not of the one reached.
        injected = metrics[..., INJECTED] - middle[..., INJECTED]
        effect[..., part, :] = metrics - np.array(there)
        effect[..., part, INJECTED] = injected
    return effect


def _first_step(spec: CylinderSpec) -> float:
    """Step of crank angle [rad] of the first pass of what else varies."""
    stiff = spec.bore < SMALL_BORE or spec.compression_ratio > TIGHT_RATIO
    return ROUGH_STEP if stiff else ROUGHER_STEP


def _refined(rows: Array, columns: Array, coarse: Array) -> Array:
    """Values (J, V, I, ...) by splines from every second column and row, (C, V, R, ...)."""
    fine = CubicSpline(rows[::EVERY], coarse, axis=2)(rows)
    return np.asarray(CubicSpline(columns[::EVERY], fine, axis=0)(columns))


def _design() -> tuple[Array, Array]:
    """Coordinates (K, 5) and premixed shares (K,) of what is run beside the middle.

    First the STARS, then the SHARES past the first; with shorter burns, with longer, with more air.
    """
    parts = [
        (np.zeros(len(OTHERS)), np.arange(len(SHARES))),
        (BURN_STEP * _BURN, SHARES_WITH_BURN),
        (-BURN_STEP * _BURN, SHARES_WITH_BURN),
        (LAMBDA_STEP * _LAMBDA, SHARES_WITH_LAMBDA),
    ]
    z = [STARS, *(np.tile(at, (len(places) - 1, 1)) for at, places in parts)]
    shares = [SHARES[:1].repeat(len(STARS)), *(SHARES[places[1:]] for _, places in parts)]
    return np.concatenate(z), np.concatenate(shares)


def _premixed(effect: Array, powers: Array) -> Array:
    """What the premixed share does (C, V, R, B, EFFECTS) at LOG_INJECTED.

    effect: (C, V, R, K, metrics) of the design past the STARS. powers: (C, V, R, T - 1, metrics),
    coefficients of the terms at the least share.
    """
    ends = np.cumsum([len(SHARES) - 1, len(SHARES_WITH_BURN) - 1, len(SHARES_WITH_BURN) - 1])
    plain, long, short, lean = np.split(effect[..., BURNING], ends, axis=-1)

    def more(at: Array, run: Array, places: npt.NDArray[np.intp]) -> Array:
        """What the shares do at coordinates (5,), over what they do at the middle."""
        least = powers[..., BURNING] @ other_terms(at[None])[0, 1:]
        return run - least[..., None] - plain[..., places[1:] - 1]

    long, short = (
        more(sign * BURN_STEP * _BURN, run, SHARES_WITH_BURN)
        for sign, run in ((1, long), (-1, short))
    )
    lean = more(LAMBDA_STEP * _LAMBDA, lean, SHARES_WITH_LAMBDA)
    trapped = effect[..., : len(SHARES) - 1, TRAPPED]
    share = np.clip(eased_share(np.exp(LOG_INJECTED)), SHARES[0], SHARES[-1])
    curves = (
        (SHARES, plain),
        (SHARES[SHARES_WITH_BURN], (long - short) / (2 * BURN_STEP)),
        (SHARES[SHARES_WITH_BURN], (long + short) / (2 * BURN_STEP**2)),
        (SHARES[SHARES_WITH_LAMBDA], lean / LAMBDA_STEP),
        (SHARES, trapped),
    )
    # Without overshoot: which part of the burn sets the peak changes abruptly.
    nothing = np.zeros((*plain.shape[:-1], 1))
    return np.stack(
        [
            PchipInterpolator(nodes, np.concatenate([nothing, values], axis=-1), axis=-1)(share)
            for nodes, values in curves
        ],
        axis=-1,
    )


def _compressed(spec: CylinderSpec, speeds: Array, middle: Array) -> Array:
    """Logarithm of compression's peak over trapped pressure (1, V, R, 1 + STARS).

    At the trapped pressures of late burns, where compression can set the peak, of charges that do
    not burn about firing TDC. middle: (J, V, I, metrics).
    """
    z = np.concatenate([np.zeros((1, len(OTHERS))), STARS * (1 - _BURN)])
    z, back = np.unique(z, axis=0, return_inverse=True)
    lanes = _lanes(spec, speeds, imep_nodes()[::EVERY], np.array([UNLIT]), z, None)
    at_middle = lanes.guess.reshape(lanes.shape)[..., back.ravel()[:1]]
    trapped = np.exp(middle[LATE, :, ::EVERY, TRAPPED])[..., None]
    guess = lanes.guess.reshape(lanes.shape) / at_middle * trapped
    cycle = closed_cycle(
        lanes.inputs,
        guess.ravel(),
        step=2 * STEP,
        keep_trace=False,
        functionals={"compressed": compression_peak},
    )
    peak = cycle.functionals["compressed"].reshape(lanes.shape)
    return np.asarray(np.log(peak / guess)[..., back.ravel()])
