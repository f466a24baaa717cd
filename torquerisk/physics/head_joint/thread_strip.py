"""Strip of the thread in the block or on the stud, and pressure under the head.

The shear areas of FED-STD-H28/2 and VDI 2230 are one formula; they differ in what they make of it:
the first multiplies by shear strength, the second also by factors for bending of the threads and
takes off the run-out. No published worked number was found, so these are checked by identity.
"""

from dataclasses import dataclass

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_between, require_positive
from torquerisk.physics.head_joint.screw_thread import ScrewThread, larger_for_insert

_TAN_30 = float(np.tan(np.pi / 6))
_RUN_OUT_PITCHES = 0.8
"""Thread at the mouth that carries nothing, in pitches. Source: [VDI2230] section 5.5.5."""


@dataclass(frozen=True, kw_only=True)
class ThreadLimits:
    """Loosest fit of a thread pair: the limits that shear areas are taken at [m]."""

    major_least: float
    """d_min of the stud."""
    pitch_least: float
    """d2_min of the stud."""
    internal_minor_most: float
    """D1_max of the hole."""
    internal_pitch_most: float
    """D2_max of the hole."""


def thread_limits_6h_6g(thread: ScrewThread) -> ThreadLimits:
    """Return the limits of the medium fit, hole 6H and stud 6g.

    thread: metric; for inch threads the same formulas stand in for 2B and 2A (within 0.02 mm).
    In um with P, d in mm: es = 15 + 11 P; T_d = 180 P^(2/3) - 3.15/sqrt P; T_d2 = 90 P^0.4 d^0.1;
    T_D2 = 1.32 T_d2; T_D1 = 230 P^0.7, or 433 P - 190 P^1.22 below 1 mm. Not rounded to the
    standard's preferred numbers: within 0.011 mm of the printed limits. Source: [ISO965].
    """
    p, d = thread.pitch * 1e3, thread.nominal_diameter * 1e3
    allowance = 15 + 11 * p
    stud_pitch = 90 * p**0.4 * d**0.1
    stud_major = 180 * p ** (2 / 3) - 3.15 / np.sqrt(p)
    hole_minor = 230 * p**0.7 if p >= 1 else 433 * p - 190 * p**1.22
    return ThreadLimits(
        major_least=thread.nominal_diameter - (allowance + stud_major) * 1e-6,
        pitch_least=thread.pitch_diameter - (allowance + stud_pitch) * 1e-6,
        internal_minor_most=thread.internal_minor_diameter + hole_minor * 1e-6,
        internal_pitch_most=thread.pitch_diameter + 1.32 * stud_pitch * 1e-6,
    )


def external_shear_area(
    engagement: Floats, *, thread: ScrewThread, limits: ThreadLimits | None = None
) -> Array:
    """Return the area in which the thread of the stud shears, A_SG,S [m^2].

    engagement: L_e [m], 0 or more; limits: of the fit, medium when left out.
    pi D1max (L_e/P) [P/2 + (d2min - D1max) tan 30]. Exact.
    Source: [FED-STD-H28], [VDI2230] section 5.5.5.
    """
    require("engagement", engagement, "0 m or more", lambda x: x >= 0)
    fit = limits or thread_limits_6h_6g(thread)
    width = thread.pitch / 2 + (fit.pitch_least - fit.internal_minor_most) * _TAN_30
    turns = np.asarray(engagement, dtype=float) / thread.pitch
    return np.pi * fit.internal_minor_most * turns * width


def internal_shear_area(
    engagement: Floats, *, thread: ScrewThread, limits: ThreadLimits | None = None
) -> Array:
    """Return the area in which the thread of the block shears, A_SG,M [m^2].

    engagement: L_e [m], 0 or more; limits: of the fit, medium when left out.
    pi dmin (L_e/P) [P/2 + (dmin - D2max) tan 30]. Exact.
    Source: [FED-STD-H28], [VDI2230] section 5.5.5.
    """
    require("engagement", engagement, "0 m or more", lambda x: x >= 0)
    fit = limits or thread_limits_6h_6g(thread)
    width = thread.pitch / 2 + (fit.major_least - fit.internal_pitch_most) * _TAN_30
    turns = np.asarray(engagement, dtype=float) / thread.pitch
    return np.pi * fit.major_least * turns * width


def _shear_strength(tensile_strength: Floats, shear_ratio: Floats) -> Array:
    """Return tau_B [Pa]."""
    require_positive("tensile_strength", tensile_strength, "Pa")
    require_between("shear_ratio", shear_ratio, 0.4, 1.2)
    return np.asarray(tensile_strength, dtype=float) * np.asarray(shear_ratio)


def strip_load_vdi2230(
    engagement: Floats,
    *,
    thread: ScrewThread,
    block_tensile_strength: Floats,
    block_shear_ratio: Floats,
    stud_tensile_strength: Floats,
    stud_shear_ratio: Floats = 0.6,
) -> Array:
    """Return the load at which the weaker of the two threads strips, F_mGM or F_mGS [N].

    engagement: in all [m], of which 0.8 P at the mouth carries nothing; strengths R_m [Pa] and
    tau_B/R_m [-] of block and stud. With R = block strength/stud strength: stud factor
    C2 = 5.594 - 13.682 R + 14.107 R^2 - 6.057 R^3 + 0.9353 R^4 (1 < R < 2.2, else 0.897 below),
    block factor C3 = 0.728 + 1.769 R - 2.896 R^2 + 1.296 R^3 (0.4 < R < 1, 0.897 above). Outside
    the fits this takes R at their ends, and never a factor above 1, which the standard leaves open.
    C1 (a nut that spreads) is 1 in a block. Fitted. Source: [VDI2230] section 5.5.5, from memory.
    """
    carrying = np.asarray(engagement, dtype=float) - _RUN_OUT_PITCHES * thread.pitch
    require("engagement - 0.8 pitches", carrying, "above 0 m", lambda x: x > 0)
    block = internal_shear_area(carrying, thread=thread) * _shear_strength(
        block_tensile_strength, block_shear_ratio
    )
    stud = external_shear_area(carrying, thread=thread) * _shear_strength(
        stud_tensile_strength, stud_shear_ratio
    )
    ratio = block / stud
    return np.minimum(block * _block_bending(ratio), stud * _stud_bending(ratio))


INSERT_TENSILE_STRENGTH = 1400e6
"""Tensile strength of the wire of a thread insert, cold-drawn austenitic steel [Pa]. From memory.

Source: [DIN8140].
"""


def strip_load_insert(
    engagement: Floats,
    *,
    thread: ScrewThread,
    block_tensile_strength: Floats,
    block_shear_ratio: Floats,
    stud_tensile_strength: Floats,
) -> Array:
    """Return the load at which a thread insert strips from the block, or the stud from it [N].

    engagement: length of the insert [m]; others as `strip_load_vdi2230`. The weaker of the insert
    in the block, on `larger_for_insert`, and the stud in the insert. Derived. Source: [VDI2230]
    section 5.5.5.
    """
    in_block = strip_load_vdi2230(
        engagement,
        thread=larger_for_insert(thread),
        block_tensile_strength=block_tensile_strength,
        block_shear_ratio=block_shear_ratio,
        stud_tensile_strength=INSERT_TENSILE_STRENGTH,
    )
    on_stud = strip_load_vdi2230(
        engagement,
        thread=thread,
        block_tensile_strength=INSERT_TENSILE_STRENGTH,
        block_shear_ratio=0.6,
        stud_tensile_strength=stud_tensile_strength,
    )
    return np.minimum(in_block, on_stud)


def _stud_bending(ratio: Array) -> Array:
    """Return C2 of the stud's thread [-]."""
    r = np.clip(ratio, 1.0, 2.2)
    fit = 5.594 - 13.682 * r + 14.107 * r**2 - 6.057 * r**3 + 0.9353 * r**4
    return np.minimum(fit, 1.0)


def _block_bending(ratio: Array) -> Array:
    """Return C3 of the block's thread [-]."""
    r = np.clip(ratio, 0.4, 1.0)
    return np.minimum(0.728 + 1.769 * r - 2.896 * r**2 + 1.296 * r**3, 1.0)
