"""The JSON document of `explain`: the dips of a curve and what each spares the engine."""

from collections.abc import Iterable
from typing import Any

from torquerisk.case import Notice
from torquerisk.quantities import DEGREE, RPM
from torquerisk.show.documents.assessed import envelope, suffix
from torquerisk.show.documents.json_numbers import POINTS, Document, finite, keyed
from torquerisk.show.words.dips import COLUMNS, FOR_DOTS, dips_in_words, explain_dip
from torquerisk.show.words.prose import torque_state
from torquerisk.show.words.word_list import WORD_LIST
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    Assessment,
    Cell,
    Dip,
    DipSide,
    Elsewhere,
    IgnitionLine,
    LimitChange,
)


def explain_document(assessment: Assessment, extra: Iterable[Notice] = ()) -> Document:
    """The document of `explain` for an assessed run."""
    found = answers_of(assessment).dips
    return {
        **envelope((*extra, *assessment.notices)),
        "engine": assessment.engine.name,
        "run": assessment.run.name,
        "draws": assessment.model.draws.count,
        "chance_accepted": assessment.policy.chance,
        "least_depth_n_m": answers_of(assessment).least_depth,
        "dips": [_dip(assessment, dip) for dip in found],
        "text": " ".join(dips_in_words(assessment, found)),
        "dots": FOR_DOTS,
        "words": [{"word": word, "meaning": meaning} for word, meaning in WORD_LIST],
    }


def _dip(assessment: Assessment, dip: Dip) -> Document:
    told = explain_dip(assessment, dip)
    shown = dip.shown
    return {
        **keyed(COLUMNS, dip),
        "line": {"from_n_m": dip.from_torque, "to_n_m": dip.to_torque},
        "protects": dip.protects,
        "acceptable_torque_n_m": finite(dip.acceptable_torque),
        "acceptable_state": torque_state(dip.acceptable_torque),
        "explained": dip.explained,
        "elsewhere": _elsewhere(dip.elsewhere),
        "over_anyway": dip.over_anyway,
        "early_ignition_costs": dip.early_ignition_costs,
        "ignition_line": _ignition(dip.ignition),
        "text": told.text,
        "what": told.what,
        "why": told.why,
        "signs": [
            {"channel": sign.channel, "text": text}
            for sign, text in zip(dip.signs, told.signs, strict=True)
        ],
        "unsaid": told.unsaid,
        "how_sure": told.how_sure,
        "lifted_by": told.lifted_by,
        "drawn_straight_across": list(dip.carried),
        "abnormal_chance": {"with": dip.abnormal_with, "without": dip.abnormal_without},
        "limits": {name: _change(change) for name, change in dip.changes.items()},
        "dots": None if shown is None else _dots(shown),
    }


def _elsewhere(place: Elsewhere | None) -> Document | None:
    """Where outside the dips the protected limit is likeliest to be passed."""
    return None if place is None else {"speed_rpm": place.speed / RPM, "chance": place.chance}


KEYS = {
    Cell.AS_LOGGED: "with",
    Cell.BOTH: "without",
    Cell.TORQUE: "without_ignition_as_logged",
    Cell.IGNITION: "with_ignition_on_line",
}
"""Key of each cell. The last two are left out where ignition was not logged."""


def _change(change: LimitChange) -> Document:
    return {KEYS[cell]: _side(change, side) for cell, side in change.cells.items()}


def _side(change: LimitChange, side: DipSide) -> Document:
    limit = change.limit
    points: dict[str, Any] = {
        name: finite(value / limit.unit_size)
        for name, value in zip(POINTS, side.margin, strict=True)
    }
    return {
        "utilisation": finite(side.utilisation),
        "chance": side.chance,
        f"margin_{suffix(limit.unit)}": points,
    }


def _dots(change: LimitChange) -> Document:
    """Twenty dots by load over strength; null stands for a dot with no strength left."""
    dots = {KEYS[c]: [finite(float(v)) for v in side.dots] for c, side in change.cells.items()}
    return {"limit": change.limit.name, **dots}


def _ignition(line: IgnitionLine | None) -> Document | None:
    """The line that ignition is drawn on."""
    if line is None:
        return None
    return {
        "channel": line.channel,
        "from_rpm": line.from_speed / RPM,
        "to_rpm": line.to_speed / RPM,
        "earlier_deg": line.early / DEGREE,
    }
