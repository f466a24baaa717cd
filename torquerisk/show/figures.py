"""Every picture, by name. One style (`figure_style`), one table behind each."""

from torquerisk.show.figure_style import CONFIG, DARK, LIGHT, Look, Picture, Stamp
from torquerisk.show.figures_curve import Limited, curve_picture, room_picture
from torquerisk.show.figures_cylinder import (
    cycle_picture,
    forces_picture,
    pressure_picture,
    rod_picture,
)
from torquerisk.show.figures_joint import clamp_picture, joint_picture
from torquerisk.show.figures_risk import map_picture, part_picture, worst_first

__all__ = [
    "CONFIG",
    "DARK",
    "LIGHT",
    "Limited",
    "Look",
    "Picture",
    "Stamp",
    "clamp_picture",
    "curve_picture",
    "cycle_picture",
    "forces_picture",
    "joint_picture",
    "map_picture",
    "part_picture",
    "pressure_picture",
    "rod_picture",
    "room_picture",
    "worst_first",
]
