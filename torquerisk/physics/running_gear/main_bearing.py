"""Load on the main bearings: half of what both neighbours pass on.

A neighbour is a throw, or in a vee or flat engine the two cylinders that stand between two mains.
The crankshaft's own bending and the end mains' outer side are left out.
"""

import itertools

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


def main_loads(
    *,
    angle: Array,
    radial: Array,
    tangential: Array,
    firing: Array,
    bank_angle: float = 0.0,
    counterweight: float | Array = 0.0,
) -> Array:
    """Return the greatest load of each inner main over the cycle (M, n) [N].

    angle: even over 4π, both ends included [rad], (T,). radial, tangential: of the rod on the
    crankpin in the turning throw's frame, `big_end_radial` and `big_end_tangential` of the forces
    [N], (T, n). firing: `firing_angles` (C,), which with the bank angle tell the throws' angles.
    bank_angle: of a vee or flat engine [rad], whose cylinders 1 and 2, 3 and 4 and so on stand
    between the same mains, M = C/2 - 1; 0 for one row, M = C - 1. counterweight: centrifugal force
    of what a throw carries opposite each crankpin [N], (n,). Each neighbour passes half its load to
    either side. Exact for a crankshaft cut at its mains. Source: [NEWTON].
    """
    radial = radial - counterweight
    steps = np.rint(firing / (angle[1] - angle[0])).astype(int)
    rows = np.where(np.arange(len(firing)) % 2, 0.5, -0.5) * bank_angle

    def of_cylinder(row: float, step: int) -> Array:
        """Along and across the middle between the rows (2, T - 1, n), in the engine's time."""
        turned = angle[:, None] + row
        along = radial * np.cos(turned) - tangential * np.sin(turned)
        across = radial * np.sin(turned) + tangential * np.cos(turned)
        return np.roll(np.stack([along[:-1], across[:-1]]), step, axis=1)

    loads = [of_cylinder(*one) for one in zip(rows, steps, strict=True)]
    if bank_angle:
        loads = [loads[k] + loads[k + 1] for k in range(0, len(loads), 2)]
    between = [(one + other) / 2 for one, other in itertools.pairwise(loads)]
    return np.array([np.hypot(*load).max(axis=0) for load in between])
