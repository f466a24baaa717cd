"""The JSON document of `studs`: the clamp that is needed and the fastenings that give it."""

from collections.abc import Iterable

from torquerisk.case import Notice
from torquerisk.quantities import DEGREE, KILO, RPM
from torquerisk.show.documents.assessed import envelope
from torquerisk.show.documents.json_numbers import Document, finite, keyed, spread_points
from torquerisk.show.documents.sealing_ring import choice_ring, joint_ring, ring_at
from torquerisk.show.pictures.order import order_rows
from torquerisk.show.words.lubricants import COLUMNS
from torquerisk.show.words.prose import torque_state
from torquerisk.show.words.stud_findings import findings, lifted
from torquerisk.show.words.target_sheet import TargetSheet, target_sheet
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import StudBench, StudChoice


def studs_document(bench: StudBench, extra: Iterable[Notice] = ()) -> Document:
    """The document of `studs`; choices stand with the mildest change first.

    An infinite figure is null with a state beside it. Full precision, never NaN.
    """
    a, seen = bench.assessment, [Notice("lift-seen", text) for text in lifted(bench)]
    document = envelope((*extra, *seen, *bench.notices, *a.notices))
    mildest, present, other = bench.mildest, bench.present, bench.other_part
    ring = answers_of(a).ring_with(bench, present)
    loads = answers_of(a).fastener_with(bench, present)
    return {
        **document,
        "cautions": list(bench.cautions),
        "engine": a.engine.name,
        "run": a.run.name,
        "run_sha256": a.run.digest,
        "draws": a.model.draws.count,
        "seed": a.policy.seed,
        "chance_accepted": bench.ask.accepted,
        "curve": bench.ask.curve,
        "target_torque_n_m": bench.target_torque,
        "worst_speed_rpm": bench.worst_speed / RPM,
        "required_clamp_per_fastener_kn": bench.required_clamp_per_fastener / KILO,
        "fasteners": bench.fasteners,
        "findings": list(findings(bench)),
        "other_part": None
        if other is None
        else {
            "limit": other.limit.name,
            "speed_rpm": other.speed / RPM,
            "torque_n_m": finite(other.torque),
            "torque_state": torque_state(other.torque),
            "asked_n_m": other.asked,
            "words": other.words,
        },
        "ring": joint_ring(ring, loads, a.model.draws.count),
        "present": choice_document(bench, bench.present),
        "mildest_that_holds": None if mildest is None else choice_document(bench, mildest),
        "choices": [choice_document(bench, choice) for choice in bench.choices],
        "target_sheet": None if mildest is None else _sheet(target_sheet(bench, mildest)),
        "lubricants": [keyed(COLUMNS, change) for change in bench.oils],
        "by_speed": [
            {
                "speed_rpm": float(a.speed[k]) / RPM,
                "torque_n_m": float(bench.ask.torque[k]),
                "gas_force_kn": float(bench.gas_force[k]) / KILO,
                "required_clamp_per_fastener_kn": float(bench.ask.needed[k]) / KILO,
                **ring_at(ring, k),
            }
            for k in range(len(a.speed))
        ],
    }


def choice_document(bench: StudBench, choice: StudChoice) -> Document:
    """One fastening and what it does; chances and utilisations are pure numbers."""
    made = choice.fastening
    angle = made.tightening_angle
    return {
        "thread": made.thread.designation,
        "property_class": made.class_word,
        "strength": made.strength.name,
        "change": made.change.name.lower().replace("_", " "),
        "what_changes": made.change.words,
        "tightening": made.method.value,
        "tightening_torque_n_m": made.tightening_torque,
        "tightening_torque_is": made.torque_is,
        "tightening_angle_deg": None if angle is None else angle / DEGREE,
        "how": made.how,
        "how_assumed": choice.not_said or None,
        "spares_block_thread": made.spared,
        "lubricant": made.lubricant.name,
        "thread_friction": made.lubricant.thread_friction,
        "head_friction": made.lubricant.head_friction,
        "preload_kn": choice.preload.p50 / KILO,
        "preload_range_kn": spread_points(choice.preload, KILO),
        "clamp_in_service_kn": spread_points(choice.clamp, KILO),
        "lift_chance": choice.lift_chance,
        "lift_chance_aged": choice.lift_chance_aged,
        "clamp_to_spare_share": finite(choice.clamp_to_spare),
        "yield_utilisation": choice.yield_utilisation,
        "yield_chance": choice.yield_chance,
        "strip_utilisation": choice.strip_utilisation,
        "strip_chance": choice.strip_chance,
        "past_yield_share": choice.past_yield,
        "fatigue_utilisation": choice.fatigue_utilisation,
        "bearing_utilisation": choice.bearing_utilisation,
        **choice_ring(bench, choice),
        "washer_diameter_mm": choice.washer_diameter / 1e-3,
        "torque_held_n_m": finite(choice.torque_held),
        "torque_held_aged_n_m": finite(choice.torque_held_aged),
        "torque_held_middle_n_m": finite(choice.torque_held_middle),
        "stretch_mm": spread_points(choice.stretch, 1e-3),
        "nut_thread": made.fastener.turned.designation if made.stud else None,
        "cost": choice.cost,
        "torque_held_state": torque_state(choice.torque_held),
        "holds": bool(choice.holds),
        "holds_aged": bool(choice.holds_aged),
        "close": bool(choice.close),
        "plastic": bool(choice.plastic),
        "first_to_fail": choice.first_to_fail.value,
        "states": {
            state.value: {
                "preload_kn": spread_points(result.preload, KILO),
                "lift_chance": result.lift_chance,
            }
            for state, result in choice.states.items()
        },
    }


def _sheet(sheet: TargetSheet) -> Document:
    return {
        "title": sheet.title,
        "verdict": list(sheet.verdict),
        "facts": [
            {"what": what, "value": value} for what, value in (*sheet.facts, *sheet.estimates)
        ],
        "before": list(sheet.before),
        "order": None if sheet.order is None else list(order_rows(sheet.order)),
        "order_assumed": None if sheet.order is None else sheet.order.assumed,
        "steps": list(sheet.steps),
        "afterwards": list(sheet.afterwards),
        "cautions": list(sheet.cautions),
    }
