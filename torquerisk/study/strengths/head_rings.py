"""What clamps each combustion ring and what one firing takes from it, by kind of cylinder."""

import enum
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from torquerisk.case import Engine, Notice
from torquerisk.case.joint_defaults import may_have_two_heads
from torquerisk.errors import InputError
from torquerisk.physics.head_joint import materials
from torquerisk.physics.head_joint.fastener_rows import (
    fasteners_by_row,
    fasteners_in_row,
    fasteners_where,
)
from torquerisk.physics.head_joint.head_beam import (
    Firing,
    HeadLayout,
    HeadStiffness,
    firings,
    ring_holds,
    section_stiffness,
)
from torquerisk.quantities import Array
from torquerisk.study.draws.simulated_engines import Draws

SOLID_WIDTH = 1.8
"""Width of the solid bar that a head's stiffness is told over, in bores."""
FLATTENING = 0.2
"""Stiffness of a bead while it is flattened over that when it is relieved [-].

Tightening presses an embossed bead flat for good, 0.2 mm for 200 N/mm: 1 kN/mm for each mm against
4 to 8 when it springs back. So the clamp spreads more evenly than what a firing takes (common
practice, no source).
"""
HEADS_ASSUMED = "heads-assumed"
"""Code of the notice that asks for them."""
LEAST_HOLD = 0.01
"""Fasteners that clamp any point of a ring, at least: beyond that a head bends off its ring [-]."""
LEAST_RELIEF = 0.01
"""Share of the gas force that any point of the firing ring loses, at least [-]: no lift pressure
beyond all use."""


class HeldBy(enum.Enum):
    """A kind of cylinder, by where it is in its head."""

    INNER = "inner"
    """Between two others; the one with the fewest fasteners stands for all."""
    END = "end"
    """At an end of the head, or alone."""


@dataclass(frozen=True, kw_only=True, eq=False)
class HeldRing:
    """The ring of one kind of cylinder by draw: at its three points (3, N), or as a whole (N,)."""

    cylinders: int
    """Of this kind in one head."""
    holds: Array
    """Clamp over the preload of one fastener, if all of the ring had what the point has [-]."""
    relief: Array
    """What is lost of the gas force, if all of the ring lost what the point loses [-]."""
    gain: Array
    """What the most loaded fastener gains of the gas force while the ring is closed [-]."""
    gain_open: Array
    """The same once the ring has lifted [-]."""
    opening: Array
    """How far the ring opens then [m/N]."""

    @property
    def fasteners(self) -> Array:
        """How many fasteners clamp the ring (N,) [-]: neither whole nor all of those around it."""
        return np.asarray(self.holds.mean(axis=0))

    @property
    def own_share(self) -> Array:
        """Share of its cylinder's gas force that the ring loses (N,) [-]."""
        return np.asarray(self.relief.mean(axis=0))


def fasteners_of_head(engine: Engine) -> int:
    """Fasteners of one head."""
    heads = int(engine.value("heads").value)
    if engine.head_joint.fasteners % heads:
        raise InputError(
            f"head_joint.fasteners is {engine.head_joint.fasteners}, but must divide evenly over "
            f"{heads} heads."
        )
    return engine.head_joint.fasteners // heads


def fasteners_given(engine: Engine) -> tuple[tuple[float, ...], int] | None:
    """How many stand in each row and beside each bore, as given; None where nobody says."""
    by_row = engine.given("head_joint.fasteners_by_row")
    around = engine.given("head_joint.fasteners_around")
    fasteners, cylinders = fasteners_of_head(engine), engine.cylinders_per_head
    if by_row is not None:
        return fasteners_by_row(str(by_row), fasteners, cylinders)
    return None if around is None else fasteners_where(fasteners, cylinders, int(around))


def head_layout(engine: Engine) -> HeadLayout:
    """Where rings and fasteners are along one head of an engine."""
    sealing, pitch = (
        engine.value(f"head_joint.{name}") for name in ("sealing_diameter", "bore_pitch")
    )
    if pitch.value <= sealing.value:
        raise InputError(
            f"head_joint.bore_pitch is {pitch.value * 1e3:.4g} mm, but neighbouring rings of "
            f"{sealing.value * 1e3:.4g} mm sealing diameter need more; check both."
        )
    cylinders = engine.cylinders_per_head
    alike = fasteners_in_row(fasteners_of_head(engine), cylinders)
    rows, beside = fasteners_given(engine) or (alike, 0)
    return HeadLayout(
        cylinders=cylinders,
        pitch=pitch.value,
        sealing_diameter=sealing.value,
        fasteners_in_row=rows,
        fasteners_beside=beside,
    )


def heads_notice(engine: Engine) -> Iterator[Notice]:
    """Asks how many heads there are, from six cylinders on: under two fewer hold a ring."""
    taken = heads_taken(engine)
    if not taken:
        return
    fasteners, half = engine.head_joint.fasteners, engine.cylinders // 2
    one = fasteners / (engine.cylinders + 1)
    two = fasteners / 2 / (half + 1)
    yield Notice(
        HEADS_ASSUMED,
        f"How many cylinder heads there are is not given: {taken}. Under two heads {two:.3g} "
        f"fasteners stand in a row, under one {one:.3g}, and the clamp goes with them: give heads "
        "= 2 for a vee or boxer engine, heads = 1 for one in line.",
    )


def heads_taken(engine: Engine) -> str:
    """How many heads are taken where an engine may well have two and nobody says; else ''."""
    if not may_have_two_heads(engine):
        return ""
    if engine.value("heads").value > 1:
        return "two are taken, which hold less than one"
    return "one is taken, as its count of fasteners goes with an engine in line"


def head_rings(engine: Engine, draws: Draws, fastener_give: Array) -> Mapping[HeldBy, HeldRing]:
    """Rings of inner and end cylinders by draw; inner ones where a head has any.

    fastener_give: compliance of one fastener and of the parts it clamps (N,) [m/N].
    """
    layout = head_layout(engine)
    stiffness = _stiffness(engine, draws, fastener_give)
    holds = ring_holds(layout, replace(stiffness, ring=FLATTENING * stiffness.ring))
    kinds = _least_held(layout, holds)
    fired = firings(layout, stiffness, tuple(kinds.values()))
    number = {HeldBy.INNER: layout.cylinders - 2, HeldBy.END: min(layout.cylinders, 2)}
    return {
        kind: _ring(firing, holds[:, firing.cylinder], number[kind])
        for kind, firing in zip(kinds, fired, strict=True)
    }


def _least_held(layout: HeadLayout, holds: Array) -> dict[HeldBy, int]:
    """The cylinder of each kind with the fewest fasteners in the rows beside it.

    Among equals that nearest the middle, then the one that they clamp least. holds: (N, n, 3).
    """
    n, rows = layout.cylinders, layout.in_rows
    places = {HeldBy.INNER: range(1, n - 1), HeldBy.END: (0, n - 1)}
    clamped = np.median(holds.mean(axis=2), axis=0).round(6)

    def held(cylinder: int) -> tuple[float, float, float]:
        beside = rows[cylinder] + rows[cylinder + 1]
        return beside, abs(cylinder - (n - 1) / 2), clamped[cylinder]

    return {kind: min(where, key=held) for kind, where in places.items() if where}


def _stiffness(engine: Engine, draws: Draws, fastener_give: Array) -> HeadStiffness:
    def of(name: str) -> Array:
        return draws.of_value(engine.value(f"head_joint.{name}"))

    material = materials.joint_material(engine.word("head_joint.head_material"))
    bending, shear = section_stiffness(
        elastic_modulus=material.elastic_modulus,
        width=SOLID_WIDTH * engine.bore,
        height=of("head_height"),
        share=of("head_section_share"),
    )
    return HeadStiffness(
        bending=bending, shear=shear, ring=of("ring_stiffness"), fastener=1 / fastener_give
    )


def _ring(firing: Firing, holds: Array, cylinders: int) -> HeldRing:
    return HeldRing(
        cylinders=cylinders,
        holds=np.maximum(holds.T, LEAST_HOLD),
        relief=np.maximum(firing.point_relief.T, LEAST_RELIEF),
        gain=firing.fastener_gain,
        gain_open=firing.fastener_gain_open,
        opening=firing.opening,
    )
