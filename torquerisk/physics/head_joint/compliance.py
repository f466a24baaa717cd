"""How far fastener and clamped parts give per newton.

VDI 2230 (compliances, cone of pressure) and Shigley (stiffnesses, 30 degree frusta) are kept apart;
lengths in m, compliances in m/N, stiffnesses in N/m.
"""

import enum

import numpy as np

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.arrays import Array, Floats, require, require_between, require_positive
from torquerisk.physics.head_joint.screw_thread import ScrewThread


class FastenerEnd(enum.Enum):
    """What holds an end of the fastener."""

    HEXAGON_HEAD = "hexagon head"
    SOCKET_HEAD = "socket head"
    NUT = "nut"
    TAPPED_HOLE = "tapped hole"


def rod_compliance(length: Floats, *, area: Floats, elastic_modulus: Floats) -> Array:
    """Return the compliance of a rod or a layer of constant section, L/(E A) [m/N].

    length: L [m], 0 or more; area: A [m^2]; elastic_modulus: E [Pa]. Exact. Source: identity.
    """
    require("length", length, "0 m or more", lambda x: x >= 0)
    require_positive("area", area, "m^2")
    require_positive("elastic_modulus", elastic_modulus, "Pa")
    return np.asarray(length, dtype=float) / (np.asarray(area) * np.asarray(elastic_modulus))


HALF_HEAD = 0.32
"""Half the height of a hexagon head, in diameters [-]. [ISO4014], M10: 6.4 mm, from memory."""


def end_compliances(
    end: FastenerEnd, thread: ScrewThread, modulus: Floats, block_modulus: Floats | None
) -> tuple[Array, Array]:
    """Return how far one end of a fastener gives: the fastener itself, and what holds it [m/N].

    What holds it makes the fastener no longer: a nut, a tapped hole, and of a head what
    `fastener_compliance_vdi2230` counts beyond half its height, as far as a fastener's effective
    length reaches. Fitted. Source: [VDI2230] section 5.1.1, [BICKFORD], both from memory.
    """
    d, area = thread.nominal_diameter, thread.nominal_area

    def given(diameters: float, elastic_modulus: Floats) -> Array:
        return rod_compliance(diameters * d, area=area, elastic_modulus=elastic_modulus)

    if end is FastenerEnd.HEXAGON_HEAD:
        return given(HALF_HEAD, modulus), given(0.5 - HALF_HEAD, modulus)
    if end is FastenerEnd.SOCKET_HEAD:
        return given(0.4, modulus), np.zeros(())
    core = rod_compliance(0.5 * d, area=thread.minor_area, elastic_modulus=modulus)
    if end is FastenerEnd.NUT:
        return core, given(0.4, modulus)
    if block_modulus is None:
        raise OutOfRangeError("block_modulus", "missing", "given in Pa for a tapped hole")
    return core, given(0.33, block_modulus)


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
    top_thread: ScrewThread | None = None,
) -> Array:
    """Return the compliance of the fastener between the middles of its ends, delta_S [m/N].

    thread: in the block; top_thread: under a stud's nut, where it is another; elastic_modulus: E_S
    [Pa]; free_thread_length: thread not engaged within the grip [m]; shank_length: plain part [m]
    of shank_diameter [m] (None: the nominal diameter; less for a necked stud); block_modulus: of
    the part with the tapped hole [Pa].
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
    ends = ((top, top_thread or thread), (bottom, thread))
    held = [sum(end_compliances(end, t, elastic_modulus, block_modulus)) for end, t in ends]
    return np.asarray(shank + free + held[0] + held[1])


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
    require_between("grip/bearing_diameter", length, 0.2, 20)
    require_between("outer_diameter/bearing_diameter", width, 1, 10)
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
