"""Rod bolts: load in service with prying and bearing crush, and opening of the cap joint.

Safety note: a rod bolt that fails destroys the engine. Fit and tighten by the maker's data.
Estimates, not a guarantee.
"""

import numpy as np

from torquerisk.physics.arrays import Floats, require, require_positive


def crush_force(*, contact_pressure: Floats, diameter: Floats, width: Floats) -> Floats:
    """Return what one joint face bears to press the bearing shells home [N].

    contact_pressure: of the shells' backs in their bore p [Pa]. diameter: of that bore D, width: of
    the shells b [m]. p D b / 2: taken off the clamp of the joint's two faces each. Exact for a thin
    ring. Source: [TIMOSHENKO].
    """
    require_positive("contact pressure", contact_pressure, "Pa")
    require_positive("diameter", diameter, "m")
    require_positive("width", width, "m")
    return np.asarray(contact_pressure) * diameter * width / 2


def separation_force(
    *, clamp: Floats, bolts: Floats, load_factor: Floats, prying: Floats
) -> Floats:
    """Return the opening force of the whole cap joint at which the cap lifts [N].

    clamp: preload of each bolt less its share of crush F_V [N]. bolts: in the cap n [-].
    load_factor: share of the opening force that the bolt feels while the joint is shut Φ [-], 0 to
    below 1. prying: bolt load over the load on it, 1 pulled in its middle [-].
    n F_V / (k (1 - Φ)). Exact for an elastic joint. Source: [SHIGLEY] section 8-7.
    """
    require("clamp", clamp, "0 N or more", lambda x: x >= 0)
    require("bolts", bolts, "1 or more", lambda x: x >= 1)
    _require_factors(load_factor, prying)
    return np.asarray(bolts) * clamp / (prying * (1 - np.asarray(load_factor)))


def bolt_load(
    *,
    opening_force: Floats,
    preload: Floats,
    bolts: Floats,
    load_factor: Floats,
    prying: Floats,
) -> Floats:
    """Return the tension in each bolt [N].

    opening_force: on the whole joint F, `rod_bolts` of the forces [N]; below 0 it presses the joint
    shut. preload: of each bolt F_V [N]. The rest as in `separation_force`.
    The greater of F_V + k Φ F/n, joint shut, and k F/n, joint open. Exact for an elastic joint.
    Source: [SHIGLEY] section 8-7.
    """
    require("opening force", opening_force, "a finite force in N", np.isfinite)
    require_positive("preload", preload, "N")
    require("bolts", bolts, "1 or more", lambda x: x >= 1)
    _require_factors(load_factor, prying)
    each = prying * np.asarray(opening_force) / bolts
    return np.maximum(preload + load_factor * each, each)


def _require_factors(load_factor: Floats, prying: Floats) -> None:
    require("load factor", load_factor, "0 to below 1", lambda x: (x >= 0) & (x < 1))
    require("prying", prying, "1 or more", lambda x: x >= 1)


def preload_from_stretch(
    *, stretch: Floats, length: Floats, area: Floats, elastic_modulus: Floats
) -> Floats:
    """Return the preload of a bolt by how much longer tightening made it [N].

    stretch: ΔL, length: over which it stretches L [m]. area: mean section over that length A [m²].
    elastic_modulus: E [Pa]. E A ΔL / L. Exact while elastic. Source: [BICKFORD].
    """
    require_positive("stretch", stretch, "m")
    require_positive("length", length, "m")
    require_positive("area", area, "m²")
    require_positive("elastic modulus", elastic_modulus, "Pa")
    return np.asarray(elastic_modulus) * area * stretch / length
