"""The report's section on head fasteners: need, choices and the target sheet."""

from typing import Any

from markupsafe import Markup

from torquerisk.quantities import RPM
from torquerisk.show.pictures.order import order_drawing
from torquerisk.show.report.sealing_ring import ring_part
from torquerisk.show.report.tables import Table, table_of
from torquerisk.show.text.studs import SHOWN, worth_showing
from torquerisk.show.words import lubricants, prose
from torquerisk.show.words.columns import Shown, chosen
from torquerisk.show.words.lubricants import oil_sources, oils_title
from torquerisk.show.words.prose import Units
from torquerisk.show.words.stud_findings import findings
from torquerisk.show.words.target_sheet import forces, spare_share, target_sheet, tightened
from torquerisk.study.answers.results import Order, StudBench, StudChoice

ONLY_FULL = ("fatigue used", "bearing used")
FEW = 3
"""Choices that are shown where not all are."""


def studs_part(
    bench: StudBench, units: Units, full: bool = False, elsewhere: bool = False
) -> dict[str, Any]:
    """Findings, what is needed, the table of choices and the target sheet of the mildest.

    elsewhere: findings, need and sheet stand on the bench sheet.
    """
    best = bench.mildest
    return {
        "elsewhere": elsewhere,
        "curve": f"Judged at {prose.in_units(bench.ask.curve, units)}.",
        "findings": [prose.in_units(text, units) for text in findings(bench)],
        "need": [
            (
                "needed in service, each fastener",
                f"{prose.force_in_words(bench.required_clamp_per_fastener, units)} at "
                f"{prose.plain(bench.worst_speed / RPM)} rpm",
            ),
            ("now, as it stands, warm", forces(bench.present.clamp, units)),
        ],
        "table": _choices(bench, units, full),
        "ring": ring_part(bench, units),
        "sheet": None if best is None else target_sheet(bench, best, units),
        "order": drawn_order(bench.sequence),
        "oils": _oils(bench, units),
        "oil_sources": oil_sources(),
        "notices": [prose.in_units(text, units) for text in _notices(bench)],
        "cautions": bench.cautions,
    }


def drawn_order(order: Order | None) -> Markup | None:
    """The order of tightening, drawn."""
    return None if order is None else Markup(order_drawing(order))


def _oils(bench: StudBench, units: Units) -> Table:
    columns, title = chosen(lubricants.COLUMNS, lubricants.ROW), oils_title(bench, units)
    return table_of(title, columns, bench.oils, Shown(units=units), kind="numbers")


def _notices(bench: StudBench) -> list[str]:
    """The bench's own; what the report says elsewhere is not said twice."""
    elsewhere = {n.text for n in bench.assessment.notices}
    return [n.text for n in bench.notices if n.text not in elsewhere]


def _choices(bench: StudBench, units: Units, full: bool) -> Table:
    """The joint as it stands, then choices; in full more of them, with fatigue and bearing."""
    count = bench.assessment.model.draws.count
    shown = [bench.present, *(worth_showing(bench.choices, SHOWN) if full else _few(bench))]
    headings = [
        ("thread", ""), ("fastener", ""), ("tightened", ""),
        ("preload", prose.force_unit(units).name), ("clamp to spare", ""),
        ("lifts", f"of {count:,}"), ("yield used", ""), ("strip used", ""),
        ("fatigue used", "index"), ("bearing used", ""),
        ("estimated to hold", ""),
    ]  # fmt: skip
    kept = [k for k, (name, _) in enumerate(headings) if full or name not in ONLY_FULL]
    rows = [_choice(c, count, units, now=c is bench.present) for c in shown]
    return Table(
        title="As it stands, then choices, mildest change first",
        headings=[headings[k] for k in kept],
        rows=[[row[k] for k in kept] for row in rows],
        words_in=frozenset({1, 2, len(kept) - 1}),
        kind="numbers",
        marked=frozenset({0}),
    )


def _few(bench: StudBench) -> list[StudChoice]:
    """The mildest choices that are estimated to hold; where none is, those that hold most."""
    holding = [c for c in bench.choices if c.holds][:FEW]
    return holding or sorted(bench.choices, key=lambda c: -c.torque_held)[:FEW]


def _choice(choice: StudChoice, count: int, units: Units, *, now: bool) -> list[str]:
    made = choice.fastening
    return [
        made.thread.designation + (" (now)" if now else ""),
        made.kind_and_strength,
        tightened(made, units),
        prose.force_number(choice.preload.p50, units),
        spare_share(choice.clamp_to_spare),
        prose.chance_count(choice.lift_chance, count),
        prose.plain(choice.yield_utilisation, 2),
        prose.plain(choice.strip_utilisation, 2),
        prose.plain(choice.fatigue_utilisation, 2),
        prose.plain(choice.bearing_utilisation, 2),
        choice.held,
    ]
