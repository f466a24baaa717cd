"""Strength of fasteners: ISO property classes, SAE grades, and studs outside both."""

import difflib
import re
from dataclasses import dataclass

from torquerisk.errors import InputError, OutOfRangeError
from torquerisk.quantities import MEGA

_KSI = 6.894757293168361e6
USUAL_EXCESS = 1.08
"""Yield strength of real fasteners over the least that their class asks for [-].

It lies between 1.0 and 1.2. Source: [VDI2230] section 5.5.2, from memory.
"""
_LIMIT_88 = 16e-3
_SAE_MOST = {"SAE grade 5": 1.0 * 0.0254, "SAE grade 8": 1.5 * 0.0254}


@dataclass(frozen=True, kw_only=True)
class StrengthClass:
    """Least strengths of a fastener's material; stresses in Pa."""

    name: str
    proof_stress: float
    """S_p [Pa]: carried without lasting stretch."""
    yield_strength: float
    """R_p0.2 or R_pf [Pa]."""
    tensile_strength: float
    """R_m [Pa]."""
    usual_excess: float
    """Real over stated yield strength in the middle [-]: a class states the least, a maker's figure
    is taken as given."""
    elongation: float
    """Least after fracture, of a test piece five diameters long [-]."""

    @property
    def usual_yield(self) -> float:
        """Yield strength of real fasteners in the middle, never over tensile strength [Pa]."""
        return min(self.usual_excess * self.yield_strength, self.tensile_strength)


_ISO_898_1_MPA: dict[str, tuple[float, float, float]] = {
    "8.8": (580, 640, 800),
    "9.8": (650, 720, 900),
    "10.9": (830, 940, 1040),
    "12.9": (970, 1100, 1220),
}
_ISO_88_LARGE_MPA = (600, 660, 830)
_SAE_J429_KSI: dict[str, tuple[float, float, float]] = {
    "SAE grade 5": (85, 92, 120),
    "SAE grade 8": (120, 130, 150),
}

_ELONGATION = {"8.8": 0.12, "9.8": 0.10, "10.9": 0.09, "12.9": 0.08, "SAE grade 5": 0.14,
               "SAE grade 8": 0.12}  # fmt: skip
"""Least elongation after fracture [-]. Source: [ISO898-1] Table 3; [SAE-J429] Table 1."""
SPECIAL_ELONGATION = 0.08
"""Of what no standard covers: that of class 12.9 (stated choice)."""

PROPERTY_CLASSES: tuple[str, ...] = (*_ISO_898_1_MPA, *_SAE_J429_KSI)
"""Names that `strength_class` knows."""


def strength_class(name: str, nominal_diameter: float) -> StrengthClass:
    """Return the least proof, yield and tensile strength of a property class or grade.

    name: "8.8", "9.8", "10.9", "12.9", or "SAE grade 5", "SAE grade 8" (also "grade 8", "SAE 8").
    nominal_diameter: d [m]; class 8.8 is weaker up to 16 mm, class 9.8 ends there.
    Source: [ISO898-1] Table 3; [SAE-J429] Table 1.
    Raises InputError on an unknown name, OutOfRangeError on a diameter the standard leaves out.
    """
    key = _canonical(name)
    if key in _SAE_J429_KSI:
        _require_diameter(key, nominal_diameter, 0.25 * 0.0254, _SAE_MOST[key])
        proof, yield_strength, tensile = (value * _KSI for value in _SAE_J429_KSI[key])
    else:
        most = _LIMIT_88 if key == "9.8" else 39e-3
        _require_diameter(f"class {key}", nominal_diameter, 1.6e-3, most)
        large = key == "8.8" and nominal_diameter > _LIMIT_88
        row = _ISO_88_LARGE_MPA if large else _ISO_898_1_MPA[key]
        proof, yield_strength, tensile = (value * MEGA for value in row)
    return StrengthClass(
        name=key,
        proof_stress=proof,
        yield_strength=yield_strength,
        tensile_strength=tensile,
        usual_excess=USUAL_EXCESS,
        elongation=_ELONGATION[key],
    )


def special_strength(
    name: str,
    *,
    yield_strength: float,
    tensile_strength: float,
    usual_excess: float = 1.0,
    elongation: float = SPECIAL_ELONGATION,
) -> StrengthClass:
    """Return the strength of a stud that no standard covers, from its maker's figures.

    yield_strength: R_p0.2 [Pa]; tensile_strength: R_m [Pa]; usual_excess: real over stated yield
    strength [-], 1 unless the yield is a class's least; elongation: after fracture [-].
    The proof stress is taken as 0.88 of the yield strength, the ratio of classes 10.9 and 12.9,
    [ISO898-1].
    Raises OutOfRangeError unless 100 MPa <= yield <= tensile <= 3 GPa.
    """
    if not 100 * MEGA <= yield_strength <= tensile_strength:
        raise OutOfRangeError(
            "yield_strength",
            f"{yield_strength / MEGA:.6g} MPa",
            "from 100 MPa up to the tensile strength",
        )
    if not tensile_strength <= 3000 * MEGA:
        raise OutOfRangeError(
            "tensile_strength", f"{tensile_strength / MEGA:.6g} MPa", "at most 3000 MPa"
        )
    return StrengthClass(
        name=name,
        proof_stress=0.88 * yield_strength,
        yield_strength=yield_strength,
        tensile_strength=tensile_strength,
        usual_excess=usual_excess,
        elongation=elongation,
    )


def _canonical(name: str) -> str:
    """Return the known name that a spelling stands for."""
    text = name.strip()
    if text in _ISO_898_1_MPA:
        return text
    if match := re.fullmatch(r"(?:SAE|J429|grade)[A-Za-z0-9 ]*?[ -]?(5|8)", text, re.IGNORECASE):
        return f"SAE grade {match[1]}"
    raise InputError(
        f"property class is {name!r}, but must be one of {', '.join(PROPERTY_CLASSES)} (nearest: "
        f"{' and '.join(_nearest(text))})."
    )


def _nearest(text: str) -> list[str]:
    """Return the known names nearest to one that is none: of a number the class on either side."""
    if re.fullmatch(r"\d{1,3}(\.\d{1,3})?", text):
        weaker = [name for name in _ISO_898_1_MPA if float(name) < float(text)]
        stronger = [name for name in _ISO_898_1_MPA if float(name) > float(text)]
        return [*weaker[-1:], *stronger[:1]]
    return difflib.get_close_matches(text, PROPERTY_CLASSES, n=1, cutoff=0.0)


def _require_diameter(what: str, diameter: float, least: float, most: float) -> None:
    """Refuse a diameter [m] outside what the standard covers."""
    if not least * (1 - 1e-9) <= diameter <= most * (1 + 1e-9):
        raise OutOfRangeError(
            "nominal_diameter",
            f"{diameter * 1e3:.6g} mm",
            f"{least * 1e3:.4g} to {most * 1e3:.4g} mm for {what}",
            "Give the fastener's own strengths instead.",
        )
