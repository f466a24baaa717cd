"""The report's part on the running gear: what is said, extremes with angles, polar diagrams."""

from typing import Any

from torquerisk.show.report import pictures
from torquerisk.show.report.tables import Table
from torquerisk.show.words import prose, running_gear
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import Assessment, GearLoads


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
    told, rows = running_gear.told_cells(a, gear)
    headings = [("force", "")]
    for k in told:
        at = prose.speed_in_words(float(a.speed[k]))
        headings += [(f"{at}: push or size", "kN"), ("at", "°"), ("pull", "kN"), ("at", "°")]
    return Table(
        title="Greatest forces over 720 degrees, with their crank angle", headings=headings,
        rows=rows, whole=True,
    )  # fmt: skip


def speed_table(a: Assessment, gear: GearLoads) -> Table:
    """Motion and loads by speed, thinned."""
    return Table(
        title="How the piston moves and what it is loaded with, by speed",
        headings=running_gear.SPEED_HEADINGS,
        rows=running_gear.speed_rows(gear, running_gear.key_speeds(a)),
        kind="numbers",
        whole=True,
    )
