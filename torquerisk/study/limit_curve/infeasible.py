"""Why no table keeps all rules, and the nearest table that keeps all but one."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from torquerisk.case.sentence import Sentence, Torque
from torquerisk.study.limit_curve.ask import (
    Shape,
    ShapeAsk,
    ShapeInfeasibleError,
    Situation,
    rate_in_words,
)

Solve = Callable[[Situation, ShapeAsk], Shape | None]


def infeasible(curves: Situation, ask: ShapeAsk, solve: Solve) -> ShapeInfeasibleError:
    """Return the error that names the constraint that cannot hold, with the nearest table.

    curves, ask: what had no table; solve: the solver, asked again with one rule relaxed.
    """
    points = ask.breakpoints
    start = f"No table can peak at or after {ask.peak_from:,.6g} rpm"
    nearest, reached = _earlier_peak(curves, ask, solve)
    instead = "" if nearest is None else _where(nearest)
    kept = None if nearest is None else replace(ask, peak_from=reached)
    if ask.peak_from > points[-1]:
        return ShapeInfeasibleError(
            "peak_from",
            Sentence(
                f"{start}: its last breakpoint is {points[-1]:,.6g} rpm; add breakpoints or "
                "ask for an earlier peak.",
                instead,
            ),
            nearest,
            kept,
        )
    step = max(ask.torque_resolution, 1e-9)
    one_step = Torque(step, ".3g", " N*m")
    later = (curves.speed >= ask.peak_from) & (curves.speed <= points[-1])
    for name, curve, fact in (
        ("ceiling", curves.ceiling, "no torque of one step"),
        ("reach", curves.reach, "the engine makes no torque of one step"),
    ):
        if later.any() and curve[later].max() < step:
            verb = " is acceptable" if name == "ceiling" else ""
            return ShapeInfeasibleError(
                name,
                Sentence(
                    f"{start}: {fact} (",
                    one_step,
                    f"){verb} from there to {points[-1]:,.6g} rpm.",
                    instead,
                ),
                nearest,
                kept,
            )
    return _less_rise(curves, ask, solve, start) or ShapeInfeasibleError(
        "peak_from",
        Sentence(
            f"{start}: under this ceiling and with these rules no breakpoint there can carry one "
            "step (",
            one_step,
            ") more than those before.",
            instead,
        ),
        nearest,
        kept,
    )


def _where(table: Shape) -> str:
    """Return the sentence on the nearest table with an earlier peak."""
    if table.limit.max() <= 0.0:
        return Sentence(" The nearest table is ", Torque(0.0, "g", " N*m"), " throughout.")
    at = table.breakpoints[table.peak_index]
    return f" The nearest table peaks at {at:,.6g} rpm."


def _earlier_peak(curves: Situation, ask: ShapeAsk, solve: Solve) -> tuple[Shape | None, float]:
    """Return the table with the latest peak that is possible, and the peak_from it keeps."""
    for peak_from in [*ask.breakpoints[ask.breakpoints < ask.peak_from][::-1].tolist(), 0.0]:
        table = solve(curves, replace(ask, peak_from=peak_from))
        if table is not None:
            return table, peak_from
    return None, 0.0


def _less_rise(
    curves: Situation, ask: ShapeAsk, solve: Solve, start: str
) -> ShapeInfeasibleError | None:
    """Return the error where the rise allowed stands in the way alone, or None."""
    given = ask.rise_rate
    if np.isinf(given) or solve(curves, replace(ask, rise_rate=np.inf)) is None:
        return None
    gap = np.diff(ask.breakpoints)
    least = max(ask.torque_resolution, 1e-3) / float(gap.max())
    low, high = given, max(2.0 * given, least)
    table = solve(curves, replace(ask, rise_rate=high))
    while table is None and high < 1e9 / float(gap.min()):
        low, high = high, 2.0 * high
        table = solve(curves, replace(ask, rise_rate=high))
    for _ in range(6):
        middle = (low + high) / 2.0
        trial = solve(curves, replace(ask, rise_rate=middle))
        low, high, table = (middle, high, table) if trial is None else (low, middle, trial)
    return ShapeInfeasibleError(
        "rise_rate",
        Sentence(
            f"{start} with a rise of no more than ",
            rate_in_words(given),
            ", because no breakpoint there can then stand one step (",
            Torque(ask.torque_resolution, ".3g", " N*m"),
            ") above those before; about ",
            rate_in_words(high),
            " is needed.",
        ),
        table,
        None if table is None else replace(ask, rise_rate=high),
    )
