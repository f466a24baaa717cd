"""The report's tables and lists as plain words, from one proposal; no markup but marks and bars."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from torquerisk.case import Engine
from torquerisk.case.declare import Kind
from torquerisk.quantities import BAR, KILO, RPM
from torquerisk.show.pictures.risk import ratio_band
from torquerisk.show.pictures.still import in_variables
from torquerisk.show.pictures.still_pieces import paint, symbol
from torquerisk.show.pictures.style import LIGHT, STATE_SYMBOL
from torquerisk.show.words import limit_columns, prose
from torquerisk.show.words.drivers import measures_in_words, next_in_words, subject_in_words
from torquerisk.show.words.in_short import SEVERITY, verdicts, worst_speed
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    BINDING,
    JUDGED,
    Assessment,
    LimitResult,
    Proposal,
    Sensitivity,
    State,
    Tally,
    wants_inputs,
)

AREA = 1e6 * RPM
"""One MW·rpm of area under power [W*rad/s]."""
MOST_DRIVERS, MOST_MEASURES = 6, 5
RATIO_END = 1.6
MOST_KEPT = 24
"""Rows of the limit table that still fit on a page."""


@dataclass(frozen=True, kw_only=True)
class Table:
    """Headings with units, and rows of words; the first column names the row."""

    title: str
    headings: Sequence[tuple[str, str]]
    """Name and unit ('' for words)."""
    rows: Sequence[Sequence[str]]
    words_in: frozenset[int] = frozenset()
    """Columns of words, set to the left."""
    kind: str = ""
    marked: frozenset[int] = frozenset()
    """Rows that stand out."""
    whole: bool = False
    """Kept on one page of paper."""


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
    "knock_chance", "ca50_deg", "ca50_not_before_deg",
)  # fmt: skip


def limit_table(p: Proposal, units: Units) -> Table:
    """The torque-limit table: what governs a row, what holds it, and what it was judged at."""
    shown = limit_columns.shown_of(p, units)
    keys = list(LIMIT_COLUMNS)
    if any(row.advance_not_above is not None for row in p.rows):
        keys.append("advance_not_above_deg")
    if any(row.pressure is not None for row in p.rows):
        keys.append("pressure")
    columns = limit_columns.chosen(keys)
    peak = int(np.argmax([row.limit for row in p.rows]))
    return Table(
        title="Torque-limit table" if p.verified else "Table that did not pass its check",
        headings=[
            (c.name, c.report_unit.format(draws=f"{shown.draws:,}") or c.unit_in(units))
            for c in columns
        ],
        rows=limit_columns.rows_in_words(p.rows, columns, shown),
        words_in=frozenset({3, 4}),
        kind="numbers",
        marked=frozenset({peak}),
        whole=len(p.rows) <= MOST_KEPT,
    )


def before_after(p: Proposal, units: Units) -> Table:
    """The measured run and the run under the table, side by side."""
    a = p.assessment
    count, top = a.model.every.count, int(np.argmax(a.torque))
    unit, size = prose.torque_unit(units)

    def row(name: str, speed: float, torque: float, tally: Tally, *chances: float) -> list[str]:
        return [
            name,
            prose.plain(torque / size),
            prose.plain(speed / RPM),
            prose.plain(tally.area / AREA),
            *(prose.chance_count(x, count) for x in (tally.chance_any_max, *chances)),
        ]

    return Table(
        title="Before and after",
        headings=[
            ("", ""), ("peak torque", unit), ("at", "rpm"), ("area under power", "MW·rpm"),
            ("exceed at the worst speed", f"of {count:,}"), ("exceed in one pull", f"of {count:,}"),
            (f"exceed in {a.policy.pulls:,} pulls", f"of {count:,}"),
        ],
        rows=[
            row("as measured", float(a.speed[top]), float(a.torque[top]), p.before,
                a.chance_pull, a.chance_pulls),
            row("with the table", p.peak_speed, p.peak_torque, p.after,
                p.chance_pull, p.chance_pulls),
        ],
    )  # fmt: skip


def parts_table(a: Assessment, accepted: float) -> Table:
    """Every limit of the measured run, worst first; guidance that is no verdict last."""
    count = a.model.every.count
    ranked = [(v.item, v.worst, v.state) for v in verdicts(a)]
    guidance = [i for i in a.limits.values() if i.limit.kind not in JUDGED]
    for item in sorted(guidance, key=lambda i: -float(i.utilisation.max())):
        worst = max(item.state(accepted), key=SEVERITY.__getitem__)
        ranked.append((item, worst_speed(item), worst))
    rows = [
        _part(a, item, k, state, count, item.limit.kind in BINDING) for item, k, state in ranked
    ]
    return Table(
        title="Part by part, each at its worst speed of the measured run",
        headings=[
            ("limit", ""), ("speed", "rpm"), ("load", ""), ("strength", ""),
            ("to spare (5 to 95 %)", ""), ("load over strength, 1 at the line", ""),
            ("over all speeds", ""), ("exceed", f"of {count:,}"), ("what would lift it", ""),
        ],
        rows=rows,
        words_in=frozenset({4, 5, 6, 8}),
        kind="parts",
    )  # fmt: skip


def _part(
    a: Assessment, item: LimitResult, k: int, state: State, count: int, binding: bool
) -> list[str]:
    limit, size = item.limit, item.limit.unit_size
    middle, low, high = prose.with_range(item.margin, k, size)
    half = float(item.margin.p95[k] - item.margin.p05[k]) / 2 / size
    ratio = ratio_band(a, item)
    protects = limit.protects.split(":")[0]
    return [
        Markup("{}<small>{}</small>").format(limit.title, protects),
        prose.plain(a.speed[k] / RPM),
        f"{prose.rounded(float(item.load.p50[k]) / size, half)} {limit.unit}",
        f"{prose.rounded(float(item.strength.p50[k]) / size, half)} {limit.unit}",
        f"{middle} {limit.unit} ({low} to {high})",
        ratio_bar((float(ratio.p05[k]), float(ratio.p50[k]), float(ratio.p95[k])), state),
        state_mark(state) if binding else "guidance only",
        prose.chance_count(float(item.chance[k]), count),
        limit.lifted_by,
    ]


def not_assessed(a: Assessment) -> list[str]:
    """Limits that were not assessed, with what they want."""
    told = []
    for name, missing in a.not_assessed.items():
        title = name.replace("_", " ").capitalize()
        if not wants_inputs(missing):
            told.append(f"{title}: for {missing[0]} only.")
            continue
        wanted = [_label(a.engine, m) for m in missing]
        told.append(f"{title}: wants {', '.join(wanted)}.")
    return told


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


def shares_table(found: Sensitivity) -> Table:
    """What the range of the torque that all limits allow follows, most first."""
    rows = []
    for share in [s for s in found.shares if s.resolved][:MOST_DRIVERS]:
        # Made of a number and fixed words only.
        bar = Markup(
            '<svg class="ruler" viewBox="0 0 116 16" aria-hidden="true">'
            f'<rect fill="var(--estimate)" x="3" y="4" width="{108 * share.share:.1f}" '
            'height="8"/></svg>'
        )
        known = "given, with its spread" if share.given else "not given: a default or a model"
        rows.append([share.label, prose.percent(share.share), bar, known])
    return Table(
        title="Share of the range that follows each input alone",
        headings=[("input", ""), ("share", ""), ("", ""), ("how it is known", "")],
        rows=rows,
        words_in=frozenset({2, 3}),
        kind="prose",
    )


def drivers(a: Assessment, units: Units) -> dict[str, object]:
    """What drives the answer and what to measure next, as sentences and a table."""
    found = answers_of(a).sensitivity
    subject = subject_in_words(a, found)
    return {
        "where": f"{subject[0].upper()}{subject[1:]}, where least is to spare.",
        "table": shares_table(found),
        "rest": f"{prose.percent(found.rest)} is shared among inputs or too small to tell.",
        "next": next_in_words(found, units),
        "worth": measures_in_words(found, MOST_MEASURES, units),
    }


def by_speed(p: Proposal, units: Units) -> Table:
    """The numbers behind the pictures, at every speed."""
    a = p.assessment
    unit, size = prose.torque_unit(units)
    count = a.model.every.count
    limit = np.interp(a.speed, p.shape.breakpoints, p.shape.limit)
    rows = []
    for k in range(len(a.speed)):
        middle, low, high = prose.with_range(a.peak_pressure, k, BAR)
        rows.append(
            [
                prose.plain(a.speed[k] / RPM),
                prose.plain(a.torque[k] / size),
                prose.plain(limit[k] / size),
                prose.open_or_none(float(a.ceiling[k]), size),
                prose.plain(a.bmep[k] / BAR, 1),
                f"{middle} ({low} to {high})",
                prose.plain(a.clamp_ratio[k], 2),
                prose.plain(a.rod_compression[k] / KILO),
                prose.plain(a.rod_tension[k] / KILO),
                prose.chance_count(float(a.chance_any[k]), count),
                a.limits[a.governing[k]].limit.title,
            ]
        )
    return Table(
        title="The measured run, speed by speed",
        headings=[
            ("speed", "rpm"), ("torque", unit), ("limit", unit), ("at accepted chance", unit),
            ("BMEP", "bar"), ("peak pressure", "bar"), ("clamp over gas force", ""),
            ("rod pushed", "kN"), ("rod pulled", "kN"), ("exceed", f"of {count:,}"),
        ("knock", f"of {count:,}"),
            ("governed by", ""),
        ],
        rows=rows,
        words_in=frozenset({5, 10}),
        kind="numbers",
    )  # fmt: skip
