"""One column's heading taken apart: the channel, its unit, the words beside, what is not known."""

import difflib
import functools
import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from torquerisk.case.declare import Kind
from torquerisk.files.channel_names import (
    CORRECTIONS,
    LIMIT_NAMES,
    NAMES,
    PLACES,
    SYMBOLS,
    UNCORRECTED,
    UNIT_WORDS,
    is_known_beside,
    one_spelling,
)
from torquerisk.files.units import kind_of_unit, unit_of

_BRACKETS = re.compile(r"[\[({]((?:[^\[\](){}]|\([^()]*\))*)[\])}]")
_STRUCK = str.maketrans("łøđ", "lod")
"""Letters with a stroke, which no accent can be taken from."""
_DOTTED = re.compile(r"\b(?:[A-Za-z]\.){2,}")
_TO_THE = re.compile(r"\ba l(?:as?|os)?\b")
_CAMEL = re.compile(r"(?<=[A-Za-z][a-z]{2})(?=[A-Z])")
_SCALE = re.compile(
    r"(?:(?<![A-Za-z])x|×|(?<=rpm) ?/)\s*(1[ ,.]?0{2,3})\b|\b(1[ ,.]?000)\s*(?:x|×)", re.I
)
_TDC = re.compile(
    r"(.*?)[\s.]*(?:(a|b)\.?tdc|(after|before)\s+(?:top dead cent(?:re|er)|tdc))", re.IGNORECASE
)
_OT = re.compile(
    r"(grad\s*)?(?:\b|(?<=KW)|(?<=_))(v|vor|n|nach)(?:(?:[._]\s*|\s+(?:dem\s+)?)(?i:ot)|OT)(?![^\W_])"
)
"""German for before and after dead centre, in words and in a unit (common practice)."""
_PART = re.compile(r"(?<![a-z])(cyl|zyl|cylinder|zylinder|bank)[\s._#-]*([0-9]{1,2})(?![0-9])")
_NUMBERED = re.compile(r"\b(kr|cyl|zyl|cylinder|zylinder|bank)([0-9]{1,2})\b")
_ALSO_NAMES = ("1", "-", "ratio", "lambda", "λ", "n", "m")
"""Units that are more often a name or a count where they stand alone."""
_WHEEL = "Rad"
"""A unit of angle that is German for a wheel where it stands behind a word with a capital."""
_DIVIDED = re.compile(r"[/*÷]\s*[0-9]+|\b[x×][0-9]+\b", re.IGNORECASE)
"""A factor that is not understood, as in 'torque Nm/10'."""
_FACTOR = re.compile(
    r"(?:[\[({]\s*(?!1\s)([0-9][0-9.,]*)\s*[*x×]?\s*[A-Za-z·*]+\s*[\])}]"
    r"|(?:^|\s)([0-9]+[.,][0-9]+)\s*[*x×]?\s*[A-Za-z])"
)
"""The same before a unit, as in 'torque [0.1 Nm]'."""
_NOISE = re.compile(r"[0-9.]+\s*(?:hz|khz|s/s)|float(?:32|64)?|double|real|int(?:eger)?|number")


@dataclass(frozen=True, kw_only=True)
class Heading:
    """What the texts over one column say."""

    text: str
    """As the file has it."""
    channel: str | None
    unit: str
    """The text of the unit, empty where there is none."""
    words: frozenset[str]
    """All words, in their one spelling."""
    unknown: tuple[str, ...] = ()
    """Words beside the channel's name that may change what it names."""
    scale: float = 1.0
    """A number in the heading by which values are to be multiplied, as in 'rpm x1000'."""
    by_hand: bool = False
    """True where a person said what it means."""

    @property
    def part(self) -> str:
        """The cylinder or bank that is named with its number, else ''."""
        match = _PART.search(without_accents(self.text))
        return f"{'bank' if match[1] == 'bank' else 'cylinder'} {match[2]}" if match else ""

    @property
    def number(self) -> str:
        """The cylinder or bank, else the number in the text, else ''."""
        found = re.search(r"[0-9]+", self.text)
        return self.part or (found[0] if found else "")

    @property
    def place(self) -> str | None:
        """Where torque was measured, by the words; the driven end wins over 'engine'."""
        found = {PLACES[w] for w in self.words if w in PLACES}
        return next((p for p in ("wheel", "hub", "crank") if p in found), None)

    @property
    def correction(self) -> str | None:
        """The standard in the words, 'none', 'corrected' where it is not named, or None."""
        if self.words & UNCORRECTED:
            return "none"
        named = sorted({CORRECTIONS[w] for w in self.words if w in CORRECTIONS})
        return named[0] if named else "corrected" if "corrected" in self.words else None


def without_accents(text: str) -> str:
    """A text without case and accents."""
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    return "".join(c for c in decomposed if not unicodedata.combining(c)).translate(_STRUCK)


def words_of(text: str) -> list[str]:
    """Words of a text in their one spelling, without case and punctuation."""
    text = _DOTTED.sub(lambda found: found[0].replace(".", ""), text)
    letters = without_accents(_CAMEL.sub(" ", text))
    letters = _NUMBERED.sub(r"\1 \2", re.sub(r"[^\wλ]+|_", " ", letters))
    plain = _TO_THE.sub(" ", letters).split()
    return " ".join(map(one_spelling, plain)).split()


def _in_english(text: str) -> str:
    """A text with German marks of dead centre, as '°v.OT', in English."""
    return _OT.sub(
        lambda m: f"{'deg' if m[1] else ''} {'B' if m[2].startswith('v') else 'A'}TDC", text
    )


def angle_reference(unit: str) -> tuple[str, float]:
    """An angle unit without its dead-centre mark, and +1 after, -1 before, 0 where it says none."""
    match = _TDC.fullmatch(_in_english(unit).strip())
    if match is None:
        return unit, 0.0
    after = (match.group(2) or match.group(3)).lower().startswith("a")
    return match.group(1), 1.0 if after else -1.0


def is_unit(text: str) -> bool:
    """True where the whole text is a unit of any kind."""
    text = text.strip()
    return text in ("-", "1") or kind_of_unit(angle_reference(text)[0]) is not None


def kind_and_size(text: str) -> tuple[Kind | None, float]:
    """The kind of a unit and its size in SI, to compare units however they are spelled."""
    plain = angle_reference(text)[0]
    kind = kind_of_unit(plain)
    unit = None if kind is None else unit_of(plain, kind)
    return kind, 0.0 if unit is None else unit.size


def bare(text: str) -> str:
    """A text without the brackets around the whole of it."""
    text = text.strip()
    if len(text) > 1 and text[0] in "[({" and text[-1] in "])}" and not re.search(
        r"[\])}]", text[1:-1]
    ):  # fmt: skip
        return text[1:-1].strip()
    return text


@functools.lru_cache(maxsize=1000)
def read_heading(texts: tuple[str, ...]) -> Heading:
    """The heading that one or more texts over a column make together."""
    whole = " ".join(" ".join(t.split())[:120] for t in texts if t.strip())
    units: list[str] = []
    words: list[str] = []
    factors: list[str] = []
    scale = 1.0
    for text in texts:
        cell = bare(_in_english(" ".join(text.split())[:120]))
        if not cell or _NOISE.fullmatch(cell.casefold()):
            continue
        match = _SCALE.search(cell)
        if match is not None:
            scale = float(re.sub(r"[ ,.]", "", match.group(1) or match.group(2)))
            cell = f"{cell[: match.start()]} {cell[match.end() :]}".strip()
            cell = re.sub(r"[\[({]\s*[\])}]", "", cell)
        if not any(is_unit(part) for part in (cell, *_BRACKETS.findall(cell))):
            factors += _DIVIDED.findall(cell)
            factors += [f or g for f, g in _FACTOR.findall(cell)]
        found, more = _apart(cell)
        units += found
        words += more
    channel, unknown = _channel(words, units)
    unknown = (*unknown, *factors)
    unit = _one_unit(units, words)
    if unit is None:
        unit, unknown = units[-1], (*unknown, *units[:-1])
    return Heading(
        text=whole,
        channel=channel,
        unit=unit,
        words=frozenset(words),
        unknown=unknown,
        scale=scale,
    )


def _apart(cell: str) -> tuple[list[str], list[str]]:
    """Units and words of one cell of a heading."""
    if is_unit(cell) and cell.casefold() not in _ALSO_NAMES:
        return [cell], []
    units: list[str] = []
    words: list[str] = []
    for inside in _BRACKETS.findall(cell):
        unit, rest = _take_unit(inside, whole=True)
        units += [unit] if unit else []
        words += words_of(rest)
    outside = _BRACKETS.sub(" ", cell).strip(" /,")
    if outside in ("-", "1"):
        return units or [outside], words
    if not units:
        unit, outside = _take_unit(outside, whole=False)
        units += [unit] if unit else []
    return units, [*words_of(outside), *words]


def _take_unit(text: str, *, whole: bool) -> tuple[str, str]:
    """The unit in a text and what is left of it; the longest piece at an end that is a unit.

    whole: the text stood in brackets, where a single sign may be the unit.
    """
    text = text.strip()
    if whole and is_unit(text):
        return text, ""
    cuts = [m.start() for m in re.finditer(r"[\s_/,]", text)]
    for cut in cuts:
        unit = text[cut + 1 :].strip()
        plain = (
            unit.casefold() not in _ALSO_NAMES
            and unit != _WHEEL
            and (
                len(unit) > 1
                or text[cut] in "/,"
                or unit in "°%"
                or (unit in "CF" and "temperature" in words_of(text[:cut]))
                or (unit == "s" and "time" in words_of(text[:cut]))
            )
        )
        if plain and is_unit(unit) and _are_words(text[:cut]):
            return unit, text[:cut]
    for cut in reversed(cuts):
        unit = text[:cut].strip()
        if len(unit) > 1 and is_unit(unit) and (whole or unit.casefold() in UNIT_WORDS):
            return unit, text[cut + 1 :]
    if whole and cuts == [] and not _are_words(text):
        return text, ""
    return "", text


def _are_words(text: str) -> bool:
    """True where a text holds a word of the vocabulary, so that a unit may follow it."""
    return any(_is_vocabulary(w) for w in words_of(text))


@functools.cache
def _vocabulary() -> frozenset[str]:
    names = {w for _, name in NAMES for w in name} | {w for name in LIMIT_NAMES for w in name}
    return frozenset(names | set(PLACES) | set(CORRECTIONS) | set(SYMBOLS))


def _is_vocabulary(word: str) -> bool:
    return word in _vocabulary() or is_known_beside(word, "torque") or any(
        is_known_beside(word, channel) for channel, _ in NAMES
    )  # fmt: skip


def is_all_vocabulary(text: str) -> bool:
    """True where a text is a unit or every word of it is of the vocabulary."""
    cell = bare(text)
    if is_unit(cell) or _NOISE.fullmatch(cell.casefold()):
        return True
    heading = read_heading((text,))
    return heading.channel is not None or (
        bool(heading.words) and all(_is_vocabulary(w) for w in heading.words)
    )


def _channel(words: list[str], units: list[str]) -> tuple[str | None, tuple[str, ...]]:
    """The channel that words name with the fewest unknown words beside, and those words."""
    said = frozenset(words)
    if said in LIMIT_NAMES:
        return "limit", ()
    if "limit" in said:
        return None, ()
    if said == {"temperature"} and any(unit_of(u, Kind.TIME) for u in units):
        return "time", ()  # 'temps', French for time, is short for temperatures in English
    by_unit = _unit_channel(units)
    symbol = SYMBOLS.get(words[0]) if words else None
    if symbol is not None and symbol == by_unit:
        return symbol, tuple(w for w in words[1:] if not is_known_beside(w, symbol))
    best: tuple[int, int, str, tuple[str, ...]] | None = None
    for channel, name in NAMES:
        alone = len(name) > 1 or len(next(iter(name))) > 1 or len(said) == 1
        if name <= said and alone:
            unknown = tuple(w for w in words if w not in name and not is_known_beside(w, channel))
            if best is None or (len(unknown), -len(name)) < best[:2]:
                best = (len(unknown), -len(name), channel, unknown)
    if best is not None:
        return best[2], best[3]
    if by_unit is not None:
        return by_unit, tuple(w for w in words if not is_known_beside(w, by_unit))
    return None, ()


def _unit_channel(units: list[str]) -> str | None:
    """The channel that a unit names by itself, as 'rpm' over a column without another name.

    'KM' alone is more often a distance than Polish horsepower, Hz a rate than engine speed.
    """
    kinds = {Kind.SPEED: "speed", Kind.TORQUE: "torque", Kind.POWER: "power"}
    found = [kinds.get(kind) for u in units if u not in ("KM", "Hz") and (kind := kind_of_unit(u))]
    return found[0] if found else None


def meant_by(word: str, channels: Iterable[str]) -> str:
    """The word of a channel's names that another is nearly written like; '' where none is."""
    names = {w for channel, name in NAMES if channel in channels for w in name if len(w) > 2}
    turned = [name for name in names if sorted(name) == sorted(word)]
    near = turned or difflib.get_close_matches(word, sorted(names), n=1, cutoff=0.75)
    return near[0] if near and near[0] != word else ""


def _one_unit(units: list[str], words: list[str]) -> str | None:
    """The unit of a column, the one in its words where it has no other; None where two differ."""
    said = [u for u in units if u not in ("-", "1")]
    if not said:
        return next((w for w in words if w in UNIT_WORDS), units[0] if units else "")
    kinds = {kind_of_unit(angle_reference(u)[0]) for u in said}
    kind = kinds.pop()
    if kinds or (kind is None and len(set(said)) > 1):
        return None
    sizes = {unit_of(angle_reference(u)[0], kind) for u in said} if kind is not None else set()
    return said[-1] if len(sizes) <= 1 else None
