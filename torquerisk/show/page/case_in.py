"""Where the page's case comes from: a sample, the command line, or files sent in."""

import dataclasses
import hashlib
import io
import os
import tomllib
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import torquerisk
from torquerisk.case import Engine, Run
from torquerisk.errors import InputError
from torquerisk.files.case_folder import (
    ENGINE_FILE,
    KNOWN_GOOD_FILE,
    RUN_FILE,
    case_files,
    on_engine,
)
from torquerisk.files.engine_file import beside, engine_from_text, named_runs
from torquerisk.files.pull_choice import in_words
from torquerisk.files.run_file import How, reading_of, run_from_bytes
from torquerisk.files.text import MAX_RUN_BYTES, brief, decode, read_bytes

ENGINE_VARIABLE = "TORQUERISK_ENGINE"
RUN_VARIABLE = "TORQUERISK_RUN"
FIRST_SAMPLE = "hill_climb"
GIVEN = "given"
"""Name of the case that the command line names."""
GIVEN_LABEL = "the command line"
ANY_RUN = b"engine speed [rpm],torque [N*m]\n2000,100\n3000,100\n4000,100\n"
"""Stands for a run that is still to come, where an engine file is looked through alone."""
TABLE_FILES = ["csv", "txt", "tsv", "parquet"]
"""Endings of files that runs and limit tables may come in."""


@dataclass(frozen=True, kw_only=True)
class Source:
    """The bytes of a case, before anything is read from them."""

    label: str
    name: str = ""
    """Its name in a link, where it is more than files sent in."""
    engine_name: str
    engine: bytes
    run_name: str
    run: bytes
    companions: tuple[tuple[str, bytes], ...] = ()
    """Files beside the engine file, such as the known-good run."""
    known_good: tuple[str, bytes] | None = None
    """A known-good run sent in; wins over the engine file's own."""
    columns: tuple[tuple[str, str], ...] = ()
    """What a person said of the run's columns: number, and what it is to be read as."""
    pull: int = 1
    """Which pull of a log is read."""

    @property
    def digest(self) -> str:
        """SHA-256 over all bytes and names."""
        total = hashlib.sha256()
        pairs = [(self.engine_name, self.engine), (self.run_name, self.run), *self.companions]
        if self.known_good is not None:
            pairs.append(("known good " + self.known_good[0], self.known_good[1]))
        if self.columns or self.pull != 1:
            pairs.append(("as read", repr((self.columns, self.pull)).encode()))
        for name, data in pairs:
            total.update(len(name).to_bytes(4, "big") + name.encode())
            total.update(hashlib.sha256(data).digest())
        return total.hexdigest()


@dataclass(frozen=True, kw_only=True, eq=False)
class Case:
    """What was read: engine and run, as the files say."""

    source: Source
    engine: Engine
    run: Run
    pulls: tuple[str, ...] = ()
    """The pulls of a log in words, the best first."""


def samples() -> dict[str, Path]:
    """Sample cases by folder name, the first one first."""
    folder = Path(torquerisk.__file__).parent / "sample_runs"
    found = sorted(
        p for p in folder.iterdir() if (p / ENGINE_FILE).is_file() and (p / RUN_FILE).is_file()
    )
    return {p.name: p for p in sorted(found, key=lambda p: p.name != FIRST_SAMPLE)}


def given_case() -> tuple[str, str] | None:
    """Paths of engine and run that the environment names, or None."""
    engine = os.environ.get(ENGINE_VARIABLE)
    if not engine:
        return None
    return engine, os.environ.get(RUN_VARIABLE) or engine


def first_source() -> Source | None:
    """The case that the page opens with: the command line's, else the first sample."""
    names = [GIVEN] if given_case() is not None else list(samples())
    return source_named(names[0]) if names else None


def source_named(name: str) -> Source | None:
    """The case of a name that a link may carry: the command line's or a sample."""
    given, folder = given_case(), samples().get(name)
    if name == GIVEN and given is not None:
        return source_from_paths(*given, label=GIVEN_LABEL, name=GIVEN)
    if folder is None:
        return None
    return source_from_paths(folder, folder, label=f"invented example: {_told(name)}", name=name)


def _told(name: str) -> str:
    return name.replace("_", " ")


def source_from_paths(engine: str | Path, run: str | Path, label: str, name: str = "") -> Source:
    """The bytes of a case on disk; either path may be a case folder."""
    engine_path = _inside(Path(engine), ENGINE_FILE)
    run_path = _inside(Path(run), RUN_FILE)
    engine_bytes = read_bytes(engine_path, "an engine file such as engine.toml")
    text, _ = decode(engine_bytes, brief(engine_path.name))
    companions = tuple(
        (named, read_bytes(beside(engine_path.parent, "run", named), "a run file", MAX_RUN_BYTES))
        for named in named_runs(text)
    )
    return Source(
        label=label,
        name=name,
        engine_name=engine_path.name,
        engine=engine_bytes,
        run_name=run_path.name,
        run=read_bytes(run_path, "a run file such as run.csv", MAX_RUN_BYTES),
        companions=companions,
    )


def _inside(path: Path, name: str) -> Path:
    return path / name if path.is_dir() else path


def read_case(source: Source) -> Case:
    """Engine and run of the bytes. Raises InputError with one sentence."""
    text, _ = decode(source.engine, brief(source.engine_name))
    companions = dict(source.companions)
    if source.known_good is not None:
        companions[_known_good_name(text)] = source.known_good[1]
    engine = engine_from_text(text, source.engine_name, None, companions)
    if source.known_good is not None:
        name, data = source.known_good
        curve = run_from_bytes(data, name)
        known = dataclasses.replace(engine.known_good, run=KNOWN_GOOD_FILE, curve=curve)
        engine = dataclasses.replace(engine, known_good=known)
    how = on_engine(engine, How(columns=dict(source.columns), pull=source.pull))
    reading = reading_of(source.run, source.run_name, how)
    pulls = tuple(in_words(pull, lines) for pull, lines in reading.pulls)
    return Case(source=source, engine=engine, run=reading.run, pulls=pulls)


def _known_good_name(text: str) -> str:
    """File name under which an engine text asks for its known-good run."""
    try:
        section = tomllib.loads(text).get("known_good", {})
    except tomllib.TOMLDecodeError:
        return KNOWN_GOOD_FILE
    name = section.get("run") if isinstance(section, dict) else None
    return name if isinstance(name, str) else KNOWN_GOOD_FILE


def case_zip(engine: Engine, run: Run) -> bytes:
    """The case as one file: engine.toml, run.csv and the runs that the engine file names."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in case_files(engine, run).items():
            member = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
            member.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(member, text)
    return packed.getvalue()


def source_from_zip(data: bytes, label: str) -> Source:
    """The bytes of a case that the page packed. Raises InputError with one sentence."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            sizes = {i.filename: i.file_size for i in archive.infolist()}
            if sum(sizes.values()) > 20_000_000 or len(sizes) > 20:
                raise InputError(f"{brief(label)} unpacks to too much for a case; send its files.")
            files = {name: archive.read(name) for name in sizes}
    except zipfile.BadZipFile:
        raise InputError(
            f"{brief(label)} is no case file; save a case from this page, or send engine.toml and "
            "run.csv."
        ) from None
    for name in (ENGINE_FILE, RUN_FILE):
        if name not in files:
            raise InputError(f"{brief(label)} holds no {name}; a case file needs both.")
    companions = tuple((n, d) for n, d in sorted(files.items()) if n not in (ENGINE_FILE, RUN_FILE))
    return Source(
        label=label, engine_name=ENGINE_FILE, engine=files[ENGINE_FILE], run_name=RUN_FILE,
        run=files[RUN_FILE], companions=companions,
    )  # fmt: skip


def source_of_files(files: Sequence[tuple[str, bytes]], base: Source | None) -> Source:
    """The case of files sent in, in any order. Raises InputError with one sentence.

    files: names and bytes: an engine file or a saved case, runs, or both. base: the case that is
    open, whose engine stands for a missing engine file. Runs that the engine file names are its
    own, known good or survived; of two others that with 'good' in its name is the known-good one.
    """
    engines = [f for f in files if f[0].lower().endswith((".toml", ".zip"))]
    runs = [f for f in files if f not in engines]
    if len(engines) > 1:
        names = " and ".join(brief(n) for n, _ in engines)
        raise InputError(f"{names} are both engine files; send one of them.")
    if engines and engines[0][0].lower().endswith(".zip"):
        source = source_from_zip(engines[0][1], engines[0][0])
    elif engines and not runs:
        name, data = engines[0]
        text, _ = decode(data, brief(name))
        engine_from_text(text, name, None, dict.fromkeys(named_runs(text), ANY_RUN))
        raise InputError(
            f"{brief(engines[0][0])} is here; now add the run file that was measured on it."
        )
    elif engines:
        name, data = engines[0]
        source = Source(label="files sent in", engine_name=name, engine=data, run_name="", run=b"")
    elif base is None:
        raise InputError("No engine is open: send in an engine file with the run.")
    else:
        source = dataclasses.replace(base, name="", label=f"{base.label}, with a run sent in")
    if not runs:
        return source
    text, _ = decode(source.engine, brief(source.engine_name))
    its_own = named_runs(text)
    named = {name: data for name, data in runs if name in its_own}
    others = [r for r in runs if r[0] not in named]
    others = others or [r for r in runs if r[0] == RUN_FILE] or list(runs)
    run, good = _run_and_known_good(others)
    return dataclasses.replace(
        source,
        run_name=run[0],
        run=run[1],
        companions=tuple((dict(source.companions) | named).items()),
        known_good=good or source.known_good,
        columns=(),
        pull=1,
    )


def _run_and_known_good(
    runs: Sequence[tuple[str, bytes]],
) -> tuple[tuple[str, bytes], tuple[str, bytes] | None]:
    """Which of the files that no engine file names is judged, and which is the known-good one."""
    if len(runs) == 1:
        return runs[0], None
    good = [r for r in runs if "good" in r[0].lower()]
    others = [r for r in runs if r not in good]
    if len(good) != 1 or len(others) != 1:
        names = ", ".join(brief(n) for n, _ in runs)
        raise InputError(
            f"of {names} it is not clear which run is to be judged: send that one alone, or with "
            "the others under the names that the engine file gives them."
        )
    return others[0], good[0]
