"""What the bench found, in plain words: does it hold, what would, what is the limit."""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from torquerisk.case import Engine
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.physics.head_joint.scatter import TighteningMethod
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.strengths.head_rings import heads_taken
from torquerisk.study.studs.fastening import Change, Fastening
from torquerisk.study.studs.how_far import fastening
from torquerisk.study.studs.judgement import judge
from torquerisk.study.studs.results import Ask, StudChoice

DEPTH = "head_joint.engagement_length"
DEEPEST = 2.5
"""Thread engagement beyond which more is no use, in diameters (common practice, no source)."""
WORTH_MM = 0.01
"""Lasting stretch that is worth saying [mm]."""
WORTH_MORE = 1.02
"""Torque held with a change over that without, from which it is worth saying [-]."""


def angle_instead(by_torque: StudChoice, choices: Sequence[StudChoice]) -> Sentence | None:
    """What it gains to tighten the same fasteners, drawn anew, by angle; None where nothing."""
    same = by_torque.fastening
    by_angle = next(
        (c for c in choices if (c.fastening.fastener, c.fastening.lubricant.frictions)
         == (same.fastener, same.lubricant.frictions) and _angled(c)),
        None,
    )  # fmt: skip
    if same.method is not TighteningMethod.TORQUE or by_angle is None:
        return None
    if by_angle.lift_chance >= by_torque.lift_chance:
        return None
    draws, spared = len(by_angle.head.preload), by_angle.fastening.spared
    return Sentence(
        "By angle (",
        by_angle.fastening.how,
        ") instead of by torque (",
        by_torque.fastening.how,
        f") the same fasteners get {_more(by_angle, by_torque, 'p50')} preload, "
        f"{_more(by_angle, by_torque, 'p05')} where it is least (5 % point), "
        f"and the head lifts in {_of(by_angle.lift_chance, draws)} simulated engines instead of "
        f"{_of(by_torque.lift_chance, draws)} (both as new fasteners, drawn anew)."
        f"{' The angle is held back to spare the thread in the block.' if spared else ''}",
    )


def _more(one: StudChoice, other: StudChoice, point: str) -> str:
    """How much more of a point of the preload's spread one gives than another."""
    share = getattr(one.preload, point) / getattr(other.preload, point) - 1
    return f"{abs(share):.0%} {'more' if share >= 0 else 'less'}"


def _of(chance: float, draws: int) -> str:
    """A chance as a count of simulated joints: never none, never all."""
    count = round(chance * draws)
    if count <= 0:
        return f"fewer than 1 of {draws:,}"
    return f"more than {draws - 1:,} of {draws:,}" if count >= draws else f"{count:,} of {draws:,}"


def findings_of(
    ask: Ask,
    engine: Engine,
    draws: Draws,
    present: StudChoice,
    choices: Sequence[StudChoice],
    angle: Sentence | None,
) -> tuple[str, ...]:
    """The answer, most important first."""
    out: list[str] = [verdict(ask, present)]
    lasting = [c for c in choices if c.holds_aged]
    good = lasting if present.holds else [c for c in choices if c.holds or c.close]
    if present.close:
        return tuple(out if angle is None else (*out, angle))
    if present.holds_aged:
        return tuple(out)
    drilled = not any(c.fastening.change <= Change.STRENGTH for c in good)
    here = _same_holes(ask, engine, draws, present, choices) if drilled else iter(())
    if not engine.has(DEPTH):  # to be measured before anybody drills
        out.extend(here)
    if good:
        lasts = first_sure(lasting) if lasting else None
        out.append(_mildest(ask, first_sure(good), lasts))
        out.extend(_without_yield_tool(good, lasts))
    if angle is not None:
        out.append(angle)
    out.extend(here)
    if not good and present.holds:
        out.append("No change tried here lasts through many heat cycles without tightening again.")
    elif not good:
        out.append(_only_less(ask, engine, draws, choices))
    return tuple(out)


def named(made: Fastening) -> Sentence:
    """A fastening in a few words."""
    oil = f", {made.lubricant.said}" if made.lubricant.said else ""
    return Sentence(f"{made.name} by {made.method.value} (", made.how, f"{oil})")


def verdict(ask: Ask, present: StudChoice) -> Sentence:
    """Whether the joint as it stands holds the curve asked, and why not."""
    taken = heads_taken(present.engine)
    heads = f" (heads is not given: {taken})" if taken else ""
    given = present.engine.has("head_joint.tightening_torque")
    assumed = "" if given or present.fastening.stretch is not None else " (assumed: nobody said)"
    start = Sentence("As it stands, ", named(present.fastening), f"{assumed}, the head{heads} is ")
    peak = Torque(ask.target)
    if present.close:
        return Sentence(
            start,
            "too close to call for ",
            peak,
            f": {_reasons(ask, present)} simulated engines, where {ask.accepted:.2%} are accepted, "
            f"which so few cannot tell apart. Change nothing for that: {_to_settle(present)}. "
            "By the same count it would hold ",
            _held(present),
            " new, ",
            _held(present, present.torque_held_aged),
            f" after many heat cycles.{_once(ask, present)}",
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
            _held(present),
            f".{_once(ask, present)}",
        )
    return Sentence(
        start,
        "not estimated to hold ",
        peak,
        f": {_reasons(ask, present)} simulated engines. At the accepted chance it holds ",
        _held(present) if present.torque_held > 0 else "no torque",
        ".",
    )


def _once(ask: Ask, choice: StudChoice) -> str:
    """That fasteners serve once, as a sentence of its own; '' where they serve again."""
    if not choice.used_once:
        return ""
    head, past = choice.head, _of(choice.past_yield, ask.worst.shape[1])
    far, borne = (1e3 * float(np.median(x)) for x in (head.past_yield, head.borne_past_yield))
    by = f", by {far:.2f} mm of the {borne:.2f} mm that they bear" if far >= WORTH_MM else ""
    return f" Its fasteners serve once: tightening takes them past yield in {past}{by}."


def _to_settle(present: StudChoice) -> str:
    """What would tell whether it holds: stretch does, of fasteners that have not yielded."""
    if present.used_once:
        return "simulate more engines, or ask a little less"
    return "measure the stretch of the fasteners, or simulate more engines"


def _reasons(ask: Ask, choice: StudChoice) -> str:
    """What passes, in how many simulated engines."""
    found, draws = choice.chances, ask.worst.shape[1]
    over = {mode: chance for mode, chance in found.items() if chance > ask.accepted} or found
    return " and ".join(
        f"{mode.value} in {_of(chance, draws)}" for mode, chance in over.items() if chance > 0
    )


def _held(choice: StudChoice, torque: float | None = None) -> str | Torque:
    """What a choice holds new, or the torque that it holds otherwise [N*m]."""
    torque = choice.torque_held if torque is None else torque
    if torque <= 0:
        return f"no torque, for {choice.first_to_fail.value}"
    if not np.isfinite(torque):
        return "all that the model covers"
    return Torque(torque)


def _mildest(ask: Ask, good: StudChoice, lasting: StudChoice | None) -> str:
    made = good.fastening
    text = Sentence(
        "The mildest change that may hold, too close to call: " if good.close
        else "The mildest change estimated to hold: ",
        named(made), f", {made.change.words}; ",
    )  # fmt: skip
    if good.close:
        why = f"{_reasons(ask, good)} simulated engines. At the accepted chance it holds "
        text = Sentence(text, why, _held(good), ".", _once(ask, good))
    elif lasting is good:
        return Sentence(text, "new and after many heat cycles.", _once(ask, good))
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
        named(lasting.fastening), f", {lasting.fastening.change.words}.", _once(ask, lasting),
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
    """The mildest; of those that change no more, one that is not too close to call, and of those
    one that serves again."""
    alike = [c for c in held if c.fastening.change == held[0].fastening.change]
    return min(alike, key=lambda c: (c.close, c.used_once))


def without_yield(choices: Sequence[StudChoice]) -> list[StudChoice]:
    """Those that are tightened without a tool that senses yield."""
    return [c for c in choices if c.fastening.method is not TighteningMethod.YIELD]


def _without_yield_tool(good: Sequence[StudChoice], lasting: StudChoice | None) -> Iterator[str]:
    """What holds for those who have no tool that senses yield; lasting: named already."""
    if good[0].fastening.method is not TighteningMethod.YIELD:
        return
    best = mildest_of(without_yield(good))
    if best is None:
        yield "Tightening to yield needs a tool that senses it; nothing else here would hold."
    elif best is lasting:
        yield "Tightening to yield needs a tool that senses it; the other does not."
    else:
        yield Sentence(
            "Tightening to yield needs a tool that senses it. Without one the mildest is ",
            named(best.fastening),
            f", {best.fastening.change.words}.",
        )


def _same_holes(
    ask: Ask, engine: Engine, draws: Draws, present: StudChoice, choices: Sequence[StudChoice]
) -> Iterator[str]:
    """Why no fastener in the present holes holds: the block's thread, or the fastener.

    The strongest of them is asked with no regard to the block's thread.
    """
    same = [c for c in choices if c.fastening.change <= Change.STRENGTH]
    if not same:
        return
    best = max(same, key=lambda c: c.torque_held)
    most = (
        Sentence(" The best there, ", named(best.fastening), ", holds ", _held(best), ".")
        if best.torque_held > WORTH_MORE * present.torque_held
        else " Nothing else in those holes is known to hold much more than what is there."
    )
    strongest = max(same, key=_strength)
    free = _remade(ask, strongest, engine, draws, strongest.fastening.engine, spare_block=False)
    what: tuple[str, ...] = (
        named(free.fastening),
        f" clamps enough, but {free.first_to_fail.value}.",
    )
    if free.lift_chance > ask.accepted:
        what = "nothing clamps enough, not even ", what[0], "."
    elif free.strip_chance > ask.accepted:
        what = what[0], " would clamp enough, but ", _block_limit(ask, free, engine, draws)
    yield Sentence(f"In the present {strongest.fastening.thread.designation} holes ", *what, most)


def _strength(choice: StudChoice) -> tuple[float, bool]:
    return choice.fastening.strength.yield_strength, _angled(choice)


def _angled(choice: StudChoice) -> bool:
    return choice.fastening.method is TighteningMethod.ANGLE


def _remade(
    ask: Ask, choice: StudChoice, was: Engine, draws: Draws, base: Engine, *, spare_block: bool
) -> StudChoice:
    """A choice in another engine, or with no regard to the block's thread."""
    insert = "head_joint.thread_insert"
    made = fastening(
        base,
        change=choice.fastening.change,
        method=choice.fastening.method,
        oil=choice.fastening.lubricant,
        spare_block=spare_block,
        stood=choice.fastening.stood if base.given(insert) == was.given(insert) else 0.0,
    )
    return choice if made is None else judge(ask, made, was, draws)


def _block_limit(ask: Ask, choice: StudChoice, was: Engine, draws: Draws) -> Sentence:
    """How much thread it takes, and what a thread insert would hold instead."""
    made, insert = choice.fastening, "head_joint.thread_insert"
    depth = made.engine.value(DEPTH)
    limit = Sentence(
        f"the thread in the block is the limit, not the fastener: {depth.value * 1e3:.0f} mm of "
        f"engagement{'' if was.has(DEPTH) else ' (assumed: measure it)'} in "
        f"{made.engine.word('head_joint.block_material')} strips first; ",
        *_depth_taken(ask, choice, was, draws),
    )
    if made.engine.given(insert) == "true":
        return Sentence(limit, ".")
    base = made.engine.with_values({insert: "true"})
    inserted = _remade(ask, choice, was, draws, base, spare_block=True)
    return Sentence(
        limit, "; with wire inserts in the holes it would hold ", _held(inserted), " (",
        inserted.fastening.how, ").",
    )  # fmt: skip


def _depth_taken(
    ask: Ask, choice: StudChoice, was: Engine, draws: Draws
) -> tuple[str | Sentence, ...]:
    """The least whole millimetres of thread at which a choice, held back for it, holds the curve.

    Found by halving: more thread never holds less.
    """
    deepest = _deeper(ask, choice, was, draws)
    most = math.ceil(deepest.fastening.engine.value(DEPTH).value * 1e3)
    there = choice.fastening.engine.value(DEPTH).value * 1e3
    if not deepest.holds:
        return (f"not even {most} mm hold it" if most > there + 1 else "deeper is of no more use",)
    short, found = math.floor(there), deepest
    while most - short > 1:
        tried = (short + most) // 2
        now = _deeper(ask, choice, was, draws, tried * 1e-3)
        if now.holds:
            most, found = tried, now
        else:
            short = tried
    return f"it takes about {most} mm (", found.fastening.how, ")"


def _only_less(ask: Ask, engine: Engine, draws: Draws, choices: Sequence[StudChoice]) -> Sentence:
    """What is left where no fastening holds: more thread in the block, or less pressure."""
    best = max(choices, key=lambda c: c.torque_held)
    strongest = max(
        choices,
        key=lambda c: c.fastening.strength.yield_strength * c.fastening.fastener.thread_area,
    )
    mild = max(choices, key=lambda c: (c.fastening.change <= Change.STRENGTH, *_strength(c)))
    tried = {id(c): c for c in (mild, best, strongest)}.values()
    deep = [_deeper(ask, c, engine, draws) for c in tried]
    most = max(deep, key=lambda c: c.torque_held)
    deepest = deep[0] if deep[0].holds else most
    less = Sentence(
        "lower peak pressure helps, about ",
        f"{_pressure_off(ask, best):.0%} lower at this torque: later phasing, less compression, a "
        "smaller sealing ring, or less torque.",
    )
    start = Sentence(
        "No fastener judged here holds it. The best, ", named(best.fastening), ", holds ",
        _held(best),
    )  # fmt: skip
    if deepest.torque_held < WORTH_MORE * best.torque_held or deepest.torque_held <= 0:
        return Sentence(start, "; beyond that only ", less)
    depth = deepest.fastening.engine.value(DEPTH).value * 1e3
    return Sentence(
        start,
        f"; with {depth:.0f} mm of thread in the block, or an insert that carries as much, ",
        named(deepest.fastening),
        " would hold ",
        _held(deepest),
        ". Else ",
        less,
    )


def _deeper(
    ask: Ask, choice: StudChoice, was: Engine, draws: Draws, depth: float | None = None
) -> StudChoice:
    """A choice with another depth of thread [m]; with as much as is any use where none is named."""
    base = choice.fastening.engine
    if depth is None:
        depth = DEEPEST * choice.fastening.thread.nominal_diameter
        depth = max(min(depth, base.declaration(DEPTH).high), base.value(DEPTH).value)
    return _remade(ask, choice, was, draws, base.with_values({DEPTH: depth}), spare_block=True)


def _pressure_off(ask: Ask, best: StudChoice) -> float:
    """Share by which the highest pressure is above what a choice holds, at the accepted chance."""
    worst = ask.worst[ask.worst_speed]
    share = np.quantile(best.pressure_held / worst, ask.accepted, method="lower")
    return float(max(1 - share, 0.0))
