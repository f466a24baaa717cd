"""Geometry of one cylinder: volume, its rate, and wall area from the exact slider-crank."""

from dataclasses import dataclass

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_positive


@dataclass(frozen=True, kw_only=True, eq=False)
class CylinderGeometry:
    """One cylinder's dimensions; each field is a float or an array of lanes.

    bore, stroke, rod_length: B, S, L [m]; rod_length is centre to centre.
    compression_ratio: r_c, volume at bottom over volume at top dead centre [-].
    pin_offset: e, offset of the cylinder axis from the crank axis [m]. Crank angles stay
        counted from where the piston is really at its top.
    Raises OutOfRangeError for a size that is not positive, a ratio not above 1, or a rod too
    short to pass the crank.
    """

    bore: Floats
    stroke: Floats
    rod_length: Floats
    compression_ratio: Floats
    pin_offset: Floats = 0.0

    def __post_init__(self) -> None:
        for name in ("bore", "stroke", "rod_length"):
            require_positive(name, getattr(self, name), "m")
        require("compression_ratio", self.compression_ratio, "above 1", lambda x: x > 1)
        slack = np.asarray(self.rod_length) - 0.5 * np.asarray(self.stroke)
        require(
            "rod_length less half the stroke less the pin offset",
            slack - np.abs(self.pin_offset),
            "above 0 m",
            lambda x: x > 0,
        )


def bore_area(geometry: CylinderGeometry) -> Floats:
    """Area of the bore [m2]: pi B2/4."""
    return 0.25 * np.pi * np.square(geometry.bore)


def swept_volume(geometry: CylinderGeometry) -> Floats:
    """Swept volume of one cylinder [m3], exact with a pin offset too.

    V_d = (pi B2/4) (sqrt((L+r)2 - e2) - sqrt((L-r)2 - e2)), r = S/2; without offset pi B2 S/4.
    Source: [HEYWOOD] section 2.2 (offset: identity of the slider-crank).
    """
    half, offset2 = 0.5 * np.asarray(geometry.stroke), np.square(geometry.pin_offset)
    long, short = geometry.rod_length + half, geometry.rod_length - half
    travel = 2 * half - _sagitta(long, offset2) + _sagitta(short, offset2)
    return bore_area(geometry) * travel


def clearance_volume(geometry: CylinderGeometry) -> Floats:
    """Volume at top dead centre [m3]: V_c = V_d/(r_c - 1). Source: [HEYWOOD] eq. 2.1."""
    return swept_volume(geometry) / (geometry.compression_ratio - 1)


def cylinder_volume(angle: Floats, geometry: CylinderGeometry) -> Floats:
    """Cylinder volume V [m3] at crank angle, broadcast over angle and lanes.

    angle: from firing top dead centre [rad]. V = V_c + (pi B2/4) x, x the exact piston travel
    from the top. Source: [HEYWOOD] eq. 2.4-2.6.
    """
    crank, half, long = _crank(angle, geometry)
    aside = half * np.sin(crank) - geometry.pin_offset
    travel = (
        half * (1 - np.cos(crank))
        - _sagitta(long, np.square(geometry.pin_offset))
        + _sagitta(geometry.rod_length, np.square(aside))
    )
    return clearance_volume(geometry) + bore_area(geometry) * travel


def wall_area(volume: Floats, geometry: CylinderGeometry) -> Floats:
    """Gas-side wall area [m2] for a flat (disc) chamber: A = pi B2/2 + 4 V/B.

    volume: V [m3]. Head and piston crown each count as one bore area, the liner as the cylinder
    that encloses V. Source: [HEYWOOD] eq. 2.7 with A_ch = A_p = pi B2/4.
    """
    return 2 * bore_area(geometry) + 4 * volume / geometry.bore


def _crank(angle: Floats, geometry: CylinderGeometry) -> tuple[Array, Array, Array]:
    """Angle of the crank from the cylinder axis, crank radius and rod plus radius."""
    half = 0.5 * np.asarray(geometry.stroke, dtype=float)
    long = geometry.rod_length + half
    return np.asarray(angle + np.arcsin(geometry.pin_offset / long)), half, long


def _sagitta(hypotenuse: Floats, aside2: Floats) -> Floats:
    """Return h - sqrt(h2 - a2) without the loss of digits that a long rod would bring."""
    return aside2 / (hypotenuse + np.sqrt(np.square(hypotenuse) - aside2))
