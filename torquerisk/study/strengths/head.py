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
import numpy.typing as npt

from torquerisk.case import Engine, Notice
from torquerisk.physics.head_joint import (
    fatigue,
    joint,
    tightening,
)
from torquerisk.quantities import Array
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import Draws, middle_draw
from torquerisk.study.strengths.fastener import (
    Fastener,
    compliances,
    fastener_of,
    gasket_compliance,
    lasting_stretch_borne,
    real_yield,
    seats_compliance,
    strip_load,
    thermal_gain,
    weakest_diameter,
    yield_preload,
)
from torquerisk.study.strengths.head_rings import (
    HeldBy,
    HeldRing,
    head_layout,
    head_rings,
    heads_notice,
)
from torquerisk.study.strengths.head_tightening import (
    Untightened,
    assembly_preload,
    far_too_low,
    head_friction_draws,
    tightened_to_yield,
)


@dataclass(frozen=True, kw_only=True, eq=False)
class HeadCapacity:
    """The head joint by draw; arrays (N,) in SI unless scalar."""

    fastener: Fastener
    rings: Mapping[HeldBy, HeldRing]
    sealing_diameter: Array
    sealing_area: Array
    assembly_preload: Array
    stretch: Array
    """How much longer a fastener is once tightened than loose, end to end [m]; to yield what is
    elastic alone."""
    lengthens: Array
    """That per newton while it is elastic [m/N]: less than what it gives in its holes."""
    borne_past_yield: Array
    """Stretch past yield that a fastener bears before it necks [m]."""
    preload: Array
    """Per fastener in the state that is judged: warm, as it runs at full load."""
    preload_cold: Array
    preload_hot: Array
    thermal_gain: Array
    """Preload that warm-up adds before a fastener yields; negative where it takes."""
    gasket_relaxation: Array
    """Share of the preload that the gasket has lost once it has settled."""
    ring_share: Array
    line_load: Array
    """That keeps the ring fully tight [N/m]; below it weeps."""
    lift_line_load: Array
    """At which it lifts [N/m]."""
    assembly_utilisation: Array
    """Stress over yield while tightening, twist included; at most 1 [-]."""
    straight_yield: Array
    """Load at which a fastener yields with no twist left in it."""
    yield_load: Array
    """The same with half of the twist, as in service."""
    tensile_load: Array
    to_yield: bool
    """Tightened into yield on purpose: by yield, or by an angle that takes many fasteners there."""
    strip_load: Array
    fatigue_amplitude: float
    fastener_compliance: Array
    member_compliance: Array
    """Of what a fastener clamps, gasket included."""
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
    def elastic_stretch(self) -> Array:
        """Of `stretch` what springs back (N,) [m]."""
        return self.assembly_preload * self.lengthens

    @property
    def past_yield(self) -> Array:
        """Of `stretch` what is left for good (N,) [m]."""
        return self.stretch - self.elastic_stretch

    @property
    def breaks(self) -> npt.NDArray[np.bool_]:
        """Where tightening alone stretches fasteners further than they bear (N,)."""
        return self.past_yield > self.borne_past_yield

    @property
    def limiting_load(self) -> Array:
        """Load (N,) [N] that a fastener must not reach: at yield, or its breaking load.

        Fasteners that tightening took to yield, on purpose or by little friction, stretch once more
        and then bear as before; what that costs in clamp is counted in `lift_pressure`, and their
        own limit is to break.
        """
        yielded = self.assembly_utilisation > 1 - 1e-6
        return np.where(yielded | self.to_yield, self.tensile_load, self.yield_load)

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

    def breaking_pressure(self) -> Array:
        """Cylinder pressure (N,) [Pa] at `limiting_load`; 0 where tightening breaks fasteners."""
        return np.where(self.breaks, 0.0, self.pressure_at_fastener_load(self.limiting_load))

    def strip_pressure(self) -> Array:
        """Cylinder pressure (N,) [Pa] at which the block's thread strips; 0 where tightening does.

        From the cold preload, as fasteners are: a joint that has run has stood what warm-up adds.
        """
        pressure = self.pressure_at_fastener_load(self.strip_load)
        return np.where(self.assembly_preload < self.strip_load, pressure, 0.0)

    def fatigue_pressure(self) -> Array:
        """Cylinder pressure (N,) [Pa] whose repeated load uses up the fatigue amplitude."""
        swing = 2 * self.fatigue_amplitude * self.fastener.thread_area
        return swing / (self.gain * self.sealing_area)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Tightened:
    """Fasteners in their joint and their preload as tightened (N,). SI."""

    joint: Untightened
    yields: Array
    diameter: Array
    """Of the section that yields first."""
    assembly: Array
    stretch: Array
    give: Array
    """Compliance of a fastener and of the metal that it clamps."""


def _tighten(
    engine: Engine, draws: Draws, fastener: Fastener, middle: Draws, notices: list[Notice]
) -> _Tightened:
    """Friction, compliances and preload after tightening; adds what was assumed to the notices."""
    friction = draws.of_value(engine.value("head_joint.thread_friction"))
    yields = real_yield(fastener.strength, draws)
    diameter = weakest_diameter(engine, draws, fastener)
    soft, metal = compliances(engine, draws, fastener)
    usual_soft, usual_metal = compliances(engine, middle, fastener)
    joint = Untightened(
        fastener=fastener,
        friction=friction,
        head_friction=head_friction_draws(engine, draws, friction),
        at_yield=yield_preload(fastener, strength=yields, friction=friction, diameter=diameter),
        borne=lasting_stretch_borne(engine, draws, fastener),
        soft=soft,
        members=metal + gasket_compliance(engine, draws),
        around=head_layout(engine).around,
        seats=seats_compliance(engine, fastener),
        usual_soft=float(usual_soft[0]),
        usual_members=float((usual_metal + gasket_compliance(engine, middle))[0]),
        relaxation=draws.of_value(engine.value("head_joint.gasket_relaxation")),
    )
    assembly, stretch = assembly_preload(engine, draws, joint, notices)
    return _Tightened(
        joint=joint, yields=yields, diameter=diameter, give=soft + metal,
        assembly=assembly, stretch=stretch,
    )  # fmt: skip


def head_capacity(engine: Engine, draws: Draws) -> HeadCapacity:
    """Head joint of an engine for every draw, judged warm."""
    fastener, middle = fastener_of(engine), middle_draw(spreads.DRAWN)
    notices = list(heads_notice(engine))

    def of(name: str) -> Array:
        return draws.of_value(engine.value(f"head_joint.{name}"))

    usual = _tighten(engine, middle, fastener, middle, [])
    made = _tighten(engine, draws, fastener, middle, notices)
    area, tight = np.pi / 4 * made.diameter**2, of("sealing_line_load")
    gain = thermal_gain(engine, draws, fastener, made.joint.soft, made.joint.members)
    most = made.yields * area
    cold = made.joint.in_service(made.assembly, most=most)
    hot = made.joint.in_service(made.assembly, most=most, thermal_change=gain)
    sealing = np.maximum(of("sealing_diameter"), engine.bore)
    at_yield = usual.joint.at_yield
    notices.extend(far_too_low(engine, float(usual.assembly[0]), float(at_yield[0])))
    to_yield = tightened_to_yield(engine, float(usual.assembly[0]), float(at_yield[0]))
    if to_yield:
        notices.append(
            Notice(
                "tightened-to-yield",
                "The head fasteners are tightened into yield: they are judged on breaking, and the "
                "clamp that one more stretch costs is counted in head clamping.",
            )
        )
    return HeadCapacity(
        fastener=fastener,
        rings=head_rings(engine, draws, made.give),
        sealing_diameter=sealing,
        sealing_area=joint.sealing_area(sealing),
        assembly_preload=made.assembly,
        stretch=made.stretch,
        lengthens=made.joint.lengthens,
        borne_past_yield=made.joint.borne,
        preload=hot,
        preload_cold=cold,
        preload_hot=hot,
        thermal_gain=gain,
        gasket_relaxation=made.joint.relaxation,
        ring_share=of("ring_share"),
        line_load=tight,
        lift_line_load=of("lift_share") * tight,
        assembly_utilisation=_tightening_utilisation(made),
        straight_yield=most,
        yield_load=joint.fastener_load_at_yield(
            thread=fastener.turned,
            yield_strength=made.yields,
            assembly_preload=made.assembly,
            thread_friction=made.joint.friction,
            shank_diameter=made.diameter,
        ),
        tensile_load=fastener.strength.tensile_strength * area * draws.of_model(spreads.STRENGTH),
        to_yield=to_yield,
        strip_load=strip_load(engine, draws, fastener),
        fatigue_amplitude=float(fatigue.amplitude_limit_vdi2230(fastener.thread.nominal_diameter)),
        fastener_compliance=made.joint.soft,
        member_compliance=made.joint.members,
        notices=tuple(notices),
    )


def _tightening_utilisation(made: _Tightened) -> Array:
    """Stress over yield while tightening (N,) [-], which the model cuts at 1."""
    used = tightening.yield_utilisation_tightening(
        made.assembly,
        thread=made.joint.fastener.turned,
        yield_strength=made.yields,
        thread_friction=made.joint.friction,
        shank_diameter=made.diameter,
    )
    return np.minimum(used, 1.0)
