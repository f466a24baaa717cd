"""Strength of the connecting-rod shank: section, column, whipping and fatigue.

Safety note: rods mostly fail at bolts and at the run-outs into the two ends (see `rod_ends`), so a
shank that passes here proves nothing about them. All results are estimates.
"""

from dataclasses import dataclass

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_between, require_positive

PINNED = 1.0
"""End-condition constant C of a column pinned at both ends (plane of motion)."""
FIXED_RECOMMENDED = 1.2
"""End-condition constant C recommended for real built-in ends. Source: [SHIGLEY] table 4-2."""
_HALVINGS = 40


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
    """Return the 5t x 4t I-section with all walls t that has this area.

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
    )


def secant_stress(
    *,
    slenderness: Floats,
    eccentricity_ratio: Floats,
    yield_strength: Floats,
    elastic_modulus: Floats,
    end_condition: Floats,
) -> Floats:
    """Return the mean stress P/A at which an eccentrically loaded column starts to yield [Pa].

    slenderness: L/k [-]. eccentricity_ratio: e c / k² [-], 0 to 1. yield_strength: S_y,
    elastic_modulus: E [Pa]. end_condition: C [-], 0.25 to 4.
    P/A = S_y / (1 + (e c/k²) sec[(L/k) √(P/(C A E)) / 2]), the root below Euler's
    C π² E / (L/k)², by bisection. Exact for an elastic pinned column (C = 1); C shortens it to
    L/√C. Source: [SHIGLEY] eq. 4-50.
    """
    require_positive("slenderness", slenderness, "")
    require_between("eccentricity ratio", eccentricity_ratio, 0, 1)
    require_positive("yield strength", yield_strength, "Pa")
    require_positive("elastic modulus", elastic_modulus, "Pa")
    require_between("end condition", end_condition, 0.25, 4)
    slender, strength = np.asarray(slenderness), np.asarray(yield_strength)
    euler = np.asarray(end_condition) * np.pi**2 * elastic_modulus / slender**2
    low = np.zeros(np.broadcast_shapes(euler.shape, strength.shape, np.shape(eccentricity_ratio)))
    high = np.minimum(strength, euler) + low
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        bow = 1 / np.cos(np.pi / 2 * np.sqrt(middle / euler))
        yields = middle * (1 + eccentricity_ratio * bow) > strength
        low, high = np.where(yields, low, middle), np.where(yields, middle, high)
    return ((low + high) / 2)[()]


def column_load(
    *,
    section: Section,
    rod_length: Floats,
    eccentricity_ratio: Floats,
    yield_strength: Floats,
    elastic_modulus: Floats,
) -> Floats:
    """Return the axial load at which the shank yields as a column [N], the lesser of both planes.

    rod_length: between centres [m]; eccentricity_ratio: of the load e c / k² [-], the same in both
    planes; yield_strength, elastic_modulus [Pa]. `secant_stress` times area: pinned in the plane of
    motion, along the crankshaft with FIXED_RECOMMENDED, which is 4 in [KMD].
    Source: [SHIGLEY] section 4-14; [KMD] ch. 32 for the planes.
    """
    require_positive("rod length", rod_length, "m")
    motion, across = (
        secant_stress(
            slenderness=np.asarray(rod_length) / radius,
            eccentricity_ratio=eccentricity_ratio,
            yield_strength=yield_strength,
            elastic_modulus=elastic_modulus,
            end_condition=constant,
        )
        for radius, constant in (
            (section.radius_motion, PINNED),
            (section.radius_across, FIXED_RECOMMENDED),
        )
    )
    return np.minimum(motion * section.area, across * section.area)


def whipping_stress(
    *,
    section: Section,
    rod_length: Floats,
    crank_radius: Floats,
    density: Floats,
    angular_speed: Floats,
) -> Floats:
    """Return the bending stress that the shank's own swing puts in it, both signs [Pa].

    rod_length: between centres l, crank_radius: r [m]. density: ρ [kg/m³]. angular_speed: of the
    crank ω [rad/s]. Inertia of a uniform rod rises straight from the small end to ρ A ω² r at the
    big end; M = ρ A ω² r l² / (9 √3) at l/√3 from the small end, σ = M / Z. Exact for crank and rod
    at right angles and a long rod. Source: [KMD] ch. 32.
    """
    for name, value, unit in (
        ("rod length", rod_length, "m"), ("crank radius", crank_radius, "m"),
        ("density", density, "kg/m³"),
    ):  # fmt: skip
        require_positive(name, value, unit)
    require("angular speed", angular_speed, "0 rad/s or more", lambda x: x >= 0)
    per_length = density * np.asarray(section.area) * np.square(angular_speed) * crank_radius
    return per_length * np.square(rod_length) / (9 * np.sqrt(3)) / section.modulus_motion


def pulsating_strength(*, endurance: Floats, ultimate_strength: Floats) -> Floats:
    """Return the highest stress of a pulsating pull from 0 that is endured [Pa].

    endurance: fully reversed S_f [Pa]; ultimate_strength: S_ut [Pa]. σ/(2 S_f) + σ/(2 S_ut) = 1.
    Source: [SHIGLEY] eq. 6-46.
    """
    require_positive("endurance", endurance, "Pa")
    require_positive("ultimate strength", ultimate_strength, "Pa")
    return 2 / (1 / np.asarray(endurance) + 1 / np.asarray(ultimate_strength))


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
