"""Whether the same torque made later is kinder: one sentence for every limit, and one in short."""

from torquerisk.quantities import DEGREE
from torquerisk.show.words import prose
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.results import Band, Change, Later, Trend

MILLION = 1e6


def verdict_sentence(later: Later, trend: Trend) -> str:
    """What happens to one load from the first speed to the last, in one sentence."""
    speeds = prose.speeds_in_words(float(later.speed[0]), float(later.speed[-1]))
    equal = _course(later, trend, trend.equal_phasing, trend.at_equal_phasing)
    allowed = _course(later, trend, trend.allowed_phasing, trend.at_allowed_phasing)
    quantity = trend.quantity + (f" [{trend.unit}]" if trend.unit else "")
    start = f"{trend.title}, {quantity}, {speeds}"
    if equal == allowed:
        return f"{start}: it goes {equal}, whatever the phasing."
    return (
        f"{start}: at equal phasing it goes {equal}; at the phasing that the fuel allows {allowed}."
    )


def _course(later: Later, trend: Trend, values: Band, change: Change) -> str:
    """First and last median, where it is kindest between, and what that comes to."""
    told = f"{_from_to(trend, values)} and {change.value}"
    if change is not Change.TURNS:
        return told
    least = float(values.p50.min())
    return f"{told}, kindest {_at(later.kindest(values))} ({_figure(trend, least, least)})"


def _at(speed: float) -> str:
    return f"at {prose.about_speed(speed)}"


def _from_to(trend: Trend, values: Band) -> str:
    """First and last median with enough digits to tell them apart."""
    first, last = (float(values.p50[k]) for k in (0, -1))
    most = max(abs(first), abs(last))
    return f"from {_figure(trend, first, most)} to {_figure(trend, last, most)}"


def _figure(trend: Trend, value: float, most: float) -> str:
    """A value [SI] in the trend's unit, with digits for the greatest beside it."""
    if trend.quantity == "rate per cycle":
        return _per_million(value)
    return prose.plain(value / trend.unit_size, 0 if most >= 10 * trend.unit_size else 2)


def _per_million(rate: float) -> str:
    many = rate * MILLION
    return f"{many:.2g} in a million" if many >= 0.01 else "fewer than 0.01 in a million"


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
    told = [f"{_lower(t)} ({_at(later.kindest(t.equal_phasing))})" for t in trends]
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
