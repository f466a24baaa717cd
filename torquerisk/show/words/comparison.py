"""Runs side by side in a few sentences: worth, equal footing, torque, load, chance, fairness."""

from collections.abc import Iterable, Sequence

import numpy as np

from torquerisk.quantities import BAR, DEGREE, KILO
from torquerisk.show.words import prose
from torquerisk.show.words.columns import At, Column, triple
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.results import LEAST_EARLY, Comparison, Difference, Least, Side

MOST_NAMED = 4
"""Differences named in the text; the document lists all."""
SAME = 0.005
"""Ratio of areas nearer to 1 than this is told as the same."""


OF_RUN: tuple[Column[At[Side]], ...] = (
    Column(key="torque_n_m", value=lambda r: r.of.torque[r.k], measure=prose.torque_unit,
           text="{of}\n{unit}"),
    Column(key="torque_sd_n_m", value=lambda r: r.of.torque_sd[r.k]),
    Column(key="power_kw", value=lambda r: r.of.power[r.k], size=KILO),
    Column(key="manifold_pressure_kpa", size=KILO, value=lambda r: None
           if r.of.manifold_pressure is None else r.of.manifold_pressure[r.k]),
    Column(key="peak_pressure_bar", value=lambda r: triple(r.of.peak_pressure, r.k), size=BAR,
           text="peak\nbar", part="middle"),
    Column(key="chance_any", value=lambda r: r.of.chance_any[r.k], text="fail\n/{draws}",
           counted=True),
)  # fmt: skip
"""Columns by speed that every run has."""
OF_PAIR: tuple[Column[At[Comparison]], ...] = (
    Column(key="torque_difference_n_m", value=lambda r: r.of.difference[r.k],
           measure=prose.torque_unit, text="more\n{unit}"),
    Column(key="too_close_n_m", value=lambda r: r.of.too_close[r.k]),
    Column(key="more_torque", value=lambda r: more_torque(r.of, r.k), text="more torque",
           words=True),
    Column(key="ignition_later_deg", size=DEGREE, value=lambda r: None
           if r.of.ignition_later is None else r.of.ignition_later[r.k]),
    Column(key="ca50_later_deg", size=DEGREE, value=lambda r: None
           if r.of.ca50_later is None else r.of.ca50_later[r.k]),
    Column(key="torque_at_equal_manifold_pressure_n_m", value=lambda r: None
           if r.of.equal_boost_torque is None else r.of.equal_boost_torque[r.k]),
)  # fmt: skip
"""Columns by speed of a run held against the first."""


def compare_in_words(compared: Sequence[Comparison], units: Units = Units.SI) -> tuple[str, ...]:
    """At most ten sentences for two runs, five more for each further one."""
    sides, many = sides_of(compared), len(compared) > 1
    told = [
        text
        for c in compared
        for text in (_worth(c), _equal(c, many), _torque(c, units), _ignition(c))
    ]
    told += [_start(compared[0]), _load(sides), _chance(sides), _known(sides)]
    return tuple(text for text in (*told, *_fairness(compared)) if text)


def sides_of(compared: Sequence[Comparison]) -> tuple[Side, ...]:
    """All runs in the order given."""
    return (compared[0].first, *(c.second for c in compared))


def more_torque(c: Comparison, k: int) -> str:
    """Which run clearly made more torque at the index of a speed, or why that is not said."""
    if not c.comparable[k]:
        return "not comparable"
    if not c.decided[k]:
        return "too close to call"
    return c.second.ordinal if c.more_second[k] else c.first.ordinal


def _worth(c: Comparison) -> str:
    range_ = prose.speeds_in_words(*c.band).capitalize()
    name_one, name_two = _names(c)
    if c.area_ratio is None:
        told = f"{range_} {name_one} made no power, so the areas under power have no ratio"
    else:
        told = f"{range_} {name_two} has {_more(c.area_ratio)} area under power {_as(c)} {name_one}"
    times = (c.first.sweep_time, c.second.sweep_time)
    if times[0] is None or times[1] is None:
        return f"{told}; a sweep time needs torque above 0 all the way, which one run lacks."
    label = (
        ""
        if c.inertia_given or c.second.ordinal != "second"
        else "; a round figure for engine and vehicle together"
    )
    return (
        f"{told} and pulls {c.inertia:g} kg·m² through in {prose.plain(times[1], 2)} s against "
        f"{prose.plain(times[0], 2)} s (no drag{label})."
    )


def _more(ratio: float) -> str:
    """A ratio as '3.2 % more'."""
    if abs(ratio - 1) < SAME:
        return "to within 1 % the same"
    return f"{prose.plain(100 * abs(ratio - 1), 1)} % {'more' if ratio > 1 else 'less'}"


def _as(c: Comparison) -> str:
    return "as" if c.area_ratio is not None and abs(c.area_ratio - 1) < SAME else "than"


def _names(c: Comparison) -> tuple[str, str]:
    one, two = (f"the {side.ordinal} run" for side in (c.first, c.second))
    if c.first.name == c.second.name:
        return one, two
    return f"{one} ({c.first.name})", f"{two} ({c.second.name})"


def _equal(c: Comparison, many: bool) -> str:
    """The same ratio with one thing made equal."""
    told = [
        f"{what} {_more(ratio)}"
        for what, ratio in (
            ("area at equal peak power:", c.at_equal_peak_power),
            (
                f"at equal manifold pressure, as far as the charge goes{_doubted(c)}:",
                c.at_equal_boost,
            ),
            ("in one air (J1349), which credits held boost too much:", c.in_one_air),
        )
        if ratio is not None and c.area_ratio is not None and abs(ratio - c.area_ratio) > SAME
    ]
    return _sentence(f"{_against(c, many)}{'; '.join(told)}") if told else ""


def _doubted(c: Comparison) -> str:
    """What to ask first, where a run's heading does not tell what its pressure is counted from."""
    asked = [f"{side.ordinal} run: {side.pressure_doubt}" for side in (c.first, c.second)
             if side.pressure_doubt]  # fmt: skip
    return f", in doubt ({'; '.join(asked)})" if asked else ""


def _against(c: Comparison, many: bool) -> str:
    """Which two runs are meant, where there are more."""
    return f"the {c.second.ordinal} run against the {c.first.ordinal}: " if many else ""


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."


def _and(told: Sequence[str]) -> str:
    return told[0] if len(told) == 1 else f"{', '.join(told[:-1])} and {told[-1]}"


def _torque(c: Comparison, units: Units) -> str:
    unit, size = prose.torque_unit(units)
    close = prose.plain(float(np.median(c.too_close)) / size)
    parts = []
    one, two = c.first, c.second
    for mask, side, other in ((c.more_second, two, one), (c.more_first, one, two)):
        if mask.any():
            most = prose.plain(float(np.abs(c.difference[mask]).max()) / size)
            parts.append(
                f"the {side.ordinal} run clearly made more torque than the {other.ordinal} "
                f"{prose.where_in_words(c.speed, mask)}, by up to {most} {unit}"
            )
    spread = (
        f"within the readings' spread of about {close} {unit}"
        f"{' on one dyno' if c.same_dyno else ''}"
    )
    if not c.comparable.any():
        return ""
    if not parts:
        return (
            f"Torque of the {c.first.ordinal} and the {c.second.ordinal} run is too close to call "
            f"at every speed{'' if c.comparable.all() else ' that can be compared'}: they differ "
            f"{spread}."
        )
    close_calls = c.comparable & ~c.decided
    rest = f"; elsewhere it is too close to call, {spread}" if close_calls.any() else ""
    return _sentence(f"{'; '.join(parts)}{rest}")


def _ignition(c: Comparison) -> str:
    """Where one run burns later by enough to be worth a word, or without CA50 ignites later, and by
    how much at most."""
    verb, later = ("ignites", c.ignition_later) if c.ca50_later is None else ("burns", c.ca50_later)
    if later is None:
        return ""
    parts = []
    for mask, word in ((later >= LEAST_EARLY, "later"), (later <= -LEAST_EARLY, "earlier")):
        if mask.any():
            most = float(np.abs(later[mask]).max()) / DEGREE
            parts.append(
                f"{word} than the {c.first.ordinal} {prose.where_in_words(c.speed, mask)}, by up "
                f"to {most:.1f} degrees"
            )
    return _sentence(f"the {c.second.ordinal} run {verb} {_and(parts)}") if parts else ""


def _start(c: Comparison) -> str:
    """What how the runs began spoils."""
    if c.comparable.all():
        return ""
    why = (
        "one run had its boost there already, or was held at each point, where another had still "
        "to build it, so it is the loading that decides there, not the hardware"
    )
    if not c.comparable.any():
        return f"No speed can be compared fairly: {why}."
    early = prose.speeds_in_words(float(c.speed[0]), c.comparable_from).capitalize()
    return f"{early} the runs cannot be compared: {why}; areas and times leave it out."


def _load(sides: Sequence[Side]) -> str:
    peaks = _each((_peak(side), side) for side in sides)
    least = _each((_least(side.least), side) for side in sides)
    return f"Peak pressure reaches {peaks}; nearest to its limit: {least}."


def _each(told: Iterable[tuple[str, Side]]) -> str:
    """Texts of runs, each followed by which one."""
    first, *more = told
    return _and(
        [f"{first[0]} in the first run", *(f"{text} in the {side.ordinal}" for text, side in more)]
    )


def _peak(side: Side) -> str:
    k = int(np.argmax(side.peak_pressure.p50))
    middle, low, high = prose.with_range(side.peak_pressure, k, 1e5)
    return f"{middle} bar ({low} to {high}) at {prose.speed_in_words(float(side.speed[k]))}"


def _least(least: Least) -> str:
    limit = least.limit
    spare = prose.points_in_words(least.margin, prose.limit_unit(limit))
    return f"{limit.title.lower()}, {spare}, at {prose.speed_in_words(least.speed)}"


def _chance(sides: Sequence[Side]) -> str:
    told = []
    for side in sides:
        k = int(np.argmax(side.chance_any))
        most = float(side.chance_any[k])
        count = prose.chance_in_words(most, side.draws)
        place = f" ({prose.speed_in_words(float(side.speed[k]))})" if most > 0 else ""
        told.append((f"{count}{place}", side))
    knocks = "".join(
        f" The {side.ordinal} run is likely to knock {prose.where_in_words(side.speed, likely)}."
        for side in sides
        if (likely := side.knock > 0.5).any()
    )
    return f"At the worst speed a part gives way {_each(told)}.{knocks}"


def _known(sides: Sequence[Side]) -> str:
    """What some runs logged and others did not."""
    told = [
        f"the {side.ordinal} logged {_and([_channel(n) for n in side.left_out])}"
        for side in sides
        if side.left_out
    ]
    if not told:
        return ""
    start = any("manifold_pressure" in side.left_out for side in sides)
    boost = "; whether each began with its boost there is not known" if start else ""
    alone = "; ".join(
        f"by all that the {side.ordinal} logged, one gives way in "
        f"{prose.chance_count(side.worst_by_all, side.draws)}"
        for side in sides
        if side.left_out
    )
    return (
        f"The runs were known differently: {_and(told)} beside what all logged; pressures and "
        f"chances here are by what all logged; {alone}{boost}."
    )


def _channel(name: str) -> str:
    return {"lambda_": "lambda", "ca50": "CA50"}.get(name, name.replace("_", " "))


def _fairness(compared: Sequence[Comparison]) -> tuple[str, ...]:
    """How the runs were brought to one footing, then for each pair what was not the same."""
    every = "both" if len(compared) == 1 else "all"
    place = f"{every} are shown uncorrected at the crank with what gaining speed took put back"
    if not any(d.measuring for c in compared for d in c.differences):
        place = f"as far as the files say {every} were measured alike; {place}"
    return _sentence(place), *(_apart(c, len(compared) > 1) for c in compared)


def _apart(c: Comparison, many: bool) -> str:
    measured = [d for d in c.differences if d.measuring]
    others = [d for d in c.differences if not d.measuring]
    told = [
        f"{what}: {_listed(differences)}"
        for what, differences in (("measured differently", measured), ("engines differ", others))
        if differences
    ]
    return _sentence(f"{_against(c, many)}{'; '.join(told)}") if told else ""


def _listed(differences: list[Difference]) -> str:
    named = [
        f"{d.label[0].lower()}{d.label[1:]} ({d.first} against {d.second})"
        for d in differences[:MOST_NAMED]
    ]
    more = len(differences) - MOST_NAMED
    return ", ".join(named) + (f" and {more} more" if more > 0 else "")
