"""Which inputs make a capacity uncertain: of one limit, and of what all limits allow."""

from torquerisk.show.words import prose
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.results import Assessment, Measure, Sensitivity, Share

LEAST_SHARE = 0.15
"""Below this share of the spread no single input is named as its main cause."""

MAIN_CAUSE = 0.5
"""Share of the spread above which one input is called its cause."""

LEAST_FIRST = 0.05
"""Share of engines below which a limit is not named among those reached first."""


def doubt_of(driver: Share) -> str:
    """What is doubtful about an input, to follow its label."""
    if driver.name == "model.phasing" and not driver.given:
        return "was not measured"
    known = driver.given or driver.name.startswith("model.")
    return "is not known better" if known else "is assumed"


def subject_in_words(assessment: Assessment, found: Sensitivity) -> str:
    """What the shares and measures are of: a torque at a speed, and the limits that set it."""
    told = f"the torque that holds at {prose.speed_in_words(found.speed)}"
    named = [(name, share) for name, share in found.first if share >= LEAST_FIRST]
    if not named:
        return told
    limits = ", ".join(
        f"{assessment.limits[name].limit.title.lower()} in {prose.chance_count(share, found.draws)}"
        for name, share in named
    )
    return f"{told} (first to go: {limits} of {found.draws:,} simulated engines)"


def cause_in_words(driver: Share | None) -> str:
    """Which input a range follows most, to follow a number with that range; '' for none."""
    if driver is None or driver.share < LEAST_SHARE:
        return ""
    if driver.share > MAIN_CAUSE:
        return f", mostly because {driver.label} {doubt_of(driver)}"
    share = prose.percent(driver.share)
    return f", {share} of that range because {driver.label} {doubt_of(driver)}"


def next_in_words(found: Sensitivity, units: Units = Units.SI) -> str:
    """What measuring is held against: the torque accepted where least is to spare."""
    now = prose.open_or_none(found.accepted, prose.torque_unit(units).size)
    unit = prose.torque_unit(units).name
    return (
        f"What would raise the torque accepted at {prose.speed_in_words(found.speed)}, now {now} "
        f"{unit}:"
    )


def measures_in_words(found: Sensitivity, most: int, units: Units = Units.SI) -> tuple[str, ...]:
    """What to measure next, worth most first, what could be driven, the best two together, and what
    is worth nothing. most: measurements named."""
    advice = found.next
    measured = [m for m in advice.measures if m.risk is None][:most]
    driven = [m for m in advice.measures if m.risk is not None]
    told = [f"{_capital(m.label)}: {_worth(m, found, units)}." for m in (*measured, *driven)]
    if not told:
        told.append("Nothing stands out: no single measurement would clearly raise it.")
    if advice.pair is not None:
        told.append(f"Best two together: {advice.pair.label}, {_worth(advice.pair, found, units)}.")
    if advice.unclear:
        told.append(f"Looked at, with no clear worth: {'; '.join(advice.unclear)}.")
    return tuple(told)


def _worth(measure: Measure, found: Sensitivity, units: Units) -> str:
    unit, size = prose.torque_unit(units)
    gain = prose.plain(measure.gain / size)
    if measure.risk is not None:
        past = f"{prose.chance_count(measure.risk, found.draws)} of {found.draws:,}"
        return (
            f"with nothing seen, {gain} {unit} more; a part gives way in {past} simulated engines"
        )
    low, high = (prose.plain(v / size) for v in (measure.low, measure.high))
    rough = ", roughly" if measure.rough else ""
    return f"about {gain} {unit} more on average{rough}, {low} to {high} {unit} by what it shows"


def _capital(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}"
