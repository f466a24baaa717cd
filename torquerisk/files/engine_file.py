"""The engine file: TOML with unit strings in, a checked Engine out, and back again."""

import difflib
import json
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any

from torquerisk.case import SECTIONS, Engine, Policy, Run, Rung
from torquerisk.case.declare import YES_NO, Declaration, Kind, declarations
from torquerisk.errors import InputError
from torquerisk.files.designations import check_designations
from torquerisk.files.facts import fact_word
from torquerisk.files.run_file import load_run, run_from_bytes
from torquerisk.files.text import brief, check_size, decode, quoted, read_bytes
from torquerisk.files.units import parse_quantity, quantity_in_words

MAX_ENGINE_BYTES = 200_000
MAX_WORD = 80
NEAR, NEAR_OPTION = 0.75, 0.6
"""Likeness of two keys, and of two options of one, from which one is taken for a slip of the other:
letters in common, twice, over letters of both [-]."""

_SECTION_TYPES: dict[str, type] = {
    name: Engine.__dataclass_fields__[name].type  # type: ignore[misc]
    for name in SECTIONS
}
RUNGS = "survived"
"""The array of tables in which each survived rung is one."""
MAX_RUNGS = 12
_NUMERIC_WORDS = ("property_class", "original_class", "rod_bolt_class", "oil_grade")
"""Designations that look like numbers, so that a plain number stands for them."""

_IGNITIONS = {"petrol": "spark", "gasoline": "spark", "otto": "spark", "diesel": "compression"}
"""Words for the kind of ignition that another word of the file's stands for."""
_BLENDS = {"petrol": "E0", "gasoline": "E0", "ethanol": "E100", "diesel": "diesel"}

ASKED = {f.name: f"--{f.name.replace('_', '-')}" for f in fields(Policy)}
ASKED["abnormal_in_chance"] = "--count-abnormal"
"""The options that say what a policy holds."""

RunReader = Callable[[str, str], Run]
"""Of the input that names a run file and that name, to the run."""


def load_engine(path: str | Path) -> Engine:
    """The engine of a TOML file; its known-good run is read from beside the file.

    Raises InputError with one sentence that names the file, the input, what was given and what
    is allowed.
    """
    data = read_bytes(path, "an engine file such as engine.toml", MAX_ENGINE_BYTES)
    name = brief(Path(path).name)
    text, _ = decode(data, name)
    return engine_from_text(text, name, Path(path).parent)


def engine_from_text(
    text: str,
    name: str,
    folder: str | Path | None = None,
    companions: Mapping[str, bytes] | None = None,
) -> Engine:
    """The engine of a TOML text.

    name: file name for messages.
    folder: where a known-good run is looked for; None where there is no folder (an upload).
    companions: bytes of files given along, by file name; looked in before the folder.
    """
    name = brief(name)
    check_size(text.encode(), name, MAX_ENGINE_BYTES)
    try:
        document = tomllib.loads(text.lstrip("\ufeff").replace("\r\n", "\n"))
    except (ValueError, RecursionError) as error:
        raise InputError(
            f'{name} is no valid TOML: {brief(error, 100)}; write lines such as bore = "86 mm".'
        ) from None
    try:
        return _engine(document, _run_reader(folder, companions or {}))
    except InputError as error:
        raise InputError(f"{name}: {error}") from None


def named_runs(text: str) -> tuple[str, ...]:
    """The run files that an engine text names, each once; none where it is no valid TOML."""
    try:
        document = tomllib.loads(text.lstrip("\ufeff").replace("\r\n", "\n"))
    except (ValueError, RecursionError):
        return ()
    rungs = document.get(RUNGS)
    sections = [document.get("known_good"), *(rungs if isinstance(rungs, list) else ())]
    names = [one.get("run") for one in sections if isinstance(one, dict)]
    return tuple(dict.fromkeys(name for name in names if isinstance(name, str)))


def _engine(document: dict[str, Any], read_run: RunReader) -> Engine:
    values: dict[str, Any] = {}
    for key, given in document.items():
        if key in SECTIONS:
            if not isinstance(given, dict):
                raise InputError(f"{key} is a section; write [{key}] on a line of its own.")
        elif key == RUNGS:
            values[RUNGS] = _rungs(given, _ambient(document), read_run)
        elif key == "name":
            values["name"] = _name(given)
        elif _field(key) not in declarations(Engine):
            asked = key == "policy" or key in ASKED
            raise InputError(_by_option(key, given) if asked else _unknown(key, ""))
    ambient = _ambient(document)
    values |= _section(
        Engine, "", {k: v for k, v in document.items() if k not in (*SECTIONS, RUNGS)}, ambient
    )
    for section in SECTIONS:
        given = _section(_SECTION_TYPES[section], section, document.get(section, {}), ambient)
        if section == "head_joint":
            _require(_SECTION_TYPES[section], section, given)
        if section == "known_good" and "run" in given:
            given["curve"] = read_run("known_good.run", given["run"])
        values[section] = _SECTION_TYPES[section](**given)
    _require(Engine, "", values)
    engine = Engine(**values)
    check_designations(engine)
    return engine


def _rungs(given: object, ambient: float | None, read_run: RunReader) -> tuple[Rung, ...]:
    """The survived rungs of a file, each with its run."""
    if not isinstance(given, list) or not all(isinstance(one, dict) for one in given):
        raise InputError(f"{RUNGS} is a list of sections; write [[{RUNGS}]] above each.")
    if len(given) > MAX_RUNGS:
        raise InputError(f"{len(given)} [[{RUNGS}]] are given, but must be {MAX_RUNGS} at most.")
    rungs = []
    for number, one in enumerate(given, 1):
        values = _section(Rung, f"{RUNGS} {number}", one, ambient)
        if "run" in values:
            values["curve"] = read_run(f"{RUNGS} {number}.run", values["run"])
        rungs.append(Rung(**values))
    return tuple(rungs)


def _section(
    owner: type, section: str, document: Mapping[str, Any], ambient: float | None
) -> dict[str, Any]:
    """The values of one section, SI, by field name."""
    known = declarations(owner)
    values: dict[str, Any] = {}
    for key, given in document.items():
        if not section and key == "name":
            continue
        field = _field(key)
        if field not in known or key == "lambda_":
            raise InputError(_unknown(key, section))
        full = f"{section}.{key}" if section else key
        values[field] = _value(full, given, known[field], ambient)
        known[field].check(full, values[field])
    return values


def _value(full: str, given: object, declaration: Declaration, ambient: float | None) -> Any:
    """One value in SI, or a word."""
    key = full.rpartition(".")[2]
    if declaration.kind is None:
        if key in _NUMERIC_WORDS and type(given) in (int, float):
            given = f"{given:g}"
        if declaration.options == YES_NO and isinstance(given, bool):
            given = str(given).lower()
        if not isinstance(given, str):
            raise InputError(f"{full} is {quoted(given)}, but must be text in quotation marks.")
        return _word(full, key, given, declaration)
    if type(given) not in (str, int, float):
        raise InputError(
            f"{full} is {quoted(given)}, but must be a number or a text such as "
            f"{_example(declaration)}."
        )
    value = parse_quantity(given, declaration.kind, full, ambient=ambient)  # type: ignore[arg-type]
    if declaration.kind is Kind.COUNT:
        if not value.is_integer():
            raise InputError(f"{full} is {value:g}, but must be a whole number.")
        return int(value)
    return value


def _word(full: str, key: str, given: str, declaration: Declaration) -> str:
    word = " ".join(given.split())
    if not word or len(word) > MAX_WORD or not word.isprintable():
        raise InputError(
            f"{full} is {quoted(given)}, but must be one line of text, 1 to {MAX_WORD} long."
        )
    if key == "blend":
        return blend_word(word, full)
    if full.startswith("test."):
        return fact_word(key, word, full)
    if declaration.options and word not in declaration.options:
        raise InputError(
            f"{full} is {quoted(word)}, but must be one of {', '.join(declaration.options)}"
            f"{_meant(word, declaration.options)}."
        )
    return word


def blend_word(text: str, full: str = "blend") -> str:
    """The blend in its one spelling: 'E0' to 'E100', or 'diesel'."""
    word = text.strip().casefold()
    if word in _BLENDS:
        return _BLENDS[word]
    if word[:1] == "e" and word[1:].isascii() and word[1:].isdigit() and len(word) <= 4:
        share = int(word[1:])
        if share <= 100:
            return f"E{share}"
    raise InputError(
        f"{full} is {quoted(text)}, but must be E0 to E100 (ethanol in petrol by volume, whole "
        "per cent), petrol, ethanol or diesel."
    )


def _name(given: object) -> str:
    if not isinstance(given, str) or not given.strip():
        raise InputError(f"name is {quoted(given)}, but must be text in quotation marks.")
    return brief(given, MAX_WORD)


def _ambient(document: Mapping[str, Any]) -> float | None:
    """Ambient pressure [Pa] that the file states, if any."""
    test = document.get("test", {})
    given = test.get("ambient_pressure") if isinstance(test, dict) else None
    if given is None:
        return None
    return parse_quantity(given, Kind.PRESSURE, "test.ambient_pressure")


def _require(owner: type, section: str, values: Mapping[str, Any]) -> None:
    missing = [
        f"{section}.{key}" if section else key
        for key, declaration in declarations(owner).items()
        if declaration.required and key not in values
    ]
    if missing:
        verb = "is" if len(missing) == 1 else "are"
        where = f"section [{section}]" if section else "the top of the file, above the sections"
        declaration = declarations(owner)[missing[0].rpartition(".")[2]]
        raise InputError(
            f"{', '.join(missing)} {verb} missing; add to {where}, for example "
            f"{missing[0].rpartition('.')[2]} = {_example(declaration, missing[0])}."
        )


_EXAMPLES = {
    "ignition": '"spark"',
    "cylinders": "4",
    "bore": '"86 mm"',
    "stroke": '"86 mm"',
    "rod_length": '"145 mm"',
    "compression_ratio": "9.5",
    "head_joint.fasteners": "10",
    "head_joint.thread": '"M11x1.5"',
    "head_joint.property_class": '"10.9"',
}


def _example(declaration: Declaration, full: str = "") -> str:
    if full in _EXAMPLES:
        return _EXAMPLES[full]
    if declaration.kind is None:
        return f'"{declaration.options[0]}"' if declaration.options else '"text"'
    middle = declaration.low if declaration.low > 0 else declaration.high
    return f'"{declaration.in_words(middle)}"'


def _field(key: str) -> str:
    return "lambda_" if key == "lambda" else key


def _key(field: str) -> str:
    return "lambda" if field == "lambda_" else field


def _unknown(key: str, section: str) -> str:
    """The sentence that refuses an unknown key, with the nearest known name and its section."""
    section = section.partition(" ")[0]
    types = {**_SECTION_TYPES, RUNGS: Rung}
    full = f"[{section}] {brief(key)}" if section else brief(key)
    known: dict[str, list[str]] = {"name": [""]}
    for owner, where in ((Engine, ""), *((t, s) for s, t in types.items())):
        for field in declarations(owner):
            known.setdefault(_key(field), []).append(where)
    for name in types:
        known.setdefault(name, []).append("section")
    said = key[:60].casefold()
    here = [name for name, places in known.items() if section in places]
    near = (
        [name for name in here if name.endswith(f"_{said}")]
        or [name for name in known if name == said]
        or difflib.get_close_matches(said, here, n=1, cutoff=NEAR)
        or difflib.get_close_matches(said, known, n=1, cutoff=NEAR)
    )
    if not near:
        owner = types.get(section, Engine)
        names = [_key(f) for f in declarations(owner)]
        if not section:
            names += [f"[{s}]" for s in types]
        return f"{full} is no known input; known there are {', '.join(names)}."
    places = known[near[0]]
    if section in places:
        return f"{full} is no known input; the nearest is {' or '.join(near)}."
    if places[0] == "section":
        return f"{full} is no known input; the nearest is {near[0]}, which is a section."
    there = f"section [{places[0]}]" if places[0] else "the top of the file"
    if near[0] == said:
        return f"{full} stands in the wrong place: move {said} to {there}."
    return f"{full} is no known input; the nearest is {near[0]}, in {there}."


def _by_option(key: str, given: object) -> str:
    """The sentence that refuses what is asked in an engine file: the option that says it."""
    said = given if key == "policy" and isinstance(given, dict) else {key: given}
    options = [ASKED[name] for name in said if name in ASKED] or list(ASKED.values())
    return (
        f"{'[policy]' if key == 'policy' else key} is what is asked of an engine, not known of it; "
        f"give {', '.join(options)} on the command line, or move the page's sliders."
    )


def _meant(word: str, options: tuple[str, ...]) -> str:
    told = word.casefold()
    said = _IGNITIONS.get(told)
    parts = [o for o in options if len(told) > 2 and told in o]
    near = parts or difflib.get_close_matches(told, options, n=1, cutoff=NEAR_OPTION)
    meant = said if said in options else " or ".join(near)
    return f"; did you mean {meant}" if meant else ""


def beside(folder: str | Path, full: str, name: str) -> Path:
    """The file of a name beside the engine file; refused where it is elsewhere or not there."""
    relative = Path(name)
    base = Path(folder).resolve()
    target = (base / relative).resolve()
    if relative.is_absolute() or not target.is_relative_to(base):
        raise InputError(f"{full} is {quoted(name)}, but must name a file beside the engine file.")
    if not target.is_file():
        raise InputError(
            f"{full} names {quoted(name)}, but there is no such file beside the engine file."
        )
    return target


def _run_reader(folder: str | Path | None, companions: Mapping[str, bytes]) -> RunReader:
    def read(full: str, name: str) -> Run:
        if name in companions:
            return run_from_bytes(companions[name], name)
        if folder is None:
            raise InputError(
                f"{full} names {quoted(name)}, which was not given; add that file, or take the "
                "section out."
            )
        return load_run(beside(folder, full, name))

    return read


def engine_to_toml(engine: Engine) -> str:
    """The engine as the text of an engine file: only what was given, in the units people see.

    Reading it back gives the same Engine, value by value; the known-good and survived runs
    themselves are not written, only the names of their files.
    """
    lines = [f"name = {_toml(engine.name)}", *_lines(engine, Engine)]
    for section in SECTIONS:
        part = getattr(engine, section)
        written = _lines(part, _SECTION_TYPES[section])
        if written:
            lines += ["", f"[{section}]", *written]
    for rung in engine.survived:
        lines += ["", f"[[{RUNGS}]]", *_lines(rung, Rung)]
    return "\n".join(lines) + "\n"


def _lines(part: object, owner: type) -> list[str]:
    lines: list[str] = []
    for field, declaration in declarations(owner).items():
        value = getattr(part, field)
        if value is None:
            continue
        if declaration.options == YES_NO:
            text = str(value)
        elif declaration.kind is None:
            text = _toml(str(value))
        else:
            text = quantity_in_words(float(value), declaration.kind)
            if declaration.kind not in (Kind.NUMBER, Kind.SHARE, Kind.COUNT):
                text = _toml(text)
        lines.append(f"{_key(field)} = {text}")
    return lines


def _toml(text: str) -> str:
    """A TOML basic string: JSON's escapes, and DEL as well."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
