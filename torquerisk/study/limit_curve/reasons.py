"""Why a table is no higher: the rule that holds each breakpoint, and what a reader must be told."""

import numpy as np

from torquerisk.case.sentence import Sentence, Torque
from torquerisk.physics.arrays import Array
from torquerisk.study.limit_curve.ask import Binding, ShapeAsk, Situation, rate_in_words
from torquerisk.study.limit_curve.rules import SMALL, Difference, Roof, Rules, roof

BINDING_OF_RULE = {
    "rise": Binding.RISE,
    "fall after peak": Binding.NOT_RISING,
    "peak": Binding.PEAK,
    "no dip": Binding.NO_DIP,
}


def bindings(
    curves: Situation, ask: ShapeAsk, rules: Rules, peak: int, limit: Array
) -> tuple[tuple[Binding, ...], Array]:
    """Return what holds each breakpoint, and the speed where it does, shape (m,).

    Found by raising each entry by one step, alone, and looking which rule breaks: the ceiling
    first, then what the engine can make, then the rules of shape. limit: [N*m], shape (m,).
    """
    step = ask.torque_resolution or 1e-4 * max(float(limit.max()), 1.0)
    ceiling = roof(ask.breakpoints, curves.reading)
    by_peak = rules.roof_for(peak)
    differences = rules.differences(peak)
    names: list[Binding] = []
    held_at = ask.breakpoints.copy()
    for entry in range(len(limit)):
        raised = limit.copy()
        raised[entry] += step
        name, at = _first_broken(ceiling, raised, entry)
        if name is not None:
            names.append(_ceiling_kind(curves, at))
            held_at[entry] = at
            continue
        name, at = _first_broken(rules.roof, raised, entry)
        if name is not None:
            names.append(Binding.REACH)
            held_at[entry] = at
            continue
        names.append(_shape_rule(by_peak, differences, raised, entry))
    outside = (ask.breakpoints < curves.speed[0]) | (ask.breakpoints > curves.speed[-1])
    told = [Binding.NOT_ASSESSED if out else n for n, out in zip(names, outside, strict=True)]
    return tuple(told), held_at


def _first_broken(over: Roof, limit: Array, entry: int) -> tuple[str | None, float]:
    """Return ("roof", speed) where the roof is passed by this entry, else (None, 0)."""
    if limit[entry] > over.upper[entry] + SMALL * (1.0 + over.upper[entry]):
        return "roof", float(over.upper_at[entry])
    passed = over.over_rows(limit)
    touches = ((over.lower == entry) & (over.share < 1.0)) | (over.lower + 1 == entry)
    passed = np.where(touches, passed - SMALL * (1.0 + over.torque), -np.inf)
    if len(passed) and passed.max() > 0.0:
        return "roof", float(over.speed[int(np.argmax(passed))])
    return None, 0.0


def _ceiling_kind(curves: Situation, at: float) -> Binding:
    """Return whether the ceiling at this speed is a torque, none at all, or open."""
    reading = curves.reading
    if np.interp(at, reading.speed, reading.torque) <= 0.0:
        return Binding.NO_TORQUE
    near = int(np.argmin(np.abs(curves.speed - at)))
    return Binding.OPEN if np.isposinf(curves.ceiling[near]) else Binding.CEILING


def _shape_rule(by_peak: Roof, differences: list[Difference], raised: Array, entry: int) -> Binding:
    """Return the rule of shape that the raised entry breaks, or that the objective holds it."""
    for d in differences:
        if d.lesser == entry:
            most = raised[d.greater] + d.by
            if raised[entry] > most + SMALL * (1.0 + abs(most)):
                return BINDING_OF_RULE[d.name]
    if _first_broken(by_peak, raised, entry)[0] is not None:
        return Binding.PEAK
    return Binding.OBJECTIVE


def told_of(curves: Situation, ask: ShapeAsk) -> tuple[str, ...]:
    """Return the notices that belong to a table."""
    told: list[str] = []
    none = curves.speed[curves.ceiling <= 0.0]
    if len(none):
        told.append(
            Sentence(
                f"No torque is acceptable between {none[0]:,.6g} and {none[-1]:,.6g} rpm "
                f"({len(none)} of {len(curves.speed)} speeds): the limit is held at ",
                Torque(0.0, "g", " N*m"),
                " there and up to the neighbouring breakpoints.",
            )
        )
    points = ask.breakpoints
    outside = points[(points < curves.speed[0]) | (points > curves.speed[-1])]
    if len(outside):
        listed = ", ".join(f"{speed:,.6g}" for speed in outside)
        told.append(
            f"Not assessed: breakpoints at {listed} rpm lie outside the speeds assessed, "
            f"{curves.speed[0]:,.6g} to {curves.speed[-1]:,.6g} rpm; the ceiling at the nearest "
            "assessed speed was used."
        )
    step = np.diff(points)
    short = int((ask.rise_rate * step < ask.torque_resolution * (1.0 - SMALL)).sum())
    if short:
        told.append(
            Sentence(
                "The chosen rise of ",
                rate_in_words(ask.rise_rate),
                " comes to less than one step of ",
                Torque(ask.torque_resolution, ".3g", " N*m"),
                f" over {short} of {len(step)} segments: the limit cannot rise there. A finer "
                "resolution or fewer breakpoints would let it.",
            )
        )
    if np.isposinf(curves.ceiling).any():
        told.append(
            Sentence(
                "The ceiling is open at some speeds: there the table is held at or under ",
                Torque(curves.cap, ",.6g", " N*m"),
                ", the highest finite torque of ceiling and engine.",
            )
        )
    return tuple(told)
