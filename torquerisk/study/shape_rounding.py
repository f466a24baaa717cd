"""Rounding a table down to its resolution so that every rule still holds."""

from collections.abc import Callable

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from torquerisk.physics.arrays import Array
from torquerisk.study.shape_rules import SMALL, Difference, Roof, Rules, greatest_below


def in_steps(rules: Rules, peak: int, resolution: float) -> list[Difference]:
    """Return the difference rules in whole steps of `resolution`, rounded to the strict side.

    A rise of at most 1.9 steps between two table entries is a rise of at most 1 step.
    """
    return [
        Difference(
            lesser=d.lesser,
            greater=d.greater,
            by=float(np.floor(d.by / resolution + 1e-9)),
            name=d.name,
        )
        for d in rules.differences(peak)
    ]


def rounded_down(
    rules: Rules,
    peak: int,
    limit: Array,
    resolution: float,
    cost: Callable[[Array], float],
) -> Array | None:
    """Return a table in whole steps of `resolution` that keeps every rule [N*m], shape (m,).

    limit: best table before rounding [N*m], shape (m,); cost: of limits at the breakpoints.
    Rounds down, keeps the greatest whole-step table under that, then raises entries (with those
    that must rise along) while every rule holds and the cost falls. None when no whole-step table
    exists.
    """
    roof = rules.roof_for(peak)
    differences = in_steps(rules, peak, resolution)
    most = np.floor(roof.upper / resolution + SMALL)
    start = np.minimum(np.floor(limit / resolution + 1e-6), most)
    steps = _under_dips(roof, differences, start, resolution)
    if steps is None or not _bends_little(rules, steps, resolution):
        whole = rules.has_bend
        steps = _whole_program(rules, roof, differences, most, limit, resolution) if whole else None
        if steps is None:
            return None
    return _raised(rules, roof, differences, most, steps, resolution, cost) * resolution


def _under_dips(
    roof: Roof, differences: list[Difference], start: Array, resolution: float
) -> Array | None:
    """Return the greatest whole-step table under `start`, lowered where it passes a dip row."""
    steps = start
    while True:
        kept = greatest_below(steps.tolist(), differences)
        if kept is None:
            return None
        steps = np.round(np.array(kept))
        over = roof.over_rows(steps * resolution)
        bad = np.flatnonzero(over > SMALL * (1.0 + roof.torque))
        if not len(bad):
            return steps
        row = int(bad[0])
        heavier = roof.lower[row] + int(roof.share[row] > 0.5)
        other = 2 * roof.lower[row] + 1 - heavier
        steps[heavier if steps[heavier] > 0 else other] -= 1.0


def _bends_little(rules: Rules, steps: Array, resolution: float) -> bool:
    """Return whether the change of slope keeps within its limits."""
    if not rules.has_bend:
        return True
    matrix, least, most = rules.bend_rows()
    bend = matrix @ (steps * resolution)
    slack = SMALL * resolution / float(np.diff(rules.breakpoints).min())
    return bool((bend >= least - slack).all() and (bend <= most + slack).all())


def _holds(
    rules: Rules, roof: Roof, differences: list[Difference], most: Array, steps: Array, size: float
) -> bool:
    """Return whether a whole-step table keeps every rule."""
    return bool(
        (steps <= most).all()
        and (steps >= 0.0).all()
        and (roof.over_rows(steps * size) <= SMALL * (1.0 + roof.torque)).all()
        and all(steps[d.lesser] <= steps[d.greater] + d.by for d in differences)
        and _bends_little(rules, steps, size)
    )


def _whole_program(
    rules: Rules,
    roof: Roof,
    differences: list[Difference],
    most: Array,
    limit: Array,
    resolution: float,
) -> Array | None:
    """Return a whole-step table near and under `limit` from an integer program.

    Needed only when the change of slope is limited, which rounding entry by entry cannot keep.
    A node limit, not a time limit, so that the answer never depends on the machine.
    """
    m = len(limit)
    rows = [np.zeros((0, m))]
    least: list[float] = []
    top: list[float] = []
    for lower, share, torque in zip(roof.lower, roof.share, roof.torque, strict=True):
        row = np.zeros((1, m))
        row[0, lower], row[0, lower + 1] = 1.0 - share, share
        rows.append(row)
        least.append(-np.inf)
        top.append(float(torque) / resolution)
    for d in differences:
        row = np.zeros((1, m))
        row[0, d.lesser] += 1.0
        row[0, d.greater] -= 1.0
        rows.append(row)
        least.append(-np.inf)
        top.append(d.by)
    scale = float(np.diff(rules.breakpoints).mean())
    bend, bend_least, bend_most = rules.bend_rows()
    rows.append(bend * scale)
    least.extend(bend_least * scale / resolution)
    top.extend(bend_most * scale / resolution)
    ceiling = np.minimum(np.floor(limit / resolution + 1e-6) + 1.0, most)
    for upper in (ceiling, most):
        result = milp(
            -np.ones(m),
            integrality=np.ones(m, dtype=np.int64),
            bounds=Bounds(np.zeros(m), upper),
            constraints=LinearConstraint(csr_array(np.vstack(rows)), least, top),
            options={"node_limit": 200},
        )
        if result.x is not None:
            steps = np.round(result.x)
            if _holds(rules, roof, differences, most, steps, resolution):
                return np.asarray(steps, dtype=float)
    return None


def _raised(
    rules: Rules,
    roof: Roof,
    differences: list[Difference],
    most: Array,
    steps: Array,
    resolution: float,
    cost: Callable[[Array], float],
) -> Array:
    """Return the table after raising entries by whole steps while rules hold and cost falls.

    Equal cost counts as a gain: of two tables of equal worth the higher one is the better limit.
    """
    best, now = steps, cost(steps * resolution)
    for _ in range(4):
        improved = False
        for entry in range(len(steps)):
            lifted = _lifted(differences, best, entry)
            if not _holds(rules, roof, differences, most, lifted, resolution):
                continue
            value = cost(lifted * resolution)
            if value <= now:
                best, now, improved = lifted, value, True
        if not improved:
            break
    return best


def _lifted(differences: list[Difference], steps: Array, entry: int) -> Array:
    """Return the least table above `steps` with `entry` one step higher that keeps differences."""
    lifted = steps.copy()
    lifted[entry] += 1.0
    for _ in range(len(steps)):
        changed = False
        for d in differences:
            need = lifted[d.lesser] - d.by
            if lifted[d.greater] < need:
                lifted[d.greater] = need
                changed = True
        if not changed:
            break
    return lifted
