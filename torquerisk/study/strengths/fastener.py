"""One head fastener as it is bought: threads, strength, weakest section, how far it gives."""

from dataclasses import dataclass

import numpy as np

from torquerisk.case import Engine
from torquerisk.case.joint_defaults import FLANGE_BOLT, SHANK_OVER_THREAD, STUD
from torquerisk.errors import InputError
from torquerisk.physics.head_joint import materials, thermal, thread_strip, tightening
from torquerisk.physics.head_joint.compliance import FastenerEnd, end_compliances
from torquerisk.physics.head_joint.head_fastener import (
    FREE_THREAD_DIAMETERS,
    SURROUNDING_FACES,
    head_fastener_compliances,
)
from torquerisk.physics.head_joint.preload_loss import embedding
from torquerisk.physics.head_joint.property_class import (
    StrengthClass,
    special_strength,
    strength_class,
)
from torquerisk.physics.head_joint.screw_thread import (
    ScrewThread,
    screw_thread,
    with_bearing_face,
    with_flange_face,
)
from torquerisk.quantities import MEGA, Array
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import Draws

BEARS = 0.5
"""Of the elongation after fracture what is borne in a joint [-]: the rest is the neck, where it
breaks (stated choice)."""
WAISTED = 0.97
"""Diameter of a waist over that of the thread's stress area, below which the waist alone yields
[-] (stated choice)."""


@dataclass(frozen=True, kw_only=True)
class Fastener:
    """A bolt, or a stud whose thread under the nut may be another than in the block."""

    kind: str
    thread: ScrewThread
    """In the block."""
    turned: ScrewThread
    """That is turned while tightening, with the face under head or nut."""
    strength: StrengthClass
    material: materials.JointMaterial

    @property
    def end(self) -> FastenerEnd:
        """What holds its upper end."""
        return FastenerEnd.NUT if self.kind == STUD else FastenerEnd.HEXAGON_HEAD

    @property
    def thread_diameter(self) -> float:
        """Of the circle with the stress area of its weaker thread [m]."""
        return min(self.thread.stress_diameter, self.turned.stress_diameter)

    @property
    def thread_area(self) -> float:
        """Stress area of its weaker thread [m^2]."""
        return min(self.thread.stress_area, self.turned.stress_area)

    @property
    def embedding(self) -> float:
        """Length lost as its surfaces flatten [m]; a stud has two threads and a washer."""
        stud = self.kind == STUD
        return embedding(threads=1 + stud, inner_interfaces=int(stud))


def fastener_of(engine: Engine) -> Fastener:
    """The head fastener of an engine."""
    thread = screw_thread(engine.word("head_joint.thread"))
    kind = engine.word("head_joint.fastener")
    nut = engine.given("head_joint.nut_thread")
    turned = screw_thread(nut) if nut else thread
    face = engine.given("head_joint.bearing_diameter")
    if face is not None:
        turned = with_bearing_face(turned, face)
    elif kind == FLANGE_BOLT:
        turned = with_flange_face(turned)
    return Fastener(
        kind=kind,
        thread=thread,
        turned=turned,
        strength=fastener_strength(engine, thread),
        material=materials.joint_material(engine.word("head_joint.fastener_material")),
    )


def fastener_strength(engine: Engine, thread: ScrewThread) -> StrengthClass:
    """Strength of the head fasteners: their class, or the own values that override it."""
    name = engine.word("head_joint.property_class")
    own = engine.given("head_joint.yield_strength"), engine.given("head_joint.tensile_strength")
    if name.strip().lower() == "special":
        if own[0] is None or own[1] is None:
            raise InputError(
                "head_joint.property_class is 'special', which needs head_joint.yield_strength and "
                "head_joint.tensile_strength in MPa."
            )
        return special_strength(
            f"{own[0] / 1e6:.0f} MPa", yield_strength=own[0], tensile_strength=own[1]
        )
    usual = strength_class(name, thread.nominal_diameter)
    if own == (None, None):
        return usual
    yields, breaks = own[0] or usual.yield_strength, own[1] or usual.tensile_strength
    if yields > breaks:
        given, other = ("yield", "tensile") if own[1] is None else ("tensile", "yield")
        raise InputError(
            f"head_joint.{given}_strength gives the head fasteners {yields / MEGA:.0f} MPa of "
            f"yield and {breaks / MEGA:.0f} MPa of tensile strength, but they yield before they "
            f"break: the other is class {usual.name}'s own. Give head_joint.{other}_strength too, "
            "or check the number and its unit."
        )
    return special_strength(
        f"{usual.name} with own strength",
        yield_strength=yields,
        tensile_strength=breaks,
        usual_excess=usual.usual_excess if own[0] is None else 1.0,
        elongation=usual.elongation,
    )


def shank_diameters(thread: ScrewThread) -> tuple[float, float]:
    """Shank diameters that are modelled, least and most [m]."""
    return 0.6 * thread.minor_diameter, SHANK_OVER_THREAD * thread.nominal_diameter


def clamped_lengths(thread: ScrewThread) -> tuple[float, float]:
    """Clamped lengths whose stiffness is modelled, least and most [m]."""
    return 1.5 * thread.nominal_diameter, 18 * thread.bearing_outer_diameter


def _shank(engine: Engine, draws: Draws, thread: ScrewThread) -> Array:
    shank = draws.of_value(engine.value("head_joint.shank_diameter"))
    return np.clip(shank, *shank_diameters(thread))


def weakest_diameter(engine: Engine, draws: Draws, fastener: Fastener) -> Array:
    """Diameter of the section that yields first (N,) [m]: of a waist, or of the weaker thread.

    A shank that nobody measured is taken to be no waist.
    """
    most = np.full(draws.count, fastener.thread_diameter)
    if not engine.has("head_joint.shank_diameter"):
        return most
    return np.minimum(_shank(engine, draws, fastener.thread), most)


def lasting_stretch_borne(engine: Engine, draws: Draws, fastener: Fastener) -> Array:
    """Stretch past yield that a fastener bears before it necks (N,) [m].

    `BEARS` of its least elongation after fracture, over the length that yields: of its waist, else
    of its free thread.
    """
    free = FREE_THREAD_DIAMETERS * fastener.thread.nominal_diameter
    waist = weakest_diameter(engine, draws, fastener) < fastener.thread_diameter * WAISTED
    grip = np.clip(_grip(engine, draws), *clamped_lengths(fastener.thread))
    return BEARS * fastener.strength.elongation * np.where(waist, grip - free, free)


def real_yield(strength: StrengthClass, draws: Draws) -> Array:
    """Yield strength of real fasteners (N,) [Pa], never over their tensile strength."""
    return strength.usual_yield * draws.of_model(spreads.STRENGTH)


def yield_preload(
    fastener: Fastener, *, strength: Array | float, friction: Array | float, diameter: Array | float
) -> Array:
    """Preload at which tightening reaches a yield strength [Pa] in a section [m], F_M [N]."""
    return tightening.preload_at_yield(
        thread=fastener.turned,
        yield_strength=strength,
        thread_friction=friction,
        shank_diameter=diameter,
    )


def compliances(engine: Engine, draws: Draws, fastener: Fastener) -> tuple[Array, Array]:
    """Compliance of one fastener and of the parts that it clamps, gasket apart (N,) [m/N]."""
    grip = np.clip(_grip(engine, draws), *clamped_lengths(fastener.thread))
    head = materials.joint_material(engine.word("head_joint.head_material"))
    block = materials.joint_material(engine.word("head_joint.block_material"))
    below = np.minimum(engine.given("head_joint.counterbore_depth") or 0.0, grip) / grip
    soft, members = head_fastener_compliances(
        thread=fastener.thread,
        clamped_length=grip,
        shank_diameter=_shank(engine, draws, fastener.thread),
        fastener_modulus=fastener.material.elastic_modulus,
        head_modulus=1 / ((1 - below) / head.elastic_modulus + below / block.elastic_modulus),
        block_modulus=block.elastic_modulus,
        top=fastener.end,
        top_thread=fastener.turned,
        surrounding_diameter=SURROUNDING_FACES
        * max(fastener.thread.bearing_outer_diameter, fastener.turned.bearing_outer_diameter / 2),
    )
    return soft, members * draws.of_model(spreads.COMPLIANCE)


def seats_compliance(engine: Engine, fastener: Fastener) -> float:
    """Of a fastener's compliance what gives beside it, and makes it no longer [m/N]."""
    block = materials.joint_material(engine.word("head_joint.block_material")).elastic_modulus
    own = fastener.material.elastic_modulus
    ends = (fastener.end, fastener.turned), (FastenerEnd.TAPPED_HOLE, fastener.thread)
    return float(sum(end_compliances(end, thread, own, block)[1] for end, thread in ends))


def _grip(engine: Engine, draws: Draws) -> Array:
    return draws.of_value(engine.value("head_joint.clamped_length"))


def gasket_compliance(engine: Engine, draws: Draws) -> Array:
    """What the gasket gives per newton of each fastener (N,) [m/N].

    The rings bear their share of the clamp: ring share times fasteners a cylinder over the
    stiffness of a ring. Of a gasket that is flat already, as a snug torque leaves it.
    """
    each = engine.head_joint.fasteners / engine.cylinders
    share, ring = (
        draws.of_value(engine.value(f"head_joint.{name}"))
        for name in ("ring_share", "ring_stiffness")
    )
    return share * each / ring


def thermal_gain(
    engine: Engine, draws: Draws, fastener: Fastener, soft: Array, members: Array
) -> Array:
    """Preload that warm-up adds before any fastener yields (N,) [N]; negative where it takes.

    soft, members: compliance of a fastener, and of all it clamps, gasket included [m/N].
    """
    grip = _grip(engine, draws)
    below = np.minimum(engine.given("head_joint.counterbore_depth") or 0.0, grip)
    warm = draws.of_value(engine.value("head_joint.running_temperature"))
    warm = warm - engine.value("head_joint.assembly_temperature").value

    def layer(length: Array, expansion: float) -> thermal.ExpandingLayer:
        return thermal.ExpandingLayer(length=length, expansion=expansion, temperature_change=warm)

    head, block = (
        materials.joint_material(engine.word(f"head_joint.{part}_material")).expansion
        for part in ("head", "block")
    )
    return thermal.thermal_preload_change(
        fastener=[layer(grip, fastener.material.expansion)],
        members=[layer(grip - below, head), layer(below, block)],
        fastener_compliance=soft,
        member_compliance=members,
    )


def least_engagement(thread: ScrewThread) -> float:
    """Thread engagement whose strength is modelled, at least [m]: two pitches."""
    return 2 * thread.pitch


def strip_load(engine: Engine, draws: Draws, fastener: Fastener) -> Array:
    """Load at which a thread in the block, of it, its insert or the fastener, strips (N,) [N]."""
    depth = draws.of_value(engine.value("head_joint.engagement_length"))
    block = materials.joint_material(engine.word("head_joint.block_material"))
    insert = engine.given("head_joint.thread_insert") == "true"
    strip = thread_strip.strip_load_insert if insert else thread_strip.strip_load_vdi2230
    load = strip(
        np.maximum(depth, least_engagement(fastener.thread)),
        thread=fastener.thread,
        block_tensile_strength=block.tensile_strength,
        block_shear_ratio=block.shear_ratio,
        stud_tensile_strength=fastener.strength.tensile_strength,
    )
    return load * draws.of_model(spreads.BLOCK_STRENGTH)
