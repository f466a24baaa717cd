"""What the bench found, in plain words: does it hold, what would, what is the limit."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Engine
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.physics.head_joint.scatter import TighteningMethod
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.studs.choices import Change, Fastening, engine_with, fastening
from torquerisk.study.studs.judgement import judge, loads_at_worst
from torquerisk.study.studs.results import Ask, Mode, Spread, StudChoice

SPECIAL_YIELD = tuple(np.arange(700e6, 1901e6, 50e6))
"""Yield strengths tried for a stud outside the classes [Pa]."""
SPECIAL_TENSILE_RATIO = 1.08
"""Tensile over yield strength of such studs (as classes 10.9 and 12.9: 1.11)."""


@dataclass(frozen=True, kw_only=True, eq=False)
class AngleInstead:
    """The present studs by torque, and new ones of the same kind by angle."""

    by_torque: StudChoice
    by_angle: StudChoice
    text: str


def angle_instead(present: StudChoice, choices: Sequence[StudChoice]) -> AngleInstead | None:
    """What changes if the same studs are tightened by angle; None where they are already."""
    if present.fastening.method is not TighteningMethod.TORQUE:
        return None
    same = [c for c in choices if c.fastening.change is Change.TIGHTENING]
    own = [c for c in same if c.fastening.lubricant.name == "own"] or same
    turned = [c for c in own if c.fastening.method is TighteningMethod.ANGLE]
    anew = [c for c in own if c.fastening.method is TighteningMethod.TORQUE]
    if not turned or not anew:
        return None
    by_angle, by_torque = turned[0], anew[0]
    draws, spared = len(by_angle.head.preload), by_angle.fastening.spared
    text = Sentence(
        "By angle (",
        by_angle.fastening.how,
        ") instead of by torque (",
        by_torque.fastening.how,
        f") the same studs give {_kn(by_angle.preload)} instead of {_kn(by_torque.preload)} of "
        "preload, "
        f"and the head lifts in {_of(by_angle.lift_chance, draws)} simulated engines instead of "
        f"{_of(by_torque.lift_chance, draws)} (both as new fasteners, drawn anew)."
        f"{' The angle is held back to spare the thread in the block.' if spared else ''}",
    )
    return AngleInstead(by_torque=by_torque, by_angle=by_angle, text=text)


def _kn(values: Spread) -> str:
    low, middle, high = (x / 1e3 for x in (values.p05, values.p50, values.p95))
    return f"{middle:.0f} kN ({low:.0f} to {high:.0f})"


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
    angle: AngleInstead | None,
) -> tuple[str, ...]:
    """The answer, most important first."""
    out = [_present(ask, present)]
    good = [c for c in choices if c.holds]
    lasting = [c for c in good if c.holds_aged]
    if present.holds_aged:
        return tuple(out if angle is None else (*out, angle.text))
    if good:
        out.append(_mildest(good[0], lasting[0] if lasting else None))
        out.extend(_without_yield_tool(good))
    if angle is not None:
        out.append(angle.text)
    if not any(c.fastening.change <= Change.STRENGTH for c in good):
        out.extend(_same_holes(ask, engine, draws, present, choices))
    if not good:
        out.append(_only_less(ask, choices))
    return tuple(out)


def named(made: Fastening) -> Sentence:
    """A fastening in a few words."""
    oil = "" if made.lubricant.name == "own" else f", friction class {made.lubricant.name}"
    return Sentence(
        f"{made.thread.designation} {made.strength.name} by {made.method.value} (",
        made.how,
        f"{oil})",
    )


def _present(ask: Ask, present: StudChoice) -> str:
    start = Sentence("As it stands, ", named(present.fastening), ", the head is ")
    peak = Torque(float(ask.torque.max()))
    if present.holds:
        aged = "" if present.holds_aged else ", though no longer after many heat cycles"
        return Sentence(
            start,
            "estimated to hold ",
            peak,
            f" at the accepted chance{aged}; by the same count it would hold ",
            _held(present),
            ".",
        )
    counts = f"it lifts in {_of(present.lift_chance, ask.worst.shape[1])} simulated engines"
    if present.lift_chance <= ask.accepted:
        counts += f", but {present.first_to_fail.value}"
    return Sentence(
        start,
        "not estimated to hold ",
        peak,
        f": {counts}. At the accepted chance it holds ",
        _held(present),
        ".",
    )


def _held(choice: StudChoice) -> str | Torque:
    if choice.torque_held <= 0:
        return "no torque at that chance"
    if not np.isfinite(choice.torque_held):
        return "all that the model covers"
    return Torque(choice.torque_held)


def _mildest(good: StudChoice, lasting: StudChoice | None) -> str:
    made = good.fastening
    text = Sentence(
        "The mildest change estimated to hold: ", named(made), f", {made.change.words}; "
    )
    if lasting is good:
        return Sentence(text, "new and after many heat cycles.")
    if lasting is None:
        return Sentence(
            text, "new only: after many heat cycles no choice holds without tightening again."
        )
    return Sentence(
        text,
        "new only, so it needs tightening again. The mildest that lasts through many heat "
        "cycles too: ",
        named(lasting.fastening),
        f", {lasting.fastening.change.words}.",
    )


def _without_yield_tool(good: Sequence[StudChoice]) -> Iterator[str]:
    """What holds for those who have no tool that senses yield."""
    if good[0].fastening.method is not TighteningMethod.YIELD:
        return
    others = [c for c in good if c.fastening.method is not TighteningMethod.YIELD]
    best = next((c for c in others if c.holds_aged), others[0] if others else None)
    if best is None:
        yield "Tightening to yield needs a tool that senses it; nothing else here would hold."
    else:
        yield Sentence(
            "Tightening to yield needs a tool that senses it. Without one the mildest is ",
            named(best.fastening),
            f", {best.fastening.change.words}.",
        )


def _same_holes(
    ask: Ask, engine: Engine, draws: Draws, present: StudChoice, choices: Sequence[StudChoice]
) -> Iterator[str]:
    """Why no fastener in the present holes holds: the block's thread, or the stud."""
    same = [c for c in choices if c.fastening.change <= Change.STRENGTH]
    clamped = [c for c in same if c.lift_chance <= ask.accepted]
    stripped = [c for c in clamped if c.strip_chance > ask.accepted or c.strip_utilisation > 1]
    if clamped and len(stripped) == len(clamped):
        yield _block_limit(ask, min(stripped, key=lambda c: c.strip_utilisation))
        return
    if clamped:
        best = min(clamped, key=lambda c: c.lift_chance)
        yield Sentence(
            "In the present holes ",
            named(best.fastening),
            f" clamps enough, but {best.first_to_fail.value}.",
        )
        return
    special = special_stud(ask, engine, draws, present)
    if special is None:
        yield (
            f"In the present {present.fastening.thread.designation} holes no stud clamps enough, "
            f"not even one of {SPECIAL_YIELD[-1] / 1e6:,.0f} MPa yield tightened by angle."
        )
        return
    strength = special.fastening.strength.yield_strength / 1e6
    text = Sentence(
        f"In the present {present.fastening.thread.designation} holes it takes studs of about "
        f"{strength:,.0f} MPa yield, by angle (",
        special.fastening.how,
        ")",
    )
    if special.strip_chance > ask.accepted:
        yield Sentence(text, f", and then {_block_limit(ask, special, start=False)}")
    else:
        yield Sentence(
            text, "; the classes end at 1,100 MPa, so take the stud maker's own figures."
        )


def _block_limit(ask: Ask, choice: StudChoice, *, start: bool = True) -> str:
    head, made = choice.head, choice.fastening
    pitch = head.thread.pitch
    depth = made.engine.value("head_joint.engagement_length").value
    carried = depth - 0.8 * pitch
    over = max(
        float(np.quantile(loads_at_worst(ask, head)[1] / head.strip_load, 1 - ask.accepted)), 1.0
    )
    needed = (over * carried + 0.8 * pitch) * 1e3
    text = (
        f"he thread in the block is the limit, not the stud: {depth * 1e3:.0f} mm of engagement in "
        f"{made.engine.word('head_joint.block_material')} strips first; it takes about "
        f"{needed:.0f} mm, or a thread insert of larger outside diameter."
    )
    return ("T" if start else "t") + text


def special_stud(ask: Ask, engine: Engine, draws: Draws, present: StudChoice) -> StudChoice | None:
    """The weakest stud outside the classes that clamps enough in the present holes, by angle.

    None where not even the strongest tried does. The block's thread is not asked here.
    """
    low, high = 0, len(SPECIAL_YIELD) - 1
    found: StudChoice | None = None
    while low <= high:
        middle = (low + high) // 2
        choice = _special(ask, engine, draws, present, float(SPECIAL_YIELD[middle]))
        if choice is not None and choice.lift_chance <= ask.accepted:
            found, high = choice, middle - 1
        else:
            low = middle + 1
    return found


def _special(
    ask: Ask, engine: Engine, draws: Draws, present: StudChoice, strength: float
) -> StudChoice | None:
    values = {
        "head_joint.property_class": "special",
        "head_joint.yield_strength": strength,
        "head_joint.tensile_strength": SPECIAL_TENSILE_RATIO * strength,
    }
    made = fastening(
        engine_with(engine, present.fastening.thread, values),
        change=Change.STRENGTH,
        method=TighteningMethod.ANGLE,
        oil=present.fastening.lubricant,
        spare_block=False,
    )
    return None if made is None else judge(ask, made, engine, draws)


def _only_less(ask: Ask, choices: Sequence[StudChoice]) -> str:
    """What is left where no fastening holds: more thread in the block, or less pressure."""
    best = max(choices, key=lambda c: c.torque_held)
    share = np.quantile(
        best.pressure_held / ask.worst[ask.worst_speed], ask.accepted, method="lower"
    )
    block = best.fastening.spared or best.first_to_fail is Mode.STRIP
    helps = (
        "more thread in the block or lower peak pressure helps"
        if block
        else "only lower peak pressure helps"
    )
    return Sentence(
        "No fastener judged here holds it. The best, ",
        named(best.fastening),
        ", holds ",
        _held(best),
        f"; beyond that {helps}, about {max(1 - share, 0.0):.0%} lower at this "
        "torque: later phasing, less compression, a smaller sealing ring, or less torque.",
    )
