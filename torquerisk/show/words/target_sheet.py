"""The target sheet of a fastening: what to fit, how to tighten it, what to check, who decides."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from torquerisk.case.sentence import Sentence, Torque
from torquerisk.files.text import brief
from torquerisk.quantities import INCH
from torquerisk.show.words.prose import (
    MINUS,
    Units,
    chance_in_words,
    force_in_words,
    force_unit,
    in_units,
    middle_low_high,
    plain,
    torque_in_words,
    torque_unit,
)
from torquerisk.show.words.sealing_ring import left_for_the_sheet
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    SMALL_TORQUE,
    Fastening,
    JointState,
    Order,
    Spread,
    State,
    StudBench,
    StudChoice,
    TighteningMethod,
    set_in_tenths,
)

STEP_SHARES = (0.4, 0.7, 1.0)
"""Steps of torque, as shares of the last (common practice, no source)."""
LARGEST_TURN = 95
"""Turns of more than this are taken in parts, about a quarter each [deg] (common practice, no
source)."""
LEAST_LASTING = 0.01e-3
"""Stretch past yield from which it is told [m]: what a micrometer reads."""
FREE_PITCHES = 2
"""Depth left under a fastener's end, in pitches (common practice, no source)."""
_SEATS = {
    True: "Hardened washers under the nuts",
    False: "Washers, where bolts have them, hardened and their chamfer towards the head radius",
}
STATE_WORDS = {
    State.HOLDS: "estimated to hold",
    State.CLOSE: "too close to call",
    State.EXCEEDS: "not estimated to hold",
}
DECIDES = (
    "The engine maker's and the fastener maker's procedure come first; this sheet is an estimate "
    "for a qualified engine builder, who decides."
)


SIGNED = "Tightened by __________________ with wrench _________________ on ____________"


@dataclass(frozen=True, kw_only=True)
class TargetSheet:
    """Words for one sheet of paper, in its order; torques and forces in both units, rounded."""

    title: str
    verdict: tuple[str, ...]
    """Right under the title: whether it holds, what else gives out first, what is assumed."""
    facts: tuple[tuple[str, str], ...]
    """What to fit and how to tighten it: what and value."""
    order: Order | None
    """Of the fasteners of one head."""
    before: tuple[str, ...]
    """To be answered with yes before anything is tightened."""
    steps: tuple[str, ...]
    afterwards: tuple[str, ...]
    signed: str
    estimates: tuple[tuple[str, str], ...]
    """What it takes and what it is estimated to give: what and value."""
    cautions: tuple[str, ...]
    """Who decides first."""


def target_sheet(bench: StudBench, choice: StudChoice, units: Units = Units.SI) -> TargetSheet:
    """The sheet of one choice of a bench; of both units the chosen one comes first."""
    made = choice.fastening
    what = "Target sheet" if choice.holds or choice.close else "Not a target"
    what = "No procedure" if choice.not_said else what
    return TargetSheet(
        title=f"{what}: {made.name} by {made.method.value}",
        verdict=tuple(_verdict(bench, choice, units)),
        facts=tuple(_facts(choice, units)),
        order=bench.sequence,
        before=tuple(_before(bench, choice)),
        steps=(_in_order(bench.sequence), *_tighten(choice, units)),
        afterwards=tuple(_afterwards(choice, units)),
        signed=SIGNED,
        estimates=tuple(_estimates(bench, choice, units)),
        cautions=(DECIDES, *choice.cautions),
    )


def _verdict(bench: StudBench, choice: StudChoice, units: Units) -> Iterator[str]:
    yield (
        f"{_both_torques(bench.target_torque, units)}: {state_in_words(choice)} at the accepted "
        "chance."
    )
    if not choice.holds:
        held = held_in_words(choice.torque_held, units, other=True)
        yield f"It holds {held}, {middle_in_words(choice, units, other=True)}."
    if bench.other_part is not None:
        yield both(bench.other_part.words, units)
    if choice.not_said:
        yield (
            f"How these fasteners were tightened, {both(choice.fastening.how, units)}, is "
            f"{choice.not_said}. It is what the estimate takes, not a procedure."
        )


def _facts(choice: StudChoice, units: Units) -> list[tuple[str, str]]:
    made, engine = choice.fastening, choice.engine
    return [
        ("engine", brief(engine.name, 160)),
        ("fasteners", f"{engine.head_joint.fasteners} of {made.name}"),
        ("lubricant", made.lubricant.words),
        ("tightening", f"by {made.method.value}: {both(made.how, units)}{_assumed(choice)}"),
        ("washer", f"hardened, {choice.washer_diameter * 1e3:.0f} mm or more outside on "
                   f"{engine.word('head_joint.head_material')}"
                   + ("" if made.stud else "; a bolt's flange as wide does as well")),
    ]  # fmt: skip


def _assumed(choice: StudChoice) -> str:
    return f" ({choice.not_said})" if choice.not_said else ""


def _estimates(bench: StudBench, choice: StudChoice, units: Units) -> list[tuple[str, str]]:
    made, engine = choice.fastening, choice.engine
    draws = bench.assessment.model.draws.count
    ring = answers_of(bench.assessment).ring_at_worst(bench, choice)
    held = "to spare the thread in the block: the fastener could bear more"
    states = {state: both_forces(result.preload, units) for state, result in choice.states.items()}
    measured = engine.has("head_joint.measured_stretch")
    return [
        ("curve", both(bench.ask.curve, units)),
        ("what changes", made.change.words),
        ("machine", choice.cost["machine"]),
        ("buy", choice.cost["buy"]),
        ("fasteners serve", choice.cost["use"]),
        *([("held back", held)] if made.spared else []),
        ("preload when tightened", both_forces(choice.preload, units)
                                   + (", by the measured stretch" if measured else "")),
        ("stretch to check", _stretch(choice)),
        ("clamp new", f"cold {states[JointState.COLD_NEW]}; hot {states[JointState.HOT_NEW]}"),
        ("clamp after 1,000 heat cycles", f"cold {states[JointState.COLD_AGED]}; hot "
                                          f"{states[JointState.HOT_AGED]}"),
        ("needed at the accepted chance",
         f"{_both_force(bench.required_clamp_per_fastener, units)} per fastener in service"),
        ("left on the ring, firing", left_for_the_sheet(ring)),
        ("holds now", held_in_words(choice.torque_held, units, other=True)),
        ("holds after 1,000 heat cycles",
         held_in_words(choice.torque_held_aged, units, other=True)),
        ("lifts", f"new {chance_in_words(choice.lift_chance, draws)}; after 1,000 heat cycles "
                  f"{chance_in_words(choice.lift_chance_aged, draws)}"),
        ("gives way first", choice.first_to_fail.value),
    ]  # fmt: skip


def state_of(choice: StudChoice) -> State:
    """Whether a choice holds the curve asked."""
    if choice.close:
        return State.CLOSE
    return State.HOLDS if choice.holds else State.EXCEEDS


def state_in_words(choice: StudChoice) -> str:
    """The same for people."""
    return STATE_WORDS[state_of(choice)]


def tightened(made: Fastening, units: Units) -> str:
    """How a fastening is tightened, and on what if that is not what the engine file has."""
    oil = f", {made.lubricant.said}" if made.lubricant.said else ""
    return f"{in_units(made.how, units)}{oil}"


def both(text: str, units: Units) -> str:
    """A text whose torques are in the chosen units, each with the other behind it."""
    if not isinstance(text, Sentence):
        return text

    def write(torque: Torque) -> str:
        alone = Sentence(torque)
        return f"{in_units(alone, units)} ({in_units(alone, _other(units))})"

    return text.written(write)


def torque_as_set(torque: float, units: Units) -> str:
    """A torque as it is set on a wrench: to a tenth where it is small and not whole."""
    return torque_in_words(torque, units, int(set_in_tenths(torque)))


def _both_torques(torque: float, units: Units) -> str:
    return f"{torque_as_set(torque, units)} ({torque_as_set(torque, _other(units))})"


def _other(units: Units) -> Units:
    return Units.US if units is Units.SI else Units.SI


def forces(values: Spread, units: Units) -> str:
    """A fastener's force as '57 kN, range 49 to 67'."""
    unit, size = force_unit(units)
    if values.p95 - values.p05 < 1.0:
        return force_in_words(values.p50, units)
    middle, low, high = middle_low_high(*(v / size for v in (values.p05, values.p50, values.p95)))
    return f"{middle} {unit}, range {low} to {high}"


def both_forces(values: Spread, units: Units) -> str:
    """A force with its range, and its middle in the other unit."""
    return f"{forces(values, units)} ({force_in_words(values.p50, _other(units))})"


def _both_force(force: float, units: Units) -> str:
    return f"{force_in_words(force, units)} ({force_in_words(force, _other(units))})"


def _stretch(choice: StudChoice) -> str:
    """How much longer each is, and what that tells once they are brought to yield."""
    values, method = choice.stretch, choice.fastening.method
    told = f"{_length(values.p50)}, range {values.p05 * 1e3:.2f} to {values.p95 * 1e3:.2f},"
    if choice.used_once and method in (TighteningMethod.TORQUE, TighteningMethod.YIELD):
        return f"none: {told} is elastic; past yield it grows with no more clamp and proves nothing"
    told += " longer than loose, if both ends can be reached"
    lasting = float(np.median(choice.head.stretch - choice.head.elastic_stretch))
    if choice.used_once and lasting >= LEAST_LASTING:
        return f"{told}; {lasting * 1e3:.2f} mm is past yield, stays, and says nothing of the clamp"
    return told


def _length(length: float) -> str:
    """A small length in mm and thousandths of an inch."""
    return f"{length * 1e3:.2f} mm ({length / INCH:.3f} in)"


def middle_in_words(choice: StudChoice, units: Units, other: bool = False) -> str:
    """What half of the simulated engines hold."""
    half = "in half of the simulated engines"
    return held_in_words(choice.torque_held_middle, units, other, half)


def held_in_words(
    torque: float, units: Units, other: bool = False, when: str = "at the accepted chance"
) -> str:
    """What torque is held [N*m]. other: with the other unit behind it; when: how surely."""
    if not math.isfinite(torque):
        return f"all that the model covers, {when}"
    if torque <= 0:
        return f"no torque {when}"
    told = _both_torques(torque, units) if other else torque_in_words(torque, units)
    return f"a peak of {told} {when}"


def spare_share(share: float) -> str:
    """Clamp to spare as '+12 %' or '−8 %'."""
    told = plain(100 * share)
    return f"{'' if told.startswith((MINUS, '0')) else '+'}{told} %"


def _before(bench: StudBench, choice: StudChoice) -> list[str]:
    """Checks before tightening (common practice, no source), each answered with yes."""
    made = choice.fastening
    depth = choice.engine.value("head_joint.engagement_length").value * 1e3
    given = bench.assessment.engine.has("head_joint.engagement_length")
    taken = "" if given else " (assumed: measure it)"
    free = FREE_PITCHES * made.thread.pitch * 1e3
    fit = "new" if choice.fitted_new else "new, or clean, straight and no longer than new"
    return [
        "Holes chased, clean and dry to the bottom (oil under a fastener cracks a block), mouths "
        "chamfered, no thread drawn up above the deck.",
        f"{depth:.0f} mm of full thread engaged{taken}, and {free:.0f} mm or more free under the "
        "end: nothing bottoms.",
        "Deck and head flat within 0.05 mm over one bore and 0.10 mm over the length, finish as "
        "the gasket maker asks.",
        "Dowels in place, gasket the right way up and dry unless its maker says otherwise; wire or "
        "ring, if any, seated in its groove.",
        f"Studs {fit}, turned into the block by hand, no torque; nuts run freely by hand."
        if made.stud
        else f"Bolts {fit}.",
        "Sealant on threads that reach water or oil, if any; the stated lubricant on threads and "
        "on the face that turns, nothing else.",
        f"{_SEATS[made.stud]}; wrench checked within a year.",
    ]


def _in_order(order: Order | None) -> str:
    maker = "The maker's order comes first."
    if order is None:
        drawn = "with fasteners_around or fasteners_by_row in the engine file it is drawn"
        return f"From the middle outwards, crosswise ({drawn}). {maker}"
    drawn = "as drawn" if not order.assumed else "as drawn, for the usual places"
    way = "From the middle outwards" if order.cylinders > 1 else "Crosswise"
    return f"{way} {drawn}, the same in every round. {maker}"


def _tighten(choice: StudChoice, units: Units) -> tuple[str, ...]:
    made = choice.fastening
    last, note = _both_torques(made.tightening_torque, units), _assumed(choice)
    if made.method in (TighteningMethod.TORQUE, TighteningMethod.STRETCH):
        step = (1 if made.tightening_torque < SMALL_TORQUE else 5) * torque_unit(units).size
        first = [step * round(share * made.tightening_torque / step) for share in STEP_SHARES[:-1]]
        told = ", then ".join(_both_torques(each, units) for each in first)
        if made.method is TighteningMethod.TORQUE:
            return (
                f"All to {told}, then {last}{note} in one smooth pull each; a click in mid-rest "
                "reads low.",
                "Go round once more at the last torque: any that still turns had settled.",
            )
        assert made.stretch is not None
        return (
            "Measure the free length of each and write it down.",
            f"All to {told}.",
            f"On until each is {_length(made.stretch)} longer than it was loose, at about "
            f"{last}: the stretch decides, not the torque.",
        )
    if made.tightening_angle is None:
        return (
            f"All to {last}{note}.",
            "On with a tool that senses yield (the torque no longer rises with angle), each in one "
            "go, and stop there. Without such a tool choose another row.",
        )
    turn = round(math.degrees(made.tightening_angle))
    parts = turns(turn)
    steps = " and ".join(f"{part}°" for part in parts)
    rounds = "in one go" if len(parts) == 1 else f"in rounds of {steps}"
    shown = [_both_torques(t, units) for t in (choice.last_torque.p05, choice.last_torque.p95)]
    return (
        f"All to {last}, and mark every head or nut.",
        f"Turn each by {turn}° more{note}, {rounds}, by a protractor and not by feel.",
        f"Write down the torque at the end of the last turn, {' to '.join(shown)} by estimate: one "
        "that stands out has a bad thread, a dry face or has yielded.",
    )


def turns(whole: int) -> list[int]:
    """The rounds that an angle [deg] is taken in: even to 5 degrees, the least last."""
    count = math.ceil(whole / LARGEST_TURN)
    part = 5 * math.ceil(whole / count / 5)
    return [part] * (count - 1) + [whole - part * (count - 1)]


def _afterwards(choice: StudChoice, units: Units) -> list[str]:
    cold, aged = (choice.states[s].preload.p50 for s in (JointState.COLD_NEW, JointState.COLD_AGED))
    lost = f"1,000 heat cycles are estimated to take {_both_force(max(cold - aged, 0.0), units)}"
    if choice.plastic:
        return [
            "Never tighten again: past yield a torque or a further angle says nothing of the "
            f"clamp, it only stretches them more. {lost} per fastener for good.",
            "Fit new ones each time the head comes off.",
        ]
    if choice.used_once:
        return [
            "Do not tighten again: any that is past yield would only stretch more.",
            f"{lost} per fastener. Fit new ones each time the head comes off.",
        ]
    out = [
        "Warm the engine through, let it cool for a night, and tighten again cold where the maker "
        "allows it: loosen one at a time, then to its target.",
        f"{lost} per fastener more; check again then.",
    ]
    if not choice.holds_aged and choice.holds:
        out.append("It is estimated to hold new but not aged: tightening again is part of it.")
    return out
