"""What was taken for granted of boost, where nobody said: who fitted it, how warm its charge is."""

from collections.abc import Iterator

from torquerisk.case import Notice
from torquerisk.physics.cylinder.mean_pressure import bmep_from_torque
from torquerisk.physics.supply.boost import CP_AIR, compressor_work
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.evidence.known_curve import kind_of, shows_boost, sold_boosted
from torquerisk.study.evidence.rated import stands_in
from torquerisk.study.loads.manifold import compressor_ratio, pressures

USUAL_EFFICIENCY = 0.65
"""Isentropic, of a compressor at full load (common practice, no source: 0.55 to 0.75)."""


OVER_RATING = 1.1
"""Multiple of a rating without boost that no dyno reads by mistake [-]."""
SOLD_BOOSTED_ASSUMED = "sold-boosted-assumed"
BOOST_ADDED = "boost-added"


def sold_boosted_assumed(result: Assessment) -> Iterator[Notice]:
    """Parts credited as of an engine sold with boost, because the run is boosted."""
    engine = result.engine
    told = engine.has("rated.boosted") or engine.known_good.curve is not None
    if told or engine.compression_ignition or not stands_in(engine):
        return
    if kind_of(engine, result.torque, result.model.operating).boosted:
        yield Notice(
            SOLD_BOOSTED_ASSUMED,
            "It is taken as any engine sold with boost: the data sheet's torque, power and their "
            "speeds ([rated]) tell far more. Was boost added to an engine sold without? Then say "
            "so ([rated] boosted = false): less will hold.",
        )


def _sold_boosted(result: Assessment) -> bool:
    engine, points = result.engine, result.engine.rated.points
    if points is None:
        return kind_of(engine, result.torque, result.model.operating).boosted
    return sold_boosted(engine, bmep_from_torque(points[0], engine.swept_volume_total))


def runs_boosted(result: Assessment) -> bool:
    """True where the run shows boost: more than a rating without it, where no pressure tells."""
    engine, points = result.engine, result.engine.rated.points
    pressure, most = result.model.operating.manifold_pressure, float(result.torque.max())
    no_more = points is not None and most < OVER_RATING * points[0] and pressure is None
    if no_more and not _sold_boosted(result):
        return False
    return shows_boost(engine, float(result.bmep.max()), pressure)


def boost_added(result: Assessment) -> Iterator[Notice]:
    """What usually gives first where boost was added, and is not judged: common practice."""
    engine = result.engine
    if engine.compression_ignition or engine.has("running_gear.ring_land_height"):
        return
    if runs_boosted(result) and not _sold_boosted(result):
        yield Notice(
            BOOST_ADDED,
            "Boost was added to an engine sold without: where it knocks, the ring lands of its "
            "pistons often break first, and its clutch may slip; neither is judged.",
        )


def warm_charge(result: Assessment) -> Iterator[Notice]:
    """What an assumed charge temperature takes for granted: that something cools it.

    Of spark engines, whose fuel hangs on it. Without a cooler the charge is as the compressor
    leaves it: T (1 + (r^0.286 - 1)/eta), [HEYWOOD] section 6.8.
    """
    engine, state = result.engine, result.model.operating
    charge, pressure = engine.value("charge.intake_temperature"), state.manifold_pressure
    known = charge.given or result.run.channel("intake_temperature") is not None
    if known or engine.compression_ignition:
        return
    if not runs_boosted(result):
        return
    most = pressures(engine, state, result.bmep[:, None])[0].max(keepdims=True)
    ambient = engine.value("test.ambient_temperature").value
    work = compressor_work(compressor_ratio(engine, most)[0], ambient, USUAL_EFFICIENCY)
    hot = ambient + float(work[0, 0]) / CP_AIR
    estimated = "an estimated " if pressure is None else ""
    yield Notice(
        "boosted-charge-assumed",
        "The engine is boosted, and nobody says how warm its charge is: "
        f"{charge.value - 273.15:.0f} °C plus or minus {2 * charge.sd:.0f} K is assumed, as behind "
        f"an intercooler. Without one it is about {hot - 273.15:.0f} °C at {estimated}"
        f"{most[0, 0] / 1e5:.1f} bar, which knocks far sooner: log it, or give [charge] "
        "intake_temperature.",
    )
