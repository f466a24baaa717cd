"""The JSON document of `compare`: runs side by side."""

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from torquerisk.case import Notice
from torquerisk.quantities import RPM
from torquerisk.show.documents.assessed import KILOWATT_RPM, envelope, suffix
from torquerisk.show.documents.json_numbers import POINTS, Document, finite, keyed
from torquerisk.show.words.columns import At
from torquerisk.show.words.comparison import OF_PAIR, OF_RUN, compare_in_words, sides_of
from torquerisk.show.words.notices import by_run
from torquerisk.study.answers.results import Assessment, Comparison, Least, Side


def compare_document(
    runs: Sequence[Assessment], compared: Sequence[Comparison], extra: Iterable[Notice] = ()
) -> Document:
    """The document of `compare` for assessed runs, each further one held against the first.

    Where there are two runs, what is of a pair is one value; else it is one by further run.
    """
    c, sides = compared[0], sides_of(compared)
    notices = by_run([assessment.notices for assessment in runs])
    return {
        **envelope((*extra, *notices)),
        "engine": runs[0].engine.name,
        "runs": {s.ordinal: _run(a, s) for a, s in zip(runs, sides, strict=True)},
        "band_rpm": [v / RPM for v in c.band],
        "comparable_from_rpm": c.comparable_from / RPM,
        "area_kw_rpm": _each(sides, lambda s: s.area / KILOWATT_RPM),
        "area_ratio": _pairs(compared, lambda p: p.area_ratio),
        "equal_peak_power_area_ratio": _pairs(compared, lambda p: p.at_equal_peak_power),
        "equal_manifold_pressure_area_ratio": _pairs(compared, lambda p: p.at_equal_boost),
        "one_air_area_ratio": _pairs(compared, lambda p: p.in_one_air),
        "sweep_time_s": {
            **_each(sides, lambda s: s.sweep_time),
            "inertia_kg_m2": c.inertia,
            "inertia_given": c.inertia_given,
        },
        "same_dyno": c.same_dyno,
        "least_margin": _each(sides, lambda s: _least(s.least)),
        "differences": _pairs(compared, _differences),
        "text": " ".join(compare_in_words(compared)),
        "by_speed": [_at_speed(compared, k) for k in range(len(c.speed))],
    }


def _each(sides: Sequence[Side], of: Callable[[Side], Any]) -> Document:
    """One value for every run."""
    return {side.ordinal: of(side) for side in sides}


def _pairs(compared: Sequence[Comparison], of: Callable[[Comparison], Any]) -> Any:
    """What is of a pair: one value where there are two runs, else one for every further run."""
    if len(compared) == 1:
        return of(compared[0])
    return {c.second.ordinal: of(c) for c in compared}


def _differences(c: Comparison) -> list[Document]:
    return [
        {
            "name": d.name,
            "label": d.label,
            "first": d.first,
            c.second.ordinal: d.second,
            "measuring": d.measuring,
        }
        for d in c.differences
    ]


def _run(assessment: Assessment, side: Side) -> Document:
    return {
        "name": side.name,
        "run_sha256": assessment.run.digest,
        "reading": list(side.steps),
        "draws": side.draws,
        "chance_pull": side.chance_pull,
        "chance_pulls": side.chance_pulls,
        "judged_without": list(side.left_out),
        "all_logged_chance_any_max": side.worst_by_all,
    }


def _least(least: Least) -> Document:
    limit = least.limit
    margin = zip(POINTS, least.margin, strict=True)
    return {
        "limit": limit.name,
        "speed_rpm": least.speed / RPM,
        "utilisation": finite(least.utilisation),
        "chance": least.chance,
        f"margin_{suffix(limit.unit)}": {k: finite(v / limit.unit_size) for k, v in margin},
    }


def _at_speed(compared: Sequence[Comparison], k: int) -> Document:
    c = compared[0]
    runs = _turned(_each(sides_of(compared), lambda s: keyed(OF_RUN, At(s, k))))
    pairs = _pairs(compared, lambda p: keyed(OF_PAIR, At(p, k)))
    return {
        "speed_rpm": float(c.speed[k]) / RPM,
        "comparable": bool(c.comparable[k]),
        **runs,
        **(pairs if len(compared) == 1 else _turned(pairs)),
    }


def _turned(by_run: Document) -> Document:
    """Columns by run as runs by column."""
    keys = next(iter(by_run.values()))
    return {key: {run: of[key] for run, of in by_run.items()} for key in keys}
