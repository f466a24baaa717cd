"""The report's part on the running gear: what is said, extremes with angles, polar diagrams."""

from typing import Any

from torquerisk.show.report import pictures
from torquerisk.show.report.tables import Table, table_of
from torquerisk.show.words import running_gear
from torquerisk.show.words.columns import At, Shown, chosen
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import FORCES, Assessment, GearLoads


def gear_part(a: Assessment, full: bool = False) -> dict[str, Any]:
    """Everything that the template asks of the running gear."""
    gear = answers_of(a).gear
    return {
        "told": [
            *([running_gear.guidance_in_words(gear)] if full else []),
            running_gear.rod_in_words(a),
            *running_gear.crossover_sentences(gear)[: 2 if full else 1],
            *([running_gear.crown_in_words(gear)] if full else []),
            *(running_gear.film_in_words(gear) if full else ()),
            *running_gear.mains_in_words(gear),
            *running_gear.missing_in_words(gear),
        ],
        "table": extremes_table(a, gear),
        "signs": f"{running_gear.SIGNS} {running_gear.basis_in_words(a.engine)}",
        "frame": running_gear.FRAME,
        "by_speed": speed_table(a, gear),
        "stills": pictures.polars(a, gear),
    }


def extremes_table(a: Assessment, gear: GearLoads) -> Table:
    """Every force at the told speeds, push and pull with their angles."""
    title = "Greatest forces over 720 degrees, with their crank angle"
    columns = running_gear.side_by_side(a, gear)
    return table_of(title, columns, FORCES if columns else (), Shown(), whole=True)


def speed_table(a: Assessment, gear: GearLoads) -> Table:
    """Motion and loads by speed, thinned."""
    return table_of(
        "How the piston moves and what it is loaded with, by speed",
        chosen(running_gear.COLUMNS, running_gear.ROW),
        [At(gear, k) for k in running_gear.key_speeds(a)],
        Shown(),
        kind="numbers",
        whole=True,
    )
