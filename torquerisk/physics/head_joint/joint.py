"""The clamped head joint under gas force: clamp, lift, and what the fasteners carry.

The gas force acts inside the sealing diameter. The cylinder's own ring loses a share of it, its
fasteners gain another and neighbours bear the rest, see `head_beam`; in a joint that stands alone
the shares are 1 - Phi and Phi. All forces are of one cylinder [N] unless a name says "per
fastener"; everything broadcasts.
"""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_between, require_positive
from torquerisk.physics.head_joint.screw_thread import ScrewThread
from torquerisk.physics.head_joint.tightening import torsion_over_tension


def sealing_area(sealing_diameter: Floats) -> Array:
    """Return the area inside the sealing diameter, pi/4 D^2 [m^2].

    sealing_diameter: mean diameter D of the combustion bead or ring [m]. Exact. Source: identity.
    """
    require_positive("sealing_diameter", sealing_diameter, "m")
    return np.pi / 4 * np.asarray(sealing_diameter, dtype=float) ** 2


def _require_shares(own_share: Floats, ring_share: Floats, least_line_load: Floats) -> None:
    """Refuse an own share, ring share or line load that makes no sense."""
    require("own_share", own_share, "above 0 [-]", lambda x: (x > 0) & np.isfinite(x))
    require("ring_share", ring_share, "above 0 and at most 1", lambda x: (x > 0) & (x <= 1))
    require("least_line_load", least_line_load, "0 N/m or more", lambda x: x >= 0)


def lift_gas_force(
    clamp: Floats,
    *,
    own_share: Floats,
    sealing_diameter: Floats,
    ring_share: Floats = 1.0,
    least_line_load: Floats = 0.0,
) -> Array:
    """Return the gas force at which the sealing ring is down to a least line load [N].

    clamp: F_K of the cylinder [N]; own_share: of the gas force that its ring loses, from
    `head_beam`, 1 - Phi for a joint that stands alone [-]; sealing_diameter: D [m]; ring_share: s,
    share of the clamp that reaches the ring and not other beads, 1 when left out; least_line_load:
    q_min [N/m].
    F = (s F_K - q_min pi D)/own_share. Negative: the ring is below it even without gas force.
    Exact for a linear joint. Source: [VDI2230] R2, [SHIGLEY] eq 8-30; ring share [PRACTICE].
    """
    _require_shares(own_share, ring_share, least_line_load)
    require("clamp", clamp, "0 N or more", lambda x: x >= 0)
    require_positive("sealing_diameter", sealing_diameter, "m")
    needed = np.asarray(least_line_load) * np.pi * np.asarray(sealing_diameter)
    spare = np.asarray(ring_share) * np.asarray(clamp, dtype=float) - needed
    return np.asarray(spare / np.asarray(own_share))


def ring_clamp_left(
    gas_force: Floats, *, clamp: Floats, own_share: Floats, ring_share: Floats = 1.0
) -> Array:
    """Return the clamp left on the sealing ring under a gas force [N]; 0 once it is open.

    gas_force: F [N], 0 for the assembled joint; others as `lift_gas_force`.
    s F_K - own_share F, not below 0. Source: [VDI2230] R2; ring share [PRACTICE].
    """
    _require_shares(own_share, ring_share, 0.0)
    require("gas_force", gas_force, "finite [N]", np.isfinite)
    require("clamp", clamp, "0 N or more", lambda x: x >= 0)
    left = np.asarray(ring_share) * np.asarray(clamp, dtype=float)
    return np.maximum(left - np.asarray(own_share) * np.asarray(gas_force), 0.0)


def preload_required(
    gas_force: Floats,
    *,
    effective_count: Floats,
    own_share: Floats,
    sealing_diameter: Floats,
    ring_share: Floats = 1.0,
    least_line_load: Floats = 0.0,
) -> Array:
    """Return the preload in service per fastener that just holds a gas force, F_V [N].

    effective_count: fasteners that clamp the ring, from `head_beam` or a count [-]; others as
    `lift_gas_force`, its inverse: (own_share F + q_min pi D)/(s N). Source: [VDI2230] R2.
    """
    _require_shares(own_share, ring_share, least_line_load)
    require_positive("effective_count", effective_count, "fasteners")
    require_positive("sealing_diameter", sealing_diameter, "m")
    sealing = np.asarray(least_line_load) * np.pi * np.asarray(sealing_diameter)
    asked = np.asarray(own_share) * np.asarray(gas_force, dtype=float) + sealing
    return asked / (np.asarray(ring_share) * np.asarray(effective_count))


def fastener_load(
    gas_force: Floats,
    *,
    preload_per_fastener: Floats,
    gain: Floats,
    gain_open: Floats = 0.0,
    opens: Floats = np.inf,
) -> Array:
    """Return the load in a fastener under a gas force, F_S [N].

    gas_force: F of the cylinder [N]; preload_per_fastener: F_V [N]; gain, gain_open: what one
    newton of gas force adds to it while the ring is closed and once it has lifted [-], from
    `head_beam`; in a joint of N fasteners that stands alone Phi/N and 1/N; opens: gas force at
    which the ring lifts [N], never when left out.
    F_V + gain min(F, opens) + gain_open (F - opens). Source: [SHIGLEY] section 8-7, [VDI2230].
    """
    require("gas_force", gas_force, "finite [N]", np.isfinite)
    require("preload_per_fastener", preload_per_fastener, "0 N or more", lambda x: x >= 0)
    require("gain", gain, "above 0 [-]", lambda x: x > 0)
    force = np.asarray(gas_force, dtype=float)
    closed = np.asarray(preload_per_fastener) + np.asarray(gain) * np.minimum(force, opens)
    return np.asarray(closed + np.asarray(gain_open) * np.maximum(force - np.asarray(opens), 0.0))


def gas_force_at_fastener_load(
    load_per_fastener: Floats, *, preload_per_fastener: Floats, gain: Floats
) -> Array:
    """Return the gas force of one cylinder that brings a fastener to a load, ring closed [N].

    Inverse of `fastener_load` with a ring that stays closed. Negative: the preload alone is more.
    Source: [SHIGLEY] section 8-7.
    """
    require("gain", gain, "above 0 [-]", lambda x: x > 0)
    added = np.asarray(load_per_fastener, dtype=float) - np.asarray(preload_per_fastener)
    return np.asarray(added / np.asarray(gain))


def fastener_load_at_yield(
    *,
    thread: ScrewThread,
    yield_strength: Floats,
    assembly_preload: Floats,
    thread_friction: Floats,
    torsion_kept: Floats = 0.5,
    shank_diameter: Floats | None = None,
) -> Array:
    """Return the load at which a fastener yields in service, F_S [N].

    yield_strength: R_p0.2 [Pa]; assembly_preload: F_M, whose twist is partly left [N];
    thread_friction: mu_G [-]; torsion_kept: k_tau, 0.5 in service [-]; shank_diameter: waist [m].
    A sqrt(R^2 - 3 (k_tau tau)^2), tau from fully plastic torsion. Source: [VDI2230] R8.
    Raises OutOfRangeError when the twist alone would yield it.
    """
    require_positive("yield_strength", yield_strength, "Pa")
    require_between("torsion_kept", torsion_kept, 0, 1)
    ratio, area = torsion_over_tension(thread, thread_friction, shank_diameter)
    shear = np.asarray(torsion_kept) * ratio * np.asarray(assembly_preload, dtype=float) / area
    left = np.asarray(yield_strength, dtype=float) ** 2 - 3 * shear**2
    require("assembly_preload", left, "low enough for its twist not to yield", lambda x: x > 0)
    return area * np.sqrt(left)
