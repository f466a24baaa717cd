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
from torquerisk.show.words.prose import Units
from torquerisk.show.words.running_gear import told_speeds
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    Assessment,
    Dip,
    GearLoads,
    Proposal,
    RingClamp,
)

TALL, FIRST, USUAL, SHORT = 290.0, 255.0, 220.0, 200.0
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


def curve(p: Proposal, units: Units) -> Still:
    """Torque and power as measured and under the table."""
    return still(gallery.curve_picture(p.assessment, _limited(p), look_of(units), None), FIRST)


def room(p: Proposal, units: Units) -> Still:
    """Torque to spare before the weakest part."""
    return still(gallery.room_picture(p.assessment, look_of(units), None, p.policy.chance), SHORT)


def risk_map(p: Proposal, units: Units) -> Still:
    """Chances over speed and torque."""
    look, accepted = look_of(units), p.policy.chance
    return still(gallery.map_picture(p.assessment, _limited(p), look, None, accepted), TALL)


def pressures(a: Assessment, units: Units) -> list[Still]:
    """Peak pressure, and the pressure against what lifts the head."""
    made = [gallery.pressure_picture(a, look_of(units), None)]
    if "head_lift" in a.limits:
        made.append(gallery.lift_picture(a, look_of(units), None))
    return [still(one, SHORT) for one in made]


def _limited(p: Proposal) -> Limited:
    return Limited(
        breakpoints=p.shape.breakpoints, limit=p.shape.limit,
        delivered=p.delivered(p.assessment.speed), ceiling=p.assessment.ceiling,
    )  # fmt: skip


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


def look_of(units: Units) -> Look:
    """The light colours in the units chosen."""
    return dataclasses.replace(LIGHT, units=units)
