"""Options that several verbs of the command share."""

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

import click
from click import option

F = TypeVar("F", bound=Callable[..., Any])


def _all(options: Sequence[Callable[[F], F]]) -> Callable[[F], F]:
    """All of the options, in their order."""

    def given(verb: F) -> F:
        for one in reversed(options):
            verb = one(verb)
        return verb

    return given


READING = [
    option("--pull", metavar="N", help="Which pull of a log is read, of several runs '1, 2' in "
            "their order. [1, the best]"),
    option("--column", metavar="HEADING=MEANING", multiple=True, help="What a column is, by its "
            "heading or number: 'Tq 2=torque [lb*ft]'. 'Tq 2=', with no meaning, leaves "
            "the column out."),
]  # fmt: skip
reading = _all(READING)
"""Options of every verb that reads a run."""
common = _all(
    [
        *READING,
        option("--known-good", metavar="RUN", help="Run survived many times, instead of the "
                "engine file's."),
        option("--chance", metavar="SHARE", help="Accepted chance at each speed. [0.01]"),
        option("--pulls", metavar="N", help="Pulls that the tune must last. [500]"),
        option("--draws", metavar="N", help="Simulated engines. [1024]"),
        option("--seed", metavar="N", help="Seed of the simulation; fixed unless given."),
        option("--measured-at", metavar="PLACE", help="crank, hub or wheel."),
        option("--correction", metavar="STANDARD",
                help="none, J1349, ISO1585, DIN70020, J607 or unknown."),
        option("--driveline-loss", metavar="SHARE", help="Loss from crank to sensor: '15 %'."),
        option("--dyno-kind", metavar="KIND", help="steady, retarder or inertia."),
        option("--referred-to", metavar="SPEED", help="Torque at hub or wheel is referred to "
                "engine or wheel speed."),
        option("--gear-ratio", metavar="NUMBER", help="Gear of the run."),
        option("--final-drive", metavar="NUMBER", help="Final drive, 1 if in the gear ratio."),
        option("--tyre-radius", metavar="LENGTH", help="Rolling radius of the driven tyre."),
        option("--sweep-rate", metavar="RATE", help="How fast it gained speed: '250 rpm/s'."),
        option("--inertia", metavar="INERTIA", help="Rotating inertia: '0.16 kg*m^2'."),
        option("--count-abnormal", is_flag=True, help="Count abnormal cycles (knock, "
                "pre-ignition) in the chances, not beside them."),
        option("--units", type=click.Choice(["si", "us"]), default="si", show_default=True,
                help="Units of the readable output; JSON is SI always."),
        option("--json", "as_json", is_flag=True, help="One JSON document, nothing else."),
    ]
)  # fmt: skip
"""Options of every verb that assesses a run."""
table_options = _all(
    [
        option("--peak-from", metavar="SPEED", help="Peak torque not before this speed."),
        option(
            "--rise", metavar="RATE",
            help="Steepest rise: '60 N*m/1000rpm'. [60, or the known-good curve's]",
        ),
        option("--points", metavar="N", help="Rows of the table. [16]"),
        option(
            "--resolution", metavar="TORQUE",
            help="Torque step of the table. [1 % of the most torque, 0.1 to 1 N*m]",
        ),
        option("--objective", metavar="WORDS", help="'most area', 'shortest sweep', 'least "
                "change' or 'same shape later'. ['most area']"),
        option("--reference", metavar="RUN", help="Curve to keep to, for the last two objectives, "
                "instead of the known-good run."),
        option("--no-dip", is_flag=True, help="The limit may not fall before its peak."),
        option("--own-breakpoints", metavar="LIST", help="The table's own speeds: '1500, 2000, "
                "2500 rpm', or a file."),
        option("--nearest", is_flag=True, help="Where no table meets the ask, give the nearest."),
        option("--reach", metavar="WHAT", default="measured", show_default=True,
                help="What the engine can make: measured, open, a run file, or a ceiling on "
                "boost as manifold pressure: '180 kPa'."),
    ]
)  # fmt: skip
"""Options of every verb that proposes a table."""


def case_arguments(verb: F) -> F:
    """ENGINE and RUN, or a case folder in their place."""
    verb = click.argument("run", metavar="[RUN]", required=False)(verb)
    return click.argument("engine", metavar="ENGINE")(verb)


limit_options = _all(
    [
        option(
            "--axis",
            metavar="NAME",
            help="Second axis: ethanol, 'charge temperature', "
            "'coolant temperature' or gear (its sweep rate).",
        ),
        option("--values", metavar="LIST", help="Values of the axis: '0 %, 30 %, 60 %, 85 %'."),
        option("--frontier", is_flag=True, help="Also what other chances and peaks would give."),
        option(
            "--clipboard",
            is_flag=True,
            help="Only tab-separated numbers: speed [rpm] and limit "
            "[N*m, or lb*ft with --units us], with logged ignition the most advance too, or the "
            "cells of a table over two axes.",
        ),
        option("--csv", "csv", metavar="FILE", help="Write the table to a CSV file as well."),
        option("--full", is_flag=True, help="Also what stands behind the table."),
    ]
)
"""Options of what `limit` gives beside the table."""
