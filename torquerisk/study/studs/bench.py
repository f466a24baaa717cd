"""Which fasteners, tightened how, hold this torque: cold and hot, new and after heat cycles."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from torquerisk.case import CAUTIONS, Engine, Notice
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.errors import InputError
from torquerisk.quantities import KN, Array
from torquerisk.study.assessment.assess import at_share
from torquerisk.study.assessment.part_ranges import held_joint
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.evidence.rated import RATED, USUAL, makers_notice
from torquerisk.study.limits import place_of
from torquerisk.study.strengths.fastener import weakest_diameter
from torquerisk.study.strengths.head_tightening import TIGHTENED_FAR_TOO_LOW
from torquerisk.study.studs.choices import METHODS, fastenings
from torquerisk.study.studs.fastening import MIDDLE, Fastening, present_fastening
from torquerisk.study.studs.findings import (
    angle_instead,
    findings_of,
    first_sure,
    mildest_of,
    verdict,
    without_yield,
)
from torquerisk.study.studs.joint_draws import fresh_draws
from torquerisk.study.studs.judgement import AGED_RELAXATION, aged_relaxation, judge
from torquerisk.study.studs.lubricants import OilChange, lubricant, oil_changes, own_lubricant
from torquerisk.study.studs.other_part import OtherPart, other_part
from torquerisk.study.studs.results import (
    CLEAN,
    HARD,
    LARGER,
    USED_ONCE,
    Ask,
    Mode,
    StudChoice,
)
from torquerisk.study.studs.sequence import Order, tightening_sequence

HARD_SPEEDS, MORE = 10, 1.3
"""Speeds at which a fastening is judged: those that need the most clamp, at the curve asked or at
so many times its torque [-], for a fastening may hold more than is asked."""
OF_GASKETS = {
    "wire ring": "A wire ring bears more of the clamp and keeps gas out with less line load than "
    "the beads of a layered gasket, but a solid one springs back less, so each firing takes more "
    "of its load: the head lifts off it at less pressure, and what it is fitted for, that gas does "
    "not blow a gasket out that has begun to lift, is not counted here. A hollow o-ring springs "
    "back more: give its [head_joint] ring_stiffness (common practice, no source).",
    "composition": "That gas blows or burns out a gasket of composition at a pressure that does "
    "not lift the head is not modelled: wire and fire rings are fitted against that (common "
    "practice, no source).",
}
"""What the estimate leaves out of a kind of gasket, by kind."""
TO_OIL = ("engine oil", "molybdenum paste")
"""Lubricants that are tried on the present fasteners where they are more slippery."""


@dataclass(frozen=True, kw_only=True, eq=False)
class StudBench:
    """What the head must hold, and the fastenings that do or do not. Arrays (S,), SI."""

    assessment: Assessment
    ask: Ask
    gas_force: Array
    """Median of the highest cylinder pressure of a pull on the sealing area [N]."""
    fasteners: float
    """That clamp the most lightly clamped ring, from the head as a beam, median [-]."""
    present: StudChoice
    """The fasteners as they stand, with all that evidence says of them."""
    choices: tuple[StudChoice, ...]
    """Fastenings to change to, the mildest change first; the present one apart."""
    oils: tuple[OilChange, ...]
    """What changes with the lubricant of the mildest that holds, else of the present fastening."""
    sequence: Order | None
    """In which order the fasteners of one head are tightened; None where no pattern is known."""
    other_part: OtherPart | None
    """What gives out below the curve asked while the head holds more; None where nothing does."""
    findings: tuple[str, ...]
    """The answer in words, most important first."""
    notices: tuple[Notice, ...]
    cautions: tuple[str, ...]

    @property
    def target_torque(self) -> float:
        """Peak of the curve judged [N*m]."""
        return self.ask.target

    @property
    def worst(self) -> int:
        """Index of the speed where the most clamp is needed."""
        return self.ask.worst_speed

    @property
    def worst_speed(self) -> float:
        """Where the most clamp is needed [rad/s]."""
        return float(self.ask.speed[self.worst])

    @property
    def required_clamp_per_fastener(self) -> float:
        """Clamp per fastener, warm in service, at the accepted chance and the worst speed [N]."""
        return float(self.ask.needed[self.worst])

    @property
    def mildest(self) -> StudChoice | None:
        """The mildest that holds new and aged, else new, the present one first; None without."""
        return mildest_of((self.present, *self.choices))

    @property
    def mildest_new(self) -> StudChoice | None:
        """The mildest that holds new, or may, whether or not it lasts; None without."""
        held = [c for c in (self.present, *self.choices) if c.holds or c.close]
        return first_sure(held) if held else None

    @property
    def longest_lasting(self) -> StudChoice | None:
        """Of those that hold aged, the one that lifts least often then; of equals the mildest."""
        held = [c for c in (self.present, *self.choices) if c.holds_aged]
        return min(held, key=lambda c: c.lift_chance_aged, default=None)

    @property
    def without_yield_tool(self) -> StudChoice | None:
        """The mildest that holds and is not tightened to yield."""
        return mildest_of(without_yield((self.present, *self.choices)))


def _oils(present: StudChoice, choices: Sequence[StudChoice]) -> tuple[OilChange, ...]:
    """What changes with the lubricant of the fastening that the sheet is of."""
    made = (mildest_of((present, *choices)) or present).fastening
    diameter = float(weakest_diameter(made.engine, MIDDLE, made.fastener)[0])
    torque = made.tightening_torque
    return oil_changes(present.engine, made.fastener, diameter, torque, made.lubricant)


def _tried(
    engine: Engine, present: StudChoice, name: str | None, accepted: float
) -> Iterator[Fastening]:
    """The fastenings to judge; with no lubricant named, more slippery ones on the present too.

    What the present ones press the block's thread with it has stood, where they do not strip it.
    """
    own = own_lubricant(engine)
    oil = own if name is None else lubricant(engine, name)
    slippery = [
        o for o in (lubricant(engine, n) for n in TO_OIL) if o.thread_friction < own.thread_friction
    ]
    wanting = present.holds or present.first_to_fail is Mode.LIFT
    stays = wanting and name is None and not present.used_once
    at_least = present.fastening.tightening_torque if stays else 0.0
    stood = present.preload.p50 if present.strip_chance <= accepted else 0.0
    return fastenings(engine, oil, () if name else slippery, at_least, stood)


def stud_bench(
    assessment: Assessment,
    target_torque: float | None = None,
    oil: str | None = None,
) -> StudBench:
    """The clamp that a torque curve needs and the fastenings that give it.

    assessment: of the run. target_torque: peak to be held [N*m]; the run's shape is scaled to it,
    its phasing, mixture and temperatures kept; the run itself when left out. oil: lubricant of
    every choice by name; when left out the present one, and on the present fasteners those that let
    a torque clamp more. Raises InputError for a target beyond the model or an unknown lubricant.
    """
    engine, draws = assessment.engine, assessment.model.draws
    ask, now = ask_of(assessment, target_torque), present_fastening(engine)
    present = judge(ask, now, engine, draws)
    learnt = bool(assessment.evidence.used)
    new = new_draws(assessment)
    choices = tuple(
        sorted(
            (judge(ask, m, engine, new) for m in _tried(engine, present, oil, ask.accepted)),
            key=_mildness,
        )
    )
    anew = judge(ask, now, engine, new) if learnt else present
    angle = angle_instead(ask, anew, choices)
    other = other_part(assessment, ask, present, choices)
    return StudBench(
        assessment=assessment,
        ask=ask,
        gas_force=np.median(ask.worst * present.head.sealing_area, axis=1),
        fasteners=float(np.median(present.head.least_clamped.fasteners)),
        present=present,
        choices=choices,
        oils=_oils(present, choices),
        sequence=tightening_sequence(engine),
        other_part=other,
        findings=(
            *_doubts(assessment, present),
            verdict(ask, present),
            *(() if other is None else (other.words,)),
            *findings_of(ask, engine, new, present, choices, angle),
        ),
        notices=(
            *_notices(assessment, ask, learnt, present),
            *_held(present, choices),
        ),
        cautions=(CLEAN, USED_ONCE, LARGER, HARD, *CAUTIONS),
    )


def _doubts(assessment: Assessment, present: StudChoice) -> Iterator[str]:
    """What comes before any verdict: inputs that contradict each other, or are hardly possible."""
    evidence = assessment.evidence
    yield from (str(n.text) for n in present.head.notices if n.code == TIGHTENED_FAR_TOO_LOW)
    if evidence.contradicted:
        check = evidence.strained or "what went in"
        yield (
            f"Too little is known for a verdict to act on: {evidence.contradicted}. First check "
            f"{check}."
        )


def new_draws(assessment: Assessment) -> Draws:
    """The draws for fasteners that are new: what evidence says of the old ones is not theirs."""
    draws = assessment.model.draws
    return fresh_draws(draws, assessment.policy.seed) if assessment.evidence.used else draws


def ask_of(assessment: Assessment, target_torque: float | None) -> Ask:
    """What a curve asks of the head at the chance accepted.

    Raises InputError for a target that is not positive or beyond the loads the model covers.
    """
    loads, accepted = assessment.model.demand, assessment.policy.chance
    peak = float(assessment.torque.max())
    if target_torque is None:
        scale, curve = 1.0, Sentence("the run as measured, peak ", Torque(peak))
    else:
        if not np.isfinite(target_torque) or target_torque <= 0:
            raise InputError(
                Sentence(
                    "target torque is ",
                    Torque(target_torque, "g"),
                    ", but must be above ",
                    Torque(0.0),
                    "; give the peak torque at the crank that is wanted.",
                )
            )
        scale = target_torque / peak
        curve = Sentence(
            f"the run's shape scaled by {scale:.3g} to a peak of ", Torque(target_torque)
        )
    torque = assessment.torque * scale
    edge = loads.torque[..., -1].min(axis=1)
    if target_torque is not None and (torque > edge).any():
        most = float((edge / np.maximum(assessment.torque, 1e-9)).min() * peak)
        raise InputError(
            Sentence(
                "target torque is ",
                Torque(float(torque.max())),
                ", but the model covers this curve only up to a peak of ",
                Torque(most),
                "; check the number and its unit.",
            )
        )
    place = place_of(loads.torque, torque)
    worst = place.load(loads.worst)
    needed, at_more = (
        -at_share(-assessment.model.parts.head.preload_required(pressure), accepted)
        for pressure in (worst, place_of(loads.torque, MORE * torque).load(loads.worst))
    )  # fmt: skip
    hardness = np.maximum(needed / needed.max(), at_more / at_more.max())
    return Ask(
        curve=curve,
        speed=assessment.speed,
        torque=torque,
        loads=loads,
        worst=worst,
        peak=place.read(loads.peak),
        accepted=accepted,
        kept=assessment.evidence.kept,
        needed=needed,
        hard=np.sort(np.argsort(-hardness)[:HARD_SPEEDS]),
    )


def _mildness(choice: StudChoice) -> tuple[float, ...]:
    """Order of choices: what is changed, then size, class, way of tightening, lubricant."""
    made = choice.fastening
    return (
        float(made.change),
        made.thread.nominal_diameter,
        made.strength.yield_strength,
        -made.thread.pitch,
        float(METHODS.index(made.method)),
        -made.lubricant.thread_friction,
    )


def _held(present: StudChoice, choices: Sequence[StudChoice]) -> Iterator[Notice]:
    """Ranges of the joint that bind: of the present fasteners, then of other threads and oils."""
    told = list(held_joint(present.fastening.engine, present.draws))
    yield from told
    seen = {(present.fastening.thread.designation, present.fastening.lubricant.name)}
    for choice in choices:
        made = choice.fastening
        of = made.thread.designation, made.lubricant.name
        if of in seen:
            continue
        seen.add(of)
        oil = f", {made.lubricant.said}" if made.lubricant.said else ""
        for notice in held_joint(made.engine, choice.draws):
            if notice not in told:
                yield Notice(notice.code, f"With {of[0]}{oil}: {notice.text}")


def _relaxed(engine: Engine) -> str:
    """What an aged gasket has relaxed by, in words."""
    stated, aged = engine.value("head_joint.gasket_relaxation").value, aged_relaxation(engine)
    if math.isclose(aged, AGED_RELAXATION * stated, abs_tol=1e-12):
        return f"twice the stated {stated:.0%}"
    return f"held at {aged:.0%}, since twice the stated {stated:.0%} is beyond what is modelled"


def _notices(assessment: Assessment, ask: Ask, learnt: bool, present: StudChoice) -> list[Notice]:
    """Caveats of the bench itself; the assessment's own stand beside them."""
    out = list(present.head.notices)
    if learnt:
        out.append(
            Notice(
                "fasteners-drawn-anew",
                "The evidence was won with the present fasteners. For every change their friction, "
                "tool, strength and shank are drawn anew from their own spreads; what it taught of "
                "ring share, sealing and cylinder pressure is kept. So the present fasteners "
                "tightened anew in the same way can look worse than as they stand: what is known "
                "of them goes when they come out.",
            )
        )
    about = OF_GASKETS.get(assessment.engine.word("head_joint.gasket"))
    if about is not None:
        out.append(Notice("gasket", about))
    if {RATED.name, USUAL.name} & set(assessment.evidence.names):
        out.extend(makers_notice(assessment.engine))
    if not np.allclose(ask.torque, assessment.torque):
        out.append(
            Notice(
                "target-scaled",
                "The target is the run's shape scaled as a whole, judged at the run's own phasing, "
                "mixture and temperatures. A tune that reaches it in another way (earlier "
                "phasing, more boost at one speed) asks for more clamp.",
            )
        )
    out.append(
        Notice(
            "aged-joint",
            "After many heat cycles, about 1,000, means: gasket relaxation "
            f"{_relaxed(assessment.engine)}, and what fasteners could not hold when first hot is "
            "lost (common practice, no source). "
            "Tightening again where the maker allows it gives it back. A present joint that has "
            "been through them already stands between its two rows.",
        )
    )
    warm = float(np.median(present.head.preload_hot - present.head.preload_cold))
    if warm > 0:
        out.append(
            Notice(
                "strip-cold",
                "Strip of the block's thread is judged as in the assessment: by the tightening, "
                f"and by firing on the cold preload. The {warm / KN:.0f} kN that warm-up adds are "
                "not counted, as a joint that has run has stood them; the torques, angles and "
                "stretches advised leave room for them, or press no harder than what stands.",
            )
        )
    out.append(
        Notice(
            "washer-assumed",
            "A hardened washer or flange of twice the thread's diameter is assumed under head or "
            "nut (common practice, no source); each choice names the washer its clamp needs on "
            f"{assessment.engine.word('head_joint.head_material')}.",
        )
    )
    return out
