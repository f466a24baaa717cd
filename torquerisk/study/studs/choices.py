"""The fastenings worth judging for a head: threads, strengths, lubricants, ways of tightening."""

import math
from collections.abc import Iterator, Sequence
from typing import Any

from torquerisk.case import Engine
from torquerisk.case.joint_defaults import STUD
from torquerisk.errors import OutOfRangeError
from torquerisk.physics.head_joint.property_class import StrengthClass, strength_class
from torquerisk.physics.head_joint.scatter import TighteningMethod
from torquerisk.physics.head_joint.screw_thread import (
    KNOWN_THREADS,
    ScrewThread,
    larger_for_insert,
    screw_thread,
)
from torquerisk.physics.head_joint.tightening import (
    angle_from_preload,
    preload_at_yield,
    preload_from_torque,
    torque_from_preload,
)
from torquerisk.study.strengths.fastener import (
    Fastener,
    fastener_of,
    weakest_diameter,
    yield_preload,
)
from torquerisk.study.strengths.head import HeadCapacity, head_capacity
from torquerisk.study.strengths.head_tightening import (
    SNUG_YIELD_SHARE,
    USUAL_ANGLE_YIELD_SHARE,
    USUAL_STRETCH_YIELD_SHARE,
)
from torquerisk.study.studs.fastening import MIDDLE, Change, Fastening, present_fastening
from torquerisk.study.studs.lubricants import WIDE, Lubricant

TABLE_YIELD_SHARE = 0.9
"""Share of least yield that printed tightening torques reach at their friction. [VDI2230]."""
OLD_THREAD_LEFT = 0.35
"""A new thread is cut where the old one reaches into no more than this of its height [-].

The coarsest usual tap drill leaves 65 % of the height (common practice, no source).
"""
BLOCK_SHARE = 0.70
"""Share of the block thread's median strip load that is aimed at, warm-up included: firing and
scatter need the rest (common practice, no source)."""
TORQUE_BLOCK_SHARE = 0.65
"""The same by torque, whose preload scatters with friction (common practice, no source): at
BLOCK_SHARE the usual thread strips about as often as is accepted, and the draws would decide."""
EDGE = 1e-9
"""Rounding of a strength [-]."""
SAME_PRELOAD = 0.02
"""Middling preloads that differ by less are the same (stated choice)."""
METRIC_CLASSES = ("10.9", "12.9")
INCH_CLASSES = ("SAE grade 8",)
"""Classes that are fitted instead of weaker ones."""
STUD_STRENGTHS = ((1200e6, 1310e6), (1400e6, 1517e6))
"""Yield and tensile strength of studs as sold in two strengths, 190 and 220 ksi [Pa].

Source: [PRACTICE].
"""
FINE_NUTS = {8: "M8x1", 9: "M9x1", 10: "M10x1.25", 11: "M11x1.25", 12: "M12x1.25", 14: "M14x1.5",
             16: "M16x1.5"}  # fmt: skip
"""Thread under the nut of studs with a coarser one in the block, by size [mm]. [PRACTICE]."""
BOLT_METHODS = (TighteningMethod.TORQUE, TighteningMethod.ANGLE, TighteningMethod.YIELD)
STUD_METHODS = (TighteningMethod.TORQUE, TighteningMethod.ANGLE, TighteningMethod.STRETCH)
METHODS = (*BOLT_METHODS, TighteningMethod.STRETCH)


Section = tuple[Fastener, float]


def largest_torque(
    thread: ScrewThread, strength: StrengthClass, oil: Lubricant, diameter: float | None = None
) -> float:
    """Largest sensible torque [N*m]: the table's, less where the lubricant is not well known.

    diameter: of the section that yields first [m], the thread's when left out. The table's takes
    the middle friction to 90 % of least yield; it is cut where friction two standard deviations
    lower would pass least yield. Source: [VDI2230] section 5.5.2; cut: ours.
    """

    def torque_to(friction: tuple[float, float], share: float) -> float:
        preload = preload_at_yield(
            thread=thread,
            yield_strength=strength.yield_strength,
            thread_friction=friction[0],
            utilisation=share,
            shank_diameter=diameter,
        )
        return float(torque_from_preload(preload, thread, *friction))

    return min(torque_to(oil.at(0.0), TABLE_YIELD_SHARE), torque_to(oil.at(-WIDE), 1.0))


def threads_near(present: ScrewThread, insert: bool = False) -> list[tuple[Change, ScrewThread]]:
    """The present thread, and those one and two sizes up that the old hole allows.

    Metric for metric, inch for inch. A larger thread clears the old one or leaves it
    OLD_THREAD_LEFT of its own height, or else follows it at the same pitch. insert: the hole is
    that of a thread insert, which comes out.
    """
    old = larger_for_insert(present) if insert else present
    metric = present.designation.upper().startswith("M")
    pool = [screw_thread(name) for name in KNOWN_THREADS if name.startswith("M") == metric]
    if metric:
        pool += [screw_thread(f"M{size}") for size in (18, 20, 22, 24)]
    larger = [t for t in pool if t.nominal_diameter > old.nominal_diameter + 1e-6]
    sizes = sorted({round(t.nominal_diameter, 7) for t in larger})[:2]
    near = [t for t in larger if round(t.nominal_diameter, 7) in sizes]
    opened = [(change, t) for t in near if (change := change_of_hole(old, t)) is not None]
    return [(Change.NONE, present), *opened]


def change_of_hole(old: ScrewThread, thread: ScrewThread) -> Change | None:
    """What makes a larger thread of an old one, or None where too much of the old is left."""
    left = old.nominal_diameter - thread.internal_minor_diameter
    height = thread.nominal_diameter - thread.internal_minor_diameter
    if thread.nominal_diameter <= old.nominal_diameter + 1e-6:
        return None
    if left > 0 and abs(thread.pitch - old.pitch) < 1e-9:
        return Change.TAP_OUT
    return Change.DRILL_AND_TAP if left <= OLD_THREAD_LEFT * height else None


def nut_thread(thread: ScrewThread) -> str | None:
    """The fine thread under the nut of a stud with a coarser one in the block, or None."""
    if thread.designation.startswith("M"):
        named = FINE_NUTS.get(round(thread.nominal_diameter * 1e3))
    else:
        size = thread.designation.split("-")[0]
        named = [name for name in KNOWN_THREADS if name.startswith(f"{size}-")][-1]
    if named is None or screw_thread(named).pitch >= thread.pitch - 1e-9:
        return None
    return named


def _own(engine: Engine) -> dict[str, Any]:
    """The engine's own fastener, as the engine file takes it."""
    names = ("property_class", "yield_strength", "tensile_strength")
    return {f"head_joint.{name}": engine.given(f"head_joint.{name}") for name in names}


def _fasteners(engine: Engine, thread: ScrewThread) -> Iterator[dict[str, Any]]:
    """Fasteners for a thread: the engine's own, bolts of the classes, studs of two strengths."""
    now = fastener_of(engine)
    usual = METRIC_CLASSES if thread.designation.upper().startswith("M") else INCH_CLASSES
    special = now.strength.name not in ("8.8", "9.8", "SAE grade 5")
    if thread.designation == now.thread.designation or special:
        yield _own(engine)
    if now.kind != STUD:
        for name in usual:
            try:
                found = strength_class(name, thread.nominal_diameter)
            except OutOfRangeError:
                continue
            if found.name != now.strength.name:
                yield bolt_values(name)
    for yields, breaks in STUD_STRENGTHS:
        yield stud_values(thread, yields, breaks)


def bolt_values(name: str) -> dict[str, Any]:
    """A bolt of a class, as the engine file takes it."""
    return {
        "head_joint.property_class": name,
        "head_joint.yield_strength": None,
        "head_joint.tensile_strength": None,
    }


def stud_values(thread: ScrewThread, yields: float, breaks: float) -> dict[str, Any]:
    """A stud of yield and tensile strength [Pa], as the engine file takes it."""
    return {
        "head_joint.property_class": "special",
        "head_joint.yield_strength": yields,
        "head_joint.tensile_strength": breaks,
        "head_joint.fastener": STUD,
        "head_joint.nut_thread": nut_thread(thread),
        "head_joint.bearing_diameter": None,
        "head_joint.shank_diameter": None,
    }


def fastenings(
    engine: Engine,
    oil: Lubricant,
    others: Sequence[Lubricant] = (),
    at_least: float = 0.0,
    stood: float = 0.0,
) -> Iterator[Fastening]:
    """Every fastening worth judging, the present one apart.

    None is of weaker stuff than the present ones, nor bears less: nobody fits weaker ones.
    oil: on all of them; others: on the present ones too, by torque; at_least: torque of the present
    ones with their own oil [N*m]; stood: preload that the thread in the block has borne [N],
    which proves a torque only where it was a torque's.
    """
    present = present_fastening(engine)
    now, seen = _section(engine), set[Section]()
    insert = engine.given("head_joint.thread_insert") == "true"
    for change, thread in threads_near(now[0].thread, insert):
        for values in _fasteners(engine, thread):
            base = engine_with(engine, thread, values)
            made = _section(base)
            kind = Change.TIGHTENING if made == now else max(change, Change.STRENGTH)
            if made in seen or not _better(made, now, kind):
                continue
            seen.add(made)
            fitted, same = kind is Change.TIGHTENING, kind <= Change.STRENGTH
            joint = head_capacity(base, MIDDLE)
            for method in STUD_METHODS if made[0].kind == STUD else BOLT_METHODS:
                scatters = method is TighteningMethod.TORQUE
                by_torque = fitted and scatters
                proved = same and (not scatters or present.method is TighteningMethod.TORQUE)
                for lubricant in (oil, *(others if by_torque else ())):
                    least = at_least if by_torque and lubricant is oil else 0.0
                    found = fastening(
                        base, change=kind, method=method, oil=lubricant, at_least=least,
                        stood=stood if proved else 0.0, joint=joint,
                    )  # fmt: skip
                    if found is not None and not (fitted and changes_nothing(found, present)):
                        yield found


def _section(engine: Engine) -> Section:
    """The fastener of an engine and the diameter of its weakest section [m]."""
    fastener = fastener_of(engine)
    return fastener, float(weakest_diameter(engine, MIDDLE, fastener)[0])


def _better(made: Section, now: Section, change: Change) -> bool:
    """Whether somebody would fit a fastener instead of the present one."""
    yields, least = (fastener.strength.yield_strength for fastener, _ in (made, now))
    more = yields * made[1] ** 2 / (least * now[1] ** 2) - 1
    return yields >= least * (1 - EDGE) and more > (EDGE if change is Change.STRENGTH else -EDGE)


def changes_nothing(made: Fastening, present: Fastening) -> bool:
    """Whether a fastening is what stands there already: the same, to the same preload."""
    if (made.fastener, made.method) != (present.fastener, present.method):
        return False
    if made.lubricant.frictions != present.lubricant.frictions:
        return False
    one, other = (
        float(head_capacity(f.engine, MIDDLE).assembly_preload[0]) for f in (made, present)
    )
    return abs(one - other) < SAME_PRELOAD * other


def engine_with(engine: Engine, thread: ScrewThread, values: dict[str, Any]) -> Engine:
    """The engine with another thread and fastener; the depth of its holes stays as it is."""
    was = screw_thread(engine.word("head_joint.thread"))
    changes: dict[str, Any] = {
        "head_joint.thread": thread.designation,
        "head_joint.engagement_length": engine.value("head_joint.engagement_length").value,
    }
    if thread.designation != was.designation:
        had_nut = engine.has("head_joint.nut_thread")
        changes["head_joint.nut_thread"] = nut_thread(thread) if had_nut else None
        changes["head_joint.thread_insert"] = None
        changes["head_joint.fastener"] = engine.word("head_joint.fastener")
        for name in ("shank_diameter", "bearing_diameter"):
            size = engine.given(f"head_joint.{name}")
            if size is not None:
                scale = thread.nominal_diameter / was.nominal_diameter
                changes[f"head_joint.{name}"] = size * scale
    return engine.with_values(changes | values)


def fastening(
    engine: Engine,
    *,
    change: Change,
    method: TighteningMethod,
    oil: Lubricant,
    at_least: float = 0.0,
    spare_block: bool = True,
    stood: float = 0.0,
    joint: HeadCapacity | None = None,
) -> Fastening | None:
    """An engine's fasteners tightened by a method with a lubricant; None where no wrench reaches.

    Torque: the largest by `largest_torque`, whole N*m, or at_least [N*m] where that is more. Angle:
    from a snug torque (a quarter of yield, to 5 N*m) to 95 % of least yield, to 5 degrees. Stretch:
    to 85 % of least yield, to 0.01 mm. spare_block: aim none higher than the block's thread bears,
    see BLOCK_SHARE, or than it has stood [N] where that is more. joint: the median joint of this
    engine, where it is known already.
    """
    joint = joint or head_capacity(engine, MIDDLE)
    most = max(_block_bears(joint, method), stood) if spare_block else math.inf
    diameter = float(weakest_diameter(engine, MIDDLE, joint.fastener)[0])
    torque, angle, stretch, spared = _setting(joint, method, oil, diameter, most, at_least)
    allowed = engine.declaration("head_joint.tightening_torque")
    unreached = method is TighteningMethod.ANGLE and angle is None
    if unreached or not allowed.low <= torque <= allowed.high:
        return None
    return Fastening(
        change=change,
        fastener=joint.fastener,
        class_word=engine.word("head_joint.property_class"),
        method=method,
        lubricant=oil,
        tightening_torque=float(torque),
        tightening_angle=angle,
        stretch=stretch,
        spared=spared,
        stood=stood,
        engine=engine.with_values(
            {
                "head_joint.tightening": method.value,
                "head_joint.lubricant": None,
                "head_joint.thread_friction": oil.thread_friction,
                "head_joint.head_friction": oil.head_friction,
                "head_joint.tightening_torque": float(torque),
                "head_joint.tightening_angle": angle,
                "head_joint.tightening_stretch": stretch,
                "head_joint.measured_stretch": None,
            }
        ),
    )


def _setting(
    joint: HeadCapacity,
    method: TighteningMethod,
    oil: Lubricant,
    diameter: float,
    most: float,
    at_least: float,
) -> tuple[float, float | None, float | None, bool]:
    """Torque [N*m], angle [rad], stretch [m] of `fastening`, and whether the block is spared.

    diameter: weakest of the fastener [m]. most: highest preload to aim at [N].
    """
    fastener = joint.fastener
    usual = fastener.strength.yield_strength
    at_yield = float(
        yield_preload(fastener, strength=usual, friction=oil.thread_friction, diameter=diameter)
    )
    aim = at_yield * {
        TighteningMethod.STRETCH: USUAL_STRETCH_YIELD_SHARE,
        TighteningMethod.ANGLE: USUAL_ANGLE_YIELD_SHARE,
    }.get(method, 1.0)
    spared, aim = most < aim, min(aim, most)
    snug = max(5.0 * round(_torque_for(SNUG_YIELD_SHARE * at_yield, fastener, oil) / 5.0), 5.0)
    if method is TighteningMethod.TORQUE:
        full = math.floor(largest_torque(fastener.turned, fastener.strength, oil, diameter))
        torque = min(full, math.floor(_torque_for(aim, fastener, oil)))
        return max(torque, at_least), None, None, full > torque >= at_least
    if method is TighteningMethod.ANGLE:
        return snug, _angle(joint, oil, snug, aim), None, spared
    if method is TighteningMethod.STRETCH:
        stretch = round(aim * float(joint.fastener_compliance[0]) / 1e-5) * 1e-5
        return float(round(_torque_for(aim, fastener, oil))), None, stretch, spared
    return snug, None, None, False


def _torque_for(preload: float, fastener: Fastener, oil: Lubricant) -> float:
    """Torque that gives a preload [N] at middling friction [N*m]."""
    return float(torque_from_preload(preload, fastener.turned, *oil.middle))


def _block_bears(joint: HeadCapacity, method: TighteningMethod) -> float:
    """Preload that the block's thread bears: its share, less what warm-up adds [N]."""
    gain = float(joint.preload_hot[0] - joint.preload_cold[0])
    share = TORQUE_BLOCK_SHARE if method is TighteningMethod.TORQUE else BLOCK_SHARE
    return max(share * float(joint.strip_load[0]) - max(gain, 0.0), 0.0)


def _angle(joint: HeadCapacity, oil: Lubricant, snug: float, aim: float) -> float | None:
    """Turn from snug to a preload [N] for the middling joint, to 5 degrees [rad]; None below 10."""
    start = preload_from_torque(snug, joint.fastener.turned, *oil.middle)
    turn = angle_from_preload(
        max(aim, float(start)),
        thread=joint.fastener.turned,
        snug_preload=start,
        fastener_compliance=joint.fastener_compliance,
        member_compliance=joint.member_compliance,
    )
    degrees = 5 * math.floor(math.degrees(float(turn[0])) / 5 + 0.5)
    return math.radians(degrees) if degrees >= 10 else None
