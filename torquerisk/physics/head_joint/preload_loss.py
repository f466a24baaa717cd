"""What a joint keeps of its assembly preload: embedding, gasket relaxation, warm-up."""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_between, require_positive


def embedding(*, threads: int = 1, inner_interfaces: int = 0) -> float:
    """Return the length lost as surfaces flatten under axial load, f_Z [m].

    threads: loaded thread pairs; inner_interfaces: metal on metal, such as a washer on the head.
    A gasket is not covered: its relaxation is apart. 3 um for each thread, 3 for the face under
    head or nut and 2 for each inner interface, of surfaces with Rz of 10 to 40 um. Fitted (tests
    scatter by half). Source: [VDI2230] Table 5, from memory.
    """
    return (3.0 * threads + 3.0 + 2.0 * inner_interfaces) * 1e-6


def preload_loss_embedding(
    embedding_length: Floats, *, fastener_compliance: Floats, member_compliance: Floats
) -> Array:
    """Return the preload lost to embedding, F_Z [N].

    embedding_length: f_Z [m]; fastener_compliance: delta_S [m/N]; member_compliance: delta_P [m/N].
    F_Z = f_Z/(delta_S + delta_P). Exact for a linear joint. Source: [VDI2230] R4.
    """
    require("embedding_length", embedding_length, "0 m or more", lambda x: x >= 0)
    require_positive("fastener_compliance", fastener_compliance, "m/N")
    give = np.asarray(fastener_compliance, dtype=float) + np.asarray(member_compliance)
    return np.asarray(embedding_length) / give


def preload_in_service(
    assembly_preload: Floats,
    *,
    embedding_loss: Floats = 0.0,
    gasket_relaxation: Floats = 0.0,
    thermal_change: Floats = 0.0,
    most: Floats = np.inf,
) -> Array:
    """Return the preload left per fastener, F_V [N]; 0 means loose.

    assembly_preload: F_M [N]; embedding_loss: F_Z [N]; gasket_relaxation: share of the preload lost
    as the gasket settles, 0 to 1 (0.05 to 0.10 common practice, no source); thermal_change: gain
    positive [N]; most: the preload at which the fastener yields [N], since it can't hold more.
    F_V = min(F_M (1 - relaxation) - F_Z + dF_th, most), not below 0.
    Source: [VDI2230] R4 and R5; relaxation [PRACTICE].
    """
    require("assembly_preload", assembly_preload, "0 N or more", lambda x: x >= 0)
    require("embedding_loss", embedding_loss, "0 N or more", lambda x: x >= 0)
    require_between("gasket_relaxation", gasket_relaxation, 0, 1)
    require("thermal_change", thermal_change, "finite [N]", np.isfinite)
    require("most", most, "above 0 N", lambda x: x > 0)
    kept = np.asarray(assembly_preload, dtype=float) * (1 - np.asarray(gasket_relaxation))
    left = kept - np.asarray(embedding_loss) + np.asarray(thermal_change)
    return np.clip(left, 0.0, most)


def preload_cold_again(cold_preload: Floats, *, thermal_gain: Floats, most: Floats) -> Array:
    """Return the preload when cold again after the first warm-up [N].

    cold_preload: F_V before the first warm-up [N]; thermal_gain: dF_th from cold to hot, negative
    where the head loses clamp [N]; most: preload at which the fastener yields [N], see
    `joint.fastener_load_at_yield`. What the fastener can't hold hot it loses for good:
    max(most - dF, 0) where F_V + dF > most.
    Exact without strain hardening. Source: [BICKFORD], in words.
    """
    require("cold_preload", cold_preload, "0 N or more", lambda x: x >= 0)
    require("thermal_gain", thermal_gain, "finite [N]", np.isfinite)
    require("most", most, "above 0 N", lambda x: x > 0)
    gain, bears = np.asarray(thermal_gain, dtype=float), np.asarray(most, dtype=float)
    kept = np.maximum(bears - gain, 0.0)
    return np.where(np.asarray(cold_preload) + gain > bears, kept, cold_preload)
