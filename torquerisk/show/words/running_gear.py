"""Sentences and rows on the running gear that every face shows alike: loads, no verdict."""

import dataclasses
from collections.abc import Callable
from typing import Any

import numpy as np

from torquerisk.case import Engine
from torquerisk.quantities import BAR, DEGREE, KILO, RPM
from torquerisk.show.words import prose
from torquerisk.show.words.columns import At, Column, speed, triple
from torquerisk.study.answers.results import (
    STANDARD_GRAVITY,
    TEXTBOOK_GUIDE,
    Assessment,
    Crossover,
    Extreme,
    Force,
    GearLoads,
    PistonSpeedGuide,
    guides,
    neighbours,
)

Row = At[GearLoads]
MOST_SPEEDS = 8
"""Rows of the table by speed."""
NONE = "–"
RELIEF = "Inertia takes all gas force off the rod at firing"
OVERTAKING = "Pull on the rod at overlap overtakes its push at firing"
BASIS = (
    "Forces are those of one cycle of the median engine over 720 degrees of crank angle, without "
    "friction: loads, not verdicts. Angles count from firing top dead centre; 360 is the overlap. "
    "Gas pressure at the overlap is counted here; the rod tension that is judged counts none. "
    "The main bearing's share is half the load on one crankpin; what the next crankpin adds (told "
    "where a firing order is given) and counterweights take off is left out."
)
ONE_ROD = "Crankpin and main-bearing loads are of one rod; two rods on one throw add up."
FRAME = (
    "The force of the rod on the crankpin as the turning throw sees it: up is outwards along the "
    "throw, right is the way the crank turns, and distance from the middle is the size of the "
    "force. Firing presses inwards, the rod's own mass pulls outwards."
)
SIGNS = (
    "Push and pull: of the small end down and up; of the shank compression and tension; of the big "
    "end on the rod half and on the cap; of the rod bolts what opens the cap joint, all bolts of "
    "one rod together; of the wall the major and the minor thrust side. Crankpin and main bearing: "
    "size. Each with its crank angle."
)
RING_LAND = (
    "how much of it the ring land carries depends on ring gaps and land thickness, which are not "
    "asked. Crown and ring land are shown as load only, with no verdict"
)
INDICATOR = "an indicator only, not a limit"


def guide_in_words(guide: PistonSpeedGuide) -> str:
    """A guide as 'sport engines (20 to 25 m/s)'."""
    if guide.low == guide.high:
        return f"{guide.kind} (about {guide.low:g} m/s)"
    return f"{guide.kind} ({guide.low:g} to {guide.high:g} m/s)"


def place_in_words(mean_piston_speed: float, compression_ignition: bool) -> str:
    """Where a mean piston speed [m/s] stands among what is published by kind of engine."""
    below, above = neighbours(mean_piston_speed, guides(compression_ignition))
    if below is not None and below is above:
        return f"as published for {guide_in_words(below)}"
    if below is None and above is not None:
        return f"below what is published for {guide_in_words(above)}"
    if below is not None and above is None:
        return f"above what is published for {guide_in_words(below)}"
    assert below is not None
    assert above is not None
    return f"between what is published for {guide_in_words(below)} and for {guide_in_words(above)}"


def guidance_in_words(gear: GearLoads) -> str:
    """Mean piston speed at the top of the run, what is published, and what it is worth."""
    mean = float(gear.mean_piston_speed[-1])
    place = place_in_words(mean, gear.engine.compression_ignition)
    g = float(gear.acceleration[-1]) / STANDARD_GRAVITY
    book = TEXTBOOK_GUIDE
    return (
        f"Mean piston speed is {prose.plain(mean, 1)} m/s at "
        f"{prose.speed_in_words(float(gear.speed[-1]))}, the top of this run: {place} (a public "
        f"page, a tertiary source; a textbook gives {book.low:g} to {book.high:g} m/s for "
        f"{book.kind}, from memory). It is {INDICATOR}: acceleration and its force load the "
        f"rod, {prose.plain(float(gear.acceleration[-1]), -1)} m/s² ({prose.plain(g, -1)} g) at "
        f"top dead centre there, {prose.plain(float(gear.piston_inertia[-1]) / KILO, 1)} kN from "
        "the piston alone."
    )


def rod_in_words(a: Assessment) -> str:
    """The greatest push and pull along the rod that are judged, and where."""
    push, pull = int(np.argmax(a.rod_compression)), int(np.argmax(a.rod_tension))
    return (
        f"The rod is pushed with up to {prose.plain(a.rod_compression[push] / KILO)} kN at "
        f"{prose.speed_in_words(float(a.speed[push]))} and pulled with up to "
        f"{prose.plain(a.rod_tension[pull] / KILO)} kN at "
        f"{prose.speed_in_words(float(a.speed[pull]))}, medians."
    )


def crown_in_words(gear: GearLoads) -> str:
    """Gas load on the crown and pressure on the top land where they are greatest."""
    k = int(np.argmax(gear.crown.p50))
    middle, low, high = prose.with_range(gear.crown, k, KILO)
    land = prose.with_range(gear.top_land, k, BAR)[0]
    return (
        f"Gas presses on the piston crown with up to {middle} kN ({low} to {high}) in the mean "
        f"cycle, at {prose.speed_in_words(float(gear.speed[k]))}, and "
        f"{prose.with_range(gear.crown_worst, k, KILO)[0]} kN in the worst normal cycle, up to "
        f"{land} bar on the top land; {RING_LAND}."
    )


def film_in_words(gear: GearLoads) -> tuple[str, ...]:
    """Where the big end's film over the whole cycle is best and worst; nothing on rollers."""
    known = [(k, film) for k, film in enumerate(gear.films) if film is not None]
    if not known:
        return ()
    best, worst = (pick(known, key=lambda pair: pair[1].share) for pick in (max, min))
    told = [
        f"at {prose.speed_in_words(float(gear.speed[k]))} ({film.share:.1%} of the radial "
        f"clearance, {prose.plain(film.angle / DEGREE)}° after firing)"
        for k, film in (best, worst)
    ]
    return (
        "Followed over the whole cycle, oil squeezed away counted, the big end's least film is "
        f"thickest {told[0]} and thinnest {told[1]}: the median engine's, an index to compare "
        "speeds with and no thickness.",
    )


def mains_in_words(gear: GearLoads) -> tuple[str, ...]:
    """The most loaded inner main; nothing without a firing order."""
    if gear.mains is None:
        return ()
    main, lane = np.unravel_index(int(np.argmax(gear.mains)), gear.mains.shape)
    between = gear.engine.cylinders // (len(gear.mains) + 1)
    last = between * (int(main) + 1)
    share = gear.engine.given("running_gear.counterweight_share")
    weights = (
        "counterweights, which take some off, are not given" if share is None
        else f"counterweights taken as {prose.percent(float(share))} of the rods' turning mass"
    )  # fmt: skip
    return (
        f"With both neighbours counted, the main bearing between cylinders {last} and {last + 1} "
        f"bears most, {prose.plain(float(gear.mains[main, lane]) / KILO, 1)} kN at "
        f"{prose.speed_in_words(float(gear.speed[gear.made[lane]]))}; "
        f"{weights}.",
    )


def crossover_in_words(what: str, found: Crossover | None, gear: GearLoads) -> str:
    """Where inertia overtakes gas force, or why not within the run."""
    if found is None:
        return f"{what}: not found, for {gear.why_not}"
    if found.speeds:
        at = [f"at {prose.about_speed(v)}" for v in found.speeds]
        if found.from_the_start:
            at.insert(0, f"already at this run's first {prose.speed_in_words(found.first)}")
        return f"{what} {' and again '.join(at)}, at this run's own peak pressures."
    if found.from_the_start:
        return (
            f"{what} at {prose.about_speed(found.at_first)}, below this run's "
            f"{prose.speed_in_words(found.first)}, at the peak pressure of its first row."
        )
    return (
        f"{what} at {prose.about_speed(found.at_last)}, beyond this run's "
        f"{prose.speed_in_words(found.last)}, at the peak pressure of its last row."
    )


def crossover_sentences(gear: GearLoads) -> tuple[str, str]:
    """Both crossovers in words."""
    return (
        crossover_in_words(OVERTAKING, gear.overtaking, gear),
        crossover_in_words(RELIEF, gear.relief, gear),
    )


def crossings(gear: GearLoads) -> tuple[tuple[float, str], ...]:
    """Crossovers within the run [rad/s], with a short name each."""
    named = ((gear.overtaking, "pull overtakes push"), (gear.relief, "no push left at firing"))
    return tuple((v, name) for found, name in named if found is not None for v in found.speeds)


def basis_in_words(engine: Engine) -> str:
    """What the forces are of; where rods may share a throw, that loads are of one.

    An engine file does not say how rods sit on throws. Under one head cylinders stand in one row,
    each with its own throw; with more heads, one to a cylinder too, there may be two rows.
    """
    return f"{BASIS} {ONE_ROD}" if engine.value("heads").value > 1 else BASIS


def missing_in_words(gear: GearLoads) -> tuple[str, ...]:
    """Why forces are missing at some speeds; nothing where none are."""
    if gear.why_not and gear.overtaking is not None:
        return (f"Forces are missing at some speeds: {gear.why_not}",)
    return ()


def sentences(gear: GearLoads) -> tuple[str, ...]:
    """What is said of the running gear beside `basis_in_words`, most asked first."""
    return (
        guidance_in_words(gear),
        *crossover_sentences(gear),
        crown_in_words(gear),
        *film_in_words(gear),
        *mains_in_words(gear),
        *missing_in_words(gear),
    )


def key_speeds(assessment: Assessment) -> list[int]:
    """Indices of speeds worth a row: evenly spread, with both ends and the peak of torque."""
    count = len(assessment.speed)
    spread = np.linspace(0, count - 1, min(MOST_SPEEDS, count)).round().astype(int)
    return sorted({*spread.tolist(), int(np.argmax(assessment.torque))})


def told_speeds(assessment: Assessment) -> list[tuple[str, int]]:
    """The speeds whose extremes are told, with their names: peak torque and top speed."""
    top, last = int(np.argmax(assessment.torque)), len(assessment.speed) - 1
    found = [("peak torque", top)]
    return found if last == top else [*found, ("top speed", last)]


def _push(force: str) -> Callable[[Row], Any]:
    return lambda r: (at := r.of.ranges[r.k]) and _size(at[force].push)


def _pull(force: str) -> Callable[[Row], Any]:
    return lambda r: (at := r.of.ranges[r.k]) and _size(at[force].pull)


def _two_throws(row: Row) -> float | None:
    """Greatest load of any main between two throws; none without a firing order or a cycle."""
    gear = row.of
    if gear.mains is None or row.k not in gear.made:
        return None
    return float(gear.mains[:, gear.made.index(row.k)].max())


def _size(extreme: Extreme | None) -> float | None:
    return None if extreme is None else extreme.size


def _angle(extreme: Extreme | None) -> float | None:
    return None if extreme is None else extreme.angle


def _force(key: str, value: Callable[[Row], Any], **more: Any) -> Column[Row]:
    return Column(key=key, value=value, size=KILO, unit="kN", decimals=1, none=NONE, **more)


def _at(key: str, value: Callable[[Row], Any], **more: Any) -> Column[Row]:
    return Column(key=key, value=value, size=DEGREE, unit="deg", none=NONE, text="at\ndeg",
                  name="at", **more)  # fmt: skip


COLUMNS: tuple[Column[Row], ...] = (
    dataclasses.replace(speed(lambda r: r.of.speed[r.k]), json=False),
    Column(key="mean_piston_speed_m_s", value=lambda r: r.of.mean_piston_speed[r.k], unit="m/s",
           decimals=1, text="piston\nm/s", name="mean piston speed"),
    Column(key="piston_acceleration_tdc_m_s2", value=lambda r: r.of.acceleration[r.k],
           unit="m/s²", decimals=-1, text="at TDC\nm/s²", name="acceleration at TDC"),
    Column(key="piston_acceleration_tdc_g", value=lambda r: r.of.acceleration[r.k],
           size=STANDARD_GRAVITY),
    _force("piston_inertia_force_tdc_kn", lambda r: r.of.piston_inertia[r.k],
           text="inertia\nkN", name="piston inertia at TDC"),
    Column(key="crown_load_kn", value=lambda r: triple(r.of.crown, r.k), size=KILO),
    Column(key="crown", json=False, value=lambda r: r.of.crown.p50[r.k], size=KILO, unit="kN",
           text="crown\nkN", name="crown, mean cycle"),
    Column(key="crown_load_worst_cycle_kn", value=lambda r: triple(r.of.crown_worst, r.k),
           size=KILO),
    Column(key="crown_worst", json=False, value=lambda r: r.of.crown_worst.p50[r.k], size=KILO,
           unit="kN", text="worst\nkN", name="crown, worst cycle"),
    Column(key="top_land_pressure_over_crankcase_bar", value=lambda r: triple(r.of.top_land, r.k),
           size=BAR),
    _force("push", _push("shank"), json=False, text="push\nkN", name="rod pushed"),
    _force("pull", _pull("shank"), json=False, text="pull\nkN", name="rod pulled"),
    _force("side_thrust_major_kn", _push("cylinder_wall"), text="wall+\nkN",
           name="wall, major side"),
    _force("side_thrust_minor_kn", _pull("cylinder_wall"), text="wall-\nkN",
           name="wall, minor side"),
    _force("main_bearing_load_kn", _push("main_bearing"), text="main\nkN", name="main bearing"),
    Column(key="big_end_least_film_share",
           value=lambda r: (film := r.of.films[r.k]) and film.share),
    _at("big_end_least_film_angle_deg", lambda r: (film := r.of.films[r.k]) and film.angle),
    _force("main_bearing_of_two_throws_kn", _two_throws),
    _at("rod_compression_angle_deg",
        lambda r: (at := r.of.ranges[r.k]) and _angle(at["shank"].push)),
    _at("rod_tension_angle_deg",
        lambda r: (at := r.of.ranges[r.k]) and _angle(at["shank"].pull)),
)  # fmt: skip
ROW = (
    "speed_rpm", "mean_piston_speed_m_s", "piston_acceleration_tdc_m_s2",
    "piston_inertia_force_tdc_kn", "crown", "crown_worst", "push", "rod_compression_angle_deg",
    "pull", "rod_tension_angle_deg", "side_thrust_major_kn", "side_thrust_minor_kn",
    "main_bearing_load_kn",
)  # fmt: skip
"""Keys of the columns that people are shown."""


def extreme_columns(gear: GearLoads, index: int, where: str = "") -> list[Column[Force]]:
    """Push, its angle, pull and its angle of every force at one speed; none without a cycle.

    where: put before the name of the first where columns of several speeds stand together.
    """
    at = gear.ranges[index]
    if at is None:
        return []
    rpm = prose.plain(gear.speed[index] / RPM)
    size: dict[str, Any] = {"size": KILO, "unit": "kN", "decimals": 1, "none": NONE}
    angle: dict[str, Any] = {"size": DEGREE, "unit": "deg", "none": NONE, "report_unit": "°"}
    return [
        Column(key="push", value=lambda f: _size(at[f.name].push), text=f"{rpm} rpm\npush, kN",
               name=f"{where}push or size", **size),
        Column(key="push_at", value=lambda f: _angle(at[f.name].push), text="at\ndeg", name="at",
               **angle),
        Column(key="pull", value=lambda f: _size(at[f.name].pull), text="pull\nkN", name="pull",
               **size),
        Column(key="pull_at", value=lambda f: _angle(at[f.name].pull), text="at\ndeg", name="at",
               **angle),
    ]  # fmt: skip


FORCE = Column[Force](
    key="force", value=lambda f: f.title, text="force over\n720 degrees", name="force", words=True
)


def side_by_side(assessment: Assessment, gear: GearLoads) -> list[Column[Force]]:
    """Columns of extremes at the told speeds beside each other; none without a cycle."""
    made = [
        column
        for _, k in told_speeds(assessment)
        for column in extreme_columns(gear, k, f"{prose.speed_in_words(float(gear.speed[k]))}: ")
    ]
    return [FORCE, *made] if made else []
