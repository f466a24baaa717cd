"""What stops the run first, and what next: all ceilings, mechanical and of supply, in order."""

from torquerisk.show.page.draw import picture
from torquerisk.show.page.html import block, bullets, paragraphs, table
from torquerisk.show.page.result import Result
from torquerisk.show.pictures import gallery
from torquerisk.show.words import ceilings as words
from torquerisk.show.words.columns import Shown, chosen, worded


def ceilings(result: Result) -> None:
    """Picture, sentences and table of the ceilings in order."""
    a, found = result.assessment, result.answers.ceilings
    picture(
        result.picture(
            "ceilings",
            lambda: gallery.ceilings_picture(a, result.look, result.stamp),
            result.chance,
        )
    )
    bullets(words.sentences(found, result.units))
    columns, rows = chosen(words.COLUMNS, words.ROW), words.shown(found)
    block(table(worded(columns, rows, Shown(units=result.units)), words.TITLE))
    paragraphs([words.NOTE])
