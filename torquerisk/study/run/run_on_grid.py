"""A run brought to the grid of speeds that is assessed, with what is known beside it."""

import dataclasses
from dataclasses import dataclass

from torquerisk.case import Engine, Notice, Run
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.errors import InputError
from torquerisk.physics.cylinder import knock
from torquerisk.quantities import Array
from torquerisk.study.run.crank_reading import Reading, averaged, crank_reading
from torquerisk.study.run.operating_state import Operating, ethanol_share, operating

BASE_OCTANE = 95.0
"""Research octane of a petrol that nobody named."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Prepared:
    """Inputs brought to the grid: reading, state and known-good curve."""

    engine: Engine
    run: Run
    reading: Reading
    speed: Array
    torque: Array
    reading_sd: Array
    state: Operating
    known_good: Run | None
    notices: tuple[Notice, ...]


def fuel_octane(engine: Engine, blend: str, octane: float | None) -> tuple[float, float]:
    """Research octane of a blend and its spread: given, else molar blend of a 95 petrol."""
    declaration = engine.declaration("fuel.octane")
    if octane is not None:
        return octane, declaration.spread_given
    share = ethanol_share(blend)
    mole = knock.ethanol_mole_fraction(share)
    return float(knock.blend_octane(BASE_OCTANE, mole)), declaration.spread_assumed


def prepare(engine: Engine, run: Run, known_good: Run | None) -> Prepared:
    """Bring a run onto the grid of speeds that is assessed."""
    if known_good is not None:
        engine = engine.with_values({"known_good.curve": known_good})
    reading = crank_reading(engine, run)
    blend = engine.word("fuel.blend")
    octane, octane_sd = fuel_octane(engine, blend, engine.given("fuel.octane"))
    grid = averaged(reading)
    speed, torque = grid.speed, grid.torque
    if torque.max() <= 0:
        raise InputError(
            Sentence(
                f"{run.name}: torque never rises above ",
                Torque(0.0),
                "; check the torque column and its unit.",
            )
        )
    state = dataclasses.replace(
        operating(reading.engine, run, speed, blend, octane, octane_sd), run_torque=torque
    )
    return Prepared(
        engine=reading.engine,
        run=run,
        reading=reading,
        speed=speed,
        torque=torque,
        reading_sd=grid.relative_sd,
        state=state,
        known_good=reading.engine.known_good.curve,
        notices=(*reading.notices, *grid.notices),
    )
