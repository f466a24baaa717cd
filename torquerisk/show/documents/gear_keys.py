"""Keys of the running gear in the JSON document of an assessment."""

from torquerisk.quantities import DEGREE, KILO, RPM
from torquerisk.show.documents.json_numbers import Document, keyed
from torquerisk.show.words import running_gear
from torquerisk.show.words.columns import At
from torquerisk.sources import SOURCES
from torquerisk.study.answers.results import (
    FORCES,
    TEXTBOOK_GUIDE,
    Assessment,
    Crossover,
    Extreme,
    GearLoads,
    PistonSpeedGuide,
    guides,
)

ONE = "one rod"
"""Whose load every force is; in a vee two rods may share a throw."""
ANGLES = (
    "rod_compression_angle_deg and rod_tension_angle_deg of by_speed belong to forces.shank, one "
    "cycle of the median engine; rod_compression_kn and rod_tension_kn are the forces judged, "
    "medians of the simulated engines, with no gas pressure counted at the overlap."
)


def gear_at_speed(gear: GearLoads, k: int) -> Document:
    """Motion and loads at one speed; forces are null where no cycle could be made, with why."""
    return {
        **keyed(running_gear.COLUMNS, At(gear, k)),
        "forces": _forces(gear, k),
        "forces_missing_because": gear.why_not if gear.ranges[k] is None else None,
    }


def gear_document(assessment: Assessment, gear: GearLoads) -> Document:
    """What is said of the running gear beside its numbers by speed."""
    return {
        "guidance": {
            "text": running_gear.guidance_in_words(gear),
            "published": [
                _guide(g) for g in (*guides(gear.engine.compression_ignition), TEXTBOOK_GUIDE)
            ],
        },
        "crown_and_ring_land": running_gear.crown_in_words(gear),
        "basis": running_gear.basis_in_words(gear.engine),
        "tension_overtakes_compression": _crossover(running_gear.OVERTAKING, gear.overtaking, gear),
        "inertia_relieves_gas_force": _crossover(running_gear.RELIEF, gear.relief, gear),
        "extremes": [
            {
                "at": name,
                "speed_rpm": float(gear.speed[k]) / RPM,
                "forces": _forces(gear, k),
                "forces_missing_because": gear.why_not if gear.ranges[k] is None else None,
            }
            for name, k in running_gear.told_speeds(assessment)
        ],
        "force_titles": {
            force.name: {"title": force.title, "push": force.push, "pull": force.pull, "of": ONE}
            for force in FORCES
        },
        "rod_angles": ANGLES,
    }


def _forces(gear: GearLoads, k: int) -> Document | None:
    """Extremes by name; a sign that does not count has no keys, an angle is null at size 0."""
    at = gear.ranges[k]
    if at is None:
        return None
    return {name: {**_of("push", r.push), **_of("pull", r.pull)} for name, r in at.items()}


def _of(sign: str, extreme: Extreme | None) -> Document:
    if extreme is None:
        return {}
    return {f"{sign}_kn": _size(extreme), f"{sign}_angle_deg": _angle(extreme)}


def _size(extreme: Extreme | None) -> float | None:
    return None if extreme is None else extreme.size / KILO


def _angle(extreme: Extreme | None) -> float | None:
    return None if extreme is None or extreme.angle is None else extreme.angle / DEGREE


def _guide(guide: PistonSpeedGuide) -> Document:
    source = SOURCES[guide.source]
    return {
        "kind": guide.kind,
        "from_m_s": guide.low,
        "to_m_s": guide.high,
        "source": source.title,
        "how_sure": source.how_sure,
    }


def _crossover(what: str, found: Crossover | None, gear: GearLoads) -> Document:
    """The speed within the run, or null with the reason in words and the estimate beyond it.

    Where inertia prevails from the start, the estimate below the run is told beside any speeds.
    """
    inside = None if found is None or not found.speeds else found.speeds[0]
    estimate = None
    if found is not None and found.from_the_start:
        estimate = found.at_first
    elif found is not None and inside is None:
        estimate = found.at_last
    return {
        "speed_rpm": None if inside is None else inside / RPM,
        "from_the_start": None if found is None else found.from_the_start,
        "all_speeds_rpm": [] if found is None else [v / RPM for v in found.speeds],
        "estimate_outside_run_rpm": None if estimate is None else estimate / RPM,
        "text": running_gear.crossover_in_words(what, found, gear),
    }
