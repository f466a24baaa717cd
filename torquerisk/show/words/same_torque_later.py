"""Whether the same torque made later is kinder: what fails, what eases, what gets harder."""

from torquerisk.quantities import DEGREE
from torquerisk.show.words import prose
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.results import Change, Later, Trend


def later_in_words(later: Later, units: Units = Units.SI) -> tuple[str, ...]:
    """How many fail at either end and what it makes; what eases, what does not, and by which
    phasing."""
    by_change = {
        change: [t for t in later.trends.values() if t.at_equal_phasing is change]
        for change in Change
    }
    turning = [
        f"{_lower(t)} (at {prose.about_speed(later.kindest(t.equal_phasing))})"
        for t in by_change[Change.TURNS]
    ]
    told = (
        ("Easier on", _names(by_change[Change.EASES])),
        ("Kindest in between, then harder again, on", ", ".join(turning)),
        ("Harder on", _names(by_change[Change.WORSENS])),
        ("About the same for", _names(by_change[Change.SAME])),
    )
    return (
        _chances(later, units),
        *(f"{head} {names}." for head, names in told if names),
        _phasing(later),
    )


def _chances(later: Later, units: Units) -> str:
    """How many simulated engines fail at either end, without and with abnormal cycles; power."""
    (first, last), power = (float(later.speed[k]) for k in (0, -1)), prose.power_in_words
    plain, counted = (
        [f"{100 * float(values[k]):.0f} %" for k in (0, -1)]
        for values in (later.chance, later.chance_with_abnormal)
    )
    told = (
        f"{prose.torque_in_words(later.torque, units)} at {prose.speed_in_words(last)} instead of "
        f"{prose.speed_in_words(first)}: a part fails in {plain[1]} of the simulated engines "
        f"instead of {plain[0]}"
    )
    if plain != counted:
        told += f", with knock and pre-ignition counted in {counted[1]} instead of {counted[0]}"
    return (
        f"{told}. It is {power(later.torque * last, units)} instead of "
        f"{power(later.torque * first, units)}, and so more heat."
    )


def _phasing(later: Later) -> str:
    """The phasing that loads are compared at, and what it hangs on."""
    harder = [
        t
        for t in later.trends.values()
        if t.at_allowed_phasing is Change.WORSENS and t.at_equal_phasing is not Change.WORSENS
    ]
    first, last = (float(later.ca50_allowed.p50[k]) / DEGREE for k in (0, -1))
    told = f"Compared with half of the mixture burned at {later.ca50_equal / DEGREE:.0f}° in both."
    if harder:
        told += (
            f" Where ignition follows what the fuel allows ({first:.0f}° and {last:.0f}°), later "
            f"is not kinder to {_names(harder)}: hold the phasing back to keep the gain."
        )
    if later.out_of_reach.max() > 0.5:
        told += " At the lowest of these speeds the fuel would hardly allow this torque at all."
    return told


def _names(trends: list[Trend]) -> str:
    return ", ".join(_lower(t) for t in trends)


def _lower(trend: Trend) -> str:
    return trend.title[0].lower() + trend.title[1:]
