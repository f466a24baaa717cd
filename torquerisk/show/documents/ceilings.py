"""The ceilings in order as a document, each alone and what is left beyond it."""

from torquerisk.show.documents.json_numbers import Document, finite, keyed
from torquerisk.show.words.ceilings import COLUMNS, sentences
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import Assessment


def ceilings_document(assessment: Assessment) -> Document:
    """What stops the run first and what next, at the accepted chance."""
    found = answers_of(assessment).ceilings
    return {
        "together_share": finite(found.together),
        "in_order": [keyed(COLUMNS, one) for one in found.in_order],
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
