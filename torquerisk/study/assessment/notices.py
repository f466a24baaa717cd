"""The caveats of an assessment, in plain sentences: one record each, the same on every face."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from torquerisk.case import Notice
from torquerisk.case.sentence import Sentence, percent
from torquerisk.physics.cylinder.phasing import LATEST_INJECTED
from torquerisk.quantities import RPM
from torquerisk.study.assessment.charge_notice import boost_added, sold_boosted_assumed, warm_charge
from torquerisk.study.assessment.cycle_ranges import held_in_run
from torquerisk.study.assessment.gear_notices import (
    critical_speed,
    late_phasing,
    overspeed,
    replaced_parts,
    speed_limited,
)
from torquerisk.study.assessment.known_notices import (
    below_survived,
    earlier_by_fuel,
    far_below_rating,
    fed_with_more,
    unknown_rating,
)
from torquerisk.study.assessment.part_ranges import held_parts
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.assessment.spread_cuts import cut_spreads
from torquerisk.study.assessment.spread_width import relative_width
from torquerisk.study.draws import spreads
from torquerisk.study.evidence.charge import charge_mismatch, volumetric_efficiency_before
from torquerisk.study.evidence.ladder import contradiction
from torquerisk.study.limits import ALL_LIMITS, place_of, wants_inputs
from torquerisk.study.loads.cycles_spent import DEFAULT_SWEEP, STEADY_HOLD
from torquerisk.study.run.log_signs import signs_of
from torquerisk.study.run.operating_state import PhasingSource
from torquerisk.study.run.seen_signs import SHY_OF_SIGN, lift_reached

LEAST_DRAWS, FEW_DRAWS = 200, 400
"""Simulated engines below which a chance is called coarse: however few were asked for, and where
evidence has left so few of more."""
COLD_COUNTS = 0.005
"""Chance of lifting that cold full load adds to the warm one's, from which it is said [-]."""
USUAL_BMEP = {False: 33e5, True: 30e5}
"""Highest BMEP of published engines: 32.4 bar petrol (seen); diesel passenger engines below 30."""


ONLY_OF = {
    "injectors": {
        "supply.injector_duty", "supply.injector_flow_pressure", "supply.rail_reference",
    },
    "high_pressure_pump": {"supply.high_pressure_pump_efficiency"},
    "boost": {
        "supply.boost_over_spring", "supply.boost_valve", "supply.wastegate_opens_early",
    },
    "rod_bolts": {
        "running_gear.rod_bolts", "running_gear.rod_bolt_thread", "running_gear.rod_bolt_class",
        "running_gear.rod_bolt_preload_share", "running_gear.cap_thickness",
    },
    "big_end_film": {
        "running_gear.big_end_lining", "running_gear.big_end_clearance", "running_gear.oil_grade",
        "running_gear.oil_temperature",
    },
}  # fmt: skip
"""Inputs with a default that are not read without one limit."""


def notices_of(result: Assessment) -> tuple[Notice, ...]:
    """All notices that follow from the result itself."""
    return tuple(
        notice
        for source in (
            lambda r: r.run.notices,
            far_below_rating,
            fed_with_more,
            below_survived,
            earlier_by_fuel,
            replaced_parts,
            sold_boosted_assumed,
            boost_added,
            unknown_rating,
            warm_charge,
            _assumed,
            _phasing,
            _injection,
            _evidence,
            _load,
            _sweep,
            _cold,
            speed_limited,
            late_phasing,
            overspeed,
            critical_speed,
            held_in_run,
            held_parts,
            cut_spreads,
            _not_assessed,
            _log_signs,
            _displacement,
            _knock,
            _abnormal,
        )
        for notice in source(result)
    )


def assumed_and_used(result: Assessment) -> tuple[str, ...]:
    """Names of the assumed inputs that this result rests on."""
    engine, state = result.engine, result.model.operating
    idle = {"heads", "pin_offset"}
    if state.lambda_logged:
        idle.add("fuel.lambda_")
    if result.run.channel("intake_temperature") is not None:
        idle.add("charge.intake_temperature")
    if engine.word("test.measured_at") == "crank":
        idle |= {"test.driveline_loss", "test.referred_to"}
    for limit, names in ONLY_OF.items():
        if limit in result.not_assessed:
            idle |= names
    if not engine.has("supply.rail_pressure"):
        idle |= {"supply.rail_reference", "supply.injector_flow_pressure"}
    stretch = engine.has("running_gear.rod_bolt_stretch")
    idle.add(f"running_gear.rod_bolt_{'preload_share' if stretch else 'length'}")
    if engine.word("test.correction") in ("none", "unknown"):
        idle |= {"test.ambient_temperature", "test.humidity"}
    return tuple(name for name in engine.assumed() if name not in idle)


def _assumed(result: Assessment) -> Iterator[Notice]:
    engine = result.engine
    names = assumed_and_used(result)
    if names:
        labels = [engine.declaration(n).words for n in names]
        yield Notice(
            "assumed",
            f"{len(names)} inputs were not given and are assumed, each with a wide spread: "
            f"{'; '.join(labels)}.",
        )


def _phasing(result: Assessment) -> Iterator[Notice]:
    source = result.phasing_source
    width = relative_width(result.peak_pressure, result.torque)
    if source is PhasingSource.GIVEN:
        return
    yield Notice(
        "phasing-" + source.name.lower().replace("_", "-"),
        f"Phasing is {source.value if source is PhasingSource.ASSUMED else 'from ' + source.value}:"
        f" peak pressure at peak torque is known to {100 * width[0]:+.0f} and "
        f"{100 * width[1]:+.0f} %.",
    )


def _injection(result: Assessment) -> Iterator[Notice]:
    """Which injection timing a diesel was judged at whose phasing is not known."""
    if not result.engine.compression_ignition or result.phasing_source is PhasingSource.GIVEN:
        return
    limit = result.engine.value(spreads.PEAK_LIMIT)
    held = (
        "later as load rises, so that mean peak pressure holds at "
        f"{'' if limit.given else 'about '}{limit.value / 1e5:.0f} bar "
        f"({'given' if limit.given else 'assumed'})"
    )
    if result.model.operating.known_bmep is None:
        latest = np.degrees(LATEST_INJECTED)
        told = (
            f"it is taken as a maker's at any torque, {held}, with CA50 no later than "
            f"{latest:.0f} deg for that. If the maker rated less torque than this run makes, its "
            "peaks are higher: give [rated], or the factory's curve as known good"
        )
    else:
        told = (
            f"up to the known-good or rated curve it is taken as the maker's, {held}; above that "
            "curve it stays as it is there, so that peak pressure rises with torque"
        )
    yield Notice("injection-assumed", f"Injection timing is not known: {told}.")


def _evidence(result: Assessment) -> Iterator[Notice]:
    evidence, wanted = result.evidence, result.model.every.count
    if evidence.used:
        how = (
            "drawn from where such engines are likely"
            if evidence.sought
            else "made of those by steps that keep to spreads and evidence"
        )
        few = (
            f"; {evidence.kept:,} of those are used, the effective sample"
            if evidence.kept == min(evidence.agreed, wanted)
            else f"; {wanted:,} are used, {how}, worth about {evidence.kept:,} independent ones, "
            "the effective sample"
        )
        yield Notice(
            "evidence",
            Sentence(
                "Evidence used: ",
                Sentence.joined("; ", evidence.used),
                f". {100 * evidence.share:.1f} % of {evidence.tried:,} simulated engines agree "
                f"with it{few}.",
            ),
        )
    against = contradiction(result.reading.as_given)
    if against:
        yield Notice("rungs-contradict", against)
    if evidence.strained:
        few = (
            "Next to no simulated engine agrees with what engines of its kind are sold with, so "
            "that is left out"
            if evidence.agreed == evidence.tried
            else f"{f'Only {evidence.agreed}' if evidence.agreed else 'None'} of "
            f"{evidence.tried:,} simulated engines fit all that is known, so inputs and evidence "
            "strain against each other"
        )
        yield Notice("evidence-strains", f"{few} and little is known: check {evidence.strained}.")
    if evidence.kept < min(FEW_DRAWS, max(wanted, LEAST_DRAWS)):
        yield Notice(
            "few-draws",
            f"Only {evidence.kept} simulated engines stand behind the chances, so small ones are "
            f"coarse: less than 1 of {evidence.kept} cannot be told apart.",
        )
    elif evidence.kept * result.policy.chance < 1:
        enough = int(np.ceil(1 / result.policy.chance))
        yield Notice(
            "chance-unresolved",
            f"The accepted chance of {100 * result.policy.chance:g} % is less than one of the "
            f"{evidence.kept} simulated engines: the weakest of them stands for it. Simulate "
            f"{enough:,} or more.",
        )


def _load(result: Assessment) -> Iterator[Notice]:
    diesel = result.engine.compression_ignition
    top = float(result.bmep.max())
    if top > USUAL_BMEP[diesel]:
        yield Notice(
            "bmep-high",
            f"The run stands for {top / 1e5:.0f} bar of brake mean effective pressure, above "
            f"published engines ({USUAL_BMEP[diesel] / 1e5:.0f} bar); check the torque's unit, the "
            "place of measurement and the displacement.",
        )
    middle = volumetric_efficiency_before(
        result.engine, result.model.operating, result.torque, result.model.reading_sd
    )
    told = None if middle is None else charge_mismatch(middle, result.run.pressure_doubt)
    if told is not None:
        yield Notice("volumetric-efficiency", told)


def _sweep(result: Assessment) -> Iterator[Notice]:
    if result.engine.given("test.sweep_rate") == 0:
        yield Notice(
            "steady-points",
            f"The run is of steady points; each is taken as held for {STEADY_HOLD:.0f} s, which "
            "sets the number of cycles spent there. A longer hold spends more.",
        )
    if not result.engine.has("test.sweep_rate"):
        yield Notice(
            "sweep-assumed",
            f"The sweep rate is not stated; {DEFAULT_SWEEP / RPM:.0f} rpm/s is assumed for the "
            "number of cycles spent at each speed. A slower pull spends more cycles there.",
        )


def _cold(result: Assessment) -> Iterator[Notice]:
    """Cold full load, which is not what the joint is judged at."""
    head, lift = result.model.parts.head, "head_lift"
    worst = place_of(result.model.demand.torque, result.torque).read(
        result.model.load(result.limits[lift].limit)
    )
    lifts = replace(head, preload=head.preload_cold).lift_pressure()
    cold, warm = float((worst > lifts).mean(axis=1).max()), float(result.limits[lift].chance.max())
    if cold - warm >= COLD_COUNTS:
        yield Notice(
            "cold-full-load",
            f"Warm the engine through before full load: cold the head lifts in {100 * cold:.0f} % "
            f"of the simulated engines, warm, as it is judged, in {100 * warm:.0f} %.",
        )


def _not_assessed(result: Assessment) -> Iterator[Notice]:
    for name, missing in result.not_assessed.items():
        if not wants_inputs(missing):
            continue
        title = next(limit.title for limit in ALL_LIMITS if limit.name == name)
        wanted = [
            f"{result.engine.declaration(key).words} ([{key.replace('.', '] ')})" for key in missing
        ]
        yield Notice("not-assessed", f"{title}: not assessed; give {', '.join(wanted)}.")


def _log_signs(result: Assessment) -> Iterator[Notice]:
    for sign in signs_of(result.engine, result.run):
        yield Notice(sign.code, sign.text)
    reached = lift_reached(result.reading.as_given, result.speed, result.torque)
    if reached:
        yield Notice(
            "coolant-seen",
            f"Coolant pressure was seen in {', '.join(reached)}, whose torque this run comes up "
            "to: keep under it and test for gas in the coolant. No table asks for more than "
            f"{SHY_OF_SIGN:.0%} of the least torque at which it was.",
        )


def _displacement(result: Assessment) -> Iterator[Notice]:
    engine = result.engine
    if engine.displacement is None:
        return
    off = engine.swept_volume_total / engine.displacement - 1
    if abs(off) > 0.05:
        yield Notice(
            "displacement-off",
            f"Bore, stroke and cylinders give {engine.swept_volume_total * 1e6:.0f} cm^3, "
            f"{off:+.0%} from the stated {engine.displacement * 1e6:.0f} cm^3; every pressure here "
            "follows bore and stroke: check both.",
        )


def _knock(result: Assessment) -> Iterator[Notice]:
    if result.engine.compression_ignition:
        return
    low, middle, high = result.evidence.knock_threshold
    narrowed = (
        "narrowed by the evidence" if result.evidence.used else "as published engines scatter"
    )
    yield Notice(
        "knock-estimate",
        f"Knock is an estimate: it is taken to be heard at a knock integral of {middle:.1f} "
        f"({low:.1f} to {high:.1f}), {narrowed}. Deposits, oil and fuel batch move it, and only "
        "listening to the engine settles it.",
    )


def _abnormal(result: Assessment) -> Iterator[Notice]:
    if result.abnormal.breaks_nothing:
        return
    event, harm = (percent(x) for x in (result.abnormal.pull_event, result.abnormal.pull_harm))
    counted = "is counted in" if result.policy.abnormal_in_chance else "is not counted in"
    yield Notice(
        "abnormal",
        f"As measured, a heavy knock or pre-ignition comes in one pull with a chance of {event} "
        f"and breaks something with {harm}, in order of magnitude; this {counted} the chances "
        "shown.",
    )
