"""Every picture, by name. One style (`style`), one table behind each."""

# ruff: noqa: F401

from torquerisk.show.pictures.ceilings import ceilings_picture
from torquerisk.show.pictures.curve import curve_picture, room_picture
from torquerisk.show.pictures.cylinder import (
    cycle_picture,
    forces_picture,
    pressure_picture,
    rod_picture,
)
from torquerisk.show.pictures.dips import dips_picture, dots_picture
from torquerisk.show.pictures.joint import (
    choices_picture,
    clamp_picture,
    joint_picture,
    lift_picture,
)
from torquerisk.show.pictures.risk import (
    CHANCE_NAMES,
    map_picture,
    part_picture,
    worst_first,
    worst_state,
)
from torquerisk.show.pictures.running_gear import piston_picture, polar_picture
from torquerisk.show.pictures.runs import compare_picture, drivers_picture, later_picture
from torquerisk.show.pictures.sealing_ring import ring_picture
from torquerisk.show.pictures.tables import by_chance_picture, by_peak_picture, judged_picture
