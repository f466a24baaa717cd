"""Whether the same torque made later is kinder: one sentence for every limit, and one in short."""

from torquerisk.quantities import DEGREE
from torquerisk.show.words import prose
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.results import Band, Change, Later, Trend

MILLION = 1e6


def verdict_sentence(later: Later, trend: Trend) -> str:
    """What happens to one load from the first speed to the last, in one sentence."""
    speeds = prose.speeds_in_words(float(later.speed[0]), float(later.speed[-1]))
    equal = f"at equal phasing it goes {_from_to(trend, trend.equal_phasing)}"
    equal += f" and {trend.at_equal_phasing.value}"
    allowed = f"at the phasing that the fuel allows {_from_to(trend, trend.allowed_phasing)}"
    allowed += f" and {trend.at_allowed_phasing.value}"
    quantity = trend.quantity + (f" [{trend.unit}]" if trend.unit else "")
    if _same_figures(trend):
        equal = f"it goes {_from_to(trend, trend.equal_phasing)} and {trend.at_equal_phasing.value}"
        return f"{trend.title}, {quantity}, {speeds}: {equal}, whatever the phasing."
    return f"{trend.title}, {quantity}, {speeds}: {equal}; {allowed}."


def _same_figures(trend: Trend) -> bool:
    return _from_to(trend, trend.equal_phasing) == _from_to(trend, trend.allowed_phasing)


def _from_to(trend: Trend, values: Band) -> str:
    """First and last median with enough digits to tell them apart."""
    first, last = (float(values.p50[k]) / trend.unit_size for k in (0, -1))
    if trend.quantity == "rate per cycle":
        return f"from {_per_million(first)} to {_per_million(last)}"
    decimals = 0 if max(abs(first), abs(last)) >= 10 else 2
    return f"from {prose.plain(first, decimals)} to {prose.plain(last, decimals)}"


def _per_million(rate: float) -> str:
    many = rate * MILLION
    return f"{many:.2g} in a million" if many >= 0.01 else "fewer than 0.01 in a million"


def later_in_short(later: Later, units: Units = Units.SI) -> str:
    """What eases, what does not, and what that hangs on."""
    torque = prose.torque_in_words(later.torque, units)
    eases = [t for t in later.trends.values() if t.at_equal_phasing is Change.EASES]
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
        f"{later.ca50_equal / DEGREE:.0f}° in both: easier on {_names(eases)}; about the same for "
        f"{_names(same)}; harder on {_names(worse)}."
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
    titles = [t.title[0].lower() + t.title[1:] for t in trends]
    if not titles:
        return "nothing"
    return titles[0] if len(titles) == 1 else f"{', '.join(titles[:-1])} and {titles[-1]}"
