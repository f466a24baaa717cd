"""Strength of connecting-rod materials: defaults to be replaced by the part's own data."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class RodMaterial:
    """Properties of one rod material, each a middle value, with how far parts differ."""

    yield_strength: float
    """S_y [Pa]."""
    ultimate_strength: float
    """S_ut [Pa]."""
    fatigue_strength: float
    """Fully reversed axial amplitude of a smooth specimen, endless life [Pa]."""
    elastic_modulus: float
    """E [Pa]."""
    density: float
    """[kg/m³]."""
    spread: float
    """Relative standard deviation between parts and makers of strength [-]."""
    source: str
    """Key of the bibliography."""
    how_sure: str
    """One of the bibliography's degrees."""


def _steel(
    strength: tuple[float, float, float], spread: float, source: str, how_sure: str
) -> RodMaterial:
    yield_strength, ultimate, fatigue = strength
    return RodMaterial(
        yield_strength=yield_strength * 1e6,
        ultimate_strength=ultimate * 1e6,
        fatigue_strength=fatigue * 1e6,
        elastic_modulus=207e9,
        density=7850.0,
        spread=spread,
        source=source,
        how_sure=how_sure,
    )


MEMORY, PRACTICE = "from memory", "common practice, no source"

ROD_MATERIALS: dict[str, RodMaterial] = {
    "forged micro-alloyed steel": _steel((700, 938, 423), 0.06, "AFZAL-FATEMI", MEMORY),
    "powder-forged steel": _steel((588, 866, 339), 0.06, "AFZAL-FATEMI", MEMORY),
    "C70S6 fracture-split steel": _steel((560, 930, 370), 0.08, "PRACTICE", PRACTICE),
    # Fatigue of the next two: 0.45 S_ut, an axial specimen (0.5 x 0.85 and a polished surface).
    "4340 steel, tempered at 540 °C": _steel((1080, 1170, 525), 0.07, "SHIGLEY", MEMORY),
    "4340 steel, tempered at 650 °C": _steel((855, 965, 434), 0.07, "SHIGLEY", MEMORY),
    "nodular cast iron GJS-700-2": RodMaterial(
        yield_strength=420e6,
        ultimate_strength=700e6,
        fatigue_strength=245e6,
        elastic_modulus=176e9,
        density=7200.0,
        spread=0.10,
        source="PRACTICE",
        how_sure=PRACTICE,
    ),
    "titanium Ti-6Al-4V": RodMaterial(
        yield_strength=880e6,
        ultimate_strength=950e6,
        fatigue_strength=450e6,
        elastic_modulus=114e9,
        density=4430.0,
        spread=0.08,
        source="PRACTICE",
        how_sure=PRACTICE,
    ),
    "aluminium 7075-T6": RodMaterial(
        yield_strength=503e6,
        ultimate_strength=572e6,
        # At 5e8 cycles: aluminium has no endless-life strength, so such rods are worn parts.
        fatigue_strength=159e6,
        elastic_modulus=71.7e9,
        density=2810.0,
        spread=0.10,
        source="PRACTICE",
        how_sure=PRACTICE,
    ),
}
"""Rod materials by trade or standard designation."""
