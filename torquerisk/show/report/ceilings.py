"""The report's ceilings in order: picture, table and what is said of them."""

from typing import Any

from torquerisk.show.pictures import gallery
from torquerisk.show.report.pictures import TALL, look_of, still
from torquerisk.show.report.tables import table_of
from torquerisk.show.words import ceilings
from torquerisk.show.words.columns import Shown, chosen
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import Assessment


def ceilings_part(a: Assessment, units: Units) -> dict[str, Any]:
    """What stops the run first, and what next."""
    found = answers_of(a).ceilings
    return {
        "still": still(gallery.ceilings_picture(a, look_of(units), None), TALL),
        "table": table_of(
            ceilings.TITLE,
            chosen(ceilings.COLUMNS, ceilings.ROW),
            ceilings.shown(found),
            Shown(units=units),
        ),
        "note": ceilings.NOTE,
        "told": ceilings.sentences(found, units),
    }
