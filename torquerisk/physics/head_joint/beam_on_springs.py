"""A straight beam with free ends on point springs: what each spring bears of given loads.

Solved by forces: the beam's own give between any two points is known in closed form, so the springs
are the only unknowns, with a lift and a tilt of the whole. Exact for a uniform beam; nothing is
divided into elements. Forces in N, lengths in m, compliances in m/N; upward is positive.
"""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_positive

SHEAR_CORRECTION = 5 / 6
"""Share of a rectangular section that works in shear. Source: [TIMOSHENKO], from memory."""


def beam_flexibility(distance: Floats, *, bending: Floats, shear: Floats) -> Array:
    """Return the deflection of a free beam at a distance from a unit force, G [m/N].

    distance: between the two points [m]; bending: EI [N*m^2]; shear: kappa G A [N].
    |x|^3/(12 EI) - |x|/(2 kappa G A), up to a lift and a tilt, which equilibrium of the forces that
    act together fixes. Exact for a uniform beam with shear. Source: derived from [TIMOSHENKO].
    """
    gap = np.abs(np.asarray(distance, dtype=float))
    return np.asarray(gap**3 / (12 * np.asarray(bending)) - gap / (2 * np.asarray(shear)))


def spring_forces(
    *,
    springs: Array,
    compliances: Array,
    load_places: Array,
    loads: Array,
    bending: Array,
    shear: Array,
) -> Array:
    """Return what each spring bears against each set of loads (N, S, R) [N].

    springs: places along the beam (S,), two or more different [m]; compliances: of each (N, S), 0
    for a rigid one [m/N]; load_places: (Q,) [m]; loads: upward (Q, R) [N]; bending: EI (N,)
    [N*m^2]; shear: kappa G A (N,), infinite for a slender beam [N]. A spring that bears r gives by
    r times its compliance: its place rises by that.
    Exact. Source: [TIMOSHENKO], [HETENYI]; the solution derived.
    """
    require("compliances", compliances, "0 m/N or more", lambda c: (c >= 0) & np.isfinite(c))
    require_positive("bending", bending, "N*m^2")
    require("shear", shear, "above 0 N", lambda s: s > 0)
    count = len(springs)
    give = {"bending": bending[:, None, None], "shear": shear[:, None, None]}
    matrix = np.zeros((len(bending), count + 2, count + 2))
    right = np.empty((len(bending), count + 2, loads.shape[1]))
    matrix[:, :count, :count] = beam_flexibility(springs[:, None] - springs, **give)
    each = np.arange(count)
    matrix[:, each, each] += compliances
    size = np.abs(matrix).max(axis=(1, 2))[:, None]
    matrix[:, :count, count] = -size
    matrix[:, :count, count + 1] = -size * springs
    matrix[:, count, :count] = 1.0
    matrix[:, count + 1, :count] = springs
    right[:, :count] = beam_flexibility(springs[:, None] - load_places, **give) @ loads
    right[:, count] = loads.sum(axis=0)
    right[:, count + 1] = load_places @ loads
    return np.asarray(np.linalg.solve(matrix, right)[:, :count], dtype=np.float64)
