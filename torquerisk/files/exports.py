"""Files that leave: CSV with facts and units, JSON without NaN, written whole or not at all."""

import json
import math
import os
import tempfile
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from torquerisk.case import CHANNELS, Run, TestFacts
from torquerisk.case.declare import Kind, declarations
from torquerisk.errors import InputError
from torquerisk.files.text import brief, strict_number
from torquerisk.files.units import Unit, quantity_in_words, unit_of
from torquerisk.quantities import RPM, Array

TEMPORARY = ".part"
ONE_LINE = 88
"""Longest object of JSON on one line, without its indent and name."""
STALE_AFTER = 600.0
"""Age after which a temporary file is taken for the remains of a broken write [s]."""

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
_MUST_QUOTE = frozenset(',;"\t|\r\n')


@dataclass(frozen=True, kw_only=True)
class TableColumn:
    """One column of a table that leaves: name, unit ('' for words), values, decimals shown."""

    name: str
    unit: str
    values: Sequence[float | int | str | None]
    decimals: int | None = None
    """Digits after the point; None writes every digit that the number has."""

    @property
    def heading(self) -> str:
        """Name with the unit in brackets."""
        return f"{self.name} [{self.unit}]" if self.unit else self.name


def speed_column(speed: Iterable[float]) -> TableColumn:
    """The column of engine speeds that leads a table, shown in rpm. speed: [rad/s]."""
    return TableColumn(
        name="engine speed", unit="rpm", values=[float(s) / RPM for s in speed], decimals=0
    )


def csv_cell(value: float | int | str | None, decimals: int | None = None) -> str:
    """One cell by RFC 4180; text that a spreadsheet would run as a formula gets a leading quote.

    Source: OWASP ASVS 1.2.10 (cells that start with = + - @ tab or CR).
    """
    if value is None:
        return ""
    if isinstance(value, str):
        text = value if strict_number(value) is not None else _harmless(value)
    elif isinstance(value, bool | np.bool_):
        text = "yes" if value else "no"
    else:
        if not math.isfinite(value):
            raise ValueError(f"a cell is {value}; an empty cell says that there is no value")
        text = f"{value:.{decimals}f}" if decimals is not None else _shortest(value)
    return _in_quotes(text) if _MUST_QUOTE & set(text) else text


def _shortest(value: float | int) -> str:
    return str(int(value)) if isinstance(value, int | np.integer) else repr(float(value))


def _harmless(text: str) -> str:
    return f"'{text}" if text.lstrip(" ").startswith(_FORMULA_STARTS) else text


def _in_quotes(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'


def table_csv(columns: Sequence[TableColumn], facts: Mapping[str, str] | None = None) -> str:
    """A table as CSV by RFC 4180: `# key: value` facts on top, then headings with units, then rows.

    Numbers have a decimal point; lines end in CR LF; an empty cell means that there is no value.
    """
    lengths = {len(c.values) for c in columns}
    if len(lengths) != 1:
        raise ValueError(f"columns have different lengths: {sorted(lengths)}")
    lines = [_fact_line(key, text) for key, text in (facts or {}).items()]
    lines.append(",".join(csv_cell(c.heading) for c in columns))
    for row in range(lengths.pop()):
        lines.append(",".join(csv_cell(c.values[row], c.decimals) for c in columns))
    return "\r\n".join(lines) + "\r\n"


def limit_table_csv(columns: Sequence[TableColumn], facts: Mapping[str, str] | None = None) -> str:
    """A torque-limit table as CSV that `read_limit_table` reads back.

    Needs a column 'engine speed' in a unit of speed and one 'torque limit' in a unit of torque.
    """
    units = {c.name: c.unit for c in columns}
    for name, kind in (("engine speed", Kind.SPEED), ("torque limit", Kind.TORQUE)):
        if name not in units or unit_of(units[name], kind) is None:
            raise ValueError(f"a limit table needs a column '{name}' with a unit")
    return table_csv(columns, facts)


def _fact_line(key: str, text: str) -> str:
    line = f"# {brief(key, 60)}: {brief(text, 400)}"
    return _in_quotes(line) if _MUST_QUOTE & set(line) else line


_HEADINGS = {
    "speed": "engine speed",
    "manifold_pressure": "manifold pressure",
    "exhaust_pressure": "exhaust pressure",
    "ca50": "CA50",
    "lambda_": "lambda",
    "afr": "air-fuel ratio",
}
"""Headings that differ from the channel's own name with spaces."""

_COLUMN_UNITS = {
    Kind.TORQUE: ("N·m", "N*m"),
    Kind.PRESSURE: ("kPa abs", "Pa abs"),
    Kind.GAUGE_PRESSURE: ("kPa gauge", "Pa gauge"),
    Kind.NUMBER: ("1", "1"),
}
"""Units of a column, shown and SI, where they differ from the kind's own."""


def run_csv(run: Run) -> str:
    """A run as CSV that `load_run` reads back bit for bit: facts on top, channels with units.

    A column is written in the unit that people are shown, or in the SI unit where a digit of it
    would be lost.
    """
    return table_csv(run_columns(run), run_facts(run))


def run_facts(run: Run) -> dict[str, str]:
    """The facts of a run by their names, as text that reads back."""
    return {
        key.replace("_", " "): _fact_text(key, value)
        for key in declarations(TestFacts)
        if (value := run.facts.get(key)) is not None
    }


def run_columns(run: Run, exact: bool = True) -> list[TableColumn]:
    """The channels of a run as columns with units.

    exact: in the SI unit where the one that people are shown would lose a digit.
    """
    arrays = {"speed": run.speed, "torque": run.torque, **run.channels}
    return [_run_column(channel, values, exact) for channel, values in arrays.items()]


def heading_of(channel: str) -> str:
    """The heading that the package writes over a channel, without its unit."""
    return _HEADINGS.get(channel, channel.replace("_", " "))


def _run_column(channel: str, values: Array, exact: bool) -> TableColumn:
    kind = CHANNELS[channel].kind
    if kind is None:
        raise ValueError(f"{channel} is not a channel of numbers")
    name = heading_of(channel)
    shown, si = _COLUMN_UNITS.get(kind, (kind.shown_unit, kind.si_unit))
    unit = unit_of(shown, kind)
    if not exact:
        rounded = [float(f"{kind.shown(float(v)):.12g}") for v in values]
        return TableColumn(name=name, unit=shown, values=rounded)
    if unit is not None:
        numbers = [_number_that_reads_as(float(v), kind, unit) for v in values]
        if None not in numbers:
            return TableColumn(name=name, unit=shown, values=numbers)
    return TableColumn(name=name, unit=si, values=[float(v) for v in values])


def _number_that_reads_as(value: float, kind: Kind, unit: Unit) -> float | None:
    """The shortest number that the unit turns into exactly this SI value, or None."""
    for digits in (6, 10, 14, 15, 16, 17):
        number = float(f"{kind.shown(value):.{digits}g}")
        if unit.to_si(number) == value:
            return number
    return None


def _fact_text(key: str, value: float | str) -> str:
    kind = declarations(TestFacts)[key].kind
    if isinstance(value, str) or kind is None:
        return str(value)
    return quantity_in_words(value, kind)


def to_json(document: Mapping[str, Any]) -> str:
    """The document as one JSON text; a NaN or an infinity is refused, numpy becomes plain.

    Lists of numbers and words stand on one line, as do objects of them that fit on it.
    """
    plain = json.loads(json.dumps(document, allow_nan=False, default=_plain))
    return _json(plain, 0)


def _json(value: Any, depth: int) -> str:
    """A plain value as JSON text, the lines inside it indented by two spaces a level."""
    if not any(isinstance(v, dict | list) for v in _inside(value)):
        text = json.dumps(value, ensure_ascii=False)
        if not isinstance(value, dict) or len(text) <= ONE_LINE:
            return text
    indent = "  " * depth
    names = [""] * len(value)
    if isinstance(value, dict):
        names = [f"{json.dumps(k, ensure_ascii=False)}: " for k in value]
    lines = ",\n".join(
        f"{indent}  {name}{_json(v, depth + 1)}"
        for name, v in zip(names, _inside(value), strict=True)
    )
    opened, closed = "{}" if isinstance(value, dict) else "[]"
    return f"{opened}\n{lines}\n{indent}{closed}"


def _inside(value: Any) -> list[Any]:
    """What an object or a list holds; nothing for a plain value."""
    if isinstance(value, dict):
        return list(value.values())
    return value if isinstance(value, list) else []


def _plain(value: object) -> Any:
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, np.generic):
        return value.item()
    if isinstance(value, tuple | set | frozenset):
        return list(value)
    raise TypeError(f"{type(value).__name__} has no place in JSON")


def write_text_atomically(path: str | Path, text: str) -> None:
    """Write the text so that the file is either the old one or the whole new one."""
    write_atomically(path, text.encode("utf-8"))


def write_atomically(path: str | Path, data: bytes) -> None:
    """Write the bytes so that the file is either the old one or the whole new one.

    A temporary file beside it is written, flushed to disk and then put in its place; remains of
    broken writes are removed. A device or a pipe is written into. Raises InputError in one
    sentence when the place cannot be written.
    """
    target = Path(os.path.realpath(path))
    try:
        if target.exists() and not target.is_file():
            _refuse_folder(target, path)
            with target.open("wb", buffering=0) as stream:
                stream.write(data)
            return
        _remove_stale(target)
        handle, temporary = tempfile.mkstemp(
            prefix=f".{target.name[:40]}.", suffix=TEMPORARY, dir=target.parent
        )
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            os.chmod(temporary, _mode(target))
            os.replace(temporary, target)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
        _sync_folder(target.parent)
    except OSError as error:
        raise _unwritable(path, error) from None


def refuse_unwritable(path: str | Path, inputs: Iterable[str | Path] = ()) -> None:
    """Refuse, before anything is computed, a place that cannot be written or that is an input."""
    target = Path(os.path.realpath(path))
    try:
        for given in inputs:
            if target.exists() and Path(given).exists() and target.samefile(given):
                raise InputError(
                    f"{brief(path, 120)} is one of the files that are read; give another name, so "
                    "that it is not overwritten."
                )
        if target.exists():
            _refuse_folder(target, path)
        if not target.exists() or target.is_file():
            with tempfile.TemporaryFile(dir=target.parent):
                return
    except (OSError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        raise _unwritable(path, error) from None


def _refuse_folder(target: Path, path: str | Path) -> None:
    if target.is_dir():
        raise InputError(f"{brief(path, 120)} is a folder; give the path of a file to write.")


def _unwritable(path: str | Path, error: OSError | ValueError) -> InputError:
    reason = getattr(error, "strerror", None) or "no valid path"
    return InputError(
        f"{brief(path, 120)} cannot be written ({reason}); give a path in a folder that exists and "
        "may be written."
    )


def _mode(target: Path) -> int:
    """Permissions of the file that is replaced, else what a new file would get."""
    try:
        return target.stat().st_mode & 0o777
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask


def _remove_stale(target: Path) -> None:
    start = f".{target.name[:40]}."
    for other in target.parent.iterdir():
        if (
            other.name.startswith(start)
            and other.name.endswith(TEMPORARY)
            and time.time() - other.stat().st_mtime > STALE_AFTER
        ):
            other.unlink(missing_ok=True)


def _sync_folder(folder: Path) -> None:
    """Make the new name itself last; not every file system can."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        pass
    finally:
        os.close(handle)
