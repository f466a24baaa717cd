"""Bolted joints by other standards and by book, to hold the package's own against."""

import enum

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_positive
from torquerisk.physics.head_joint.tightening import _COS_30, _require_friction

_TAN_30 = 0.5774
"""tan 30 degrees as Shigley prints it, so that his worked answers come out."""

_COLLAR_SHIGLEY = 0.625
"""Mean collar diameter 1.25 d, halved. Source: [SHIGLEY] section 8-8."""


class WilemanMaterial(enum.Enum):
    """Material of both members for the finite-element fit."""

    STEEL = "steel"
    ALUMINIUM = "aluminium"
    GREY_IRON = "grey iron"
    GENERAL = "general"


_WILEMAN: dict[WilemanMaterial, tuple[float, float]] = {
    WilemanMaterial.STEEL: (0.78715, 0.62873),
    WilemanMaterial.ALUMINIUM: (0.79670, 0.63816),
    WilemanMaterial.GREY_IRON: (0.77871, 0.61616),
    WilemanMaterial.GENERAL: (0.78952, 0.62914),
}


def pair_stiffness_shigley(
    *, grip: Floats, nominal_diameter: Floats, elastic_modulus: Floats
) -> Array:
    """Return the stiffness of two like members with a washer face of 1.5 d, k_m [N/m].

    grip: l [m]; nominal_diameter: d [m]; elastic_modulus: E [Pa].
    k_m = 0.5774 pi E d/(2 ln[5 (0.5774 l + 0.5 d)/(0.5774 l + 2.5 d)]). Source: [SHIGLEY] eq 8-22.
    """
    require_positive("grip", grip, "m")
    d = np.asarray(nominal_diameter, dtype=float)
    reach = _TAN_30 * np.asarray(grip)
    ratio = 5 * (reach + 0.5 * d) / (reach + 2.5 * d)
    return _TAN_30 * np.pi * np.asarray(elastic_modulus) * d / (2 * np.log(ratio))


def member_stiffness_wileman(
    *,
    grip: Floats,
    nominal_diameter: Floats,
    elastic_modulus: Floats,
    material: WilemanMaterial = WilemanMaterial.GENERAL,
) -> Array:
    """Return the stiffness of members of one material from a finite-element fit, k_m [N/m].

    grip: l [m]; nominal_diameter: d [m], 0.1 to 2 of the grip; elastic_modulus: E [Pa].
    k_m = E d A exp(B d/l). Fitted for washer faces of 1.5 d. Source: [WILEMAN], [SHIGLEY] eq 8-23.
    """
    slenderness = np.asarray(nominal_diameter, dtype=float) / np.asarray(grip)
    require("nominal_diameter/grip", slenderness, "0.1 to 2", lambda x: (x >= 0.1) & (x <= 2))
    a, b = _WILEMAN[material]
    scale = np.asarray(elastic_modulus) * np.asarray(nominal_diameter)
    return scale * a * np.exp(b * slenderness)


def torque_coefficient_shigley(
    *,
    nominal_diameter: Floats,
    root_diameter: Floats,
    pitch: Floats,
    thread_friction: Floats,
    collar_friction: Floats,
) -> Array:
    """Return the torque coefficient K of the long form [-], so that T = K F d.

    nominal_diameter: d [m]; root_diameter: d_r [m]; pitch: p [m]; thread_friction: f;
    collar_friction: f_c. With d_m = (d + d_r)/2, tan L = p/(pi d_m), a = 30 degrees:
    K = d_m/(2 d) (tan L + f sec a)/(1 - f tan L sec a) + 0.625 f_c. Source: [SHIGLEY] eq 8-26.
    """
    _require_friction("thread_friction", thread_friction)
    _require_friction("collar_friction", collar_friction)
    d = np.asarray(nominal_diameter, dtype=float)
    mean = (d + np.asarray(root_diameter)) / 2
    lead = np.asarray(pitch) / (np.pi * mean)
    wedge = np.asarray(thread_friction) / _COS_30
    return mean / (2 * d) * (lead + wedge) / (1 - wedge * lead) + _COLLAR_SHIGLEY * np.asarray(
        collar_friction
    )
