"""What the bench found, in plain words: does it hold, what would, what is the limit."""

from collections.abc import Iterator, Sequence

import numpy as np

from torquerisk.case import Engine
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.physics.head_joint.scatter import TighteningMethod
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.strengths.head_rings import heads_taken
from torquerisk.study.studs.block_thread import DEPTH, angled, only_less, same_holes
from torquerisk.study.studs.fastening import Change
from torquerisk.study.studs.results import Ask, StudChoice
from torquerisk.study.studs.said import (
    MUCH_INTO_GASKET,
    at_what_price,
    held_and_middle,
    named,
    of_count,
    reasons,
    torque_in_words,
)

MORE_PRELOAD = 0.01
"""More preload that is worth saying [-]."""
BOUND = 0.3
"""Correlation of preload with what a joint needs, from which that is why fewer lift [-]."""


def angle_instead(
    ask: Ask, by_torque: StudChoice, choices: Sequence[StudChoice]
) -> Sentence | None:
    """What it gains to tighten the same fasteners, drawn anew, by angle; None where nothing."""
    same = by_torque.fastening
    by_angle = next(
        (c for c in choices if (c.fastening.fastener, c.fastening.lubricant.frictions)
         == (same.fastener, same.lubricant.frictions) and angled(c)),
        None,
    )  # fmt: skip
    if same.method is not TighteningMethod.TORQUE or by_angle is None:
        return None
    if by_angle.lift_chance >= by_torque.lift_chance:
        return None
    draws, spared = len(by_angle.head.preload), by_angle.fastening.spared
    more = by_angle.preload.p50 / by_torque.preload.p50 - 1
    gets, why = f"{more:.0%} more preload, and", ""
    if more < MORE_PRELOAD:
        gets = f"{-more:.0%} less preload, and still" if more < 0 else "no more preload, and still"
        why = f", for {_why_less_lifts(ask, by_angle)}"
    return Sentence(
        "By angle (",
        by_angle.fastening.how,
        ") instead of by torque (",
        by_torque.fastening.how,
        f") the same fasteners get {gets} the head lifts in "
        f"{of_count(by_angle.lift_chance, draws)} simulated engines instead of "
        f"{of_count(by_torque.lift_chance, draws)}{why} (both as new fasteners, drawn anew)."
        f"{' The angle is held back to spare the thread in the block.' if spared else ''}",
    )


def _why_less_lifts(ask: Ask, by_angle: StudChoice) -> str:
    """Why an angle that gives no more preload lets the head lift less often."""
    needed = by_angle.head.preload_required(ask.worst[ask.worst_speed])
    bound = float(np.corrcoef(by_angle.head.preload, needed)[0, 1])
    if bound >= BOUND:
        return "by angle a stiff ring, which needs the most clamp, gets the most"
    return "an angle scatters less"


def findings_of(
    ask: Ask,
    engine: Engine,
    draws: Draws,
    present: StudChoice,
    choices: Sequence[StudChoice],
    angle: Sentence | None,
) -> tuple[str, ...]:
    """What would hold, and what the limit is, after the verdict; most important first."""
    out: list[str] = []
    lasting = [c for c in choices if c.holds_aged]
    good = lasting if present.holds else [c for c in choices if c.holds or c.close]
    if present.close:
        out.extend(_lasts_surely(ask, [c for c in lasting if not c.close]))
        return tuple(out if angle is None else (*out, angle))
    if present.holds_aged:
        return tuple(out)
    drilled = not any(c.fastening.change <= Change.STRENGTH for c in good)
    here = same_holes(ask, engine, draws, present, choices) if drilled else iter(())
    if not engine.has(DEPTH):  # to be measured before anybody drills
        out.extend(here)
    if good:
        lasts = first_sure(lasting) if lasting else None
        best = first_sure(good)
        out.append(_mildest(ask, best, lasts))
        if best.fastening.method is TighteningMethod.YIELD:
            out.append(_without_yield_tool(good, lasts))
    if angle is not None:
        out.append(angle)
    out.extend(here)
    if not good and present.holds:
        out.append("No change tried here lasts through many heat cycles without tightening again.")
    elif not good:
        out.append(only_less(ask, engine, draws, present, choices))
    return tuple(out)


def verdict(ask: Ask, present: StudChoice) -> Sentence:
    """Whether the joint as it stands holds the curve asked, and why not."""
    taken = heads_taken(present.engine)
    heads = f" (heads is not given: {taken})" if taken else ""
    assumed = f" ({present.not_said})" if present.not_said else ""
    start = Sentence("As it stands, ", named(present.fastening), f"{assumed}, the head{heads} is ")
    peak = Torque(ask.target)
    if present.close:
        return Sentence(
            start,
            "too close to call for ",
            peak,
            f": {reasons(ask, present)} simulated engines, where {ask.accepted:.2%} are accepted, "
            "which so few cannot tell apart. ",
            f"{_to_settle(ask, present)}. By the same count it would hold ",
            torque_in_words(present),
            " new, ",
            torque_in_words(present, present.torque_held_aged),
            f" after many heat cycles.{at_what_price(ask, present)}",
        )
    if present.holds:
        aged = ", though no longer after many heat cycles"
        if present.holds_aged:
            aged = ", new and after many heat cycles: nothing has to change"
        return Sentence(
            start,
            "estimated to hold ",
            peak,
            f" at the accepted chance{aged}; by the same count it would hold ",
            torque_in_words(present),
            f".{at_what_price(ask, present)}",
        )
    return Sentence(
        start,
        "not estimated to hold ",
        peak,
        f": {reasons(ask, present)} simulated engines. At the accepted chance it holds ",
        held_and_middle(present),
        ".",
    )


def _to_settle(ask: Ask, present: StudChoice) -> str:
    """What would tell whether it holds: stretch does, of fasteners that have not yielded."""
    measure = "" if present.used_once else "measure the stretch of the fasteners, "
    settle = f"{measure}simulate more engines, or ask a little less"
    if present.lift_chance_aged > ask.accepted + ask.sampling:
        aged = of_count(present.lift_chance_aged, ask.worst.shape[1])
        return f"It does not last: after many heat cycles the head lifts in {aged}. New: {settle}"
    return f"Change nothing for that: {settle}"


def _lasts_surely(ask: Ask, lasting: Sequence[StudChoice]) -> Iterator[Sentence]:
    """The mildest change that lasts, where what stands there is too close to call."""
    if lasting:
        best = first_sure(lasting)
        made, price = best.fastening, at_what_price(ask, best)
        yield Sentence(
            "The mildest change that lasts: ", named(made), f", {made.change.words}.{price}"
        )


def _mildest(ask: Ask, good: StudChoice, lasting: StudChoice | None) -> str:
    made = good.fastening
    text = Sentence(
        "The mildest change that may hold, too close to call: " if good.close
        else "The mildest change estimated to hold: ",
        named(made), f", {made.change.words}; ",
    )  # fmt: skip
    if good.close:
        why = f"{reasons(ask, good)} simulated engines. At the accepted chance it holds "
        text = Sentence(text, why, held_and_middle(good), ".", at_what_price(ask, good))
    elif lasting is good:
        return Sentence(text, "new and after many heat cycles.", at_what_price(ask, good))
    elif lasting is None:
        return Sentence(
            text, "new only: after many heat cycles no choice holds without tightening again."
        )
    else:
        text = Sentence(text, "new only, so it needs tightening again.")
    if lasting in (None, good):
        return text
    return Sentence(
        text, " The mildest that lasts through many heat cycles too: ",
        named(lasting.fastening), f", {lasting.fastening.change.words}.",
        at_what_price(ask, lasting),
    )  # fmt: skip


def mildest_of(choices: Sequence[StudChoice]) -> StudChoice | None:
    """The first that holds new and aged, else new, or may; see `first_sure`.

    What stands there and is too close to call is kept: nobody drills for what cannot be told.
    """
    may = [c for c in choices if c.holds or c.close]
    if may and may[0].close and may[0].fastening.change is Change.NONE:
        return may[0]
    held = [c for c in may if c.holds_aged] or may
    return first_sure(held) if held else None


def first_sure(held: Sequence[StudChoice]) -> StudChoice:
    """The mildest; of those that change no more, one that is not too close to call, that serves
    again, and whose turn the gasket does not decide, in this order."""
    alike = [c for c in held if c.fastening.change == held[0].fastening.change]
    return min(alike, key=lambda c: (c.close, c.used_once, c.into_gasket >= MUCH_INTO_GASKET))


def without_yield(choices: Sequence[StudChoice]) -> list[StudChoice]:
    """Those that are tightened without a tool that senses yield."""
    return [c for c in choices if c.fastening.method is not TighteningMethod.YIELD]


def _without_yield_tool(good: Sequence[StudChoice], lasting: StudChoice | None) -> str:
    """What holds for those who have no tool that senses yield; lasting: named already."""
    best = mildest_of(without_yield(good))
    if best is None:
        return "Tightening to yield needs a tool that senses it; nothing else here would hold."
    if best is lasting:
        return "Tightening to yield needs a tool that senses it; the other does not."
    return Sentence(
        "Tightening to yield needs a tool that senses it. Without one the mildest is ",
        named(best.fastening),
        f", {best.fastening.change.words}.",
    )
