"""Sentences that keep the torques in them as values, to be shown in any unit."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass


def percent(share: float, digits: int = 2) -> str:
    """A share in per cent with so many significant digits; 100 %, not 1e+02 %."""
    return f"{float(f'{100 * share:.{digits}g}'):g} %"


@dataclass(frozen=True)
class Torque:
    """A torque in a sentence, or one per something, as it is written in SI."""

    value: float
    """[N*m]."""
    spec: str = ",.0f"
    """Format of the number in SI."""
    unit: str = " N·m"
    """What follows the number; empty within a range before one unit."""
    per: str = ""
    """What follows the unit, such as ' per 1,000 rpm'."""

    @property
    def number(self) -> str:
        """The number in SI."""
        return format(self.value, self.spec)

    def __str__(self) -> str:
        return f"{self.number}{self.unit}{self.per}"


class Sentence(str):
    """The text in SI, which is what a string of it is, with its parts beside it.

    What joins or cuts it as a string keeps SI; put sentences together with `Sentence` itself.
    """

    parts: tuple[str | Torque, ...]

    def __new__(cls, *parts: str | Torque) -> "Sentence":
        """One sentence of words, torques and other sentences, as they follow each other."""
        flat: list[str | Torque] = []
        for part in parts:
            flat += part.parts if isinstance(part, Sentence) else (part,)
        made = super().__new__(cls, "".join(map(str, flat)))
        made.parts = tuple(flat)
        return made

    @classmethod
    def joined(cls, between: str, texts: Iterable[str]) -> "Sentence":
        """Sentences one after the other."""
        parts = [part for text in texts for part in (between, text)]
        return cls(*parts[1:])

    def written(self, write: Callable[[Torque], str]) -> str:
        """The text with every torque as `write` has it."""
        return "".join(p if isinstance(p, str) else write(p) for p in self.parts)
