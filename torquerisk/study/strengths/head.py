"""What the head joint can carry: preload, losses, clamp on the rings, strengths.

It is judged warm, as it runs at full load; lifting cold at full load is a notice of its own. What
warm-up adds to the preload is not counted as yield: it stretches the fasteners once, not with each
firing. A ring lifts where its weakest point does; above that, down to what keeps it fully tight, it
weeps, which is no failure. Yield, strip and fatigue are judged with the ring closed; what a
fastener gains after lift is shown as a number.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Engine, Notice
from torquerisk.case.sections_joint import SHANK_OVER_THREAD
from torquerisk.errors import InputError
from torquerisk.physics.head_joint import (
    fatigue,
    joint,
    materials,
    preload_loss,
    thermal,
    thread_strip,
    tightening,
)
from torquerisk.physics.head_joint.head_fastener import head_fastener_compliances
from torquerisk.physics.head_joint.property_class import (
    StrengthClass,
    special_strength,
    strength_class,
)
from torquerisk.physics.head_joint.screw_thread import ScrewThread, screw_thread
from torquerisk.quantities import Array
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import Draws, middle_draw
from torquerisk.study.strengths.head_rings import HeldBy, HeldRing, head_layout, head_rings
from torquerisk.study.strengths.head_tightening import (
    assembly_preload,
    head_friction_draws,
    tightened_to_yield,
)

USUAL_STRENGTH_EXCESS = 1.08
"""Real fasteners over their class minimum: 1.0 to 1.2, see `scatter`."""
FASTENER_EXPANSION = 12.0e-6
"""Mean expansion of alloy-steel fasteners [1/K] (handbook-typical, from memory)."""
FASTENER_MODULUS = 205e9


def shank_diameters(thread: ScrewThread) -> tuple[float, float]:
    """Shank diameters that are modelled, least and most [m]."""
    return 0.6 * thread.minor_diameter, SHANK_OVER_THREAD * thread.nominal_diameter


def clamped_lengths(thread: ScrewThread) -> tuple[float, float]:
    """Clamped lengths whose stiffness is modelled, least and most [m]."""
    return 1.5 * thread.nominal_diameter, 18 * thread.bearing_outer_diameter


def least_engagement(thread: ScrewThread) -> float:
    """Thread engagement whose strength is modelled, at least [m]: two pitches."""
    return 2 * thread.pitch


@dataclass(frozen=True, kw_only=True, eq=False)
class HeadCapacity:
    """The head joint by draw; arrays (N,) in SI unless scalar."""

    thread: ScrewThread
    strength: StrengthClass
    rings: Mapping[HeldBy, HeldRing]
    sealing_diameter: Array
    sealing_area: Array
    assembly_preload: Array
    preload: Array
    """Per fastener in the state that is judged: warm, as it runs at full load."""
    preload_cold: Array
    preload_hot: Array
    ring_share: Array
    line_load: Array
    """That keeps the ring fully tight [N/m]; below it weeps."""
    lift_line_load: Array
    """At which it lifts [N/m]."""
    yield_load: Array
    tensile_load: Array
    to_yield: bool
    """Tightened into yield on purpose: by yield, or by an angle that takes many fasteners there."""
    strip_load: Array
    fatigue_amplitude: float
    fastener_compliance: Array
    member_compliance: Array
    notices: tuple[Notice, ...]

    @property
    def least_clamped(self) -> HeldRing:
        """The kind of ring that the fewest fasteners clamp, at the medians."""
        return min(self.rings.values(), key=lambda ring: float(np.median(ring.fasteners)))

    @property
    def clamp(self) -> Array:
        """Clamp (N,) [N] of the most lightly clamped cylinder, its ring's other beads included."""
        return self.clamp_of(self.least_clamped)

    def clamp_of(self, ring: HeldRing) -> Array:
        """Clamp (N,) [N] of a cylinder in the state judged."""
        return ring.fasteners * self.preload

    @property
    def gain(self) -> Array:
        """What one newton of gas force adds to the most loaded fastener of all (N,) [-]."""
        return np.maximum.reduce([ring.gain for ring in self.rings.values()])

    def lift_pressure(self, kind: HeldBy | None = None) -> Array:
        """Cylinder pressure (N,) [Pa] at which the ring lifts, of the first kind when left out."""
        return self._least_over(kind, self.lift_line_load)

    def weep_pressure(self, kind: HeldBy | None = None) -> Array:
        """Cylinder pressure (N,) [Pa] from which the ring is no longer fully tight."""
        return self._least_over(kind, self.line_load)

    def ring_open_pressure(self, kind: HeldBy | None = None) -> Array:
        """Cylinder pressure (N,) [Pa] at which a point of the ring has nothing left."""
        return self._least_over(kind, np.zeros_like(self.line_load))

    def _least_over(self, kind: HeldBy | None, line_load: Array) -> Array:
        rings = self.rings.values() if kind is None else [self.rings[kind]]
        return np.maximum.reduce([-self._pressure_at(ring, line_load) for ring in rings]) * -1

    def _pressure_at(self, ring: HeldRing, line_load: Array) -> Array:
        """Cylinder pressure (N,) [Pa] at which the first point of a ring is down to a line load.

        A fastener that firing takes past the load Y at which it yields stretches once and keeps
        Y - gain F: then F = (s n Y - q pi D)/(relief + s n gain). Exact without strain hardening.
        Source: [VDI2230] R2, yielding derived.
        """
        held = {
            "sealing_diameter": self.sealing_diameter,
            "ring_share": self.ring_share,
            "least_line_load": line_load,
        }
        elastic = joint.lift_gas_force(ring.holds * self.preload, own_share=ring.relief, **held)
        yielding = ring.relief + self.ring_share * ring.holds * ring.gain
        stretched = joint.lift_gas_force(ring.holds * self.yield_load, own_share=yielding, **held)
        return np.minimum(elastic, stretched).min(axis=0) / self.sealing_area

    def ring_clamp_left(self, pressure: Array, kind: HeldBy) -> Array:
        """Clamp left on the ring [N] at cylinder pressures (..., N) [Pa]; 0 once it is open."""
        ring, force = self.rings[kind], pressure * self.sealing_area
        return joint.ring_clamp_left(
            force,
            clamp=ring.fasteners * self._kept(ring, force),
            own_share=ring.own_share,
            ring_share=self.ring_share,
        )

    def ring_line_load(self, pressure: Array, kind: HeldBy) -> Array:
        """What is left at the ring's weakest point [N/m] at cylinder pressures (..., N) [Pa]."""
        ring, force = self.rings[kind], pressure * self.sealing_area
        kept = self._kept(ring, force)
        left = [
            joint.ring_clamp_left(
                force, clamp=holds * kept, own_share=relief, ring_share=self.ring_share
            )
            for holds, relief in zip(ring.holds, ring.relief, strict=True)
        ]
        return np.minimum.reduce(left) / (np.pi * self.sealing_diameter)

    def _kept(self, ring: HeldRing, force: Array) -> Array:
        """Preload (..., N) [N] that fasteners keep when a gas force has stretched them."""
        return np.clip(self.yield_load - ring.gain * force, 0.0, self.preload)

    def fastener_load(self, pressure: Array, kind: HeldBy, preload: Array) -> Array:
        """Load of the most loaded fastener (..., N) [N] at cylinder pressures (..., N) [Pa].

        preload: at rest (N,) [N]. Firing that has taken it past yield has left it less, and once
        the ring is open it gains more.
        """
        ring, force = self.rings[kind], pressure * self.sealing_area
        return joint.fastener_load(
            force,
            preload_per_fastener=np.clip(self.yield_load - ring.gain * force, 0.0, preload),
            gain=ring.gain,
            gain_open=ring.gain_open,
            opens=np.maximum(self.ring_open_pressure(kind), 0.0) * self.sealing_area,
        )

    def preload_required(self, pressure: Array) -> Array:
        """Preload per fastener (..., N) [N] at which pressures (..., N) [Pa] just lift no ring."""
        force = pressure * self.sealing_area
        needed = [
            joint.preload_required(
                force,
                effective_count=holds,
                own_share=relief,
                sealing_diameter=self.sealing_diameter,
                ring_share=self.ring_share,
                least_line_load=self.lift_line_load,
            )
            for ring in self.rings.values()
            for holds, relief in zip(ring.holds, ring.relief, strict=True)
        ]
        return np.maximum.reduce(needed)

    @property
    def limiting_load(self) -> Array:
        """Load (N,) [N] that a fastener must not reach: at yield, or its breaking load.

        Fasteners tightened to yield are meant to stretch; what that costs in clamp is counted in
        `lift_pressure`, and their own limit is to break.
        """
        return self.tensile_load if self.to_yield else self.yield_load

    def pressure_at_fastener_load(self, load: Array) -> Array:
        """Cylinder pressure (N,) [Pa] at which the most loaded fastener carries a load (N,) [N].

        From the cold preload: what warm-up adds is a stretch that happens once, not with each
        firing; fasteners tightened to yield live with it. With the ring closed: what a lifted ring
        adds to the fasteners follows from lifting and is counted there.
        """
        force = joint.gas_force_at_fastener_load(
            load, preload_per_fastener=self.preload_cold, gain=self.gain
        )
        return force / self.sealing_area

    def fatigue_pressure(self) -> Array:
        """Cylinder pressure (N,) [Pa] whose repeated load uses up the fatigue amplitude."""
        swing = 2 * self.fatigue_amplitude * self.thread.stress_area
        return swing / (self.gain * self.sealing_area)


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
        return special_strength("special", yield_strength=own[0], tensile_strength=own[1])
    usual = strength_class(name, thread.nominal_diameter)
    if own == (None, None):
        return usual
    return special_strength(
        f"{usual.name} with own strength",
        yield_strength=own[0] or usual.yield_strength,
        tensile_strength=own[1] or usual.tensile_strength,
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class _Tightened:
    """Fasteners as tightened, by draw (N,) [SI]."""

    friction: Array
    yields: Array
    soft: Array
    members: Array
    at_yield: Array
    assembly: Array


def _tighten(
    engine: Engine,
    draws: Draws,
    thread: ScrewThread,
    strength: StrengthClass,
    around: float,
    usual_give: float,
    notices: list[Notice],
) -> _Tightened:
    """Friction, compliances and preload after tightening; adds what was assumed to the notices."""
    friction = draws.of_value(engine.value("head_joint.thread_friction"))
    yields = USUAL_STRENGTH_EXCESS * strength.yield_strength * draws.of_model(spreads.STRENGTH)
    soft, members = _compliances(engine, draws, thread)
    at_yield = tightening.preload_at_yield(
        thread=thread, yield_strength=yields, thread_friction=friction
    )
    assembly = assembly_preload(
        engine, draws, thread, strength, around, friction,
        head_friction_draws(engine, draws, friction), at_yield, soft + members, usual_give, notices,
    )  # fmt: skip
    return _Tightened(
        friction=friction, yields=yields, soft=soft, members=members, at_yield=at_yield,
        assembly=assembly,
    )  # fmt: skip


def head_capacity(engine: Engine, draws: Draws) -> HeadCapacity:
    """Head joint of an engine for every draw, judged warm."""
    word = engine.word
    thread = screw_thread(word("head_joint.thread"))
    strength = fastener_strength(engine, thread)
    around = 2 * head_layout(engine).fasteners_in_row
    notices: list[Notice] = []

    def of(name: str) -> Array:
        return draws.of_value(engine.value(f"head_joint.{name}"))

    middle = middle_draw(spreads.DRAWN)
    soft, members = _compliances(engine, middle, thread)
    usual_give = float(soft[0] + members[0])
    usual = _tighten(engine, middle, thread, strength, around, usual_give, [])
    made = _tighten(engine, draws, thread, strength, around, usual_give, notices)
    cold, hot = _in_service(
        engine, draws, made.assembly, made.yields, thread, made.soft, made.members
    )
    sealing = np.maximum(of("sealing_diameter"), engine.bore)
    tight = of("sealing_line_load")
    block = materials.joint_material(word("head_joint.block_material"))
    strip = thread_strip.strip_load_vdi2230(
        np.maximum(of("engagement_length"), least_engagement(thread)),
        thread=thread,
        block_tensile_strength=block.tensile_strength,
        block_shear_ratio=block.shear_ratio,
        stud_tensile_strength=strength.tensile_strength,
    )
    to_yield = tightened_to_yield(engine, float(usual.assembly[0]), float(usual.at_yield[0]))
    if to_yield:
        notices.append(
            Notice(
                "tightened-to-yield",
                "The head fasteners are tightened into yield: they are judged on breaking, and the "
                "clamp that one more stretch costs is counted in head clamping.",
            )
        )
    return HeadCapacity(
        thread=thread,
        strength=strength,
        rings=head_rings(engine, draws, made.soft + made.members),
        sealing_diameter=sealing,
        sealing_area=joint.sealing_area(sealing),
        assembly_preload=made.assembly,
        preload=hot,
        preload_cold=cold,
        preload_hot=hot,
        ring_share=of("ring_share"),
        line_load=tight,
        lift_line_load=of("lift_share") * tight,
        yield_load=joint.fastener_load_at_yield(
            thread=thread,
            yield_strength=made.yields,
            assembly_preload=np.minimum(made.assembly, made.at_yield),
            thread_friction=made.friction,
        ),
        tensile_load=strength.tensile_strength
        * thread.stress_area
        * draws.of_model(spreads.STRENGTH),
        to_yield=to_yield,
        strip_load=strip * draws.of_model(spreads.BLOCK_STRENGTH),
        fatigue_amplitude=float(fatigue.amplitude_limit_vdi2230(thread.nominal_diameter)),
        fastener_compliance=made.soft,
        member_compliance=made.members,
        notices=tuple(notices),
    )


def _compliances(engine: Engine, draws: Draws, thread: ScrewThread) -> tuple[Array, Array]:
    """Compliance of one fastener and of the parts it clamps (N,) [m/N]."""
    grip = draws.of_value(engine.value("head_joint.clamped_length"))
    shank = draws.of_value(engine.value("head_joint.shank_diameter"))
    head = materials.joint_material(engine.word("head_joint.head_material"))
    block = materials.joint_material(engine.word("head_joint.block_material"))
    soft, members = head_fastener_compliances(
        thread=thread,
        clamped_length=np.clip(grip, *clamped_lengths(thread)),
        shank_diameter=np.clip(shank, *shank_diameters(thread)),
        fastener_modulus=FASTENER_MODULUS,
        head_modulus=head.elastic_modulus,
        block_modulus=block.elastic_modulus,
    )
    return soft, members * draws.of_model(spreads.COMPLIANCE)


def _in_service(
    engine: Engine,
    draws: Draws,
    assembly: Array,
    yields: Array,
    thread: ScrewThread,
    soft: Array,
    members: Array,
) -> tuple[Array, Array]:
    """Preload per fastener cold and hot (N,) [N], after embedding and gasket relaxation."""
    grip = draws.of_value(engine.value("head_joint.clamped_length"))
    warm = draws.of_value(engine.value("head_joint.running_temperature"))
    warm = warm - engine.value("head_joint.assembly_temperature").value
    head = materials.joint_material(engine.word("head_joint.head_material"))
    gain = thermal.thermal_preload_change(
        fastener=[
            thermal.ExpandingLayer(
                length=grip, expansion=FASTENER_EXPANSION, temperature_change=warm
            )
        ],
        members=[
            thermal.ExpandingLayer(length=grip, expansion=head.expansion, temperature_change=warm)
        ],
        fastener_compliance=soft,
        member_compliance=members,
    )
    loss = preload_loss.preload_loss_embedding(
        preload_loss.embedding(preload_loss.Roughness.MEDIUM),
        fastener_compliance=soft,
        member_compliance=members,
    )
    relaxation = draws.of_value(engine.value("head_joint.gasket_relaxation"))
    most = yields * thread.stress_area
    kept = {"embedding_loss": loss, "gasket_relaxation": relaxation, "most": most}
    cold = preload_loss.preload_in_service(assembly, **kept)
    hot = preload_loss.preload_in_service(assembly, thermal_change=gain, **kept)
    return cold, hot
