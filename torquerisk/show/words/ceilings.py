"""What stops the run first and what next, in rows and sentences alike on every face."""

import math

from torquerisk.quantities import KILO, RPM
from torquerisk.show.words import prose
from torquerisk.show.words.columns import Column
from torquerisk.show.words.prose import ShownUnit, Units
from torquerisk.study.answers.results import Ceiling, Ceilings, LimitKind

TITLE = "What stops it first, and what next"
MOST_ROWS = 8
"""Ceilings shown in a table; documents hold all."""
NEAR = 0.02
"""Share of the run about 1 that so many simulated engines hardly tell from it [-]."""
FAR = 3.0
"""Multiple of the run beyond which a ceiling is no matter of this engine [-]."""
PRESSED = "highest cylinder pressure"
"""Quantity of limits that speed does not pass, but a tightening does."""
KINDS = {LimitKind.STRENGTH: "strength", LimitKind.COMBUSTION: "fuel", LimitKind.SUPPLY: "supply"}


def shown(found: Ceilings) -> tuple[Ceiling, ...]:
    """The ceilings that are worth a row: the first ones, none far beyond the run."""
    near = [one for one in found.in_order if one.share <= FAR]
    return tuple(near or found.in_order[:1])[:MOST_ROWS]


def _times(share: float) -> str:
    if math.isinf(share):
        return "beyond" if share > 0 else "none"
    return prose.plain(share, 2)


COLUMNS: tuple[Column[Ceiling], ...] = (
    Column(key="limit", value=lambda c: c.limit.name),
    Column(key="title", value=lambda c: c.limit.title, text="ceiling", name="ceiling", words=True),
    Column(key="kind", value=lambda c: c.limit.kind.value, text="kind", name="kind", words=True,
           cell=lambda c, _: KINDS[c.limit.kind]),
    Column(key="speed_rpm", value=lambda c: c.speed, size=RPM, unit="rpm", text="worst at\nrpm",
           name="worst at"),
    Column(key="torque_n_m", value=lambda c: c.torque, measure=prose.torque_unit,
           text="allows\n{unit}", name="allows", cell=lambda c, shown: _allowed(
               c.torque, c.torque, prose.torque_unit(shown.units))),
    Column(key="power_kw", value=lambda c: c.power, size=KILO, measure=prose.power_unit,
           text="allows\n{unit}", name="allows", cell=lambda c, shown: _allowed(
               c.torque, c.power, prose.power_unit(shown.units),
               int(c.power < prose.SMALL_POWER))),
    Column(key="state", value=lambda c: prose.torque_state(c.torque)),
    Column(key="run_share", value=lambda c: c.share, text="times\nthe run", name="times the run",
           cell=lambda c, _: _times(c.share)),
    Column(key="rest_run_share", value=lambda c: c.rest),
    Column(key="lifted_by", value=lambda c: c.limit.lifted_by),
)  # fmt: skip
ROW = ("title", "kind", "speed_rpm", "torque_n_m", "power_kw", "run_share")
"""Keys of the columns that people are shown."""


def _allowed(torque: float, value: float, unit: ShownUnit, decimals: int = 0) -> str:
    return "none" if math.isinf(torque) else prose.plain(value / unit.size, decimals)


NOTE = (
    "Each ceiling alone, at the accepted chance and at the speed where the run comes nearest to "
    "it; times the run: what it allows there over what the run made. With one lifted, the next "
    "one stops it."
)


def sentences(found: Ceilings, units: Units = Units.SI) -> list[str]:
    """What stops the run first, what next, what is far off, and what another blend would do."""
    told = []
    if not found.in_order:
        told.append("No ceiling that was assessed is reached within the model's range.")
    else:
        first = found.in_order[0]
        told.append(f"First: {_met(first, units)}. What would raise it: {first.limit.lifted_by}.")
        if len(found.in_order) > 1:
            told.append(f"Next, once that is lifted: {_met(found.in_order[1], units)}.")
    told += _blends(found)
    far = [one.limit.title.lower() for one in found.in_order if one.share > FAR]
    far += [limit.title.lower() for limit in found.beyond]
    if far:
        told.append(f"Not in the way, or not within {FAR:g} times the run: {', '.join(far)}.")
    return told


def _met(one: Ceiling, units: Units) -> str:
    at = prose.speed_in_words(one.speed)
    name = one.limit.title.lower()
    if math.isinf(one.torque):
        if one.limit.quantity == PRESSED:
            return (
                f"{name} at {at}, where no torque is acceptable: it is passed before any gas force"
            )
        return f"{name} at {at}, where speed alone passes it, so no torque is acceptable"
    allowed = (
        f"{prose.torque_in_words(one.torque, units)} and {prose.power_in_words(one.power, units)}"
    )
    past = "the run is past it" if one.share < 1 else "the run made less"
    if abs(one.share - 1) <= NEAR:
        past = "the run is about there"
    if one.within_error:
        past = "too close to call, within the sampling error"
    return f"{name} at {at}, which allows {allowed}, {_times(one.share)} times the run: {past}"


def _blends(found: Ceilings) -> list[str]:
    if not found.blends:
        return []
    parts = [
        f"E{100 * one.ethanol:.0f} {prose.plain(100 * (one.power - 1))} % power, "
        f"{prose.plain(one.octane)} octane"
        for one in found.blends
    ]
    return [
        "The same pump and injectors at the same lambda on another blend, beside this one: "
        f"{'; '.join(parts)}. Where fuel is the ceiling, a little less ethanol often carries more "
        "than it costs in octane."
    ]
