"""Generic materials of head, block and fasteners: stiffness, expansion, strength in a joint.

Handbook-typical middles, to be replaced by the maker's figures; each row says how sure it is.
"""

import difflib
from dataclasses import dataclass

from torquerisk.errors import InputError
from torquerisk.quantities import MEGA

_GPA = 1e9
_PER_MK = 1e-6


@dataclass(frozen=True, kw_only=True)
class JointMaterial:
    """A generic material of a clamped joint."""

    name: str
    elastic_modulus: float
    """E [Pa] at room temperature."""
    expansion: float
    """Mean linear expansion 20 to 100 C, alpha [1/K]."""
    tensile_strength: float
    """R_m [Pa] at room temperature; the low side of what is usual."""
    shear_ratio: float
    """tau_B/R_m [-], low side of the printed range."""
    bearing_limit: float
    """Limiting pressure under head or washer, p_G [Pa]."""
    how_sure: str
    """One of the marks of SOURCES; every row is from VDI 2230 Table A9 and handbooks."""
    note: str


def _row(
    name: str,
    modulus_gpa: float,
    expansion_per_mk: float,
    strength_mpa: float,
    shear_ratio: float,
    bearing_mpa: float,
    note: str,
) -> JointMaterial:
    return JointMaterial(
        name=name,
        elastic_modulus=modulus_gpa * _GPA,
        expansion=expansion_per_mk * _PER_MK,
        tensile_strength=strength_mpa * MEGA,
        shear_ratio=shear_ratio,
        bearing_limit=bearing_mpa * MEGA,
        how_sure="from memory",
        note=note,
    )


JOINT_MATERIALS: dict[str, JointMaterial] = {
    row.name: row
    for row in (
        _row("cast aluminium", 72, 21.5, 235, 0.65, 220, "Al-Si, heat-treated head or block"),
        _row("wrought aluminium", 70, 23.5, 290, 0.65, 260, "6000 series, heat-treated"),
        _row("strong wrought aluminium", 71, 23.5, 480, 0.65, 410, "7000 series"),
        _row("grey iron", 105, 10.8, 250, 0.9, 850, "grade 250; E 100 to 115 GPa by grade"),
        _row("compacted graphite iron", 145, 11.5, 400, 0.9, 600, "grade 400; limit as GJS"),
        _row("ductile iron", 169, 12.5, 400, 0.9, 600, "grade 400"),
        _row("steel", 205, 11.7, 510, 0.6, 710, "plain carbon, structural strength"),
        _row("stud steel", 205, 12.3, 1040, 0.6, 1080, "low-alloy, quenched and tempered"),
        _row("heat-resistant stud alloy", 200, 16.5, 1000, 0.6, 1000, "austenitic, aged"),
    )
}
"""Materials by name. E of steel 207, aluminium 71 to 72, iron 100 GPa in [SHIGLEY] Table A-5;
bearing limits and shear ratios [VDI2230] Table A9; expansion handbook-typical; all from memory."""


def joint_material(name: str) -> JointMaterial:
    """Return the generic material of a name.

    Raises InputError listing the known names and the nearest one.
    """
    key = name.strip().lower()
    if key in JOINT_MATERIALS:
        return JOINT_MATERIALS[key]
    near = difflib.get_close_matches(key, JOINT_MATERIALS, n=1, cutoff=0.0)[0]
    known = ", ".join(JOINT_MATERIALS)
    raise InputError(f"material is {name!r}, but must be one of {known}. Nearest: {near}.")
