"""Fatigue of fasteners, by two philosophies that differ by about three and must not be mixed.

VDI 2230: an amplitude limit of the thread, nearly free of mean stress and class; the default.
Shigley: a fully corrected endurance strength with a mean-stress line; functions end in `_shigley`.
"""

import numpy as np
import numpy.typing as npt

from torquerisk.errors import InputError
from torquerisk.physics.arrays import Array, Floats, require, require_positive

ENDURANCE_CYCLES_VDI2230 = 2e6
"""Cycles from which the amplitude limit holds for ever. Source: [VDI2230]."""

ENDURANCE_STRENGTH_SHIGLEY: dict[str, float] = {
    "SAE grade 5": 18.6 * 6.894757293168361e6,
    "SAE grade 8": 23.2 * 6.894757293168361e6,
    "8.8": 129e6,
    "9.8": 140e6,
    "10.9": 162e6,
    "12.9": 190e6,
}
"""S_e [Pa], rolled thread, axial, fully corrected. Source: [SHIGLEY] Table 8-17."""


def stress_amplitude(highest_load: Floats, lowest_load: Floats, *, area: Floats) -> Array:
    """Return the stress amplitude in a fastener, (F_max - F_min)/(2 A) [Pa].

    highest_load, lowest_load: per fastener over the cycle [N], see `joint.fastener_load`, which
    knows of separation; area: A_s [m^2]. Exact. Source: [VDI2230] R9.
    """
    require_positive("area", area, "m^2")
    span = np.asarray(highest_load, dtype=float) - np.asarray(lowest_load)
    require("highest_load - lowest_load", span, "0 N or more", lambda x: x >= 0)
    return span / (2 * np.asarray(area))


def amplitude_limit_vdi2230(nominal_diameter: Floats) -> Array:
    """Return the endurable stress amplitude, thread rolled before heat treatment, sigma_ASV [Pa].

    nominal_diameter: d [m], up to 40 mm. 0.85 (150/d[mm] + 45) MPa for 2e6 cycles or more.
    Fitted; 1 % failure. Source: [VDI2230] section 5.5.3.
    """
    require("nominal_diameter", nominal_diameter, "5 to 40 mm, in m", _diameter_range)
    return 0.85 * (150 / (np.asarray(nominal_diameter, dtype=float) * 1e3) + 45) * 1e6


def _diameter_range(diameter: Array) -> npt.NDArray[np.bool_]:
    """Say for which diameters [m] the amplitude limit was fitted."""
    return (diameter >= 5e-3 * (1 - 1e-9)) & (diameter <= 40e-3 * (1 + 1e-9))


def amplitude_limit_rolled_after_vdi2230(nominal_diameter: Floats, *, mean_load: Floats) -> Array:
    """Return the endurable amplitude of a thread rolled after heat treatment, sigma_ASG [Pa].

    nominal_diameter: d [m]; mean_load: mean load over the load at yield, F_Sm/F_0.2 [-], 0.3 to 1.
    (2 - F_Sm/F_0.2) sigma_ASV. Fitted. Source: [VDI2230] section 5.5.3.
    """
    require("mean_load", mean_load, "from 0.3 to 1", lambda x: (x >= 0.3) & (x <= 1))
    return (2 - np.asarray(mean_load)) * amplitude_limit_vdi2230(nominal_diameter)


def amplitude_limit_finite_vdi2230(endurance_limit: Floats, *, cycles: Floats) -> Array:
    """Return the endurable amplitude for a finite number of cycles [Pa].

    endurance_limit: sigma_ASV [Pa]; cycles: N, 1e4 or more; from 2e6 on the limit itself.
    sigma_ASV (2e6/N)^(1/3), thread rolled before heat treatment.
    Fitted. Source: [VDI2230] section 5.5.3, from memory.
    """
    require("cycles", cycles, "10 000 or more", lambda x: x >= 1e4)
    ratio = np.maximum(ENDURANCE_CYCLES_VDI2230 / np.asarray(cycles, dtype=float), 1.0)
    return np.asarray(endurance_limit) * ratio ** (1 / 3)


def endurance_strength_shigley(class_name: str) -> float:
    """Return the fully corrected endurance strength of a rolled thread, S_e [Pa].

    class_name: as `StrengthClass.name`. Only for the `_shigley` functions.
    Source: [SHIGLEY] Table 8-17. Raises InputError listing the classes.
    """
    if class_name not in ENDURANCE_STRENGTH_SHIGLEY:
        known = ", ".join(ENDURANCE_STRENGTH_SHIGLEY)
        raise InputError(
            f"property class is {class_name!r}, but an endurance strength is listed for {known}."
        )
    return ENDURANCE_STRENGTH_SHIGLEY[class_name]


def _require_preloaded(amplitude: Floats, preload_stress: Floats, strength: Floats) -> None:
    """Refuse an amplitude that is not positive or a preload stress at or beyond the strength."""
    require_positive("amplitude", amplitude, "Pa")
    spare = np.asarray(strength, dtype=float) - np.asarray(preload_stress)
    require("strength - preload_stress", spare, "above 0 Pa", lambda x: x > 0)


def goodman_safety_shigley(
    *,
    amplitude: Floats,
    preload_stress: Floats,
    endurance_strength: Floats,
    tensile_strength: Floats,
) -> Array:
    """Return the fatigue safety by Goodman, load from zero on a preload, n_f [-].

    amplitude: s_a [Pa]; preload_stress: s_i [Pa]; endurance_strength: S_e [Pa];
    tensile_strength: S_ut [Pa]. S_e (S_ut - s_i)/(s_a (S_ut + S_e)). Source: [SHIGLEY] eq 8-45.
    """
    _require_preloaded(amplitude, preload_stress, tensile_strength)
    se, sut = np.asarray(endurance_strength, dtype=float), np.asarray(tensile_strength)
    return se * (sut - np.asarray(preload_stress)) / (np.asarray(amplitude) * (sut + se))


def gerber_safety_shigley(
    *,
    amplitude: Floats,
    preload_stress: Floats,
    endurance_strength: Floats,
    tensile_strength: Floats,
) -> Array:
    """Return the fatigue safety by Gerber, load from zero on a preload, n_f [-].

    Arguments as `goodman_safety_shigley`.
    [S_ut sqrt(S_ut^2 + 4 S_e (S_e + s_i)) - S_ut^2 - 2 s_i S_e]/(2 s_a S_e).
    Source: [SHIGLEY] eq 8-46.
    """
    _require_preloaded(amplitude, preload_stress, tensile_strength)
    se, sut = np.asarray(endurance_strength, dtype=float), np.asarray(tensile_strength)
    si = np.asarray(preload_stress)
    root = sut * np.sqrt(sut**2 + 4 * se * (se + si))
    return (root - sut**2 - 2 * si * se) / (2 * np.asarray(amplitude) * se)


def elliptic_safety_shigley(
    *,
    amplitude: Floats,
    preload_stress: Floats,
    endurance_strength: Floats,
    proof_stress: Floats,
) -> Array:
    """Return the fatigue safety by the ASME ellipse, load from zero on a preload, n_f [-].

    amplitude: s_a [Pa]; preload_stress: s_i [Pa]; endurance_strength: S_e [Pa]; proof_stress: S_p
    [Pa]. S_e [S_p sqrt(S_p^2 + S_e^2 - s_i^2) - s_i S_e]/(s_a (S_p^2 + S_e^2)).
    Source: [SHIGLEY] eq 8-47.
    """
    _require_preloaded(amplitude, preload_stress, proof_stress)
    se, sp = np.asarray(endurance_strength, dtype=float), np.asarray(proof_stress)
    si = np.asarray(preload_stress)
    reach = sp * np.sqrt(sp**2 + se**2 - si**2) - si * se
    return se * reach / (np.asarray(amplitude) * (sp**2 + se**2))


def proof_safety_shigley(
    *, amplitude: Floats, preload_stress: Floats, proof_stress: Floats
) -> Array:
    """Return the safety against first-cycle yield, load from zero on a preload [-].

    amplitude: s_a [Pa]; preload_stress: s_i [Pa]; proof_stress: S_p [Pa]. (S_p - s_i)/(2 s_a): the
    load line meets the proof line. Source: [SHIGLEY] section 8-11.
    """
    _require_preloaded(amplitude, preload_stress, proof_stress)
    return (np.asarray(proof_stress, dtype=float) - np.asarray(preload_stress)) / (
        2 * np.asarray(amplitude)
    )


def preload_cap_shigley(
    *, joint_constant: Floats, tensile_strength: Floats, stress_area: Floats
) -> Array:
    """Return the preload above which the fatigue lines do not hold, F_i [N].

    joint_constant: C [-]; tensile_strength: S_ut [Pa]; stress_area: A_t [m^2].
    (1 - C) S_ut A_t. Source: [SHIGLEY] eq 8-50.
    """
    require("joint_constant", joint_constant, "from 0 to 1", lambda x: (x >= 0) & (x <= 1))
    strength = np.asarray(tensile_strength, dtype=float) * np.asarray(stress_area)
    return (1 - np.asarray(joint_constant)) * strength
