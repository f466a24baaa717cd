"""What changes when the lubricant does, in rows for every face."""

from torquerisk.case.lubricants import LUBRICANTS
from torquerisk.quantities import KN
from torquerisk.show.words.prose import Units, plain, torque_in_words, torque_unit
from torquerisk.study.answers.results import WIDE, StudBench


def oils_title(bench: StudBench, units: Units) -> str:
    """What the table is of."""
    made = (bench.mildest or bench.present).fastening
    torque = torque_in_words(made.tightening_torque, units)
    return f"If the lubricant changes: {made.name}, {made.torque_is} torque {torque}"


def oil_sources() -> str:
    """Where the friction of each kind comes from."""
    by_source: dict[str, list[str]] = {}
    for oil in LUBRICANTS.values():
        by_source.setdefault(oil.source, []).append(oil.name)
    told = "; ".join(f"{', '.join(names)}: {source}" for source, names in by_source.items())
    return f"Friction in thread and under head alike. {told}. A maker's own figure goes before."


def oil_rows(bench: StudBench, units: Units) -> tuple[list[str], list[list[str]]]:
    """Headings, and a row for each lubricant, the present one first."""
    unit, size = torque_unit(units)
    headings = [
        "lubricant",
        "friction",
        f"same clamp {unit}",
        "same torque gives kN",
        "times yield",
    ]
    rows = [
        [
            "as now" if change.oil.name == "own" else change.oil.name,
            f"{change.oil.at(-WIDE)[0]:.2f}-{change.oil.at(WIDE)[0]:.2f}",
            plain(change.torque / size),
            f"{plain(change.preload / KN)} ({plain(change.preload_least / KN)} to "
            f"{plain(change.preload_most / KN)})",
            f"up to {change.yield_share:.2f}",
        ]
        for change in bench.oils
    ]
    return headings, rows
