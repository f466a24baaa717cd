"""The columns of the torque-limit table.

A row beyond the run is not assessed: what governs it reads so, and its other cells are empty.
"""

import math
from collections.abc import Mapping, Sequence

import numpy as np

from torquerisk.files.exports import TableColumn
from torquerisk.quantities import DEGREE, KILO, RPM
from torquerisk.show.words import prose
from torquerisk.show.words.columns import Column, Shown
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.results import (
    HEARD,
    LIFT_SEEN,
    Assessment,
    Binding,
    JudgedTable,
    LaterPhasing,
    LimitRow,
    PressureTarget,
    Proposal,
)

ROUNDING = 1e-6
"""Tenths of a degree that are no more than rounding."""
BEYOND_RUN = "not assessed"
"""What stands for the governing limit in a row beyond the run."""

LEAST_ERROR, ONE_DIGIT = 0.05, 9.95
"""Sampling error below which none is shown, and below which a tenth is."""
NEAR = 0.03
"""Share of its torque within which a row is at its ceiling: less is the curve's own evenness."""
MADE = "what it makes"
"""What decides a row that allows all that the engine can make there, with room to its ceiling."""
EVEN = "an even curve"
"""What decides a row that the rules of shape keep well below its ceiling."""
OPEN = "the highest torque of the model, for nothing limits it"


def titles_of(assessment: Assessment) -> dict[str, str]:
    """The limits' titles by name, with those of what was heard or seen of the engine."""
    limits = [HEARD, LIFT_SEEN, *(item.limit for item in assessment.limits.values())]
    return {limit.name: limit.title for limit in limits}


def limited_at(judged: JudgedTable, speeds: Sequence[float]) -> list[str]:
    """What limits somebody's own table at its rows. speeds: [rad/s]."""
    speed, titles = judged.assessment.speed, titles_of(judged.assessment)
    nearest = [int(np.argmin(np.abs(speed - s))) for s in speeds]
    return [
        titles[judged.governing[k]].lower() if speed[0] <= s <= speed[-1] else BEYOND_RUN
        for k, s in zip(nearest, speeds, strict=True)
    ]


def governor(
    held_by: Binding, title: str, spare: float | None, limit: tuple[float, float | None],
    step: float,
) -> str:  # fmt: skip
    """What decides a row: its governing limit, what the engine makes, or the curve's evenness.

    title: of the limit that governs there; spare: left to the ceiling [N*m]; limit: the row's
    torque, and what the engine can make there, None for open; step: of the table's torques [N*m].
    """
    torque, made = limit
    if held_by is Binding.NOT_ASSESSED:
        return BEYOND_RUN
    if spare is not None and spare >= 2 * step and made is not None and made - torque < step:
        return MADE
    if held_by is Binding.OPEN:
        return OPEN
    strength = held_by in (Binding.CEILING, Binding.NO_TORQUE)
    if strength or (spare is not None and spare < max(step, NEAR * torque)):
        return title
    return EVEN  # held to what is made at another speed, which the rules of shape join to this one


def row_limited_by(row: LimitRow, titles: Mapping[str, str], step: float) -> str:
    """What decides a row of a proposed table, as a heading writes it."""
    if not row.assessed:
        return BEYOND_RUN
    held = Binding(row.held_by)
    told = governor(held, titles[row.governing], row.spare, (row.limit, row.made), step)
    return f"{told[0].upper()}{told[1:]}"


def decimals_of(resolution: float) -> int:
    """Decimals that a torque step needs, three at most."""
    return next((d for d in range(3) if abs(resolution * 10**d % 1) < 1e-9), 3)


def shown_of(proposal: Proposal, units: Units) -> Shown:
    """How the cells of a proposal are written."""
    return Shown(
        units=units,
        titles=titles_of(proposal.assessment),
        step=proposal.policy.step,
        draws=proposal.finer.model.every.count,
        decimals=decimals_of(proposal.policy.step) if units is Units.SI else 1,
    )


def degrees(angle: float | None) -> float | None:
    """An angle [rad] in degrees, or None."""
    return None if angle is None else angle / DEGREE


def spare_state(row: LimitRow) -> str:
    """What the torque to spare is, in a word or two."""
    return BEYOND_RUN if row.spare is None else prose.torque_state(row.spare)


def not_before_degrees(row: LimitRow) -> float | None:
    """Earliest phasing that a row can carry [degrees after firing TDC], tenths rounded up.

    None too where not even the latest judged holds.
    """
    earliest = row.ca50_not_before
    return None if earliest is None else float(np.ceil(10 * earliest / DEGREE - ROUNDING) / 10)


def not_before(row: LimitRow) -> str:
    """The same in words: 'none' where not even the latest judged holds."""
    earliest = not_before_degrees(row)
    if not row.assessed:
        return ""
    return "none" if earliest is None else prose.plain(earliest, 1)


def down_to_tenths(angle: float) -> float:
    """An angle [rad] rounded down to a tenth of a degree: a most stays one."""
    return float(np.floor(10 * angle / DEGREE + ROUNDING) / 10) * DEGREE


def tenths_down(angle: float) -> str:
    """The same in tenths of a degree, as a word."""
    return prose.plain(down_to_tenths(angle) / DEGREE, 1)


def _advance_not_above(row: LimitRow) -> str:
    if not row.assessed:
        return ""
    return "none" if row.advance_not_above is None else tenths_down(row.advance_not_above)


def _limit(row: LimitRow, shown: Shown) -> str:
    return prose.plain(row.limit / prose.torque_unit(shown.units).size, shown.decimals)


def _spare(row: LimitRow, shown: Shown) -> str:
    size = prose.torque_unit(shown.units).size
    if row.spare is None or row.sampling_error is None:
        return ""
    told, error = prose.open_or_none(row.spare, size), row.sampling_error / size
    known = math.isfinite(row.spare) and math.isfinite(error) and error >= LEAST_ERROR
    return f"{told} ± {prose.plain(error, int(error < ONE_DIGIT))}" if known else told


def starred(target: PressureTarget | None) -> str:
    """Manifold pressure [kPa], with a star where it is beyond trust."""
    if target is None:
        return "none"
    return f"{prose.plain(target.value / KILO)}{'' if target.trusted else ' *'}"


def _boost(row: LimitRow, shown: Shown) -> str:
    if row.pressure is None:
        return ""
    size = prose.boost_unit(shown.units).size
    return prose.plain(row.pressure.boost / size, 0 if shown.units is Units.SI else 1)


def _or_none(value: float | None) -> str:
    """An angle [rad] in whole degrees, 'none' where no phasing does."""
    return "none" if value is None else prose.plain(value / DEGREE)


def _later(step: LaterPhasing) -> dict[str, float | None]:
    return {
        "ca50_later_deg": degrees(step.ca50_later),
        "advance_less_deg": degrees(step.advance_less),
        "torque_gain_n_m": step.gain,
    }


COLUMNS: tuple[Column[LimitRow], ...] = (
    Column(key="speed_rpm", value=lambda r: r.speed, size=RPM, unit="rpm", text="rpm",
           name="speed"),
    Column(key="torque_limit_n_m", value=lambda r: r.limit, measure=prose.torque_unit,
           text="limit\n{unit}", name="limit", cell=_limit),
    Column(key="power_kw", value=lambda r: r.power, size=KILO, measure=prose.power_unit,
           text="power\n{unit}", name="power"),
    Column(key="governing", value=lambda r: r.governing, text="limited by", name="limited by",
           words=True,
           cell=lambda r, shown: row_limited_by(r, shown.titles, shown.step)),
    Column(key="assessed", value=lambda r: r.assessed),
    Column(key="chance", value=lambda r: r.chance, text="fail, of\n{draws}", name="fail",
           report_unit="of {draws}", counted=True),
    Column(key="ca50_deg", value=lambda r: r.ca50, size=DEGREE, unit="deg", decimals=1,
           text="CA50\ndeg", name="judged at CA50", report_unit="° after TDC"),
    Column(key="ca50_not_before_deg", value=lambda r: r.ca50_not_before, size=DEGREE, unit="deg",
           decimals=1, text="CA50\nfrom", name="CA50 not before", report_unit="° after TDC",
           number=not_before_degrees, cell=lambda r, _: not_before(r)),
    Column(key="manifold_pressure_kpa", value=lambda r: r.manifold_pressure, size=KILO,
           unit="kPa abs", text="manifold\nkPa", name="manifold"),
    Column(key="held_by", value=lambda r: r.held_by, name="held by", words=True),
    Column(key="spare_n_m", value=lambda r: r.spare, measure=prose.torque_unit,
           text="spare\n{unit}", name="to spare", cell=_spare),
    Column(key="sampling_error_n_m", value=lambda r: r.sampling_error),
    Column(key="spare_state", value=spare_state),
    Column(key="lifted_by", value=lambda r: r.lifted_by),
    Column(key="held_at_rpm", value=lambda r: r.held_at, size=RPM),
    Column(key="knock_chance", value=lambda r: r.knock_chance, text="knock", name="knock",
           report_unit="of {draws}", counted=True),
    Column(key="abnormal_chance", value=lambda r: r.abnormal_chance),
    Column(key="later", value=lambda r: [_later(step) for step in r.later]),
    Column(key="ignition_advance_deg", size=DEGREE, unit="deg",
           value=lambda r: None if r.advance_asked is None else down_to_tenths(r.advance_asked),
           text="advance\ndeg", cell=lambda r, _: ""
           if r.advance_asked is None else tenths_down(r.advance_asked)),
    Column(key="advance_not_above_deg", size=DEGREE,
           value=lambda r: None if r.advance_not_above is None
           else down_to_tenths(r.advance_not_above),
           unit="deg", text="advance\nat most", name="advance at most",
           report_unit="° before TDC",
           cell=lambda r, _: _advance_not_above(r)),
    Column(key="manifold_pressure_sd_kpa", value=lambda r: r.pressure and r.pressure.sd,
           size=KILO, text="+/-\nkPa"),
    Column(key="manifold_pressure_trusted_kpa", text="trusted\nkPa",
           value=lambda r: r.pressure
           and {"low": r.pressure.low / KILO, "high": r.pressure.high / KILO},
           cell=lambda r, _: "" if r.pressure is None
           else f"{prose.plain(r.pressure.low / KILO)} to {prose.plain(r.pressure.high / KILO)}"),
    Column(key="manifold_pressure_trusted", value=lambda r: r.pressure and r.pressure.trusted,
           text="within",
           cell=lambda r, _: "" if r.pressure is None else "yes" if r.pressure.trusted else "no"),
    Column(key="retard", value=lambda r: r.retard and {
        "ca50_later_deg": degrees(r.retard.ca50_later),
        "sd_deg": degrees(r.retard.sd),
        "ca50_deg": degrees(r.retard.ca50),
    }),
    Column(key="retard_later", json=False, value=lambda r: None, text="retard\ndeg",
           cell=lambda r, _: _or_none(r.retard.ca50_later if r.retard else None)),
    Column(key="retard_to", json=False, value=lambda r: None, text="to CA50\ndeg",
           cell=lambda r, _: _or_none(r.retard.ca50 if r.retard else None)),
    Column(key="target", json=False, value=lambda r: r.manifold_pressure, size=KILO,
           text="pressure\nkPa abs"),
    Column(key="pressure", json=False, value=lambda r: r.manifold_pressure, unit="kPa abs",
           name="manifold", cell=lambda r, _: starred(r.pressure)),
    Column(key="boost", json=False, value=lambda r: r.pressure and r.pressure.boost,
           measure=prose.boost_unit, name="boost", text="boost\n{short}", cell=_boost),
)  # fmt: skip
BY_KEY = {column.key: column for column in COLUMNS}


def table_column(
    rows: Sequence[LimitRow], key: str, decimals: int | None, shown: Shown, name: str = ""
) -> TableColumn:
    """A column of numbers or words that leaves, or that the page's tables show."""
    column = BY_KEY[key]
    cell = column.in_words if column.words else lambda row, of: column.shown(row, of.units)
    return TableColumn(
        name=name or column.name, unit=column.unit_in(shown.units), decimals=decimals,
        values=[cell(row, shown) for row in rows],
    )  # fmt: skip
