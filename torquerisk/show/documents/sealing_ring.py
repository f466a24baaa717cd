"""Keys of the JSON documents on what is left on the combustion ring and in the fasteners."""

from torquerisk.quantities import BAR, KILO, MEGA, RPM
from torquerisk.show.documents.json_numbers import Document, finite, points, spread_points
from torquerisk.show.words.sealing_ring import LINE_LOAD, bending_in_words, why_it_governs
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    Assessment,
    FastenerLoads,
    HeldBy,
    RingClamp,
    RingHold,
    StudBench,
    StudChoice,
)


def run_ring(assessment: Assessment) -> tuple[Document, list[Document]]:
    """Of an assessment: the key for the joint, and the keys for every speed."""
    a, answers = assessment, answers_of(assessment)
    ring, loads = answers.ring, answers.fastener
    return joint_ring(ring, loads, a.model.draws.count), [
        ring_at(ring, k) for k in range(len(a.speed))
    ]


def joint_ring(ring: RingClamp, loads: FastenerLoads, draws: int) -> Document:
    """The joint at the speed where its ring is nearest to lifting."""
    return {
        "speed_rpm": float(ring.speed[ring.worst]) / RPM,
        "sharing_text": bending_in_words(ring),
        "governing_cylinder": ring.governing.value,
        "governing_text": why_it_governs(ring, draws),
        "sealing_diameter_mm": ring.sealing_diameter / 1e-3,
        "least_line_load_n_mm": spread_points(ring.least_line_load, LINE_LOAD),
        "lift_line_load_n_mm": spread_points(ring.lift_line_load, LINE_LOAD),
        **ring_at(ring, ring.worst),
        "fastener": _fastener(loads),
    }


def ring_at(ring: RingClamp, k: int) -> Document:
    """What is left at one speed: the governing cylinder's, then every kind."""
    governs = ring.governs
    return {
        "ring_clamp_left_kn": points(governs.left, k, KILO),
        "ring_line_load_n_mm": points(governs.line_load, k, LINE_LOAD),
        "by_cylinder": {
            kind.value: _hold(ring.holds[kind], k) if kind in ring.holds else None
            for kind in HeldBy
        },
    }


def choice_ring(bench: StudBench, choice: StudChoice) -> Document:
    """Of one fastening: what is left at the worst speed; chances are the greatest of any speed."""
    answers = answers_of(bench.assessment)
    ring = answers.ring_at_worst(bench, choice)
    keys = ring_at(ring, 0)
    for kind, (lifts, weeps) in answers.ring_chances(bench, choice).items():
        place = keys["by_cylinder"][kind.value]
        place["lift_chance"], place["weep_chance"] = lifts, weeps
    return {
        **keys,
        "governing_cylinder": ring.governing.value,
        "fastener": _fastener(answers.fastener_with(bench, choice)),
    }


def _hold(hold: RingHold, k: int) -> Document:
    return {
        "cylinders": hold.cylinders,
        "fasteners": hold.fasteners,
        "own_share": spread_points(hold.own_share, 1.0),
        "clamp_kn": spread_points(hold.clamp, KILO),
        "ring_clamp_left_kn": points(hold.left, k, KILO),
        "ring_line_load_n_mm": points(hold.line_load, k, LINE_LOAD),
        "lift_utilisation": finite(float(hold.lift_utilisation[k])),
        "lift_chance": float(hold.lift_chance[k]),
        "weep_chance": float(hold.weep_chance[k]),
    }


def _fastener(loads: FastenerLoads) -> Document:
    """Loads at rest and firing in the greater of cold and hot, `load_state`; what opens the ring,
    and the load then, warm.
    """
    return {
        "load_at_rest_kn": spread_points(loads.rest, KILO),
        "load_firing_kn": spread_points(loads.firing, KILO),
        "load_state": loads.load_state,
        "ring_open_pressure_bar": spread_points(loads.open_pressure, BAR),
        "load_when_ring_opens_kn": spread_points(loads.at_open, KILO),
        "gain_ring_closed_kn_per_bar": loads.gain_closed * BAR / KILO,
        "gain_after_lift_kn_per_bar": loads.gain_lifted * BAR / KILO,
        "ring_open_share": loads.open_share,
        "fatigue_amplitude_mpa": spread_points(loads.amplitude, MEGA),
        "fatigue_amplitude_limit_mpa": loads.amplitude_limit / MEGA,
        "fatigue_by": "VDI 2230",
        "bearing_pressure_mpa": loads.bearing.pressure / MEGA,
        "bearing_limit_mpa": loads.bearing.limit / MEGA,
        "bearing_utilisation": loads.bearing.utilisation,
        "bearing_washer_mm": loads.bearing.usual_washer / 1e-3,
    }
