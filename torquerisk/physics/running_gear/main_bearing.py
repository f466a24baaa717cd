"""Load on the main bearings of a row of cylinders: half of what both neighbouring throws pass on.

Counterweights, the crankshaft's own bending and the end mains' outer side are left out.
"""

import numpy as np

from torquerisk.errors import InputError
from torquerisk.physics.arrays import Array


def firing_angles(order: str, cylinders: int) -> Array:
    """Return the crank angle at which each cylinder fires after the first of the order [rad], (C,).

    order: cylinders, counted from one end, as they fire, such as "1-3-4-2". Even firing over 4π.
    Exact. Raises InputError where it does not name every cylinder once.
    """
    named = order.replace(",", "-").split("-")
    found = [int(word) for word in named if word.strip().isdigit()]
    if len(found) != len(named) or sorted(found) != list(range(1, cylinders + 1)):
        raise InputError(
            f"running_gear.firing_order is {order!r}, but must name the cylinders 1 to {cylinders} "
            "once each, joined by hyphens, such as '1-3-4-2'."
        )
    angles = np.empty(cylinders)
    angles[np.array(found) - 1] = np.arange(cylinders) * 4 * np.pi / cylinders
    return angles


def main_loads(*, angle: Array, radial: Array, tangential: Array, firing: Array) -> Array:
    """Return the greatest load of each main between two throws over the cycle (C - 1, n) [N].

    angle: even over 4π, both ends included [rad], (T,). radial, tangential: of the rod on the
    crankpin in the turning throw's frame, `big_end_radial` and `big_end_tangential` of the forces
    [N], (T, n). firing: `firing_angles` (C,), which in one row tell the throws' angles too.
    Each throw passes half its load to either side. Exact for a crankshaft cut at its mains.
    Source: [NEWTON].
    """
    # Along and across the cylinders' axis, which all throws of one row share.
    along = radial * np.cos(angle)[:, None] - tangential * np.sin(angle)[:, None]
    across = radial * np.sin(angle)[:, None] + tangential * np.cos(angle)[:, None]
    steps = np.rint(firing / (angle[1] - angle[0])).astype(int)

    def shifted(values: Array) -> Array:
        return np.stack([np.roll(values[:-1], step, axis=0) for step in steps])

    pair = [(v[:-1] + v[1:]) / 2 for v in (shifted(along), shifted(across))]
    return np.asarray(np.hypot(*pair).max(axis=1))
