"""What the block's thread allows: why the present holes do not hold, and what depth would."""

import math
from collections.abc import Iterator, Sequence

from torquerisk.case import Engine
from torquerisk.case.sentence import Sentence
from torquerisk.physics.head_joint.scatter import TighteningMethod
from torquerisk.study.assessment.assess import at_share
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.studs.fastening import Change
from torquerisk.study.studs.how_far import fastening
from torquerisk.study.studs.judgement import judge
from torquerisk.study.studs.results import Ask, StudChoice
from torquerisk.study.studs.said import held_and_middle, named, torque_in_words

DEPTH = "head_joint.engagement_length"
DEEPEST = 2.5
"""Thread engagement beyond which more is no use, in diameters (common practice, no source)."""
WORTH_MORE = 1.02
"""Torque held with a change over that without, from which it is worth saying [-]."""


def same_holes(
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
        Sentence(" The best there, ", named(best.fastening), ", holds ", torque_in_words(best), ".")
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
    return choice.fastening.strength.yield_strength, angled(choice)


def angled(choice: StudChoice) -> bool:
    """Whether it is tightened by angle."""
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
        limit, "; with wire inserts in the holes it would hold ", torque_in_words(inserted), " (",
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


def only_less(
    ask: Ask, engine: Engine, draws: Draws, present: StudChoice, choices: Sequence[StudChoice]
) -> Sentence:
    """What is left where no fastening holds: more thread in the block, or less pressure.

    Nobody is sent to change fasteners for ones that hold no more than what is fitted.
    """
    best = max(choices, key=lambda c: c.torque_held)
    most_held = max(present, best, key=lambda c: c.torque_held)
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
        f"{_pressure_off(ask, most_held):.0%} lower at this torque: later phasing, less "
        "compression, a smaller sealing ring, or less torque.",
    )
    others = "The best, "
    if most_held is present:
        others = "None is known to hold more than what is fitted: the best of the others, "
    start = Sentence(
        "No fastener judged here holds it. ", others, named(best.fastening), ", holds ",
        held_and_middle(best),
    )  # fmt: skip
    if deepest.torque_held < WORTH_MORE * most_held.torque_held or deepest.torque_held <= 0:
        return Sentence(start, "; beyond that only ", less)
    depth = deepest.fastening.engine.value(DEPTH).value * 1e3
    return Sentence(
        start,
        f"; with {depth:.0f} mm of thread in the block, or an insert that carries as much, ",
        named(deepest.fastening),
        " would hold ",
        torque_in_words(deepest),
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
    share = float(at_share(best.pressure_held / worst, ask.accepted))
    return max(1 - share, 0.0)
