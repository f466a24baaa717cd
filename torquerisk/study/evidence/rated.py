"""What a rating says: the engine as sold carries it with the margin that makers leave.

A margin is strength over load at the worst speed of the rated curve, in as many pulls as 'survived
many times' stands for; it weights engines and cuts none off. Without a rating and without a curve
that was survived, what engines of its kind are sold with stands in, with the spread of the
textbooks."""

from collections.abc import Iterator

import numpy as np
from scipy.special import ndtr

from torquerisk.case import Engine, Notice
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.physics.cylinder.mean_pressure import bmep_from_torque
from torquerisk.quantities import Array
from torquerisk.study.draws import spreads
from torquerisk.study.evidence.known_curve import (
    EngineKind,
    KnownCurve,
    kind_of,
    rated_curve,
    sold_boosted,
    usual_curve,
)
from torquerisk.study.evidence.piece import Asked, Piece
from torquerisk.study.limits import ALL_LIMITS, Limit, LimitKind, place_of
from torquerisk.study.limits.head import FASTENER_YIELD, HEAD_LIFT
from torquerisk.study.limits.rod import ROD_BOLTS, ROD_CAP, ROD_COLUMN, ROD_EYE, ROD_LIFE
from torquerisk.study.loads.demand import Demand
from torquerisk.study.run.run_on_grid import Prepared
from torquerisk.study.strengths.parts import Parts, parts_of

MARGIN, MARGIN_LOG_SD = 1.6, 0.15
"""Strength over load below which a part of a maker gets less likely, and the log spread by which:
0.4 times as likely at 1.3, a hundredth at 1 (common practice, no source: heads are proven at 1.2 to
1.3 times rated peak pressure, rods and their bolts made with 1.5 to 2). More of one part tells
nothing: parts are shared with stronger versions, or sized by stiffness."""
WEAKEST_TORQUE, WEAKEST_LOG_SD = 1.7, 0.15
"""Multiple of its rated torque that the weakest part of a boosted engine as sold seldom outlasts,
and the log spread by which more gets less likely: 0.6 times at 2, 0.07 times at 2.4 (common
practice, no source: boosted engines give up at about twice their torque, and no maker leaves more
in every part). An engine sold without boost is limited by its air: its parts may have any margin.
"""
LATEST_RATED_CA50, LATEST_RATED_SD = np.radians(28.0), np.radians(4.0)
"""Phasing later than which no maker rates an engine on its own fuel, and its spread (common
practice, no source)."""
JOINT = "head_joint.original"
MAKERS: tuple[tuple[Limit, str], ...] = (
    (HEAD_LIFT, JOINT),
    (FASTENER_YIELD, JOINT),
    (ROD_COLUMN, "running_gear.original_rods"),
    (ROD_LIFE, "running_gear.original_rods"),
    (ROD_EYE, "running_gear.original_rods"),
    (ROD_CAP, "running_gear.original_rods"),
    (ROD_BOLTS, "running_gear.original_rod_bolts"),
)
"""Limits that a maker sizes for the rating, and the input that says whose part it is."""
MAKERS_JOINT: dict[str, str | None] = {
    f"head_joint.{name}": None
    for name in (
        "fastener", "nut_thread", "bearing_diameter", "tightening", "tightening_torque",
        "tightening_angle", "tightening_stretch", "measured_stretch", "lubricant",
        "thread_friction", "head_friction", "yield_strength", "tensile_strength",
        "fastener_material", "shank_diameter", "gasket",
    )
}  # fmt: skip
"""What goes when the head is taken as it was held before its fasteners were changed: usual bolts
tightened by angle, as most since 1990 (common practice, no source). Deck, head and ring stay, so
that the margin which the maker left with those bolts is known of them."""
MAKERS_CLASS = "10.9"
"""Class of the maker's head bolts where nobody says (common practice, no source)."""


def margin_likelihood(margin: Array) -> Array:
    """Likelihood of a margin that a maker left: 1 from MARGIN on, normal in its log below."""
    short = np.log(np.minimum(np.maximum(margin, 1e-6) / MARGIN, 1.0))
    return np.asarray(np.exp(-0.5 * (short / MARGIN_LOG_SD) ** 2))


def weakest_likelihood(multiple: Array) -> Array:
    """Likelihood of the torque that the weakest part carries, over that of the rating."""
    over = np.log(np.maximum(np.maximum(multiple, 1e-6) / WEAKEST_TORQUE, 1.0))
    return np.asarray(np.exp(-0.5 * (over / WEAKEST_LOG_SD) ** 2))


def _of_curve(asked: Asked, curve: KnownCurve, torque: Array, boosted: bool) -> Array:
    """Likelihood of each engine given that it was sold with a curve; torque: (S, 1) or (S, N)."""
    engine = asked.prepared.engine
    loads = curve.loads(asked.draws, torque=(float(np.min(torque)), np.inf))
    wanted = np.broadcast_to(torque, loads.torque.shape[:2])
    likelihood, parts = np.ones(asked.draws.count), _as_held_by_maker(asked)
    for limit, whose in MAKERS:
        if engine.given(whose) == "false" and limit is not HEAD_LIFT:
            continue
        if not limit.missing(engine):
            likelihood *= margin_likelihood(_margin(parts, limit, loads, wanted))
    if boosted and as_sold(engine, but_for=JOINT):
        likelihood *= weakest_of(asked, parts, loads, wanted)
    if not engine.compression_ignition:
        late = place_of(loads.torque, wanted).read(loads.knock_limited_ca50).max(axis=0)
        likelihood *= ndtr((LATEST_RATED_CA50 - late) / LATEST_RATED_SD)
    return likelihood


def _as_held_by_maker(asked: Asked) -> Parts:
    """Parts of the same engines with the head held as its maker did."""
    engine = asked.prepared.engine
    if engine.given(JOINT) != "false":
        return asked.parts
    return parts_of(engine.with_values(makers_joint(engine)), asked.draws)


def makers_joint(engine: Engine) -> dict[str, str | None]:
    """Values of an engine whose head is held as its maker did: what is told of it, else usual."""
    joint = engine.head_joint
    return MAKERS_JOINT | {
        JOINT: None,
        "head_joint.original_thread": None,
        "head_joint.original_class": None,
        "head_joint.thread": joint.original_thread or joint.thread,
        "head_joint.property_class": joint.original_class or MAKERS_CLASS,
    }


def makers_fasteners(engine: Engine) -> str:
    """The maker's head fasteners in words, with what of them is assumed and how to say it."""
    taken = makers_joint(engine)
    keys = {
        "original_thread": f"{taken['head_joint.thread']} bolts",
        "original_class": f"class {taken['head_joint.property_class']}",
    }
    missing = [key for key in keys if getattr(engine.head_joint, key) is None]
    asks = f" (assumed: give [head_joint] {' and '.join(missing)})" if missing else ""
    return f"{' of '.join(keys.values())}{asks}"


def makers_notice(engine: Engine) -> Iterator[Notice]:
    """Asks for the maker's own fasteners where others are fitted and they had to be assumed."""
    joint = engine.head_joint
    if joint.original == "false" and not (joint.original_thread and joint.original_class):
        yield Notice(
            "makers-fasteners-assumed",
            f"How much clamp this head needs is learnt from what its maker held it with: "
            f"{makers_fasteners(engine)}. A thread one size thicker can ask for a fifth more.",
        )


def weakest_of(asked: Asked, parts: Parts, loads: Demand, torque: Array) -> Array:
    """Likelihood (N,) of the weakest part of a boosted engine as sold, at its curve (S, 1 or N)."""
    return weakest_likelihood(_multiple(asked, parts, loads, torque))


def as_sold(engine: Engine, but_for: str | None = None) -> bool:
    """True where no part is said not to be the maker's. but_for: the input of one left aside."""
    return all(engine.given(whose) != "false" for _, whose in MAKERS if whose != but_for)


def is_boosted(prepared: Prepared, curve: KnownCurve) -> bool:
    """True where the engine is said to be sold with boost, or could not make a curve without."""
    engine = prepared.engine
    bmep = bmep_from_torque(float(curve.torque.max()), engine.swept_volume_total)
    return sold_boosted(engine, bmep)


def _margin(parts: Parts, limit: Limit, loads: Demand, torque: Array) -> Array:
    """Least strength over load (N,) of a limit at torques (S, N)."""
    load = place_of(loads.torque, torque).load(limit.load(loads, parts))
    strength = limit.strength(loads, parts)
    return np.asarray((strength / np.maximum(load, 1e-9)).min(axis=0))


def _multiple(asked: Asked, parts: Parts, loads: Demand, torque: Array) -> Array:
    """Least torque (N,) that any limit of strength carries, over torques (S, N)."""
    carried = [
        limit.capacity(loads, parts)
        for limit in ALL_LIMITS
        if limit.kind is LimitKind.STRENGTH and not limit.missing(asked.prepared.engine)
    ]
    least = np.clip(np.min(carried, axis=0), 0.0, loads.torque[..., -1])
    return np.asarray((least / torque).min(axis=0))


def _rated(asked: Asked) -> Array:
    curve = rated_curve(asked.prepared, to_limiter=True)
    return _of_curve(asked, curve, curve.torque[:, None], is_boosted(asked.prepared, curve))


def _rated_words(prepared: Prepared) -> str:
    curve = rated_curve(prepared)
    points = prepared.engine.rated.points
    assert points is not None
    return Sentence(
        "the data sheet's ",
        Torque(points[0]),
        f" and {points[2] / 1e3:.0f} kW on {curve.blend}: parts as sold carry that "
        f"with the margin that makers leave, seldom under 1.2 and mostly over {MARGIN:g} times "
        f"(common practice, no source); {_whose(prepared)}{curve.shared.words}",
    )


def _whose(prepared: Prepared) -> str:
    def other(name: str) -> bool:
        return bool(prepared.engine.given(name) == "false")

    gear = [
        words
        for words, name in (
            ("rods", "running_gear.original_rods"),
            ("rod bolts", "running_gear.original_rod_bolts"),
        )
        if other(name)
    ]
    told = [f"{' and '.join(gear)} not the maker's, so without it"] if gear else []
    if other(JOINT):
        told.append(
            "head fasteners not the maker's, so the head joint as with "
            f"{makers_fasteners(prepared.engine)}"
        )
    return "".join(f"{words}; " for words in told)


def _kind(prepared: Prepared) -> EngineKind:
    return kind_of(prepared.engine, prepared.torque, prepared.state)


def _usual(asked: Asked) -> Array:
    curve, kind = usual_curve(asked.prepared), _kind(asked.prepared)
    z = asked.draws.deviates[spreads.CLASS_RATING.name]
    torque = curve.torque[:, None] * np.exp(kind.log_sd * z)
    return _of_curve(asked, curve, torque, kind.boosted)


def _usual_words(prepared: Prepared) -> str:
    kind = _kind(prepared)
    low, high = (kind.mean_pressure * np.exp(x * 1.645 * kind.log_sd) / 1e5 for x in (-1, 1))
    return (
        f"what {kind.name} is sold with, {low:.0f} to {high:.0f} bar of brake mean effective "
        f"pressure, carried with the margin that makers leave; {_whose(prepared)}a weak stand-in "
        "for a data sheet"
    )


def stands_in(engine: Engine) -> bool:
    """Without a rating, unless no part of it is the maker's.

    A survived curve does not replace it: that says what the parts carry, not what they were made
    for, and who says more must not be told that less is known.
    """
    return engine.rated.points is None and any(
        engine.given(whose) != "false" for _, whose in MAKERS
    )


RATED = Piece(
    name="rated",
    applies=lambda prepared: prepared.engine.rated.points is not None,
    likelihood=_rated,
    words=_rated_words,
    check=lambda prepared: "the data sheet's torque, power and speeds, whose parts are fitted",
)
USUAL = Piece(
    name="usual",
    applies=lambda prepared: stands_in(prepared.engine),
    likelihood=_usual,
    words=_usual_words,
    check=lambda prepared: "bore, stroke, cylinders, fasteners and tightening",
)
