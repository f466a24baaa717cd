"""What piston, pin, rod and big end can carry, and the masses that relieve or load them."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Engine
from torquerisk.errors import InputError
from torquerisk.physics.running_gear import oil, rod
from torquerisk.physics.running_gear.bearing_linings import LININGS, PIN_BEARINGS, LiningLimit
from torquerisk.physics.running_gear.piston import RING_LAND_STRESS
from torquerisk.physics.running_gear.piston_pin import pin_bending_stress, pin_ovalisation
from torquerisk.physics.running_gear.slider_crank import acceleration_extremes
from torquerisk.quantities import Array
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.strengths.rod_ends import RodEnds, rod_ends_capacity

ROD_MODULUS, ROD_DENSITY = 207e9, 7850.0
ROD_ECCENTRICITY = 0.13
"""Eccentricity of the load e c / k² of real rods [-]: with it a rod of slenderness 30 carries what
Rankine's formula gives it, a ninth off the ideal. Source: [KMD] ch. 32."""
CRANKCASE_PRESSURE = 1.0e5
CAP_SHARE = 0.25
"""Cap with its bolts' heads, share of the rod's mass (common practice, no source)."""
RELATIVE_CLEARANCES, LENGTH_TO_DIAMETERS = (0.0002, 0.005), (0.25, 1.0)
"""Big-end clearance and width over the journal's diameter that films are solved for [-]."""
PIN_GUIDANCE = {
    False: ("aluminium piston boss, boosted petrol", "bronze small-end bush"),
    True: ("bushed piston boss, diesel", "bronze small-end bush, diesel"),
}
"""Rows of `PIN_BEARINGS` for boss and bush, by compression ignition."""
OVAL_BORES = (0.4, 0.8)
"""Inner over outer diameter of pins whose ovalisation was fitted [-]."""
THINNEST_PIN = 0.85
"""Inner over outer diameter of the thinnest pin that is modelled [-]."""
LEAST_TENSILE = 1.02
"""Tensile over yield strength of a rod, at least [-]: no steel yields after it breaks."""


@dataclass(frozen=True, kw_only=True)
class RodMasses:
    """Masses of one cylinder's piston and rod as given or assumed, without their spread."""

    piston: float
    """With rings and pin [kg]."""
    rod: float
    """[kg]."""
    big_end_share: float
    """Share of the rod's mass at the big end [-]."""


def middle_masses(engine: Engine) -> RodMasses:
    """Piston and rod of the engine as given or assumed."""
    piston, whole, share = (
        engine.value(f"running_gear.{name}").value
        for name in ("piston_mass", "rod_mass", "rod_big_end_share")
    )
    return RodMasses(piston=piston, rod=whole, big_end_share=share)


def crank_geometry(engine: Engine) -> dict[str, float]:
    """Bore, crank radius, rod length, pin offset [m] and crankcase pressure [Pa] by name."""
    return {
        **engine.crank,
        "bore": engine.bore,
        "crankcase_pressure": CRANKCASE_PRESSURE,
    }


@dataclass(frozen=True, kw_only=True, eq=False)
class GearCapacity:
    """Running gear of one cylinder by draw; arrays (N,) in SI unless scalar."""

    bore_area: float
    acceleration_down: float
    """Piston's greatest acceleration towards the crankshaft over r w^2 [-]."""
    acceleration_up: float
    """Its greatest away from it [-]."""
    piston_mass: Array
    small_end_mass: Array
    big_end_mass: Array
    cap_mass: Array
    shank_area: Array
    column_load: Array
    """Axial compression that the shank carries, column or yield [N]."""
    fatigue_limit: Array
    """Fully reversed stress that the shank endures [Pa]."""
    tensile_strength: Array
    whip_stress: Array
    """Bending stress in the shank by its swing over speed squared [Pa s^2]."""
    ends: RodEnds
    bush_area: Array
    boss_area: Array
    big_end_area: Array
    pin_stress_per_force: Array
    """Bending stress in the pin over the force on it [1/m^2]."""
    pin_oval_per_force: Array
    """How much the pin's diameter grows sideways over the force on it [m/N]."""
    pin_yield: Array
    bush_limit: Array
    boss_limit: Array
    lining_limit: Array
    ring_land_limit: Array
    viscosity: Array
    relative_clearance: Array
    length_to_diameter: Array

    @property
    def reciprocating_mass(self) -> Array:
        """Piston with pin and the rod's small-end share (N,) [kg]."""
        return self.piston_mass + self.small_end_mass


def guidance(table: dict[str, LiningLimit], name: str, field: str) -> LiningLimit:
    """A row of a table of guidance, or one sentence that lists the rows."""
    if name not in table:
        raise InputError(f"{field} is {name!r}, but must be one of: {'; '.join(table)}.")
    return table[name]


def film_viscosity(engine: Engine, temperature: Array) -> Array:
    """Oil viscosity under bearing shear (N,) [Pa*s] at film temperatures (N,) [K]."""
    grade = engine.word("running_gear.oil_grade").strip().upper()
    summer = grade.rpartition("-")[2]
    known = {g.rpartition("-")[2]: o for g, o in oil.TYPICAL_OILS.items()}
    typical = oil.TYPICAL_OILS.get(grade) or known.get(summer) or known["30"]
    return np.asarray(
        oil.high_shear_viscosity(
            temperature=temperature,
            high_shear_150=oil.high_shear_of(grade),
            viscosity_40=typical.viscosity_40,
            viscosity_100=typical.viscosity_100,
        )
    )


def gear_capacity(engine: Engine, draws: Draws) -> GearCapacity:
    """Running gear of an engine for every draw."""

    def of(name: str) -> Array:
        return draws.of_value(engine.value(f"running_gear.{name}"))

    masses_share = of("rod_big_end_share")
    rod_mass, area, yields = of("rod_mass"), of("rod_section_area"), of("rod_yield_strength")
    section = _section(area, of("rod_inertia_ratio"))
    column = rod.column_load(
        section=section,
        rod_length=engine.rod_length,
        eccentricity_ratio=ROD_ECCENTRICITY * draws.of_model(spreads.ROD_ECCENTRICITY),
        yield_strength=yields,
        elastic_modulus=ROD_MODULUS,
    )
    tensile = np.maximum(of("rod_tensile_strength"), LEAST_TENSILE * yields)
    pin = of("pin_diameter")
    guide = draws.of_model(spreads.LINING)
    lining = guidance(
        LININGS, engine.word("running_gear.big_end_lining"), "running_gear.big_end_lining"
    )
    boss, bush = PIN_GUIDANCE[engine.compression_ignition]
    journal, width = of("big_end_diameter"), of("big_end_width")
    down, up = acceleration_extremes(**engine.crank)
    return GearCapacity(
        bore_area=engine.bore_area,
        acceleration_down=down,
        acceleration_up=up,
        piston_mass=of("piston_mass"),
        small_end_mass=rod_mass * (1 - masses_share),
        big_end_mass=rod_mass * masses_share,
        cap_mass=rod_mass * CAP_SHARE,
        shank_area=area,
        column_load=np.asarray(column),
        fatigue_limit=of("rod_fatigue_share") * tensile,
        tensile_strength=tensile,
        whip_stress=_whip_stress(engine, section),
        ends=rod_ends_capacity(engine, draws, of),
        bush_area=pin * of("small_end_width"),
        boss_area=pin * of("pin_boss_length"),
        big_end_area=journal * width,
        pin_stress_per_force=_pin_stress_per_force(pin, of),
        pin_yield=of("pin_yield_strength"),
        pin_oval_per_force=_pin_oval_per_force(pin, of),
        bush_limit=PIN_BEARINGS[bush].middle * guide,
        boss_limit=PIN_BEARINGS[boss].middle * guide,
        ring_land_limit=float(np.mean(RING_LAND_STRESS)) * guide,
        lining_limit=lining.middle * guide,
        viscosity=film_viscosity(engine, of("oil_temperature")),
        relative_clearance=np.clip(of("big_end_clearance") / journal, *RELATIVE_CLEARANCES),
        length_to_diameter=np.clip(width / journal, *LENGTH_TO_DIAMETERS),
    )


def _whip_stress(engine: Engine, section: rod.Section) -> Array:
    """Whipping stress of the shank at 1 rad/s (N,) [Pa s^2]."""
    return np.asarray(
        rod.whipping_stress(
            section=section,
            rod_length=engine.rod_length,
            crank_radius=engine.stroke / 2,
            density=ROD_DENSITY,
            angular_speed=1.0,
        )
    )


def _pin_stress_per_force(pin: Array, of: Callable[[str], Array]) -> Array:
    """Bending stress in the middle of the pin over the force on it (N,) [1/m^2]."""
    bush, bosses = of("small_end_width"), of("pin_boss_length")
    return np.asarray(
        pin_bending_stress(
            force=1.0,
            pin_diameter=pin,
            pin_bore=np.minimum(of("pin_bore_diameter"), THINNEST_PIN * pin),
            boss_span=bush + bosses / 2,
            bush_length=bush,
        )
    )


def _pin_oval_per_force(pin: Array, of: Callable[[str], Array]) -> Array:
    """Growth of the pin's diameter over the force on it (N,) [m/N]."""
    # A hair inside, so that rounding does not put a held ratio out.
    low, high = OVAL_BORES[0] * (1 + 1e-12), OVAL_BORES[1] * (1 - 1e-12)
    return np.asarray(
        pin_ovalisation(
            force=1.0,
            pin_diameter=pin,
            pin_bore=np.clip(of("pin_bore_diameter") / pin, low, high) * pin,
            pin_length=of("small_end_width") + of("pin_boss_length"),
            elastic_modulus=ROD_MODULUS,
        )
    )


def _section(area: Array, ratio: Array) -> rod.Section:
    """Textbook I-section of this area, its stiffness across the throw set by the ratio."""
    plain = rod.textbook_section(area=area)
    return rod.Section(
        area=plain.area,
        inertia_motion=plain.inertia_motion,
        inertia_across=np.asarray(plain.inertia_motion) / ratio,
        depth=plain.depth,
        width=plain.width,
    )
