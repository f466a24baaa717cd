"""Whether the same torque made later is kinder, in short."""

from torquerisk.quantities import DEGREE
from torquerisk.show.words import prose
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.results import Change, Later, Trend


def later_in_short(later: Later, units: Units = Units.SI) -> str:
    """What eases, what does not, and what that hangs on."""
    torque = prose.torque_in_words(later.torque, units)
    eases = [t for t in later.trends.values() if t.at_equal_phasing is Change.EASES]
    turns = [t for t in later.trends.values() if t.at_equal_phasing is Change.TURNS]
    same = [t for t in later.trends.values() if t.at_equal_phasing is Change.SAME]
    worse = [t for t in later.trends.values() if t.at_equal_phasing is Change.WORSENS]
    harder = [
        t
        for t in later.trends.values()
        if t.at_allowed_phasing is Change.WORSENS and t.at_equal_phasing is not Change.WORSENS
    ]
    first, last = (float(later.ca50_allowed.p50[k]) / DEGREE for k in (0, -1))
    told = (
        f"{torque} at {prose.speed_in_words(float(later.speed[-1]))} instead of "
        f"{prose.speed_in_words(float(later.speed[0]))}, half of the mixture burned at "
        f"{later.ca50_equal / DEGREE:.0f}° in both: easier on {_names(eases)}; "
        f"{_turning(later, turns)}about the same for {_names(same)}; harder on {_names(worse)}. "
        "The same torque later is also more power, and so more heat: "
        f"{prose.power_in_words(later.torque * float(later.speed[-1]), units)} instead of "
        f"{prose.power_in_words(later.torque * float(later.speed[0]), units)}."
    )
    if harder:
        told += (
            f" Where ignition follows what the fuel allows ({first:.0f}° at the first speed, "
            f"{last:.0f}° at the last), later is not kinder to {_names(harder)}: hold the phasing "
            "back to keep the gain."
        )
    told += " " + _chances(later)
    if later.out_of_reach.max() > 0.5:
        told += " At the lowest of these speeds the fuel would hardly allow this torque at all."
    return told


def _turning(later: Later, trends: list[Trend]) -> str:
    """Loads that ease at first, with the speed at which each is kindest; empty without any."""
    if not trends:
        return ""
    told = [f"{_lower(t)} (at {prose.about_speed(later.kindest(t.equal_phasing))})" for t in trends]
    return f"kindest in between, then harder again, on {_listed(told)}; "


def _chances(later: Later) -> str:
    """How many simulated engines fail at either end, without and with abnormal cycles."""
    speeds = [prose.speed_in_words(float(later.speed[k])) for k in (0, -1)]
    plain, counted = (
        [f"{float(values[k]):.0%}" for k in (0, -1)]
        for values in (later.chance, later.chance_with_abnormal)
    )
    told = (
        f"At the phasing that the fuel allows a part fails in {plain[0]} of the simulated engines "
        f"at {speeds[0]} and in {plain[1]} at {speeds[1]}"
    )
    if plain == counted:
        return f"{told}."
    return f"{told}; with knock and pre-ignition counted in {counted[0]} and {counted[1]}."


def _names(trends: list[Trend]) -> str:
    return _listed([_lower(t) for t in trends]) or "nothing"


def _lower(trend: Trend) -> str:
    return trend.title[0].lower() + trend.title[1:]


def _listed(names: list[str]) -> str:
    return " and ".join(filter(None, (", ".join(names[:-1]), *names[-1:])))
