"""How far fastener and clamped parts give per newton, and how the gas load splits between them.

VDI 2230 (compliances, cone of pressure) and Shigley (stiffnesses, 30 degree frusta) are kept apart;
lengths in m, compliances in m/N, stiffnesses in N/m.
"""

import enum

import numpy as np

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.arrays import Array, Floats, require, require_positive
from torquerisk.physics.head_joint.screw_thread import ScrewThread

_TAN_30 = 0.5774
"""tan 30 degrees as Shigley prints it, so that his worked answers come out."""


class FastenerEnd(enum.Enum):
    """What holds an end of the fastener."""

    HEXAGON_HEAD = "hexagon head"
    SOCKET_HEAD = "socket head"
    NUT = "nut"
    TAPPED_HOLE = "tapped hole"


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


def rod_compliance(length: Floats, *, area: Floats, elastic_modulus: Floats) -> Array:
    """Return the compliance of a rod or a layer of constant section, L/(E A) [m/N].

    length: L [m], 0 or more; area: A [m^2]; elastic_modulus: E [Pa]. Exact. Source: identity.
    """
    require("length", length, "0 m or more", lambda x: x >= 0)
    require_positive("area", area, "m^2")
    require_positive("elastic_modulus", elastic_modulus, "Pa")
    return np.asarray(length, dtype=float) / (np.asarray(area) * np.asarray(elastic_modulus))


def equivalent_modulus(thicknesses: list[Floats], moduli: list[Floats]) -> Array:
    """Return the modulus of one material as stiff as a stack of layers of equal area [Pa].

    thicknesses: [m]; moduli: [Pa], in the same order. sum t / sum (t/E). Exact for equal areas.
    Source: identity (springs in series).
    """
    pairs = list(zip(thicknesses, moduli, strict=True))
    total = sum((np.asarray(t, dtype=float) for t, _ in pairs), np.zeros(()))
    give = sum((np.asarray(t, dtype=float) / np.asarray(e) for t, e in pairs), np.zeros(()))
    return np.asarray(total / give)


def _end_compliance(
    end: FastenerEnd, thread: ScrewThread, modulus: Floats, block_modulus: Floats | None
) -> Array:
    """Return the compliance of one end of the fastener [m/N]."""
    d = thread.nominal_diameter
    if end is FastenerEnd.HEXAGON_HEAD:
        return rod_compliance(0.5 * d, area=thread.nominal_area, elastic_modulus=modulus)
    if end is FastenerEnd.SOCKET_HEAD:
        return rod_compliance(0.4 * d, area=thread.nominal_area, elastic_modulus=modulus)
    core = rod_compliance(0.5 * d, area=thread.minor_area, elastic_modulus=modulus)
    if end is FastenerEnd.NUT:
        return core + rod_compliance(0.4 * d, area=thread.nominal_area, elastic_modulus=modulus)
    if block_modulus is None:
        raise OutOfRangeError("block_modulus", "missing", "given in Pa for a tapped hole")
    return core + rod_compliance(0.33 * d, area=thread.nominal_area, elastic_modulus=block_modulus)


def fastener_compliance_vdi2230(
    *,
    thread: ScrewThread,
    elastic_modulus: Floats,
    free_thread_length: Floats,
    shank_length: Floats = 0.0,
    shank_diameter: Floats | None = None,
    top: FastenerEnd = FastenerEnd.HEXAGON_HEAD,
    bottom: FastenerEnd = FastenerEnd.TAPPED_HOLE,
    block_modulus: Floats | None = None,
) -> Array:
    """Return the compliance of the fastener between the middles of its ends, delta_S [m/N].

    elastic_modulus: E_S [Pa]; free_thread_length: thread not engaged within the grip [m];
    shank_length: plain part [m] of shank_diameter [m] (None: the nominal diameter; less for a
    necked stud); block_modulus: of the part with the tapped hole [Pa].
    Sum of L/(E A): head 0.5 d (hexagon) or 0.4 d (socket) on A_N; free thread on A_d3; engaged
    thread 0.5 d on A_d3; nut 0.4 d or tapped hole 0.33 d on A_N. Fitted (about 5 %).
    Source: [VDI2230] section 5.1.1, from memory.
    """
    diameter = thread.nominal_diameter if shank_diameter is None else shank_diameter
    require_positive("shank_diameter", diameter, "m")
    area = np.pi / 4 * np.asarray(diameter, dtype=float) ** 2
    shank = rod_compliance(shank_length, area=area, elastic_modulus=elastic_modulus)
    free = rod_compliance(
        free_thread_length, area=thread.minor_area, elastic_modulus=elastic_modulus
    )
    ends = [_end_compliance(e, thread, elastic_modulus, block_modulus) for e in (top, bottom)]
    return shank + free + ends[0] + ends[1]


def cone_tangent_vdi2230(
    *, grip: Floats, bearing_diameter: Floats, outer_diameter: Floats, tapped: bool
) -> Array:
    """Return the tangent of the pressure cone's half angle, tan phi [-].

    grip: l_K [m]; bearing_diameter: d_W [m]; outer_diameter: D_A' of the parts around one fastener
    [m], at least d_W; tapped: True for a tapped hole, False for a through bolt.
    Through: 0.362 + 0.032 ln(l_K/(2 d_W)) + 0.153 ln(D_A'/d_W);
    tapped: 0.348 + 0.013 ln(l_K/d_W) + 0.193 ln(D_A'/d_W). Fitted; taken here for l_K/d_W from
    0.2 to 20 and D_A'/d_W up to 10. Source: [VDI2230] section 5.1.2, from memory.
    """
    length = np.asarray(grip, dtype=float) / bearing_diameter
    width = np.asarray(outer_diameter, dtype=float) / bearing_diameter
    require("grip/bearing_diameter", length, "0.2 to 20", lambda x: (x >= 0.2) & (x <= 20))
    require("outer_diameter/bearing_diameter", width, "1 to 10", lambda x: (x >= 1) & (x <= 10))
    if tapped:
        return 0.348 + 0.013 * np.log(length) + 0.193 * np.log(width)
    return 0.362 + 0.032 * np.log(length / 2) + 0.153 * np.log(width)


def member_compliance_vdi2230(
    *,
    thread: ScrewThread,
    grip: Floats,
    outer_diameter: Floats,
    elastic_modulus: Floats,
    tapped: bool = True,
) -> Array:
    """Return the compliance of the clamped parts around one fastener, delta_P [m/N].

    thread: gives d_W and d_h; grip: l_K [m]; outer_diameter: D_A of the material around one
    fastener [m]; elastic_modulus: E_P [Pa], see `equivalent_modulus` for a stack; tapped: as in
    `cone_tangent_vdi2230`. With w = 1 (through) or 2 (tapped) the cone is complete when
    D_A >= d_W + w l_K tan phi; otherwise it ends in a sleeve of diameter D_A.
    Fitted (about 10 %). Add a gasket as a layer of its own. Source: [VDI2230] section 5.1.2.
    """
    require_positive("elastic_modulus", elastic_modulus, "Pa")
    head, hole = thread.bearing_outer_diameter, thread.clearance_hole_diameter
    length = np.asarray(grip, dtype=float)
    outer = np.asarray(outer_diameter, dtype=float)
    tangent = cone_tangent_vdi2230(
        grip=length, bearing_diameter=head, outer_diameter=outer, tapped=tapped
    )
    w = 2.0 if tapped else 1.0
    edge = np.minimum(head + w * length * tangent, outer)
    cone = (
        2
        / (w * hole * tangent)
        * np.log((head + hole) * (edge - hole) / ((head - hole) * (edge + hole)))
    )
    sleeve = 4 / (outer**2 - hole**2) * (length - (edge - head) / (w * tangent))
    return (cone + sleeve) / (np.pi * np.asarray(elastic_modulus))


def load_factor(
    *,
    fastener_compliance: Floats,
    member_compliance: Floats,
    introduction_factor: Floats = 1.0,
) -> Array:
    """Return the share of the gas load that the fastener feels while the joint is closed, Phi [-].

    fastener_compliance: delta_S [m/N]; member_compliance: delta_P, with any gasket [m/N];
    introduction_factor: n [-], 0.3 to 0.7 typical; 1 is on the safe side for the fastener's stress,
    a low value for separation. Phi = n delta_P/(delta_S + delta_P). Source: [VDI2230] section 5.3.
    """
    require_positive("fastener_compliance", fastener_compliance, "m/N")
    require("member_compliance", member_compliance, "0 m/N or more", lambda x: x >= 0)
    require(
        "introduction_factor", introduction_factor, "from 0 to 1", lambda x: (x >= 0) & (x <= 1)
    )
    members = np.asarray(member_compliance, dtype=float)
    return np.asarray(introduction_factor) * members / (np.asarray(fastener_compliance) + members)


def bolt_stiffness_shigley(
    *,
    shank_area: Floats,
    stress_area: Floats,
    shank_length: Floats,
    thread_length: Floats,
    elastic_modulus: Floats,
) -> Array:
    """Return the stiffness of a bolt within its grip, k_b [N/m].

    shank_area: A_d [m^2]; stress_area: A_t [m^2]; shank_length: l_d [m]; thread_length: l_t of
    thread within the grip [m]; elastic_modulus: E [Pa].
    k_b = A_d A_t E/(A_d l_t + A_t l_d). Exact for two rods in series. Source: [SHIGLEY] eq 8-17.
    """
    shank = rod_compliance(shank_length, area=shank_area, elastic_modulus=elastic_modulus)
    thread = rod_compliance(thread_length, area=stress_area, elastic_modulus=elastic_modulus)
    total = shank + thread
    require_positive("shank_length + thread_length", total, "m")
    return 1 / total


def frustum_stiffness_shigley(
    *, thickness: Floats, face_diameter: Floats, hole_diameter: Floats, elastic_modulus: Floats
) -> Array:
    """Return the stiffness of one 30 degree frustum of clamped material, k [N/m].

    thickness: t [m]; face_diameter: D of its small face [m]; hole_diameter: d [m];
    elastic_modulus: E [Pa].
    k = 0.5774 pi E d/ln{(1.155 t + D - d)(D + d)/[(1.155 t + D + d)(D - d)]}.
    Source: [SHIGLEY] eq 8-20.
    """
    require_positive("thickness", thickness, "m")
    t, large, d = (np.asarray(x, dtype=float) for x in (thickness, face_diameter, hole_diameter))
    if np.any(large <= d):
        raise OutOfRangeError("face_diameter", "not above the hole", "above hole_diameter")
    spread = 1.155 * t
    ratio = (spread + large - d) * (large + d) / ((spread + large + d) * (large - d))
    return _TAN_30 * np.pi * np.asarray(elastic_modulus) * d / np.log(ratio)


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


def effective_grip_tapped(
    *, unthreaded_thickness: Floats, engaged_part: Floats, nominal_diameter: Floats
) -> Array:
    """Return the effective grip of a cap screw in a tapped hole, l [m].

    unthreaded_thickness: h above the tapped part [m]; engaged_part: t2, thickness of the tapped
    part [m]; nominal_diameter: d [m]. l = h + d/2 when t2 >= d, else h + t2/2.
    Source: [SHIGLEY] Fig 8-21.
    """
    deep = np.minimum(np.asarray(engaged_part, dtype=float), nominal_diameter)
    return np.asarray(unthreaded_thickness) + deep / 2


def joint_constant_shigley(*, bolt_stiffness: Floats, member_stiffness: Floats) -> Array:
    """Return the joint constant C = k_b/(k_b + k_m) [-].

    bolt_stiffness: k_b [N/m]; member_stiffness: k_m [N/m]. Exact. Source: [SHIGLEY] section 8-7.
    """
    require_positive("bolt_stiffness", bolt_stiffness, "N/m")
    require_positive("member_stiffness", member_stiffness, "N/m")
    bolt = np.asarray(bolt_stiffness, dtype=float)
    return bolt / (bolt + np.asarray(member_stiffness))
