"""Rod bolts: load in service, opening of the cap joint, and how much of both limits is used.

Safety note: a rod bolt that fails destroys the engine. Fit and tighten by the maker's data.
The load is taken along the bolts and evenly shared; bending of the cap adds stress that is not
in it. Estimates, not a guarantee.
"""

from dataclasses import dataclass

import numpy as np

from torquerisk.physics.arrays import Floats, require, require_positive


@dataclass(frozen=True, kw_only=True, eq=False)
class RodBoltState:
    """State of each rod bolt under the opening force; broadcast shape of the inputs."""

    bolt_load: Floats
    """Tension in each bolt [N]."""
    clamp: Floats
    """Clamp left in the joint at each bolt, 0 once it opens [N]."""
    opening_utilisation: Floats
    """Opening force over the force that opens the joint [-], 1 as the cap starts to lift."""
    strength_utilisation: Floats
    """Tension over proof load [-], 1 at the limit."""
    stress_amplitude: Floats
    """Half the stress swing between no opening force and this one [Pa]."""


def separation_force(*, preload: Floats, bolts: Floats, load_factor: Floats) -> Floats:
    """Return the opening force of the whole cap joint at which the cap lifts [N].

    preload: of each bolt F_V [N], at its lowest. bolts: in the cap n [-]. load_factor: share of
    the opening force that the bolt feels while the joint is shut Φ [-], 0 to below 1.
    n F_V / (1 - Φ). Exact for an elastic joint pulled in its middle.
    Source: [SHIGLEY] section 8-7.
    """
    require_positive("preload", preload, "N")
    require("bolts", bolts, "1 or more", lambda x: x >= 1)
    require("load factor", load_factor, "0 to below 1", lambda x: (x >= 0) & (x < 1))
    return np.asarray(bolts) * preload / (1 - np.asarray(load_factor))


def rod_bolt_state(
    *,
    opening_force: Floats,
    preload: Floats,
    bolts: Floats,
    load_factor: Floats,
    stress_area: Floats,
    proof_strength: Floats,
) -> RodBoltState:
    """Return tension, clamp and utilisations of the rod bolts.

    opening_force: on the whole joint, `rod_bolts` of the forces [N]; below 0 it presses the
    joint shut. preload, bolts, load_factor as in `separation_force`. stress_area: A_s of each
    bolt [m²]. proof_strength: S_p [Pa].
    Joint shut: F_V + Φ F/n and F_V - (1 - Φ) F/n; joint open: F/n and 0. Exact for an elastic
    joint pulled in its middle. Source: [SHIGLEY] section 8-7.
    """
    require("opening force", opening_force, "a finite force in N", np.isfinite)
    require_positive("stress area", stress_area, "m²")
    require_positive("proof strength", proof_strength, "Pa")
    lift = separation_force(preload=preload, bolts=bolts, load_factor=load_factor)
    each = np.asarray(opening_force) / bolts
    shut = preload + load_factor * each
    load = np.maximum(shut, each)
    return RodBoltState(
        bolt_load=load,
        clamp=np.maximum(preload - (1 - np.asarray(load_factor)) * each, 0.0),
        opening_utilisation=np.maximum(opening_force, 0.0) / lift,
        strength_utilisation=load / (np.asarray(proof_strength) * stress_area),
        stress_amplitude=np.maximum(load - preload, 0.0) / (2 * np.asarray(stress_area)),
    )
