"""Strength of the connecting-rod shank: section, column, fatigue and whipping.

Safety note: rods mostly fail at bolts and at the run-outs into the two ends, so a shank that
passes here proves nothing about them. All results are estimates.
"""

from dataclasses import dataclass
from enum import Enum

import numpy as np

from torquerisk.physics.arrays import Floats, require, require_positive

PINNED = 1.0
"""End-condition constant C of a column pinned at both ends (plane of motion)."""
FIXED_THEORETICAL = 4.0
"""End-condition constant C of a column built in at both ends, as [KMD] takes it for a rod."""
FIXED_RECOMMENDED = 1.2
"""End-condition constant C recommended for real built-in ends. Source: [SHIGLEY] table 4-2."""

RANKINE_STEEL = 1 / 7500
"""Rankine constant a of steel. Source: [KMD] ch. 32."""


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


def i_section(*, depth: Floats, width: Floats, web: Floats, flange: Floats) -> Section:
    """Return the properties of a sharp-cornered I-section.

    depth: over both flanges, in the plane of motion H [m]. width: of the flanges, along the
    crankshaft B [m]. web: its thickness [m]. flange: its thickness [m].
    Exact without fillets. Source: [KMD] ch. 32.
    """
    for name, value in (("depth", depth), ("width", width), ("web", web), ("flange", flange)):
        require_positive(name, value, "m")
    require("web / width", np.asarray(web) / width, "1 or less", lambda x: x <= 1)
    require("2 flange / depth", 2 * np.asarray(flange) / depth, "below 1", lambda x: x < 1)
    h, b = np.asarray(depth, dtype=float), np.asarray(width, dtype=float)
    inner = h - 2 * np.asarray(flange)
    return Section(
        area=b * h - (b - web) * inner,
        inertia_motion=(b * h**3 - (b - web) * inner**3) / 12,
        inertia_across=(2 * np.asarray(flange) * b**3 + inner * np.asarray(web) ** 3) / 12,
        depth=h,
        width=b,
    )


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


def shank_stress(*, force: Floats, area: Floats) -> Floats:
    """Return the mean axial stress in the shank [Pa], compression positive like the force.

    force: along the rod [N]. area: of the section [m²]. F / A. Exact away from run-outs.
    Source: [KMD] ch. 32.
    """
    require_positive("section area", area, "m²")
    return np.asarray(force) / area


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


def rankine_stress(
    *, slenderness: Floats, crushing_strength: Floats, rankine_constant: Floats = RANKINE_STEEL
) -> Floats:
    """Return the critical mean stress by Rankine's formula [Pa]: a cross-check on Johnson.

    slenderness: L/k of the plane of motion, or half of L/k along the crankshaft [-].
    crushing_strength: σ_c [Pa]. rankine_constant: a [-], 1/7500 steel, 1/9000 wrought iron,
    1/1600 cast iron. σ_c / (1 + a (L/k)²). Fitted. Source: [KMD] ch. 32.
    """
    require("slenderness", slenderness, "0 or more", lambda x: x >= 0)
    require_positive("crushing strength", crushing_strength, "Pa")
    return np.asarray(crushing_strength) / (1 + rankine_constant * np.square(slenderness))


class Finish(Enum):
    """How the shank's surface was made: factor and exponent of [SHIGLEY] table 6-2 (MPa)."""

    GROUND = (1.58, -0.085)
    MACHINED = (4.51, -0.265)
    HOT_ROLLED = (57.7, -0.718)
    FORGED = (272.0, -0.995)


def surface_factor(*, finish: Finish, ultimate_strength: Floats) -> Floats:
    """Return the surface factor k_a on the fatigue strength [-], 1 at most.

    ultimate_strength: S_ut [Pa]. k_a = a (S_ut / MPa)^b. Fitted to steel, scatter about ±10 to
    20 %; shot peening, usual on rods, wins back much of what a forged skin loses and is not in
    it. Source: [SHIGLEY] eq. 6-19, table 6-2.
    """
    require_positive("ultimate strength", ultimate_strength, "Pa")
    factor, exponent = finish.value
    return np.minimum(factor * (np.asarray(ultimate_strength) / 1e6) ** exponent, 1.0)


def size_factor(*, diameter: Floats) -> Floats:
    """Return the size factor k_b for bending or torsion [-]; an axial load takes 1.

    diameter: of a rotating round bar with the same stressed volume d [m], 2.79 to 254 mm.
    (d / 7.62 mm)^-0.107 to 51 mm, 1.51 (d / mm)^-0.157 above. Fitted.
    Source: [SHIGLEY] eq. 6-20.
    """
    d = np.asarray(diameter) * 1e3
    require("diameter", d, "2.79 to 254 mm", lambda x: (x >= 2.79) & (x <= 254))
    return np.where(d <= 51, (d / 7.62) ** -0.107, 1.51 * d**-0.157)[()]


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


def goodman_utilisation(
    *,
    compression_stress: Floats,
    tension_stress: Floats,
    fatigue_strength: Floats,
    ultimate_strength: Floats,
    stress_concentration: Floats = 1.0,
) -> Floats:
    """Return how much of the endless-life fatigue strength is used [-], 1 at the limit.

    compression_stress, tension_stress: extremes of one cycle, both as positive sizes [Pa]
    (tension negative if the stress never pulls). fatigue_strength: fully reversed amplitude of
    the part, surface and size factors included S_e [Pa]. ultimate_strength: S_ut [Pa].
    stress_concentration: fatigue notch factor K_f on amplitude and mean [-], 1 for a plain shank.
    Amplitude σ_a = (σ_c + σ_t)/2, mean σ_m = (σ_t - σ_c)/2; σ_a / S_e + max(σ_m, 0) / S_ut: a
    compressive mean is given no credit, which is safe. Source: [SHIGLEY] eq. 6-46.
    """
    require_positive("fatigue strength", fatigue_strength, "Pa")
    require_positive("ultimate strength", ultimate_strength, "Pa")
    require("stress concentration", stress_concentration, "1 or more", lambda x: x >= 1)
    amplitude = (np.asarray(compression_stress) + tension_stress) / 2
    require("stress amplitude", amplitude, "0 Pa or more", lambda x: x >= 0)
    mean = (np.asarray(tension_stress) - compression_stress) / 2
    used = amplitude / fatigue_strength + np.maximum(mean, 0.0) / ultimate_strength
    return stress_concentration * used


def whipping_moment(
    *, mass_per_length: Floats, angular_speed: Floats, crank_radius: Floats, rod_length: Floats
) -> Floats:
    """Return the largest bending moment from the rod's sideways inertia [N m].

    mass_per_length: of the shank m' [kg/m]; angular_speed ω [rad/s]; crank_radius r,
    rod_length l [m]. M = m' ω² r l² / (9 √3), at l/√3 from the small end, throw square to the
    rod. Exact for an even shank with inertia rising straight from pin to crankpin.
    Source: [KMD] ch. 32.
    """
    require_positive("mass per length", mass_per_length, "kg/m")
    require_positive("crank radius", crank_radius, "m")
    require_positive("rod length", rod_length, "m")
    load = np.asarray(mass_per_length) * np.square(angular_speed) * crank_radius
    return load * np.square(rod_length) / (9 * np.sqrt(3))


def whipping_stress(
    *,
    section: Section,
    density: Floats,
    angular_speed: Floats,
    crank_radius: Floats,
    rod_length: Floats,
) -> Floats:
    """Return the bending stress at the shank's edge from whipping [Pa].

    density: of the rod [kg/m³]; the rest as in `whipping_moment`. M / Z with m' = ρ A. It peaks
    near mid-stroke, not with the axial extremes at dead centre. Source: [KMD] ch. 32.
    """
    require_positive("density", density, "kg/m³")
    moment = whipping_moment(
        mass_per_length=np.asarray(density) * section.area,
        angular_speed=angular_speed,
        crank_radius=crank_radius,
        rod_length=rod_length,
    )
    return moment / section.modulus_motion
