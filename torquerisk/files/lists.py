"""Lists of quantities that people type, and breakpoints of a table of their own."""

import re
from pathlib import Path

import numpy as np

from torquerisk.case.declare import Kind
from torquerisk.errors import InputError
from torquerisk.files.run_file import read_limit_table
from torquerisk.files.text import brief, decode, quoted, read_bytes, split_number
from torquerisk.files.units import parse_quantity
from torquerisk.quantities import Array

MOST_ITEMS = 64
_APART = re.compile(r"[,;\t\r\n]+")
_HEADING = re.compile(r"\[([^\]]{1,24})\]")


def parse_quantities(text: str, kind: Kind, name: str) -> list[float]:
    """SI values of a list such as '1500, 2000, 2500 rpm' or '0 %, 30 %, 60 %'.

    Separated by commas, semicolons, tabs or lines. Numbers without a unit take the last one's, so
    that it need be written once. Raises InputError in one sentence.
    """
    parts = [part.strip() for part in _APART.split(text) if part.strip()]
    if not parts:
        raise InputError(f"{name} is empty; give a list such as '1500, 2000, 2500 rpm'.")
    if len(parts) > MOST_ITEMS:
        raise InputError(f"{name} has {len(parts)} values, but may have {MOST_ITEMS} at most.")
    last = split_number(parts[-1])
    unit = "" if last is None else last[1]
    values = []
    for part in parts:
        number = split_number(part)
        bare = number is not None and not number[1]
        values.append(parse_quantity(f"{part} {unit}" if bare and unit else part, kind, name))
    return values


def breakpoints_of(text: str, name: str) -> Array:
    """Breakpoints (R,) [rad/s] of a list such as '1500, 2000 rpm', or of a file.

    The file is a limit table in CSV, or a plain list of speeds whose first line is a heading with
    the unit, such as 'engine speed [rpm]'. Raises InputError in one sentence.
    """
    path = Path(text.strip())
    if is_file(path):
        return rising_speeds(_of_file(path, name), name)
    return rising_speeds(parse_quantities(text, Kind.SPEED, name), name)


def rising_speeds(speeds: list[float], name: str) -> Array:
    """Breakpoints (R,) [rad/s] of speeds that must rise. Raises InputError in one sentence."""
    points = np.array(speeds, dtype=float)
    if len(points) < 2:
        raise InputError(f"{name} has {len(points)} speed, but a table needs at least 2.")
    falls = np.flatnonzero(np.diff(points) <= 0.0)
    if len(falls) or points[0] < 0.0:
        raise InputError(
            f"{name} does not rise from speed to speed: sort the speeds, drop repeats, and write "
            "them without a mark between thousands."
        )
    return points


def is_file(path: Path) -> bool:
    """Whether a path names a file; False too where no file can have that name."""
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def _of_file(path: Path, name: str) -> list[float]:
    data = read_bytes(path, "a list of breakpoints")
    shown = brief(path.name)
    lines = [x for x in decode(data, shown)[0].splitlines() if x.strip() and x[0] != "#"]
    unit = _HEADING.search(lines[0]) if lines else None
    if unit is not None and not re.search(r"torque|power", lines[0], re.IGNORECASE):
        if len(lines) < 2:
            raise InputError(f"{name}: {shown} has a heading but no speeds below it.")
        text = f"{','.join(lines[1:])} {unit.group(1)}"
        return parse_quantities(text, Kind.SPEED, f"{name} in {shown}")
    if lines and split_number(lines[0].split(",")[0]) is not None:
        return parse_quantities("\n".join(lines), Kind.SPEED, f"{name} in {shown}")
    if not lines:
        raise InputError(f"{name}: {shown} holds no speeds.")
    return read_limit_table(data, shown)[0].tolist()


def axis_name(text: str, names: tuple[str, ...], option: str) -> str:
    """The name among `names` that a text means, by its first letters."""
    word = " ".join(text.lower().replace("_", " ").replace("-", " ").split())
    fits = [name for name in names if word and name.startswith(word)]
    if len(fits) != 1:
        raise InputError(f"{option} is {quoted(text)}, but must be one of {', '.join(names)}.")
    return fits[0]
