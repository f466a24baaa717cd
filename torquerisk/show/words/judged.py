"""The columns of a table of one's own by speed, against what the engine carries."""

import math

from torquerisk.show.words import prose
from torquerisk.show.words.columns import At, Column, Shown, speed
from torquerisk.study.answers.results import JudgedTable

Row = At[JudgedTable]


def _torque(value: float, shown: Shown, beyond: str) -> str:
    """A torque, or a word where there is no end to it."""
    return prose.plain(value / prose.torque_unit(shown.units).size) if math.isfinite(
        value) else beyond  # fmt: skip


COLUMNS: tuple[Column[Row], ...] = (
    speed(lambda r: r.of.assessment.speed[r.k]),
    Column(key="torque_limit_n_m", value=lambda r: r.of.judgement.limit[r.k],
           measure=prose.torque_unit, text="table\n{unit}", name="your table"),
    Column(key="delivered_torque_n_m", value=lambda r: r.of.delivered[r.k]),
    Column(key="ceiling_torque_n_m", value=lambda r: r.of.ceiling[r.k],
           measure=prose.torque_unit, text="carries\n{unit}", name="carries",
           cell=lambda r, shown: prose.open_or_none(
               float(r.of.ceiling[r.k]), prose.torque_unit(shown.units).size)),
    Column(key="ceiling_state", value=lambda r: prose.torque_state(float(r.of.ceiling[r.k]))),
    Column(key="excess_n_m", value=lambda r: r.of.judgement.unsafe_excess[r.k],
           measure=prose.torque_unit, text="over\n{unit}", name="too high by",
           cell=lambda r, shown: _torque(r.of.judgement.unsafe_excess[r.k], shown, "all")),
    Column(key="excess_delivered_n_m", value=lambda r: r.of.judgement.unsafe_delivered[r.k]),
    Column(key="unused_n_m", value=lambda r: r.of.judgement.unused[r.k],
           measure=prose.torque_unit, text="unused\n{unit}", name="left unused",
           cell=lambda r, shown: _torque(r.of.judgement.unused[r.k], shown, "open")),
    Column(key="state", value=lambda r: r.of.state[r.k].value, text="verdict",
           name="verdict", words=True),
    Column(key="chance", value=lambda r: r.of.chance[r.k], text="fail, of\n{draws}",
           name="pass a limit, of {draws}", counted=True),
    Column(key="chance_delivered", value=lambda r: r.of.chance_delivered[r.k]),
    Column(key="knock_chance", text="knock", counted=True,
           value=lambda r: None if _diesel(r) else r.of.knock_chance[r.k]),
    Column(key="abnormal_chance",
           value=lambda r: None if _diesel(r) else r.of.abnormal.chance_harm[r.k]),
    Column(key="governing", value=lambda r: r.of.governing[r.k], text="limited by",
           name="limited by", words=True, cell=lambda r, shown: shown.titles[r.of.governing[r.k]]),
)  # fmt: skip


def columns_in_words(judged: JudgedTable) -> str:
    """What the printed columns are."""
    knock = (
        "" if _diesel(Row(judged, 0)) else "; knock: engines that knock at the phasing judged at"
    )
    made = "" if judged.reach is None else ", up to what the engine makes"
    return (
        "carries: torque at the accepted chance; over: what the table allows beyond that; unused: "
        f"what the table leaves of it{made}; fail: engines in which a part gives way at the "
        f"table's torque, in all pulls{knock}."
    )


def _diesel(row: Row) -> bool:
    return row.of.assessment.engine.compression_ignition


def own_rows(judged: JudgedTable) -> list[int]:
    """Indices on the grid of the table's own speeds in the run."""
    speeds = judged.assessment.speed
    inside = (judged.breakpoints >= speeds[0]) & (judged.breakpoints <= speeds[-1])
    return sorted({int(abs(speeds - s).argmin()) for s in judged.breakpoints[inside]})


def shown_rows(judged: JudgedTable) -> list[Row]:
    """The table's own speeds, the worst one, and both ends of the run."""
    speeds = judged.assessment.speed
    worst = int(abs(speeds - judged.judgement.worst_speed).argmin())
    return [At(judged, k) for k in sorted({0, len(speeds) - 1, worst, *own_rows(judged)})]
