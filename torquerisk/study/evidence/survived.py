"""What a curve that was survived many times says: which engines would have carried it."""

import dataclasses

import numpy as np

from torquerisk.case.sentence import Sentence, Torque
from torquerisk.quantities import Array
from torquerisk.study.draws import spreads
from torquerisk.study.evidence.burn import burns_later
from torquerisk.study.evidence.piece import Asked, Piece, few_speeds
from torquerisk.study.limits import ALL_LIMITS, LimitKind, capacity_torque, place_of
from torquerisk.study.loads.demand import demand
from torquerisk.study.run.crank_reading import averaged, crank_reading
from torquerisk.study.run.operating_state import PhasingSource, operating
from torquerisk.study.run.run_on_grid import Prepared, fuel_octane

SURVIVED_CYCLES = 2e4
"""Cycles of one cylinder that a known-good curve was survived for about each speed: some hundred
pulls (stated choice)."""
QUIET_KNOCK_EXCESS = 0.10
"""Logarithm of knock integral over threshold up to which a known-good curve may be taken to run
without lasting knock: draws that say it knocks more have their threshold too low."""


def _fuel(prepared: Prepared) -> tuple[str, float, float]:
    """Blend, octane and its spread of the known-good run."""
    engine = prepared.engine
    blend = engine.given("known_good.blend") or engine.word("fuel.blend")
    octane = engine.given("known_good.octane")
    if octane is None and not engine.has("known_good.blend"):
        octane = engine.given("fuel.octane")
    return (blend, *fuel_octane(engine, blend, octane))


def _likelihood(asked: Asked) -> Array:
    """1 for engines that would have carried the known-good curve, strength and knock alike.

    The known-good run was read on another day, so its reading errs on its own; its phasing too,
    unless advance was logged in both and so they share the error of the burn-delay model.
    """
    prepared, draws, curve = asked.prepared, asked.draws, asked.prepared.known_good
    assert curve is not None
    engine = prepared.engine
    blend, octane, octane_sd = _fuel(prepared)
    reading = crank_reading(engine, curve)
    grid = averaged(reading)
    index = few_speeds(grid.speed, grid.torque)
    speed, torque = grid.speed[index], grid.torque[index]
    state = operating(reading.engine, curve, speed, blend, octane, octane_sd)
    later = burns_later(prepared)
    if later is not None and state.ca50 is None:
        at = np.interp(speed, prepared.speed, later)
        state = dataclasses.replace(state, burns_later=at)
    own = {spreads.READING.name: spreads.EARLIER_READING.name}
    if state.ignition_advance is None or prepared.state.ignition_advance is None:
        own["model.phasing"] = spreads.EARLIER_PHASING.name
    loads = demand(
        reading.engine,
        state,
        draws.with_other_errors(own),
        grid.relative_sd[index],
        cycles=np.full(len(speed), SURVIVED_CYCLES),
    )
    parts = asked.parts
    kept = np.ones(draws.count, dtype=bool)
    for limit in ALL_LIMITS:
        if limit.kind not in (LimitKind.STRENGTH, LimitKind.COMBUSTION):
            continue
        if limit.missing(engine):
            continue
        capacity = capacity_torque(
            limit.load(loads, parts), limit.strength(loads, parts), loads.torque
        )
        kept &= (capacity >= torque[:, None]).all(axis=0)
    known = state.phasing_source in (PhasingSource.GIVEN, PhasingSource.IGNITION_ADVANCE)
    if known and not engine.compression_ignition:
        excess = place_of(loads.torque, torque).read(loads.knock_excess)
        kept &= (excess <= QUIET_KNOCK_EXCESS).all(axis=0)
    return kept.astype(float)


def _words(prepared: Prepared) -> str:
    curve = prepared.known_good
    assert curve is not None
    top = averaged(crank_reading(prepared.engine, curve)).torque.max()
    return Sentence(
        f"{curve.name}: survived many times, up to ",
        Torque(float(top)),
        f" on {_fuel(prepared)[0]}; engines that would have failed there are left out",
    )


SURVIVED = Piece(
    name="survived",
    applies=lambda prepared: prepared.known_good is not None,
    likelihood=_likelihood,
    words=_words,
    check=lambda prepared: (
        "the known-good run's units, sealing diameter, fasteners, tightening, octane"
    ),
)
