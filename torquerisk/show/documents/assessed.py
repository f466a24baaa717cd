"""The JSON documents of the command: fixed keys, unit as suffix, no NaN, unrounded."""

from collections.abc import Iterable
from typing import Any

import numpy as np

import torquerisk
from torquerisk.case import CAUTIONS, Engine, Notice, Policy, Run
from torquerisk.case.declare import Declaration
from torquerisk.quantities import BAR, DEGREE, KILO, RPM
from torquerisk.show.documents.ceilings import ceilings_document
from torquerisk.show.documents.gear_keys import gear_at_speed, gear_document
from torquerisk.show.documents.json_numbers import POINTS, Document, finite, keyed, points
from torquerisk.show.documents.limit_more import proposal_more
from torquerisk.show.documents.sealing_ring import run_ring
from torquerisk.show.words import by_speed
from torquerisk.show.words.columns import At
from torquerisk.show.words.limit_columns import COLUMNS, titles_of
from torquerisk.show.words.limit_table import why_row
from torquerisk.show.words.prose import LIMITED, NOT_LIMITED, SPEED_LIMITED, torque_state
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import (
    Assessment,
    Band,
    Frontier,
    Ignition,
    Limit,
    LimitResult,
    Measure,
    OneCycle,
    OverKnown,
    Proposal,
    Sensitivity,
    Tally,
    reach_in_words,
)

KILOWATT_RPM = KILO * RPM
"""One kW·rpm of area under power [W*rad/s]."""


def envelope(notices: Iterable[Notice]) -> Document:
    """What every document carries: version, notices (each once) and cautions."""
    return {
        "version": torquerisk.__version__,
        "notices": [{"code": n.code, "text": n.text} for n in dict.fromkeys(notices)],
        "cautions": list(CAUTIONS),
    }


def judged_on(a: Assessment, policy: Policy) -> Document:
    """What a table was judged on."""
    return {
        "engine": a.engine.name,
        "run": a.run.name,
        "draws": policy.draws,
        "seed": policy.seed,
        "chance_accepted": policy.chance,
    }


def cycle_document(engine: Engine, one: OneCycle) -> Document:
    """The document of one closed cycle."""
    cycle = one.cycle
    trace = cycle.kept
    return {
        **envelope(one.notices),
        "engine": engine.name,
        "speed_rpm": one.speed / RPM,
        "imep_gross_bar": float(cycle.imep_gross[0]) / BAR,
        "peak_pressure_bar": float(cycle.peak_pressure[0]) / BAR,
        "peak_angle_deg": float(cycle.peak_angle[0]) / DEGREE,
        "trapped_pressure_bar": float(cycle.trapped_pressure[0]) / BAR,
        "ca50_deg": one.ca50 / DEGREE,
        "burn_10_90_deg": one.burn / DEGREE,
        "lambda": one.lambda_,
        "intake_temperature_k": one.intake_temperature,
        "trapped_temperature_k": one.trapped_temperature,
        "max_pressure_rise_rate_bar_per_deg": float(cycle.max_pressure_rise_rate[0]) / BAR * DEGREE,
        "indicated_efficiency": float(cycle.indicated_efficiency[0]),
        **_ignition(one.ignition, 0),
        "trapped_mass_mg": float(cycle.trapped_mass[0]) * 1e6,
        "fuel_mass_mg": float(cycle.fuel_mass[0]) * 1e6,
        "trace": {
            "angle_deg": _list(trace.angle, DEGREE),
            "pressure_bar": _list(trace.pressure[:, 0], BAR),
            "volume_cm3": _list(trace.volume[:, 0], 1e-6),
            "temperature_k": _list(trace.temperature[:, 0], 1.0),
            "burned_fraction": _list(trace.burned_fraction[:, 0], 1.0),
        },
    }


def _ignition(lit: Ignition | None, k: int) -> Document:
    """How a diesel's charge lights, of the median engine; nothing with spark ignition."""
    if lit is None:
        return {}
    return {
        "ignition_delay_ms": 1e3 * float(lit.delay[k]),
        "ignition_delay_deg": float(lit.angle[k]) / DEGREE,
        "premixed_share": float(lit.premixed[k]),
        "compressed_pressure_bar": float(lit.pressure[k]) / BAR,
        "compressed_temperature_k": float(lit.temperature[k]),
    }


def _list(values: Any, size: float) -> list[float]:
    return [float(v) / size for v in np.asarray(values).ravel()]


def assessment_document(assessment: Assessment, extra: Iterable[Notice] = ()) -> Document:
    """The document of an assessment."""
    a = assessment
    asked = a.policy.chance, a.evidence.kept
    states = {name: item.state(*asked) for name, item in a.limits.items()}
    answers = answers_of(a)
    ring, ring_by_speed = run_ring(a)
    lit, over = answers.ignition, answers.over_known
    return {
        **envelope((*extra, *a.notices)),
        **_inputs(a.engine, a.run, a.policy),
        "reading": list(a.reading.steps),
        "chance_pull": a.chance_pull,
        "chance_pulls": a.chance_pulls,
        "phasing": {"source": a.phasing_source.value, "ca50_deg": _speeds(a, a.ca50, DEGREE)},
        "evidence": _evidence(a),
        "abnormal": _abnormal(a),
        "drivers": _drivers(answers.sensitivity),
        "limits": {name: _limit_facts(item.limit) for name, item in a.limits.items()},
        "not_assessed": {name: list(missing) for name, missing in a.not_assessed.items()},
        "ceilings": ceilings_document(a),
        "log_signs": [
            {
                "code": sign.code,
                "title": sign.title,
                "from_rpm": sign.first / RPM,
                "to_rpm": sign.last / RPM,
                "text": sign.text,
            }
            for sign in answers.log_signs
        ],
        "ring": ring,
        "running_gear": gear_document(a, answers.gear),
        "by_speed": [
            {
                **keyed(by_speed.COLUMNS, At(a, k)),
                "over_known": _over_known(over, k),
                **ring_by_speed[k],
                **gear_at_speed(answers.gear, k),
                **_ignition(lit, k),
                "limits": _limits_at(a, k, {n: s[k].value for n, s in states.items()}, over),
            }
            for k in range(len(a.speed))
        ],
    }


def _inputs(engine: Engine, run: Run, policy: Policy) -> Document:
    """What was judged, and how."""
    return {
        "engine": engine.name,
        "run": run.name,
        "run_sha256": run.digest,
        "run_record": list(run.record),
        "draws": policy.draws,
        "seed": policy.seed,
        "pulls": policy.pulls,
        "chance_accepted": policy.chance,
        "assumed": [_assumed(engine, name) for name in engine.assumed()],
    }


def _assumed(engine: Engine, name: str) -> Document:
    declaration: Declaration = engine.declaration(name)
    default = declaration.default
    raw = default(engine) if callable(default) else default
    value = declaration.in_words(raw) if raw is not None else ""
    return {
        "name": name,
        "label": declaration.label,
        "value": value,
        "reason": declaration.reason,
    }


def _speeds(a: Assessment, values: Band, size: float) -> list[Document]:
    """A band at every speed, each with its speed."""
    return [
        {"speed_rpm": float(a.speed[k]) / RPM, **points(values, k, size)}
        for k in range(len(a.speed))
    ]


def _limits_at(a: Assessment, k: int, states: dict[str, str], over: OverKnown | None) -> Document:
    """Each limit, with how much more of it is used than at worst on the known curves."""
    more = {} if over is None else over.limits
    return {
        name: {
            **_limit_at(item, k, states[name]),
            "over_known": points(more[name], k, 1.0) if name in more else None,
        }
        for name, item in a.limits.items()
    }


def _over_known(over: OverKnown | None, k: int) -> Document:
    """Multiples of the greatest value on the rated or known-good curve; null without either."""
    names = ("peak_pressure", "rod_compression", "rod_tension")
    return {n: None if over is None else points(getattr(over, n), k, 1.0) for n in names}


def _limit_at(item: LimitResult, k: int, state: str) -> Document:
    limit = item.limit
    unit = suffix(limit.unit)
    return {
        "kind": limit.kind.value,
        "state": state,
        "utilisation": finite(float(item.utilisation[k])),
        "chance": float(item.chance[k]),
        "capacity_torque_n_m": _capacity(item.capacity_torque, k),
        f"load_{unit}": points(item.load, k, limit.unit_size),
        f"strength_{unit}": points(item.strength, k, limit.unit_size),
        f"margin_{unit}": points(item.margin, k, limit.unit_size),
        "speed_limited_share": float(item.speed_limited[k]),
    }


def suffix(unit: str) -> str:
    """A unit as the suffix of a key; of a plain number 'share'."""
    return "share" if not unit else unit.lower().replace("*", "_").replace("/", "_per_")


def _capacity(values: Band, k: int) -> Document:
    """Capacity torque with its state; a null has the reason beside it under `states`."""
    states = {p: torque_state(float(getattr(values, p)[k])) for p in POINTS}
    unusual = {p: state for p, state in states.items() if state != LIMITED}
    worst = next((s for s in (SPEED_LIMITED, NOT_LIMITED) if s in states.values()), LIMITED)
    return {**points(values, k, 1.0), "state": worst, "states": unusual}


def _limit_facts(limit: Limit) -> Document:
    return {
        "title": limit.title,
        "protects": limit.protects,
        "kind": limit.kind.value,
        "quantity": limit.quantity,
        "unit": limit.unit,
        "lifted_by": limit.lifted_by,
        "source": limit.source,
    }


def _evidence(a: Assessment) -> Document:
    e = a.evidence
    return {
        "used": list(e.used),
        "tried": e.tried,
        "agreed": e.agreed,
        "kept": e.kept,
        "knock_threshold": _triple(e.knock_threshold),
        "knock_threshold_before": _triple(e.knock_threshold_before),
    }


def _drivers(found: Sensitivity) -> Document:
    """What the spread of the least capacity torque comes from, and what to measure next.

    Torque, shares and narrowing are of the least over all limits that bind; `limit` is the one that
    governs at the accepted chance, `first_limits` those that set it, engine by engine.
    """
    return {
        "quantity": "least capacity torque over all limits that bind",
        "speed_rpm": found.speed / RPM,
        "limit": found.limit,
        "first_limits": [{"limit": name, "share": share} for name, share in found.first],
        "capacity_torque_n_m": dict(zip(POINTS, map(finite, found.capacity_torque), strict=True)),
        "shares": [
            {"name": s.name, "label": s.label, "given": s.given, "share": s.share}
            for s in found.shares
            if s.resolved
        ],
        "unexplained_share": found.rest,
        "together_share": found.together,
        "least_resolved_share": found.least_resolved,
        "accepted_torque_n_m": finite(found.accepted),
        "accepted_state": torque_state(found.accepted),
        "measure_next": [_measure(m) for m in found.next.measures],
        "measure_both": None if found.next.pair is None else _measure(found.next.pair),
        "measured_in_vain": list(found.next.unclear),
    }


def _measure(measure: Measure) -> Document:
    """What measuring something would do to the torque accepted."""
    return {
        "name": measure.name,
        "label": measure.label,
        "gain_n_m": measure.gain,
        "accepted_after_n_m": {"low": measure.low, "high": measure.high},
        "risk_share": measure.risk,
        "rough": measure.rough,
    }


def _triple(values: tuple[float, float, float]) -> Document:
    return dict(zip(POINTS, map(float, values), strict=True))


def _abnormal(a: Assessment) -> Document:
    return {
        "counted_in_chances": a.policy.abnormal_in_chance,
        "by_speed": [
            {
                "speed_rpm": float(a.speed[k]) / RPM,
                "knock_rate_per_cycle": points(a.abnormal.knock_rate, k, 1.0),
                "preignition_rate_per_cycle": points(a.abnormal.preignition_rate, k, 1.0),
                "chance_event": float(a.abnormal.chance_event[k]),
                "chance_harm": float(a.abnormal.chance_harm[k]),
            }
            for k in range(len(a.speed))
        ],
    }


def limit_document(
    proposal: Proposal, extra: Iterable[Notice] = (), trade_off: Frontier | None = None
) -> Document:
    """The document of a proposed torque-limit table, with its trade-off where one was made."""
    p, a = proposal, proposal.assessment
    titles = titles_of(a)
    limit = np.interp(a.speed, p.shape.breakpoints, p.shape.limit)
    delivered, reach, ceiling = p.delivered(a.speed), p.reach(a.speed), p.ceiling(a.speed)
    return {
        **envelope((*extra, *p.notices, *a.notices)),
        **_inputs(a.engine, a.run, p.policy),
        "table": [
            {**keyed(COLUMNS, row), "why": why_row(row, titles, p.finer.model.every.count)}
            for row in p.rows
        ],
        "peak": {"speed_rpm": p.under.peak_speed / RPM, "torque_n_m": p.under.peak_torque},
        "speed_limit_rpm": None if p.speed_limit is None else p.speed_limit / RPM,
        "before": _tally(p.before),
        "after": _tally(p.after),
        "area_change_share": p.after.area / p.before.area - 1 if p.before.area > 0 else None,
        "measured_peak": {
            "speed_rpm": float(a.speed[np.argmax(a.torque)]) / RPM,
            "torque_n_m": float(a.torque.max()),
        },
        "chance_pull": p.under.chance_pull,
        "chance_pulls": p.under.chance_pulls,
        "verified": p.verified,
        "verification": p.proof.words,
        "objective": p.policy.objective,
        "reach": reach_in_words(p.wish.reach),
        "reference": None if p.wish.reference is None else p.wish.reference.name,
        "asked": {
            "peak_from_rpm": p.ask.peak_from / RPM,
            "rise_n_m_per_1000rpm": p.ask.rise_rate * 1000 * RPM,
            "resolution_n_m": p.ask.torque_resolution,
            "points": len(p.rows),
        },
        "limits": {name: _limit_facts(item.limit) for name, item in a.limits.items()},
        "ceilings": ceilings_document(a),
        "by_speed": [
            {
                "speed_rpm": float(a.speed[k]) / RPM,
                "measured_torque_n_m": float(a.torque[k]),
                "torque_limit_n_m": float(limit[k]),
                "delivered_torque_n_m": float(delivered[k]),
                "reach_torque_n_m": None if reach is None else float(reach[k]),
                "ceiling_torque_n_m": finite(float(ceiling[k])),
                "ceiling_state": torque_state(float(ceiling[k])),
            }
            for k in range(len(a.speed))
        ],
        **proposal_more(p, trade_off),
    }


def _tally(tally: Tally) -> Document:
    return {"area_kw_rpm": tally.area / KILOWATT_RPM, "chance_any_max": tally.chance_any_max}
