"""Two runs side by side in at most five sentences."""

import numpy as np

from torquerisk.show.words import prose
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.results import Comparison, Difference, Least, Side

MOST_NAMED = 4
"""Differences named in the text; the document lists all."""


def compare_in_words(comparison: Comparison, units: Units = Units.SI) -> tuple[str, ...]:
    """At most five sentences: worth, torque, load, chance, fairness."""
    return (
        _worth(comparison),
        _torque(comparison, units),
        _load(comparison),
        _chance(comparison),
        _fairness(comparison),
    )


def _worth(c: Comparison) -> str:
    range_ = prose.speeds_in_words(float(c.speed[0]), float(c.speed[-1])).capitalize()
    ratio = c.second.area / c.first.area - 1 if c.first.area > 0 else float("nan")
    name_one, name_two = _names(c)
    if abs(ratio) < 0.005:
        told = f"{range_} {name_two} has the same area under power as {name_one} to within 1 %"
    elif np.isfinite(ratio):
        more = "more" if ratio > 0 else "less"
        told = (
            f"{range_} {name_two} has {prose.plain(100 * abs(ratio), 1)} % {more} area under power "
            f"than {name_one}"
        )
    else:
        told = f"{range_} {name_one} made no power, so the areas under power have no ratio"
    times = (c.first.sweep_time, c.second.sweep_time)
    if times[0] is None or times[1] is None:
        return f"{told}; a sweep time needs torque above 0 all the way, which one run lacks."
    label = "" if c.inertia_given else ", a round figure, since no inertia was given"
    return (
        f"{told} and pulls {c.inertia:g} kg·m² through in {prose.plain(times[1], 2)} s against "
        f"{prose.plain(times[0], 2)} s (no drag{label})."
    )


def _names(c: Comparison) -> tuple[str, str]:
    if c.first.name == c.second.name:
        return "the first run", "the second run"
    return f"the first run ({c.first.name})", f"the second run ({c.second.name})"


def _torque(c: Comparison, units: Units) -> str:
    unit, size = prose.torque_unit(units)
    close = prose.plain(float(np.median(c.too_close)) / size)
    parts = []
    for mask, name in ((c.more_second, "second"), (c.more_first, "first")):
        if mask.any():
            most = prose.plain(float(np.abs(c.difference[mask]).max()) / size)
            parts.append(
                f"the {name} run clearly made more torque {prose.where_in_words(c.speed, mask)}, "
                f"by up to {most} {unit}"
            )
    spread = (
        f"within the readings' spread of about {close} {unit}"
        f"{' on one dyno' if c.same_dyno else ''}"
    )
    if not parts:
        return f"Torque is too close to call at every speed: the runs differ {spread}."
    told = "; ".join(parts)
    rest = "" if c.decided.all() else f"; elsewhere it is too close to call, {spread}"
    return f"{told[0].upper()}{told[1:]}{rest}."


def _load(c: Comparison) -> str:
    peaks = [_peak(side) for side in (c.first, c.second)]
    return (
        f"Peak cylinder pressure reaches {peaks[0]} in the first run and {peaks[1]} in the second; "
        f"nearest to its limit is {_least(c.first.least)} in the first, {_least(c.second.least)} "
        "in the second."
    )


def _peak(side: Side) -> str:
    k = int(np.argmax(side.peak_pressure.p50))
    middle, low, high = prose.with_range(side.peak_pressure, k, 1e5)
    return f"{middle} bar ({low} to {high}) at {prose.speed_in_words(float(side.speed[k]))}"


def _least(least: Least) -> str:
    limit = least.limit
    low, middle, high = (m / limit.unit_size for m in least.margin)
    texts = prose.middle_low_high(low, middle, high)
    spare = f"{texts[0]} {limit.unit} to spare"
    if texts[0].startswith(prose.MINUS):
        spare = f"{texts[0][1:]} {limit.unit} too little"
    return f"{limit.title.lower()} with {spare} at {prose.speed_in_words(least.speed)}"


def _chance(c: Comparison) -> str:
    told = []
    for side in (c.first, c.second):
        k = int(np.argmax(side.chance_any))
        most = float(side.chance_any[k])
        count = f"{prose.chance_count(most, side.draws)} of {side.draws:,} simulated engines"
        place = f" ({prose.speed_in_words(float(side.speed[k]))})" if most > 0 else ""
        told.append(f"{count}{place}")
    return (
        f"At its worst speed some limit of strength is passed in {told[0]} in "
        f"the first run and in {told[1]} in the second."
    )


def _fairness(c: Comparison) -> str:
    measured = [d for d in c.differences if d.measuring]
    others = [d for d in c.differences if not d.measuring]
    if measured:
        told = f"Measured differently: {_listed(measured)}; both are shown uncorrected at the crank"
    else:
        told = "As far as the files say both were measured alike; both are shown uncorrected at the"
        told += " crank"
    if others:
        told += f"; the engines differ too: {_listed(others)}"
    return f"{told}."


def _listed(differences: list[Difference]) -> str:
    named = [
        f"{d.label[0].lower()}{d.label[1:]} ({d.first} against {d.second})"
        for d in differences[:MOST_NAMED]
    ]
    more = len(differences) - MOST_NAMED
    return ", ".join(named) + (f" and {more} more" if more > 0 else "")
