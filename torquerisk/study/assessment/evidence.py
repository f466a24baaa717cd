"""What a survived curve, the charge that was burned or a measured peak say about the engine.

Each piece of evidence gives a draw a likelihood; a draw is kept with the product of all of them, by
one uniform number of its own. So what is left has equal weight and its number is the effective
sample size.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.stats import norm

from torquerisk.case import Engine, Run
from torquerisk.physics.cylinder.gas_exchange import (
    SPECIFIC_GAS_CONSTANT_AIR,
    VOLUMETRIC_EFFICIENCY_PLAUSIBLE,
)
from torquerisk.quantities import Array
from torquerisk.study.cycle import cylinder, response_tables, table_grid
from torquerisk.study.draws import spreads
from torquerisk.study.draws.cylinder_draws import cylinder_draws
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.limits import ALL_LIMITS, LimitKind, capacity_torque, place_of
from torquerisk.study.limits.head import HEAD_LIFT
from torquerisk.study.loads.demand import Demand, cylinder_spec, demand
from torquerisk.study.run.crank_reading import averaged, crank_reading
from torquerisk.study.run.operating_state import (
    USUAL_VOLUMETRIC_EFFICIENCY,
    Operating,
    PhasingSource,
    operating,
)
from torquerisk.study.strengths.parts import Parts, parts_of

SURVIVED_CYCLES = 2e4
"""Cycles of one cylinder that a known-good curve was survived for about each speed: some hundred
pulls (stated choice)."""
EVIDENCE_SPEEDS = 5
"""Speeds at which a known-good curve is judged: its peak, its ends and evenly between."""
QUIET_KNOCK_EXCESS = 0.10
"""Logarithm of knock integral over threshold up to which a known-good curve may be taken to run
without lasting knock: draws that say it knocks more have their threshold too low."""
LIFT_SPEEDS = 5
"""Speeds at which a sign of lift is looked for within the range where it showed."""
PEAK_SENSOR_SD = 0.03
"""Relative error of a measured peak pressure, common to a run (common practice, no source)."""
PEAK_LOCAL_SD = 0.05
"""Relative difference at one speed between the measured peak and the model's at the right inputs
(stated choice)."""


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One piece of evidence: what it is and how well each draw agrees with it."""

    words: str
    likelihood: Array
    """Of the evidence given each draw (N,), 0 to 1, over its highest."""


def few_speeds(speed: Array, torque: Array, count: int = EVIDENCE_SPEEDS) -> npt.NDArray[np.intp]:
    """Indices of about `count` speeds of a curve: even, with peak torque and peak power."""
    wanted = np.linspace(speed[0], speed[-1], count)
    index = np.searchsorted(speed, wanted).clip(0, len(speed) - 1)
    extra = [int(np.argmax(torque)), int(np.argmax(torque * speed))]
    return np.unique(np.concatenate([index, extra]))


def survived(engine: Engine, curve: Run, draws: Draws, octane: float, octane_sd: float,
             blend: str, source: PhasingSource) -> Finding:  # fmt: skip
    """Which draws would have carried a known-good curve: strength and knock alike.

    source: where the assessed run's phasing comes from. The known-good run was read on another day,
    so its reading errs on its own; its phasing too, unless both come from ignition advance and so
    share the error of the burn-delay model.
    """
    reading = crank_reading(engine, curve)
    grid = averaged(reading)
    index = few_speeds(grid.speed, grid.torque)
    speed, torque = grid.speed[index], grid.torque[index]
    state = operating(reading.engine, curve, speed, blend, octane, octane_sd)
    own = {spreads.READING.name: spreads.EARLIER_READING.name}
    if {state.phasing_source, source} != {PhasingSource.IGNITION_ADVANCE}:
        own["model.phasing"] = spreads.EARLIER_PHASING.name
    loads = demand(
        reading.engine,
        state,
        draws.with_other_errors(own),
        grid.relative_sd[index],
        cycles=np.full(len(speed), SURVIVED_CYCLES),
    )
    parts = parts_of(reading.engine, draws)
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
    words = (
        f"{curve.name}: survived many times, up to {torque.max():.0f} N·m on {blend}; engines that "
        "would have failed there are left out"
    )
    return Finding(words=words, likelihood=kept.astype(float))


def charge_agrees(
    engine: Engine, state: Operating, loads: Demand, draws: Draws, torque: Array
) -> Finding | None:
    """How well each draw's trapped charge fits the logged manifold pressure.

    The volumetric efficiency that a draw implies, averaged over the run, is compared with the usual
    one. A rich engine's torque tells its air whatever lambda is; a diesel's does not, so there
    lambda must be logged too.
    """
    if not tells_charge(state):
        return None
    implied = implied_volumetric_efficiency(engine, state, loads, draws, torque)
    usable = torque > 0.25 * torque.max()
    apart = np.mean(np.log(implied[usable]), axis=0) - np.log(USUAL_VOLUMETRIC_EFFICIENCY)
    likelihood = np.exp(-0.5 * (apart / VOLUMETRIC_LOG_SD) ** 2)
    logged = (
        "manifold pressure and lambda stand" if state.lambda_logged else "manifold pressure stands"
    )
    return Finding(words=f"the charge that the logged {logged} for", likelihood=likelihood)


def tells_charge(state: Operating) -> bool:
    """True where the channels tell how much air an engine took: pressure, and lambda unless rich.

    Where all air burns, torque tells it whatever lambda is exactly.
    """
    rich = bool(np.all(state.lambda_ <= 1.0))
    return state.manifold_pressure is not None and (state.lambda_logged or rich)


CHECK_DRAWS = 128
"""Simulated engines by which a run's channels are checked against each other."""
CHECK_SEED = 20240229


def charge_mismatch(efficiency: float) -> str | None:
    """What to say of an implied volumetric efficiency [-] that cannot be; None where it can."""
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
        f"outside {low:.2f} to {high:.2f}: {hint}."
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
    loads = demand(engine, state, draws, reading_sd)
    implied = implied_volumetric_efficiency(engine, state, loads, draws, torque)
    return float(np.median(implied[torque > 0.25 * torque.max()]))


VOLUMETRIC_LOG_SD = 0.065
"""Its spread between engines, with the logger's error."""


def acceptance(draws: Draws) -> Array:
    """A uniform number per draw (N,), to keep it with a likelihood."""
    return norm.cdf(draws.deviates[spreads.ACCEPTANCE.name])


def implied_volumetric_efficiency(
    engine: Engine, state: Operating, loads: Demand, draws: Draws, torque: Array
) -> Array:
    """Volumetric efficiency on manifold density that each draw implies (S, N) [-]."""
    assert state.manifold_pressure is not None
    spec = cylinder_spec(engine, state.ethanol_share, float(state.speed.max()))
    tables = response_tables.fit_surface(spec).at_speeds(state.speed)[:, table_grid.TRAPPED, 0]
    lanes = cylinder_draws(engine, draws)
    place = place_of(loads.torque, torque)
    closing = float(
        np.asarray(cylinder.cylinder_volume(spec.intake_closing, cylinder.geometry_of(spec)))
    )
    result = np.empty((len(state.speed), draws.count))
    rows = np.arange(table_grid.IMEP_NODES)
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
        fresh = pressure * closing / (288.0 * spec.temperature_middle)
        fresh = fresh * (1 - spec.residual_fraction)
        if not spec.compression_ignition:
            fuel = cylinder.fuel_of(spec.compression_ignition, spec.ethanol_share)
            fresh = fresh * (1 - 1 / (1 + spec.lambda_middle * fuel.stoichiometric_air_fuel))
        richness = np.minimum(lambda_, 1.0) / min(spec.lambda_middle, 1.0)
        air = fresh * (lambda_ / spec.lambda_middle) / richness
        density = state.manifold_pressure[s] / (
            SPECIFIC_GAS_CONSTANT_AIR * state.intake_temperature[s]
        )
        result[s] = air / (density * engine.swept_volume)
    return result


def contradiction(
    engine: Engine,
    state: Operating,
    torque: Array,
    reading_sd: Array,
    *,
    known_good: Run | None,
    lifted: bool,
) -> str:
    """The rest of the sentence where next to no simulated engine agrees with the evidence."""
    efficiency = volumetric_efficiency_before(engine, state, torque, reading_sd)
    told = None if efficiency is None else charge_mismatch(efficiency)
    if told is not None:
        return f": {told[0].lower()}{told[1:]}"
    causes = []
    if known_good is not None:
        causes.append("the known-good run's units, sealing diameter, fasteners, tightening, octane")
    if state.peak_pressure is not None:
        causes.append("unit and offset of the measured peak pressure")
    if state.manifold_pressure is not None:
        causes.append("torque, manifold pressure and lambda")
    if lifted:
        causes.append("coolant pressure")
    return f", so the inputs contradict it: check {'; '.join(causes)}."


def peak_agrees(state: Operating, loads: Demand, draws: Draws, torque: Array) -> Finding | None:
    """How well each draw's peak pressure fits one that was measured in the cylinder.

    The mean over the run by the sensor's own error, what is left at each speed by PEAK_LOCAL_SD.
    """
    if state.peak_pressure is None:
        return None
    place = place_of(loads.torque, torque)
    apart = np.log(place.read(loads.peak) / state.peak_pressure[:, None])
    common = np.mean(apart, axis=0)
    left = np.sum((apart - common) ** 2, axis=0)
    likelihood = np.exp(-0.5 * (common / PEAK_SENSOR_SD) ** 2 - 0.5 * left / PEAK_LOCAL_SD**2)
    return Finding(words="the measured peak cylinder pressure", likelihood=likelihood)


def coolant_sign(speed: Array, pressure: Array) -> tuple[float, float, float] | None:
    """Rise of coolant pressure [Pa] and the speeds [rad/s] between which it rose, or None.

    speed: (n,) [rad/s]; pressure: gauge or absolute (n,) [Pa]. The greatest rise over the least
    value so far counts when it is 15 kPa or more within the run (common practice, no source: gas in
    the coolant shows within seconds, warming alone is slower). Each value is the middle of three
    neighbours, so that one noisy sample is no sign.
    """
    ends = np.concatenate([pressure[:1], pressure, pressure[-1:]])
    calm = np.median(np.stack([ends[:-2], ends[1:-1], ends[2:]]), axis=0)
    rise = calm - np.minimum.accumulate(calm)
    top = int(np.argmax(rise))
    if rise[top] < COOLANT_RISE:
        return None
    start = int(np.flatnonzero(rise[: top + 1] < 0.15 * rise[top])[-1])
    return float(rise[top]), float(speed[start]), float(speed[top])


NO_LIFT_LIKELIHOOD = 0.1
"""Of a rise of coolant pressure in an engine whose head does not lift, over one whose head does."""
COOLANT_RISE = 15e3
"""Rise of coolant pressure within a run that is read as gas in the coolant [Pa]."""


def lift_agrees(loads: Demand, draws: Draws, parts: Parts, torque: Array, rise: float) -> Finding:
    """How well each draw explains the rise of coolant pressure: by a head that lifts there.

    loads, torque: at speeds within that range. A sign is no proof, so a draw that says the head
    cannot have lifted is held a tenth as likely (stated choice).
    """
    capacity = capacity_torque(HEAD_LIFT.load(loads, parts), HEAD_LIFT.strength(loads, parts),
                               loads.torque)  # fmt: skip
    lifted = (capacity < torque[:, None]).any(axis=0)
    return Finding(
        words=f"coolant pressure rose by {rise / 1e3:.0f} kPa, a sign that the head lifted there",
        likelihood=np.where(lifted, 1.0, NO_LIFT_LIKELIHOOD),
    )
