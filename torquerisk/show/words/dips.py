"""Why a torque curve dips, in plain words: what, why, how sure, what would let it go."""

from collections.abc import Sequence
from dataclasses import dataclass

from torquerisk.case import LIFTS
from torquerisk.quantities import RPM
from torquerisk.show.words import prose
from torquerisk.show.words.columns import Column
from torquerisk.show.words.dip_signs import (
    by_knock_control,
    listed,
    sign_and_question,
    unsaid,
    where_in_short,
)
from torquerisk.show.words.passing import passing
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    Assessment,
    Cell,
    Dip,
    DipSide,
    Limit,
    LimitChange,
    PhasingSource,
)

MANY = 10.0
"""Times as likely from which the count that they are of is too small to tell how many."""
FOR_DOTS = "Each dot is 5 % of the simulated engines; dots at 1 or beyond are past the limit."
CELL_WORDS = {
    Cell.AS_LOGGED: "with the dip",
    Cell.IGNITION: "with the dip, ignition on its line",
    Cell.TORQUE: "filled in, ignition as it was",
    Cell.BOTH: "filled in",
}
"""Names of what is compared, shortest where all is filled in."""


COLUMNS: tuple[Column[Dip], ...] = (
    Column(key="from_rpm", value=lambda d: d.from_speed, size=RPM, unit="rpm", name="from"),
    Column(key="to_rpm", value=lambda d: d.to_speed, size=RPM, unit="rpm", name="to"),
    Column(key="deepest_rpm", value=lambda d: d.speed, size=RPM, unit="rpm", name="deepest at"),
    Column(key="depth_n_m", value=lambda d: d.depth),
    Column(key="torque_n_m", value=lambda d: d.torque, measure=prose.torque_unit,
           name="torque there"),
    Column(key="would_be_torque_n_m", value=lambda d: d.would_be_torque,
           measure=prose.torque_unit, name="straight across"),
)  # fmt: skip
SHOWN = ("from_rpm", "to_rpm", "deepest_rpm", "torque_n_m", "would_be_torque_n_m")
"""Keys of the columns that people are shown."""


@dataclass(frozen=True, kw_only=True)
class Explanation:
    """One dip in plain sentences."""

    what: str
    why: str
    signs: tuple[str, ...]
    unsaid: str
    """What was logged without telling anything, what was not; '' where a sign tells enough."""
    how_sure: str
    lifted_by: str

    @property
    def text(self) -> str:
        """All of it, in the order in which it is read."""
        told = (self.what, self.why, *self.signs, self.unsaid, self.how_sure, self.lifted_by)
        return " ".join(filter(None, told))


def explain_dip(assessment: Assessment, dip: Dip, units: Units = Units.SI) -> Explanation:
    """What a dip is, why it may be there, how sure that is and what would let it go."""
    return Explanation(
        what=dip_sentence(dip, units),
        why=_why(dip, units),
        signs=tuple(sign_and_question(dip, sign)[0] for sign in dip.signs),
        unsaid=unsaid(dip),
        how_sure=_how_sure(assessment, dip),
        lifted_by=_lifted_by(dip),
    )


def dip_in_short(dip: Dip, units: Units = Units.SI) -> tuple[str, ...]:
    """What an owner says back to a friend: what is missing, what took it, what it is for; without
    counts."""
    unit = prose.torque_unit(units).name
    missing = f"{prose.plain(shown_depth(dip, units))} {unit}"
    return (
        f"Near {where_in_short(dip)} {missing} are missing.",
        *filter(None, (*(sign_and_question(dip, sign)[0] for sign in dip.signs), unsaid(dip))),
        *_in_plain(dip),
    )


def _in_plain(dip: Dip) -> tuple[str, ...]:
    """What a dip does for the part that it spares, and what igniting later would do."""
    if dip.protects is None:
        return (f"{_no_part(dip)}.",)
    change = dip.changes[dip.protects]
    part, spared = passing(change.limit), protected(change.limit)
    if not dip.explained:
        told = _no_reason(dip, change)
    elif dip.over_anyway:
        told = f"It helps {spared}, but even so {part.told} more often than you accept."
    else:
        told = f"It spares {spared}: without it {part.told} more often than you accept."
    return (told, _later_in_plain(dip, change)) if dip.early_ignition_costs else (told,)


def _no_reason(dip: Dip, change: LimitChange) -> str:
    """What a dip does for a part that is as badly off where no torque is missing."""
    assert dip.elsewhere is not None
    part, now, filled = passing(change.limit), change.with_dip.chance, change.worst_filled
    drawn = "as logged" if filled is change.cells.get(Cell.TORQUE) else "on a straight line"
    without = "Without the dip"
    without += f", ignition {drawn}," if _ignition_departs(dip) else ""
    place = f"at {prose.speed_in_words(dip.elsewhere.speed)}, outside it,"
    if now * dip.draws < 1:
        told = (
            f"{without} {part.told} there more often than you accept, but {place} at least half as "
            "often"
        )
    else:
        times, already = (_times(c / now) for c in (filled.chance, dip.elsewhere.chance))
        told = (
            f"{without} {part.subject} would be {times} as likely to {part.verb}, but "
            f"{place} it is {already} already"
        )
    return f"{told}: no reason for a dip."


def _times(ratio: float) -> str:
    """How often as likely; of many times as few counts tell."""
    return f"{prose.plain(ratio, 1)} times" if ratio < MANY else "many times"


def _later_in_plain(dip: Dip, change: LimitChange) -> str:
    logged, later = change.cells[Cell.AS_LOGGED].chance, change.cells[Cell.BOTH].chance
    does = "as much" if later <= logged else "most of that"
    enough = ", but that too is more than accepted" if later > dip.accepted else ""
    return f"Later ignition would do {does} and keep the torque{enough}."


def others_in_short(dips: Sequence[Dip], units: Units = Units.SI) -> tuple[str, ...]:
    """A sentence on the dips beside the deepest: where, how deep, what each spares."""
    unit, deepest = prose.torque_unit(units).name, max(dips, key=lambda dip: dip.depth)
    others = [
        f"{prose.speeds_in_words(dip.from_speed, dip.to_speed)} by "
        f"{prose.plain(shown_depth(dip, units))} {unit}, which {_for_what(dip)}"
        for dip in dips if dip is not deepest
    ]  # fmt: skip
    return (f"It also dips {'; '.join(others)}.",) if others else ()


def _for_what(dip: Dip) -> str:
    if dip.protects is None:
        return "no part judged here needs"
    part = protected(dip.changes[dip.protects].limit)
    if not dip.explained:
        return f"{part} does not explain"
    return f"{'helps to spare' if dip.over_anyway else 'spares'} {part}"


def _no_part(dip: Dip) -> str:
    told = "By what is known, no part judged here needs the dip"
    return f"{told}; but knock can break one: settle that first" if by_knock_control(dip) else told


def to_ask(dip: Dip, units: Units = Units.SI) -> tuple[str, ...]:
    """What to ask the tuner about a dip."""
    of_log = [question for sign in dip.signs if (question := sign_and_question(dip, sign)[1])]
    asked = of_log or [f"Did you take torque out near {where_in_short(dip)} on purpose, and how?"]
    if dip.unlogged and not of_log:
        asked.append(f"Can {listed(dip.unlogged)} be logged?")
    if dip.protects is not None and dip.explained:
        asked.append(f"Was it to spare {protected(dip.changes[dip.protects].limit)}?")
    if dip.early_ignition_costs:
        asked.append("Could ignition be later there instead, and the torque kept?")
    if any(s.channel == "coolant_pressure" for s in dip.signs):
        asked.append("Coolant pressure rose: was the coolant tested for gas?")
    if dip.over_anyway and 0 < dip.acceptable_torque < dip.torque:
        most = prose.torque_in_words(dip.acceptable_torque, units)
        asked.append(f"Can it be brought down to {most} there, or what would let it hold more?")
    return tuple(dict.fromkeys(asked))


def dip_sentence(dip: Dip, units: Units = Units.SI) -> str:
    """Where the dip is and how deep, in one sentence; its numbers add up as they are shown."""
    unit, size = prose.torque_unit(units)
    return (
        f"Torque dips by {prose.plain(shown_depth(dip, units))} {unit} at "
        f"{prose.speed_in_words(dip.speed)}: {prose.plain(dip.torque / size)} {unit}, where a "
        f"straight line {prose.speeds_in_words(dip.from_speed, dip.to_speed)} gives "
        f"{prose.plain(dip.would_be_torque / size)}."
    )


def shown_depth(dip: Dip, units: Units) -> int:
    """Depth of a dip, straight line less curve as both are shown: whole N·m or lb·ft."""
    size = prose.torque_unit(units).size
    return round(dip.would_be_torque / size) - round(dip.torque / size)


def _why(dip: Dip, units: Units) -> str:
    if dip.protects is None:
        if dip.abnormal_without <= max(2 * dip.abnormal_with, 1e-3):
            return f"{_no_part(dip)}."
        return (
            f"{_no_part(dip)}. The one thing that would grow is the chance of an abnormal cycle "
            "(knock or pre-ignition) near there in one pull, from "
            f"{_share(dip.abnormal_with)} to {_share(dip.abnormal_without)}: an order of "
            "magnitude, no more."
        )
    change = dip.changes[dip.protects]
    happens = passing(change.limit).told
    if dip.early_ignition_costs:
        told = _early_ignition(dip, change, happens)
        return f"{told}{_most_there(dip, units)}{_unexplained(dip, change, happens)}"
    verb = "helps to spare" if dip.over_anyway else "spares"
    told = (
        f"It {verb} {protected(change.limit)}: {happens} "
        f"{prose.chance_in_words(change.with_dip.chance, dip.draws)} with the dip, in "
        f"{_count(dip, change.without_dip)} without it."
    )
    told += _other_cells(dip, change)
    if dip.over_anyway:
        told += f" That is still more than the {_share(dip.accepted)} you accept."
    return f"{told}{_most_there(dip, units)}{_unexplained(dip, change, happens)}"


def _unexplained(dip: Dip, change: LimitChange, happens: str) -> str:
    """Why a dip is not explained by the part that it spares."""
    if dip.explained:
        return ""
    assert dip.elsewhere is not None
    count = prose.chance_count(dip.elsewhere.chance, dip.draws)
    return (
        f" But at {prose.speed_in_words(dip.elsewhere.speed)}, where none is missing, {happens} in "
        f"{count}: sparing {protected(change.limit)} does not explain the dip."
    )


def _early_ignition(dip: Dip, change: LimitChange, happens: str) -> str:
    """The four cells where ignition is to blame."""
    cells = change.cells
    logged, later = cells[Cell.AS_LOGGED].chance, cells[Cell.BOTH].chance
    filled, both = cells[Cell.TORQUE].chance, cells[Cell.IGNITION].chance
    gained = (filled - later) / (filled - logged)
    protects = protected(change.limit)
    told = (
        "Early ignition is what costs there. Without the dip, with ignition as early as it is, "
        f"{happens} {prose.chance_in_words(filled, dip.draws)}; the dip alone brings that to "
        f"{_count(dip, cells[Cell.AS_LOGGED])}, ignition on a straight line alone to "
        f"{_count(dip, cells[Cell.BOTH])}, both to {_count(dip, cells[Cell.IGNITION])}. "
    )
    told += (
        f"So igniting later does {prose.percent(gained)} of what the dip does for {protects}, and "
        "keeps the torque."
    )
    if later > dip.accepted:
        rest = ", and so do both" if both > dip.accepted else "; both together do not"
        told += f" Alone it leaves more than the {_share(dip.accepted)} you accept{rest}."
    return told


def _other_cells(dip: Dip, change: LimitChange) -> str:
    """What ignition does to the counts, where it departs from its line."""
    if not _ignition_departs(dip):
        return ""
    assert dip.ignition is not None
    moved = "later" if dip.ignition.is_early else "earlier"
    return (
        f" Without it ignition is drawn straight too, {moved} than it was; left as it was, in "
        f"{_count(dip, change.cells[Cell.TORQUE])}; with the dip and ignition drawn straight, in "
        f"{_count(dip, change.cells[Cell.IGNITION])}."
    )


def _ignition_departs(dip: Dip) -> bool:
    return dip.ignition is not None and dip.ignition.departs


def _most_there(dip: Dip, units: Units) -> str:
    """The torque that keeps to the accepted chance where the dip does not."""
    if not dip.over_anyway or not 0 < dip.acceptable_torque < dip.torque:
        return ""
    most = prose.torque_in_words(dip.acceptable_torque, units)
    return f" {most} there would keep to it, with ignition as it is."


def _count(dip: Dip, cell: DipSide) -> str:
    return prose.chance_count(cell.chance, dip.draws)


def protected(limit: Limit) -> str:
    """What a limit keeps from harm, in a few words."""
    return limit.protects.split(":")[0].split(";")[0]


def _share(share: float) -> str:
    """A share as a percentage with two significant digits."""
    return "less than 0.01 %" if share < 1e-4 else prose.percent(share, 2)


def _how_sure(assessment: Assessment, dip: Dip) -> str:
    change = dip.shown
    if change is None:
        return "How sure: no limit that binds was assessed, so nothing can be said of why."
    limit = change.limit
    filled, without = change.without_dip, "without it"
    if dip.early_ignition_costs:  # all that was said is of the dip without its ignition's cure
        filled, without = change.cells[Cell.TORQUE], "without it, with ignition as early as it is,"
    spare = prose.points_in_words(filled.margin, prose.limit_unit(limit))
    told = f"How sure: {without} {limit.title.lower()} has {spare}"
    told += {
        PhasingSource.GIVEN: "; phasing was measured.",
        PhasingSource.IGNITION_ADVANCE: "; peak pressure was not measured, only ignition advance.",
    }.get(assessment.phasing_source, "; neither peak pressure nor ignition advance was measured.")
    if dip.carried:
        verb = "is" if len(dip.carried) == 1 else "are"
        told += (
            f" For the comparison {listed(dip.carried)} {verb} taken straight across the dip too"
        )
        line = dip.ignition
        if line is not None and line.from_speed != dip.from_speed:
            early = prose.speeds_in_words(line.from_speed, line.to_speed)
            told += f", ignition {early}, over which it is early"
        told += "."
    return told


def _lifted_by(dip: Dip) -> str:
    if dip.protects is None:
        return "What would raise it: find what took the torque away there."
    first = "later ignition there; then " if dip.early_ignition_costs else ""
    return f"What would raise it: {first}{dip.changes[dip.protects].limit.lifted_by}."


def left_aside(assessment: Assessment) -> tuple[str, ...]:
    """Where torque fell away within the pull, which the curve does not show."""
    run = assessment.run
    told = (notice.text for notice in run.notices if notice.code == LIFTS)
    return tuple(text.removeprefix(f"{run.name}: ") for text in told)


def dips_in_words(
    assessment: Assessment, dips: tuple[Dip, ...] | None = None, units: Units = Units.SI
) -> tuple[str, ...]:
    """A text for every dip, or one sentence where there is none; then what was left aside."""
    found = answers_of(assessment).dips if dips is None else dips
    if found:
        every = tuple(explain_dip(assessment, dip, units).text for dip in found)
        return (*every, *left_aside(assessment))
    least = prose.torque_in_words(answers_of(assessment).least_depth, units)
    return (
        f"The torque curve has no dip deeper than {least}; two pulls of one engine may differ by "
        "as much.",
        *left_aside(assessment),
    )
