"""Small-end eye and big-end cap: curved bars that the pull of inertia opens.

Safety note: a rod that breaks destroys the engine. Bending by the pin's own give, press fits and
bolt bosses are left out; what notches add is a factor of the reader's. Estimates, no guarantee.
"""

from dataclasses import dataclass

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_positive

EYE_FIXED_AT = np.radians(110.0)
"""Angle from the crown at which the eye runs into the shank, 100 to 130 degrees. Source:
[KOLCHIN] ch. 13."""
_POINTS = 361


@dataclass(frozen=True, kw_only=True, eq=False)
class Arc:
    """Half of a pulled ring, by angle from its crown (T,)."""

    angle: Array
    """[rad]."""
    hoop: Array
    """Hoop force over the pull [-]."""
    moment: Array
    """Bending moment over pull times mean radius [-], positive where it curves the bar more."""


def outside_moment(angle: Array, *, is_even: bool) -> Array:
    """Return the moment of the pin's pressure above a section, over pull times radius [-].

    angle: from the crown θ [rad]. is_even: pressure even over the upper half (Kolchin); else it
    falls with the cosine, as a pin presses that fits closely. Exact.
    Even: (1 - cos θ)/2 to 90°, (sin θ - cos θ)/2 beyond; cosine: θ sin θ / π, then
    sin θ / 2 - cos θ / π. Source: [KOLCHIN] ch. 13 for the even one.
    """
    sine, cosine = np.sin(angle), np.cos(angle)
    if is_even:
        return np.where(angle <= np.pi / 2, (1 - cosine) / 2, (sine - cosine) / 2)
    return np.where(angle <= np.pi / 2, angle * sine / np.pi, sine / 2 - cosine / np.pi)


def fixed_arc(*, fixed_at: float, is_even: bool = False) -> Arc:
    """Return hoop force and moment of an arc that neither turns nor moves where it is fixed.

    fixed_at: angle from the crown [rad], 90 to 150 degrees. is_even: as in `outside_moment`.
    N = n0 cos θ + j, M = m0 + n0 (1 - cos θ) - j, with ∫M = 0 and ∫M cos θ = 0 over the arc.
    Exact for a thin bar that does not stretch. Source: [TIMOSHENKO] (Castigliano).
    """
    require("fixed at", fixed_at, "90 to 150 degrees, in rad", lambda x: (x > 1.57) & (x < 2.62))
    angle = np.linspace(0.0, fixed_at, _POINTS)
    outside, cosine = outside_moment(angle, is_even=is_even), np.cos(angle)
    matrix = [
        [fixed_at, -np.sin(fixed_at)],
        [np.sin(fixed_at), -np.trapezoid(cosine**2, angle)],
    ]
    sums = [np.trapezoid(outside, angle), np.trapezoid(outside * cosine, angle)]
    level, crown_hoop = np.linalg.solve(matrix, sums)
    return _arc(angle, outside, crown_hoop, level)


def free_arc() -> Arc:
    """Return hoop force and moment of a ring's half whose ends do not turn but draw in freely.

    The big end as a ring as stiff below its parting line as above, pulled by a pin: no force across
    the parting line, so n0 = 1/π; ∫M = 0. Exact for a thin bar. Source: [TIMOSHENKO].
    """
    angle = np.linspace(0.0, np.pi / 2, _POINTS)
    outside = outside_moment(angle, is_even=False)
    crown_hoop = 1 / np.pi
    level = (float(np.trapezoid(outside, angle)) + crown_hoop) / (np.pi / 2)
    return _arc(angle, outside, crown_hoop, level)


def _arc(angle: Array, outside: Array, crown_hoop: float, level: float) -> Arc:
    """level: n0 + m0."""
    return Arc(
        angle=angle,
        hoop=crown_hoop * np.cos(angle) + outside,
        moment=level - crown_hoop * np.cos(angle) - outside,
    )


def curved_bar_stress(
    *, force: Floats, moment: Floats, inner_radius: Floats, thickness: Floats, width: Floats
) -> tuple[Floats, Floats]:
    """Return the stress at the inner and at the outer face of a curved bar [Pa], tension positive.

    force: along the bar at its mean radius, pulling positive [N]. moment: positive where it curves
    the bar more [N·m]. inner_radius r_i, thickness h, width b [m].
    r_n = h / ln(r_o/r_i), e = r_i + h/2 - r_n; F/(b h) ∓ M (r - r_n) / (b h e r). Exact for a
    rectangle, plane sections and no stress across. Source: [SHIGLEY] section 3-18.
    """
    for name, value in (
        ("inner radius", inner_radius), ("thickness", thickness), ("width", width),
    ):  # fmt: skip
        require_positive(name, value, "m")
    inner, deep = np.asarray(inner_radius), np.asarray(thickness)
    outer, area = inner + deep, deep * width
    neutral = deep / np.log(outer / inner)
    shift = inner + deep / 2 - neutral
    direct, bending = np.asarray(force) / area, np.asarray(moment) / (area * shift)
    return (
        direct - bending * (neutral - inner) / inner,
        direct + bending * (outer - neutral) / outer,
    )


def greatest_stress(arc: Arc, *, inner_radius: Array, thickness: Array, width: Array) -> Array:
    """Return the greatest tension anywhere in a pulled arc, over the pull (n,) [1/m²].

    inner_radius, thickness, width: (n,) [m]. Source: [SHIGLEY] section 3-18.
    """
    few = slice(None, None, 6)
    faces = curved_bar_stress(
        force=arc.hoop[few, None],
        moment=arc.moment[few, None] * (inner_radius + thickness / 2),
        inner_radius=inner_radius,
        thickness=thickness,
        width=width,
    )
    return np.asarray(np.maximum(*faces).max(axis=0))
