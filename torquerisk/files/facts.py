"""Facts about a test, as people write them: `# correction: J1349`, `measured at: wheel`."""

import re
from collections.abc import Iterable, Iterator

from torquerisk.case import TestFacts
from torquerisk.case.declare import declarations
from torquerisk.errors import InputError
from torquerisk.files.channel_names import CORRECTIONS, PLACES, UNCORRECTED
from torquerisk.files.headings import without_accents, words_of
from torquerisk.files.text import brief, quoted, split_number
from torquerisk.files.units import kind_in_words, parse_quantity, unit_of

MEASURED = ("torque", "power", "rpm", "speed", "pressure", "boost", "gauge", "absolute", "nm", "hp")
"""Words of a remark that may tell how the columns are to be read."""

Facts = dict[str, float | str]

Spoken = dict[str, list[tuple[str, str, int]]]
"""By fact: the option that a remark speaks of, the word for it, and the line."""

_KEYS: dict[str, tuple[str, ...]] = {
    "correction": (
        "correction standard",
        "power correction",
        "torque correction",
        "corrected to",
        "standard",
    ),
    "correction_factor": ("cf", "factor", "correction factor applied"),
    "measured_at": ("measured", "torque measured at", "power measured at", "measuring point"),
    "referred_to": ("torque referred to", "referenced to", "torque referenced to"),
    "gear_ratio": ("gear", "gearbox ratio", "ratio of the gear"),
    "final_drive": ("final drive ratio", "axle ratio", "differential ratio", "diff ratio"),
    "tyre_radius": ("tire radius", "rolling radius", "wheel radius"),
    "dyno_kind": ("dyno type", "type of dyno", "kind of dyno", "load type", "loaded by"),
    "driveline_loss": (
        "drivetrain loss",
        "drive train loss",
        "driveline losses",
        "drivetrain losses",
        "transmission loss",
    ),
    "ambient_pressure": (
        "barometric pressure",
        "barometer",
        "baro",
        "air pressure",
        "atmospheric pressure",
    ),
    "ambient_temperature": ("air temperature", "outside temperature", "room temperature"),
    "humidity": ("relative humidity", "air humidity", "rh"),
    "sweep_rate": ("ramp rate", "acceleration rate", "acceleration", "speed rate"),
    "inertia": ("rotating inertia", "engine inertia", "moment of inertia", "rotational inertia"),
    "torque_error": ("calibration error", "torque uncertainty", "dyno error"),
}

_NONE = (
    "keine", "ohne", "nein", "aucune", "sans", "non", "nessuna", "ninguna", "sin", "nenhuma",
    "geen", "ingen", "brak",
)  # fmt: skip
_ABROAD: dict[str, tuple[str, ...]] = {
    "correction": (
        "korrektur", "leistungskorrektur", "korrekturnorm", "korrigiert nach", "norm", "norme",
        "norme de correction", "corrige selon", "correzione", "norma", "correccion", "correcao",
        "correctie", "korrigering", "korekta",
    ),
    "correction_factor": (
        "korrekturfaktor", "facteur de correction", "fattore di correzione",
        "factor de correccion", "fator de correcao", "correctiefactor", "korrektionsfaktor",
        "wspolczynnik korekcji",
    ),
    "measured_at": (
        "gemessen an", "gemessen am", "messort", "messpunkt", "mesure", "mesure a", "mesure au",
        "mesure a la", "mesure aux", "point de mesure", "misurato a", "misurato alla",
        "misurato alle", "medido en", "medido na", "medido nas", "gemeten aan", "gemeten op",
        "matt pa", "zmierzono na",
    ),
    "ambient_pressure": (
        "luftdruck", "umgebungsdruck", "pression atmospherique", "pression ambiante",
        "pression de l air", "pressione atmosferica", "pressione ambiente",
        "presion atmosferica", "presion ambiente", "pressao atmosferica", "pressao ambiente",
        "luchtdruk", "lufttryck", "cisnienie atmosferyczne",
    ),
    "ambient_temperature": (
        "lufttemperatur", "umgebungstemperatur", "aussentemperatur", "temperature de l air",
        "temperature ambiante", "temperature air", "temperature exterieure",
        "temperatura ambiente", "temperatura aria", "temperatura dell aria",
        "temperatura del aire", "temperatura do ar", "luchttemperatuur",
        "omgevingstemperatuur", "temperatura powietrza",
    ),
    "humidity": (
        "luftfeuchte", "luftfeuchtigkeit", "feuchte", "relative luftfeuchte",
        "relative luftfeuchtigkeit", "humidite", "humidite relative", "umidita",
        "umidita relativa", "humedad", "humedad relativa", "umidade", "luchtvochtigheid",
        "luftfuktighet", "wilgotnosc",
    ),
    "driveline_loss": (
        "antriebsverlust", "verlust im antrieb", "pertes de transmission",
        "perdite di trasmissione", "perdidas de transmision", "transmissieverlies",
    ),
}  # fmt: skip
"""Keys in other languages, without accents (common practice, no source)."""

_WORDS: dict[str, dict[str, tuple[str, ...]]] = {
    "correction": {
        "none": ("none", "no", "off", "uncorrected", "observed", "raw", "actual", *_NONE),
        "J1349": ("j1349", "sae j1349", "sae"),
        "ISO1585": ("iso1585", "iso 1585", "iso"),
        "DIN70020": ("din70020", "din 70020", "din"),
        "J607": ("j607", "sae j607", "std"),
        "unknown": ("unknown", "?", "not known"),
    },
    "measured_at": {
        "crank": ("crank", "crankshaft", "flywheel", "engine", "engine dyno", "at the crank"),
        "hub": ("hub", "hubs", "wheel hub", "wheel hubs", "hub dyno"),
        "wheel": ("wheel", "wheels", "roller", "rollers", "roller dyno", "rolling road"),
    },
}

_WORDS["dyno_kind"] = {
    "steady": ("steady", "steady state", "steady points", "held", "step", "steps"),
    "retarder": ("retarder", "brake", "eddy", "eddy current", "water brake", "absorber", "loaded"),
    "inertia": ("inertia", "inertial", "inertia dyno", "flywheel mass"),
}
_WORDS["referred_to"] = {
    "engine": ("engine", "engine speed", "crank", "crankshaft", "engine rpm"),
    "wheel": ("wheel", "wheels", "wheel speed", "axle", "hub", "roller"),
}

_STANDARD = re.compile(r"(?:([A-Za-z].*?)[\s:=]+)?([0-9]+\.[0-9]+)(?:[\s(]+([A-Za-z][^()]*)\)?)?")
"""A correction factor with the name of its standard before or behind."""
FILE_NAME = re.compile(r"\b\w+\.[a-z]{2,4}\b")
_YEAR = re.compile(
    r"[\s(/:-]*(?:19|20)[0-9]{2}\)?$|[\s-][0-9]{2}$|[\s(]*(?:jun|aug|rev)\w*\s*\d*\)?$"
)


def fact_key(text: str) -> str | None:
    """The TestFacts field that a key means, or None."""
    plain = " ".join(re.sub(r"[_\-\s'’]+", " ", without_accents(text)).split())
    for field in declarations(TestFacts):
        known = (field.replace("_", " "), *_KEYS.get(field, ()), *_ABROAD.get(field, ()))
        if plain in known:
            return field
    return None


def fact_word(field: str, text: str, full: str) -> str:
    """An option of a fact in its one spelling; refused in one sentence when it is no option."""
    plain = " ".join(re.sub(r"[_\s-]+", " ", text.strip().casefold()).split())
    for candidate in (plain, _YEAR.sub("", plain), " ".join(words_of(text))):
        for word, spellings in _WORDS.get(field, {}).items():
            if candidate == word.casefold() or candidate in spellings:
                return word
    options = declarations(TestFacts)[field].options
    raise InputError(f"{full} is {quoted(text)}, but must be one of {', '.join(options)}.")


def fact_value(field: str, text: str, full: str) -> float | str:
    """The value of a fact in SI, or an option; checked against its declaration."""
    declaration = declarations(TestFacts)[field]
    if declaration.kind is None:
        return fact_word(field, text, full)
    value = parse_quantity(text.strip(), declaration.kind, full)
    declaration.check(full, value)
    return value


def read_facts(lines: Iterable[tuple[int, str, bool]]) -> tuple[Facts, list[str], list[str]]:
    """Facts, the record of what was made of each line that is no row, and what is in doubt.

    lines: line number, text, and whether a mark '#' began it: a marked fact that cannot be used is
    refused, any other is told.
    """
    facts: Facts = {}
    record: list[str] = []
    doubts: list[str] = []
    spoken: Spoken = {}
    for number, line, marked in lines:
        key, mark, text = _split(line)
        field = fact_key(key) if mark else None
        value: float | str | None = None
        if field == "correction_factor":
            text = _without_standard(text, number, spoken)
        if field is not None:
            try:
                value = fact_value(field, text, f"{brief(key)} in line {number}")
            except InputError as error:
                if marked:
                    raise
                doubts.append(f"Line {number} was not used: {error}")
        if field is None or value is None:
            if field is None and line.strip():
                told = (
                    f"was not used: {quoted(key)} is {quoted(text)}"
                    if mark
                    else (f"is a remark: {quoted(line)}")
                )
                of = _spoken_of(line, text if mark else "")
                of = None if of == "correction" and any(_spoken(line)) else of
                (record if of is None else doubts).append(
                    f"Line {number} {told}."
                    if of is None
                    else f"Line {number} {told}; it speaks of {of} and is not used."
                )
            for fact, word, said in _spoken(line):
                spoken.setdefault(fact, []).append((word, said, number))
            continue
        if facts.setdefault(field, value) != value:
            raise InputError(
                f"{brief(key)} is stated twice with different values, the second in line {number}; "
                "keep one."
            )
        read_as = "" if value == text or not isinstance(value, str) else f", read as {value}"
        record.append(f"The file states {field.replace('_', ' ')}: {brief(text)}{read_as}.")
    return facts, record, [*doubts, *_take_spoken(facts, spoken)]


def _without_standard(text: str, number: int, spoken: Spoken) -> str:
    """The number of a correction factor that names its standard too, as in 'STD 1.03'."""
    match = _STANDARD.fullmatch(text.strip())
    words = words_of(match.group(1) or match.group(3)) if match is not None else []
    standard = next((CORRECTIONS[w] for w in words if w in CORRECTIONS), None)
    if match is None or standard is None:
        return text
    spoken.setdefault("correction", []).append((standard, match.group(1) or match.group(3), number))
    return match.group(2)


def _spoken_of(line: str, value: str) -> str | None:
    """What a remark speaks of that may tell of the test, by a word or by the unit of its value."""
    parts = split_number(value)
    for declaration in declarations(TestFacts).values():
        kind = declaration.kind
        if parts is not None and parts[1] and kind is not None and unit_of(parts[1], kind):
            return kind_in_words(kind)
    for word in words_of(FILE_NAME.sub("", line)):
        if word in MEASURED:
            return word
        if re.match("[ck]orr|korek", word):
            return "correction"
    return None


def _spoken(line: str) -> Iterator[tuple[str, str, str]]:
    """Facts that a remark speaks of without stating them: fact, option, the word for it."""
    words = words_of(re.sub(r"\brad\b", "", line))  # a unit; German for wheel has a capital
    for word in words:
        if word in PLACES and word != "engine":
            yield "measured_at", PLACES[word], word
        if word in UNCORRECTED and word != "raw":
            yield "correction", "none", word
    corrected = any(w.startswith("correct") for w in words)
    for word in words:
        if word in CORRECTIONS and (corrected or re.search(r"[0-9]", word)):
            yield "correction", CORRECTIONS[word], word


def _take_spoken(facts: Facts, spoken: Spoken) -> list[str]:
    """Take a place or standard that all remarks agree on; tell of it and of any not taken."""
    doubts: list[str] = []
    for fact, said in spoken.items():
        options = {option for option, _, _ in said}
        option, word, number = said[0]
        what = fact.replace("_", " ")
        if fact not in facts and len(options) == 1 and option != "crank":
            facts[fact] = option
            doubts.append(
                f"Line {number} speaks of {quoted(word)}: {what} is taken as {option}; state "
                f"another as '# {what}: ...' on top."
            )
        elif options - {facts.get(fact)}:
            told = ", ".join(f"{quoted(w)} in line {n}" for _, w, n in said[:4])
            doubts.append(
                f"Remarks speak of {told}, which is not used; state it as '# {what}: ...' on top."
            )
    return doubts


def _split(line: str) -> tuple[str, str, str]:
    """Key, mark and value of a `key: value` or `key = value` line."""
    line = line.strip().rstrip(",;\t|").strip()
    at = min((i for i in (line.find(":"), line.find("=")) if i > 0), default=-1)
    if at < 0:
        return line, "", ""
    return line[:at].strip(), line[at], line[at + 1 :].strip()
