"""What a logged manifold pressure says of the charge that was burned."""

from dataclasses import replace

import numpy as np

from torquerisk.case import Engine
from torquerisk.physics.cylinder.gas_exchange import (
    SPECIFIC_GAS_CONSTANT_AIR,
    VOLUMETRIC_EFFICIENCY_PLAUSIBLE,
)
from torquerisk.quantities import Array
from torquerisk.study.cycle import cylinder, response_tables, table_grid
from torquerisk.study.draws import spreads
from torquerisk.study.draws.cylinder_draws import cylinder_draws
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.evidence.piece import Asked, Piece, few_speeds
from torquerisk.study.limits import place_of
from torquerisk.study.loads.demand import Demand, demand
from torquerisk.study.run.operating_state import USUAL_VOLUMETRIC_EFFICIENCY, Operating
from torquerisk.study.run.run_on_grid import Prepared

VOLUMETRIC_LOG_SD = 0.065
"""Spread of volumetric efficiency between engines, with the logger's error."""


def tells_charge(state: Operating) -> bool:
    """True where the channels tell how much air an engine took: pressure, and lambda unless rich.

    Where all air burns, torque tells it whatever lambda is exactly.
    """
    rich = bool(np.all(state.lambda_ <= 1.0))
    return state.manifold_pressure is not None and (state.lambda_logged or rich)


CHECK_DRAWS = 128
"""Simulated engines by which a run's channels are checked against each other."""
CHECK_SEED = 20240229


def charge_mismatch(efficiency: float, doubt: str = "") -> str | None:
    """What to say of an implied volumetric efficiency [-] that cannot be; None where it can.

    doubt: what to ask of the zero of manifold pressure, see `Run.pressure_doubt`.
    """
    low, high = VOLUMETRIC_EFFICIENCY_PLAUSIBLE
    if low <= efficiency <= high:
        return None
    hint = (
        "torque may be over-stated (unit, correction, wheel loss counted twice) or manifold "
        "pressure may be gauge"
        if efficiency > high
        else "torque may be under-stated (wheel torque taken as crank torque, lb·ft read as N·m) "
        "or the manifold pressure too high"
    )
    return (
        f"Torque, manifold pressure and lambda imply a volumetric efficiency of {efficiency:.2f}, "
        f"outside {low:.2f} to {high:.2f}: {hint}{_asked(doubt, efficiency)}."
    )


def volumetric_efficiency_before(
    engine: Engine, state: Operating, torque: Array, reading_sd: Array
) -> float | None:
    """Median volumetric efficiency [-] that a run implies, or None where no channel tells it.

    Of engines that no evidence has sorted, for those that agree with a wrong unit would hide it.
    state, torque, reading_sd: at the speeds of the run.
    """
    if not tells_charge(state):
        return None
    draws = spreads.engine_draws(
        compression_ignition=engine.compression_ignition, count=CHECK_DRAWS, seed=CHECK_SEED
    )
    state = replace(state, phased_to=None)  # read at the run's torque alone
    loads = demand(engine, state, draws, reading_sd)
    implied = implied_volumetric_efficiency(engine, state, loads, draws, torque)
    return float(np.median(implied[torque > 0.25 * torque.max()]))


def implied_volumetric_efficiency(
    engine: Engine, state: Operating, loads: Demand, draws: Draws, torque: Array
) -> Array:
    """Volumetric efficiency on manifold density that each draw implies (S, N) [-]."""
    assert state.manifold_pressure is not None
    spec = loads.spec
    tables = response_tables.fit_surface(spec).at_speeds(state.speed)[:, table_grid.TRAPPED, 0]
    lanes = cylinder_draws(engine, draws)
    place = place_of(loads.torque, torque)
    closing = float(
        np.asarray(cylinder.cylinder_volume(spec.intake_closing, cylinder.geometry_of(spec)))
    )
    constant = cylinder.charge_gas_constant(spec)
    result = np.empty((len(state.speed), draws.count))
    rows = np.arange(table_grid.IMEP_NODES)[loads.rows]
    for s in range(len(state.speed)):
        column, share = table_grid.place(spec, loads.ca50[s])
        trapped = np.exp(
            tables[s][rows, column] * (1 - share) + tables[s][rows, column + 1] * share
        )
        index = place.upper[s][:, None]
        low = np.take_along_axis(trapped, index - 1, -1)[:, 0]
        high = np.take_along_axis(trapped, index, -1)[:, 0]
        pressure = low + place.share[s] * (high - low)
        lambda_ = state.lambda_[s] * np.exp(state.lambda_sd * lanes.lambda_z)
        fresh = pressure * closing / (constant * spec.temperature_middle)
        fresh = fresh * (1 - spec.residual_fraction)
        if not spec.compression_ignition:
            fuel = cylinder.fuel_of(spec.compression_ignition, spec.ethanol_share)
            fresh = fresh * (1 - 1 / (1 + spec.lambda_middle * fuel.stoichiometric_air_fuel))
        richness = np.minimum(lambda_, 1.0) / min(spec.lambda_middle, 1.0)
        air = fresh * (lambda_ / spec.lambda_middle) / richness
        charge = state.intake_temperature[s] + state.intake_temperature_sd * lanes.temperature_z
        density = state.manifold_pressure[s] / (SPECIFIC_GAS_CONSTANT_AIR * charge)
        result[s] = air / (density * engine.swept_volume)
    return result


def _likelihood(asked: Asked) -> Array:
    """How well each draw's trapped charge fits the logged manifold pressure.

    The volumetric efficiency that a draw implies, averaged over the run, is compared with the usual
    one. A rich engine's torque tells its air whatever lambda is; a diesel's does not, so there
    lambda must be logged too.
    """
    prepared = asked.prepared
    index = few_speeds(prepared.speed, prepared.torque)
    torque = prepared.torque[index]
    usable = index[torque > 0.25 * torque.max()]
    implied = [
        implied_volumetric_efficiency(
            prepared.engine, *asked.loads_at(speed), asked.draws, prepared.torque[[speed]]
        )
        for speed in usable.tolist()
    ]
    apart = np.mean(np.log(np.concatenate(implied)), axis=0) - np.log(USUAL_VOLUMETRIC_EFFICIENCY)
    return np.asarray(np.exp(-0.5 * (apart / VOLUMETRIC_LOG_SD) ** 2))


def _words(prepared: Prepared) -> str:
    logged = prepared.state.lambda_logged
    stand = "manifold pressure and lambda stand" if logged else "manifold pressure stands"
    return f"the charge that the logged {stand} for"


def _mismatch(prepared: Prepared) -> str:
    efficiency = volumetric_efficiency_before(
        prepared.engine, prepared.state, prepared.torque, prepared.reading_sd
    )
    if efficiency is None:
        return ""
    return charge_mismatch(efficiency, prepared.run.pressure_doubt) or ""


def _asked(doubt: str, efficiency: float) -> str:
    """What to ask of the zero of manifold pressure where it would account for too little charge."""
    return f" ({doubt})" if doubt and efficiency < USUAL_VOLUMETRIC_EFFICIENCY else ""


def _check(prepared: Prepared) -> str:
    efficiency = volumetric_efficiency_before(
        prepared.engine, prepared.state, prepared.torque, prepared.reading_sd
    )
    warm = prepared.state.intake_temperature.mean() - 273.15
    return (
        "torque, manifold pressure, lambda and charge temperature (without an intercooler give "
        f"[charge] intake_temperature): at {warm:.0f} °C they stand for a volumetric efficiency of "
        f"{efficiency:.2f}, and {USUAL_VOLUMETRIC_EFFICIENCY:g} is usual"
        f"{_asked(prepared.run.pressure_doubt, efficiency or 0.0)}"
    )


CHARGE = Piece(
    name="charge",
    applies=lambda prepared: tells_charge(prepared.state),
    likelihood=_likelihood,
    words=_words,
    check=_check,
    mismatch=_mismatch,
)
