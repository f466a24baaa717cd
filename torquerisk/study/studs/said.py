"""Words of the bench that several findings share: names, counts, reasons, what serves once."""

import numpy as np

from torquerisk.case.sentence import Sentence, Torque
from torquerisk.study.studs.fastening import Fastening
from torquerisk.study.studs.results import Ask, StudChoice

MUCH_INTO_GASKET = 0.35
"""Share of an angle that goes into the gasket, from which it is told (stated choice)."""
WORTH_MM = 0.01
"""Lasting stretch that is worth saying [mm]."""


def named(made: Fastening) -> Sentence:
    """A fastening in a few words."""
    oil = f", {made.lubricant.said}" if made.lubricant.said else ""
    return Sentence(f"{made.name} by {made.method.value} (", made.how, f"{oil})")


def of_count(chance: float, draws: int) -> str:
    """A chance as a count of simulated joints: never none, never all."""
    count = round(chance * draws)
    if count <= 0:
        return f"fewer than 1 of {draws:,}"
    return f"more than {draws - 1:,} of {draws:,}" if count >= draws else f"{count:,} of {draws:,}"


def reasons(ask: Ask, choice: StudChoice) -> str:
    """What passes, in how many simulated engines."""
    found, draws = choice.chances, ask.worst.shape[1]
    over = {mode: chance for mode, chance in found.items() if chance > ask.accepted} or found
    told = " and ".join(
        f"{mode.value} in {of_count(chance, draws)}" for mode, chance in over.items() if chance > 0
    )
    return told or f"nothing fails, but they are worth only {ask.kept:,.0f} independent"


def torque_in_words(choice: StudChoice, torque: float | None = None) -> str | Torque:
    """What a choice holds new, or the torque that it holds otherwise [N*m]."""
    torque = choice.torque_held if torque is None else torque
    if torque <= 0:
        return f"no torque, for {choice.first_to_fail.value}"
    if not np.isfinite(torque):
        return "all that the model covers"
    return Torque(torque)


def held_and_middle(choice: StudChoice) -> Sentence:
    """What a choice that falls short holds new, and what it does in the middle engine."""
    held = torque_in_words(choice) if choice.torque_held > 0 else "no torque"
    middle = choice.torque_held_middle
    if middle <= 0:
        return Sentence(held)
    there = torque_in_words(choice, middle)
    return Sentence(held, ", in the middle of the simulated engines ", there)


def at_what_price(ask: Ask, choice: StudChoice) -> str:
    """That fasteners serve once, and that a gasket decides, as sentences; '' for neither."""
    return _once(ask, choice) + _gasket(choice)


def _gasket(choice: StudChoice) -> str:
    if choice.into_gasket < MUCH_INTO_GASKET:
        return ""
    return (
        f" About {choice.into_gasket:.0%} of its turn goes into the gasket, whose stiffness is "
        "assumed or known roughly: check by torque or stretch."
    )


def _once(ask: Ask, choice: StudChoice) -> str:
    if not choice.used_once:
        return ""
    if not choice.plastic:
        past = of_count(choice.past_yield, ask.worst.shape[1])
        return f" Its fasteners serve once: tightening takes them past yield in {past}."
    head = choice.head
    far, borne = (1e3 * float(np.median(x)) for x in (head.past_yield, head.borne_past_yield))
    by = f": they are taken {far:.2f} mm past yield, of the {borne:.2f} mm that they bear"
    return f" Its fasteners serve once{by if far >= WORTH_MM else ''}."
