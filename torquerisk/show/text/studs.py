"""The bench of fasteners as text of 80 columns, readable without colour."""

from collections.abc import Iterator, Sequence

from torquerisk.case.lubricants import LUBRICANTS
from torquerisk.quantities import RPM
from torquerisk.show.pictures.order import order_rows
from torquerisk.show.text.blocks import bullets, paragraph
from torquerisk.show.text.sealing_ring import bench_ring_lines
from torquerisk.show.words import lubricants
from torquerisk.show.words.columns import Shown, chosen, in_words
from torquerisk.show.words.lubricants import oil_sources, oils_title
from torquerisk.show.words.prose import (
    Units,
    chance_count,
    force_in_words,
    force_number,
    force_unit,
    in_units,
    plain,
    torque_unit,
)
from torquerisk.show.words.sealing_ring import TITLE
from torquerisk.show.words.stud_findings import findings
from torquerisk.show.words.target_sheet import (
    TargetSheet,
    forces,
    spare_share,
    target_sheet,
)
from torquerisk.study.answers.results import Fastening, StudBench, StudChoice

SHOWN = 14
"""Rows shown beyond the present one, unless all are asked for."""
OIL_MARKS = dict(zip(LUBRICANTS, "*#~=", strict=True))
"""Of lubricants by name, behind the tightening of a row: a name does not fit there."""
KEY = (
    "stud: with nut and washer, by yield strength in MPa. {force}: preload when tightened, before "
    "the joint settles. Force over strength, preload included: yield in service, strip of the "
    "block's thread. Pressure over allowed: fat. for fatigue (VDI 2230, an index that "
    "counts in no verdict), bear for a washer of twice the thread's diameter on the head (above 1: "
    "take the wider washer named)."
)


def stud_text(bench: StudBench, *, every: bool = False, units: Units = Units.SI) -> str:
    """The answer, the table of choices, the target sheet, notices and cautions.

    every: show every choice, not only the mild ones and those estimated to hold. units: of torque.
    """
    best = bench.mildest

    def told(text: str) -> str:
        return in_units(text, units)

    blocks: list[str] = [
        paragraph(f"{bench.assessment.engine.name}: {told(bench.ask.curve)}."),
        "\n".join(_need(bench, units)),
        "In short",
        *(paragraph(told(text)) for text in findings(bench)),
        "\n".join(_table(bench, every, units)),
        "\n".join([TITLE, *bench_ring_lines(bench, units)]),
    ]
    if best is not None:
        blocks.append("\n".join(_sheet(target_sheet(bench, best, units))))
    blocks.append("\n".join(_oils(bench, units)))
    blocks += ["Notices", *bullets(told(n.text) for n in bench.notices)]
    blocks += ["Cautions", *bullets(bench.cautions)]
    return "\n\n".join(blocks) + "\n"


def _need(bench: StudBench, units: Units) -> Iterator[str]:
    yield (
        "Needed in service, each fastener:  "
        f"{force_in_words(bench.required_clamp_per_fastener, units)} at "
        f"{plain(bench.worst_speed / RPM)} rpm"
    )
    yield f"  ({bench.fasteners:.3g} fasteners clamp the most lightly clamped ring)"
    yield f"Now, as it stands, warm:           {forces(bench.present.clamp, units)}"
    yield f"Accepted chance at each speed:     {bench.ask.accepted:.2%}".replace("%", " %")


def _table(bench: StudBench, every: bool, units: Units) -> Iterator[str]:
    """Rows of at most 80 columns: the present one, then the choices.

    In other units than SI the heading has the unit, since 'lb·ft' is too wide for the cells.
    """
    unit, force = torque_unit(units).name, force_unit(units).name
    tightened = "tightened" if units is Units.SI else f"tightened, {unit}"
    n = bench.assessment.model.draws.count
    yield "Choices, mildest first; estimated to hold: o new, O aged too; else why not:"
    yield "L lifts, S strips the block's thread, Y yields, T tightened too far,"
    yield "L? and so on: too close to call (two letters: only together more than accepted)"
    yield (
        f"{'':3}{'thread':9}{'class':10}{tightened:16}{force:>7}"
        f"{'spare':>7}{'lifts':>6}{'force over strength':>21}"
    )
    yield f"{'':45}{'clamp':>7}{f'{n:,}':>6}{'yield':>6}{'strip':>6}{'fat.':>5}{'bear':>5}"
    yield _row(bench.present, n, units)
    yield ""
    shown = list(bench.choices) if every else worth_showing(bench.choices)
    for choice in shown:
        yield _row(choice, n, units)
    left = len(bench.choices) - len(shown)
    if left:
        yield f"({left} more were judged; the document lists them all.)"
    for name, mark in OIL_MARKS.items():
        if any(c.fastening.lubricant.name == name for c in shown):
            yield f"{mark} with {name}"
    yield paragraph(KEY.format(force=force))


def worth_showing(choices: Sequence[StudChoice], most: int = SHOWN) -> list[StudChoice]:
    """The choices in the present holes and the mildest larger ones estimated to hold, in order.

    Of a size that is passed over the one that holds the most is kept, which says why.
    """
    first = choices[0].fastening.thread.designation if choices else ""
    same = [c for c in choices if c.fastening.thread.designation == first]
    larger = [c for c in choices if c not in same]
    rest = [c for c in larger if c.holds or c.close]
    if not rest:
        rest = sorted(larger, key=lambda c: -c.torque_held)[:4]
    rest = rest[: max(most - len(same), 1)]
    shown = {_size(c) for c in rest}
    passed: dict[float, StudChoice] = {}
    for choice in sorted(larger, key=lambda c: -c.torque_held):
        if _size(choice) not in shown:
            passed.setdefault(_size(choice), choice)
    kept = [*same, *passed.values(), *rest]
    return [c for c in choices if c in kept]


def _size(choice: StudChoice) -> float:
    """Nominal diameter of the thread in the block [m]."""
    return choice.fastening.thread.nominal_diameter


def _row(choice: StudChoice, draws: int, units: Units) -> str:
    made = choice.fastening
    short: str = made.how
    if units is not Units.SI:
        short = in_units(short, units).replace(f" {torque_unit(units).name}", "")
    mark = "".join(m.short[0].upper() for m in choice.fails)[:2]
    if choice.close or choice.holds:
        mark = f"{mark[0]}?" if choice.close else "O" if choice.holds_aged else "o"
    name = made.lubricant.name
    oil = OIL_MARKS.get(name, "?") if made.lubricant.said else ""
    used = "".join(
        _used(value, width)
        for value, width in (
            (choice.yield_utilisation, 6),
            (choice.strip_utilisation, 6),
            (choice.fatigue_utilisation, 5),
            (choice.bearing_utilisation, 5),
        )
    )
    return (
        f"{mark:3}{made.thread.designation:9}{strength_name(made):10}{short + oil:16}"
        f"{force_number(choice.preload.p50, units):>7}"
        f"{spare_share(choice.clamp_to_spare):>7}{chance_count(choice.lift_chance, draws):>6}{used}"
    )


def strength_name(made: Fastening) -> str:
    """A class, or a stud's yield strength, in nine characters."""
    short = made.strength.name.replace("SAE grade", "grade").replace(" MPa", "")
    return f"{'stud ' if made.stud else ''}{short}"[:9]


def _used(value: float, width: int) -> str:
    """Load over strength in a narrow column; one decimal from 10 on."""
    return f"{value:{width}.2f}" if value < 9.995 else f"{min(value, 99.9):{width}.1f}"


def _oils(bench: StudBench, units: Units) -> Iterator[str]:
    """One table of what changes when the lubricant does."""
    yield paragraph(oils_title(bench, units))
    columns, shown = chosen(lubricants.COLUMNS, lubricants.ROW), Shown(units=units)
    widths = (17, 10, 17, 26, 10)
    for row in ([c.headed(shown) for c in columns], *in_words(columns, bench.oils, shown)):
        yield "".join(f"{cell:<{w}}" for cell, w in zip(row, widths, strict=True)).rstrip()
    yield paragraph(oil_sources())


def _sheet(sheet: TargetSheet) -> Iterator[str]:
    yield sheet.title
    for text in sheet.verdict:
        yield paragraph(text, "  ", "  ")
    yield from _pairs(sheet.facts)
    if sheet.order is not None:
        yield "  Order seen from above, both sides of the bores of one head:"
        yield from (f"      {row}" for row in order_rows(sheet.order))
    yield "  Before, each answered with yes:"
    for text in sheet.before:
        yield paragraph(text, "  [ ] ")
    yield "  In this order:"
    for number, step in enumerate(sheet.steps, 1):
        yield paragraph(step, f"  {number}. ")
    for text in sheet.afterwards:
        yield paragraph(text, "  - ")
    yield paragraph(sheet.signed, "  ", "  ")
    yield "  What it takes, and what it is estimated to give:"
    yield from _pairs(sheet.estimates)
    for text in sheet.cautions:
        yield paragraph(text, "  ! ")


def _pairs(facts: Sequence[tuple[str, str]]) -> Iterator[str]:
    for what, value in facts:
        yield paragraph(f"{what}: {value}", "  ", "      ")
