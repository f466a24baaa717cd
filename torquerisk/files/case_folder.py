"""A case: an engine and a run, given as two files or as one folder that holds both."""

import dataclasses
from pathlib import Path

from torquerisk.case import Engine, Run
from torquerisk.case.gearing import FACTS as GEARING
from torquerisk.errors import InputError
from torquerisk.files.engine_file import engine_to_toml, load_engine
from torquerisk.files.exports import run_csv
from torquerisk.files.run_file import PLAINLY, How, load_run
from torquerisk.files.text import brief

ENGINE_FILE = "engine.toml"
RUN_FILE = "run.csv"
KNOWN_GOOD_FILE = "known_good.csv"
SURVIVED_FILE = "survived_{}.csv"
"""Of a survived rung, by its number."""


def load_case(
    engine: str | Path, run: str | Path | None = None, how: How = PLAINLY
) -> tuple[Engine, Run]:
    """The engine and the run of a case, whose files are found as by `case_paths`."""
    engine_path, run_path = case_paths(engine, run)
    made = load_engine(engine_path)
    return made, load_run(run_path, on_engine(made, how))


def case_paths(engine: str | Path, run: str | Path | None = None) -> tuple[Path, Path]:
    """The engine file and the run file of a case.

    engine: an engine file, or a folder that holds engine.toml and, unless `run` is given, run.csv.
    run: a run file, or a folder that holds run.csv; None for the run.csv beside the engine file.

    Raises InputError in one sentence when one of them is not named.
    """
    engine_path = Path(engine)
    if run is not None:
        return _inside(engine_path, ENGINE_FILE), _inside(Path(run), RUN_FILE)
    if engine_path.is_dir():
        return _inside(engine_path, ENGINE_FILE), _inside(engine_path, RUN_FILE)
    what = f"has no {RUN_FILE} beside it"
    if not engine_path.exists():
        what = "does not exist"
    elif engine_path.suffix.casefold() != ".toml":
        what = "is no engine file"
    elif (beside := engine_path.parent / RUN_FILE).is_file():
        return engine_path, beside
    raise InputError(
        f"{brief(engine, 120)} {what}; give an engine file and a run file, or a case folder that "
        f"holds {ENGINE_FILE} and {RUN_FILE}."
    )


def on_engine(engine: Engine, how: How) -> How:
    """How to read a run of this engine, whose file may tell of gear and tyre."""
    own = {name: engine.given(f"test.{name}") for name in (*GEARING, "measured_at")}
    return dataclasses.replace(how, test={**own, **how.test})


def _inside(path: Path, name: str) -> Path:
    """The file itself, or the named one in a folder."""
    if not path.is_dir():
        return path
    if not (path / name).is_file():
        raise InputError(
            f"the case folder {brief(path, 120)} holds no {name}; a case folder needs "
            f"{ENGINE_FILE} and {RUN_FILE}."
        )
    return path / name


def case_files(engine: Engine, run: Run) -> dict[str, str]:
    """The texts of a case by file name: engine.toml, run.csv, known-good and survived runs.

    Reading them back gives the same engine and the same numbers.
    """
    files = {RUN_FILE: run_csv(run)}
    curve = engine.known_good.curve
    if curve is not None:
        files[KNOWN_GOOD_FILE] = run_csv(curve)
        engine = engine.with_values({"known_good.run": KNOWN_GOOD_FILE})
    rungs = []
    for number, rung in enumerate(engine.survived, 1):
        name = SURVIVED_FILE.format(number)
        if rung.curve is not None:
            files[name] = run_csv(rung.curve)
        rungs.append(dataclasses.replace(rung, run=name))
    engine = dataclasses.replace(engine, survived=tuple(rungs))
    return {ENGINE_FILE: engine_to_toml(engine), **files}
