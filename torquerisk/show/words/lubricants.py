"""What changes when the lubricant does, in rows for every face."""

from torquerisk.case.lubricants import LUBRICANTS
from torquerisk.quantities import KN
from torquerisk.show.words.columns import Column, Shown
from torquerisk.show.words.prose import (
    Units,
    force_number,
    force_unit,
    torque_in_words,
    torque_unit,
)
from torquerisk.study.answers.results import WIDE, OilChange, StudBench


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


def _preload(change: OilChange, shown: Shown) -> str:
    middle, least, most = (
        force_number(force, shown.units)
        for force in (change.preload, change.preload_least, change.preload_most)
    )
    return f"{middle} ({least} to {most})"


COLUMNS: tuple[Column[OilChange], ...] = (
    Column(key="lubricant", value=lambda c: c.oil.name, text="lubricant", name="lubricant",
           words=True, cell=lambda c, _: "as now" if c.oil.name == "own" else c.oil.name),
    Column(key="words", value=lambda c: c.oil.words),
    Column(key="friction", json=False, text="friction", name="friction",
           value=lambda c: f"{c.oil.at(-WIDE)[0]:.2f}-{c.oil.at(WIDE)[0]:.2f}"),
    Column(key="torque_for_same_preload_n_m", value=lambda c: c.torque, measure=torque_unit,
           text="same clamp {unit}", name="same clamp"),
    Column(key="preload", json=False, value=lambda c: c.preload, measure=force_unit,
           text="same torque gives {unit}", name="same torque gives", cell=_preload),
    Column(key="preload_at_same_torque_kn", value=lambda c: c.preload, size=KN),
    Column(key="preload_least_kn", value=lambda c: c.preload_least, size=KN),
    Column(key="preload_most_kn", value=lambda c: c.preload_most, size=KN),
    Column(key="most_yield_share", value=lambda c: c.yield_share, text="of yield",
           name="times yield", cell=lambda c, _: f"up to {c.yield_share:.2f}"),
)  # fmt: skip
"""Of a lubricant's row; the present one has the first."""
ROW = ("lubricant", "friction", "torque_for_same_preload_n_m", "preload", "most_yield_share")
"""Keys of the columns that people are shown."""
