"""Strength of the connecting-rod shank: section, column and fatigue.

Safety note: rods mostly fail at bolts and at the run-outs into the two ends, so a shank that
passes here proves nothing about them. All results are estimates.
"""

from dataclasses import dataclass

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_positive

PINNED = 1.0
"""End-condition constant C of a column pinned at both ends (plane of motion)."""
FIXED_RECOMMENDED = 1.2
"""End-condition constant C recommended for real built-in ends. Source: [SHIGLEY] table 4-2."""


@dataclass(frozen=True, kw_only=True)
class Section:
    """A shank cross-section; `motion` is bending in the plane in which the rod swings."""

    area: Floats
    """[m²]."""
    inertia_motion: Floats
    """Second moment of area for bending in the plane of motion I_xx [m⁴]."""
    inertia_across: Floats
    """Second moment of area for bending along the crankshaft I_yy [m⁴]."""
    depth: Floats
    """Outer size in the plane of motion [m]."""
    width: Floats
    """Outer size along the crankshaft [m]."""
    is_assumed: bool = False
    """True if only the area was given and the proportions are the textbook's."""

    @property
    def radius_motion(self) -> Floats:
        """Radius of gyration in the plane of motion k_xx [m]."""
        return np.sqrt(np.asarray(self.inertia_motion) / self.area)

    @property
    def radius_across(self) -> Floats:
        """Radius of gyration along the crankshaft k_yy [m]."""
        return np.sqrt(np.asarray(self.inertia_across) / self.area)

    @property
    def modulus_motion(self) -> Floats:
        """Section modulus in the plane of motion [m³]."""
        return 2 * np.asarray(self.inertia_motion) / self.depth


def textbook_section(*, area: Floats) -> Section:
    """Return the 5t x 4t I-section with all walls t that has this area, marked as assumed.

    area: of the shank's smallest section A [m²]. t = √(A / 11): A = 11 t², I_xx = 419/12 t⁴,
    I_yy = 131/12 t⁴. A default for when only the area is known: a real rod's radii of gyration
    differ by some ±20 % (common practice, no source). Source: [KMD] ch. 32.
    """
    require_positive("section area", area, "m²")
    t = np.sqrt(np.asarray(area, dtype=float) / 11)
    return Section(
        area=np.asarray(area, dtype=float),
        inertia_motion=419 / 12 * t**4,
        inertia_across=131 / 12 * t**4,
        depth=5 * t,
        width=4 * t,
        is_assumed=True,
    )


def transition_slenderness(
    *, yield_strength: Floats, elastic_modulus: Floats, end_condition: Floats
) -> Floats:
    """Return the slenderness L/k at which Johnson's parabola meets Euler's curve [-].

    yield_strength: S_y [Pa]. elastic_modulus: E [Pa]. end_condition: C [-].
    √(2 π² C E / S_y). Exact. Source: [SHIGLEY] section 4-13.
    """
    require_positive("yield strength", yield_strength, "Pa")
    require_positive("elastic modulus", elastic_modulus, "Pa")
    require("end condition", end_condition, "0.25 to 4", lambda x: (x >= 0.25) & (x <= 4))
    return np.sqrt(2 * np.pi**2 * end_condition * np.asarray(elastic_modulus) / yield_strength)


def johnson_stress(
    *,
    slenderness: Floats,
    yield_strength: Floats,
    elastic_modulus: Floats,
    end_condition: Floats,
) -> Floats:
    """Return the critical mean stress of a short column by Johnson's parabola [Pa].

    slenderness: L/k [-], up to `transition_slenderness`; the rest as there.
    S_y - (S_y L / (2 π k))² / (C E). Fitted to column tests, centric load.
    Raises OutOfRangeError above the transition. Source: [SHIGLEY] eq. 4-43.
    """
    limit = transition_slenderness(
        yield_strength=yield_strength,
        elastic_modulus=elastic_modulus,
        end_condition=end_condition,
    )
    require("slenderness", slenderness, "0 or more", lambda x: x >= 0)
    require(
        "slenderness / transition slenderness",
        np.asarray(slenderness) / limit,
        "1 or less for Johnson's parabola; use critical_column_stress",
        lambda x: x <= 1 + 1e-12,
    )
    bend = np.asarray(yield_strength) * slenderness / (2 * np.pi)
    return yield_strength - bend**2 / (np.asarray(end_condition) * elastic_modulus)


def euler_stress(*, slenderness: Floats, elastic_modulus: Floats, end_condition: Floats) -> Floats:
    """Return the elastic buckling stress of a column by Euler [Pa].

    Arguments as in `johnson_stress`. C π² E / (L/k)². Exact for an elastic column, but it over-
    states short ones. Source: [SHIGLEY] eq. 4-39.
    """
    require_positive("slenderness", slenderness, "")
    require_positive("elastic modulus", elastic_modulus, "Pa")
    return np.asarray(end_condition) * np.pi**2 * elastic_modulus / np.square(slenderness)


def critical_column_stress(
    *,
    slenderness: Floats,
    yield_strength: Floats,
    elastic_modulus: Floats,
    end_condition: Floats,
) -> Floats:
    """Return the critical mean stress: Johnson below the transition, Euler above [Pa].

    Arguments as in `johnson_stress`. Source: [SHIGLEY] sections 4-12 and 4-13.
    """
    require_positive("slenderness", slenderness, "")
    limit = transition_slenderness(
        yield_strength=yield_strength,
        elastic_modulus=elastic_modulus,
        end_condition=end_condition,
    )
    johnson = johnson_stress(
        slenderness=np.minimum(slenderness, limit),
        yield_strength=yield_strength,
        elastic_modulus=elastic_modulus,
        end_condition=end_condition,
    )
    euler = euler_stress(
        slenderness=slenderness, elastic_modulus=elastic_modulus, end_condition=end_condition
    )
    return np.where(np.asarray(slenderness) <= limit, johnson, euler)[()]


@dataclass(frozen=True, kw_only=True)
class ColumnLoad:
    """The largest axial load that the shank carries as a column, in both planes [N]."""

    plane_of_motion: Floats
    across: Floats

    @property
    def governing(self) -> Floats:
        """The smaller of both planes [N]."""
        return np.minimum(self.plane_of_motion, self.across)


def column_load(
    *,
    section: Section,
    rod_length: Floats,
    yield_strength: Floats,
    elastic_modulus: Floats,
    end_condition_across: Floats = FIXED_RECOMMENDED,
) -> ColumnLoad:
    """Return the critical load in the plane of motion (pinned) and along the crankshaft (fixed).

    rod_length: between centres [m]; yield_strength, elastic_modulus [Pa]; end_condition_across:
    C along the crankshaft, FIXED_RECOMMENDED (1.2) by default, FIXED_THEORETICAL (4) in [KMD].
    For compression along the centre line: an off-centre load carries less.
    Source: [SHIGLEY] sections 4-12 and 4-13; [KMD] ch. 32 for the planes.
    """
    require_positive("rod length", rod_length, "m")
    planes = []
    for radius, constant in (
        (section.radius_motion, PINNED),
        (section.radius_across, end_condition_across),
    ):
        stress = critical_column_stress(
            slenderness=np.asarray(rod_length) / radius,
            yield_strength=yield_strength,
            elastic_modulus=elastic_modulus,
            end_condition=constant,
        )
        planes.append(stress * section.area)
    return ColumnLoad(plane_of_motion=planes[0], across=planes[1])


def endured_compression(*, tension: Array, endurance_force: Array, ultimate_force: Array) -> Array:
    """Compression [N] that endless life allows beside a tension in each cycle.

    tension: T [N]; endurance_force: fully reversed fatigue strength times area S_e A [N];
    ultimate_force: S_ut A [N]. Goodman with no credit for a compressive mean:
    (C + T)/2 <= S_e A while C >= T; where tension is the larger,
    (C + T)/(2 S_e A) + (T - C)/(2 S_ut A) <= 1. Source: [SHIGLEY] eq. 6-46.
    """
    compressive = 2 * endurance_force - tension
    slope = 1 / (2 * endurance_force) - 1 / (2 * ultimate_force)
    tensile = (1 - tension * (1 / (2 * endurance_force) + 1 / (2 * ultimate_force))) / slope
    return np.where(compressive >= tension, compressive, tensile)


def finite_life_strength(
    *,
    cycles: Floats,
    fatigue_strength: Floats,
    ultimate_strength: Floats,
    thousand_cycle_share: Floats = 0.82,
) -> Floats:
    """Return the fully reversed stress that a steel part bears for a number of cycles S_f [Pa].

    cycles: N [-]. fatigue_strength: S_e, for endless life [Pa]. ultimate_strength: S_ut [Pa].
    thousand_cycle_share: f, of S_ut that 1,000 cycles allow [-]: 0.86 at 620 MPa, 0.82 at 830,
    0.77 at 1,380. S_f = a N^b with a = (f S_ut)^2 / S_e, b = -log10(f S_ut / S_e) / 3 from 1e3 to
    1e6 cycles, level beyond both ends, never below S_e. Fitted; life scatters by a factor of 3 or
    so. Source: [SHIGLEY] eq. 6-13 to 6-15, figure 6-18.
    """
    require_positive("fatigue strength", fatigue_strength, "Pa")
    require_positive("ultimate strength", ultimate_strength, "Pa")
    require("cycles", cycles, "above 0", lambda x: x > 0)
    start = np.maximum(np.asarray(thousand_cycle_share) * ultimate_strength, fatigue_strength)
    decades = np.clip(np.log10(np.asarray(cycles)) - 3, 0.0, 3.0)
    return start * (np.asarray(fatigue_strength) / start) ** (decades / 3)
