"""Text tables of the command: at most 80 columns, no colour, words before numbers."""

from collections.abc import Iterable, Sequence

import numpy as np

import torquerisk
from torquerisk.case import CAUTIONS, Engine, Notice, Policy
from torquerisk.quantities import RPM
from torquerisk.show.text.blocks import (
    bullets,
    columns,
    joined,
    paragraph,
    section,
    shown_rows,
    table,
)
from torquerisk.show.text.sealing_ring import run_ring_lines
from torquerisk.show.words import (
    before_after,
    by_speed,
    ceilings,
    limit_columns,
    prose,
    running_gear,
)
from torquerisk.show.words.columns import At, Shown, chosen
from torquerisk.show.words.drivers import measures_in_words, next_in_words, subject_in_words
from torquerisk.show.words.in_short import assessment_in_short, over_known_of, verdicts
from torquerisk.show.words.limit_table import abnormal_in_words, carries_in_words, window_in_words
from torquerisk.show.words.notices import notices_in_short
from torquerisk.show.words.prose import Units
from torquerisk.show.words.sealing_ring import TITLE as RING_TITLE
from torquerisk.show.words.table_in_short import proposal_in_short
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    FORCES,
    Assessment,
    LimitKind,
    OverKnown,
    Proposal,
)

MOST_ROWS = 24
LOADS = (
    "speed_rpm", "torque_n_m", "power_kw", "bmep_bar", "peak", "peak_range", "clamp_ratio",
    "chance_any", "governing",
)  # fmt: skip
MOST_NAMED = 4
"""Inputs named as drivers, and things worth measuring."""
MORE_OF_RUN = paragraph(
    "More with --full: what is left on the ring, guidance on long life, forces of the running "
    "gear, what drives the answer and what to measure next."
)


def assessment_text(
    assessment: Assessment,
    extra: Sequence[Notice] = (),
    units: Units = Units.SI,
    full: bool = False,
) -> str:
    """What was read, the answer in short, the tables, notices and cautions.

    full: also what stands behind the answer, which MORE_OF_RUN names where it is left out.
    """
    behind = [MORE_OF_RUN]
    if full:
        behind = [
            section(RING_TITLE, run_ring_lines(assessment)),
            section("Guidance, not counted", [_indices(assessment)]),
            section("Running gear: loads, no verdict", _gear(assessment)),
            section(
                "What drives the answer, what to measure next", bullets(drivers(assessment, units))
            ),
        ]
    return joined(
        section("Read", read_lines(assessment, units)),
        section("In short", bullets(assessment_in_short(assessment, units))),
        section("Loads by speed", [_loads(assessment, units)]),
        section("Limits, worst first", [_limits(assessment)]),
        section(ceilings.TITLE, ceiling_lines(assessment, units)),
        *behind,
        closing((*extra, *notices_in_short(assessment)), assessment.policy, units),
    )


def read_lines(assessment: Assessment, units: Units = Units.SI) -> list[str]:
    """What was read and made of it."""
    a = assessment
    run = a.run
    low, high = float(run.speed[0]), float(run.speed[-1])
    channels = [name.strip("_").replace("_", " ") for name in run.channels]
    steps = ", ".join(prose.in_units(step, units) for step in a.reading.steps)
    return [
        paragraph(f"{a.engine.name}; {displacement(a.engine)}, {a.engine.ignition} ignition."),
        paragraph(
            f"{run.name}: {len(run.speed)} rows {prose.speeds_in_words(low, high)}; {steps}."
        ),
        paragraph(f"Channels: {', '.join(['speed', 'torque', *channels])}."),
    ]


def displacement(engine: Engine) -> str:
    """Cylinders and what they displace together."""
    many = "" if engine.cylinders == 1 else "s"
    return f"{engine.cylinders} cylinder{many}, {engine.swept_volume_total * 1e6:,.0f} cm³"


def _loads(a: Assessment, units: Units) -> str:
    shown = by_speed.shown_of(a, units)
    worst = [int(np.argmax(a.torque)), int(np.argmax(a.chance_any))]
    index = shown_rows(len(a.speed), worst, MOST_ROWS)
    loads = table(chosen(by_speed.COLUMNS, LOADS), [At(a, k) for k in index], shown, "governing")
    notes = [
        "peak: of the mean cycle; clamp/gas: clamp over gas force of one cylinder, medians; fail: "
        f"in how many of {shown.draws:,} engines simulated within your input ranges a part gives "
        "way; limited by: the limit that allows least torque."
    ]
    if len(index) < len(a.speed):
        notes.append(f"{len(index)} of {len(a.speed)} speeds are shown; --json gives all.")
    return "\n".join([loads, *(paragraph(n) for n in notes)])


def _limits(a: Assessment) -> str:
    count, over = a.model.every.count, answers_of(a).over_known
    rows = []
    for v in verdicts(a):
        limit, k = v.item.limit, v.worst
        unit, size = prose.limit_unit(limit)
        middle, low, high = prose.with_range(v.item.margin, k, size)
        rows.append(
            [
                limit.title,
                v.state.value,
                f"{middle} {unit}",
                f"{low} to {high}",
                prose.plain(a.speed[k] / RPM),
                prose.chance_count(float(v.item.chance[k]), count),
                *([] if over is None else [over_known_of(over, v.name, k)]),
            ]
        )
    heads = ["limit", "over all speeds", "to spare", "5 to 95 %", "at rpm", f"fail/\n{count:,}"]
    table = columns([*heads, *([] if over is None else ["over\nknown"])], rows, left=(0, 1), wrap=0)
    fast = [v.item.limit.title.lower() for v in verdicts(a) if v.item.of_speed]
    notes = [] if over is None else [f"over known: {_known(over)}"]
    notes += [f"Of speed alone, whatever the torque: {', '.join(fast)}."] if fast else []
    return "\n".join([table, *(paragraph(note) for note in notes)])


def _known(over: OverKnown) -> str:
    return f"how much more of it is used than {over.curve} uses at its worst."


def ceiling_lines(a: Assessment, units: Units) -> list[str]:
    """The ceilings of the run in order, and what is said of them."""
    found = answers_of(a).ceilings
    return [
        table(
            chosen(ceilings.COLUMNS, ceilings.ROW),
            ceilings.shown(found),
            Shown(units=units),
            "title",
        ),
        paragraph(ceilings.NOTE),
        *bullets(ceilings.sentences(found, units)),
    ]


def _indices(a: Assessment) -> str:
    """Guidance by limit: load over it, and over what the engine is known to carry."""
    over = answers_of(a).over_known
    rows = []
    for name, item in a.limits.items():
        if item.limit.kind is not LimitKind.INDEX:
            continue
        k = int(np.argmax(item.utilisation))
        known = [] if over is None else [prose.plain(float(over.limits[name].p50[k]), 2)]
        used = float(item.utilisation[k])
        rows.append(
            [
                item.limit.title,
                prose.plain(used, 2) if np.isfinite(used) else "beyond by speed alone",
                *known,
                prose.plain(a.speed[k] / RPM),
            ]
        )
    if not rows:
        return ""
    heads = ["index", "load over guidance", *([] if over is None else ["over known"]), "at rpm"]
    return columns(heads, rows, left=(0,))


def _gear(a: Assessment) -> list[str]:
    """Motion and forces by speed, extremes with their angles, and what is said of them."""
    gear = answers_of(a).gear
    lines = [
        table(
            chosen(running_gear.COLUMNS, running_gear.ROW),
            [At(gear, k) for k in running_gear.key_speeds(a)],
            Shown(),
        ),
        paragraph(
            "piston: its mean speed; at TDC: its acceleration there; inertia: force of the "
            "piston's mass there; crown: gas load in the mean cycle, worst: in the worst normal "
            "cycle of a pull; push, pull: greatest along the rod's shank, with crank angle; wall+, "
            "wall-: piston on its major and minor thrust side; main: one bearing's share."
        ),
    ]
    extremes = running_gear.side_by_side(a, gear)
    if extremes:
        lines += ["", table(extremes, FORCES, Shown()), paragraph(running_gear.SIGNS)]
    return [
        *lines,
        *bullets([*running_gear.sentences(gear), running_gear.basis_in_words(a.engine)]),
    ]


def drivers(a: Assessment, units: Units) -> list[str]:
    """What the range of the torque that all limits allow follows, and what to measure next."""
    found = answers_of(a).sensitivity
    subject = subject_in_words(a, found)
    named = [f"{prose.percent(s.share)} {s.label}" for s in found.shares if s.resolved][:MOST_NAMED]
    if not named:
        return [f"No single input stands out in {subject}."]
    told = [
        f"The doubt in {subject} is {', '.join(named)}; {prose.percent(found.rest)} is shared or "
        "too small to tell."
    ]
    told += [next_in_words(found, units), *measures_in_words(found, MOST_NAMED, units)]
    return told


def proposal_text(
    proposal: Proposal,
    extra: Sequence[Notice] = (),
    units: Units = Units.SI,
    more: Sequence[str] = (),
) -> str:
    """The answer in short, the table, what governs, before and after, the check, notices.

    more: blocks put in before the comparison of before and after.
    """
    p = proposal
    return joined(
        section("Read", read_lines(p.assessment, units)),
        section("In short", bullets(proposal_in_short(p, units))),
        section("Torque-limit table", [_table(p, units)]),
        section("What would raise the limit", bullets(_lifted(p))),
        section(ceilings.TITLE, ceiling_lines(p.assessment, units)),
        *more,
        section("Before and after", [_before_after(p, units)]),
        section("Check", [paragraph(prose.in_units(p.proof.words, units))]),
        closing((*extra, *p.notices, *notices_in_short(p.assessment)), p.policy, units),
    )


LIMIT_COLUMNS = (
    "speed_rpm", "torque_limit_n_m", "power_kw", "governing", "spare_n_m", "chance",
)  # fmt: skip
BY_PHASING = (
    ("ca50_deg", "ca50_not_before_deg"),
    "CA50: the phasing that the row was judged at, and the earliest that {} (none: not even the "
    "latest looked at)",
)
BY_ADVANCE = (
    ("ignition_advance_deg", "advance_not_above_deg"),
    "advance: the ignition asked for (the run's, less past its torque and in knock), and the "
    "most that {} (none: not even 6 degrees less)",
)
"""Columns of ignition and what they are: by phasing, or where it was logged by advance."""


def _table(p: Proposal, units: Units) -> str:
    logged = any(row.ignition_advance is not None for row in p.rows)
    ignition, what = BY_ADVANCE if logged else BY_PHASING
    pressed = any(row.manifold_pressure is not None for row in p.rows)
    knocks = ["knock_chance"] if any(r.knock_chance is not None for r in p.rows) else []
    keys = (*LIMIT_COLUMNS, *knocks, *ignition, *(["manifold_pressure_kpa"] if pressed else []))
    shown = limit_columns.shown_of(p, units)
    limits = table(chosen(limit_columns.COLUMNS, keys), p.rows, shown, "governing")
    knock = "knock: how many of them knock with the ignition asked for; " if knocks else ""
    note = (
        f"spare: torque left to what the accepted chance of {prose.percent(p.policy.chance, 2)} "
        f"allows, ± the sampling error of {shown.draws:,} simulated engines; {knock}"
        f"{what.format(carries_in_words(p))}"
    )
    pressure = "; manifold: absolute pressure that would give the torque at unchanged phasing"
    told = [
        f"{note}{pressure if pressed else ''}.",
        *(() if logged else window_in_words(p)),
        abnormal_in_words(p),
    ]
    return "\n".join([limits, paragraph(" ".join(filter(None, told)))])


def _lifted(p: Proposal) -> list[str]:
    titles = limit_columns.titles_of(p.assessment)
    by = [limit_columns.row_limited_by(row, titles, p.policy.step) for row in p.rows]
    each = zip(by, p.rows, strict=True)
    found = dict.fromkeys(
        (name, row.lifted_by) for name, row in each if name == titles[row.governing]
    )
    made = f"{limit_columns.MADE[0].upper()}{limit_columns.MADE[1:]}"
    nothing = [f"{made}: nothing that was assessed; there the engine makes no more."]
    return [*(f"{name}: {lifted}." for name, lifted in found), *nothing * (made in by)]


def _before_after(p: Proposal, units: Units) -> str:
    keys = ("name", "torque", "speed", "area_finely", *before_after.CHANCES)
    rows = before_after.curves(p)
    return table(chosen(before_after.COLUMNS, keys), rows, by_speed.shown_of(p.assessment, units))


def closing(notices: Iterable[Notice], policy: Policy | None, units: Units = Units.SI) -> str:
    """Notices, cautions, and what the numbers were made with."""
    told = [prose.in_units(n.text, units) for n in dict.fromkeys(notices)]
    return "\n".join(
        [
            section("Notices", bullets(told)),
            section("Cautions", [paragraph(" ".join(CAUTIONS))]),
            made_with(policy),
        ]
    )


def made_with(policy: Policy | None) -> str:
    """Version, and seed and number of simulated engines where there are any."""
    made = f"torquerisk {torquerisk.__version__}"
    if policy is not None:
        made += f"; seed {policy.seed}; {policy.draws:,} simulated engines"
    return made
