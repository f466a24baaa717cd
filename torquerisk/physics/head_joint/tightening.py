"""Torque and preload, and how far a fastener is strained while it is tightened.

Two long forms are kept apart: VDI 2230 (Motosh: pitch diameter, bearing face by its two diameters)
and Shigley (mean of nominal and minor diameter, collar at 1.25 d). Friction and preload broadcast.
"""

import numpy as np

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.arrays import Array, Floats, require, require_between, require_positive
from torquerisk.physics.head_joint.screw_thread import ScrewThread

_COS_30 = float(np.cos(np.pi / 6))


def _require_friction(argument: str, value: Floats) -> None:
    """Refuse a coefficient of friction outside what dry to greased steel can show."""
    require_between(argument, value, 0, 0.6, "(no unit)")


def thread_torque(preload: Floats, *, thread: ScrewThread, thread_friction: Floats) -> Array:
    """Return the torque carried by the thread, which twists the shank, M_G [N*m].

    preload: F_M [N]; thread_friction: mu_G [-].
    M_G = F_M (P/(2 pi) + d2 mu_G/(2 cos 30)); printed rounded as 0.16 P + 0.58 d2 mu_G.
    Linear in friction: at most 2 % below the exact wedge up to mu_G 0.3. Source: [VDI2230] R13.
    """
    _require_friction("thread_friction", thread_friction)
    arm = thread.pitch / (2 * np.pi) + thread.pitch_diameter * np.asarray(thread_friction) / (
        2 * _COS_30
    )
    return np.asarray(preload, dtype=float) * arm


def head_torque(preload: Floats, *, thread: ScrewThread, head_friction: Floats) -> Array:
    """Return the torque lost under the turned head or nut, M_K [N*m].

    preload: F_M [N]; head_friction: mu_K [-]. M_K = F_M mu_K D_Km/2. Source: [VDI2230] R13.
    """
    _require_friction("head_friction", head_friction)
    arm = np.asarray(head_friction) * thread.bearing_mean_diameter / 2
    return np.asarray(preload, dtype=float) * arm


def torque_from_preload(
    preload: Floats, thread: ScrewThread, thread_friction: Floats, head_friction: Floats
) -> Array:
    """Return the tightening torque that gives a preload, M_A [N*m].

    preload: F_M [N], 0 or more; thread_friction: mu_G [-]; head_friction: mu_K [-].
    M_A = F_M (P/(2 pi) + d2 mu_G/(2 cos 30) + mu_K D_Km/2). Source: [VDI2230] R13, [ISO16047].
    """
    require("preload", preload, "0 N or more", lambda x: (x >= 0) & np.isfinite(x))
    twist = thread_torque(preload, thread=thread, thread_friction=thread_friction)
    return twist + head_torque(preload, thread=thread, head_friction=head_friction)


def preload_from_torque(
    torque: Floats, thread: ScrewThread, thread_friction: Floats, head_friction: Floats
) -> Array:
    """Return the preload that a tightening torque gives, F_M [N], with no cap at yield.

    torque: M_A [N*m], 0 or more; thread_friction: mu_G [-]; head_friction: mu_K [-].
    Inverse of `torque_from_preload`; valid while the fastener stays elastic: compare with
    `preload_at_yield`. Source: [VDI2230] R13, [ISO16047].
    """
    require("torque", torque, "0 N*m or more", lambda x: (x >= 0) & np.isfinite(x))
    arm = torque_from_preload(1.0, thread, thread_friction, head_friction)
    return np.asarray(torque, dtype=float) / arm


def _strained_section(thread: ScrewThread, shank_diameter: Floats | None) -> tuple[Array, Array]:
    """Return diameter d0 [m] and area A0 [m^2] of the section that yields first."""
    if shank_diameter is None:
        return np.asarray(thread.stress_diameter), np.asarray(thread.stress_area)
    require_positive("shank_diameter", shank_diameter, "m")
    waist = np.minimum(np.asarray(shank_diameter, dtype=float), thread.stress_diameter)
    return waist, np.pi / 4 * waist**2


def torsion_over_tension(
    thread: ScrewThread, thread_friction: Floats, shank_diameter: Floats | None = None
) -> tuple[Array, Array]:
    """Return shear over tensile stress while tightening, tau/sigma [-], and the area A0 [m^2].

    thread_friction: mu_G [-]; shank_diameter: waist of a necked stud [m], None for the thread.
    Fully plastic torsion of the section that yields first: tau = M_G/(pi d0^3/12).
    Source: [VDI2230] (2001 and later) section 5.5.2.
    """
    diameter, area = _strained_section(thread, shank_diameter)
    twist = thread_torque(1.0, thread=thread, thread_friction=thread_friction)
    return twist * area / (np.pi / 12 * diameter**3), area


def preload_at_yield(
    *,
    thread: ScrewThread,
    yield_strength: Floats,
    thread_friction: Floats,
    utilisation: Floats = 1.0,
    shank_diameter: Floats | None = None,
) -> Array:
    """Return the assembly preload at which tightening reaches a share of yield, F_M [N].

    yield_strength: R_p0.2 [Pa]; thread_friction: mu_G [-]; utilisation: nu [-], 1 for yield,
    0.9 in the standard's tables; shank_diameter: waist of a necked stud [m], None for the thread.
    F_M = nu R_p0.2 A0/sqrt(1 + 3 (1.5 d2/d0 (P/(pi d2) + 1.155 mu_G))^2): von Mises with fully
    plastic torsion. Exact within the model. Source: [VDI2230] (2001 and later) section 5.5.2; the
    1986 edition took elastic torsion and is about 7 % lower.
    """
    require_positive("yield_strength", yield_strength, "Pa")
    require("utilisation", utilisation, "above 0 and at most 1", lambda x: (x > 0) & (x <= 1))
    ratio, area = torsion_over_tension(thread, thread_friction, shank_diameter)
    equivalent = np.asarray(utilisation) * np.asarray(yield_strength)
    return equivalent * area / np.sqrt(1 + 3 * ratio**2)


def yield_utilisation_tightening(
    preload: Floats,
    *,
    thread: ScrewThread,
    yield_strength: Floats,
    thread_friction: Floats,
    shank_diameter: Floats | None = None,
    torsion_kept: Floats = 1.0,
) -> Array:
    """Return von Mises stress over yield from preload and twist [-].

    preload: F_M [N]; yield_strength: R_p0.2 [Pa]; thread_friction: mu_G [-]; shank_diameter:
    waist of a necked stud [m]; torsion_kept: k_tau, 1 while tightening, 0.5 in service [-].
    sigma_red = sqrt(sigma^2 + 3 (k_tau tau)^2). Source: [VDI2230] R8 and section 5.5.2.
    """
    require_positive("yield_strength", yield_strength, "Pa")
    require_between("torsion_kept", torsion_kept, 0, 1)
    ratio, area = torsion_over_tension(thread, thread_friction, shank_diameter)
    tension = np.asarray(preload, dtype=float) / area
    shear = np.asarray(torsion_kept) * ratio
    return tension * np.sqrt(1 + 3 * shear**2) / np.asarray(yield_strength)


def preload_from_angle(
    angle: Floats,
    *,
    thread: ScrewThread,
    snug_preload: Floats,
    fastener_compliance: Floats,
    member_compliance: Floats,
    yield_preload: Floats,
) -> Array:
    """Return the preload after turning on from snug, F [N].

    angle: turn past the snug torque [rad], 0 or more; snug_preload: from the snug torque [N];
    fastener_compliance: delta_S [m/N]; member_compliance: delta_P with any gasket [m/N];
    yield_preload: `preload_at_yield` [N]. Elastic: F = F_snug + angle P/(2 pi (delta_S +
    delta_P)); past yield it stays at yield_preload (no strain hardening: real fasteners gain a few
    per cent).
    Exact for rigid seating; snug must have closed the joint. Source: [BICKFORD], [WENTZELL] 6.2.
    """
    require("angle", angle, "0 rad or more", lambda x: (x >= 0) & np.isfinite(x))
    require("snug_preload", snug_preload, "0 N or more", lambda x: (x >= 0) & np.isfinite(x))
    require_positive("fastener_compliance", fastener_compliance, "m/N")
    require("member_compliance", member_compliance, "0 m/N or more", lambda x: x >= 0)
    travel = np.asarray(angle) * thread.pitch / (2 * np.pi)
    stretch = np.asarray(fastener_compliance) + np.asarray(member_compliance)
    require_positive("yield_preload", yield_preload, "N")
    return np.minimum(np.asarray(snug_preload) + travel / stretch, yield_preload)


def angle_from_preload(
    preload: Floats,
    *,
    thread: ScrewThread,
    snug_preload: Floats,
    fastener_compliance: Floats,
    member_compliance: Floats,
) -> Array:
    """Return the turn past snug that gives an elastic preload [rad].

    preload: F [N], at least the snug preload; others as in `preload_from_angle`.
    angle = 2 pi (F - F_snug)(delta_S + delta_P)/P. Source: [BICKFORD], [WENTZELL] 6.2.
    """
    gain = np.asarray(preload, dtype=float) - np.asarray(snug_preload)
    if np.any(gain < 0):
        raise OutOfRangeError("preload", "below the snug preload", "at least the snug preload")
    stretch = np.asarray(fastener_compliance) + np.asarray(member_compliance)
    return gain * stretch * 2 * np.pi / thread.pitch
