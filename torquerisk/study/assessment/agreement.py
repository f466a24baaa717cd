"""The draws that agree with what is known of an engine: survived, logged, measured, lifted."""

import dataclasses

import numpy as np
import numpy.typing as npt

from torquerisk.case import Policy
from torquerisk.errors import InputError
from torquerisk.physics.cylinder import knock
from torquerisk.study.assessment import evidence as proof
from torquerisk.study.assessment.result import Evidence
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.draws.spreads import KNOCK_THRESHOLD, engine_draws
from torquerisk.study.loads.demand import Demand, demand
from torquerisk.study.run.operating_state import Operating
from torquerisk.study.run.run_on_grid import Prepared, fuel_octane
from torquerisk.study.strengths.parts import parts_of

MOST_TRIED = 16
"""Draws tried for each draw wanted before evidence is declared to leave too few."""


def select_draws(prepared: Prepared, policy: Policy) -> tuple[Draws, Evidence, float]:
    """Draws that agree with all evidence, what the evidence was, and the share that was kept."""
    wanted = policy.draws
    diesel = prepared.engine.compression_ignition
    draws = engine_draws(compression_ignition=diesel, count=wanted, seed=policy.seed)
    if not has_evidence(prepared):
        return draws, _no_evidence(draws), 1.0
    tried, kept, used = wanted, *_agreeing(prepared, draws)
    while kept.sum() < wanted and tried < MOST_TRIED * wanted:
        need = wanted / max(float(kept.mean()), 1.0 / MOST_TRIED) * 1.05
        tried = min(MOST_TRIED * wanted, max(2 * tried, 1 << int(np.ceil(np.log2(need)))))
        draws = engine_draws(compression_ignition=diesel, count=tried, seed=policy.seed)
        kept, used = _agreeing(prepared, draws)
    share = float(kept.mean())
    index = np.flatnonzero(kept)[:wanted]
    if len(index) < 16:
        raise InputError(
            f"only {len(index)} of {tried} simulated engines agree with the evidence"
            + proof.contradiction(
                prepared.engine, prepared.state, prepared.torque, prepared.reading_sd,
                known_good=prepared.known_good, lifted=_lift_sign(prepared) is not None,
            )
        )  # fmt: skip
    chosen = draws.take(index)
    return (
        chosen,
        Evidence(
            used=used,
            tried=tried,
            kept=len(index),
            knock_threshold=_threshold(chosen),
            knock_threshold_before=_threshold(draws),
        ),
        share,
    )


def _threshold(draws: Draws) -> tuple[float, float, float]:
    values = knock.KNOCK_THRESHOLD_MEDIAN * draws.of_model(KNOCK_THRESHOLD)
    low, middle, high = np.quantile(values, [0.05, 0.5, 0.95])
    return float(low), float(middle), float(high)


def _no_evidence(draws: Draws) -> Evidence:
    threshold = _threshold(draws)
    return Evidence(
        used=(), tried=draws.count, kept=draws.count,
        knock_threshold=threshold, knock_threshold_before=threshold,
    )  # fmt: skip


def has_evidence(prepared: Prepared) -> bool:
    """True where something is known of the engine beside its inputs."""
    state = prepared.state
    logged = state.manifold_pressure is not None or state.peak_pressure is not None
    return prepared.known_good is not None or logged or _lift_sign(prepared) is not None


def _agreeing(prepared: Prepared, draws: Draws) -> tuple[npt.NDArray[np.bool_], tuple[str, ...]]:
    """Which draws (N,) agree with all evidence, and the evidence in words.

    A draw is kept with the product of its likelihoods. Each piece is only asked of the draws that
    the one before has left.
    """
    uniform, likelihood = proof.acceptance(draws), np.ones(draws.count)
    kept = likelihood > uniform
    used: list[str] = []
    for piece in (_survived, _logged):
        index = np.flatnonzero(kept)
        if len(index) == 0:
            break
        for finding in piece(prepared, draws.take(index)):
            likelihood[index] *= finding.likelihood
            used.append(finding.words)
        kept &= likelihood > uniform
    return kept, tuple(used)


def _survived(prepared: Prepared, draws: Draws) -> list[proof.Finding]:
    """Survival of the known-good curve."""
    engine, curve = prepared.engine, prepared.known_good
    if curve is None:
        return []
    blend = engine.given("known_good.blend") or engine.word("fuel.blend")
    octane = engine.given("known_good.octane")
    if octane is None and not engine.has("known_good.blend"):
        octane = engine.given("fuel.octane")
    rating, sd = fuel_octane(engine, blend, octane)
    source = prepared.state.phasing_source
    return [proof.survived(engine, curve, draws, rating, sd, blend, source)]


def _logged(prepared: Prepared, draws: Draws) -> list[proof.Finding]:
    """What the run's own channels say of charge, peak pressure and lift."""
    state, engine = prepared.state, prepared.engine
    found: list[proof.Finding] = []
    if state.manifold_pressure is not None or state.peak_pressure is not None:
        index = proof.few_speeds(prepared.speed, prepared.torque)
        some, loads = _loads_at(prepared, draws, index)
        torque = prepared.torque[index]
        logged = (
            proof.charge_agrees(engine, some, loads, draws, torque),
            proof.peak_agrees(some, loads, draws, torque),
        )
        found += [finding for finding in logged if finding is not None]
    sign = _lift_sign(prepared)
    if sign is not None:
        rise, first, last = sign
        wanted = np.linspace(first, last, proof.LIFT_SPEEDS)
        index = np.searchsorted(prepared.speed, wanted - 1e-9)
        index = np.unique(np.minimum(index, len(prepared.speed) - 1))
        _, loads = _loads_at(prepared, draws, index)
        parts = parts_of(engine, draws)
        found.append(proof.lift_agrees(loads, draws, parts, prepared.torque[index], rise))
    return found


def _lift_sign(prepared: Prepared) -> tuple[float, float, float] | None:
    """Rise of coolant pressure in the run and where, or None."""
    pressure = prepared.run.channel("coolant_pressure")
    return None if pressure is None else proof.coolant_sign(prepared.run.speed, pressure)


def _loads_at(
    prepared: Prepared, draws: Draws, index: npt.NDArray[np.intp]
) -> tuple[Operating, Demand]:
    """State and loads at some speeds of the grid."""
    some = _some(prepared.state, index)
    return some, demand(prepared.engine, some, draws, prepared.reading_sd[index])


def _some(state: Operating, index: npt.NDArray[np.intp]) -> Operating:
    """The state at some of its speeds."""
    changed = {
        f.name: getattr(state, f.name)[index]
        for f in dataclasses.fields(state)
        if isinstance(getattr(state, f.name), np.ndarray)
    }
    return dataclasses.replace(state, **changed)
