"""Headings whose meaning a person gave, on the command line or on the page."""

from collections.abc import Mapping
from dataclasses import replace

from torquerisk.case import CHANNELS
from torquerisk.errors import InputError
from torquerisk.files.channel_names import TURNING
from torquerisk.files.headings import Heading, angle_reference, read_heading
from torquerisk.files.text import quoted
from torquerisk.files.units import says_absolute, says_gauge

_TOLD = 40


def as_said(read: list[Heading], by_hand: Mapping[str, str]) -> list[Heading]:
    """The headings, some of them with the meaning that was given by hand.

    by_hand: heading or number of a column, from 1, to what it is to be read as, written as a
    heading: 'torque [lb*ft]', with the unit left out to keep the column's own, or nothing to leave
    the column out. The place and correction that the heading itself tells stay.
    """
    said = {key.strip(): text for key, text in by_hand.items()}
    made = list(read)
    for index, heading in enumerate(read):
        key = next((k for k in (str(index + 1), heading.text) if k in said), None)
        if key is not None:
            made[index] = _meant(heading, said[key])
            said = {k: t for k, t in said.items() if k != key or heading.text == key}
    names = {h.text for h in read}
    if lost := next((k for k in said if k not in names), None):
        raise InputError(
            f"{quoted(lost)} is to be read otherwise, but no column has that heading; the "
            f"headings are {', '.join(quoted(h.text) for h in read[:_TOLD])}"
        )
    return made


def _meant(heading: Heading, text: str) -> Heading:
    meant = read_heading((text,))
    if text.strip() and (meant.channel is None or meant.unknown):
        raise InputError(
            f"{quoted(heading.text)} is to be read as {quoted(text)}, which is no channel; use one "
            f"of {', '.join(name.strip('_').replace('_', ' ') for name in CHANNELS)}"
        )
    turned = meant.words & TURNING or angle_reference(meant.unit)[1]
    turned = turned or says_absolute(meant.unit) or says_gauge(meant.unit)
    own = heading.words - TURNING if turned else heading.words
    return replace(
        heading,
        channel=meant.channel,
        unit=meant.unit or heading.unit,
        words=meant.words | own,
        unknown=(),
        scale=meant.scale if meant.unit else heading.scale,
        by_hand=True,
    )
