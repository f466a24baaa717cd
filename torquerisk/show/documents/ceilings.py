"""The ceilings in order as a document, each alone and what is left beyond it."""

from typing import Any

from torquerisk.quantities import KILO, RPM
from torquerisk.show.documents.json_numbers import finite
from torquerisk.show.words.ceilings import sentences
from torquerisk.show.words.prose import torque_state
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import Assessment, Ceiling

Document = dict[str, Any]


def ceilings_document(assessment: Assessment) -> Document:
    """What stops the run first and what next, at the accepted chance."""
    found = answers_of(assessment).ceilings
    return {
        "together_share": finite(found.together),
        "in_order": [_ceiling(one) for one in found.in_order],
        "not_reached": [limit.name for limit in found.beyond],
        "blends": [
            {
                "ethanol_share": one.ethanol,
                "power_share": one.power,
                "more_octane": one.octane,
            }
            for one in found.blends
        ],
        "text": sentences(found),
    }


def _ceiling(one: Ceiling) -> Document:
    return {
        "limit": one.limit.name,
        "title": one.limit.title,
        "kind": one.limit.kind.value,
        "speed_rpm": one.speed / RPM,
        "torque_n_m": finite(one.torque),
        "power_kw": finite(one.power / KILO),
        "state": torque_state(one.torque),
        "run_share": finite(one.share),
        "rest_run_share": finite(one.rest),
        "lifted_by": one.limit.lifted_by,
    }
