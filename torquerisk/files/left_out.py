"""Columns that a verdict may turn on and that a run was read without."""

from collections.abc import Collection, Iterable

from torquerisk.case import CHANNELS
from torquerisk.files.channel_names import OF_ANOTHER, TARGETS
from torquerisk.files.headings import Heading, angle_reference, is_unit
from torquerisk.files.text import quoted
from torquerisk.files.units import unit_of

_TELLING: dict[str, tuple[str, ...]] = {
    "ignition advance": ("ignition_advance", "ignition", "advance"),
    "manifold pressure": ("manifold_pressure", "boost"),
    "knock": ("knock_retard", "knock_count", "knock"),
    "lambda": ("lambda_", "afr", "lambda"),
}
"""Channels that move a verdict, and words that speak of them: any of each is enough."""
_TOLD = 3
_RAW = ("V", "mV", "dB")
"""Units of a sensor's own signal, from which nothing is read."""
SPOKEN_OF = frozenset(("pressure", "ignition", "advance", "boost", "knock", "lambda"))
"""Words of a heading that names no channel, for which it is told all the same."""


def left_out_in_words(read: Iterable[Heading], channels: Collection[str]) -> str:
    """What moves a verdict, was in the file and was not read; empty where nothing is.

    read: all headings of the file. channels: those that the run carries.
    """
    heads = [
        h
        for h in read
        if not h.by_hand and not h.words & (TARGETS | OF_ANOTHER) and h.unit not in _RAW
    ]
    told = []
    for what, names in _TELLING.items():
        if any(name in channels for name in names):
            continue
        found = [quoted(h.text) for h in heads if _speaks_of(h, names)]
        if found:
            told.append(f"{what} ({', '.join(found[:_TOLD])})")
    if not told:
        return ""
    return (
        f"In the file, but left out, though the verdict may turn on it: {', '.join(told)}; say "
        "what it is with --column or on the page under As read."
    )


def _speaks_of(heading: Heading, names: tuple[str, ...]) -> bool:
    """True where a heading means or may mean a channel, and its unit does not speak against it."""
    kinds = [CHANNELS[name].kind for name in names if name in CHANNELS]
    fits = not heading.unit or not is_unit(heading.unit) or any(
        kind is not None and unit_of(angle_reference(heading.unit)[0], kind) for kind in kinds
    )  # fmt: skip
    if heading.channel is not None:
        return fits and heading.channel in names
    return fits and bool(heading.words & set(names))
