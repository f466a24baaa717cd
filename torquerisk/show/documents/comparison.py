"""The JSON document of `compare`: two runs side by side."""

from collections.abc import Iterable

from torquerisk.case import Notice
from torquerisk.case.sentence import Sentence
from torquerisk.quantities import BAR, KILO, RPM
from torquerisk.show.documents.assessed import KILOWATT_RPM, Document, envelope, suffix
from torquerisk.show.documents.json_numbers import POINTS, finite, points
from torquerisk.show.words.comparison import compare_in_words
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import Assessment, Comparison, Least, Side


def compare_document(
    first: Assessment,
    second: Assessment,
    comparison: Comparison | None = None,
    extra: Iterable[Notice] = (),
) -> Document:
    """The document of `compare` for two assessed runs. comparison: as made, else made here."""
    c = answers_of(first).against(second) if comparison is None else comparison
    notices = [
        Notice(notice.code, Sentence(f"{which} run: ", notice.text))
        for which, assessment in (("First", first), ("Second", second))
        for notice in assessment.notices
    ]
    return {
        **envelope((*extra, *notices)),
        "engine": first.engine.name,
        "runs": {"first": _run(first, c.first), "second": _run(second, c.second)},
        "area_kw_rpm": _pair(c.first.area / KILOWATT_RPM, c.second.area / KILOWATT_RPM),
        "sweep_time_s": {
            **_pair(c.first.sweep_time, c.second.sweep_time),
            "inertia_kg_m2": c.inertia,
            "inertia_given": c.inertia_given,
        },
        "same_dyno": c.same_dyno,
        "least_margin": {"first": _least(c.first.least), "second": _least(c.second.least)},
        "differences": [
            {
                "name": d.name,
                "label": d.label,
                "first": d.first,
                "second": d.second,
                "measuring": d.measuring,
            }
            for d in c.differences
        ],
        "text": " ".join(compare_in_words(c)),
        "by_speed": [_at_speed(c, k) for k in range(len(c.speed))],
    }


def _pair(first: float | None, second: float | None) -> Document:
    return {"first": first, "second": second}


def _run(assessment: Assessment, side: Side) -> Document:
    return {
        "name": side.name,
        "run_sha256": assessment.run.digest,
        "reading": list(side.steps),
        "draws": side.draws,
        "chance_pull": assessment.chance_pull,
        "chance_pulls": assessment.chance_pulls,
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


def _at_speed(c: Comparison, k: int) -> Document:
    one, two = c.first, c.second
    decided = "second" if c.more_second[k] else "first" if c.more_first[k] else "too close to call"
    return {
        "speed_rpm": float(c.speed[k]) / RPM,
        "torque_n_m": _pair(float(one.torque[k]), float(two.torque[k])),
        "torque_sd_n_m": _pair(float(one.torque_sd[k]), float(two.torque_sd[k])),
        "torque_difference_n_m": float(c.difference[k]),
        "too_close_n_m": float(c.too_close[k]),
        "more_torque": decided,
        "power_kw": _pair(float(one.power[k]) / KILO, float(two.power[k]) / KILO),
        "peak_pressure_bar": {
            "first": points(one.peak_pressure, k, BAR),
            "second": points(two.peak_pressure, k, BAR),
        },
        "chance_any": _pair(float(one.chance_any[k]), float(two.chance_any[k])),
    }
