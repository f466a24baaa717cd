"""The fastenings worth judging for a head: threads, strengths, lubricants, ways of tightening."""

from collections.abc import Iterator, Sequence
from typing import Any

from torquerisk.case import Engine
from torquerisk.case.joint_defaults import STUD
from torquerisk.errors import OutOfRangeError
from torquerisk.physics.head_joint.property_class import strength_class
from torquerisk.physics.head_joint.scatter import TighteningMethod
from torquerisk.physics.head_joint.screw_thread import (
    KNOWN_THREADS,
    ScrewThread,
    larger_for_insert,
    screw_thread,
)
from torquerisk.study.strengths.fastener import (
    Fastener,
    fastener_of,
    weakest_diameter,
)
from torquerisk.study.strengths.head import head_capacity
from torquerisk.study.studs.fastening import MIDDLE, Change, Fastening, present_fastening
from torquerisk.study.studs.how_far import fastening
from torquerisk.study.studs.lubricants import Lubricant

OLD_THREAD_LEFT = 0.35
"""A new thread is cut where the old one reaches into no more than this of its height [-].

The coarsest usual tap drill leaves 65 % of the height (common practice, no source).
"""
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
