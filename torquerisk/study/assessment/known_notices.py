"""What a data sheet or a survived curve says against the run or the answer, and their absence."""

from collections.abc import Iterator

import numpy as np

from torquerisk.case import Notice
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.quantities import RPM, Array
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limits import LimitKind
from torquerisk.study.limits.boost import BOOST
from torquerisk.study.limits.combustion import KNOCK
from torquerisk.study.limits.supply import FUEL_PUMP, HIGH_PRESSURE_PUMP, INJECTORS
from torquerisk.study.run.crank_reading import crank_reading
from torquerisk.study.run.operating_state import PhasingSource
from torquerisk.study.run.rated_curve import through_two_points
from torquerisk.study.run.run_on_grid import fuel_octane

FAR_BELOW = 0.5
"""Share of the rated torque below which no full-load run of a sound engine lies [-]."""
FAR_BELOW_RATING = "far-below-rating"
SUPPLY_CONTRADICTED, FAR_OVER_SUPPLY = "supply-contradicted", 0.15
"""Code, and share of a run's torque by which a supply falls short of it, at the 95 % point,
from which what is said of it contradicts the run [-]."""
BELOW_RUNG = "below-rung"
EARLIER_BY_FUEL = "earlier-by-fuel"
BETTER_FUEL = 2.0
"""Research octane that a fuel must have more of before ignition is told to be earlier for it."""
BELOW_SHARE = 0.02
"""Share of a known torque that an accepted one may lie below it untold: a table's rounding. So may
a run's that reaches it."""


SURVIVED_ELSEWHERE = (
    "this run's fuel, phasing and dyno need not be those of that curve, and only what they share "
    "is proved"
)
RATED_ELSEWHERE = (
    "a rating weights simulated engines and proves none, and this run's fuel and phasing need not "
    "be the maker's; a curve survived many times, [known_good], says more"
)


_FLOWS = {
    FUEL_PUMP.name: "fuel_pump_flow",
    HIGH_PRESSURE_PUMP.name: "high_pressure_pump_volume",
    INJECTORS.name: "injector_flow",
    BOOST.name: "wastegate_spring",
}
"""The input that says what a supply of fuel or air passes."""


def far_below_rating(result: Assessment) -> Iterator[Notice]:
    """A run that makes so little of its rating that something was misread."""
    points, most = result.engine.rated.points, float(result.torque.max())
    if points is not None and most < FAR_BELOW * points[0]:
        yield Notice(
            FAR_BELOW_RATING,
            Sentence(
                "The run makes ", Torque(most), f", {most / points[0]:.0%} of the rated ",
                Torque(points[0]), ": is it the torque of one cylinder, in another unit, or at "
                "part load? At full load it stands for nothing else.",
            ),
        )  # fmt: skip


def contradicted_supplies(result: Assessment) -> dict[str, int]:
    """Supplies that the run took far more of than they are said to pass, and the speed's index."""
    shares = {
        name: item.capacity_torque.p95 / result.torque
        for name, item in result.limits.items()
        if name in _FLOWS
    }
    worst = {name: int(np.argmin(share)) for name, share in shares.items()}
    return {name: k for name, k in worst.items() if shares[name][k] < 1 - FAR_OVER_SUPPLY}


def fed_with_more(result: Assessment) -> Iterator[Notice]:
    """What is said of a supply against what the run made: one of them is misread."""
    for name, k in contradicted_supplies(result).items():
        asked = (
            "is that one injector's? It is of all together"
            if name == INJECTORS.name
            else "check it"
        )
        yield Notice(
            SUPPLY_CONTRADICTED,
            Sentence(
                f"[supply] {_FLOWS[name]} allows no more than ",
                Torque(float(result.limits[name].capacity_torque.p95[k])),
                f" at {result.speed[k] / RPM:,.0f} rpm, but the run made ",
                Torque(float(result.torque[k])),
                f": {asked}.",
            ),
        )


def unknown_rating(result: Assessment) -> Iterator[Notice]:
    """What stands in where neither a data sheet nor a survived curve is given."""
    names = result.evidence.names
    if "survived" in names or "rated" in names:
        return
    yield Notice(
        "no-known-good",
        "Neither a data sheet's [rated] torque, torque_speed, power and power_speed nor a curve "
        "survived many times as [known_good] is given, so the usual mean pressure of an engine of "
        "its kind stands in, weakly; `assess` says what either would be worth.",
    )


def below_survived(result: Assessment) -> Iterator[Notice]:
    """Where the accepted torque lies below one that the engine carried, and why.

    Not where the run makes less than that, as while boost rises, or is likely to knock: there its
    ignition is not what that torque was carried with. Nor where speed alone is too much, or where a
    supply ends: neither is a matter of torque that parts carried.
    """
    supply = [result.limits[x].limit.kind is LimitKind.SUPPLY for x in result.governing]
    apart = np.isneginf(result.ceiling) | np.array(supply)
    knocks = result.limits[KNOCK.name].chance > 0.5 if KNOCK.name in result.limits else False
    for code, name, speed, torque, why in _known_torques(result):
        inside = (result.speed >= speed[0] - 1e-9) & (result.speed <= speed[-1] + 1e-9)
        known = np.interp(result.speed, speed, torque)
        like = (result.torque >= (1 - BELOW_SHARE) * known) & ~np.asarray(knocks)
        short = np.where(inside & like & ~apart, known - result.ceiling, -np.inf)
        k = int(np.argmax(short))
        if short[k] <= BELOW_SHARE * known[k]:
            continue
        title = result.limits[result.governing[k]].limit.title.lower()
        held = max(float(result.ceiling[k]), 0.0)
        yield Notice(
            code,
            Sentence(
                f"At {result.speed[k] / RPM:,.0f} rpm the accepted chance allows ",
                Torque(held),
                ", less than the ",
                Torque(float(known[k])),
                f" of {name}, because of {title}: {why}.",
            ),
        )


def earlier_by_fuel(result: Assessment) -> Iterator[Notice]:
    """Where nobody says what ignition was run, on a fuel that lets it be earlier than known."""
    engine, here = result.engine, result.model.operating.octane
    if result.phasing_source is not PhasingSource.ASSUMED or engine.compression_ignition:
        return
    known = [
        (name, fuel_octane(engine, blend or engine.word("fuel.blend"), octane)[0])
        for there, name, blend, octane in (
            (engine.rated.points, "the data sheet", engine.word("rated.blend"),
             engine.rated.octane),
            (engine.known_good.curve, "the known-good run", engine.known_good.blend,
             engine.known_good.octane),
        )
        if there is not None
    ]  # fmt: skip
    if known and here > max(octane for _, octane in known) + BETTER_FUEL:
        name, octane = max(known, key=lambda one: one[1])
        yield Notice(
            EARLIER_BY_FUEL,
            f"Nobody says what ignition was run: on {here:.0f} octane it is taken to be earlier "
            f"than on the {octane:.0f} of {name}, as tuners set it, which costs the parts torque. "
            "Log it, or keep that fuel's ignition, which is kinder.",
        )


def _known_torques(result: Assessment) -> Iterator[tuple[str, str, Array, Array, str]]:
    """Curves that the engine carried: code, name, speeds, torques, and why less is accepted now."""
    engine, curve, given = result.engine, result.engine.known_good.curve, result.reading.as_given
    if curve is not None:
        reading = crank_reading(given, curve)
        yield "below-survived", curve.name, reading.speed, reading.torque, SURVIVED_ELSEWHERE
    points = engine.rated.points
    if points is not None:
        yield "below-survived", "the data sheet", *through_two_points(*points), RATED_ELSEWHERE
    for rung in given.survived:
        if rung.sign == "nothing" and rung.curve is not None:
            reading, few = crank_reading(given, rung.curve), rung.count < result.policy.pulls
            often = "once" if rung.count == 1 else f"{rung.count:,} times"
            name = f"{rung.curve.name}, driven {often} without a sign"
            why = (
                f"a table stands for {result.policy.pulls:,} pulls, and a part passed by little "
                "may go unnoticed in fewer"
            )
            yield (
                BELOW_RUNG,
                name,
                reading.speed,
                reading.torque,
                (why if few else SURVIVED_ELSEWHERE),
            )
