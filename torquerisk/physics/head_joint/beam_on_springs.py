"""A straight beam with free ends on point springs: what each spring bears of given loads.

Solved by forces: the beam's own give between any two points is known in closed form, so the springs
are the only unknowns, with a lift and a tilt of the whole. Exact for a uniform beam; nothing is
divided into elements. Forces in N, lengths in m, compliances in m/N; upward is positive.
"""

import numpy as np

from torquerisk.physics.arrays import Array, require, require_positive

_SAME = 1e-9
"""Places that differ by less are one [m]."""
SHEAR_CORRECTION = 5 / 6
"""Share of a rectangular section that works in shear. Source: [TIMOSHENKO], from memory."""


def _give(places: Array, others: Array, mirrored: float) -> Array:
    """Give of a free beam between places (S,) and others (Q,), for EI = 1 and kappa G A = 1.

    Bending, then shear (2, S, Q): |x|^3/12 and -|x|/2 at a distance x, up to a lift and a tilt that
    equilibrium of the forces fixes; mirrored: times the others' mirror images about 0 are added.
    Exact for a uniform beam with shear. Source: derived from [TIMOSHENKO].
    """
    gap = np.abs(places[:, None] - others)
    give = np.stack([gap**3 / 12, -gap / 2])
    return give + mirrored * _give(places, -others, 0.0) if mirrored else give


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

    springs: places along the beam in rising order (S,), two or more [m]; compliances: of each
    (N, S), 0 for a rigid one [m/N]; load_places: (Q,) [m]; loads: upward (Q, R) [N]; bending: EI
    (N,) [N*m^2]; shear: kappa G A (N,), infinite for a slender beam [N]. A spring that bears r
    gives by r times its compliance: its place rises by that. Springs that mirror about their middle
    are solved as two halves, loaded alike and against each other, in a quarter of the time.
    Exact. Source: [TIMOSHENKO], [HETENYI]; the solution derived.
    """
    require("compliances", compliances, "0 m/N or more", lambda c: (c >= 0) & np.isfinite(c))
    require_positive("bending", bending, "N*m^2")
    require("shear", shear, "above 0 N", lambda s: s > 0)

    softness = np.stack([1 / bending, 1 / shear], axis=1)

    def beam(unit: Array) -> Array:
        """What a beam of these stiffnesses gives (N, ...) from unit ones (2, ...)."""
        return np.tensordot(softness, unit, axes=1)

    middle = (springs[0] + springs[-1]) / 2
    places, acting = springs - middle, load_places - middle
    alike = np.allclose(places, -places[::-1], atol=_SAME) and np.array_equal(
        compliances, compliances[:, ::-1]
    )
    if not alike:
        shapes = np.stack([np.ones_like(places), places], axis=1)
        resultants = np.stack([loads.sum(axis=0), acting @ loads])
        straight, right = _give(places, places, 0.0), _give(places, acting, 0.0) @ loads
        return _solve(beam(straight), compliances, shapes, shapes, beam(right), resultants)
    half = slice(len(places) // 2, None)
    x, give = places[half], compliances[:, half]
    counted = np.where(x > _SAME, 2.0, 1.0)[:, None]
    even = _solve(
        beam(_give(x, x, 1.0) * counted[:, 0] / 2), give, np.ones((len(x), 1)), counted,
        beam(_give(x, acting, 1.0) @ loads / 2), loads.sum(axis=0)[None],
    )  # fmt: skip
    own = x > _SAME
    odd = np.zeros_like(even)
    arm = x[own, None]
    odd[:, own] = _solve(
        beam(_give(x[own], x[own], -1.0)), give[:, own], arm, 2 * arm,
        beam(_give(x[own], acting, -1.0) @ loads / 2), (acting @ loads)[None],
    )  # fmt: skip
    left = (even - odd)[:, own][:, ::-1]
    return np.concatenate([left, even + odd], axis=1)


def _solve(
    flexibility: Array,
    compliances: Array,
    shapes: Array,
    weights: Array,
    right: Array,
    resultants: Array,
) -> Array:
    """What springs bear (N, S, R) for a beam that gives and moves as a rigid body in some shapes.

    flexibility: of the beam between springs (N, S, S); shapes: of rigid movement (S, K); weights:
    of the springs in its equilibrium (S, K), with resultants (K, R); right: give to the loads.
    """
    count, moves = shapes.shape
    matrix = np.zeros((len(flexibility), count + moves, count + moves))
    matrix[:, :count, :count] = flexibility
    each = np.arange(count)
    matrix[:, each, each] += compliances
    size = np.abs(matrix).max(axis=(1, 2))[:, None, None]
    matrix[:, :count, count:] = -size * shapes
    matrix[:, count:, :count] = weights.T
    sides = np.empty((len(flexibility), count + moves, right.shape[2]))
    sides[:, :count], sides[:, count:] = right, resultants
    return np.asarray(np.linalg.solve(matrix, sides)[:, :count], dtype=np.float64)
