"""What piston, rod, bearings and wall carry over the whole cycle, by speed: loads, no verdict.

Forces are those of direct cycles at the medians of the simulated engines; how widely they spread is
told by the limits that are judged.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Engine
from torquerisk.errors import TorqueRiskError
from torquerisk.physics.running_gear import slider_crank
from torquerisk.physics.running_gear.cycle import extremes
from torquerisk.physics.running_gear.film_orbit import film_orbit
from torquerisk.physics.running_gear.forces import RunningGearForces
from torquerisk.physics.running_gear.main_bearing import firing_angles, main_loads
from torquerisk.quantities import Array
from torquerisk.study.answers.crossover import Crossover, crossover, equal_extremes, gas_relief
from torquerisk.study.answers.cycle_traces import MedianCycles, median_cycles
from torquerisk.study.assessment.result import Assessment, Band
from torquerisk.study.limits.bearings import BIG_END_FILM
from torquerisk.study.strengths.running_gear import CRANKCASE_PRESSURE


@dataclass(frozen=True, kw_only=True)
class Force:
    """One force that is followed over the cycle, and what its two signs mean."""

    name: str
    title: str
    push: str
    """What the greatest positive value is; empty where only a pull counts."""
    pull: str
    """What the greatest negative value is; empty where only a size counts."""
    of: Callable[[RunningGearForces], Array]
    """Compression positive (T, n) [N]."""


FORCES = (
    Force(
        name="small_end", title="Small end, piston on pin", push="pushed down", pull="pulled up",
        of=lambda f: f.pin_axial,
    ),
    Force(
        name="shank", title="Rod shank, along the rod", push="compressed", pull="stretched",
        of=lambda f: f.rod_link,
    ),
    Force(
        name="big_end", title="Big end, along the rod", push="on the rod half", pull="on the cap",
        of=lambda f: f.big_end * np.cos(f.big_end_angle_on_rod),
    ),
    Force(
        name="rod_bolts", title="Rod bolts, all of one rod", push="", pull="opening the cap joint",
        of=lambda f: -f.rod_bolts,
    ),
    Force(
        name="crankpin", title="Crankpin, size of its load", push="greatest", pull="",
        of=lambda f: f.big_end,
    ),
    Force(
        name="main_bearing", title="Main bearing, its share", push="greatest", pull="",
        of=lambda f: f.main_bearing,
    ),
    Force(
        name="cylinder_wall", title="Piston on cylinder wall", push="major thrust side",
        pull="minor thrust side", of=lambda f: f.side_thrust,
    ),
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Extreme:
    """The greatest value of one sign over a cycle."""

    size: float
    """[N], 0 where the force never has that sign."""
    angle: float | None
    """Crank angle after firing TDC, above -2 pi, at most 2 pi [rad]; None where size is 0."""


@dataclass(frozen=True, kw_only=True)
class Range:
    """Both extremes of one force at one speed; None where that sign does not count."""

    push: Extreme | None
    pull: Extreme | None


@dataclass(frozen=True, kw_only=True)
class LeastFilm:
    """The thinnest place of the big end's film over a cycle, by the journal's orbit."""

    share: float
    """Of the radial clearance [-]."""
    angle: float
    """Crank angle after firing TDC [rad]."""


@dataclass(frozen=True, kw_only=True)
class PinReach:
    """How far the load on the crankpin goes over all speeds, in the frame of the throw [N]."""

    inwards: float
    outwards: float
    aside: float


@dataclass(frozen=True, kw_only=True, eq=False)
class GearLoads:
    """Motion and forces of one cylinder's running gear by speed of the grid (S,). SI."""

    engine: Engine
    speed: Array
    mean_piston_speed: Array
    acceleration: Array
    """Of the piston at its top dead centre, its greatest (S,) [m/s^2]."""
    piston_inertia: Array
    """Piston mass with rings and pin times that acceleration (S,) [N]."""
    crown: Band
    """Gas force on the crown at peak pressure of the mean cycle [N]."""
    crown_worst: Band
    """The same in the worst normal cycle of one pull [N]."""
    top_land: Band
    """Gas pressure on the top land over the crankcase's, mean cycle [Pa]."""
    ranges: tuple[dict[str, Range] | None, ...]
    """Extremes by name of force at every speed; None where no cycle could be made."""
    mains: Array | None
    """Greatest load of each inner main (M, n) [N], at the speeds `made`, see `main_loads`; None
    without a firing order, or with rows at an angle that is not given."""
    made: tuple[int, ...]
    """Indices of the speeds at which a cycle could be made (n,)."""
    films: tuple[LeastFilm | None, ...]
    """By speed; None where no cycle could be made, and on rollers."""
    reach: PinReach | None
    relief: Crossover | None
    """Where inertia takes all gas force off the rod at firing."""
    overtaking: Crossover | None
    """Where pull at overlap overtakes push at firing."""
    why_not: str
    """Why forces are missing at some speeds; empty where none are."""


def gear_loads(assessment: Assessment) -> GearLoads:
    """Motion and forces of the running gear at every speed of an assessment."""
    a, engine = assessment, assessment.engine
    top = slider_crank.top_dead_centre_angle(**engine.crank)
    acceleration = np.asarray(
        slider_crank.piston_acceleration(angle=top, angular_speed=a.speed, **engine.crank)
    )
    index, made, why_not = _cycles(a)
    ranges: list[dict[str, Range] | None] = [None] * len(a.speed)
    films: list[LeastFilm | None] = [None] * len(a.speed)
    reach = relief = overtaking = mains = None
    if made is not None:
        mains = _mains(engine, made)
        if BIG_END_FILM.name in a.limits:
            for k, film in zip(index, _films(a, made), strict=True):
                films[k] = film
        by_force = {force.name: _ranges(force, made) for force in FORCES}
        for lane, k in enumerate(index):
            ranges[k] = {name: found[lane] for name, found in by_force.items()}
        radial, tangential = made.forces.big_end_radial, made.forces.big_end_tangential
        reach = PinReach(
            inwards=float(max(-radial.min(), 0.0)),
            outwards=float(max(radial.max(), 0.0)),
            aside=float(np.abs(tangential).max()),
        )
        run = (a.speed[index], a.peak_pressure.p50[index], made.closed.peak_angle)
        relief = crossover(gas_relief(engine), *run)
        overtaking = crossover(equal_extremes(engine), *run)
    return GearLoads(
        engine=engine,
        speed=a.speed,
        mean_piston_speed=np.asarray(
            slider_crank.mean_piston_speed(stroke=engine.stroke, angular_speed=a.speed)
        ),
        acceleration=acceleration,
        piston_inertia=engine.value("running_gear.piston_mass").value * acceleration,
        crown=_over_crankcase(a.peak_pressure, engine.bore_area),
        crown_worst=_over_crankcase(a.worst_pressure, engine.bore_area),
        top_land=_over_crankcase(a.peak_pressure, 1.0),
        ranges=tuple(ranges),
        mains=mains,
        made=tuple(index),
        films=tuple(films),
        reach=reach,
        relief=relief,
        overtaking=overtaking,
        why_not=why_not,
    )


def _mains(engine: Engine, cycles: MedianCycles) -> Array | None:
    order, bank = (engine.given(f"running_gear.{x}") for x in ("firing_order", "bank_angle"))
    in_rows = engine.value("heads").value > 1
    if order is None or (in_rows and bank is None) or engine.cylinders < (4 if bank else 2):
        return None
    rod, share = (
        engine.value(f"running_gear.{x}").value for x in ("rod_mass", "rod_big_end_share")
    )
    counterweight = float(engine.given("running_gear.counterweight_share") or 0.0)
    return main_loads(
        angle=cycles.angle,
        radial=cycles.forces.big_end_radial,
        tangential=cycles.forces.big_end_tangential,
        firing=firing_angles(str(order), engine.cylinders),
        bank_angle=0.0 if bank is None else float(bank),
        counterweight=counterweight * rod * share * engine.stroke / 2 * cycles.speed**2,
    )


def _films(a: Assessment, cycles: MedianCycles) -> list[LeastFilm]:
    """Least film of the median engine's big end, one to a lane, by its orbit over the cycle."""
    engine, gear = a.engine, a.model.parts.gear
    slope = slider_crank.rod_angle_slope(angle=cycles.angle, **engine.crank)
    found = film_orbit(
        angle=cycles.angle,
        load=cycles.forces.big_end,
        load_angle_on_rod=cycles.forces.big_end_angle_on_rod,
        rod_angle_slope=np.asarray(slope),
        angular_speed=cycles.speed,
        crankpin_diameter=engine.value("running_gear.big_end_diameter").value,
        bearing_width=engine.value("running_gear.big_end_width").value,
        relative_clearance=float(np.median(gear.relative_clearance)),
        viscosity=float(np.median(gear.viscosity)),
    )
    pairs = zip(found.least_film, found.least_film_angle, strict=True)
    return [LeastFilm(share=float(share), angle=float(angle)) for share, angle in pairs]


def _over_crankcase(pressure: Band, area: float) -> Band:
    """Pressure over the crankcase's times an area: points of the band stay its points."""
    return Band(
        **{p: (getattr(pressure, p) - CRANKCASE_PRESSURE) * area for p in ("p05", "p50", "p95")}
    )


def _cycles(a: Assessment) -> tuple[list[int], MedianCycles | None, str]:
    """Speeds whose cycle can be made, those cycles, and why others cannot."""
    whole = list(range(len(a.speed)))
    try:
        return whole, median_cycles(a, whole), ""
    except TorqueRiskError:
        index, why_not = [], ""
        for k in whole:
            try:
                median_cycles(a, [k])
                index.append(k)
            except TorqueRiskError as error:
                why_not = why_not or f"no cycle of the median engine can be made there: {error}"
        return index, median_cycles(a, index) if index else None, why_not


def _ranges(force: Force, cycles: MedianCycles) -> list[Range]:
    """Extremes of one force, one to a lane."""
    found = extremes(angle=cycles.angle, force=force.of(cycles.forces))
    lanes = range(len(cycles.speed))
    push = [_extreme(found.compression, found.compression_angle, k) for k in lanes]
    pull = [_extreme(found.tension, found.tension_angle, k) for k in lanes]
    return [
        Range(push=push[k] if force.push else None, pull=pull[k] if force.pull else None)
        for k in lanes
    ]


def _extreme(size: object, angle: object, lane: int) -> Extreme:
    value, at = float(np.asarray(size)[lane]), float(np.asarray(angle)[lane])
    # Both ends of the cycle are the overlap.
    at = 2 * np.pi if at <= -2 * np.pi else at
    return Extreme(size=value, angle=at if value > 0 else None)
