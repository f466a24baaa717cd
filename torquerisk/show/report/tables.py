"""The report's tables and lists as plain words, from one proposal; no markup but marks and bars."""

from collections.abc import Sequence, Set
from dataclasses import dataclass
from typing import Any

import numpy as np
from markupsafe import Markup

from torquerisk.case import Engine
from torquerisk.case.declare import Kind
from torquerisk.quantities import RPM
from torquerisk.show.pictures.risk import ratio_band
from torquerisk.show.pictures.still import in_variables
from torquerisk.show.pictures.still_pieces import paint, symbol
from torquerisk.show.pictures.style import LIGHT, STATE_SYMBOL
from torquerisk.show.words import before_after as changes
from torquerisk.show.words import by_speed as speeds
from torquerisk.show.words import limit_columns, prose
from torquerisk.show.words.columns import At, Column, Row, Shown, chosen, in_words
from torquerisk.show.words.drivers import measures_in_words, next_in_words, subject_in_words
from torquerisk.show.words.in_short import (
    SEVERITY,
    over_known_of,
    verdicts,
    worst_speed,
)
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    ALL_LIMITS,
    BINDING,
    JUDGED,
    Assessment,
    Proposal,
    Sensitivity,
    State,
    wants_inputs,
)

MOST_DRIVERS, MOST_MEASURES, FEW_MEASURES, MOST_ASSUMED = 6, 5, 2, 2
RATIO_END = 1.6
LEAST_PARTS = 3
"""Limits that have a row, however well they are held."""
MOST_KEPT = 24
"""Rows of the limit table that still fit on a page."""


@dataclass(frozen=True, kw_only=True)
class Table:
    """Headings with units, and rows of words; the first column names the row."""

    title: str
    headings: Sequence[tuple[str, str]]
    """Name and unit ('' for words)."""
    rows: Sequence[Sequence[str]]
    words_in: Set[int] = frozenset()
    """Columns of words, set to the left."""
    kind: str = ""
    marked: frozenset[int] = frozenset()
    """Rows that stand out."""
    whole: bool = False
    """Kept on one page of paper."""


def table_of(
    title: str, columns: Sequence[Column[Row]], rows: Sequence[Row], shown: Shown, **more: Any
) -> Table:
    """The described columns of some rows. more: as `Table` has them."""
    return Table(
        title=title,
        headings=[column.named(shown) for column in columns],
        rows=in_words(columns, rows, shown),
        **{"words_in": {k for k, column in enumerate(columns) if column.words}, **more},
    )


def state_mark(state: State) -> Markup:
    """A state word with its sign."""
    return Markup(
        '<span class="state"><svg viewBox="-6 -6 12 12" aria-hidden="true">{}</svg>{}</span>'
    ).format(_sign(state), state.value)


def _sign(state: State) -> Markup:
    """The sign of a state about the middle of its picture, as on every face."""
    drawn = symbol(STATE_SYMBOL[state], LIGHT.of_state(state), 8, {"width": 1.8})
    return Markup(in_variables(drawn))  # made of numbers and colours only


def ratio_bar(ratio: tuple[float, float, float], state: State) -> Markup:
    """Load over strength as a small ruler from 0 to 1.6 with a line at 1; an arrow: beyond."""
    low, middle, high = (108 * min(max(v, 0.0), RATIO_END) / RATIO_END + 3 for v in ratio)
    one = 3 + 108 / RATIO_END
    beyond = "M110 3L115 8L110 13" if ratio[2] > RATIO_END else ""
    colour = in_variables(paint("stroke", LIGHT.of_state(state)))
    # Made of numbers and fixed words only.
    return Markup(
        '<svg class="ruler" viewBox="0 0 116 16" aria-hidden="true" fill="none">'
        f'<path stroke="var(--grid)" d="M3 8H111"/><path {colour} '
        f'stroke-width="3" d="M{low:.1f} 8H{high:.1f}"/><path stroke="var(--ink)" '
        f'd="M{one:.1f} 1V15{beyond}"/><g transform="translate({middle:.1f} 8)">{_sign(state)}</g>'
        "</svg>"
    )


LIMIT_COLUMNS = (
    "speed_rpm", "torque_limit_n_m", "power_kw", "governing", "held_by", "spare_n_m", "chance",
    "knock_chance", "ca50_deg", "ca50_not_before_deg", "advance_not_above_deg", "pressure",
)  # fmt: skip
ONLY_FULL = ("held_by", "spare_n_m")
BY_SPEED = (
    "speed_rpm", "torque_n_m", "limit", "ceiling_torque_n_m", "bmep_bar", "peak_pressure_bar",
    "clamp_ratio", "rod_compression_kn", "rod_tension_kn", "chance_any", "governing",
)  # fmt: skip


def limit_table(p: Proposal, units: Units, full: bool = False) -> Table:
    """The torque-limit table: what governs a row, its chances, and what it was judged at."""
    shown = limit_columns.shown_of(p, units)
    empty = {
        "advance_not_above_deg": all(row.advance_not_above is None for row in p.rows),
        "pressure": all(row.pressure is None for row in p.rows),
        "knock_chance": all(row.knock_chance is None for row in p.rows),
    }
    keys = [k for k in LIMIT_COLUMNS if not empty.get(k) and (full or k not in ONLY_FULL)]
    peak = int(np.argmax([row.limit for row in p.rows]))
    return table_of(
        "Torque-limit table" if p.verified else "Torque-limit table, not proved",
        chosen(limit_columns.COLUMNS, keys),
        p.rows,
        shown,
        kind="numbers",
        marked=frozenset({peak}),
        whole=len(p.rows) <= MOST_KEPT,
    )


def before_after(p: Proposal, units: Units) -> Table:
    """The measured run and the run under the table, side by side."""
    a = p.assessment
    over = answers_of(p.measured).over_known, answers_of(p.fresh).over_known
    known = () if over[0] is None else ("over",)
    keys = ("name", "torque", "speed", "area", *known, *changes.CHANCES)
    return table_of(
        "Before and after", chosen(changes.COLUMNS, keys), changes.curves(p, over),
        speeds.shown_of(a, units),
    )  # fmt: skip


def parts_table(a: Assessment, accepted: float, full: bool = False) -> Table:
    """Limits of the measured run, worst first: those that some engine passes, three at least.

    full: all of them, guidance too, with what each protects and what would raise it.
    """
    count, over = a.model.every.count, answers_of(a).over_known
    ranked = [(v.name, v.worst, v.state) for v in verdicts(a)]
    if full:
        guidance = [(n, i) for n, i in a.limits.items() if i.limit.kind not in JUDGED]
        for name, item in sorted(guidance, key=lambda g: -float(g[1].utilisation.max())):
            worst = max(item.state(accepted, a.evidence.kept), key=SEVERITY.__getitem__)
            ranked.append((name, worst_speed(item), worst))
    else:
        never = never_passed(a)
        ranked = [r for r in ranked if r[0] not in never]
    return Table(
        title="Part by part, each at its worst speed of the measured run",
        headings=[
            ("limit", ""), ("speed", "rpm"), ("load", ""), ("to spare (5 to 95 %)", ""),
            ("load over strength, 1 at the line", ""), ("over all speeds", ""),
            ("pass it", f"of {count:,}"),
            *([] if over is None else [("over", "known")]),
            *([("what would raise it", "")] if full else []),
        ],
        rows=[_part(a, name, k, state, full) for name, k, state in ranked],
        words_in=frozenset({3, 4, 5, 7 if over is None else 8}),
        kind="parts full" if full else "parts",
        whole=not full,
    )  # fmt: skip


def never_passed(a: Assessment) -> list[str]:
    """Names of limits that no simulated engine passes; three limits at least are left for rows."""
    told = [v.name for v in verdicts(a)]
    count = a.model.every.count
    return [n for n in told[LEAST_PARTS:] if round(float(a.limits[n].chance.max()) * count) == 0]


def _part(a: Assessment, name: str, k: int, state: State, full: bool) -> list[str]:
    item, over = a.limits[name], answers_of(a).over_known
    limit, (unit, size) = item.limit, prose.limit_unit(item.limit)
    middle, low, high = prose.with_range(item.margin, k, size)
    half = float(item.margin.p95[k] - item.margin.p05[k]) / 2 / size
    ratio = ratio_band(a, item)
    protects = limit.protects.split(":")[0]
    return [
        Markup("{}<small>{}</small>").format(limit.title, protects) if full else limit.title,
        prose.plain(a.speed[k] / RPM),
        f"{prose.rounded(float(item.load.p50[k]) / size, half)} {unit}",
        f"{middle} {unit} ({low} to {high})",
        ratio_bar((float(ratio.p05[k]), float(ratio.p50[k]), float(ratio.p95[k])), state),
        state_mark(state) if limit.kind in BINDING else "guidance only",
        prose.chance_count(float(item.chance[k]), a.model.every.count),
        *([] if over is None else [over_known_of(over, name, k)]),
        *([limit.lifted_by] if full else []),
    ]


def not_assessed(a: Assessment, full: bool = False) -> list[str]:
    """Limits that were not assessed, in full with what they want."""
    titles = {limit.name: limit.title for limit in ALL_LIMITS}
    wanted = {n: missing for n, missing in a.not_assessed.items() if wants_inputs(missing)}
    if full:
        return [
            f"{titles[name]}: wants {', '.join(_label(a.engine, m) for m in missing)}."
            for name, missing in wanted.items()
        ]
    return (
        [f"For want of inputs: {', '.join(titles[n].lower() for n in wanted)}."] if wanted else []
    )


def _label(engine: Engine, name: str) -> str:
    try:
        return engine.declaration(name).words
    except (AttributeError, KeyError):
        return name


def assumed_table(a: Assessment) -> Table:
    """Every assumed input that the result rests on: value, unit, spread, reason."""
    rows = []
    for name in answers_of(a).assumed:
        declaration = a.engine.declaration(name)
        value, spread = _assumed(a.engine, name)
        rows.append([declaration.label, value, spread, declaration.reason])
    return Table(
        title="Assumed inputs",
        headings=[("input", ""), ("taken as", ""), ("spread", "one sd"), ("reason", "")],
        rows=rows,
        words_in=frozenset({1, 2, 3}),
        kind="prose",
    )


def most_assumed(a: Assessment) -> str:
    """How many inputs are assumed, and as what those that drive the answer most."""
    names = answers_of(a).assumed_by_share
    if not names:
        return "Every input that the result rests on was given."
    told = []
    for name in names[:MOST_ASSUMED]:
        value, spread = _assumed(a.engine, name)
        told.append(f"{a.engine.declaration(name).words} {value} (one sd {spread})")
    return (
        f"{len(names)} inputs were not given. Those that drive the answer most: {'; '.join(told)}."
    )


def _assumed(engine: Engine, name: str) -> tuple[str, str]:
    """Value with its unit, and one standard deviation."""
    declaration = engine.declaration(name)
    if declaration.kind is None:
        return engine.word(name), "none"
    used = engine.value(name)
    if used.sd == 0:
        return declaration.in_words(used.value), "none"
    kind = declaration.kind
    sd = used.sd / kind.shown_size
    unit = {Kind.TEMPERATURE: "K", Kind.SHARE: "points"}.get(kind, kind.shown_unit)
    value = f"{prose.rounded(kind.shown(used.value), sd)} {kind.shown_unit}".rstrip()
    if declaration.absolute:
        return value, f"{prose.rounded(sd, sd)} {unit}".rstrip()
    return value, f"{prose.percent(used.relative_sd, 2)} of it"


def shares_table(found: Sensitivity, full: bool = False) -> Table:
    """What the range of the torque that all limits allow follows, most first."""
    rows = []
    for share in [s for s in found.shares if s.resolved][:MOST_DRIVERS]:
        # Made of a number and fixed words only.
        bar = Markup(
            '<svg class="ruler" viewBox="0 0 116 16" aria-hidden="true">'
            f'<rect fill="var(--estimate)" x="3" y="4" width="{108 * share.share:.1f}" '
            'height="8"/></svg>'
        )
        known = "given" if share.given else "a default or a model"
        rows.append([share.label, prose.percent(share.share), bar, *([known] if full else [])])
    return Table(
        title="Share of the range that follows each input alone",
        headings=[
            ("input", ""), ("share", ""), ("", ""), *([("how it is known", "")] if full else []),
        ],
        rows=rows,
        words_in=frozenset({2, 3}),
        kind="prose",
    )  # fmt: skip


def drivers(a: Assessment, units: Units, full: bool = False) -> dict[str, object]:
    """What drives the answer and what to measure next, as sentences and a table."""
    found = answers_of(a).sensitivity
    subject = subject_in_words(a, found)
    return {
        "where": f"{subject[0].upper()}{subject[1:]}.",
        "table": shares_table(found, full),
        "rest": f"{prose.percent(found.rest)} is shared among inputs or too small to tell.",
        "next": next_in_words(found, units),
        "worth": measures_in_words(found, MOST_MEASURES, units)[: None if full else FEW_MEASURES],
    }


def by_speed(p: Proposal, units: Units) -> Table:
    """The numbers behind the pictures, at every speed."""
    a = p.assessment
    limit = np.interp(a.speed, p.shape.breakpoints, p.shape.limit)
    proposed = Column[At[Assessment]](
        key="limit", value=lambda r: limit[r.k], measure=prose.torque_unit, name="limit"
    )
    return table_of(
        "The measured run, speed by speed",
        chosen((*speeds.COLUMNS, proposed), BY_SPEED),
        [At(a, k) for k in range(len(a.speed))],
        speeds.shown_of(a, units),
        kind="numbers",
    )
