"""The report's pictures: those of the page, as stills."""

import dataclasses
import html
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from torquerisk.show.pictures import gallery
from torquerisk.show.pictures.curve import Limited
from torquerisk.show.pictures.still import for_paper
from torquerisk.show.pictures.style import LIGHT, Look, Picture
from torquerisk.show.words.comparison import sides_of
from torquerisk.show.words.prose import Units
from torquerisk.show.words.running_gear import told_speeds
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    Assessment,
    Comparison,
    Dip,
    GearLoads,
    Proposal,
    RingClamp,
)

TALL, USUAL, SHORT = 290.0, 220.0, 200.0
"""Heights on paper [px]."""


@dataclass(frozen=True, kw_only=True)
class Still:
    """A picture with its title."""

    title: str
    drawn: Markup


def still(picture: Picture, height: float = USUAL) -> Still:
    """A described picture for the report; it was made in the light colours."""
    # The drawer escapes every word, and the template every title.
    return Still(title=html.unescape(picture.title), drawn=Markup(for_paper(picture, height)))


def of_proposal(p: Proposal, units: Units) -> dict[str, Still | list[Still]]:
    """Curve, room, map and pressures of a table and the run that it was made from."""
    a, look = p.assessment, look_of(units)
    limited = Limited(
        breakpoints=p.shape.breakpoints, limit=p.shape.limit, delivered=p.delivered,
        ceiling=a.ceiling,
    )  # fmt: skip
    pressures = [gallery.pressure_picture(a, look, None)]
    if "head_lift" in a.limits:
        pressures.append(gallery.lift_picture(a, look, None))
    return {
        "curve": still(gallery.curve_picture(a, limited, look, None), TALL),
        "room": still(gallery.room_picture(a, look, None, p.policy.chance)),
        "map": still(gallery.map_picture(a, limited, look, None, p.policy.chance), TALL),
        "pressures": [still(one) for one in pressures],
    }


def polars(a: Assessment, gear: GearLoads) -> list[Still]:
    """The polar diagram at each speed that is told."""
    if gear.reach is None:
        return []
    return [
        still(
            gallery.polar_picture(
                answers_of(a).cycle(k), float(a.speed[k]), LIGHT, None, gear.reach
            ), TALL,
        )
        for _, k in told_speeds(a)
        if gear.ranges[k] is not None
    ]  # fmt: skip


def of_dips(a: Assessment, dips: Sequence[Dip], units: Units) -> Still:
    """All dips on their curve."""
    return still(gallery.dips_picture(a, dips, look_of(units), None))


def dots(dip: Dip, number: int) -> Still | None:
    """Twenty dots of the limit that a dip helps most; None where it helps none."""
    if dip.shown is None:
        return None
    return still(gallery.dots_picture(dip, number, LIGHT), SHORT)


def ring(ring_: RingClamp, what: str, draws: int) -> Still:
    """What firing leaves on the sealing ring."""
    return still(gallery.ring_picture(ring_, what, draws, LIGHT, None))


def compared(comparisons: Sequence[Comparison], units: Units) -> Still:
    """Runs and their differences."""
    names = [side.name for side in sides_of(comparisons)]
    return still(gallery.compare_picture(comparisons, names, look_of(units), None), TALL)


def look_of(units: Units) -> Look:
    """The light colours in the units chosen."""
    return dataclasses.replace(LIGHT, units=units)
