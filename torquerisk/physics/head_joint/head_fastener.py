"""Compliance of a head fastener and of the head around it from what an engine file knows."""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require
from torquerisk.physics.head_joint.compliance import (
    FastenerEnd,
    fastener_compliance_vdi2230,
    member_compliance_vdi2230,
)
from torquerisk.physics.head_joint.screw_thread import ScrewThread

FREE_THREAD_DIAMETERS = 1.0
"""Thread left free within the grip of a head fastener, in diameters. [PRACTICE]."""
SURROUNDING_FACES = 2.0
"""Diameter of head material around a fastener, in bearing-face diameters. [PRACTICE]."""


def head_fastener_compliances(
    *,
    thread: ScrewThread,
    clamped_length: Floats,
    shank_diameter: Floats | None,
    fastener_modulus: Floats,
    head_modulus: Floats,
    block_modulus: Floats,
    top: FastenerEnd = FastenerEnd.HEXAGON_HEAD,
    top_thread: ScrewThread | None = None,
    surrounding_diameter: Floats | None = None,
) -> tuple[Array, Array]:
    """Return the compliances of a head fastener and of the head around it, delta_S, delta_P [m/N].

    thread: in the block; top, top_thread: head, or nut and the thread under it where it is another,
    with the bearing face that turns; clamped_length: grip l_K, from under the head to the block's
    first thread [m]; shank_diameter: [m], None for the nominal; moduli [Pa]; surrounding_diameter:
    of the head material that works with one fastener [m], two bearing faces of the block's thread
    when left out (`SURROUNDING_FACES`, common practice, no source: heads are cored; 1.5 or 3 faces
    move delta_P by +70 or -40 %). One diameter of free thread is assumed
    (`FREE_THREAD_DIAMETERS`). A gasket is not in it: add it to delta_P.
    Fitted; delta_S about 5 %, delta_P as said. Source: [VDI2230] section 5.1, [PRACTICE].
    Raises OutOfRangeError on a grip below 1.5 diameters.
    """
    free = FREE_THREAD_DIAMETERS * thread.nominal_diameter
    grip = np.asarray(clamped_length, dtype=float)
    require(
        "clamped_length/nominal_diameter",
        grip / thread.nominal_diameter,
        "1.5 or more",
        lambda x: x >= 1.5,
    )
    fastener = fastener_compliance_vdi2230(
        thread=thread,
        elastic_modulus=fastener_modulus,
        free_thread_length=free,
        shank_length=grip - free,
        shank_diameter=shank_diameter,
        top=top,
        top_thread=top_thread,
        block_modulus=block_modulus,
    )
    outer = surrounding_diameter
    if outer is None:
        outer = SURROUNDING_FACES * thread.bearing_outer_diameter
    members = member_compliance_vdi2230(
        thread=top_thread or thread,
        grip=grip,
        outer_diameter=outer,
        elastic_modulus=head_modulus,
    )
    return fastener, members
