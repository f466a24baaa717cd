"""What a command line asks for: texts with units made into a case, a policy and notices."""

import dataclasses
import re
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from torquerisk.case import Engine, Notice, Policy, Run, default_policy
from torquerisk.case import TestFacts as Facts
from torquerisk.case.declare import Kind, declarations
from torquerisk.case.gearing import FACTS as GEARING
from torquerisk.errors import InfeasibleError, InputError
from torquerisk.files.case_folder import ENGINE_FILE, RUN_FILE, load_case, on_engine
from torquerisk.files.engine_file import load_engine
from torquerisk.files.exports import refuse_unwritable
from torquerisk.files.facts import fact_value
from torquerisk.files.lists import breakpoints_of, is_file, parse_quantities
from torquerisk.files.run_file import PLAINLY, How, load_run, run_from_bytes
from torquerisk.files.text import MAX_RUN_BYTES, quoted
from torquerisk.files.units import parse_quantity
from torquerisk.quantities import Array
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.edits import assessed
from torquerisk.study.answers.results import (
    NEED_REFERENCE,
    Assessment,
    BoostCeiling,
    Footing,
    Proposal,
    Reach,
    ShapeInfeasibleError,
    Wish,
)

STDIN = "-"
QUANTITY = re.compile(r"[-+−]?[\d.,]*\d\s*([^\W\d][^.\\]*)?$")
"""A number, with its unit or without; the name of a file has an ending."""
FACTS = (
    "measured_at", "correction", "driveline_loss", "dyno_kind", "sweep_rate", "inertia", *GEARING,
)  # fmt: skip
POLICY = (
    "chance", "pulls", "draws", "seed", "peak_from", "rise", "points", "resolution", "objective",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Request:
    """A case and a policy as the command line gave them."""

    engine: Engine
    run: Run
    policy: Policy
    notices: tuple[Notice, ...]
    as_json: bool
    units: Units
    progress: Callable[[str], None]
    facts: Mapping[str, float | str]
    """Facts about the test that the options state."""
    hows: tuple[How, ...]
    """How runs are to be read, by their order; the last stands for all after it."""
    breakpoints: Array | None = None
    """Own speeds of the table [rad/s]."""
    nearest: bool = False
    """Give the nearest table where the ask cannot be met."""
    reference: Run | None = None
    """Curve to keep to, instead of the known-good run."""
    inputs: tuple[Path, ...] = ()
    """The files that were read, none of which an output may replace."""

    def another(self, path: str, number: int) -> Run:
        """Another run, with the same options about the test. number: which one, from 1."""
        how = self.hows[min(number, len(self.hows) - 1)]
        return with_facts(run_of(path, how), self.facts, [])

    def assessment(self, run: Run | None = None) -> Assessment:
        """The assessment of the run, or of another one."""
        self.progress(f"simulating {self.policy.draws:,} engines")
        return assessed(self.engine, run or self.run, self.policy)

    def with_others(self, paths: Sequence[str]) -> list[Assessment]:
        """The assessment, then that of every other run, all read before any is assessed."""
        others = [self.another(path, i) for i, path in enumerate(paths, 1)]
        return [self.assessment(), *map(self.assessment, others)]

    def reach(self, reach: str) -> Reach:
        """What the engine can make: 'measured', 'open', a manifold pressure or a run file."""
        named(reach, "--reach")
        if reach in ("measured", "open"):
            return reach
        if QUANTITY.match(reach) and not Path(reach).exists():
            return BoostCeiling(pressure=parse_quantity(reach, Kind.PRESSURE, "--reach"))
        if reach != STDIN and not Path(reach).exists():
            raise InputError(
                f"--reach is {quoted(reach)}, which is no file; give measured, open, a manifold "
                "pressure such as '180 kPa', or the path of a run file."
            )
        return run_of(reach)

    def wish(self, reach: str) -> Wish:
        """What is asked of the table; reach: see `reach`."""
        return Wish(
            policy=self.policy,
            reach=self.reach(reach),
            own_speeds=None if self.breakpoints is None else tuple(self.breakpoints.tolist()),
            reference=self.reference,
            nearest=self.nearest,
        )

    def proposal(self, reach: str) -> Proposal:
        """The torque-limit table; reach: see `reach`."""
        wish = self.wish(reach)
        assessment = self.assessment()
        self.progress("shaping the table and assessing it anew")
        try:
            return answers_of(assessment).proposal(wish)
        except ShapeInfeasibleError as error:
            if error.kept is None:
                raise
            raise InfeasibleError(f"{error} Add --nearest to have that table.") from None


def read_request(given: Mapping[str, Any], progress: Callable[[str], None]) -> Request:
    """The request in the values of a command line, by option name; None where not given.

    Raises InputError in one sentence that names the option or the file.
    """
    policy = policy_of(given)
    facts = facts_of(given)
    for name in ("engine", "run", "known_good"):
        named(given.get(name), name.upper() if name != "known_good" else "--known-good")
    own = given.get("own_breakpoints")
    points = None if own is None else breakpoints_of(own, "--own-breakpoints")
    if points is not None and given.get("points") is not None:
        raise InputError("--points cannot go with --own-breakpoints; leave one of them out.")
    reference = _reference(given.get("reference"), policy)
    progress("reading the case")
    hows = hows_of(given, facts)
    engine, run = case_of(given["engine"], given.get("run"), hows[0])
    notices: list[Notice] = []
    if given.get("known_good") is not None:
        engine, notice = with_known_good(engine, run_of(given["known_good"]))
        notices.append(notice)
    return Request(
        engine=engine,
        run=with_facts(run, facts, notices),
        policy=policy,
        notices=tuple(notices),
        as_json=bool(given.get("as_json")),
        units=Units(given.get("units", "si")),
        progress=progress,
        facts=facts,
        hows=hows,
        breakpoints=points,
        nearest=bool(given.get("nearest")),
        reference=reference,
        inputs=inputs_of(given, engine),
    )


def _reference(path: str | None, policy: Policy) -> Run | None:
    """The curve of --reference, which only some objectives keep to."""
    named(path, "--reference")
    if path is None:
        return None
    if policy.objective not in NEED_REFERENCE:
        raise InputError(
            f"--reference goes with --objective {' or '.join(repr(o) for o in NEED_REFERENCE)}, "
            f"but the objective is {policy.objective!r}; leave it out or choose one of them."
        )
    return run_of(path)


def hows_of(given: Mapping[str, Any], facts: Mapping[str, float | str]) -> tuple[How, ...]:
    """How runs are to be read by --pull and --column, in the order of the runs."""
    pulls = [int(v) for v in parse_quantities(given.get("pull") or "1", Kind.COUNT, "--pull")]
    if min(pulls) < 1:
        raise InputError(f"--pull is {min(pulls)}, but must be a whole number from 1.")
    columns: dict[str, str] = {}
    for text in given.get("column") or ():
        heading, mark, meaning = text.rpartition("=")
        if not mark or not heading.strip():
            raise InputError(
                f"--column is {quoted(text)}, but must be a heading, '=' and what it is to be read "
                "as: 'Tq 2=torque [lb*ft]'."
            )
        columns[heading] = meaning
    return tuple(How(columns=columns, pull=pull, test=facts) for pull in pulls)


def named(path: str | None, what: str) -> None:
    """Refuse an empty name, which would stand for the folder one is in."""
    if path is not None and not path.strip():
        raise InputError(f"{what} is empty; give a path.")


def writable(path: str | None, what: str, inputs: Iterable[Path] = ()) -> None:
    """Refuse, before anything is computed, a name that no output can have."""
    named(path, what)
    if path == STDIN:
        raise InputError(f"{what} is '-', but must be the path of a file to write.")
    if path is not None:
        refuse_unwritable(path, inputs)


def inputs_of(given: Mapping[str, Any], engine: Engine | None = None) -> tuple[Path, ...]:
    """The files that a command line reads, those of a case folder and the survived runs too."""
    words = ("engine", "run", "known_good", "reference", "own_breakpoints", "reach")
    named_paths = [Path("/dev/stdin" if given[w] == STDIN else given[w])
                   for w in words if given.get(w)]  # fmt: skip
    paths = [p / name for p in named_paths for name in ("", ENGINE_FILE, RUN_FILE)]
    if given.get("run") is None and given.get("engine"):
        paths.append(Path(given["engine"]).parent / RUN_FILE)
    if engine is not None:
        home = Path(given["engine"])
        runs = [engine.known_good.run, *(rung.run for rung in engine.survived)]
        paths += [place / run for place in (home, home.parent) for run in runs if run is not None]
    return tuple(p for p in paths if is_file(p))


def target_of(text: str | None) -> float | None:
    """The torque [N*m] in the text of --target-torque, or None."""
    return None if text is None else parse_quantity(text, Kind.TORQUE, "--target-torque")


def footing_of(band: str | None, inertia: str | None, same_dyno: bool) -> Footing:
    """What is asked of a comparison by --band, --sweep-inertia and --same-dyno."""
    ends = None if band is None else breakpoints_of(band, "--band")
    if ends is not None and len(ends) != 2:
        raise InputError(f"--band has {len(ends)} speeds, but takes two, such as '3000, 6000 rpm'.")
    pulled = None
    if inertia is not None:
        pulled = parse_quantity(inertia, Kind.INERTIA, "--sweep-inertia")
        if not pulled > 0:
            raise InputError(f"--sweep-inertia is {quoted(inertia)}, but must be above 0 kg*m^2.")
    return Footing(
        band=None if ends is None else (float(ends[0]), float(ends[1])),
        inertia=pulled,
        same_dyno=same_dyno,
    )


def policy_of(given: Mapping[str, Any]) -> Policy:
    """The default policy with what the options change."""
    known = declarations(Policy)
    changes: dict[str, float | int | str | bool | None] = {
        "abnormal_in_chance": bool(given.get("count_abnormal")),
        "no_dip": bool(given.get("no_dip")),
    }
    for name in POLICY:
        text = given.get(name)
        if text is None:
            continue
        option, declaration = f"--{name.replace('_', '-')}", known[name]
        value: float | int | str = text
        if declaration.kind is not None:
            value = parse_quantity(text, declaration.kind, option)
        declaration.check(option, value)
        changes[name] = int(value) if declaration.kind is Kind.COUNT else value
    return default_policy(**changes)


def facts_of(given: Mapping[str, Any]) -> dict[str, float | str]:
    """The facts about the test that the options state."""
    return {
        name: fact_value(name, given[name], f"--{name.replace('_', '-')}")
        for name in FACTS
        if given.get(name) is not None
    }


def with_facts(run: Run, facts: Mapping[str, float | str], notices: list[Notice]) -> Run:
    """The run with facts from options, which win over the file's own."""
    for name, value in facts.items():
        stated = run.facts.get(name)
        if stated is not None and stated != value:
            if name in GEARING:
                raise InputError(
                    f"{run.name} tells or shows {name.replace('_', ' ')} {stated}, but the option "
                    f"says {value}; leave the option out, or correct the file."
                )
            declaration = declarations(Facts)[name]
            notices.append(
                Notice(
                    "option-over-file",
                    f"{run.name} states {name.replace('_', ' ')} {declaration.in_words(stated)}; "
                    f"the option's {declaration.in_words(value)} is used instead.",
                )
            )
    return dataclasses.replace(run, facts={**run.facts, **facts}) if facts else run


def engine_of(path: str) -> Engine:
    """The engine of a file or of a case folder."""
    place = Path(path)
    if place.is_dir() and not (place / ENGINE_FILE).is_file():
        raise InputError(f"the folder {path} holds no {ENGINE_FILE}; give an engine file.")
    return load_engine(place / ENGINE_FILE if place.is_dir() else place)


def run_of(path: str, how: How = PLAINLY) -> Run:
    """The run of a file, of a case folder, or of stdin for '-'."""
    if path == STDIN:
        return run_from_bytes(stdin_bytes(), "standard input", how)
    place = Path(path)
    return load_run(place / RUN_FILE if (place / RUN_FILE).is_file() else place, how)


def stdin_bytes() -> bytes:
    """What standard input holds, one byte past the largest run at most."""
    return sys.stdin.buffer.read(MAX_RUN_BYTES + 1)


def case_of(engine: str, run: str | None, how: How) -> tuple[Engine, Run]:
    """The engine and the run of a case."""
    if run == STDIN:
        made = engine_of(engine)
        return made, run_of(run, on_engine(made, how))
    return load_case(engine, run, how)


def with_known_good(engine: Engine, curve: Run) -> tuple[Engine, Notice]:
    """The engine with another known-good curve, and what is taken of its fuel."""
    blend = engine.given("known_good.blend") or engine.word("fuel.blend")
    octane = engine.given("known_good.octane")
    if octane is None and not engine.has("known_good.blend"):
        octane = engine.given("fuel.octane")
    fuel = f"{blend}, {'octane not stated' if octane is None else f'octane {octane:g}'}"
    return (
        engine.with_values({"known_good.curve": curve, "known_good.run": curve.name}),
        Notice(
            "known-good-option",
            f"{curve.name} is taken as the known-good curve, run on {fuel}; state another fuel "
            "under [known_good] in the engine file.",
        ),
    )
