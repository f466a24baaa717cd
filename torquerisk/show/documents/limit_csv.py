"""A torque-limit table as CSV, with the conditions it was judged at, that reads back as a run."""

from collections.abc import Callable

import numpy as np

import torquerisk
from torquerisk.case import CAUTIONS, Engine, Policy
from torquerisk.case.declare import Kind
from torquerisk.files.exports import TableColumn, limit_table_csv, speed_column
from torquerisk.files.units import quantity_in_words
from torquerisk.quantities import RPM
from torquerisk.show.documents.marked_table import MARK, marked_columns, marked_facts, reasons_of
from torquerisk.show.words.in_short import urgent_in_short
from torquerisk.show.words.limit_columns import shown_of, table_column, tenths_down
from torquerisk.show.words.prose import Units, torque_unit
from torquerisk.show.words.table_in_short import too_little_known
from torquerisk.study.answers.results import LimitRow, Proposal

CONDITIONS = {
    "lambda_": ("lambda", "1", 1.0, 0.0, 3),
    "intake_temperature": ("intake temperature", "°C", 1.0, 273.15, 1),
    "exhaust_pressure": ("exhaust pressure", "kPa abs", 1e3, 0.0, 1),
    "ignition_advance": ("ignition advance", "deg", np.pi / 180, 0.0, 2),
    "ca50": ("CA50", "deg", np.pi / 180, 0.0, 2),
}
"""Logged channels that a row was judged at: heading, unit, SI size, offset, decimals."""

ASKED: dict[str, Callable[[LimitRow], float | None]] = {
    "ignition_advance": lambda row: row.advance_asked,
    "ca50": lambda row: row.ca50_asked,
}
"""Of them what a row asks for instead, where it is judged."""


def limit_csv(proposal: Proposal) -> str:
    """The table with governing limit, chance and the logged conditions of every row.

    The facts on top say that torque is at the crank as it really was, so that the file may be
    assessed as a run: power stands for torque there. A table that is not proved carries its mark.
    """
    rows, shown = proposal.rows, shown_of(proposal, Units.SI)
    columns = [
        speed_column([row.speed for row in rows]),
        TableColumn(name="torque limit", unit="N·m", values=[_step(row.limit) for row in rows]),
        table_column(rows, "power_kw", 5, shown),
        table_column(rows, "governing", None, shown),
        table_column(rows, "chance", 4, shown, "chance at this speed"),
        table_column(rows, "knock_chance", 4, shown, "chance of knock"),
        table_column(rows, "ca50_deg", 1, shown),
        table_column(rows, "ca50_not_before_deg", 1, shown),
    ]
    if has_advance(proposal):
        columns.append(table_column(rows, "advance_not_above_deg", 1, shown))
    reasons = reasons_of(proposal)
    every = marked_columns([*columns, *_conditions(proposal)], reasons)
    return limit_table_csv(every, marked_facts(_facts(proposal), reasons))


def _step(torque: float) -> float | int:
    """A torque as the short number that its step allows."""
    number = round(torque, 4)
    return int(number) if number == int(number) else number


def _conditions(proposal: Proposal) -> list[TableColumn]:
    """What the run logged, at the table's speeds; manifold pressure that gives the limit. Ignition
    or CA50 is what the limit was proved with: as judged, later where that is likely to knock."""
    run = proposal.assessment.run
    speed = np.array([row.speed for row in proposal.rows])
    columns = []
    conditions = shown_of(proposal, Units.SI)
    if all(row.manifold_pressure is not None for row in proposal.rows):
        columns.append(
            table_column(proposal.rows, "manifold_pressure_kpa", 1, conditions, "manifold pressure")
        )
    for channel, (heading, unit, size, offset, decimals) in CONDITIONS.items():
        values = run.channel_at(channel, speed)
        if values is not None:
            if channel in ASKED:
                asked = (ASKED[channel](row) for row in proposal.rows)
                values = np.array(
                    [v if a is None else a for v, a in zip(values, asked, strict=True)]
                )
            shown = [float((v - offset) / size) for v in values]
            columns.append(TableColumn(name=heading, unit=unit, values=shown, decimals=decimals))
    return columns


def _facts(proposal: Proposal) -> dict[str, str]:
    a, policy = proposal.assessment, proposal.policy
    engine, first = a.engine, (urgent_in_short(a), *too_little_known(a, proposal))
    facts = {
        "torque limit": proposed_for(engine, policy),
        **{f"first {k}": text for k, text in enumerate(filter(None, first), 1)},
        "caution": f"{CAUTIONS[0]} {CAUTIONS[3]}",
        "measured at": "crank",
        "correction": "none",
    }
    if engine.has("test.driveline_loss"):
        facts["driveline loss"] = "0 %"
    if engine.has("test.inertia") or engine.has("test.sweep_rate"):
        facts["inertia"] = "0 kg*m^2"
    if engine.has("test.sweep_rate"):
        rate = engine.value("test.sweep_rate").value
        facts["sweep rate"] = quantity_in_words(rate, Kind.SPEED_RATE)
    for key in ("ambient_pressure", "ambient_temperature", "humidity"):
        used = engine.value(f"test.{key}")
        if used.given and used.declaration.kind is not None:
            facts[key.replace("_", " ")] = quantity_in_words(used.value, used.declaration.kind)
    return facts


def proposed_for(engine: Engine, policy: Policy) -> str:
    """The fact on top of a table that says whose it is."""
    return (
        f"proposed by torquerisk {torquerisk.__version__} for {engine.name}; accepted chance "
        f"{policy.chance:g} at each speed; seed {policy.seed}; {policy.draws} simulated engines"
    )


def has_advance(proposal: Proposal) -> bool:
    """True where the most advance is part of the limit, a column of its own."""
    return any(row.advance_not_above is not None for row in proposal.rows)


def clipboard(proposal: Proposal, units: Units = Units.SI) -> str:
    """Tab-separated, a line for every row: speed [rpm], limit [N·m or lb·ft], and where the run
    logged its ignition, the most advance [deg] that is part of the limit.

    The lines of a table that is not proved end in its mark.
    """
    size = torque_unit(units).size
    logged = has_advance(proposal)
    mark = [MARK] if reasons_of(proposal) else []

    def advance(row: LimitRow) -> list[str]:
        most = row.advance_not_above
        return [] if not logged else ["" if most is None else tenths_down(most)]

    return "\n".join(
        "\t".join(
            [f"{round(row.speed / RPM, 3):g}", f"{_step(row.limit / size)}", *advance(row), *mark]
        )
        for row in proposal.rows
    )
