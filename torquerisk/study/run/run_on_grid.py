"""A run brought to the grid of speeds that is assessed, with what is known beside it."""

import dataclasses
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Engine, Notice, Run
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.errors import InputError
from torquerisk.physics.cylinder import knock
from torquerisk.physics.cylinder.mean_pressure import bmep_from_torque
from torquerisk.quantities import Array
from torquerisk.study.run.air_fuel import with_lambda
from torquerisk.study.run.averaged import averaged
from torquerisk.study.run.crank_reading import Reading, crank_reading
from torquerisk.study.run.log_signs import knock_sign, taken_back
from torquerisk.study.run.operating_state import (
    PUMP_ETHANOL,
    Operating,
    ethanol_share,
    operating,
)
from torquerisk.study.run.seen_signs import SEEN_BESIDE, lift_seen

LATEST_IGNITION = np.radians(-8.0)
"""Advance below which no engine under load is lit all along [rad] (common practice, no source)."""
NO_ENGINE = 100e5
"""BMEP that no four-stroke engine makes [Pa] (from memory: 70 bar in the strongest races)."""
PUMP_OCTANE = 95.0
"""Research octane of pump petrol that nobody named, as sold: with its ethanol in it."""
_PUMP_MOLE = float(knock.ethanol_mole_fraction(PUMP_ETHANOL))
BASE_OCTANE = (PUMP_OCTANE - _PUMP_MOLE * knock.ETHANOL_OCTANE_RESEARCH) / (1 - _PUMP_MOLE)
"""Research octane of the petrol in that pump fuel without its ethanol, by the same rule: 91."""


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
    """Research octane of a blend as it is burned, and its spread.

    Given; else that of pump petrol up to PUMP_ETHANOL, and beyond it pump petrol of that strength
    with more ethanol, linear in mole fraction. Source: [BLEND_OCTANE].
    """
    declaration = engine.declaration("fuel.octane")
    if octane is not None:
        return octane, declaration.spread_given
    mole = knock.ethanol_mole_fraction(max(ethanol_share(blend), PUMP_ETHANOL))
    return float(knock.blend_octane(BASE_OCTANE, mole)), declaration.spread_assumed


def prepare(engine: Engine, run: Run, known_good: Run | None) -> Prepared:
    """Bring a run onto the grid of speeds that is assessed."""
    if known_good is not None:
        engine = engine.with_values({"known_good.curve": known_good})
    blend = engine.word("fuel.blend")
    run = with_lambda(run, blend)
    reading = crank_reading(engine, run)
    octane, octane_sd = fuel_octane(engine, blend, engine.given("fuel.octane"))
    grid = averaged(reading)
    speed, torque = grid.speed, grid.torque
    bmep = float(bmep_from_torque(torque.max(), engine.swept_volume_total))
    if bmep > NO_ENGINE:
        raise InputError(
            Sentence(
                f"{run.name}: ",
                Torque(float(torque.max())),
                f" at the crank from {engine.swept_volume_total * 1e3:.2f} L stand for "
                f"{bmep / 1e5:.0f} bar of brake mean effective pressure, and no four-stroke engine "
                f"makes {NO_ENGINE / 1e5:.0f}; check the unit of torque, and bore, stroke and "
                "cylinders.",
            )
        )
    if torque.max() <= 0:
        raise InputError(
            Sentence(
                f"{run.name}: torque never rises above ",
                Torque(0.0),
                "; check the torque column and its unit.",
            )
        )
    advance = run.channel("ignition_advance")
    if advance is not None and float(np.median(advance)) < LATEST_IGNITION:
        raise InputError(
            f"{run.name}: ignition advance is {np.degrees(advance.min()):.0f} to "
            f"{np.degrees(advance.max()):.0f} degrees, after top dead centre along the run, where "
            "no engine under load is lit; count degrees before it as positive, or head the column "
            "'ignition advance [deg ATDC]'."
        )
    state = operating(reading.engine, run, speed, blend, octane, octane_sd)
    heard = None if engine.compression_ignition else knock_sign(run)
    state = dataclasses.replace(
        state, run_torque=torque, phased_to=torque,
        lift_seen=lift_seen(engine, run, speed, torque),
        map_earlier=None if engine.compression_ignition else taken_back(run, speed),
        knock_heard=None if heard is None
        else (heard.first - SEEN_BESIDE, heard.last + SEEN_BESIDE),
    )  # fmt: skip
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
