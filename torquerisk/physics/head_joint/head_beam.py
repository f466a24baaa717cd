"""The head as a beam along the engine: rings and fasteners are springs, one cylinder fires.

A head is stiff, so that neighbours bear part of one cylinder's gas force. It is also about as deep
as its bores are apart, so that shear counts: it raises what the firing cylinder's own ring loses by
a tenth to a fifth. The block below is taken as rigid; what its deck and liners give is in the ring.
Across the engine the head is taken as stiff beside its fasteners.
"""

from dataclasses import dataclass

import numpy as np

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.arrays import Array, Floats, require, require_positive
from torquerisk.physics.head_joint.beam_on_springs import SHEAR_CORRECTION, spring_forces

RING_POINTS = 3
_DISC_POINTS = 6
_HAIR = 1e-3
"""How far springs beside a bore stand from its middle, in pitches."""
_POISSON = 0.3
"""Of cast iron and aluminium 0.25 to 0.34. Source: [SHIGLEY] Table A-5, from memory."""


@dataclass(frozen=True, kw_only=True)
class HeadLayout:
    """Where rings and fasteners are along one head."""

    cylinders: int
    pitch: float
    """Between neighbouring bores; rows of fasteners are midway and as far outside the end ones
    [m]."""
    sealing_diameter: float
    """Of the combustion ring [m]."""
    fasteners_in_row: float | tuple[float, ...]
    """Of each row across the head, or the mean of all; there is one more row than cylinders."""
    fasteners_beside: int = 0
    """Beside each bore, midway between its rows."""

    def __post_init__(self) -> None:
        """Refuse what cannot be built."""
        if self.cylinders < 1:
            raise OutOfRangeError("cylinders", self.cylinders, "1 or more")
        require_positive("fasteners_in_row", np.asarray(self.fasteners_in_row), "fasteners")
        require_positive("sealing_diameter", self.sealing_diameter, "m")
        require(
            "pitch", self.pitch, "above the sealing diameter", lambda p: p > self.sealing_diameter
        )

    @property
    def rows(self) -> Array:
        """Places of the rows (n + 1,) [m]."""
        return np.asarray(self.pitch * np.arange(self.cylinders + 1))

    @property
    def in_rows(self) -> Array:
        """Fasteners in each row (n + 1,) [-]."""
        return np.broadcast_to(np.asarray(self.fasteners_in_row, float), (self.cylinders + 1,))

    @property
    def around(self) -> float:
        """Fasteners around one bore, mean of all [-]."""
        rows = self.in_rows
        return float((rows[:-1] + rows[1:]).mean()) + self.fasteners_beside

    @property
    def beside(self) -> tuple[Array, Array]:
        """Places (M,) [m] and fasteners (M,) [-] of those beside the bores: two halves of each.

        They stand a hair to both sides of the middle, so that no two springs share a place.
        """
        if not self.fasteners_beside:
            return np.empty(0), np.empty(0)
        middle = (np.arange(self.cylinders)[:, None] + 0.5) * self.pitch
        places = (middle + np.array([-1.0, 1.0]) * _HAIR * self.pitch).ravel()
        return places, np.full(len(places), self.fasteners_beside / 2)

    @property
    def ring_points(self) -> Array:
        """Places (n, 3) [m] where each ring is taken to stand, a third of its stiffness in each.

        In the middle, where it is furthest from the rows beside it and keeps least, and at 0.866
        of its radius to both sides: these bear any deflection up to the fifth power as the whole
        circle does. Source: Gauss-Chebyshev quadrature.
        """
        side = np.array([-1.0, 0.0, 1.0]) * self.sealing_diameter / 2 * np.sqrt(3) / 2
        return np.asarray((np.arange(self.cylinders)[:, None] + 0.5) * self.pitch + side)

    def disc(self, cylinder: int) -> tuple[Array, Array]:
        """Places (Q,) [m] and shares (Q,) [-] of the gas force, even over the sealed disc.

        Source: Gauss-Chebyshev quadrature of the second kind, exact to degree eleven.
        """
        angle = np.pi * np.arange(1, _DISC_POINTS + 1) / (_DISC_POINTS + 1)
        share = np.sin(angle) ** 2
        middle = (cylinder + 0.5) * self.pitch
        return middle + self.sealing_diameter / 2 * np.cos(angle), share / share.sum()


@dataclass(frozen=True, kw_only=True, eq=False)
class HeadStiffness:
    """How stiff head, rings and fasteners are, by draw (N,)."""

    bending: Array
    """EI [N*m^2]."""
    shear: Array
    """kappa G A [N]."""
    ring: Array
    """One whole ring with what deck and liner give below it [N/m]."""
    fastener: Array
    """One fastener with the parts that it clamps above the chamber's roof [N/m]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Firing:
    """What one newton of gas force in one cylinder does, by draw; all [-] but the opening."""

    cylinder: int
    ring_relief: Array
    """What each ring loses while all are closed (N, n)."""
    point_relief: Array
    """What the firing cylinder's own ring would lose if all of it lost as much as at each of its
    three points (N, 3); their mean is `own_share`."""
    row_gain: Array
    """What each row of fasteners gains while all rings are closed (N, n + 1)."""
    row_gain_open: Array
    """The same once the cylinder's own ring has lifted (N, n + 1)."""
    beside_gain: Array
    """What the fasteners beside each bore gain, two halves each (N, M)."""
    beside_gain_open: Array
    """The same once the cylinder's own ring has lifted (N, M)."""
    opening: Array
    """How far the middle of the ring opens then (N,) [m/N]."""
    layout: HeadLayout

    @property
    def own_share(self) -> Array:
        """Share of the gas force that the cylinder's own ring loses (N,)."""
        return self.ring_relief[:, self.cylinder]

    @property
    def fastener_gain(self) -> Array:
        """What the most loaded fastener gains, all rings closed (N,)."""
        return self._most_loaded(self.row_gain, self.beside_gain)

    @property
    def fastener_gain_open(self) -> Array:
        """What the most loaded fastener gains once the cylinder's own ring has lifted (N,)."""
        return self._most_loaded(self.row_gain_open, self.beside_gain_open)

    def _most_loaded(self, rows: Array, beside: Array) -> Array:
        each = [rows / self.layout.in_rows, beside / self.layout.beside[1]]
        return np.asarray(np.hstack(each).max(axis=1))


def section_stiffness(
    *, elastic_modulus: Floats, width: Floats, height: Floats, share: Floats
) -> tuple[Array, Array]:
    """Return a head's stiffness in bending EI [N*m^2] and in shear kappa G A [N].

    elastic_modulus: E [Pa]; width, height: outer [m]; share: of the solid section's stiffness that
    ports, jacket and bolt holes leave, the same for both [-].
    E b h^3/12 and 5/6 G b h with G = E/2.6. Exact for a solid bar. Source: [TIMOSHENKO].
    """
    require_positive("elastic_modulus", elastic_modulus, "Pa")
    require_positive("width", width, "m")
    require_positive("height", height, "m")
    require_positive("share", share, "[-]")
    area = np.asarray(width, dtype=float) * np.asarray(height)
    modulus = np.asarray(elastic_modulus) * np.asarray(share)
    bending = modulus * area * np.asarray(height) ** 2 / 12
    shear = modulus / (2 * (1 + _POISSON)) * area * SHEAR_CORRECTION
    return np.asarray(bending), np.asarray(shear)


def ring_holds(layout: HeadLayout, stiffness: HeadStiffness) -> Array:
    """Return how many fasteners clamp each ring, at each of its three points (N, n, 3) [-].

    Clamp of the ring over the preload of one fastener, if all of the ring had what the point has;
    the mean over the points is the ring's own. All fasteners are tightened alike, and all clamp is
    taken to reach the rings. A rigid head shares by place, a limp one gives each ring its nearest
    fasteners. Exact within the model. Source: [TIMOSHENKO], derived.
    """
    points = layout.ring_points
    beside, loads = layout.beside
    forces = spring_forces(
        springs=points.ravel(),
        compliances=np.repeat(RING_POINTS / stiffness.ring[:, None], points.size, axis=1),
        load_places=np.append(layout.rows, beside),
        loads=np.append(layout.in_rows, loads)[:, None],
        bending=stiffness.bending,
        shear=stiffness.shear,
    )
    return RING_POINTS * forces[:, :, 0].reshape(-1, *points.shape)


def firings(
    layout: HeadLayout, stiffness: HeadStiffness, cylinders: tuple[int, ...]
) -> tuple[Firing, ...]:
    """Return what a firing does in each of the cylinders, one at a time.

    cylinders: their places from an end of the head, from 0. Linear while the rings stay closed;
    once the firing cylinder's own has lifted it bears nothing more, and the rest stays closed.
    Exact within the model. Source: [TIMOSHENKO], [HETENYI], derived.
    """
    places, loads = _firing_loads(layout, cylinders)
    beside, halves = layout.beside
    springs = np.concatenate([layout.rows, beside, layout.ring_points.ravel()])
    order = np.argsort(springs)
    fasteners = 1 / (np.append(layout.in_rows, halves) * stiffness.fastener[:, None])
    ring = np.repeat(RING_POINTS / stiffness.ring[:, None], layout.ring_points.size, axis=1)
    in_order = spring_forces(
        springs=springs[order],
        compliances=np.hstack([fasteners, ring])[:, order],
        load_places=places,
        loads=loads,
        bending=stiffness.bending,
        shear=stiffness.shear,
    )
    forces = np.empty_like(in_order)
    forces[:, order] = in_order
    each = 1 + RING_POINTS
    return tuple(
        _firing(layout, stiffness, cylinder, forces[:, :, k * each : (k + 1) * each])
        for k, cylinder in enumerate(cylinders)
    )


def _firing_loads(layout: HeadLayout, cylinders: tuple[int, ...]) -> tuple[Array, Array]:
    """Places and loads: for each cylinder its gas, then a unit force at each point of its ring."""
    count = _DISC_POINTS + RING_POINTS
    places = np.empty(count * len(cylinders))
    loads = np.zeros((len(places), (1 + RING_POINTS) * len(cylinders)))
    for k, cylinder in enumerate(cylinders):
        disc, share = layout.disc(cylinder)
        row, column = k * count, k * (1 + RING_POINTS)
        places[row : row + count] = [*disc, *layout.ring_points[cylinder]]
        loads[row : row + _DISC_POINTS, column] = share
        for point in range(RING_POINTS):
            loads[row + _DISC_POINTS + point, column + 1 + point] = 1.0
    return places, loads


def _firing(layout: HeadLayout, stiffness: HeadStiffness, cylinder: int, forces: Array) -> Firing:
    """One cylinder's firing from what its gas and unit forces at its ring ask of the springs.

    forces: (N, springs, 1 + points), of the rows, of fasteners beside the bores, of the rings. A
    lifted ring is one whose spring is cancelled by a force of its own size: lambda = r + R lambda,
    with r its springs' share of the gas and R of the forces.
    """
    count = len(layout.rows) + len(layout.beside[0])
    held = forces[:, :count]
    rings = forces[:, count:].reshape(len(forces), layout.cylinders, RING_POINTS, -1)
    gas, unit = rings[:, cylinder, :, 0], rings[:, cylinder, :, 1:]
    cancel = np.linalg.solve(np.eye(RING_POINTS) - unit, gas[:, :, None])
    opened = held[:, :, 0] + (held[:, :, 1:] @ cancel)[:, :, 0]
    rows = len(layout.rows)
    return Firing(
        cylinder=cylinder,
        ring_relief=rings[:, :, :, 0].sum(axis=2),
        point_relief=RING_POINTS * gas,
        row_gain=held[:, :rows, 0],
        row_gain_open=opened[:, :rows],
        beside_gain=held[:, rows:, 0],
        beside_gain_open=opened[:, rows:],
        opening=cancel[:, :, 0].mean(axis=1) * RING_POINTS / stiffness.ring,
        layout=layout,
    )
