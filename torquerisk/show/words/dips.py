"""Why a torque curve dips, in plain words: what, why, how sure, what would let it go."""

from dataclasses import dataclass

from torquerisk.quantities import DEGREE, RPM
from torquerisk.show.words import prose
from torquerisk.show.words.columns import Column
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
    Sign,
)

FOR_DOTS = "Each dot is 5 % of the simulated engines; dots at 1 or beyond are past the limit."
WORD_LIST: tuple[tuple[str, str], ...] = (
    ("Clamp", "the force with which the tightened fasteners press the head onto the block."),
    ("Lift", "gas pressure pushes the head up until its gasket no longer seals."),
    ("Knock", "the last of the mixture burns all at once instead of in a flame, and rings."),
    ("Pre-ignition", "the mixture lights before the spark: rare, sudden and hard on the parts."),
    ("Phasing", "when in the stroke the mixture burns; CA50 is the angle at which half is burned."),
    ("Retard", "to light the mixture later: less pressure, less torque, hotter exhaust."),
    ("Boost", "pressure above the outside air's, made by a turbocharger or supercharger."),
    ("Lambda", "air over the air that the fuel needs: below 1 is rich, above 1 is lean."),
    ("Rod", "the bar between piston and crankshaft; it carries the gas force and can bend."),
    ("Oil film", "the oil that keeps a bearing's faces apart; speed feeds it, load thins it."),
    ("Margin", "strength less load: what is left before a part gives."),
    (
        "Simulated engine",
        "one way that your engine could be, drawn from the ranges of what is not known exactly.",
    ),
)
"""Short word list for readers who are new to engines: one plain sentence each."""
MUCH_MORE = 1.15
"""Ratio from which one thing is said to do more than another."""
CELL_WORDS = {
    Cell.AS_LOGGED: "with the dip",
    Cell.IGNITION: "with the dip, ignition on its line",
    Cell.TORQUE: "filled in, ignition as it was",
    Cell.BOTH: "filled in",
}
"""Names of what is compared, shortest where all is filled in."""
ACROSS = {
    "manifold_pressure": "manifold pressure",
    "exhaust_pressure": "exhaust pressure",
    "ignition_advance": "ignition",
    "ca50": "phasing",
    "lambda_": "lambda",
    "intake_temperature": "charge temperature",
    "peak_pressure": "peak pressure",
}


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
    how_sure: str
    lifted_by: str

    @property
    def text(self) -> str:
        """All of it, in the order in which it is read."""
        return " ".join((self.what, self.why, *self.signs, self.how_sure, self.lifted_by))


def explain_dip(assessment: Assessment, dip: Dip, units: Units = Units.SI) -> Explanation:
    """What a dip is, why it may be there, how sure that is and what would let it go."""
    return Explanation(
        what=dip_sentence(dip, units),
        why=_why(dip, units),
        signs=tuple(_sign(dip, sign) for sign in dip.signs),
        how_sure=_how_sure(assessment, dip),
        lifted_by=_lifted_by(dip),
    )


def dip_in_short(dip: Dip, units: Units = Units.SI) -> tuple[str, ...]:
    """What an owner says back to a friend: what it is, what it is for, how sure that is."""
    unit = prose.torque_unit(units).name
    where = prose.about_speed(dip.speed).removeprefix("about ")
    depth = f"{prose.plain(shown_depth(dip, units))} {unit}"
    less_boost, later, lean = _shown(dip)
    what = (
        f"Your tuner took out {depth} near {where}" if less_boost
        else f"Near {where} {depth} are missing"
    )  # fmt: skip
    logged = _by_knock_control(dip)
    who = "the knock control, as logged" if logged else "the tuner's table or by the knock control"
    seen = (
        f". Ignition is later there, by {who}" * ((later or logged) and not less_boost)
        + ". The mixture is leaner there: look at the fuel supply first" * lean
    )
    if dip.protects is None:
        return (
            f"{what}{seen}.",
            "No part of this engine asks for it.",
            ("So look at fuel, ignition and boost control first."),
        )
    change = dip.changes[dip.protects]
    part, happens = protected(change.limit), passing(change.limit).told
    if dip.early_ignition_costs:
        spares = "helps to spare" if dip.over_anyway else "spares"
        counts = _with_and_without(dip, happens)
        return f"{what}, which {spares} {part}: {counts[:-1]}{seen}.", *_later_instead(dip)
    why = f"It helps {part}: without it {happens} more often."
    now = prose.chance_count(change.with_dip.chance, dip.draws)
    then = prose.chance_count(change.without_dip.chance, dip.draws)
    sure = (
        f"Filled in, that would be in {then} of {dip.draws:,} simulated engines; with the dip it "
        f"is in {now}"
    )
    if dip.over_anyway:
        sure += ", still more than you accept: the dip alone does not settle it"
    return f"{what}{seen}.", why, f"{sure}."


def _shown(dip: Dip) -> tuple[bool, bool, bool]:
    """Whether the log shows less boost, later ignition, a leaner mixture in a dip."""
    moved = {s.channel: s.change for s in dip.signs}
    later = moved.get("ignition_advance", 0.0) < 0 or moved.get("ca50", 0.0) > 0
    return moved.get("manifold_pressure", 0.0) < 0, later, moved.get("lambda_", 0.0) > 0


def _by_knock_control(dip: Dip) -> bool:
    """True where the log shows that knock control took more ignition back in a dip."""
    return any(s.channel == "knock_retard" and s.change > 0 for s in dip.signs)


def _with_and_without(dip: Dip, happens: str) -> str:
    """In how many simulated engines it happens, as it is and with the dip filled in."""
    assert dip.protects is not None
    cells = dip.changes[dip.protects].cells
    filled = prose.chance_in_words(cells[Cell.TORQUE].chance, dip.draws)
    return f"without the dip {happens} {filled}, with it in {_count(dip, cells[Cell.AS_LOGGED])}."


def _later_instead(dip: Dip) -> tuple[str, str]:
    """What igniting later would do instead of the dip, and whether either is enough."""
    assert dip.protects is not None
    cells = dip.changes[dip.protects].cells
    logged, later = cells[Cell.AS_LOGGED].chance, cells[Cell.BOTH].chance
    as_much = (
        "do more" if later * MUCH_MORE < logged
        else "do as much" if later <= logged * MUCH_MORE else "do part of that"
    )  # fmt: skip
    over = (logged > dip.accepted, later > dip.accepted)
    enough = {
        (True, True): "Either way it is more than you accept.",
        (True, False): "The dip alone leaves more than you accept.",
        (False, True): "That alone would leave more than you accept.",
        (False, False): "Either is within what you accept.",
    }[over]
    count = _count(dip, cells[Cell.BOTH])
    return f"Igniting later there would {as_much} and keep the torque ({count}).", enough


def to_ask(dip: Dip, units: Units = Units.SI) -> tuple[str, ...]:
    """What to ask the tuner about a dip."""
    where = prose.about_speed(dip.speed).removeprefix("about ")
    less_boost, later, _ = _shown(dip)
    asked = [f"Did you take torque out near {where} on purpose, and by boost or by ignition?"]
    if later and not less_boost:
        asked = [f"Is ignition later near {where} by your table, or did the knock control do it?"]
    if _by_knock_control(dip):
        asked = [f"Knock control took ignition back near {where}: did it hear knock, or noise?"]
    if dip.protects is None:
        return (*asked, "If not: is it fuel, ignition, boost control or a heat-soaked charge?")
    limit = dip.changes[dip.protects].limit
    asked.append(f"Was it to spare {protected(limit)}?")
    if dip.early_ignition_costs:
        asked.append("Could ignition be later there instead, and the torque kept?")
    if any(s.channel == "coolant_pressure" for s in dip.signs):
        asked.append("Coolant pressure rose: was the coolant tested for gas?")
    if dip.over_anyway and 0 < dip.acceptable_torque < dip.torque:
        most = prose.torque_in_words(dip.acceptable_torque, units)
        asked.append(f"Can it be brought down to {most} there, or what would let it hold more?")
    return tuple(asked)


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
        told = "Nothing in this model asks for it; look at fuel, ignition and boost control"
        if dip.abnormal_without > max(2 * dip.abnormal_with, 1e-3):
            return (
                f"{told}. The one thing that would grow is the chance of an abnormal cycle (knock "
                f"or pre-ignition) near there in one pull, from {_share(dip.abnormal_with)} to "
                f"{_share(dip.abnormal_without)}: an order of magnitude, no more."
            )
        return f"{told}."
    change = dip.changes[dip.protects]
    happens = passing(change.limit).told
    if dip.early_ignition_costs:
        return f"{_early_ignition(dip, change, happens)}{_most_there(dip, units)}"
    verb = "helps to spare" if dip.over_anyway else "spares"
    told = (
        f"It {verb} {protected(change.limit)}: {happens} "
        f"{prose.chance_in_words(change.with_dip.chance, dip.draws)} with the dip, in "
        f"{_count(dip, change.without_dip)} without it."
    )
    told += _other_cells(dip, change)
    if dip.over_anyway:
        told += f" That is still more than the {_share(dip.accepted)} you accept."
    return f"{told}{_most_there(dip, units)}"


def _early_ignition(dip: Dip, change: LimitChange, happens: str) -> str:
    """The four cells where ignition is to blame."""
    cells = change.cells
    logged, later = cells[Cell.AS_LOGGED].chance, cells[Cell.BOTH].chance
    filled, both = cells[Cell.TORQUE].chance, cells[Cell.IGNITION].chance
    gained = (filled - later) / (filled - logged)
    protects = protected(change.limit)
    how = "better than" if gained > MUCH_MORE else "about as well as"
    told = (
        "Early ignition is what costs there. Without the dip, with ignition as early as it is, "
        f"{happens} {prose.chance_in_words(filled, dip.draws)}; the dip alone brings that to "
        f"{_count(dip, cells[Cell.AS_LOGGED])}, ignition on a straight line alone to "
        f"{_count(dip, cells[Cell.BOTH])}, both to {_count(dip, cells[Cell.IGNITION])}. "
    )
    if gained < 1 / MUCH_MORE:
        told += (
            f"So igniting later does {prose.percent(gained)} of what the dip does for {protects}"
        )
    else:
        told += f"So igniting later protects {protects} {how} the dip"
    told += ", and keeps the torque."
    if later > dip.accepted:
        rest = ", and so do both" if both > dip.accepted else "; both together do not"
        told += f" Alone it leaves more than the {_share(dip.accepted)} you accept{rest}."
    return told


def _other_cells(dip: Dip, change: LimitChange) -> str:
    """What ignition does to the counts, where it departs from its line."""
    if dip.ignition is None or not dip.ignition.departs:
        return ""
    moved = "later" if dip.ignition.is_early else "earlier"
    return (
        f" Without it ignition is drawn straight too, {moved} than it was; left as it was, in "
        f"{_count(dip, change.cells[Cell.TORQUE])}; with the dip and ignition drawn straight, in "
        f"{_count(dip, change.cells[Cell.IGNITION])}."
    )


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


def _sign(dip: Dip, sign: Sign) -> str:
    """What a channel did in the dip, in one sentence."""
    size = abs(sign.change)
    more = sign.change > 0
    if sign.channel == "coolant_pressure":
        place = prose.speeds_in_words(sign.from_speed, sign.to_speed)
        return (
            f"Coolant pressure rose by {prose.plain(size / 1e3)} kPa {place}: the head may have "
            "lifted in this very run; stop, and test the coolant for gas."
        )
    if sign.channel == "manifold_pressure":
        told = (
            f"Manifold pressure is {prose.plain(size / 1e3)} kPa ({prose.percent(abs(sign.share))})"
        )
        if more:
            return f"{told} higher there: it is not boost that is missing."
        return f"{told} lower there: boost was taken out, or not made."
    if sign.channel in ("ignition_advance", "ca50"):
        earlier = more == (sign.channel == "ignition_advance")
        what = "Ignition" if sign.channel == "ignition_advance" else "Burning"
        told = f"{what} is {size / DEGREE:.1f} degrees"
        line = f"a straight line {prose.speeds_in_words(sign.from_speed, sign.to_speed)}"
        if earlier:
            why = "" if dip.early_ignition_costs else ", as a lower charge allows"
            return f"{told} earlier there than {line}{why}."
        why = "" if _by_knock_control(dip) else ": somebody, or the knock control, pulled it back"
        return f"{told} later there than {line}{why}."
    if sign.channel == "knock_retard":
        more_or_less = f"{size / DEGREE:.1f} degrees {'more' if more else 'less'}"
        return f"Knock control took ignition back {more_or_less} there than beside it."
    if sign.channel == "lambda_":
        return (
            f"The mixture is {'leaner' if more else 'richer'} there by {size:.2f} lambda"
            f"{', which runs hotter: look at the fuel supply' if more else ''}."
        )
    if sign.channel == "fuel_pressure":
        return (
            f"Fuel pressure is {prose.plain(size / 1e3)} kPa {'higher' if more else 'lower'} there"
            f"{'' if more else ': look at the fuel supply'}."
        )
    return f"The charge is {prose.plain(size)} K {'hotter' if more else 'cooler'} there."


def _how_sure(assessment: Assessment, dip: Dip) -> str:
    change = dip.shown
    if change is None:
        return "How sure: no limit that binds was assessed, so nothing can be said of why."
    limit = change.limit
    spare = prose.points_in_words(change.without_dip.margin, prose.limit_unit(limit))
    told = f"How sure: without it {limit.title.lower()} has {spare}"
    told += {
        PhasingSource.GIVEN: "; phasing was measured.",
        PhasingSource.IGNITION_ADVANCE: "; peak pressure was not measured, only ignition advance.",
    }.get(assessment.phasing_source, "; neither peak pressure nor ignition advance was measured.")
    if dip.carried:
        names = [ACROSS.get(n, n.replace("_", " ")) for n in dip.carried]
        told += f" For the comparison {_listed(names)} straight across the dip too"
        line = dip.ignition
        if line is not None and line.from_speed != dip.from_speed:
            early = prose.speeds_in_words(line.from_speed, line.to_speed)
            told += f", ignition {early}, over which it is early"
        told += "."
    return told


def _listed(names: list[str]) -> str:
    if len(names) == 1:
        return f"{names[0]} is taken"
    return f"{', '.join(names[:-1])} and {names[-1]} are taken"


def _lifted_by(dip: Dip) -> str:
    if dip.protects is None:
        return "What would raise it: find what took the torque away there; no part asks for it."
    first = "later ignition there; then " if dip.early_ignition_costs else ""
    return f"What would raise it: {first}{dip.changes[dip.protects].limit.lifted_by}."


def dips_in_words(
    assessment: Assessment, dips: tuple[Dip, ...] | None = None, units: Units = Units.SI
) -> tuple[str, ...]:
    """A text for every dip, or one sentence where there is none."""
    found = answers_of(assessment).dips if dips is None else dips
    if found:
        return tuple(explain_dip(assessment, dip, units).text for dip in found)
    least = prose.torque_in_words(answers_of(assessment).least_depth, units)
    return (
        f"The torque curve has no dip deeper than {least}, which is where noise or plain "
        "repeatability would end.",
    )
