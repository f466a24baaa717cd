"""What a cell says: a number in one of several styles, a gap, or words."""

import re
from dataclasses import dataclass

from torquerisk.files.text import strict_number

_GAPS = frozenset(
    ("", "na", "n/a", "#n/a", "nan", "null", "none", "-", "--", "---", "—", "–", "#nv", "?")
)


@dataclass(frozen=True)
class NumberStyle:
    """Decimal and thousands mark of the numbers in a file."""

    decimal: str
    thousands: str

    def number(self, text: str) -> float | None:
        """The strict number that a cell spells in this style, or None."""
        if self.decimal == "." and not self.thousands:
            return strict_number(text)
        text = text.strip().replace("\u00a0", " ").replace("\u202f", " ")
        if self.thousands and self.thousands in text:
            if not _GROUPED[self].fullmatch(text):
                return None
            text = text.replace(self.thousands, "")
        if self.decimal == ",":
            if "." in text:
                return None
            text = text.replace(",", ".")
        return strict_number(text)

    def in_words(self) -> str:
        """The style as the record tells it."""
        names = {".": "point", ",": "comma", " ": "space", "'": "apostrophe"}
        words = f"decimal {names[self.decimal]}"
        return f"{words}, thousands {names[self.thousands]}" if self.thousands else words


PLAIN = NumberStyle(".", "")
STYLES = (
    PLAIN,
    NumberStyle(",", ""),
    NumberStyle(".", ","),
    NumberStyle(",", "."),
    NumberStyle(".", " "),
    NumberStyle(",", " "),
    NumberStyle(".", "'"),
)

_GROUPED = {
    style: re.compile(
        rf"[+-]?[1-9][0-9]{{0,2}}(?:{re.escape(style.thousands)}[0-9]{{3}})+"
        rf"(?:{re.escape(style.decimal)}[0-9]*)?"
    )
    for style in STYLES
    if style.thousands
}


def styles_of(text: str) -> list[NumberStyle]:
    """The styles that can differ from plain numbers in a text, the plain one first."""
    found = []
    for style in STYLES:
        mark = re.escape(style.thousands)
        grouped = mark and re.search(rf"[0-9]{mark}[0-9]{{3}}(?![0-9])", text)
        if grouped or (not mark and (style.decimal == "." or "," in text)):
            found.append(style)
    return found


def is_gap(text: str) -> bool:
    """True for a cell that says 'no value'; a gap is never zero."""
    return text.strip().casefold() in _GAPS


def is_number_like(text: str) -> bool:
    """True for a cell that is a number in some style."""
    return any(style.number(text) is not None for style in STYLES)
