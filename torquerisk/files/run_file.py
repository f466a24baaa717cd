"""The run file: CSV that anyone may send in, a checked Run out, with every decision recorded."""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

import numpy as np

from torquerisk.case import CHANNELS, GAS_ELSEWHERE, LEFT_OUT, LIFTS, Notice, Run
from torquerisk.case.gearing import Given, divisor
from torquerisk.errors import InputError
from torquerisk.files.by_hand import as_said
from torquerisk.files.fact_columns import take_fact_columns
from torquerisk.files.facts import Facts, read_facts
from torquerisk.files.headings import read_heading
from torquerisk.files.left_out import left_out_in_words
from torquerisk.files.parquet import is_parquet, parquet_table
from torquerisk.files.pressure_zero import settle_zero
from torquerisk.files.pulls import Pull
from torquerisk.files.run_columns import Columns, geared, match_columns
from torquerisk.files.run_data import Told, ambient_of, read_data
from torquerisk.files.run_table import tables
from torquerisk.files.table import Table
from torquerisk.files.text import MAX_RUN_BYTES, brief, check_size, count_of, decode, read_bytes
from torquerisk.quantities import Array

T = TypeVar("T")
FIRST = 5
"""Rows that are shown of a file."""


@dataclass(frozen=True, kw_only=True)
class Seen:
    """A column of a file, and what it is taken for."""

    heading: str
    channel: str
    """'' where it is not used."""
    unit: str
    first: tuple[float | None, ...]
    """The first numbers in it, as written."""
    note: str = ""
    """What becomes of a column that is no channel alone."""

    @property
    def meaning(self) -> str:
        """The channel as people call it."""
        return CHANNELS[self.channel].label if self.channel else ""


@dataclass(frozen=True, kw_only=True, eq=False)
class Reading:
    """A run as it was read, with what every column of the file was taken for."""

    run: Run
    columns: tuple[Seen, ...]
    pulls: tuple[tuple[Pull, tuple[int, int]], ...] = ()
    """The pulls of a log, the best first, each with its first and last line."""


@dataclass(frozen=True, kw_only=True)
class How:
    """What is told of how a run file is to be read, beside what it says itself."""

    columns: Mapping[str, str] = field(default_factory=dict)
    """What columns are to be read as, by heading or number: see `run_columns.as_said`."""
    pull: int = 1
    """Which pull of a log, from 1 for that of the most torque over speed."""
    test: Mapping[str, float | str | None] = field(default_factory=dict)
    """Facts about the test that stand in where the file states none."""


PLAINLY = How()


def load_run(path: str | Path, how: How = PLAINLY) -> Run:
    """The run of a CSV or Parquet file.

    Raises InputError with one sentence that names the file, the line, what was found and what to
    do.
    """
    data = read_bytes(path, "a run file such as run.csv", MAX_RUN_BYTES)
    return run_from_bytes(data, Path(path).name, how)


def run_from_bytes(data: bytes, name: str, how: How = PLAINLY) -> Run:
    """The run in the bytes of a CSV or Parquet file; `name` is what messages call it."""
    return reading_of(data, name, how).run


def reading_of(data: bytes, name: str, how: How = PLAINLY) -> Reading:
    """The run in the bytes of a file, with what each column was taken for and the pulls found."""
    name = brief(name)
    found, encoding = _tables(data, name)
    digest = hashlib.sha256(data).hexdigest()

    def read(table: Table) -> Reading:
        return _reading(table, encoding, name, how, digest)

    return _agreed(found, read, lambda reading: _arrays(reading.run), name)


def read_limit_table(source: str | Path | bytes, name: str = "limit table") -> tuple[Array, Array]:
    """Speeds [rad/s] and torques [N*m] of a torque-limit table, rising in speed.

    source: a path, or the bytes of a file. Power stands for torque where there is no torque
    column. Two rows are enough.
    """
    if not isinstance(source, bytes):
        name = Path(source).name
        source = read_bytes(source, "a limit table in CSV")
    name = brief(name)
    found, _ = _tables(source, name)

    def read(table: Table) -> tuple[Array, Array]:
        columns = _columns(table, {}, name, limit_table=True)
        channels = read_data(table, columns, Told(), name).channels
        if len(channels["speed"]) < 2:
            raise InputError(f"{name} has one usable row, but a table needs at least 2 speeds.")
        return channels["speed"], channels["torque"]

    return _agreed(found, read, lambda pair: {"speed": pair[0], "torque": pair[1]}, name)


def _tables(data: bytes, name: str) -> tuple[list[Table], str]:
    """The readings of the bytes as a table, and how the bytes were written."""
    check_size(data, name, MAX_RUN_BYTES)
    if is_parquet(data):
        return [parquet_table(data, name)], "Columns are those of a Parquet file."
    text, encoding = decode(data, name)
    return tables(text, name), f"Text encoding: {encoding}."


def _agreed(
    found: list[Table],
    read: Callable[[Table], T],
    arrays: Callable[[T], dict[str, Array]],
    name: str,
) -> T:
    """What the readings of a file agree on; refused where two of them hold and differ."""
    good: list[T] = []
    errors: list[InputError] = []
    for table in found:
        try:
            good.append(read(table))
        except InputError as error:
            errors.append(error)
    if not good:
        raise errors[0]
    first = arrays(good[0])
    for other in map(arrays, good[1:]):
        if any(not np.array_equal(first[k], other[k]) for k in first.keys() & other.keys()):
            raise InputError(
                f"{name} can be read in two ways, because a comma or a point may mark decimals or "
                "thousands; write numbers with a decimal point and no mark between thousands."
            )
    return good[0]


def _columns(
    table: Table, by_hand: Mapping[str, str], name: str, *, limit_table: bool = False
) -> Columns:
    try:
        return match_columns(table.headings, by_hand, limit_table=limit_table)
    except InputError as error:
        raise InputError(f"{name}: {str(error).rstrip('.')}.") from None


def _arrays(run: Run) -> dict[str, Array]:
    return {"speed": run.speed, "torque": run.torque, **run.channels}


def _reading(table: Table, encoding: str, name: str, how: How, digest: str) -> Reading:
    columns = _columns(table, how.columns, name)
    try:
        stated, told, spoken = read_facts(table.remarks)
        record = [encoding, *told]
        facts = _with_implied(stated, columns.implied, record, name)
        take_fact_columns(table, columns, how.columns, facts)
        given = {**how.test, **facts}.get
        geared(columns, given)
        asked = settle_zero(table, columns)
        divided = divisor(given) if given("referred_to") == "wheel" else 1.0
    except InputError as error:
        raise InputError(f"{name}: {str(error).removeprefix(f'{name}: ').rstrip('.')}.") from None
    doubts = [*spoken, *table.record, *columns.doubts]
    ambient = ambient_of(facts, doubts, columns)
    data = read_data(table, columns, Told(ambient=ambient, divided=divided, pull=how.pull), name)
    if data.at_engine_speed and facts.get("measured_at") in ("hub", "wheel"):
        facts["referred_to"] = "engine"
    doubts += [*data.doubts, *_refused_later({**how.test, **facts}.get)]
    speed, torque = data.channels.pop("speed"), data.channels.pop("torque")
    headings = as_said([read_heading(texts) for texts in table.headings], how.columns)
    left_out = left_out_in_words(headings, data.channels)
    used = f"{count_of(len(speed), 'row')} used."
    run = Run(
        name=name,
        speed=speed,
        torque=torque,
        channels=data.channels,
        facts=facts,
        record=(*record, table.how, *columns.record, *data.record, *doubts, *data.lifts, used),
        notices=tuple(
            Notice(code, f"{name}: {text}")
            for code, texts in (
                ("reading", dict.fromkeys(doubts)),
                (LIFTS, data.lifts),
                (GAS_ELSEWHERE, data.gas_elsewhere),
                (LEFT_OUT, [left_out] if left_out else []),
            )
            for text in texts
        ),
        most_retard_in=data.most_in,
        pressure_doubt=asked if "manifold_pressure" in data.channels else "",
        digest=digest,
    )
    return Reading(
        run=run,
        columns=_seen(table, _meanings(columns), columns.notes),
        pulls=tuple(zip(data.pulls, data.lines_of_pulls, strict=True)),
    )


def _refused_later(given: Given) -> list[str]:
    """Why no engine can be assessed with the run's facts as they are; nothing where it can."""
    try:
        divisor(given)
    except InputError as error:
        return [f"As it is no engine can be assessed with it: {error}"]
    return []


def columns_seen(data: bytes, name: str, by_hand: Mapping[str, str]) -> tuple[Seen, ...]:
    """Every column in the bytes of a file, also where a run cannot be read from them yet.

    Raises InputError where they hold no table.
    """
    table = _tables(data, brief(name))[0][0]
    try:
        columns = match_columns(table.headings, by_hand)
        return _seen(table, _meanings(columns), columns.notes)
    except InputError:
        read = enumerate(as_said([read_heading(texts) for texts in table.headings], by_hand))
        known = {i: (h.channel or "", h.unit) for i, h in read if not h.unknown}
        return _seen(table, {i: m for i, m in known.items() if m[0] in CHANNELS}, {})


def _meanings(columns: Columns) -> dict[int, tuple[str, str]]:
    """Channel and unit of the columns that are used, by their place."""
    used = [*columns.used.values(), *columns.beside]
    return {c.index: (c.channel, c.unit_in_words) for c in used}


def _seen(
    table: Table, meanings: Mapping[int, tuple[str, str]], notes: Mapping[int, str]
) -> tuple[Seen, ...]:
    return tuple(
        Seen(
            heading=" ".join(t for t in texts if t),
            channel=meanings.get(i, ("", ""))[0],
            unit=meanings.get(i, ("", ""))[1],
            note=notes.get(i, ""),
            first=tuple(None if np.isnan(v) else float(v) for v in cells.values[:FIRST]),
        )
        for i, (texts, cells) in enumerate(zip(table.headings, table.columns, strict=True))
    )


def _with_implied(stated: Facts, implied: dict[str, str], record: list[str], name: str) -> Facts:
    """The stated facts, and those that headings tell; a contradiction is refused."""
    facts = dict(stated)
    place = implied.get("measured_at")
    if place is not None and facts.setdefault("measured_at", place) != place:
        raise InputError(
            f"{name} states measured at {facts['measured_at']}, but a heading says {place}; "
            "correct the one that is wrong."
        )
    if place is not None and "measured_at" not in stated:
        record.append(f"The headings say that torque was measured at the {place}.")
    _correction(facts, stated, implied.get("correction"), record, name)
    return facts


def _correction(
    facts: Facts, stated: Facts, said: str | None, record: list[str], name: str
) -> None:
    """The correction that headings tell, against the one that is stated."""
    if said is None:
        return
    known = facts.get("correction", "unknown")
    standard = said if said != "corrected" else known
    contradicts = known == "none" if said == "corrected" else known not in ("unknown", said)
    if contradicts:
        raise InputError(
            f"{name} states correction {known}, but a heading says "
            f"{'uncorrected' if said == 'none' else said}; correct the one that is wrong."
        )
    if standard == "unknown":
        record.append(
            "The headings say that torque is corrected, but not by which standard: add a line such "
            "as '# correction: J1349' on top."
        )
    elif "correction" not in stated or known == "unknown":
        facts["correction"] = standard
        record.append(f"The headings say correction: {standard}.")
