"""The target sheet of a fastening: what to fit, how to tighten it, what to expect of it."""

import math
from dataclasses import dataclass

from torquerisk.case import CAUTIONS
from torquerisk.files.text import brief
from torquerisk.quantities import KN
from torquerisk.show.words.prose import (
    MINUS,
    Units,
    chance_in_words,
    in_units,
    middle_low_high,
    plain,
    torque_in_words,
)
from torquerisk.show.words.sealing_ring import left_for_the_sheet
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    JointState,
    Spread,
    StudBench,
    StudChoice,
    TighteningMethod,
)

STEP_SHARES = (0.4, 0.7, 1.0)
"""Steps of torque, as shares of the last (common practice, no source)."""
LARGEST_TURN = 90.0
"""Turns of more than this are taken in equal parts [deg] (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class TargetSheet:
    """Words for one sheet of paper; numbers rounded for people."""

    title: str
    facts: tuple[tuple[str, str], ...]
    """What and value, in order."""
    steps: tuple[str, ...]
    afterwards: tuple[str, ...]
    cautions: tuple[str, ...]


def target_sheet(bench: StudBench, choice: StudChoice, units: Units = Units.SI) -> TargetSheet:
    """The sheet of one choice of a bench, its torques in the chosen units."""
    made = choice.fastening
    engine = made.engine
    draws = bench.assessment.model.draws.count
    ring = answers_of(bench.assessment).ring_at_worst(bench, choice)
    state = "estimated to hold" if choice.holds else "not estimated to hold"
    facts = [
        ("engine", brief(engine.name, 160)),
        ("curve", f"{in_units(bench.curve, units)}; {state} at the accepted chance"),
        ("what changes", made.change.words),
        ("fasteners", f"{engine.head_joint.fasteners} of {made.name}"),
        ("lubricant", made.lubricant.words),
        ("tightening", f"by {made.method.value}: {in_units(made.how, units)}"),
        *(
            [("held back", "to spare the thread in the block: the fastener could bear more")]
            if made.spared
            else []
        ),
        ("preload when tightened", kilonewtons(choice.preload)),
        *((f"clamp per fastener, {s.value}", kilonewtons(r.preload))
          for s, r in choice.states.items()),
        ("needed at the accepted chance", f"{bench.required_clamp_per_fastener / KN:.0f} kN per "
                                          "fastener in service"),
        ("left on the ring, firing", left_for_the_sheet(ring)),
        ("lift, new", chance_in_words(choice.lift_chance, draws)),
        ("lift, after many heat cycles", chance_in_words(choice.lift_chance_aged, draws)),
        ("gives way first", choice.first_to_fail.value),
        ("washer", f"hardened, {choice.washer_diameter * 1e3:.0f} mm or more outside on "
                   f"{engine.word('head_joint.head_material')}"),
        ("thread in the block", f"{engine.value('head_joint.engagement_length').value * 1e3:.0f} "
                                "mm of full thread at least"),
    ]  # fmt: skip
    return TargetSheet(
        title=f"Target sheet: {made.name} by {made.method.value}",
        facts=tuple(facts),
        steps=(*_before(), *_tighten(choice, units)),
        afterwards=tuple(_afterwards(choice)),
        cautions=(
            "The engine maker's and the fastener maker's procedure come first; this sheet is an "
            "estimate for a qualified engine builder to check, not an instruction.",
            *bench.cautions[: len(bench.cautions) - len(CAUTIONS)],
        ),
    )


def kilonewtons(values: Spread) -> str:
    """A force as '57 kN, range 49 to 67'."""
    if values.p95 - values.p05 < 1.0:
        return f"{plain(values.p50 / KN, 1)} kN"
    middle, low, high = middle_low_high(values.p05 / KN, values.p50 / KN, values.p95 / KN)
    return f"{middle} kN, range {low} to {high}"


def spare_share(share: float) -> str:
    """Clamp to spare as '+12 %' or '−8 %'."""
    sign = "+" if share >= 0 else MINUS
    return f"{sign}{abs(share) * 100:.0f} %"


def _before() -> tuple[str, ...]:
    return (
        "Chase, clean and dry the holes to the bottom: oil under a fastener can crack a block.",
        "Lubricate thread and bearing face as stated, nothing else; studs finger-tight into the "
        "block.",
        "Tighten in the maker's order, from the middle outwards where none is given.",
    )


def _tighten(choice: StudChoice, units: Units) -> tuple[str, ...]:
    made = choice.fastening
    snug = torque_in_words(made.tightening_torque, units)
    if made.method is TighteningMethod.TORQUE:
        steps = [5 * round(share * made.tightening_torque / 5) for share in STEP_SHARES[:-1]]
        told = ", then ".join(torque_in_words(float(step), units) for step in steps)
        return (
            f"All to {told}, then {snug} in one smooth pull each; a click in mid-rest reads low.",
            "Go round once more at the last torque: any that still turns had settled.",
        )
    if made.tightening_angle is None:
        return (
            f"All to {snug}.",
            "On with a tool that senses yield (the torque no longer rises with angle), each in one "
            "go, and stop there. Without such a tool choose another row.",
        )
    turn = math.degrees(made.tightening_angle)
    parts = max(1, math.ceil(turn / LARGEST_TURN))
    rounds = "in one go" if parts == 1 else f"in {parts} rounds of {turn / parts:.0f}°"
    return (
        f"All to {snug}, and mark every head or nut.",
        f"Turn each by {turn:.0f}° more, {rounds}, by a protractor and not by feel.",
        "Write down the torque at the end of each turn: one that stands out has a bad thread, a "
        "dry face or has yielded.",
    )


def _afterwards(choice: StudChoice) -> list[str]:
    cold, aged = (choice.states[s].preload.p50 for s in (JointState.COLD_NEW, JointState.COLD_AGED))
    out = [
        "Warm the engine through, let it cool for a night, and tighten again cold where the maker "
        "allows it: loosen one at a time, then to its target. Not for fasteners taken to yield.",
        f"Many heat cycles are estimated to take {max(cold - aged, 0.0) / KN:.0f} kN per fastener "
        "more; check again then.",
    ]
    if choice.plastic:
        out.append("These fasteners are brought to yield: fit new ones each time.")
    elif not choice.holds_aged and choice.holds:
        out.append("It is estimated to hold new but not aged: tightening again is part of it.")
    return out
