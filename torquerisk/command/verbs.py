"""The command `torquerisk`: reads the words given, calls the verb and prints.

Every verb imports what it needs when it runs, so that --help stays quick.
"""

import datetime
import sys
from dataclasses import fields
from typing import TYPE_CHECKING, Any

import click

import torquerisk
from torquerisk.command.options import case_arguments, common, limit_options, reading, table_options
from torquerisk.command.program import DONE, Program, say

if TYPE_CHECKING:
    from torquerisk.command.limit import Answer
    from torquerisk.command.request import Request

CAUTION = (
    "Every number is an estimate from a model and from the inputs you give, not a promise that an "
    "engine holds. The maker's data and tightening procedure, local codes and a qualified engine "
    "builder come first, and decide. Keep people clear of a loaded engine, and stop the run at "
    "signs of coolant pressure, knock, a loss of oil or fuel pressure, or a misfire."
)


@click.group(
    cls=Program,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
    epilog=CAUTION,
)
@click.version_option(
    torquerisk.__version__, prog_name="torquerisk", message="%(prog)s %(version)s"
)
@click.pass_context
def program(context: click.Context) -> None:
    """What a torque curve asks of an engine's parts, and a torque limit that they can carry.

    ENGINE is a TOML file, RUN a CSV file from a dyno or logger ('-' reads it from stdin). A case
    folder that holds engine.toml and run.csv may stand in place of both, and RUN may be left out
    where run.csv lies beside ENGINE.

    \b
    Examples:
      torquerisk assess sample_runs/hill_climb
      torquerisk limit engine.toml run.csv --peak-from 4500rpm --csv limit.csv
    """
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


@program.command()
@click.argument("engine", metavar="ENGINE")
@click.option("--imep-gross", metavar="PRESSURE", required=True, help="Gross IMEP, such as 22bar.")
@click.option("--speed", metavar="SPEED", required=True, help="Engine speed, such as 3000rpm.")
@click.option("--ca50", metavar="ANGLE", help="50 % burned, degrees after firing TDC.")
@click.option("--burn", metavar="ANGLE", help="Burn duration from 10 to 90 %.")
@click.option("--lambda", "lambda_", metavar="NUMBER", help="Air-fuel equivalence ratio.")
@click.option(
    "--intake-temperature",
    metavar="TEMPERATURE",
    help="Of the charge in the manifold; the heating on its way in is added.",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON document with the trace.")
def cycle(engine: str, as_json: bool, **given: str | None) -> None:
    """One closed cycle of a cylinder at a gross IMEP.

    Angles are degrees after firing top dead centre; the integral of pressure over volume from -180
    to 180 degrees is the gross IMEP. What you leave out takes a default, named in the notices.

    \b
    Examples:
      torquerisk cycle sample_runs/hill_climb --imep-gross 22bar --speed 3000rpm
      torquerisk cycle engine.toml --imep-gross 22bar --speed 3000rpm --json
    """
    from torquerisk.command.request import engine_of
    from torquerisk.files.units import parse_quantity
    from torquerisk.show.documents import assessed
    from torquerisk.show.text.cycle import cycle_text
    from torquerisk.study.answers.one_cycle import QUANTITIES, one_cycle

    values = {
        name: parse_quantity(text, QUANTITIES[name], f"--{name.strip('_').replace('_', '-')}")
        for name, text in given.items()
        if text is not None
    }
    read = engine_of(engine)
    made = one_cycle(read, **values)
    _print(assessed.cycle_document(read, made) if as_json else cycle_text(read, made))


@program.command()
@click.argument("file", metavar="FILE")
@reading
@click.option(
    "-o", "--output", metavar="FILE", help="Write the run as it was read: .csv or .parquet."
)
@click.option("--json", "as_json", is_flag=True, help="One JSON document, nothing else.")
def read(file: str, output: str | None, as_json: bool, **given: Any) -> None:
    """How a run file is read: its columns and units, what was left out, first rows.

    FILE is a table of a rising sweep or a log in time, in CSV or Parquet ('-' reads it from
    stdin).

    \b
    Examples:
      torquerisk read sample_runs/hill_climb/run.csv
      torquerisk read log.csv --pull 2 --column "Tq 2=torque [lb*ft]" -o run.csv
    """
    from torquerisk.command.read import read_answer

    _answer(read_answer(file, given, output, as_json))


@program.command()
@case_arguments
@click.option("--full", is_flag=True, help="Also what stands behind the answer.")
@common
def assess(full: bool, **given: Any) -> None:
    """Every load and margin by speed, with chances and their reasons.

    \b
    Examples:
      torquerisk assess sample_runs/hill_climb
      torquerisk assess engine.toml run.csv --measured-at wheel --json
    """
    from torquerisk.show.documents import assessed
    from torquerisk.show.text import tables

    request = _request(given)
    assessment = request.assessment()
    _print(
        assessed.assessment_document(assessment, request.notices) if request.as_json
        else tables.assessment_text(assessment, request.notices, request.units, full)
    )  # fmt: skip


@program.command()
@case_arguments
@table_options
@limit_options
@common
def limit(**given: Any) -> None:
    """Propose a torque-limit table, and assess it anew as if it were a run.

    \b
    Examples:
      torquerisk limit sample_runs/hill_climb --chance 0.01 --peak-from 4500rpm
      torquerisk limit engine.toml run.csv --axis ethanol --values "0, 30, 85 %"
    """
    from torquerisk.command.limit import LimitOptions, limit_answer

    options = LimitOptions(**{field.name: given[field.name] for field in fields(LimitOptions)})
    _answer(limit_answer(_request(given), options))


@program.command()
@click.argument("engine", metavar="ENGINE")
@click.argument("files", metavar="[RUN] TABLE", nargs=-1)
@click.option(
    "--reach",
    metavar="WHAT",
    default="measured",
    show_default=True,
    help="What the engine can make: measured, open, a manifold pressure '180 kPa' or a run file.",
)
@common
def judge(files: tuple[str, ...], reach: str, **given: Any) -> None:
    """Judge a torque-limit table that you already have.

    Where it is too high, by how much and how likely, and where it leaves torque unused. TABLE is a
    CSV file of speeds and torques at the crank.

    \b
    Examples:
      torquerisk judge sample_runs/hill_climb my_limit.csv
      torquerisk judge engine.toml run.csv my_limit.csv --chance 0.02 --json
    """
    from torquerisk.command.limit import judge_verb

    if not 1 <= len(files) <= 2:
        raise _misused(f"judge needs a run and a table, but {len(files)} files were given")
    request = _request({**given, "run": files[0] if len(files) == 2 else None})
    _answer(judge_verb(request, files[-1], reach))


@program.command()
@case_arguments
@click.option("--target-torque", metavar="TORQUE", help="Peak torque to hold: '520 N*m'.")
@click.option("--lubricant", metavar="NAME", help="On every choice: 'molybdenum paste', 'own'.")
@common
def studs(target_torque: str | None, lubricant: str | None, **given: Any) -> None:
    """Clamp needed, and the fastener choices that give it.

    \b
    Examples:
      torquerisk studs sample_runs/hill_climb --lubricant "molybdenum paste"
      torquerisk studs engine.toml run.csv --target-torque "520 N*m"
    """
    from torquerisk.command.request import target_of
    from torquerisk.show.documents import studs
    from torquerisk.show.text import answers
    from torquerisk.study.answers.answers import answers_of

    target = target_of(target_torque)
    request = _request(given)
    bench = answers_of(request.assessment()).bench(target, lubricant)
    _print(
        studs.studs_document(bench, request.notices) if request.as_json
        else answers.studs_text(bench, request.notices, request.units)
    )  # fmt: skip


@program.command()
@case_arguments
@click.option("--full", is_flag=True, help="Also what stands behind the answer.")
@common
def explain(full: bool, **given: Any) -> None:
    """Why the curve has its dips, in plain words.

    \b
    Examples:
      torquerisk explain sample_runs/hill_climb
      torquerisk explain engine.toml factory.csv --json
    """
    from torquerisk.show.documents import dips
    from torquerisk.show.text import answers

    request = _request(given)
    assessment = request.assessment()
    _print(
        dips.explain_document(assessment, request.notices) if request.as_json
        else answers.explain_text(assessment, request.notices, request.units, full)
    )  # fmt: skip


@program.command()
@click.argument("engine", metavar="ENGINE")
@click.argument("runs", metavar="RUN RUN...", nargs=-1)
@click.option("--band", metavar="LIST", help="Speeds to tell areas and times of: '3000, 6000 rpm'.")
@click.option("--sweep-inertia", metavar="INERTIA", help="What is pulled through: '0.25 kg*m^2'.")
@click.option("--same-dyno", is_flag=True, help="All ran on one dyno with one setting.")
@common
def compare(
    runs: tuple[str, ...],
    band: str | None,
    sweep_inertia: str | None,
    same_dyno: bool,
    **given: Any,
) -> None:
    """Two or more runs of one engine side by side, fairly.

    Each is brought to the crank uncorrected and held against the first. With one RUN, the run.csv
    of a case folder in place of ENGINE, or beside ENGINE, comes first. Options about the test hold
    for all.

    \b
    Examples:
      torquerisk compare sample_runs/hill_climb sample_runs/hill_climb/factory.csv
      torquerisk compare engine.toml a.csv b.csv c.csv --band "3000, 6000 rpm"
    """
    from torquerisk.command.request import footing_of
    from torquerisk.show.documents import comparison
    from torquerisk.show.text import answers
    from torquerisk.study.answers.answers import answers_of
    from torquerisk.study.answers.results import ORDINALS

    footing = footing_of(band, sweep_inertia, same_dyno)
    if not 1 <= len(runs) <= len(ORDINALS):
        raise _misused(f"compare needs 2 to {len(ORDINALS)} runs, but {len(runs)} were given")
    own, *others = (None, *runs) if len(runs) == 1 else runs
    request = _request({**given, "run": own})
    assessments = request.with_others(others)
    made = answers_of(assessments[0]).against(*assessments[1:], footing=footing)
    _print(
        comparison.compare_document(assessments, made, request.notices) if request.as_json
        else answers.compare_text(assessments, made, request.notices, request.units)
    )  # fmt: skip


@program.command()
@case_arguments
@click.option("-o", "--output", metavar="FILE", required=True, help="The HTML file to write.")
@click.option("--full", is_flag=True, help="Every table, input and check, not only six pages.")
@click.option(
    "--for",
    "reader",
    type=click.Choice(["tuner", "owner", "builder"]),
    default="tuner",
    show_default=True,
    help="Whose page comes first: the answer, the dip, the bench sheet.",
)
@table_options
@common
def report(reach: str, output: str, full: bool, reader: str, **given: Any) -> None:
    """One self-contained printable HTML file that needs no network.

    \b
    Examples:
      torquerisk report sample_runs/hill_climb -o report.html
      torquerisk report engine.toml run.csv --for builder --full -o report.html
    """
    from torquerisk.command.request import writable
    from torquerisk.files.exports import write_text_atomically
    from torquerisk.show.documents import assessed
    from torquerisk.show.report.contents import Reader
    from torquerisk.show.report.report import report_html
    from torquerisk.study.answers.answers import answers_of

    writable(output, "--output")
    request = _request({**given, "reach": reach})
    writable(output, "--output", request.inputs)
    proposal = request.proposal(reach)
    assessment = proposal.assessment
    _progress("judging fasteners and dips")
    answers = answers_of(assessment)
    text = report_html(
        proposal,
        answers.dips,
        answers.bench(),
        notices=request.notices,
        units=request.units,
        date=datetime.date.today().isoformat(),
        full=full,
        reader=Reader(reader),
    )
    write_text_atomically(output, text)
    if request.as_json:
        notices = (*request.notices, *proposal.notices, *assessment.notices)
        _print({**assessed.envelope(notices), "file": output, "verified": proposal.verified})
    else:
        _print(f"Written: {output}")


@program.command()
@click.argument("engine", metavar="[ENGINE", required=False)
@click.argument("run", metavar="RUN]", required=False)
@click.option("--port", metavar="N", help="Port on this machine. [8501 or the next free one]")
def page(engine: str | None, run: str | None, port: str | None) -> None:
    """Open the page in a browser; it listens on this machine only.

    \b
    Examples:
      torquerisk page
      torquerisk page sample_runs/hill_climb
    """
    from torquerisk.command.start_page import start_page

    start_page(engine, run, port, announce=click.echo)


def _misused(text: str) -> click.UsageError:
    return click.UsageError(text, click.get_current_context())


def _request(given: dict[str, Any]) -> "Request":
    from torquerisk.command.request import read_request

    return read_request(given, _progress)


def _progress(text: str) -> None:
    """A note on what takes time, to people at a terminal only."""
    if sys.stderr.isatty():
        click.echo(f"torquerisk: {text} ...", err=True)


def _print(shown: str | dict[str, Any]) -> None:
    """Print a text, or a document as JSON."""
    from torquerisk.show.documents.json_numbers import document_text

    text = shown.rstrip("\n") if isinstance(shown, str) else document_text(shown)
    click.echo(text.encode("utf-8", "replace"))


def _answer(answer: "Answer") -> None:
    """Print an answer, and on stderr what must be said beside it."""
    _print(answer.shown)
    if answer.warning is not None:
        say(answer.warning, DONE)


def main() -> None:
    """Entry point of the command `torquerisk`."""
    program(prog_name="torquerisk")
