"""What the head joint can carry: preload, losses, clamp, load factor, strengths.

Warm-up gain of preload is judged (the lesser of cold and hot holds the head), but not counted as
yield: it stretches the fasteners once, not with each firing. What a fastener is said to bear
(`studs.fastener_loads`) is of the greater of both, what opens the ring of the lesser. Yield and
strip are judged with the ring closed; what a fastener carries after lift (all that is added) is
shown as a number, on the safe side: the other beads are taken to keep their clamp.
"""

from dataclasses import dataclass, replace

import numpy as np

from torquerisk.case import Engine, Notice
from torquerisk.case.sections_joint import SHANK_OVER_THREAD
from torquerisk.errors import InputError
from torquerisk.physics.head_joint import (
    compliance,
    fatigue,
    joint,
    materials,
    preload_loss,
    thermal,
    thread_strip,
    tightening,
)
from torquerisk.physics.head_joint.fastener_count import FastenerCounts, fastener_counts
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
    """The head joint of one cylinder by draw; arrays (N,) in SI unless scalar."""

    thread: ScrewThread
    strength: StrengthClass
    counts: FastenerCounts
    sealing_diameter: Array
    sealing_area: Array
    assembly_preload: Array
    preload: Array
    """Per fastener in the less favourable of both states, cold or hot."""
    preload_cold: Array
    preload_hot: Array
    clamp: Array
    """Of the most lightly clamped cylinder by the tributary count."""
    load_factor: Array
    load_factor_fastener: Array
    """Load factor on the safe side for the fastener: load introduced under its head."""
    ring_share: Array
    line_load: Array
    yield_load: Array
    tensile_load: Array
    to_yield: bool
    """Tightened into yield on purpose: by yield, or by an angle that takes many fasteners there."""
    strip_load: Array
    fatigue_amplitude: float
    fastener_compliance: Array
    member_compliance: Array
    notices: tuple[Notice, ...]

    def clamp_by(self, count: float) -> Array:
        """Clamp (N,) [N] of a cylinder that so many fasteners hold."""
        return self.clamp * (count / self.counts.least)

    def lift_pressure(self, count: float | None = None) -> Array:
        """Cylinder pressure (N,) [Pa] at which the ring is down to its least line load.

        count: fasteners that hold the cylinder, those of the most lightly held one when left out.
        Fasteners tightened to yield stretch once more where firing takes them past the load Y at
        which they yield in service, and keep Y - Phi_f F/N: with that the ring lifts at
        F = (s N Y - q pi D)/((1 - Phi) + s Phi_f). Exact without strain hardening. Source: derived.
        """
        held = self.counts.least if count is None else count
        elastic = joint.lift_pressure(
            self.clamp_by(held),
            load_factor=self.load_factor,
            sealing_diameter=self.sealing_diameter,
            ring_share=self.ring_share,
            least_line_load=self.line_load,
            outside_pressure=0.0,
        )
        if not self.to_yield:
            return elastic
        sealing = self.line_load * np.pi * self.sealing_diameter
        left = self.ring_share * held * self.yield_load - sealing
        force = left / (1 - self.load_factor + self.ring_share * self.load_factor_fastener)
        return np.minimum(elastic, force / self.sealing_area)

    def ring_clamp_left(self, pressure: Array, count: float | None = None) -> Array:
        """Clamp left on the ring [N] at cylinder pressures (..., N) [Pa]; 0 once it is open.

        count, and what fasteners tightened to yield lose: as `lift_pressure`, at which this is the
        least line load times the sealing circle.
        """
        return joint.ring_clamp_left(**self._pressed(pressure, count))

    def ring_line_load(self, pressure: Array, count: float | None = None) -> Array:
        """What is left on the ring by length of the sealing circle [N/m], as `ring_clamp_left`."""
        return joint.ring_line_load(
            **self._pressed(pressure, count), sealing_diameter=self.sealing_diameter
        )

    def _pressed(self, pressure: Array, count: float | None) -> dict[str, Array]:
        """Gas force, the clamp that is left to bear it, and how both share it."""
        held = self.counts.least if count is None else count
        force = pressure * self.sealing_area
        clamp = self.clamp_by(held)
        if self.to_yield:
            kept = held * self.yield_load - self.load_factor_fastener * force
            clamp = np.maximum(np.minimum(clamp, kept), 0.0)
        return {
            "gas_force": force, "clamp": clamp, "load_factor": self.load_factor,
            "ring_share": self.ring_share,
        }  # fmt: skip

    def ring_open_pressure(self) -> Array:
        """Cylinder pressure (N,) [Pa] at which nothing of the clamp is left on the ring."""
        return replace(self, line_load=np.zeros_like(self.line_load)).lift_pressure()

    @property
    def limiting_load(self) -> Array:
        """Load (N,) [N] that a fastener must not reach: at yield, or its breaking load.

        Fasteners tightened to yield are meant to stretch; what that costs in clamp is counted in
        `lift_pressure`, and their own limit is to break.
        """
        return self.tensile_load if self.to_yield else self.yield_load

    def pressure_at_fastener_load(self, load: Array) -> Array:
        """Cylinder pressure (N,) [Pa] at which a fastener carries a load (N,) [N].

        From the cold preload: what warm-up adds is a stretch that happens once, not with each
        firing; fasteners tightened to yield live with it. With the ring closed: what a lifted ring
        adds to the fasteners follows from lifting and is counted there.
        """
        force = joint.gas_force_at_fastener_load(
            load,
            preload_per_fastener=self.preload_cold,
            effective_count=self.counts.least,
            load_factor=self.load_factor_fastener,
        )
        return force / self.sealing_area

    def fatigue_pressure(self) -> Array:
        """Cylinder pressure (N,) [Pa] whose repeated load uses up the fatigue amplitude."""
        swing = 2 * self.fatigue_amplitude * self.thread.stress_area
        lowest = np.minimum(self.preload_cold, self.preload_hot)
        force = joint.gas_force_at_fastener_load(
            lowest + swing,
            preload_per_fastener=lowest,
            effective_count=self.counts.least,
            load_factor=self.load_factor_fastener,
        )
        return force / self.sealing_area


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
    counts: FastenerCounts,
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
        engine, draws, thread, strength, counts, friction,
        head_friction_draws(engine, draws, friction), at_yield, soft + members, usual_give, notices,
    )  # fmt: skip
    return _Tightened(
        friction=friction, yields=yields, soft=soft, members=members, at_yield=at_yield,
        assembly=assembly,
    )  # fmt: skip


def head_capacity(engine: Engine, draws: Draws) -> HeadCapacity:
    """Head joint of an engine for every draw."""
    word = engine.word
    thread = screw_thread(word("head_joint.thread"))
    strength = fastener_strength(engine, thread)
    heads = int(engine.value("heads").value)
    if engine.head_joint.fasteners % heads:
        raise InputError(
            f"head_joint.fasteners is {engine.head_joint.fasteners}, but must divide evenly over "
            f"{heads} heads."
        )
    counts = fastener_counts(engine.head_joint.fasteners // heads, engine.cylinders_per_head)
    notices: list[Notice] = []

    def of(name: str) -> Array:
        return draws.of_value(engine.value(f"head_joint.{name}"))

    middle = middle_draw(spreads.DRAWN)
    soft, members = _compliances(engine, middle, thread)
    usual_give = float(soft[0] + members[0])
    usual = _tighten(engine, middle, thread, strength, counts, usual_give, [])
    made = _tighten(engine, draws, thread, strength, counts, usual_give, notices)
    cold, hot = _in_service(
        engine, draws, made.assembly, made.yields, thread, made.soft, made.members
    )
    worse = np.minimum(cold, hot)
    sealing = np.maximum(of("sealing_diameter"), engine.bore)
    phi = compliance.load_factor(
        fastener_compliance=made.soft,
        member_compliance=made.members,
        introduction_factor=of("load_introduction"),
    )
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
        counts=counts,
        sealing_diameter=sealing,
        sealing_area=joint.sealing_area(sealing),
        assembly_preload=made.assembly,
        preload=worse,
        preload_cold=cold,
        preload_hot=hot,
        clamp=joint.clamp_force(worse, effective_count=counts.least),
        load_factor=phi,
        load_factor_fastener=compliance.load_factor(
            fastener_compliance=made.soft, member_compliance=made.members, introduction_factor=1.0
        ),
        ring_share=of("ring_share"),
        line_load=of("sealing_line_load"),
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
