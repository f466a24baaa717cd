"""Why no table keeps all rules, and the nearest table that keeps all but one."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from torquerisk.case.sentence import Sentence, Torque
from torquerisk.study.limit_curve.ask import Shape, ShapeAsk, ShapeInfeasibleError, Situation

Solve = Callable[[Situation, ShapeAsk], Shape | None]


def infeasible(curves: Situation, ask: ShapeAsk, solve: Solve) -> ShapeInfeasibleError:
    """Return the error that names the constraint that cannot hold, with the nearest table.

    curves, ask: what had no table; solve: the solver, asked again with one rule relaxed.
    """
    unit = ask.speed_unit.value
    points = ask.breakpoints
    start = f"No table can peak at or after {ask.peak_from:,.6g} {unit}"
    nearest, reached = _earlier_peak(curves, ask, solve)
    instead = "" if nearest is None else _where(nearest, unit)
    kept = None if nearest is None else replace(ask, peak_from=reached)
    if ask.peak_from > points[-1]:
        return ShapeInfeasibleError(
            "peak_from",
            Sentence(
                f"{start}: its last breakpoint is {points[-1]:,.6g} {unit}; add breakpoints or "
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
                    f"){verb} from there to {points[-1]:,.6g} {unit}.",
                    instead,
                ),
                nearest,
                kept,
            )
    return _one_rule(curves, ask, solve, start) or ShapeInfeasibleError(
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


def _where(table: Shape, unit: str) -> str:
    """Return the sentence on the nearest table with an earlier peak."""
    if table.limit.max() <= 0.0:
        return Sentence(" The nearest table is ", Torque(0.0, "g", " N*m"), " throughout.")
    at = table.breakpoints[table.peak_index]
    return f" The nearest table peaks at {at:,.6g} {unit}."


def _earlier_peak(curves: Situation, ask: ShapeAsk, solve: Solve) -> tuple[Shape | None, float]:
    """Return the table with the latest peak that is possible, and the peak_from it keeps."""
    for peak_from in [*ask.breakpoints[ask.breakpoints < ask.peak_from][::-1].tolist(), 0.0]:
        table = solve(curves, replace(ask, peak_from=peak_from))
        if table is not None:
            return table, peak_from
    return None, 0.0


def _one_rule(
    curves: Situation, ask: ShapeAsk, solve: Solve, start: str
) -> ShapeInfeasibleError | None:
    """Return the error for the one rule that stands in the way alone, or None."""
    per = f" per {ask.speed_unit.value}"
    gap = float(np.diff(ask.breakpoints).min())
    least = max(ask.torque_resolution, 1e-3) / float(np.diff(ask.breakpoints).max())
    words = {
        "rise_rate": "a rise of no more than",
        "fall_rate": "a fall of no more than",
        "slope_change": "a change of slope of no more than",
    }
    for name, word in words.items():
        given = getattr(ask, name)
        if given is None or np.isinf(given):
            continue
        free = np.inf if name == "rise_rate" else None
        if solve(curves, _with(ask, name, free)) is None:
            continue
        low, high = given, max(2.0 * given, least)
        table = solve(curves, _with(ask, name, high))
        while table is None and high < 1e9 / gap:
            low, high = high, 2.0 * high
            table = solve(curves, _with(ask, name, high))
        for _ in range(6):
            middle = (low + high) / 2.0
            trial = solve(curves, _with(ask, name, middle))
            low, high, table = (middle, high, table) if trial is None else (low, middle, trial)
        return ShapeInfeasibleError(
            name,
            Sentence(
                f"{start} with {word} ",
                Torque(given, ".4g", " N*m", per),
                ", because no breakpoint there can then stand one step (",
                Torque(ask.torque_resolution, ".3g", " N*m"),
                ") above those before; about ",
                Torque(high, ".4g", " N*m", per),
                " is needed.",
            ),
            table,
            None if table is None else _with(ask, name, high),
        )
    return None


def _with(ask: ShapeAsk, name: str, value: float | None) -> ShapeAsk:
    """Return the ask with one rule of shape changed."""
    if name == "rise_rate":
        return replace(ask, rise_rate=np.inf if value is None else value)
    if name == "fall_rate":
        return replace(ask, fall_rate=value)
    return replace(ask, slope_change=value)
